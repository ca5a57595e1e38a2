"""A carriage that runs into a hard stop: the greatest torque that would pass the coupling if nothing slips."""

from __future__ import annotations

from math import inf

from fitcheck.checks.driven_side import driven_side
from fitcheck.checks.sides import Missing
from fitcheck.checks.train import train_of
from fitcheck.checks.work_units import RPM, nm, three
from fitcheck.checks.working import NO_PEAK, Case, Working
from fitcheck.mechanics.overload import collision


def collision_case(working: Working, speed: float) -> Case | tuple[str, Missing]:
    """The torque of a collision, or what is missing for it.

    Args:
        working: the drive at work.
        speed: at the coupling when the carriage hits, rad/s, size.

    The carriage stands at once, close to the coupling, where the screw's torsion is no help; the shaft train is taken
    at its stiffest. Without the screw's axial stiffness the screw stands at once as well.
    """
    subject, peak, screw = "collision", working.motor_peak, working.data.screw
    if peak is None:
        return subject, NO_PEAK
    if working.motor_inertia is None:
        return subject, Missing(reason="the motor's inertia is not given", supply="give drive.motor.inertia")
    train = train_of(working.drive)
    if isinstance(train, Missing):
        return subject, train
    turning, stop, behind = 0.0, inf, "the driven side standing at once"
    if working.data.axis_kind == "screw" and screw is not None and screw.axial_stiffness is not None:
        stop = screw.axial_stiffness * 1000.0 * working.axis.travel_per_radian**2
        turning, behind = driven_side(working).near, f"the screw's axial {three(screw.axial_stiffness)} N/mm behind it"
    stiffness = train.stiffness.high
    torque = collision(peak.torque, speed, working.motor_inertia, stiffness, turning, stop)
    how = (
        f"run into a hard stop at {three(speed * RPM)} rpm of the coupling with {nm(peak.torque)} of the motor: "
        f"up to {nm(torque)} by {three(working.motor_inertia * 1e6)} kg·mm² at the motor and {three(stiffness)} "
        f"N·m/rad of coupling and shafts, {behind} (energy balance, upper bound)"
    )
    return Case(subject=subject, torque=torque, how=how, path=f"drive.{working.data.axis_kind}.collision_speed")
