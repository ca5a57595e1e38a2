"""Root causes among findings: what the remedy of one finding mends as well follows from it.

A coupling that is too wide fails its clearance, the way in and whatever its hub then reaches in front of; shafts that
overlap fail the gap and what depends on where their ends lie. The remedy of the root is applied and the checks are made
again; a fail that is gone then follows from the root. What is not checked for the same reason follows from the first.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from fitcheck.checks import axial_room, engagement, insertion, radial_clearance, shaft_gap
from fitcheck.checks.drive import Drive
from fitcheck.checks.finding import Finding
from fitcheck.checks.wording import SIDES, rounded_up

if TYPE_CHECKING:
    from fitcheck.checks.trying import Key

_WIDTH = ((radial_clearance.CHECK, radial_clearance.SUBJECT), (insertion.CHECK, insertion.SUBJECT))
"""Findings that are both answered by the largest swept diameter that fits and goes in."""
_DEPTHS = tuple((engagement.CHECK, f"{side} shaft depth") for side in SIDES)
"""Of a coupling centred between the shaft ends, a shaft that is too long shows at both hubs."""
_GAP = (shaft_gap.CHECK, shaft_gap.SUBJECT)


def with_causes(drive: Drive, findings: Sequence[Finding]) -> list[Finding]:
    """The findings in the same order, each that follows from another one with that one's check and subject as `cause`.

    No cause has a cause itself.
    """
    causes: dict[Key, Key] = {}
    failed = {_key(f): f for f in findings if f.status == "fail"}
    if drive.remedies and len(failed) > 1 and drive.placed is not None:
        for root in _roots(drive, failed):
            if root in causes:
                continue
            for key in _mended(drive, root, failed[root]) & (failed.keys() - {root, _GAP} - set(causes.values())):
                causes.setdefault(key, root)
    first: dict[tuple[str, str | None, bool], Key] = {}
    found = []
    for finding in findings:
        cause = finding.cause
        if finding.status == "fail":
            cause = causes.get(_key(finding), cause)
            if cause in _WIDTH and finding.check == axial_room.CHECK:
                # A wall that a thinner coupling clears is not met by a longer adapter.
                finding = replace(finding, remedy=failed[cause].remedy)
        elif finding.status == "not-checked" and cause is None:
            begin = first.setdefault((finding.message, finding.remedy, finding.required), _key(finding))
            cause = None if begin == _key(finding) else begin
        # What follows from something that follows itself has the same root.
        found.append(replace(finding, cause=None if cause is None else causes.get(cause, cause)))
    return found


def _key(finding: Finding) -> Key:
    return finding.check, finding.subject


def _roots(drive: Drive, failed: dict[Key, Finding]) -> Iterator[Key]:
    """Findings whose remedy may mend others: the overlap of the shafts, then of the widths the one that lacks most."""
    if _GAP in failed:
        yield _GAP
    if drive.job.place.motor_hub_face is None and all(key in failed for key in _DEPTHS):
        yield max(_DEPTHS, key=lambda key: -(failed[key].margin or 0.0))
    yield from sorted((key for key in _WIDTH if key in failed), key=lambda key: failed[key].margin or 0.0)


def _mended(drive: Drive, root: Key, finding: Finding) -> set[Key]:
    """Fails that are gone by every remedy of the root; none where no remedy mends the root."""
    from fitcheck.checks.trying import failing

    was = set(failing(drive))
    left = [set(failing(tried)) for tried in _remedied(drive, root, finding)]
    left = [keys for keys in left if root not in keys]
    return was - set().union(*left) if left else set()


def _remedied(drive: Drive, root: Key, finding: Finding) -> Iterator[Drive]:
    """The drive with each remedy of the root applied."""
    from fitcheck.checks.diameter_remedy import largest_diameter, with_diameter
    from fitcheck.checks.trying import with_job, with_shaft

    if root == _GAP or root in _DEPTHS:
        # A centred coupling gives way by half of what a shaft is shortened by.
        lack = rounded_up(-(finding.margin or 0.0)) * (1.0 if root == _GAP else 2.0)
        one = None if root == _GAP else engagement.deep_shaft(drive)
        for side in SIDES if one is None else one[:1]:
            yield with_shaft(drive, side, -lack)
        return
    assert drive.placed is not None
    diameter = largest_diameter(drive, drive.placed)
    if diameter is None:
        return
    coupling = drive.job.coupling

    def narrow(width: float | None) -> float | None:
        return None if width is None else min(width, diameter)

    hubs = replace(
        coupling.hubs,
        motor=replace(coupling.hubs.motor, outside_diameter=narrow(coupling.hubs.motor.outside_diameter)),
        actuator=replace(coupling.hubs.actuator, outside_diameter=narrow(coupling.hubs.actuator.outside_diameter)),
    )
    thin = replace(
        coupling, outside_diameter=min(coupling.outside_diameter, diameter),
        element_diameter=narrow(coupling.element_diameter), hubs=hubs,
    )  # fmt: skip
    tried = with_job(drive, replace(drive.job, coupling=thin))
    if tried.placed is not None:
        yield with_diameter(tried, tried.placed, diameter)
