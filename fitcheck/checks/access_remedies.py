"""What would let a tool reach a screw that none reaches."""

from __future__ import annotations

from math import ceil

from fitcheck.checks.access import LEAST_ANGLE, Reach
from fitcheck.checks.drive import Drive, Placed
from fitcheck.checks.material import left_out
from fitcheck.checks.wording import mm
from fitcheck.measurement.corridor import ToolPart, corridor
from fitcheck.measurement.obstacles import Obstacles, triangles_between

_FARTHEST_MOVE = 15
"""mm; how far a shift of the coupling or of a window's edge is looked for."""


def access_remedy(drive: Drive, placed: Placed, side: str, position: int, reach: Reach) -> str:
    """The opening that would be enough, and the least move that brings the screw before an opening there is."""
    screw = placed.hub(side).hub.screws[position - 1]
    station = placed.hub(side).inwards(screw.station)
    if reach.hindered_by is not None:
        return f"a longer distance between the screw and {reach.hindered_by}, or a tool that is thinner there"
    obstacles = drive.measurement.obstacles
    assert obstacles is not None
    bound = float(obstacles.triangle_bound.max(initial=0.0))
    width = ceil((reach.tool.width + 2 * bound) * 10 - 1e-6) / 10
    opening = (
        f"an opening at least {mm(width)} wide at stations {mm(station - width / 2)} to {mm(station + width / 2)}, "
        f"in line with the screw ({mm(abs(screw.offset))} beside the drive axis), is enough"
    )
    move = _least_move(drive, screw.offset, reach.tool.parts, station) if drive.remedies else None
    if move is None:
        return opening
    from fitcheck.checks.moving import move_remedy

    text = f"widen the opening by {mm(abs(move))} towards the {'motor' if move > 0 else 'actuator'}"
    moved = move_remedy(drive, move, "wrench-access", f"{side} hub screw {position}")
    if moved is not None:
        text = f"{moved}, or {text}"
    return f"{text}; {opening}"


def _least_move(drive: Drive, offset: float, parts: tuple[ToolPart, ...], station: float) -> float | None:
    """The least shift of the screw along the axis, in steps of 0.1 mm, at which the tool reaches it."""
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

    for distance in range(1, _FARTHEST_MOVE + 1):
        if reached(distance) or reached(-distance):
            tenths = (sign * t / 10 for t in range(10 * distance - 9, 10 * distance + 1) for sign in (1.0, -1.0))
            return next(move for move in tenths if reached(move))
    return None
