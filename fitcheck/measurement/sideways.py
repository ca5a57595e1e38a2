"""In which directions a round part goes in sideways, through a window, onto the drive axis.

A cylinder about the drive axis that comes in square to it sweeps, at each of its stations, the half-strip
|n.p| <= radius, u.p >= 0 (its round front end lies within the part's own place, which has to be free anyway). The
strip is the same at all its stations, so the material between them, projected along the axis, gives the blocked
directions in closed form, without subdivision.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

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
    for start, stop, radius in parts:
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
    return gaps(np.concatenate(lows), np.concatenate(highs), np.concatenate(owners))


def sideways_room(
    obstacles: Obstacles, parts: Sequence[tuple[float, float, float]], *, leave_out: Iterable[int] = (),
    most_room: float = 20.0,
) -> tuple[float, float | None]:  # fmt: skip
    """How much clearance a part that comes in sideways can keep all round, and from which direction.

    Returns:
        mm (negative: by how much it is too large, -`most_room` at least) and degrees; at most 0.01 mm too small.
    """
    skip = tuple(leave_out)
    low, high = -most_room, most_room
    ways = sideways(obstacles, parts, leave_out=skip, spare=low)
    if not ways:
        return low, None
    while high - low > _FINEST:
        middle = 0.5 * (low + high)
        found = sideways(obstacles, parts, leave_out=skip, spare=middle)
        if found:
            low, ways = middle, found
        else:
            high = middle
    widest = max(ways, key=lambda gap: gap.width)
    return low, (widest.start + widest.width / 2) % 360.0
