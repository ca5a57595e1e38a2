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
from fitcheck.measurement.cutting import to_tool
from fitcheck.measurement.intervals import merged
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
    radius = max(part.radius for part in parts)
    skip = np.fromiter(leave_out, dtype=np.int64)
    along = obstacles.triangles[:, :, 0] - station
    reach = radius + FARTHEST + obstacles.triangle_bound
    keep = (least(along) <= reach) & (most(along) >= -reach) & ~np.isin(obstacles.triangle_body, skip)
    triangles, bound = obstacles.triangles[keep], obstacles.triangle_bound[keep]

    def lacking(theta: float) -> list[_Ends | None]:
        return _at(triangles, bound, station, offset, parts, theta)

    rough = []
    for theta in thetas:
        for axis, ends in enumerate(lacking(float(theta))):
            if ends is not None and ends[0] + ends[1] <= FARTHEST:
                rough.append((ends[0] + ends[1], float(theta), axis))
    found: list[Widening] = []
    for _, theta, axis in sorted(rough):
        if any(w.along == (axis == 1) and _apart(w.theta, theta) < _ALIKE for w in found):
            continue
        turned = [lacking(theta + shift)[axis] for shift in (-_APART, 0.0, _APART)]
        here = turned[1]
        known = [ends for ends in turned if ends is not None]
        if here is None or len(known) < len(turned):
            continue
        low, high = max(ends[0] for ends in known), max(ends[1] for ends in known)
        if 0.0 < low + high <= FARTHEST:
            found.append(
                Widening(theta=theta, along=axis == 1, low=low, high=high, low_edge=here[2], high_edge=here[3])
            )
        if len(found) == most_told:
            break
    return sorted(found, key=lambda one: one.total)


_Ends = tuple[float, float, float, float]
"""What the lower and the upper edge lack, and where they are."""


def _apart(first: float, second: float) -> float:
    return abs((first - second + pi) % (2.0 * pi) - pi)


def _at(
    triangles: Floats, bound: Floats, station: float, offset: float, parts: Sequence[ToolPart], theta: float
) -> list[_Ends | None]:
    """The edges across (0) and along (1) the drive axis at one direction, over all parts of the tool."""
    local = to_tool(triangles, station, offset, theta)
    left = local[:, :, 1]
    each = [_of_part(local, left, bound, part) for part in parts]
    found: list[_Ends | None] = []
    for axis in (0, 1):
        ends = [of_part[axis] for of_part in each]
        known = np.array([end for end in ends if end is not None])
        if len(known) < len(ends):
            found.append(None)
        else:
            found.append((known[:, 0].max(), known[:, 1].max(), known[:, 2].max(), known[:, 3].min()))
    return found


def _of_part(local: Floats, left: Floats, bound: Floats, part: ToolPart) -> tuple[_Ends | None, _Ends | None]:
    """The edges of the gaps that lack least for one cylinder, across and along; None where there is no gap near."""
    wide = part.radius + FARTHEST + bound
    near = np.flatnonzero(
        (most(local[:, :, 0]) >= part.start - bound) & (least(left) <= wide) & (most(left) >= -wide)
    )  # fmt: skip
    first, second, owner = outlines(local[near], part.start - bound[near], np.full(near.size, 1e6))
    grow = bound[near]
    found = [_gap(first, second, owner, grow, part.radius, axis) for axis in (0, 1)]
    return found[0], found[1]


def _gap(
    first: Floats, second: Floats, owner: NDArray[np.int64], grow: Floats, radius: float, axis: int
) -> _Ends | None:  # fmt: skip
    low, high = _in_strip(first, second, radius + grow[owner], axis)
    hit = low <= high
    starts, stops = np.full(grow.size, np.inf), np.full(grow.size, -np.inf)
    np.minimum.at(starts, owner[hit], low[hit] - grow[owner[hit]])
    np.maximum.at(stops, owner[hit], high[hit] + grow[owner[hit]])
    blocked = starts <= stops
    lows, highs = merged(starts[blocked], stops[blocked])
    # Before the first and after the last one nothing is in the way, which is an opening too.
    begin, end = np.concatenate([[-1e6], highs]), np.concatenate([lows, [1e6]])
    lack_low, lack_high = np.maximum(begin + radius, 0.0), np.maximum(radius - end, 0.0)
    lack = np.where(end - begin >= _LEAST_GAP, lack_low + lack_high, np.inf)
    best = int(np.argmin(lack))
    if lack[best] > FARTHEST:
        return None
    return float(lack_low[best]), float(lack_high[best]), float(begin[best]), float(end[best])


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
