"""What would let a tool reach a screw that none reaches: another tool or place, a shorter arm, a larger opening.

Every offer is tried before it is made: the check is made again with the other tool, at the new place, with the shorter
arm, and with the material of the opening cut out of the adapter.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import islice
from math import floor

import numpy as np

from fitcheck.checks.access import LEAST_ANGLE, Reach, best_of, reaches
from fitcheck.checks.drive import Drive, Placed
from fitcheck.checks.material import left_out
from fitcheck.checks.moving import move_remedy
from fitcheck.checks.on_screw import OnScrew
from fitcheck.checks.trying import with_job
from fitcheck.checks.window_remedies import Openings
from fitcheck.checks.wording import mm
from fitcheck.job.model import ACROSS, TOOLS
from fitcheck.measurement.corridor import ToolPart, corridor
from fitcheck.measurement.obstacles import Obstacles, triangles_between

_FARTHEST_MOVE = 15
"""mm; how far a shift of the coupling is looked for."""
_MOST_MOVES = 4
"""So many moves that free the screw are tried, in case the least of them harms something else."""
_SHORTEST_ARM = 8.0
"""mm; a key with a shorter arm cannot be held."""
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
    offers += _moves(drive, placed, side, position, reach)
    if screw.direction == ACROSS:
        if reach.by_arm and reach.tool.arm is not None:
            shorter = _shorter_arm(OnScrew(drive, placed, side, position), reach)
            if shorter is not None:
                offers.append(f"a key whose arm is cut to {mm(shorter)} turns there")
        if reach.hindered_by is None:
            openings = Openings(drive, placed, side, position, reach)
            offers += [offer for offer in (openings.widened(), openings.hole()) if offer is not None]
    if offers:
        return "; or ".join(offers)
    if screw.direction != ACROSS:
        return "none was found: tighten it before the coupling goes in (see assembly-order), or leave the way open"
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


def _moves(drive: Drive, placed: Placed, side: str, position: int, reach: Reach) -> Iterator[str]:
    """The least move of the coupling, found in steps of 0.1 mm, at which the check passes and nothing suffers."""
    screw = placed.hub(side).hub.screws[position - 1]
    if screw.direction != ACROSS or reach.hindered_by is not None:
        return
    station, subject = placed.hub(side).inwards(screw.station), f"{side} hub screw {position}"
    for move in islice(_clear_moves(drive, screw.offset, reach.tool.parts, station), _MOST_MOVES):
        found = move_remedy(drive, move, _CHECK, subject)
        if found is not None:
            yield found
            return


def _clear_moves(drive: Drive, offset: float, parts: tuple[ToolPart, ...], station: float) -> Iterator[float]:
    """Shifts of the screw along the axis, mm, at which the tool's cylinders reach it: the least, then more."""
    obstacles = drive.measurement.obstacles
    assert obstacles is not None
    radius = max(part.radius for part in parts)
    about: Obstacles = triangles_between(
        obstacles, station - _FARTHEST_MOVE - radius, station + _FARTHEST_MOVE + radius
    )
    skip = left_out(drive.measurement)

    def reached(move: float) -> bool:
        found = corridor(about, station + move, offset, parts, leave_out=skip, tolerance=0.05).widest
        return found is not None and found.width >= LEAST_ANGLE

    before = {1: False, -1: False}
    for distance in range(1, _FARTHEST_MOVE + 1):
        for sense in (1, -1):
            here = reached(sense * distance)
            if here and not before[sense]:
                low, high = 10 * (distance - 1), 10 * distance
                while high - low > 1:
                    middle = (low + high) // 2
                    low, high = (low, middle) if reached(sense * middle / 10) else (middle, high)
                yield sense * high / 10
            elif here:
                yield float(sense * distance)
            before[sense] = here


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
