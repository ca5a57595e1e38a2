"""What would let a tool reach a screw that none reaches: another tool or place, a shorter arm, a larger opening.

Every offer is tried before it is made: the check is made again with the other tool, at the new place, with the shorter
arm, and with the material of the opening cut out of the adapter.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cache
from itertools import islice
from math import ceil, floor

import numpy as np

from fitcheck.checks.access import ASSEMBLED, LEAST_ANGLE, Asked, Reach, best_of, reaches
from fitcheck.checks.assembly_order import tightened_before
from fitcheck.checks.drive import Drive, Placed
from fitcheck.checks.moving import move_remedy
from fitcheck.checks.on_screw import OnScrew
from fitcheck.checks.tools import Tool
from fitcheck.checks.trying import with_job
from fitcheck.checks.window_remedies import Openings
from fitcheck.checks.wording import mm
from fitcheck.job.model import ACROSS, TO_OTHER_HUB, TOOLS
from fitcheck.measurement.corridor import corridor, corridors
from fitcheck.measurement.obstacles import Obstacles, triangles_between

_FARTHEST_MOVE = 15
"""mm; how far a shift of the coupling is looked for."""
_MOVES_AT_ONCE = 10
"""So many places are looked at together: all at once would take much memory on an adapter of thousands of faces."""
_ROUGHLY = 0.05
"""Degrees; how closely a first look tells the ways in."""
_MOST_MOVES = 4
"""So many moves that free the screw are tried, in case the least of them harms something else."""
_SHORTEST_ARM = 8.0
"""mm; a key with a shorter arm cannot be held."""
_ROUNDING = 1e-9
_CHECK = "wrench-access"


def access_remedy(drive: Drive, placed: Placed, side: str, position: int, reach: Reach) -> str:
    """The remedies that hold, the smallest change first.

    Args:
        drive: the drive.
        placed: where the coupling sits.
        side: the hub's side.
        position: the screw's number on its hub, from 1.
        reach: the tool that comes nearest to working.
    """
    screw = placed.hub(side).hub.screws[position - 1]
    if not drive.remedies:
        return "an opening in line with the screw, another place of the coupling, or a tool that fits"
    offers = list(_other_tools(drive, side, position))
    if screw.direction == ACROSS:
        offers += _moves(drive, placed, side, position)
        if reach.tool.arm is None:
            offers += [offer for offer in (_thinner(drive, placed, side, position, reach.tool),) if offer is not None]
        if reach.by_arm and reach.tool.arm is not None:
            shorter = _shorter_arm(OnScrew(drive, placed, side, position), reach)
            if shorter is not None:
                offers.append(f"a key whose arm is cut to {mm(shorter)} turns there")
        if reach.hindered_by is None:
            openings = Openings(drive, placed, side, position, reach)
            offers += [offer for offer in (openings.widened(), openings.hole()) if offer is not None]
    if screw.direction == TO_OTHER_HUB:
        from fitcheck.checks.element_remedies import element_offers

        offers += element_offers(drive, placed, side, position, reaches(drive, placed, side, position))
    if drive.job.require.access == "assembled" and tightened_before(drive, side, position) is not None:
        offers.append("ask for access in order alone (require.access: in order): assembly-order tightens it before")
    if offers:
        return "; or ".join(offers)
    if screw.direction != ACROSS:
        return "none was found: another way of assembly, or a way along the axis that is left open"
    what = reach.hindered_by or drive.body_name(reach.blocker) or "the material"
    return (
        f"no other place, edge of an opening or hole that was tried is enough for a {reach.tool.name}: another adapter "
        f"or coupling, with more room between the screw and {what}"
    )


def _other_tools(drive: Drive, side: str, position: int) -> Iterator[str]:
    """Tools that the job does not allow and that reach the screw, as one offer."""
    working = []
    for word in TOOLS:
        if word in drive.job.require.tools:
            continue
        require = replace(drive.job.require, tools=(word,), own_tools=())
        tried = with_job(drive, replace(drive.job, require=require))
        assert tried.placed is not None
        if best_of(reaches(tried, tried.placed, side, position)).works:
            working.append(word)
    if working:
        yield f"another tool reaches it (require.tools: {', '.join(working)})"


def _moves(drive: Drive, placed: Placed, side: str, position: int) -> Iterator[str]:
    """The least move of the coupling, found in steps of 0.1 mm, at which the check passes and nothing suffers."""
    subject = f"{side} hub screw {position}"
    for move in islice(_clear_moves(drive, placed, side, position), _MOST_MOVES):
        found = move_remedy(drive, move, _CHECK, subject)
        if found is not None:
            yield found
            return


def _clear_moves(drive: Drive, placed: Placed, side: str, position: int) -> Iterator[float]:
    """Shifts of the coupling along the axis, mm, at which some tool reaches the screw: the least, then more."""
    obstacles, start = drive.measurement.obstacles, placed.start
    assert obstacles is not None
    asked = Asked(drive, placed, side, position, ASSEMBLED)
    wide = max(max(tool.width / 2, 0.0 if tool.arm is None else tool.arm.length) for tool in asked.tools)
    about = triangles_between(
        obstacles, asked.station - _FARTHEST_MOVE - wide, asked.station + _FARTHEST_MOVE + wide
    )  # fmt: skip
    here = replace(drive, measurement=replace(drive.measurement, obstacles=about))

    @cache
    def reached(tenths: int) -> bool:
        moved = here.moved(start + tenths / 10)
        assert moved.placed is not None
        return any(reach.works for reach in reaches(moved, moved.placed, side, position))

    before = {1: False, -1: False}
    whole = [sense * distance for distance in range(1, _FARTHEST_MOVE + 1) for sense in (1, -1)]
    comes_in = _ways_in(asked, about, whole)
    for distance in range(1, _FARTHEST_MOVE + 1):
        for sense in (1, -1):
            found = next(comes_in) and reached(10 * sense * distance)
            if found and not before[sense]:
                low, high = 10 * (distance - 1), 10 * distance
                while high - low > 1:
                    middle = (low + high) // 2
                    low, high = (low, middle) if reached(sense * middle) else (middle, high)
                yield sense * high / 10
            elif found:
                yield float(sense * distance)
            before[sense] = found


def _ways_in(asked: Asked, about: Obstacles, moves: Sequence[int]) -> Iterator[bool]:
    """Whether the straight part of any tool may come in after each move of the coupling, mm; many in one look."""
    stacks = list(dict.fromkeys(tool.parts for tool in asked.tools if tool.tilt == 0.0))
    for at in range(0, len(moves), _MOVES_AT_ONCE):
        some = moves[at : at + _MOVES_AT_ONCE]
        stations = [asked.station + move for move in some for _ in stacks]
        found = iter(
            corridors(
                about, stations, asked.offset, stacks * len(some), leave_out=asked.skip, tolerance=_ROUGHLY,
                all_blockers=False,
            )
        )  # fmt: skip
        for _ in some:
            widest = [way.widest for way in islice(found, len(stacks))]
            yield any(gap is not None and gap.width >= LEAST_ANGLE - 2.0 * _ROUGHLY for gap in widest)


def _thinner(drive: Drive, placed: Placed, side: str, position: int, tool: Tool) -> str | None:
    """How thick a tool without an arm may be beyond its first part, in words; None where that is not what hinders."""
    first, most = tool.parts[0].radius, max(part.radius for part in tool.parts)
    plain = replace(drive, remedies=False, trial=True, answers={})
    asked = Asked(plain, placed, side, position, ASSEMBLED)

    def works(tenths: int) -> bool:
        parts = tuple(replace(part, radius=max(min(part.radius, tenths / 20), first)) for part in tool.parts)
        return asked.reach(replace(tool, parts=parts)).works

    low, high = ceil(20 * first - _ROUNDING), ceil(20 * most)
    if most <= first or not works(low):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if works(middle) else (low, middle)
    return f"a {tool.name} of at most {mm(low / 10)} across (now {mm(tool.width)}) reaches it"


def _shorter_arm(on_screw: OnScrew, reach: Reach) -> float | None:
    """The longest arm (mm, from the screw's axis) that works at some direction where the straight part comes in."""
    arm = reach.tool.arm
    assert arm is not None
    straight = corridor(
        on_screw.material, on_screw.station, on_screw.offset, reach.tool.parts, leave_out=on_screw.skip
    )  # fmt: skip
    if straight.widest is None:
        return None
    thetas = np.radians(np.concatenate([np.linspace(g.start, g.stop, 7)[1:-1] for g in straight.free]))

    def cut(length: float) -> bool:
        bars = tuple(replace(bar, length=min(bar.length, length)) for bar in arm.bars)
        return any(on_screw.arm_works(replace(arm, bars=bars), thetas))

    low, high = _SHORTEST_ARM, arm.length
    if not cut(low):
        return None
    while high - low > 0.05:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if cut(middle) else (low, middle)
    # Told in tenths, and held against the whole range of directions as it is told.
    for length in (floor(low * 10.0) / 10.0, floor(low * 10.0) / 10.0 - 0.5):
        bars = tuple(replace(bar, length=min(bar.length, length)) for bar in arm.bars)
        working = on_screw.ranges(replace(arm, bars=bars), straight.free)
        if max((gap.width for gap in working), default=0.0) >= LEAST_ANGLE:
            return length
    return None
