"""Wind-up of the shaft train and what it costs at the carriage: lost motion, following error, ripple."""

from __future__ import annotations

from math import degrees, pi, radians

from fitcheck.errors import UsageError
from fitcheck.mechanics.bounds import Bounds, above_zero, at_least_zero, finite


def in_series(*stiffnesses: float) -> float:
    """Stiffness of springs one behind the other: 1/k = sum(1/k_i).

    Args:
        stiffnesses: N·m/rad, at least one, each greater than 0; a part behind a ratio i (turns of the coupling for
            one of the part) enters as k/i².

    Returns:
        N·m/rad.

    Raises:
        UsageError: none is given, or one is not greater than 0.

    Source: closed form (computed); a vibration text prints it for shafts in series (read).
    """
    if not stiffnesses:
        raise UsageError("a stiffness in series needs at least one part; found none")
    above_zero(**{f"stiffness_{number}": value for number, value in enumerate(stiffnesses, start=1)})
    return 1.0 / sum(1.0 / value for value in stiffnesses)


def in_series_bounds(*stiffnesses: Bounds) -> Bounds:
    """`in_series` of low, nominal and high values; judge wind-up on low.

    Raises:
        UsageError: as for `in_series`.

    Source: as `in_series`.
    """
    return Bounds(
        low=in_series(*(part.low for part in stiffnesses)),
        nominal=in_series(*(part.nominal for part in stiffnesses)),
        high=in_series(*(part.high for part in stiffnesses)),
    )


def travel_um(turn: float, lead_mm: float) -> float:
    """Travel of the carriage for a turn of the screw: x = phi P/(2 pi).

    Args:
        turn: rad, signed.
        lead_mm: P.

    Returns:
        µm, signed.

    Raises:
        UsageError: the lead is not greater than 0.

    Source: definition (computed).
    """
    finite(turn=turn)
    above_zero(lead_mm=lead_mm)
    return turn * lead_mm * 1000.0 / (2.0 * pi)


def turn_for_travel(travel: float, lead_mm: float) -> float:
    """Turn of the screw for a travel in µm, rad: what wind-up a repeatability leaves room for.

    Raises:
        UsageError: the lead is not greater than 0.

    Source: definition (computed).
    """
    finite(travel=travel)
    above_zero(lead_mm=lead_mm)
    return travel * 2.0 * pi / (lead_mm * 1000.0)


def wind_up_um(torque: float, stiffness: float, lead_mm: float) -> float:
    """Travel that is lost by wind-up: x = T/k P/(2 pi).

    Args:
        torque: through the coupling, N·m, signed.
        stiffness: of coupling and stubs in series, N·m/rad.
        lead_mm: of the screw.

    Returns:
        µm, signed.

    Raises:
        UsageError: the stiffness or the lead is not greater than 0.

    Source: definition (computed).
    """
    above_zero(stiffness=stiffness)
    return travel_um(torque / stiffness, lead_mm)


def lost_motion_um(friction_torque: float, stiffness: float, lead_mm: float, backlash: float = 0.0) -> float:
    """Lost motion at reversal without feedback from the carriage: (2 T_f/k + backlash) P/(2 pi).

    Args:
        friction_torque: T_f behind the coupling in one direction, N·m, size; half of `demand.reversal_torque`.
        stiffness: of coupling and stubs in series, N·m/rad.
        lead_mm: of the screw.
        backlash: of the coupling and a loose key, rad, whole play.

    Returns:
        µm.

    Raises:
        UsageError: an input is out of its range.

    Notes:
        The nut's backlash and the axial give of screw and bearings come on top. A linear scale takes all of it away
        from the position, not from the control loop.

    Source: definition (computed).
    """
    at_least_zero(friction_torque=friction_torque, backlash=backlash)
    above_zero(stiffness=stiffness)
    return travel_um(2.0 * friction_torque / stiffness + backlash, lead_mm)


def following_error_um(driven_inertia: float, acceleration: float, stiffness: float, lead_mm: float) -> float:
    """Travel that the carriage lags behind the motor in acceleration, over that at constant speed: J alpha/k P/(2 pi).

    Args:
        driven_inertia: behind the coupling, kg·m².
        acceleration: at the coupling, rad/s², signed.
        stiffness: of coupling and stubs in series, N·m/rad.
        lead_mm: of the screw.

    Returns:
        µm, signed. It comes back when the acceleration ends; with a sudden onset it swings to twice this.

    Raises:
        UsageError: an input is out of its range.

    Source: definition (computed).
    """
    at_least_zero(driven_inertia=driven_inertia)
    finite(acceleration=acceleration)
    return wind_up_um(driven_inertia * acceleration, stiffness, lead_mm)


def settled_error_um(
    holding_torque: float, friction_torque: float, stiffness: float, lead_mm: float, backlash: float = 0.0
) -> Bounds:
    """Error of the carriage after settling, approached from both sides, against the motor's position.

    The standing torque winds the train up by T_h/k; friction holds any remainder up to T_f/k to either side; backlash
    is taken up by the standing torque when that is greater than the friction, else it is open.

    Args:
        holding_torque: standing torque, N·m, signed.
        friction_torque: T_f in one direction, N·m, size.
        stiffness: N·m/rad.
        lead_mm: of the screw.
        backlash: rad, whole play.

    Returns:
        µm: low and high ends of the band and its middle. The repeatability from both sides is high - low; the middle
        is constant and can be compensated.

    Raises:
        UsageError: an input is out of its range.

    Source: computed from equilibrium at rest.
    """
    at_least_zero(friction_torque=friction_torque, backlash=backlash)
    above_zero(stiffness=stiffness)
    finite(holding_torque=holding_torque)
    open_play = 0.0 if abs(holding_torque) > friction_torque else backlash
    half = friction_torque / stiffness + open_play / 2.0
    middle = holding_torque / stiffness
    return Bounds(
        low=travel_um(middle - half, lead_mm),
        nominal=travel_um(middle, lead_mm),
        high=travel_um(middle + half, lead_mm),
    )


def joint_error_um(angle_error_deg: float, lead_mm: float) -> float:
    """Periodic travel error, to either side, of a universal joint's angle error (`joints.joint_angle_error`).

    Args:
        angle_error_deg: size.
        lead_mm: of the screw.

    Returns:
        µm, twice in a turn of the motor.

    Raises:
        UsageError: an input is out of its range.

    Source: definition (computed).
    """
    at_least_zero(angle_error_deg=angle_error_deg)
    return travel_um(radians(angle_error_deg), lead_mm)


def twist_deg(torque: float, stiffness: float) -> float:
    """Twist of the coupling under a torque, degrees, signed.

    Raises:
        UsageError: the stiffness is not greater than 0.

    Source: definition (computed).
    """
    finite(torque=torque)
    above_zero(stiffness=stiffness)
    return degrees(torque / stiffness)
