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

from fitcheck.measurement.half_strips import edge_intervals, holding_angles
from fitcheck.measurement.intervals import Gap, covered, gaps, merged, unwrapped
from fitcheck.measurement.obstacles import Floats, Obstacles
from fitcheck.measurement.outlines import outlines

_LARGEST = 60
"""So many triangles are looked at first."""
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
    known: list[_Blocked] = []
    # The widest first: where it goes in from nowhere, nothing else need be looked at.
    for start, stop, radius in sorted(parts, key=lambda part: -part[2]):
        near = obstacles.between(start - spare, stop + spare)
        if skip.size:
            near = near[~np.isin(obstacles.triangle_body[near], skip)]
        for rows in _largest_first(obstacles, near, radius):
            if known:
                # Most triangles lie beside or behind large ones, and block nothing more.
                rows = rows[_may_block(obstacles, rows, radius + spare, known)]
            known.append(_blocked(obstacles, rows, (start - spare, stop + spare, radius + spare)))
            if not _free(known):
                return ()
    return _free(known)


_Blocked = tuple[Floats, Floats, NDArray[np.int64]]
"""Blocked directions from and to, radians, and the body of each."""


def _blocked(obstacles: Obstacles, rows: NDArray[np.int64], part: tuple[float, float, float]) -> _Blocked:
    (start, stop, radius), grow = part, obstacles.triangle_bound[rows]
    first, second, owner = outlines(obstacles.triangles[rows], start - grow, stop + grow)
    low, high, which = edge_intervals(first, second, np.zeros(owner.size), 0.0, radius + grow[owner])
    return low, high, obstacles.triangle_body[rows[owner[which]]].astype(np.int64)


def _free(known: Sequence[_Blocked]) -> tuple[Gap, ...]:
    every = [np.concatenate(column) for column in zip(*known, strict=True)]
    return gaps(every[0], every[1], every[2]) if every else gaps(np.empty(0), np.empty(0), np.empty(0, dtype=np.int64))


def _largest_first(obstacles: Obstacles, rows: NDArray[np.int64], radius: float) -> list[NDArray[np.int64]]:
    """Few triangles that block most, and the others."""
    if rows.size <= 2 * _LARGEST:
        return [rows]
    triangles = obstacles.triangles[rows]
    size = np.linalg.norm(np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]), axis=1)
    # Seen from the drive axis: what lies near blocks more directions than what lies far.
    order = np.argpartition(-size / np.maximum(obstacles.away[rows], radius), _LARGEST)
    return [rows[order[:_LARGEST]], rows[np.sort(order[_LARGEST:])]]


def _may_block(
    obstacles: Obstacles, rows: NDArray[np.int64], radius: float, known: Sequence[_Blocked]
) -> NDArray[np.bool_]:
    """Which triangles may block directions that are not blocked already."""
    nothing, wide = np.zeros(rows.size), radius + obstacles.triangle_bound[rows]
    low, high = holding_angles(obstacles.triangles[rows], wide, nothing, nothing)
    low, high, row = unwrapped(low, high, np.arange(rows.size))
    every = [np.concatenate(column) for column in zip(*known, strict=True)]
    inside = covered(low, high, *merged(*unwrapped(every[0], every[1], every[2])[:2]))
    found = np.zeros(rows.size, dtype=bool)
    found[row[~inside]] = True
    return found


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
    low, high = obstacles.stations
    bound = obstacles.triangle_bound + room
    keep = np.zeros(low.size, dtype=bool)
    for start, stop, _ in parts:
        keep |= (high >= start - bound) & (low <= stop + bound)
    if skip:
        keep &= ~np.isin(obstacles.triangle_body, skip)
    return obstacles.picked(keep)
