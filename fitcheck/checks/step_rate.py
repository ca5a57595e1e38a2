"""Part of `resonance`: a stepper's rotor swings in its field, and its step rate may meet that swing."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import pi, sqrt

from fitcheck.checks.finding import Finding, compare, not_checked
from fitcheck.checks.modes import Chain, Modes, modes_of
from fitcheck.checks.work_units import FREQUENCY, nm, three
from fitcheck.checks.working import Working
from fitcheck.mechanics.damped import magnetic_stiffness, rotor_teeth_of
from fitcheck.mechanics.dynamics import stepper_resonance

CHECK = "resonance"
FIELD_LOW = 0.7
"""Least share of the holding torque that the field works with while the motor runs; common practice, no source."""

CLEAR = sqrt(2.0)
"""Ratio of an exciting frequency to a resonance from which on it is no longer amplified (closed form of one mass on a
spring); the same is kept below it."""


@dataclass(frozen=True, kw_only=True)
class Held:
    """A stepper's resonances.

    Attributes:
        modes: of the chain with its rotor held in the field.
        alone: of the rotor alone, Hz.
        together: of rotor and load as one, Hz.
        words: how the field was found.
    """

    modes: Modes
    alone: float
    together: float
    words: str


def held_of(working: Working, whole: Chain, rotor: float) -> Held | None:
    """The stepper's resonances; None where the job gives no holding torque.

    Raises:
        UsageError: a mode is damped so heavily that it does not oscillate.
    """
    motor = working.data.motor
    if motor.holding_torque is None:
        return None
    teeth = rotor_teeth_of(motor.steps, motor.phases)
    field = magnetic_stiffness(motor.holding_torque, teeth)
    inertia = motor.inertia or rotor
    return Held(
        modes=modes_of(whole, field, FIELD_LOW),
        alone=stepper_resonance(motor.holding_torque, teeth, inertia),
        together=stepper_resonance(motor.holding_torque, teeth, rotor + working.axis.inertia),
        words=f"a holding torque of {nm(motor.holding_torque)} on {three(teeth)} rotor teeth, {three(field)} N·m/rad, "
        f"{three(FIELD_LOW)} of it at least in motion (common practice, no source)",
    )


def step_rate_findings(working: Working, held: Held | None) -> tuple[Finding, ...]:
    """The full-step rate of each speed that the cycle runs with against the lowest resonance in the field."""
    if held is None:
        return ()
    low, high = held.modes.ranges[0]
    steps = working.data.motor.steps
    to_rpm = 60.0 / steps
    words = (
        f"the rotor in its field ({held.words}) swings with {three(held.alone)} Hz alone, {three(held.together)} Hz "
        f"with all behind it as one, and through the coupling with {three(low)} to {three(high)} Hz, which full steps "
        f"meet at {three(low * to_rpm)} to {three(high * to_rpm)} rpm, and halves and thirds of that more weakly"
    )
    speeds = _running(working)
    if not speeds:
        supply = f"give drive.{working.data.axis_kind}.moves with a time at constant speed"
        return (not_checked(CHECK, "step rate", f"{words}; no constant speed is known", supply, required=False),)
    rates = [speed / (2.0 * pi) * steps for speed in speeds]
    rate = min(rates, key=lambda one: max(low / one, one / high))
    above = rate * rate >= low * high
    finding = compare(
        check=CHECK, subject="step rate", value=rate, limit=high * CLEAR if above else low / CLEAR, unit=FREQUENCY,
        at_least=above, path="drive.motor.holding_torque",
        message=f"{words}; the cycle runs with {three(rate)} full steps a second ({three(rate * to_rpm)} rpm), to be a "
        f"ratio of {three(CLEAR)} away",
        remedy="another speed, microstepping, or a damper on the motor; the range is only to be passed through",
    )  # fmt: skip
    return (replace(finding, status="warn") if finding.status == "fail" else finding,)


def _running(working: Working) -> list[float]:
    """The constant speeds of the cycle, rad/s, sizes."""
    if working.demand is None:
        return []
    found = {abs(part.start_speed) for part in working.demand.segments if not part.accelerating and part.angle != 0.0}
    return sorted(found)
