"""Motion of an axis as phases of constant acceleration: trapezoidal moves, dwells, given phases.

Travel is in m for a carriage and in rad for a rotary load; speeds and accelerations go with it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import copysign, sqrt

from fitcheck.errors import UsageError
from fitcheck.mechanics.bounds import above_zero, at_least_zero, finite

JOIN_SHARE = 1e-6
"""Two phases join where their speeds differ by less than this share of the greatest speed: rounding of given values."""


@dataclass(frozen=True, kw_only=True)
class Phase:
    """A time of constant acceleration.

    Attributes:
        duration: s, greater than 0.
        start_speed: m/s or rad/s, signed.
        end_speed: the same at its end; a phase that changes direction is cut at rest by `cycle`.
    """

    duration: float
    start_speed: float
    end_speed: float

    def __post_init__(self) -> None:
        above_zero(duration=self.duration)
        finite(start_speed=self.start_speed, end_speed=self.end_speed)

    @property
    def acceleration(self) -> float:
        """m/s² or rad/s², signed."""
        return (self.end_speed - self.start_speed) / self.duration

    @property
    def travel(self) -> float:
        """Travel in m or rad, signed."""
        return 0.5 * (self.start_speed + self.end_speed) * self.duration

    @property
    def direction(self) -> int:
        """+1 or -1 for the direction of travel, 0 for rest."""
        middle = self.start_speed + self.end_speed
        return 0 if middle == 0.0 else int(copysign(1, middle))


def dwell(duration: float) -> Phase:
    """Rest for some seconds.

    Raises:
        UsageError: the duration is not greater than 0.
    """
    return Phase(duration=duration, start_speed=0.0, end_speed=0.0)


def trapezoid(
    stroke: float, speed: float, acceleration: float, deceleration: float | None = None, pause: float = 0.0
) -> tuple[Phase, ...]:
    """A move from rest to rest: accelerate, run, decelerate, and a pause after it.

    A stroke too short for the speed gives a triangle: v² = 2 s a d/(a + d).

    Args:
        stroke: m or rad, signed; not 0.
        speed: greatest speed, m/s or rad/s, greater than 0.
        acceleration: m/s² or rad/s², greater than 0.
        deceleration: the same; None takes the acceleration.
        pause: s of rest after the move.

    Returns:
        Two to four phases.

    Raises:
        UsageError: the stroke is 0, another input is not greater than 0, or the pause is negative.

    Source: kinematics of constant acceleration (computed). Jerk is taken as unlimited: a drive that limits jerk has
    the same peak acceleration for a shorter time.
    """
    brake = acceleration if deceleration is None else deceleration
    above_zero(speed=speed, acceleration=acceleration, deceleration=brake, stroke_size=abs(stroke))
    at_least_zero(pause=pause)
    length, sign = abs(stroke), copysign(1.0, stroke)
    reached = min(speed, sqrt(2.0 * length * acceleration * brake / (acceleration + brake)))
    running = length / reached - 0.5 * reached * (1.0 / acceleration + 1.0 / brake)
    top = sign * reached
    phases = [Phase(duration=reached / acceleration, start_speed=0.0, end_speed=top)]
    if running > 1e-12 * length / reached:
        phases.append(Phase(duration=running, start_speed=top, end_speed=top))
    phases.append(Phase(duration=reached / brake, start_speed=top, end_speed=0.0))
    if pause > 0.0:
        phases.append(dwell(pause))
    return tuple(phases)


def there_and_back(
    stroke: float, speed: float, acceleration: float, deceleration: float | None = None, pause: float = 0.0
) -> tuple[Phase, ...]:
    """The trapezoidal move and its return, each followed by the pause; arguments as for `trapezoid`.

    Raises:
        UsageError: as for `trapezoid`.
    """
    return (
        *trapezoid(stroke, speed, acceleration, deceleration, pause),
        *trapezoid(-stroke, speed, acceleration, deceleration, pause),
    )


def cycle(phases: Sequence[Phase]) -> tuple[Phase, ...]:
    """The phases checked for joining, each that changes direction cut in two at rest.

    Args:
        phases: at least one, in order of time.

    Returns:
        Phases none of which changes direction.

    Raises:
        UsageError: there is none, or the speed jumps between two of them.

    Source: definition (computed).
    """
    if not phases:
        raise UsageError("a motion needs at least one phase; found none")
    greatest = max(max(abs(phase.start_speed), abs(phase.end_speed)) for phase in phases)
    for number, (before, after) in enumerate(pairwise(phases), start=1):
        if abs(before.end_speed - after.start_speed) > JOIN_SHARE * greatest:
            raise UsageError(
                f"the speed jumps from {before.end_speed:g} to {after.start_speed:g} between phases {number} and "
                f"{number + 1}; a phase must start with the speed that the one before ended with"
            )
    return tuple(part for phase in phases for part in _cut(phase))


def _cut(phase: Phase) -> tuple[Phase, ...]:
    start, end = phase.start_speed, phase.end_speed
    if start * end >= 0.0:
        return (phase,)
    first = phase.duration * start / (start - end)
    return (
        Phase(duration=first, start_speed=start, end_speed=0.0),
        Phase(duration=phase.duration - first, start_speed=0.0, end_speed=end),
    )
