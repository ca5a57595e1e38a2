"""What a body's own lines hide from the drive axis, so that curves and bulges behind them need not be followed.

Stations are cut into bins. Where a line of a body runs all through a bin, nothing of that body is nearest to the axis
there that stays farther out than the line does anywhere in the bin. Stations mm, radii mm, in the axis frame (s, x, y).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.obstacles import Floats
from fitcheck.measurement.survey import Edge, Face
from fitcheck.measurement.vectors import Frame, cross

BINS = 1024
"""So many bins; the more there are, the shorter the lines that hide something."""

EQUAL = 1e-9
"""mm; what lies as near as the line that hides it counts as well."""

Bounds = tuple[Floats, Floats, Floats]
"""First and last station, and a distance from the drive axis that nothing comes nearer than; each of shape (n,)."""


class Cover:
    """Upper bounds of how near to the axis each body's own material comes, by bins of stations.

    Args:
        low: the first station, mm.
        high: the last one; what reaches beyond them is never hidden.
        bodies: how many bodies there are.
    """

    def __init__(self, low: float, high: float, bodies: int) -> None:
        self._low, self._high = low, high
        self._width = max((high - low) / BINS, 1e-9)
        # One bin more, which hides nothing, ends each row.
        self._most = np.full((bodies, BINS + 1), np.inf)

    def add(self, line: Floats, body: int) -> None:
        """Material along a polyline (n, 3) on which the stations do not turn back."""
        if line[0, 0] > line[-1, 0]:
            line = line[::-1]
        first = max(math.ceil((float(line[0, 0]) - self._low) / self._width - EQUAL), 0)
        after = min(math.floor((float(line[-1, 0]) - self._low) / self._width + EQUAL), BINS)
        if first >= after:
            return
        stations = self._low + self._width * np.arange(first, after + 1)
        ends = np.hypot(*(np.interp(stations, line[:, 0], line[:, axis]) for axis in (1, 2)))
        # On a straight piece the distance is greatest at an end, so in a bin at its ends or at a corner in it.
        most = np.maximum(ends[:-1], ends[1:])
        if len(line) > 2:
            corner = np.floor((line[:, 0] - self._low) / self._width).astype(np.int64) - first
            inside = (corner >= 0) & (corner < most.size)
            np.maximum.at(most, corner[inside], np.hypot(line[inside, 1], line[inside, 2]))
        row = self._most[body]
        row[first:after] = np.minimum(row[first:after], most)

    def hides(self, bounds: Bounds, bodies: Sequence[int]) -> NDArray[np.bool_]:
        """What is hidden by its own body, shape (n,); no numbers are never."""
        low, high, near = bounds
        body = np.array(bodies, dtype=np.int64)
        with np.errstate(invalid="ignore"):
            inside = (low >= self._low) & (high <= self._high) & (high >= low)
        first = np.where(inside, (low - EQUAL - self._low) / self._width, 0.0)
        last = np.where(inside, (high + EQUAL - self._low) / self._width, 0.0)
        start = np.clip(first.astype(np.int64), 0, BINS - 1) + body * (BINS + 1)
        stop = np.clip(last.astype(np.int64), 0, BINS - 1) + body * (BINS + 1) + 1
        if not low.size:
            return inside
        most = np.maximum.reduceat(self._most.ravel(), np.stack([start, stop], axis=1).ravel())[::2]
        return np.asarray(inside & (near > most + EQUAL))


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
        one, two = _squared(direction)
        away = [np.abs((centre[:, 1:] * side).sum(axis=1)) - reach(side) for side in (one, two)]
        near = np.maximum(near, np.hypot(np.maximum(away[0], 0.0), np.maximum(away[1], 0.0)))
    return centre[:, 0] - leaning, centre[:, 0] + leaning, near


def cylinder_bounds(faces: Sequence[Face], frame: Frame) -> Bounds:
    """The same of cylinders, each all round between the ends of its own parameters."""
    if not faces:
        return np.zeros(0), np.zeros(0), np.zeros(0)
    origin, axis = _local([face.origin for face in faces], frame), _turned([face.axis for face in faces], frame)
    radius = np.array([face.radius for face in faces])
    ends = [origin + axis * np.array([face.v[i] for face in faces])[:, None] for i in (0, 1)]
    leaning = radius * np.sqrt(np.maximum(1.0 - axis[:, 0] ** 2, 0.0))
    low = np.minimum(ends[0][:, 0], ends[1][:, 0]) - leaning
    high = np.maximum(ends[0][:, 0], ends[1][:, 0]) + leaning
    near = np.zeros(radius.size)
    for direction in (axis[:, 1:], 0.5 * (ends[0] + ends[1])[:, 1:]):
        away = []
        for side in _squared(direction):
            p, q = ((end[:, 1:] * side).sum(axis=1) for end in ends)
            spread = radius * np.sqrt(np.maximum(1.0 - (axis[:, 1:] * side).sum(axis=1) ** 2, 0.0))
            nearest = np.where(p * q <= 0.0, 0.0, np.minimum(np.abs(p), np.abs(q)))
            away.append(np.maximum(nearest - spread, 0.0))
        near = np.maximum(near, np.hypot(*away))
    return low, high, near


def _squared(direction: Floats) -> tuple[Floats, Floats]:
    """A direction (n, 2) at length 1 and the one square to it; any where it has no length."""
    size = np.hypot(direction[:, 0], direction[:, 1])
    flat = size < 1e-9
    one = np.where(flat[:, None], np.array([1.0, 0.0]), direction / np.where(flat, 1.0, size)[:, None])
    return one, np.stack([-one[:, 1], one[:, 0]], axis=1)


def _local(points: Sequence[tuple[float, float, float]], frame: Frame) -> Floats:
    return _turned([(p[0] - frame.origin[0], p[1] - frame.origin[1], p[2] - frame.origin[2]) for p in points], frame)


def _turned(directions: Sequence[tuple[float, float, float]], frame: Frame) -> Floats:
    return np.asarray(np.array(directions, dtype=np.float64) @ np.array([frame.along, frame.x, frame.y]).T)
