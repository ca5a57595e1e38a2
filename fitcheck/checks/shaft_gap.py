"""`shaft-gap`: the shaft ends stay apart."""

from __future__ import annotations

from fitcheck.checks.drive import Drive
from fitcheck.checks.finding import Finding, compare, not_checked
from fitcheck.checks.tolerances import gap_stack, told
from fitcheck.checks.wording import mm, rounded_up

CHECK = "shaft-gap"
SUBJECT = "shafts"


def check(drive: Drive) -> tuple[Finding, ...]:
    """The distance between the shaft ends, thermal growth and tolerances taken off, against the coupling's least."""
    missing = [side.no_shaft() for side in drive.sides if side.shaft is None]
    if missing:
        reason, supply = "; ".join(m.reason for m in missing), " and ".join(m.supply for m in missing)
        return (not_checked(CHECK, SUBJECT, reason, supply),)
    motor, actuator = drive.motor.shaft, drive.actuator.shaft
    assert motor is not None
    assert actuator is not None
    gap, loss, limit = actuator.end - motor.end, drive.job.require.gap_loss, drive.job.coupling.shaft_gap
    value = gap - loss
    message = (
        f"{mm(value)} left between the shaft ends ({mm(gap)} as drawn, {mm(loss)} growth and tolerances taken off); "
        f"at least {mm(limit)} needed"
    )
    lack = rounded_up(limit - value)
    finding = compare(
        check=CHECK, subject=SUBJECT, value=value, limit=limit, unit="mm", at_least=True, message=message,
        remedy=f"shorten the shafts by {mm(lack)} together, or make the adapter {mm(lack)} longer",
        at=drive.at(0.5 * (motor.end + actuator.end)), path="coupling.shaft_gap",
    )  # fmt: skip
    sizes = drive.job.tolerances
    return (finding if sizes is None else told(finding, gap_stack(sizes, gap), sizes),)
