"""What would let a tool reach a flange screw from between the hubs: a thinner element, more length, a shorter key.

Each is tried before it is told.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import ceil

from fitcheck.checks.access import ASSEMBLED, LEAST_ANGLE, Reach, best_of, reaches
from fitcheck.checks.axial_access import AxialAsked
from fitcheck.checks.drive import Drive, Placed
from fitcheck.checks.swept import head_radius, stands_out
from fitcheck.checks.trying import outcome, told, with_coupling
from fitcheck.checks.wording import mm
from fitcheck.job.model import Coupling
from fitcheck.measurement.arm_angles import Arm

_CHECK = "wrench-access"
_TENTH = 0.1
_SHORTEST_LEG = 8.0
"""mm; a key that is cut shorter cannot be held, nor reaches over its own bend."""
_ROUNDING = 1e-9


def widest_element(drive: Drive, side: str, position: int) -> float | None:
    """The widest element (mm, in tenths) beside which an allowed tool reaches a screw; None where there is none."""
    coupling = drive.job.coupling

    def tried(tenths: int) -> tuple[Drive, Placed] | None:
        changed = _with(drive, replace(coupling, element_diameter=tenths * _TENTH))
        return None if changed is None or changed.placed is None else (changed, changed.placed)

    def works(tenths: int) -> bool:
        there = tried(tenths)
        return there is not None and AxialAsked(*there, side, position, ASSEMBLED).somewhere_between()

    low, high = 0, int(_widest_possible(coupling) / _TENTH + _ROUNDING) + 1
    # Most often it is what the heads leave; a thinner element never is more in the way.
    if works(high - 1):
        low = high - 1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if works(middle) else (low, middle)
    there = tried(low) if low else None
    if there is None or not best_of(reaches(*there, side, position)).works:
        return None
    return round(low * _TENTH, 1)


def _with(drive: Drive, coupling: Coupling) -> Drive | None:
    """The drive with another coupling, kept with its answers: the hubs' screws ask about the same ones."""
    asked = ("with coupling", coupling)
    if asked not in drive.answers:
        drive.answers[asked] = with_coupling(drive, coupling)
    changed: Drive | None = drive.answers[asked]
    return changed


def _widest_possible(coupling: Coupling) -> float:
    """The widest element beside the heads that stand out between the hubs, mm."""
    heads = [
        2.0 * (abs(screw.offset) - head_radius(screw))
        for hub in (coupling.hubs.motor, coupling.hubs.actuator)
        for screw in hub.screws
        if stands_out(hub, screw)
    ]
    return max(min([coupling.outside_diameter, *heads]), _TENTH)


def element_offers(drive: Drive, placed: Placed, side: str, position: int, every: tuple[Reach, ...]) -> Iterator[str]:
    """The remedies that hold for a screw whose head faces the other hub, in words."""
    keys = ((_CHECK, f"{side} hub screw {position}"),)
    coupling = drive.job.coupling
    most = widest_element(drive, side, position)
    if most is not None and coupling.element_diameter is not None and most < coupling.element_diameter:
        changed = _with(drive, replace(coupling, element_diameter=most))
        text = f"an element of at most {mm(most)} between the hubs (coupling.element_diameter)"
        offer = None if changed is None else told(text, outcome(drive, changed, keys))
        if offer is not None:
            yield offer
    asked = AxialAsked(replace(drive, remedies=False, trial=True, answers={}), placed, side, position, ASSEMBLED)
    lacks = {lack: reach for reach in every if (lack := asked.lacking(reach.tool)) > 0.0}
    if not lacks:
        return
    least = min(lacks)
    longer = round(ceil(least / _TENTH - _ROUNDING) * _TENTH, 1)
    changed = _with(drive, replace(coupling, length=coupling.length + longer))
    if changed is not None and changed.placed is not None:
        text = f"{mm(longer)} more between the hubs (coupling.length: {mm(coupling.length + longer)})"
        most = widest_element(changed, side, position)
        if most is not None and not best_of(reaches(changed, changed.placed, side, position)).works:
            changed = _with(changed, replace(changed.job.coupling, element_diameter=most))
            text += f" and an element of at most {mm(most)} (coupling.element_diameter)"
        offer = None if changed is None or most is None else told(text, outcome(drive, changed, keys))
        if offer is not None:
            yield offer
    reach = lacks[least]
    assert reach.tool.arm is not None
    leg = max(bar.high for bar in reach.tool.arm.bars) - asked.start - longer
    shorter = replace(reach.tool, arm=_lowered(reach.tool.arm, longer))
    if leg >= _SHORTEST_LEG and asked.reach(shorter).widest >= LEAST_ANGLE:
        yield f"a {reach.tool.name}, with that arm cut to {mm(leg)}"


def _lowered(arm: Arm, by: float) -> Arm:
    return replace(arm, bars=tuple(replace(bar, low=bar.low - by, high=bar.high - by) for bar in arm.bars))
