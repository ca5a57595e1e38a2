"""`shaft-gap`: the shaft ends stay apart."""

from __future__ import annotations

from fitcheck.checks.drive import Drive
from fitcheck.checks.finding import Finding, compare, not_checked
from fitcheck.checks.tolerances import gap_stack, told
from fitcheck.checks.wording import SIDES, mm, rounded_up

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
    gap, limit = actuator.end - motor.end, drive.job.coupling.shaft_gap
    loss, words = _loss(drive)
    value = gap - loss
    message = (
        f"{mm(value)} left between the shaft ends ({mm(gap)} as drawn, {mm(loss)} {words} taken off); "
        f"at least {mm(limit)} needed"
    )
    remedy = _remedy(drive, rounded_up(limit - value)) if value < limit - 1e-9 and not drive.trial else None
    finding = compare(
        check=CHECK, subject=SUBJECT, value=value, limit=limit, unit="mm", at_least=True, message=message,
        remedy=remedy,
        at=drive.at(0.5 * (motor.end + actuator.end)), path="coupling.shaft_gap",
    )  # fmt: skip
    sizes = drive.job.tolerances
    return (finding if sizes is None else told(finding, gap_stack(sizes, gap), sizes),)


def _loss(drive: Drive) -> tuple[float, str]:
    """What growth and tolerances take: as the job requires it, or as its drive grows, where that is more."""
    asked = drive.job.require.gap_loss
    service = None if drive.job.drive is None else drive.job.drive.service
    if service is None or (service.warming == service.adapter_warming == service.axial_play == 0.0):
        return asked, "growth and tolerances"
    from fitcheck.checks.growth import growth_of

    grown = growth_of(drive, service)
    closing = grown.closing + service.axial_play
    if closing <= asked:
        return asked, "growth and tolerances"
    return closing, f"growth {grown.how}, and axial play, more than require.gap_loss,"


def _remedy(drive: Drive, lack: float) -> str:
    """Shorter shafts or a longer adapter, each tried first."""
    if not drive.remedies:
        return f"shafts that are {mm(lack)} shorter together, or a longer adapter"
    from fitcheck.checks.longer_adapter import longer_adapter
    from fitcheck.checks.trying import HARM, shaft_change, shafts_change

    keys = ((CHECK, SUBJECT),)
    ways = [shaft_change(drive, side, -lack, keys) for side in SIDES]
    ways += [shafts_change(drive, -rounded_up(lack / 2), keys), longer_adapter(drive, lack, keys)]
    found = [way for way in ways if way is not None]
    good = [way for way in found if HARM not in way]
    return ", or ".join(good or found) or f"{mm(lack)} more between the shaft ends, by another adapter"
