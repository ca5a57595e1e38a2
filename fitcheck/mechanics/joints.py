"""Motion of Oldham couplings and universal joints: sliding speed, velocity ratio, angle error."""

from __future__ import annotations

from dataclasses import dataclass
from math import acos, atan, atan2, cos, degrees, radians, sin, sqrt

from fitcheck.errors import UsageError
from fitcheck.mechanics.bounds import at_least_zero, finite, within

GREATEST_JOINT_ANGLE = 60.0
"""Degrees; the formulas hold to 90, real joints lock between 35 and 45 (memory)."""


@dataclass(frozen=True, kw_only=True)
class OldhamMotion:
    """Motion of the sliding disc.

    Attributes:
        sliding_speed: greatest, m/s.
        orbit_mm: diameter of the circle that the disc's centre moves on.
        orbits_per_turn: how often it goes round in a turn of the shaft.
        disc_force: centrifugal force of the disc on its orbit, N.
    """

    sliding_speed: float
    orbit_mm: float
    orbits_per_turn: int
    disc_force: float


def oldham(parallel_mm: float, speed: float, disc_mass: float = 0.0) -> OldhamMotion:
    """Sliding and orbit of an Oldham coupling's disc: v = w e, orbit of diameter e, twice in a turn.

    Args:
        parallel_mm: offset e of the shafts.
        speed: of the shafts, rad/s, size.
        disc_mass: kg.

    Returns:
        The motion; the shafts turn exactly alike. Each tongue slides back and forth over 2 e in a turn. The disc's
        force is m (2 w)² e/2.

    Raises:
        UsageError: an input is negative.

    Source: mekanizmalar.com and other pages (read); force computed.
    """
    at_least_zero(parallel_mm=parallel_mm, speed=speed, disc_mass=disc_mass)
    offset = parallel_mm / 1000.0
    return OldhamMotion(
        sliding_speed=speed * offset,
        orbit_mm=parallel_mm,
        orbits_per_turn=2,
        disc_force=disc_mass * (2.0 * speed) ** 2 * offset / 2.0,
    )


def joint_speed_ratio(angle_deg: float, turn_deg: float) -> float:
    """Speed ratio of a universal joint: w2/w1 = cos b/(1 - sin² b cos² a).

    Args:
        angle_deg: b between the shafts, 0 to 60.
        turn_deg: a of the driving fork, 0 where the fork lies in the plane of both shafts.

    Returns:
        The ratio, between cos b and 1/cos b.

    Raises:
        UsageError: the angle is outside 0 to 60 degrees.

    Source: ticalc.org universaljoint and novasolver.jp (read).
    """
    within(0.0, GREATEST_JOINT_ANGLE, angle_deg=angle_deg)
    finite(turn_deg=turn_deg)
    bend, turn = radians(angle_deg), radians(turn_deg)
    return cos(bend) / (1.0 - sin(bend) ** 2 * cos(turn) ** 2)


def joint_turn(angle_deg: float, turn_deg: float) -> float:
    """Turn of the driven fork: tan a2 = tan a/cos b, followed over any number of turns.

    Args:
        angle_deg: between the shafts, 0 to 60.
        turn_deg: of the driving fork, 0 where the fork lies in the plane of both shafts.

    Returns:
        Degrees, equal to the driving fork's at each quarter turn.

    Raises:
        UsageError: the angle is outside 0 to 60 degrees.

    Source: ticalc.org universaljoint (read).
    """
    within(0.0, GREATEST_JOINT_ANGLE, angle_deg=angle_deg)
    finite(turn_deg=turn_deg)
    turn = radians(turn_deg)
    # The difference stays within a quarter turn, so it is taken by itself and added.
    bend = cos(radians(angle_deg))
    difference = atan2(sin(turn) * cos(turn) * (1.0 - bend), bend * cos(turn) ** 2 + sin(turn) ** 2)
    return turn_deg + degrees(difference)


def joint_angle_error(angle_deg: float) -> float:
    """Greatest difference between the turns of both forks: atan((1 - cos b)/(2 sqrt(cos b))), to either side.

    Args:
        angle_deg: between the shafts, 0 to 60.

    Returns:
        Degrees; about b²/4 in radians for small angles.

    Raises:
        UsageError: the angle is outside 0 to 60 degrees.

    Source: computed (extreme of the difference in `joint_turn`).
    """
    within(0.0, GREATEST_JOINT_ANGLE, angle_deg=angle_deg)
    bend = cos(radians(angle_deg))
    return degrees(atan((1.0 - bend) / (2.0 * sqrt(bend))))


def joint_speed_range(first_deg: float, second_deg: float = 0.0, crossed: bool = False) -> tuple[float, float]:
    """Least and greatest speed ratio of one universal joint, or of two in series with both shafts in one plane.

    Args:
        first_deg: angle of the first joint, 0 to 60.
        second_deg: angle of the second joint; 0 for a single joint.
        crossed: whether the forks of the intermediate shaft are turned by a quarter against the right phase, which
            multiplies the ripples instead of cancelling them.

    Returns:
        Least and greatest w_out/w_in; (1, 1) for two equal joints in the right phase.

    Raises:
        UsageError: an angle is outside 0 to 60 degrees.

    Source: ticalc.org (read) for one joint; two joints computed by multiplying the cosines.
    """
    within(0.0, GREATEST_JOINT_ANGLE, first_deg=first_deg, second_deg=second_deg)
    one, two = cos(radians(first_deg)), cos(radians(second_deg))
    ratio = one * two if crossed else one / two
    return min(ratio, 1.0 / ratio), max(ratio, 1.0 / ratio)


def angle_for_fluctuation(fluctuation: float) -> float:
    """Joint angle at which the driven speed fluctuates by a share of the driving speed: 1/cos b - cos b = f.

    Args:
        fluctuation: greatest less least speed, over the driving speed, 0 to 1.5.

    Returns:
        Degrees.

    Raises:
        UsageError: the share is outside 0 to 1.5.

    Source: computed from the range of `joint_speed_ratio`.
    """
    if not 0.0 <= fluctuation <= 1.5:
        raise UsageError(f"fluctuation must be between 0 and 1.5 of the driving speed; found {fluctuation}")
    return degrees(acos((sqrt(fluctuation**2 + 4.0) - fluctuation) / 2.0))
