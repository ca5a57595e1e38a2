"""Facets of a meshed surface reduced to the few line segments that are nearest to the drive axis at some station.

A fine mesh has hundreds of thousands of edges, nearly all of them behind others. Between two neighbouring stations at
which edges begin or end, the least distance is the least of smooth curves, so its values at both ends say it all.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.obstacles import Floats

SAME = 1e-7
"""mm; stations closer than this are one."""

STRETCHES = 1000
"""The range of stations is cut at least so often, so that long, steep edges are followed closely."""

AT_ONCE = 1_000_000
"""Pairs of an edge and a stretch that are worked on together, to bound the memory."""

STRAIGHT = 5e-5
"""mm; how far inwards the segments that are returned may lie from the facets."""


def reduced(triangles: Floats) -> Floats:
    """The lower envelope of facets.

    Args:
        triangles: shape (m, 3, 3), corners (s, x, y) in mm.

    Returns:
        Segments, shape (n, 2, 3), that at every station have a point as near to the axis as the nearest facet has,
        within twice STRAIGHT on the near side. Their shaft angles are those of a facet that is nearest thereabouts.
    """
    first, last = _lines(triangles)
    if not len(first):
        return np.zeros((0, 2, 3))
    step = last - first
    square = np.einsum("ij,ij->i", step[:, 1:], step[:, 1:])
    foot = np.clip(-np.einsum("ij,ij->i", first[:, 1:], step[:, 1:]) / np.where(square == 0.0, 1.0, square), 0.0, 1.0)
    nearest = first + foot[:, None] * step
    low, high = float(first[:, 0].min()), float(last[:, 0].max())
    knots = _distinct(np.concatenate([first[:, 0], last[:, 0], nearest[:, 0], np.linspace(low, high, STRETCHES + 1)]))
    begin, end = _index(knots, first[:, 0]), _index(knots, last[:, 0])
    flat = begin == end
    parts = [_at_knots(knots, begin[flat], nearest[flat])]
    if not flat.all():
        running = ~flat
        parts.append(_between(knots, begin[running], end[running], first[running], step[running], foot[running]))
    return np.concatenate(parts)


def _lines(triangles: Floats) -> tuple[Floats, Floats]:
    """The facets' edges and foot lines, as first and last ends with growing stations, each edge once."""
    a = triangles.reshape(-1, 3)
    b = triangles[:, (1, 2, 0), :].reshape(-1, 3)
    swap = (a[:, 0] > b[:, 0]) | ((a[:, 0] == b[:, 0]) & (a[:, 1] > b[:, 1]))
    a, b = np.where(swap[:, None], b, a), np.where(swap[:, None], a, b)
    _, once = np.unique(np.round(np.concatenate([a, b], axis=1), 9), axis=0, return_index=True)
    normal = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    side = normal[:, None, 1] * triangles[:, :, 2] - normal[:, None, 2] * triangles[:, :, 1]
    after = side[:, (1, 2, 0)]
    cut = (side > 0.0) != (after > 0.0)
    rows = np.flatnonzero(cut.sum(axis=1) == 2)
    t = (side / np.where(side == after, 1.0, side - after))[rows]
    corners = triangles[rows]
    points = corners + t[..., None] * (corners[:, (1, 2, 0), :] - corners)
    which = np.argsort(~cut[rows], axis=1, kind="stable")[:, :2]
    one, two = points[np.arange(rows.size), which[:, 0]], points[np.arange(rows.size), which[:, 1]]
    back = (one[:, 0] > two[:, 0])[:, None]
    feet = np.where(back, two, one), np.where(back, one, two)
    return np.concatenate([a[once], feet[0]]), np.concatenate([b[once], feet[1]])


def _distinct(values: Floats) -> Floats:
    ordered = np.unique(values)
    return np.asarray(ordered[np.concatenate([[True], np.diff(ordered) > SAME])])


def _index(knots: Floats, stations: Floats) -> NDArray[np.int64]:
    """The last knot that is not past each station; equal within SAME."""
    return np.asarray(np.searchsorted(knots, stations + 0.5 * SAME, side="right") - 1)


def _at_knots(knots: Floats, index: NDArray[np.int64], points: Floats) -> Floats:
    """For lines that lie at one station, the nearest point at each."""
    radius = np.hypot(points[:, 1], points[:, 2])
    order = np.lexsort((radius, index))
    chosen = order[np.unique(index[order], return_index=True)[1]]
    found = points[chosen]
    return np.stack([found, found], axis=1)


def _between(
    knots: Floats, begin: NDArray[np.int64], end: NDArray[np.int64], first: Floats, step: Floats, foot: Floats
) -> Floats:
    """For lines that run on, the least radius at both ends of each stretch between knots."""
    count = len(knots) - 1
    left, right = np.full(count, np.inf), np.full(count, np.inf)
    middle, theta = np.full(count, np.inf), np.zeros(count)
    spans = end - begin
    total = np.cumsum(spans)
    cuts = np.searchsorted(total, np.arange(0, int(total[-1]) + AT_ONCE, AT_ONCE), side="left")
    for start, stop in zip(cuts[:-1], np.append(cuts[1:-1], len(spans)), strict=True):
        if stop <= start:
            continue
        line = np.repeat(np.arange(start, stop), spans[start:stop])
        offset = np.arange(len(line)) - np.repeat(total[start:stop] - spans[start:stop] - (total[start] - spans[start]),
                                                  spans[start:stop])  # fmt: skip
        stretch = begin[line] + offset
        rise = step[line, 0]
        t0 = np.clip((knots[stretch] - first[line, 0]) / rise, 0.0, 1.0)
        t1 = np.clip((knots[stretch + 1] - first[line, 0]) / rise, 0.0, 1.0)
        x0, y0 = (first[line, i] + t0 * step[line, i] for i in (1, 2))
        x1, y1 = (first[line, i] + t1 * step[line, i] for i in (1, 2))
        r0, r1 = np.hypot(x0, y0), np.hypot(x1, y1)
        xm, ym = 0.5 * (x0 + x1), 0.5 * (y0 + y1)
        rm = np.hypot(xm, ym)
        # The radius along a line bends outwards: it lies below its own chord by most at the middle, or nearly so.
        sag = np.maximum(1.05 * (0.5 * (r0 + r1) - rm), 0.0)
        np.minimum.at(left, stretch, r0 - sag)
        np.minimum.at(right, stretch, r1 - sag)
        order = np.lexsort((rm, stretch))
        places, at = np.unique(stretch[order], return_index=True)
        best = order[at]
        nearer = rm[best] < middle[places]
        middle[places[nearer]] = rm[best][nearer]
        theta[places[nearer]] = np.arctan2(ym[best], xm[best])[nearer]
    return _joined(knots, left, right, theta)


def _joined(knots: Floats, left: Floats, right: Floats, theta: Floats) -> Floats:
    """Stretches as segments; those that run on in a straight line, within STRAIGHT, as one, moved inwards by it."""
    found: list[tuple[float, float, float, float, float]] = []
    index, count = 0, len(left)
    while index < count:
        if not np.isfinite(left[index]):
            index += 1
            continue
        s0, r0 = float(knots[index]), float(left[index])
        least, most = -np.inf, np.inf
        stop, slope = index, (float(right[index]) - r0) / (float(knots[index + 1]) - s0)
        for later in range(index, count):
            jumps = later > index and not abs(left[later] - right[later - 1]) <= STRAIGHT
            if jumps:
                break
            run = float(knots[later + 1]) - s0
            value = min(right[later], left[later + 1]) if later + 1 < count else right[later]
            if later + 1 < count and not abs(left[later + 1] - right[later]) <= STRAIGHT:
                value = right[later]
            aim = (float(value) - r0) / run
            least, most = max(least, aim - STRAIGHT / run), min(most, aim + STRAIGHT / run)
            if least > most:
                break
            if least <= aim <= most:
                stop, slope = later, aim
        s1 = float(knots[stop + 1])
        angle = float(theta[(index + stop) // 2])
        moved = STRAIGHT if stop > index else 0.0
        found.append((s0, r0 - moved, s1, r0 + slope * (s1 - s0) - moved, angle))
        index = stop + 1
    if not found:
        return np.zeros((0, 2, 3))
    rows = np.array(found)
    rows[:, (1, 3)] = np.maximum(rows[:, (1, 3)], 0.0)
    c, s = np.cos(rows[:, 4]), np.sin(rows[:, 4])
    return np.stack(
        [
            np.stack([rows[:, 0], rows[:, 1] * c, rows[:, 1] * s], axis=1),
            np.stack([rows[:, 2], rows[:, 3] * c, rows[:, 3] * s], axis=1),
        ],
        axis=1,
    )
