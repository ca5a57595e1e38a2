"""What the motion asks of the coupling: torque over the cycle, peak, root mean square, holding and speed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import fsum, sqrt

from fitcheck.mechanics.axis import Axis
from fitcheck.mechanics.bounds import above_zero, at_least_zero
from fitcheck.mechanics.motion import Phase, cycle


@dataclass(frozen=True, kw_only=True)
class Segment:
    """A time of constant torque.

    Attributes:
        start: s from the beginning of the cycle.
        duration: s.
        coupling_torque: N·m, signed.
        motor_torque: N·m, signed: the coupling's and what the motor side itself needs.
        start_speed: rad/s at the coupling, signed.
        end_speed: the same at its end.
        accelerating: whether the speed changes.
    """

    start: float
    duration: float
    coupling_torque: float
    motor_torque: float
    start_speed: float
    end_speed: float
    accelerating: bool

    @property
    def angle(self) -> float:
        """Turn of the coupling, rad, signed."""
        return 0.5 * (self.start_speed + self.end_speed) * self.duration

    @property
    def work(self) -> float:
        """Work through the coupling, J; negative where the load drives the motor."""
        return self.coupling_torque * self.angle


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What a cycle asks of the coupling; torques in N·m, without any service factor.

    Attributes:
        segments: the cycle in order of time.
        peak: greatest size of the torque in the cycle, holding included.
        rms: root mean square over the cycle, holding included.
        running: greatest size of the torque at constant speed; where no phase runs at constant speed, what it would
            be in the directions that occur.
        holding: size of the torque at rest (vertical axis), friction not counted as help.
        motor_peak: greatest size of the motor's torque in the cycle.
        motor_rms: root mean square of the motor's torque.
        top_speed: greatest speed at the coupling, rad/s.
        top_acceleration: greatest angular acceleration at the coupling, rad/s².
        work: through the coupling in the cycle, J.
        period: s.
    """

    segments: tuple[Segment, ...]
    peak: float
    rms: float
    running: float
    holding: float
    motor_peak: float
    motor_rms: float
    top_speed: float
    top_acceleration: float
    work: float
    period: float


def demand(axis: Axis, phases: Sequence[Phase], motor_inertia: float = 0.0) -> Demand:
    """The torque at the coupling over a cycle, and what follows from it.

    T_rms = sqrt(sum(T² t)/sum(t)); each phase has constant acceleration and dry friction, so its torque is constant.

    Args:
        axis: the driven axis with the coupling's driven half in its inertia.
        phases: of one cycle, in the axis' travel (m or rad).
        motor_inertia: of rotor, brake and the coupling's motor half, kg·m²; it loads the motor and not the coupling.

    Returns:
        The demand.

    Raises:
        UsageError: no phase, phases that do not join, or a negative inertia.

    Notes:
        No viscous friction, no jerk limit, no oscillation: the resonance check and `overload` add those. Real servo
        cycles exceed the peak by some per cent of overshoot.

    Source: T_rms and the sum of terms as in three drive manuals (read).
    """
    at_least_zero(motor_inertia=motor_inertia)
    radians_per_travel = 1.0 / axis.travel_per_radian
    segments: list[Segment] = []
    start = 0.0
    for phase in cycle(phases):
        through = axis.torque(phase.direction, phase.acceleration)
        angular = phase.acceleration * radians_per_travel
        segments.append(
            Segment(
                start=start,
                duration=phase.duration,
                coupling_torque=through,
                motor_torque=through + motor_inertia * angular,
                start_speed=phase.start_speed * radians_per_travel,
                end_speed=phase.end_speed * radians_per_travel,
                accelerating=phase.acceleration != 0.0,
            )
        )
        start += phase.duration
    directions = {phase.direction for phase in cycle(phases)} - {0}
    return Demand(
        segments=tuple(segments),
        peak=max(abs(axis.holding_torque), *(abs(part.coupling_torque) for part in segments)),
        rms=_rms([(part.coupling_torque, part.duration) for part in segments]),
        running=max((abs(axis.torque(direction)) for direction in directions), default=0.0),
        holding=abs(axis.holding_torque),
        motor_peak=max(abs(part.motor_torque) for part in segments),
        motor_rms=_rms([(part.motor_torque, part.duration) for part in segments]),
        top_speed=max(max(abs(part.start_speed), abs(part.end_speed)) for part in segments),
        top_acceleration=max(abs(part.end_speed - part.start_speed) / part.duration for part in segments),
        work=fsum(part.work for part in segments),
        period=start,
    )


def inertia_ratio(driven_inertia: float, motor_inertia: float) -> float:
    """Inertia behind the coupling over the motor's own: J_L/J_M.

    Args:
        driven_inertia: kg·m² at the coupling.
        motor_inertia: kg·m².

    Returns:
        The ratio. Common practice, no source: up to about 3 for quick positioning, up to 10 for most axes.

    Raises:
        UsageError: the motor's inertia is not greater than 0, or the other is negative.

    Source: definition (computed).
    """
    above_zero(motor_inertia=motor_inertia)
    at_least_zero(driven_inertia=driven_inertia)
    return driven_inertia / motor_inertia


def reversal_torque(axis: Axis) -> float:
    """Torque by which the coupling's torque changes between running up and running down at constant speed, N·m.

    It is the two-sided friction torque, 2 T_f, that the lost motion at reversal comes from.

    Raises:
        UsageError: the axis is wrong.

    Source: definition (computed).
    """
    return abs(axis.torque(1) - axis.torque(-1))


def _rms(torques: Sequence[tuple[float, float]]) -> float:
    return sqrt(fsum(torque**2 * time for torque, time in torques) / fsum(time for _, time in torques))
