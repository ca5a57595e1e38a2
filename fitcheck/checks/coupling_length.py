"""The smallest and the largest coupling length that fits where the coupling sits: a remedy, tried before it is told."""

from __future__ import annotations

from dataclasses import replace

from fitcheck.checks.drive import Drive
from fitcheck.checks.swept import hub_length
from fitcheck.checks.trying import Key, holds, with_coupling
from fitcheck.checks.wording import mm

_STEP = 0.5
"""mm between the lengths tried first; a range of fitting lengths that is narrower may be missed."""
_FINEST = 0.01
_MOST_INWARDS = 6
"""So many steps are gone inwards from an end at which a screw would be out of reach, or no order be left."""


def length_remedy(drive: Drive, key: Key) -> str | None:
    """The range of lengths, hubs and all else as they are, in words; None where no length mends it without harm.

    Args:
        drive: the drive.
        key: check and subject of the finding that it has to mend.
    """
    if not drive.remedies or drive.placed is None:
        return None
    found = length_range(drive, key)
    if found is None:
        return None
    low, high = found
    return f"coupling lengths that fit: {mm(low)} to {mm(high)} (now {mm(drive.job.coupling.length)})"


def length_range(drive: Drive, key: Key) -> tuple[float, float] | None:
    """The range of coupling lengths nearest to the present one, mm, on the careful side by up to 0.01 mm.

    Between its ends shaft gap, axial room, engagement, clearance and the way in were tried in steps; at its
    ends all checks were, and no other one suffers there.
    """
    coupling = drive.job.coupling
    least = sum(hub_length(hub) for hub in (coupling.hubs.motor, coupling.hubs.actuator))
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
    low, high = _edge(drive, low, max(low - _STEP, least)), _edge(drive, high, high + _STEP)
    shortest, longest = _without_harm(drive, key, low, high), _without_harm(drive, key, high, low)
    return None if shortest is None or longest is None or shortest > longest else (shortest, longest)


def _without_harm(drive: Drive, key: Key, end: float, other_end: float) -> float | None:
    """The length nearest to an end of the range at which nothing suffers, mm; None where none near it is one."""
    steps = [end + i * (other_end - end) / _MOST_INWARDS for i in range(_MOST_INWARDS + 1)]
    for length in (end, *(round(step, 1) for step in steps[1:])):
        tried = _with_length(drive, length)
        if tried is not None and holds(drive, tried, (key,)):
            return length
    return None


def _edge(drive: Drive, good: float, bad: float) -> float:
    while abs(bad - good) > _FINEST:
        middle = 0.5 * (good + bad)
        good, bad = (middle, bad) if _passes(drive, middle) else (good, middle)
    # Rounded to hundredths towards the good side, and tried as it is told.
    for told in (round(good, 2), round(good + (0.01 if good > bad else -0.01), 2)):
        if _passes(drive, told):
            return told
    return good


def _with_length(drive: Drive, length: float) -> Drive | None:
    return with_coupling(drive, replace(drive.job.coupling, length=length))


def _passes(drive: Drive, length: float) -> bool:
    from fitcheck.checks import axial_room, engagement, insertion, radial_clearance, shaft_gap

    tried = _with_length(drive, length)
    if tried is None:
        return False
    # No length helps shafts that touch.
    checks = (shaft_gap.check, axial_room.check, engagement.check, radial_clearance.check, insertion.check)
    return not any(finding.status in ("fail", "not-checked") for check in checks for finding in check(tried))
