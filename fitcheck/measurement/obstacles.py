"""What stands in the way, as plain arrays in the axis frame (s, x, y): for clearance and for tool corridors.

Free radius: the material's boundary is reduced to line segments on which, at every station, the points nearest to the
drive axis lie (edges, and the ridge lines of faces). On a segment the square of the distance to the axis is a quadratic
in the station, so the least distance over any range of stations is exact and closed.

Corridors: triangles of all faces in reach; `triangle_bound` is how far the true surface may lie from a triangle.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_SHORT = 64
"""A triangle is short that reaches over no more than this part of all stations."""
_FEW = 2000
"""Fewer triangles than this are looked through one by one."""
_OFTEN = 10
"""Triangles are put in order once they were asked for so often."""
_FEWER = 8
"""The order is of use where no more than such a part of them can be meant."""
_ROUNDING = 1e-9


@dataclass(frozen=True, kw_only=True, eq=False)
class Obstacles:
    """Attributes:

    segments: shape (n, 2, 3), end points (s, x, y) in mm.
    segment_bound: shape (n,), how much nearer to the axis than its segment the true material may be, mm.
    segment_body: shape (n,), index into the measurement's bodies.
    triangles: shape (m, 3, 3), corners (s, x, y) in mm.
    triangle_bound: shape (m,), mm.
    triangle_body: shape (m,), index into the measurement's bodies.
    """

    segments: Floats
    segment_bound: Floats
    segment_body: NDArray[np.int32]
    triangles: Floats
    triangle_bound: Floats
    triangle_body: NDArray[np.int32]

    @cached_property
    def stations(self) -> tuple[Floats, Floats]:
        """First and last station of each triangle, shape (m,); kept, as many questions begin with them."""
        return _ends(self.triangles)

    @cached_property
    def away(self) -> Floats:
        """How far each triangle reaches from the drive axis, mm, shape (m,)."""
        return _away(self.triangles)

    @cached_property
    def areas(self) -> Floats:
        """Twice the area of each triangle, mm^2, shape (m,)."""
        one, two = self.triangles[:, 1] - self.triangles[:, 0], self.triangles[:, 2] - self.triangles[:, 0]
        a, b, c = (one[:, i] * two[:, i - 1] - one[:, i - 1] * two[:, i] for i in range(3))
        return np.asarray(np.sqrt(a * a + b * b + c * c))

    @cached_property
    def _by_station(self) -> tuple[float, Floats, NDArray[np.int64], NDArray[np.int64]]:
        """The short triangles by their first station, how long they are at the most, and the long ones."""
        low, high = self.stations
        short = (float(high.max(initial=0.0)) - float(low.min(initial=0.0))) / _SHORT
        is_short = high - low <= short
        rows = np.flatnonzero(is_short)
        order = rows[np.argsort(low[rows], kind="stable")]
        return short, low[order], order, np.flatnonzero(~is_short)

    def between(self, start: float, stop: float) -> NDArray[np.int64]:
        """The triangles that, grown by their bounds, reach into a range of stations, mm; in ascending order."""
        low, high = self.stations
        asked = self.__dict__["asked"] = self.__dict__.get("asked", 0) + 1
        if low.size >= _FEW and asked >= _OFTEN:
            short, begin, order, long_ones = self._by_station
            bound = float(self.triangle_bound.max())
            first, last = np.searchsorted(begin, [start - bound - short, stop + bound + _ROUNDING])
            if last - first + long_ones.size < low.size // _FEWER:
                rows = np.sort(np.concatenate([order[first:last], long_ones]))
                grown = self.triangle_bound[rows]
                return np.asarray(rows[(low[rows] - grown <= stop) & (high[rows] + grown >= start)])
        return np.flatnonzero((low - self.triangle_bound <= stop) & (high + self.triangle_bound >= start))

    def picked(self, rows: NDArray[np.bool_] | NDArray[np.int64]) -> Obstacles:
        """Some of the triangles, without the segments: for tool corridors alone."""
        found = Obstacles(
            segments=self.segments[:0],
            segment_bound=self.segment_bound[:0],
            segment_body=self.segment_body[:0],
            triangles=self.triangles[rows],
            triangle_bound=self.triangle_bound[rows],
            triangle_body=self.triangle_body[rows],
        )
        low, high = self.stations
        found.__dict__.update(stations=(low[rows], high[rows]), away=self.away[rows])
        if "areas" in self.__dict__:
            found.__dict__.update(areas=self.areas[rows])
        return found

    def exchanged(self, kept: NDArray[np.int64], new: Floats, like: NDArray[np.int64]) -> Obstacles:
        """Some of the triangles with others behind them, each with the bound and the body of one of these.

        Args:
            kept: which stay.
            new: shape (n, 3, 3), mm.
            like: shape (n,), whose bound and body each takes.
        """
        which = np.concatenate([kept, like])
        found = replace(
            self,
            triangles=np.concatenate([self.triangles[kept], new]),
            triangle_bound=self.triangle_bound[which],
            triangle_body=self.triangle_body[which],
        )
        more = _ends(new), _away(new)
        ends = [np.concatenate([old[kept], end]) for old, end in zip(self.stations, more[0], strict=True)]
        found.__dict__.update(stations=(ends[0], ends[1]), away=np.concatenate([self.away[kept], more[1]]))
        return found


def _ends(triangles: Floats) -> tuple[Floats, Floats]:
    one, two, three = triangles[:, 0, 0], triangles[:, 1, 0], triangles[:, 2, 0]
    return np.minimum(np.minimum(one, two), three), np.maximum(np.maximum(one, two), three)


def _away(triangles: Floats) -> Floats:
    one, two, three = np.hypot(triangles[:, :, 1], triangles[:, :, 2]).T
    return np.asarray(np.maximum(np.maximum(one, two), three))


@dataclass(frozen=True, kw_only=True)
class Nearest:
    """The material nearest to the drive axis over a range of stations.

    radius mm (inf where there is no material), station mm, theta degrees, body index (-1 where there is none).
    """

    radius: float
    station: float
    theta: float
    body: int


def least_radius(obstacles: Obstacles, start: float, stop: float) -> Nearest:
    """The free radius's least value over the closed range of stations [start, stop], exact for exact segments.

    Args:
        obstacles: the measurement's obstacles.
        start: first station, mm.
        stop: last station, mm; at least `start`.

    Returns:
        The nearest material; never farther out than the true one by more than the file's own tolerance.
    """
    first, last = obstacles.segments[:, 0, :], obstacles.segments[:, 1, :]
    low = np.minimum(first[:, 0], last[:, 0])
    high = np.maximum(first[:, 0], last[:, 0])
    inside = np.flatnonzero((high >= start) & (low <= stop))
    if inside.size == 0:
        return Nearest(radius=float("inf"), station=start, theta=0.0, body=-1)
    a, b = first[inside], last[inside]
    step = b - a
    rise = step[:, 0]
    flat = np.abs(rise) < 1e-12
    divisor = np.where(flat, 1.0, rise)
    t0 = np.where(flat, 0.0, (start - a[:, 0]) / divisor)
    t1 = np.where(flat, 1.0, (stop - a[:, 0]) / divisor)
    t0, t1 = np.minimum(t0, t1), np.maximum(t0, t1)
    t0, t1 = np.clip(t0, 0.0, 1.0), np.clip(t1, 0.0, 1.0)
    across = step[:, 1:]
    square = np.einsum("ij,ij->i", across, across)
    foot = -np.einsum("ij,ij->i", a[:, 1:], across) / np.where(square == 0.0, 1.0, square)
    t = np.clip(foot, t0, t1)
    points = a + t[:, None] * step
    radius = np.hypot(points[:, 1], points[:, 2]) - obstacles.segment_bound[inside]
    best = int(np.argmin(radius))
    point = points[best]
    return Nearest(
        radius=max(float(radius[best]), 0.0),
        station=float(point[0]),
        theta=float(np.degrees(np.arctan2(point[2], point[1]))),
        body=int(obstacles.segment_body[inside[best]]),
    )


def triangles_between(obstacles: Obstacles, start: float, stop: float) -> Obstacles:
    """The obstacles' triangles that reach into a range of stations, without the segments: for tool corridors alone."""
    return obstacles.picked(obstacles.between(start, stop))
