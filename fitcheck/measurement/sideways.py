"""In which directions a round part goes in sideways, through a window, onto the drive axis.

A cylinder about the drive axis that comes in square to it sweeps, at each of its stations, the half-strip
|n.p| <= radius, u.p >= 0 (its round front end lies within the part's own place, which has to be free anyway). The
strip is the same at all its stations, so the material between them, projected along the axis, gives the blocked
directions in closed form, without subdivision.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import inf

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.half_strips import edge_intervals, holding_angles
from fitcheck.measurement.intervals import Gap, covered, gaps, merged, unwrapped
from fitcheck.measurement.obstacles import Floats, Obstacles
from fitcheck.measurement.outlines import outlines

Part = tuple[float, float, float]
"""A cylinder about the drive axis: first station, last station, radius, mm."""

_LARGEST = 60
"""So many triangles are looked at first."""
MOST_ROOM = 20.0
"""mm; no more room is looked for, nor how much is lacking beyond it."""
_FINEST = 0.01
"""mm; how closely the room of a way in is told."""


def sideways(
    obstacles: Obstacles, parts: Sequence[Part], *, leave_out: Iterable[int] = (),
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


def _blocked(obstacles: Obstacles, rows: NDArray[np.int64], part: Part) -> _Blocked:
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
    # Seen from the drive axis: what lies near blocks more directions than what lies far.
    order = np.argpartition(-obstacles.areas[rows] / np.maximum(obstacles.away[rows], radius), _LARGEST)
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
    obstacles: Obstacles, parts: Sequence[Part], *, leave_out: Iterable[int] = (), enough: float | None = None,
) -> tuple[float, float | None]:  # fmt: skip
    """How much clearance a part that comes in sideways can keep all round, and from which direction.

    Args:
        obstacles: as in `sideways`.
        parts: as in `sideways`.
        leave_out: as in `sideways`.
        enough: mm; whether the room is as large is all that is wanted, which takes one look.

    Returns:
        mm (negative: by how much it is too large, -`MOST_ROOM` at least) and degrees; at most 0.01 mm too small.
        Where the room is not what `enough` asks for, -`MOST_ROOM` and None.
    """
    place = WaysIn(obstacles, [parts], leave_out)
    if enough is not None:
        ways = place.ways(0, enough)
        return (enough, _middle(ways)) if ways else (-MOST_ROOM, None)
    return place.most([0], -MOST_ROOM, MOST_ROOM)[1:]


class WaysIn:
    """The ways in sideways of a part at some places along the axis, looked at together."""

    def __init__(
        self, obstacles: Obstacles, places: Sequence[Sequence[Part]], leave_out: Iterable[int] = ()
    ) -> None:  # fmt: skip
        """`places` are the part's cylinders at each place; the others are as in `sideways`."""
        self._places = [outer_parts(parts) for parts in places]
        self._thickest = max((radius for parts in self._places for _, _, radius in parts), default=0.0)
        _ = obstacles.areas
        low, high = obstacles.stations
        start = min((start for parts in self._places for start, _, _ in parts), default=0.0) - MOST_ROOM
        stop = max((stop for parts in self._places for _, stop, _ in parts), default=0.0) + MOST_ROOM
        keep = (high >= start - obstacles.triangle_bound) & (low <= stop + obstacles.triangle_bound)
        skip = np.fromiter(leave_out, dtype=np.int64)
        if skip.size:
            keep &= ~np.isin(obstacles.triangle_body, skip)
        self._about = obstacles.picked(keep)

    def ways(self, place: int, spare: float) -> tuple[Gap, ...]:
        """The free directions at a place with so many mm to spare."""
        return sideways(self._about, self._places[place], spare=spare)

    def room(self, place: int, least: float) -> tuple[float, float | None]:
        """The room at a place that has `least` mm, at most 0.01 mm too small, and the direction in degrees."""
        return self.most([place], least, MOST_ROOM)[1:]

    def nearest_miss(
        self, places: Sequence[int], limit: float, most_lack: float = inf
    ) -> tuple[int, float, float | None]:  # fmt: skip
        """Of places that all have less room than `limit` the one with most, its room, and the direction.

        The room is at most 0.01 mm too small. Where more than `most_lack` mm are missing, it is -inf; where not even
        the part's axis goes in anywhere, it is minus the part's greatest radius, and there is no direction.
        """
        low = max(-self._thickest, limit - most_lack)
        if low > -self._thickest and not any(self.ways(place, low) for place in places):
            return places[0], -inf, None
        return self.most(places, low, limit)

    def most(
        self, places: Iterable[int], low: float, high: float
    ) -> tuple[int, float, float | None]:  # fmt: skip
        """The place with most room between `low` and `high`, mm; places with less fall out by and by."""
        left: list[tuple[int, tuple[Gap, ...]]] = [(index, ()) for index in places]
        while high - low > _FINEST:
            middle = 0.5 * (low + high)
            free = [(index, ways) for index, _ in left if (ways := self.ways(index, middle))]
            if free:
                low, left = middle, free
            else:
                high = middle
        index, ways = left[0]
        ways = ways or self.ways(index, low)
        return index, low, _middle(ways) if ways else None


def outer_parts(parts: Sequence[Part]) -> tuple[Part, ...]:
    """Cylinders about one axis without those that lie within others; of one radius and end to end they become one."""
    found: list[Part] = []
    for start, stop, radius in sorted(parts, key=lambda part: (-part[2], part[0])):
        if any(low <= start and stop <= high for low, high, _ in found):
            continue
        if found and found[-1][2] == radius and found[-1][1] >= start:
            found[-1] = (found[-1][0], max(found[-1][1], stop), radius)
        else:
            found.append((start, stop, radius))
    return tuple(found)


def _middle(ways: Sequence[Gap]) -> float:
    """The middle of the widest range of directions, degrees."""
    widest = max(ways, key=lambda gap: gap.width)
    return (widest.start + widest.width / 2) % 360.0
