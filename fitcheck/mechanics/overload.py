"""The bad cases: the motor's peak torque into a blocked carriage, a collision, and the emergency stop."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import atan2, cos, hypot, inf, isfinite, sin, sqrt

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
    motor_torque: float,
    load_torque: float,
    motor_inertia: float,
    driven_inertia: float,
    onset: float = SUDDEN,
    before: float | None = None,
) -> Passing:
    """Torque through the coupling when both sides accelerate as one.

    alpha = (T_M - T_L)/(J_M + J_L), T = T_L + J_L alpha; the oscillation of the onset adds (onset - 1) times the
    change of the torque through the coupling, |T - T_before|.

    Args:
        motor_torque: on the motor side, N·m, signed (negative brakes a positive turn).
        load_torque: against positive turning on the driven side, N·m, signed.
        motor_inertia: kg·m² before the coupling.
        driven_inertia: kg·m² behind it.
        onset: 1 for a torque that comes slowly against the drive's oscillation, 2 for one that comes at once.
        before: torque through the coupling before, N·m, signed; None for a motor that gave none before.

    Returns:
        The torque, its peak, the acceleration and the share.

    Raises:
        UsageError: both inertias are 0, one is negative, or the onset is outside 1 to 2.

    Source: balance of angular momentum (computed); the same split as in DIN 740-2 (memory). Damping lowers the peak.
    """
    finite(motor_torque=motor_torque, load_torque=load_torque, before=before or 0.0)
    at_least_zero(motor_inertia=motor_inertia, driven_inertia=driven_inertia)
    above_zero(motor_and_driven_inertia=motor_inertia + driven_inertia)
    if not 1.0 <= onset <= 2.0:
        raise UsageError(f"onset must be between 1 (slow) and 2 (at once); found {onset:g}")
    total = motor_inertia + driven_inertia
    acceleration = (motor_torque - load_torque) / total
    share = driven_inertia / total
    torque = load_torque + driven_inertia * acceleration
    change = motor_torque * share if before is None else torque - before
    return Passing(
        torque=torque, peak=abs(torque) + (onset - 1.0) * abs(change), acceleration=acceleration, share=share
    )


def emergency_stop(
    braking_torque: float,
    load_torque: float,
    motor_inertia: float,
    driven_inertia: float,
    onset: float = SUDDEN,
    before: float | None = None,
    rest_torque: float = 0.0,
) -> Passing:
    """The coupling in an emergency stop by the motor or its brake, turning in the positive direction.

    The torque swings twice: when the brake comes, about the torque of the stop, from what passed before; and when the
    rotor stands, about the torque at rest. When it comes to stand the first swing may be at any phase, so the worst one
    is taken: at a phase c = cos phi of the swing a about T the springs and the driven side, which still turns, hold as
    much energy as a swing of R about the torque at rest T_0,

        R² = (T - T_0 + a c)² + a² (1 - c²) (J_M + J_L)/J_M.

    Where that exceeds what the brake holds, T_B, the rotor slips on and the torque swings about
    T_g = T_0 + (T_B - T_0) J_L/(J_M + J_L) by the root of (T_B - T_g)² + (R² - (T_B - T_0)²) J_M/(J_M + J_L).

    Args:
        braking_torque: of the motor or the brake on its shaft, size, N·m.
        load_torque: against positive turning, N·m; negative where a weight keeps pulling (a carriage going down:
            give the standing torque with a minus sign).
        motor_inertia: kg·m² before the coupling.
        driven_inertia: kg·m² behind it.
        onset: as for `passing_torque`.
        before: torque through the coupling when the stop comes, N·m, signed; None for a steady turn, the load torque.
        rest_torque: that passes when all stands, N·m, signed.

    Returns:
        As `passing_torque`, with the greater of both swings as its peak; a positive acceleration means that the brake
        does not hold the load.

    Raises:
        UsageError: the braking torque is negative, or as for `passing_torque`.

    Notes:
        Undamped; friction on the driven side at rest is not counted, which lowers the peak.

    Source: as `passing_torque`, and energy balance (computed).
    """
    at_least_zero(braking_torque=braking_torque)
    finite(rest_torque=rest_torque)
    passed = load_torque if before is None else before
    found = passing_torque(-braking_torque, load_torque, motor_inertia, driven_inertia, onset, passed)
    swing = (onset - 1.0) * abs(found.torque - passed)
    standing = _standing(braking_torque, found.torque, swing, rest_torque, found.share, onset - 1.0)
    return replace(found, peak=max(found.peak, standing))


def _standing(brake: float, stop: float, swing: float, rest: float, share: float, sudden: float) -> float:
    """Greatest torque once the rotor stands, size, as `emergency_stop` derives it; `share` is J_L/(J_M + J_L)."""
    if brake <= abs(rest):  # the brake does not hold the load: the rotor does not stand
        return abs(rest) + sudden * abs(stop - rest)
    off, motor = abs(stop - rest), 1.0 - share
    if swing * share <= off * motor:
        energy = motor * (off + swing) ** 2  # R² J_M/(J_M + J_L)
    else:
        energy = motor * off**2 + swing**2 + (motor * off) ** 2 / share
    energy *= sudden**2
    found = 0.0
    for pull in (rest, -rest):  # to either side
        if energy <= motor * (brake - pull) ** 2:
            found = max(found, pull + sqrt(energy / motor) if motor > 0.0 else pull)
        else:
            slips = pull + share * (brake - pull)
            found = max(found, brake, slips + sqrt((brake - slips) ** 2 + energy - motor * (brake - pull) ** 2))
    return found


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
        N·m, size. At rest (speed 0) and blocked it is 2 T_M: the full torque passes, and at once. No more passes
        whatever springs and inertias lie between the coupling and the block.

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


def collision(
    motor_torque: float,
    speed: float,
    motor_inertia: float,
    stiffness: float,
    turning_inertia: float = 0.0,
    stop_stiffness: float = inf,
) -> float:
    """Greatest torque through the coupling when the carriage runs into a hard stop, the screw turning on behind it.

    The carriage stands at once; motor and screw run on into the springs of coupling and screw, the motor pushing with
    its torque. Two inertias on two springs, undamped: the amplitudes of both modes are added,
    T = T_M + sum_i k |d_i| hypot(s_i, v_i/w_i).

    Args:
        motor_torque: the motor's peak torque, size, N·m.
        speed: at the coupling when it hits, rad/s, size.
        motor_inertia: kg·m² before the coupling.
        stiffness: of coupling and shafts, N·m/rad.
        turning_inertia: kg·m² that turns behind the coupling, the screw; 0 or a rigid stop stands at once.
        stop_stiffness: from the screw to the stop (axial stiffness of screw and nut times (P/2 pi i)²), N·m/rad at the
            coupling; infinite for a rigid one.

    Returns:
        N·m, size; an upper bound, which is come close to after some swings.

    Raises:
        UsageError: an input is negative, or an inertia or a stiffness that counts is 0.

    Notes:
        No damping, no slip, no yield, as `blocked_carriage`, which it is without a screw. The stop holds the carriage
        both ways: a real one lets go when it bounces.

    Source: modal sum of the undamped motion (computed).
    """
    at_least_zero(turning_inertia=turning_inertia)
    if turning_inertia == 0.0 or stop_stiffness == inf:
        series = stiffness if stop_stiffness == inf else stiffness * stop_stiffness / (stiffness + stop_stiffness)
        return blocked_carriage(motor_torque, speed, motor_inertia, series)
    at_least_zero(motor_torque=motor_torque, speed=speed)
    above_zero(motor_inertia=motor_inertia, stiffness=stiffness, stop_stiffness=stop_stiffness)
    roots = (sqrt(motor_inertia), sqrt(turning_inertia))
    first, second = stiffness / motor_inertia, (stiffness + stop_stiffness) / turning_inertia
    cross = -stiffness / (roots[0] * roots[1])
    turn = 0.5 * atan2(2.0 * cross, first - second)
    most = motor_torque
    for one, two in ((cos(turn), sin(turn)), (-sin(turn), cos(turn))):
        squared = first * one * one + second * two * two + 2.0 * cross * one * two
        twist = abs(one / roots[0] - two / roots[1])
        pushed = one / roots[0] * motor_torque / squared
        thrown = speed * (one * roots[0] + two * roots[1]) / sqrt(squared)
        most += stiffness * twist * hypot(pushed, thrown)
    return most
