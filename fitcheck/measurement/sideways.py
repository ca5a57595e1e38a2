"""In which directions a round part goes in sideways, through a window, onto the drive axis.

A cylinder about the drive axis that comes in square to it sweeps, at each of its stations, the half-strip
|n.p| <= radius, u.p >= 0 (its round front end lies within the part's own place, which has to be free anyway). The
strip is the same at all its stations, so the material between them, projected along the axis, gives the blocked
directions in closed form, without subdivision.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.half_strips import edge_intervals
from fitcheck.measurement.intervals import Gap, gaps
from fitcheck.measurement.obstacles import Floats, Obstacles
from fitcheck.measurement.outlines import least, most, outlines

_FINEST = 0.01
"""mm; how closely the room of a way in is told."""


def sideways(
    obstacles: Obstacles, parts: Sequence[tuple[float, float, float]], *, leave_out: Iterable[int] = (),
    spare: float = 0.0,
) -> tuple[Gap, ...]:  # fmt: skip
    """The free directions (degrees of shaft angle) from which a part comes in; the part moves the opposite way.

    Args:
        obstacles: the measurement's obstacles.
        parts: the part's cylinders, (first station, last station, radius) in mm.
        leave_out: body indices that do not count.
        spare: mm of clearance to keep all round.
    """
    skip = np.fromiter(leave_out, dtype=np.int64)
    lows: list[Floats] = [np.empty(0)]
    highs: list[Floats] = [np.empty(0)]
    owners: list[NDArray[np.int64]] = [np.empty(0, dtype=np.int64)]
    along = obstacles.triangles[:, :, 0]
    free: tuple[Gap, ...] = gaps(lows[0], highs[0], owners[0])
    # The widest first: where it goes in from nowhere, nothing else need be looked at.
    for start, stop, radius in sorted(parts, key=lambda part: -part[2]):
        bound = obstacles.triangle_bound + spare
        keep = (most(along) >= start - bound) & (least(along) <= stop + bound)
        if skip.size:
            keep &= ~np.isin(obstacles.triangle_body, skip)
        near = np.flatnonzero(keep)
        if near.size == 0:
            continue
        grow = bound[near]
        first, second, owner = outlines(obstacles.triangles[near], start - grow, stop + grow)
        low, high, which = edge_intervals(first, second, np.zeros(owner.size), 0.0, radius + grow[owner])
        lows.append(low)
        highs.append(high)
        owners.append(obstacles.triangle_body[near[owner[which]]].astype(np.int64))
        free = gaps(np.concatenate(lows), np.concatenate(highs), np.concatenate(owners))
        if not free:
            break
    return free


def sideways_room(
    obstacles: Obstacles, parts: Sequence[tuple[float, float, float]], *, leave_out: Iterable[int] = (),
    most_room: float = 20.0, more_than: float | None = None, enough: float | None = None,
) -> tuple[float, float | None]:  # fmt: skip
    """How much clearance a part that comes in sideways can keep all round, and from which direction.

    Args:
        obstacles: as in `sideways`.
        parts: as in `sideways`.
        leave_out: as in `sideways`.
        most_room: mm; no more is looked for, nor how much is lacking beyond it.
        more_than: mm; a room that is no larger need not be told, which is found out in one look.
        enough: mm; whether the room is as large is all that is wanted, which takes one look.

    Returns:
        mm (negative: by how much it is too large, -`most_room` at least) and degrees; at most 0.01 mm too small.
        Where the room is not what `more_than` or `enough` ask for, -`most_room` and None.
    """
    skip = tuple(leave_out)
    low, high = -most_room, most_room
    obstacles = _beside(obstacles, parts, skip, most_room)
    if enough is not None:
        ways = sideways(obstacles, parts, spare=enough)
        return (enough, _middle(ways)) if ways else (low, None)
    if more_than is not None and more_than > low:
        low = min(more_than, high)
    ways = sideways(obstacles, parts, spare=low)
    if not ways:
        return -most_room, None
    while high - low > _FINEST:
        middle = 0.5 * (low + high)
        found = sideways(obstacles, parts, spare=middle)
        if found:
            low, ways = middle, found
        else:
            high = middle
    return low, _middle(ways)


def _middle(ways: Sequence[Gap]) -> float:
    """The middle of the widest range of directions, degrees."""
    widest = max(ways, key=lambda gap: gap.width)
    return (widest.start + widest.width / 2) % 360.0


def _beside(
    obstacles: Obstacles, parts: Sequence[tuple[float, float, float]], skip: Sequence[int], room: float
) -> Obstacles:
    """The obstacles that may stand in the way of a part with so much room all round, mm; bodies of `skip` left out."""
    along = obstacles.triangles[:, :, 0]
    low, high = least(along), most(along)
    bound = obstacles.triangle_bound + room
    keep = np.zeros(low.size, dtype=bool)
    for start, stop, _ in parts:
        keep |= (high >= start - bound) & (low <= stop + bound)
    if skip:
        keep &= ~np.isin(obstacles.triangle_body, skip)
    return replace(
        obstacles, triangles=obstacles.triangles[keep], triangle_bound=obstacles.triangle_bound[keep],
        triangle_body=obstacles.triangle_body[keep],
    )  # fmt: skip
