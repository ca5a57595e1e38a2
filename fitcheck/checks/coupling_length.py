"""The smallest and the largest coupling length that fits where the coupling sits: a remedy, tried before it is told."""

from __future__ import annotations

from dataclasses import replace

from fitcheck.checks.drive import Drive, drive_of
from fitcheck.checks.wording import mm

_STEP = 0.5
"""mm between the lengths tried first; a range of fitting lengths that is narrower may be missed."""
_FINEST = 0.01


def length_remedy(drive: Drive) -> str | None:
    """The range of lengths, hubs and all else as they are, that passes all that depends on it; None where none does."""
    if not drive.remedies or drive.placed is None:
        return None
    found = length_range(drive)
    if found is None:
        return None
    low, high = found
    return f"coupling lengths that fit: {mm(low)} to {mm(high)} (now {mm(drive.job.coupling.length)})"


def length_range(drive: Drive) -> tuple[float, float] | None:
    """The range of coupling lengths nearest to the present one that passes, mm, on the safe side by up to 0.01 mm."""
    coupling = drive.job.coupling
    least = sum(hub.length or hub.bore_length for hub in (coupling.hubs.motor, coupling.hubs.actuator))
    count = int((3.0 * coupling.length + 20.0 - least) / _STEP)
    lengths = sorted((least + i * _STEP for i in range(count)), key=lambda length: abs(length - coupling.length))
    first = next((length for length in lengths if _passes(drive, length)), None)
    if first is None:
        return None
    low, high = first, first
    while low - _STEP >= least and _passes(drive, low - _STEP):
        low -= _STEP
    while high + _STEP <= least + count * _STEP and _passes(drive, high + _STEP):
        high += _STEP
    return _edge(drive, low, max(low - _STEP, least)), _edge(drive, high, high + _STEP)


def _edge(drive: Drive, good: float, bad: float) -> float:
    while abs(bad - good) > _FINEST:
        middle = 0.5 * (good + bad)
        good, bad = (middle, bad) if _passes(drive, middle) else (good, middle)
    # Rounded to hundredths towards the good side, and tried as it is told.
    for told in (round(good, 2), round(good + (0.01 if good > bad else -0.01), 2)):
        if _passes(drive, told):
            return told
    return good


def _passes(drive: Drive, length: float) -> bool:
    from fitcheck.checks import axial_room, engagement, insertion, radial_clearance

    job = replace(drive.job, coupling=replace(drive.job.coupling, length=length))
    tried = replace(drive_of(replace(drive.loaded, job=job), drive.measurement, remedies=False), trial=True)
    checks = (axial_room.check, engagement.check, radial_clearance.check, insertion.check)
    return not any(finding.status in ("fail", "not-checked") for check in checks for finding in check(tried))
