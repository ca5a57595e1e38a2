"""The two bad cases: the motor's peak torque into a blocked carriage, and the emergency stop."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, isfinite, sqrt

from fitcheck.errors import UsageError
from fitcheck.mechanics.bounds import above_zero, at_least_zero, finite

SUDDEN = 2.0
"""Factor on a torque that comes at once into an undamped two-inertia drive: T(t) = T (1 - cos wt) (computed)."""


@dataclass(frozen=True, kw_only=True)
class Passing:
    """How a torque on both sides shares itself over the coupling.

    Attributes:
        torque: through the coupling, N·m, signed, both sides turning as one.
        peak: greatest size with the oscillation of a sudden onset, N·m.
        acceleration: of both sides, rad/s², signed.
        share: of the motor side's torque that passes: J_L/(J_M + J_L).
    """

    torque: float
    peak: float
    acceleration: float
    share: float


def passing_torque(
    motor_torque: float, load_torque: float, motor_inertia: float, driven_inertia: float, onset: float = SUDDEN
) -> Passing:
    """Torque through the coupling when both sides accelerate as one.

    alpha = (T_M - T_L)/(J_M + J_L), T = T_L + J_L alpha; the oscillation of the onset adds (onset - 1) times the
    change that the motor's torque made, T_M J_L/(J_M + J_L).

    Args:
        motor_torque: on the motor side, N·m, signed (negative brakes a positive turn).
        load_torque: against positive turning on the driven side, N·m, signed.
        motor_inertia: kg·m² before the coupling.
        driven_inertia: kg·m² behind it.
        onset: 1 for a torque that comes slowly against the drive's oscillation, 2 for one that comes at once.

    Returns:
        The torque, its peak, the acceleration and the share.

    Raises:
        UsageError: both inertias are 0, one is negative, or the onset is outside 1 to 2.

    Source: balance of angular momentum (computed); the same split as in DIN 740-2 (memory). Damping lowers the peak.
    """
    finite(motor_torque=motor_torque, load_torque=load_torque)
    at_least_zero(motor_inertia=motor_inertia, driven_inertia=driven_inertia)
    above_zero(motor_and_driven_inertia=motor_inertia + driven_inertia)
    if not 1.0 <= onset <= 2.0:
        raise UsageError(f"onset must be between 1 (slow) and 2 (at once); found {onset:g}")
    total = motor_inertia + driven_inertia
    acceleration = (motor_torque - load_torque) / total
    share = driven_inertia / total
    torque = load_torque + driven_inertia * acceleration
    swing = (onset - 1.0) * abs(motor_torque * share)
    return Passing(torque=torque, peak=abs(torque) + swing, acceleration=acceleration, share=share)


def emergency_stop(
    braking_torque: float, load_torque: float, motor_inertia: float, driven_inertia: float, onset: float = SUDDEN
) -> Passing:
    """The coupling in an emergency stop by the motor or its brake, turning in the positive direction.

    Args:
        braking_torque: of the motor or the brake on its shaft, size, N·m.
        load_torque: against positive turning, N·m; negative where a weight keeps pulling (a carriage going down:
            give the standing torque with a minus sign).
        motor_inertia: kg·m² before the coupling.
        driven_inertia: kg·m² behind it.
        onset: as for `passing_torque`.

    Returns:
        As `passing_torque`; a positive acceleration means that the brake does not hold the load.

    Raises:
        UsageError: the braking torque is negative, or as for `passing_torque`.

    Source: as `passing_torque` (computed).
    """
    at_least_zero(braking_torque=braking_torque)
    return passing_torque(-braking_torque, load_torque, motor_inertia, driven_inertia, onset)


def blocked_carriage(
    motor_torque: float, speed: float, motor_inertia: float, stiffness: float, blocked_inertia: float = inf
) -> float:
    """Greatest torque through the coupling when the carriage runs into a stop with the motor at its peak torque.

    The rotor's energy and the motor's work wind the shaft train up. With the driven side brought to rest and held,
    T = T_M + sqrt(T_M² + k J_M w²). With a driven side that was brought to rest and is free to turn on (a screw whose
    nut has come loose from the blow), T_M and J_M are multiplied by its share J_L/(J_M + J_L).

    Args:
        motor_torque: the motor's peak torque, size, N·m.
        speed: at the coupling when it hits, rad/s, size.
        motor_inertia: kg·m² before the coupling.
        stiffness: from the rotor to the stop, in series, N·m/rad at the coupling.
        blocked_inertia: kg·m² behind the coupling that is free to turn on; infinite (the default) for a held one.

    Returns:
        N·m, size. At rest (speed 0) and blocked it is 2 T_M: the full torque passes, and at once.

    Raises:
        UsageError: an input is negative, or the stiffness or the motor's inertia is 0.

    Notes:
        No damping, no slip, no yield, no current limit that cuts in: an upper bound. A hard stop makes k, and so the
        torque, large; a clamp hub slips before.

    Source: energy balance (computed).
    """
    at_least_zero(motor_torque=motor_torque, speed=speed)
    above_zero(motor_inertia=motor_inertia, stiffness=stiffness)
    share = 1.0
    if isfinite(blocked_inertia):
        above_zero(blocked_inertia=blocked_inertia)
        share = blocked_inertia / (motor_inertia + blocked_inertia)
    elif blocked_inertia != inf:
        raise UsageError(f"blocked_inertia must be greater than 0, or infinite; found {blocked_inertia}")
    steady = motor_torque * share
    return steady + sqrt(steady**2 + stiffness * motor_inertia * share * speed**2)
