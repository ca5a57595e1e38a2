"""Triangles cut to slabs and projected: the outlines that tool corridors and handles are held against."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.obstacles import Floats

_TINY = 1e-12
_NEXT = np.array([1, 2, 0])


def outlines(triangles: Floats, low: Floats, high: Floats) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """The outlines of triangles cut to slabs of their first coordinate, projected on the other two.

    Args:
        triangles: shape (n, 3, 3); first coordinate the one to cut by (a station, or a height above a screw).
        low: shape (n,), where each triangle's slab begins.
        high: shape (n,), where it ends; large finite numbers for a slab without an end.

    Returns:
        First ends (m, 2), second ends (m, 2) and the triangle (m,) of each line. The outline is enough for what is
        unbounded, or begins where no material is: it meets a bounded convex piece only across its outline.
    """
    whole = (least(triangles[:, :, 0]) >= low) & (most(triangles[:, :, 0]) <= high)
    uncut, cut = np.flatnonzero(whole), np.flatnonzero(~whole)
    first, second, owner = _cut_outlines(triangles[cut], low[cut], high[cut])
    corners = triangles[uncut, :, 1:]
    return (
        np.concatenate([first, corners[:, 0], corners[:, 1], corners[:, 2]]),
        np.concatenate([second, corners[:, 1], corners[:, 2], corners[:, 0]]),
        np.concatenate([cut[owner], uncut, uncut, uncut]),
    )


def _cut_outlines(triangles: Floats, low: Floats, high: Floats) -> tuple[Floats, Floats, NDArray[np.int64]]:
    # Rows are corners, or the sides that begin there: whole rows are quicker to work on than columns of threes.
    count = low.size
    height, x, y = (np.ascontiguousarray(triangles[:, :, column].T) for column in range(3))
    next_height, dx, dy = height[_NEXT], x[_NEXT] - x, y[_NEXT] - y
    rise = next_height - height
    flat = np.abs(rise) < _TINY
    divisor = np.where(flat, 1.0, rise)
    cuts = (low - height) / divisor, (high - height) / divisor
    at = np.flatnonzero((np.maximum(height, next_height) >= low) & (np.minimum(height, next_height) <= high))
    level, (one, two) = flat.ravel()[at], (cut.ravel()[at] for cut in cuts)
    enter = np.where(level, 0.0, _between_ends(np.minimum(one, two)))
    leave = np.where(level, 1.0, _between_ends(np.maximum(one, two)))
    begin_x, begin_y, step_x, step_y = (column.ravel()[at] for column in (x, y, dx, dy))
    firsts = [np.stack([begin_x + enter * step_x, begin_y + enter * step_y], axis=1)]
    seconds = [np.stack([begin_x + leave * step_x, begin_y + leave * step_y], axis=1)]
    owners = [at % max(count, 1)]
    for cut in cuts:
        crossing = (cut >= 0.0) & (cut <= 1.0) & ~flat
        one, two, three = crossing
        rows = np.flatnonzero((one & two) | (three & (one | two)))
        if rows.size == 0:
            continue
        crossing, t = crossing[:, rows], cut[:, rows]
        point_x, point_y = x[:, rows] + t * dx[:, rows], y[:, rows] + t * dy[:, rows]
        each = np.arange(rows.size)
        first = np.where(crossing[0], 0, 1)
        found_x, found_y = point_x[first, each], point_y[first, each]
        apart = np.where(crossing, (point_x - found_x) ** 2 + (point_y - found_y) ** 2, -1.0)
        other = np.where(apart[2] > np.maximum(apart[0], apart[1]), 2, np.where(apart[1] > apart[0], 1, 0))
        firsts.append(np.stack([found_x, found_y], axis=1))
        seconds.append(np.stack([point_x[other, each], point_y[other, each]], axis=1))
        owners.append(rows)
    return np.concatenate(firsts), np.concatenate(seconds), np.concatenate(owners)


def _between_ends(share: Floats) -> Floats:
    return np.minimum(np.maximum(share, 0.0), 1.0)


def distances(first: Floats, second: Floats) -> Floats:
    """Distances of the origin from line segments in the plane; shapes (n, 2), (n, 2) to (n,)."""
    x, y = first[:, 0], first[:, 1]
    dx, dy = second[:, 0] - x, second[:, 1] - y
    square = dx * dx + dy * dy
    t = _between_ends(-(x * dx + y * dy) / np.where(square < _TINY**2, 1.0, square))
    return length_of(x + t * dx, y + t * dy)


def most(corners: Floats) -> Floats:
    """The greatest of three along the last axis; much quicker than a reduction over so short an axis."""
    return np.asarray(np.maximum(np.maximum(corners[..., 0], corners[..., 1]), corners[..., 2]))


def least(corners: Floats) -> Floats:
    """The least of three along the last axis."""
    return np.asarray(np.minimum(np.minimum(corners[..., 0], corners[..., 1]), corners[..., 2]))


def length_of(x: Floats, y: Floats) -> Floats:
    """Lengths in the plane, mm; several times as quick as `hypot`, which minds numbers too large to square."""
    return np.asarray(np.sqrt(x * x + y * y))


def over_origin(triangles: Floats, low: Floats) -> NDArray[np.bool_]:
    """Which triangles, seen along their first coordinate, lie over the origin at `low` or above.

    Args:
        triangles: shape (n, 3, 3), as in `outlines`.
        low: shape (n,).
    """
    x, y = triangles[:, :, 1], triangles[:, :, 2]
    twice = [x[:, i] * y[:, (i + 1) % 3] - x[:, (i + 1) % 3] * y[:, i] for i in range(3)]
    area = twice[0] + twice[1] + twice[2]
    inside = ((twice[0] >= 0) & (twice[1] >= 0) & (twice[2] >= 0)) | (
        (twice[0] <= 0) & (twice[1] <= 0) & (twice[2] <= 0)
    )
    inside &= np.abs(area) > _TINY
    divisor = np.where(np.abs(area) > _TINY, area, 1.0)
    # The weight of a corner is the area opposite to it.
    height = sum(triangles[:, (i + 2) % 3, 0] * twice[i] for i in range(3)) / divisor
    return np.asarray(inside & (height >= low))
