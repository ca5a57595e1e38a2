"""What a body's own lines hide from the drive axis, so that curves and bulges behind them need not be followed.

Stations are cut into bins. Where a line of a body runs all through a bin, nothing of that body is nearest to the axis
there that stays farther out than the line does anywhere in the bin. Stations mm, radii mm, in the axis frame (s, x, y).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.obstacles import Floats
from fitcheck.measurement.patches import Bounds, squared
from fitcheck.measurement.survey import Edge
from fitcheck.measurement.vectors import Frame, cross

BINS = 1024
"""Bins of equal width; the more there are, the shorter the lines that hide something."""

MOST_BINS = 4_000_000
"""Bins of all bodies together; where there are more bodies, fewer stations are ends of bins."""

EQUAL = 1e-9
"""mm; what lies as near as the line that hides it counts as well, and stations that differ by less are one."""


class Cover:
    """Upper bounds of how near to the axis each body's own material comes, by bins of stations.

    Args:
        low: the first station, mm.
        high: the last one; what reaches beyond them is never hidden.
        bodies: how many bodies there are.
        ends: stations at which bins end too, where faces and edges do: a bin that is covered in part hides nothing.
    """

    def __init__(self, low: float, high: float, bodies: int, ends: Floats | Sequence[float] = ()) -> None:
        knots = np.sort(
            np.concatenate([low + (high - low) * np.arange(BINS + 1) / BINS, np.asarray(ends, dtype=float)])
        )
        knots = knots[(knots >= low) & (knots <= high)]
        knots = knots[np.concatenate([np.diff(knots) > EQUAL, [True]])]
        most = max(MOST_BINS // max(bodies, 1), 2)
        self._knots = knots if knots.size <= most else knots[np.linspace(0, knots.size - 1, most).astype(np.int64)]
        # One bin more, which hides nothing, ends each row.
        self._most = np.full((bodies, self._knots.size), np.inf)

    def add(self, line: Floats, body: int) -> None:
        """Material along a polyline (n, 3) on which the stations do not turn back."""
        if line[0, 0] > line[-1, 0]:
            line = line[::-1]
        first = int(np.searchsorted(self._knots, line[0, 0] - EQUAL, "left"))
        after = int(np.searchsorted(self._knots, line[-1, 0] + EQUAL, "right")) - 1
        if first >= after:
            return
        stations = self._knots[first : after + 1]
        ends = np.hypot(*(np.interp(stations, line[:, 0], line[:, axis]) for axis in (1, 2)))
        # On a straight piece the distance is greatest at an end, so in a bin at its ends or at a corner in it.
        most = np.maximum(ends[:-1], ends[1:])
        if len(line) > 2:
            corner = np.searchsorted(stations, line[:, 0], "right") - 1
            inside = (corner >= 0) & (corner < most.size)
            np.maximum.at(most, corner[inside], np.hypot(line[inside, 1], line[inside, 2]))
        row = self._most[body]
        row[first:after] = np.minimum(row[first:after], most)

    def hides(self, bounds: Bounds, bodies: Sequence[int]) -> NDArray[np.bool_]:
        """What is hidden by its own body, shape (n,); no numbers are never."""
        low, high, near = bounds
        body = np.array(bodies, dtype=np.int64)
        with np.errstate(invalid="ignore"):
            inside = (low >= self._knots[0] - EQUAL) & (high <= self._knots[-1] + EQUAL) & (high >= low)
        last = self._knots.size - 1
        if not low.size or last < 1:
            # No line is known, or all lie at one station: nothing is hidden.
            return np.zeros(low.size, dtype=bool)
        start = np.clip(np.searchsorted(self._knots, low + EQUAL, "right") - 1, 0, last - 1)
        # What lies at one station alone is in the bin that follows.
        stop = np.clip(np.maximum(np.searchsorted(self._knots, high - EQUAL, "left"), start + 1), 1, last)
        spans = np.stack([start, stop], axis=1) + (body * self._knots.size)[:, None]
        most = np.maximum.reduceat(self._most.ravel(), spans.ravel())[::2]
        return np.asarray(inside & (near > most + EQUAL), dtype=bool)


def circle_bounds(edges: Sequence[Edge], frame: Frame) -> Bounds:
    """How near to the axis circles may come, at the most: each whole, though an edge may be a part of it."""
    if not edges:
        return np.zeros(0), np.zeros(0), np.zeros(0)
    centre = _local([edge.centre for edge in edges], frame)
    radius = np.array([edge.radius for edge in edges])
    x = radius[:, None] * _turned([edge.x for edge in edges], frame)
    y = radius[:, None] * _turned([cross(edge.normal, edge.x) for edge in edges], frame)
    leaning = np.hypot(x[:, 0], y[:, 0])

    def reach(direction: Floats) -> Floats:
        return np.asarray(np.hypot((x[:, 1:] * direction).sum(axis=1), (y[:, 1:] * direction).sum(axis=1)))

    normal = _turned([edge.normal for edge in edges], frame)[:, 1:]
    near = np.zeros(radius.size)
    for direction in (normal, centre[:, 1:]):
        one, two = squared(direction)
        away = [np.abs((centre[:, 1:] * side).sum(axis=1)) - reach(side) for side in (one, two)]
        near = np.maximum(near, np.hypot(np.maximum(away[0], 0.0), np.maximum(away[1], 0.0)))
    return centre[:, 0] - leaning, centre[:, 0] + leaning, near


def _local(points: Sequence[tuple[float, float, float]], frame: Frame) -> Floats:
    return _turned([(p[0] - frame.origin[0], p[1] - frame.origin[1], p[2] - frame.origin[2]) for p in points], frame)


def _turned(directions: Sequence[tuple[float, float, float]], frame: Frame) -> Floats:
    return np.asarray(np.array(directions, dtype=np.float64) @ np.array([frame.along, frame.x, frame.y]).T)
