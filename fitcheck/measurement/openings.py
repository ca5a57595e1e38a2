"""How much an opening lacks for a tool to pass, edge by edge, at one direction of the tool.

Seen along the tool, the material beyond its start covers some of the plane (left of the tool, along the drive axis).
In the strip as wide as the tool, along the drive axis, what is covered leaves gaps; a gap that has to hold
[-radius, radius] lacks something at one end or at both. Across the drive axis likewise. For straight edges square to
the strip that is exact; for others it is more than the least, and what was found has to be tried.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import pi

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.corridor import ToolPart
from fitcheck.measurement.intervals import TURN, merged
from fitcheck.measurement.obstacles import Floats, Obstacles
from fitcheck.measurement.outlines import least, most, outlines

FIRST, LEFT, LAST, RIGHT = 0, 1, 2, 3
"""The edges of an opening: towards lower stations, greater shaft angles, higher stations, lower shaft angles."""

FARTHEST = 15.0
"""mm; how far an edge may have to move."""
_LEAST_GAP = 0.3
"""mm; a narrower gap is no opening."""
_APART = 0.0026
"""rad to both sides at which the tool has to pass as well, so that a free range is left."""
_ROUNDING = 1e-9
_BEYOND = 1000.0
"""mm; what is farther from the tool's axis does not matter."""
_AT_ONCE = 30_000
"""Pairs of a direction and a triangle that are looked at together, to bound the memory."""
_ALIKE = 0.085
"""rad; of openings nearer together the better one alone is told."""


@dataclass(frozen=True, kw_only=True)
class Widening:
    """An opening's edges and how far each would have to move, mm, with where it is now in the tool's frame.

    Attributes:
        theta: direction of the tool, radians.
        along: whether the edges lie at stations (FIRST, LAST); else at shaft angles (LEFT, RIGHT).
        low: how far the edge at the lower end has to move.
        high: how far the one at the upper end.
        low_edge: where the lower one is now, mm from the tool's axis.
        high_edge: where the upper one is.
    """

    theta: float
    along: bool
    low: float
    high: float
    low_edge: float
    high_edge: float

    @property
    def total(self) -> float:
        """Both together, mm."""
        return self.low + self.high


def widenings(
    obstacles: Obstacles, station: float, offset: float, parts: Sequence[ToolPart], thetas: Floats, *,
    leave_out: Iterable[int] = (), most_told: int = 8,
) -> list[Widening]:  # fmt: skip
    """What openings lack at directions of a straight tool, the least first; none of them much alike.

    Args:
        obstacles: the measurement's.
        station: of the screw's axis, mm.
        offset: of the screw's axis beside the drive axis, mm.
        parts: the tool's cylinders.
        thetas: radians, shape (n,).
        leave_out: body indices that do not count.
        most_told: so many are returned at most.

    Returns:
        The least at each direction, by edges at stations and by edges at shaft angles; empty where no opening is near.
    """
    skip = np.fromiter(leave_out, dtype=np.int64)
    radius = max(part.radius for part in parts)
    beside = [_beside(obstacles, station, offset, radius + more, skip) for more in (0.0, FARTHEST)]

    rough = []
    for axis in (0, 1):
        ends = _lacking(beside[axis], parts, thetas, axis)
        # Where two directions lack the same, rounding does not choose.
        lack = np.round(ends[:, 0] + ends[:, 1], 6)
        rough += [(float(lack[i]), float(thetas[i]), axis) for i in np.flatnonzero(lack <= FARTHEST)]
    found: list[Widening] = []
    for _, theta, axis in sorted(rough):
        if any(w.along == (axis == 1) and _apart(w.theta, theta) < _ALIKE for w in found):
            continue
        ends = _lacking(beside[axis], parts, theta + np.array([-_APART, 0.0, _APART]), axis)
        if not np.isfinite(ends).all():
            continue
        low, high = float(ends[:, 0].max()), float(ends[:, 1].max())
        here = ends[1].tolist()
        if 0.0 < low + high <= FARTHEST:
            found.append(
                Widening(theta=theta, along=axis == 1, low=low, high=high, low_edge=here[2], high_edge=here[3])
            )
        if len(found) == most_told:
            break
    return sorted(found, key=lambda one: one.total)


def _apart(first: float, second: float) -> float:
    return abs((first - second + pi) % (2.0 * pi) - pi)


@dataclass(frozen=True, kw_only=True)
class _Beside:
    """Triangles that may lie beside a screw along the drive axis, and the circles about them as seen along it."""

    triangles: Floats
    bound: Floats
    middle: Floats
    size: Floats
    station: float
    offset: float

    def pairs(self, thetas: Floats, start: float, wide: float) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Directions and triangles, as indices, of which one may lie in the other's strip.

        The strip begins at `start` and reaches `wide` left and right of the tool's axis.
        """
        x, y = self.middle
        rho, more = np.hypot(x, y), wide + self.bound + self.size
        # Where the circle lies in front, its middle is within a range of angles about the direction.
        front = (start - self.bound - self.size > 0.0) & (rho > more + abs(self.offset))
        divisor = np.where(front, rho, 1.0)
        right, left = (np.arcsin(np.where(front, self.offset + way * more, 0.0) / divisor) for way in (-1.0, 1.0))
        first = np.mod(np.arctan2(y, x) - left - _ROUNDING, TURN)
        width = np.where(front, left - right + 2.0 * _ROUNDING, TURN)
        far = front & (rho + self.size < start - self.bound)
        order = np.argsort(np.mod(thetas, TURN), kind="stable")
        line = np.mod(thetas, TURN)[order]
        line = np.concatenate([line, line + TURN])
        begin, end = np.searchsorted(line, first), np.searchsorted(line, first + width, side="right")
        count = np.where(far, 0, np.minimum(end - begin, thetas.size))
        row = np.repeat(np.arange(rho.size), count)
        step = np.arange(row.size) - np.repeat(np.cumsum(count) - count, count)
        turn = order[(np.repeat(begin, count) + step) % thetas.size]
        return turn, row

    def seen(
        self, thetas: Floats, turn: NDArray[np.int64], row: NDArray[np.int64], start: float, wide: float
    ) -> tuple[Floats, Floats, NDArray[np.int64]]:
        """Those of pairs that lie in the strip: triangles in the tool's frame, their bounds and directions."""
        c, s = np.cos(thetas)[turn, None], np.sin(thetas)[turn, None]
        corners, bound = self.triangles[row], self.bound[row]
        x, y = corners[:, :, 1], corners[:, :, 2]
        height, left = x * c + y * s, y * c - x * s - self.offset
        near = (most(height) >= start - bound) & (least(left) <= wide + bound) & (most(left) >= -wide - bound)
        local = np.stack([height[near], left[near], corners[near, :, 0] - self.station], axis=2)
        return local, bound[near], turn[near]


def _beside(
    obstacles: Obstacles, station: float, offset: float, reach: float, skip: NDArray[np.int64]
) -> _Beside:  # fmt: skip
    keep = obstacles.between(station - reach, station + reach)
    keep = keep[~np.isin(obstacles.triangle_body[keep], skip)]
    triangles = obstacles.triangles[keep]
    x, y = triangles[:, :, 1], triangles[:, :, 2]
    middle = np.stack([0.5 * (least(x) + most(x)), 0.5 * (least(y) + most(y))])
    size = most(np.hypot(x - middle[0][:, None], y - middle[1][:, None])) + _ROUNDING
    return _Beside(
        triangles=triangles, bound=obstacles.triangle_bound[keep], middle=middle, size=size, station=station,
        offset=offset,
    )  # fmt: skip


def _lacking(beside: _Beside, parts: Sequence[ToolPart], thetas: Floats, axis: int) -> Floats:
    """What the edges across (0) or along (1) the drive axis lack at directions, over all parts of the tool.

    Returns:
        Shape (n, 4): what the lower and the upper edge lack, and where they are; no numbers where no opening is near.
    """
    each = []
    for part in parts:
        found = [(np.zeros(0), np.zeros(0), np.zeros(0, dtype=np.int64))]
        # Only what lies in the strip as wide as the tool counts, as far off as an edge may have to move.
        wide = part.radius + (FARTHEST if axis == 0 else 0.0)
        turn, row = beside.pairs(thetas, part.start, wide)
        for at in range(0, turn.size, _AT_ONCE):
            some = slice(at, at + _AT_ONCE)
            local, bound, seen = beside.seen(thetas, turn[some], row[some], part.start, wide)
            found.append((*_spans(local, bound, part, axis), seen))
        starts, stops, seen = (np.concatenate(column) for column in zip(*found, strict=True))
        each.append(_gaps(starts, stops, seen, thetas.size, part.radius))
    known = np.stack(each)
    return np.concatenate([known[:, :, :3].max(axis=0), known[:, :, 3:].min(axis=0)], axis=1)


def _spans(local: Floats, bound: Floats, part: ToolPart, axis: int) -> tuple[Floats, Floats]:
    """What each triangle blocks along an axis, grown by its bound; the start above the stop where nothing."""
    first, second, owner = outlines(local, part.start - bound, np.full(bound.size, 1e6))
    low, high = _in_strip(first, second, part.radius + bound[owner], axis)
    hit = low <= high
    starts, stops = np.full(bound.size, np.inf), np.full(bound.size, -np.inf)
    np.minimum.at(starts, owner[hit], low[hit] - bound[owner[hit]])
    np.maximum.at(stops, owner[hit], high[hit] + bound[owner[hit]])
    return starts, stops


def _gaps(starts: Floats, stops: Floats, turn: NDArray[np.int64], count: int, radius: float) -> Floats:
    """Of each direction the gap between what is blocked that lacks least to hold [-radius, radius]; as `_lacking`."""
    # All directions on one line, a good way apart. Before the first and after the last blocked stretch nothing is in
    # the way, which is an opening too, up to a stretch put in at either end.
    every = np.arange(count)
    near = (starts <= stops) & (starts <= _BEYOND) & (stops >= -_BEYOND)
    shift = np.concatenate([turn[near], every, every]) * (4.0 * _BEYOND)
    ends = np.full(count, 1.5 * _BEYOND)
    low = np.concatenate([np.maximum(starts[near], -_BEYOND), -ends - 1.0, ends])
    high = np.concatenate([np.minimum(stops[near], _BEYOND), -ends, ends + 1.0])
    lows, highs = merged(low + shift, high + shift)
    which = np.floor_divide(highs[:-1] + 2.0 * _BEYOND, 4.0 * _BEYOND).astype(np.int64)
    begin, end = highs[:-1] - which * (4.0 * _BEYOND), lows[1:] - which * (4.0 * _BEYOND)
    lack_low, lack_high = np.maximum(begin + radius, 0.0), np.maximum(radius - end, 0.0)
    lack = np.where(end - begin >= _LEAST_GAP, lack_low + lack_high, np.inf)
    order = np.lexsort((lack, which))
    order = order[(lack[order] <= FARTHEST) & (begin[order] <= 1.5 * _BEYOND)]
    first = order[np.concatenate([[True], which[order][1:] != which[order][:-1]])[: order.size]]
    found = np.full((count, 4), np.nan)
    found[which[first]] = np.stack([lack_low, lack_high, begin, end], axis=1)[first]
    return found


def _in_strip(first: Floats, second: Floats, half: Floats, axis: int) -> tuple[Floats, Floats]:
    """What lines span along an axis within |other axis| <= half; an empty span (inf, -inf) where they lie outside."""
    a, b = first[:, 1 - axis], second[:, 1 - axis]
    step = b - a
    flat = np.abs(step) < 1e-12
    divisor = np.where(flat, 1.0, step)
    t0, t1 = (-half - a) / divisor, (half - a) / divisor
    enter = np.where(flat, 0.0, np.clip(np.minimum(t0, t1), 0.0, 1.0))
    leave = np.where(flat, 1.0, np.clip(np.maximum(t0, t1), 0.0, 1.0))
    inside = (np.minimum(a, b) <= half) & (np.maximum(a, b) >= -half)
    span = second[:, axis] - first[:, axis]
    one, two = first[:, axis] + enter * span, first[:, axis] + leave * span
    return np.where(inside, np.minimum(one, two), np.inf), np.where(inside, np.maximum(one, two), -np.inf)
