"""How near triangles come to the axis of a tool that leans against its screw.

Places are given as seen upright: height above the screw's outer end and two distances beside its axis. A lean is a
vector in the plane of these two; its length is the tilt in radians. Two leans differ, as angles between tools, by no
more than the distance of their vectors, since the plane's distances are those of the sphere, stretched.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.obstacles import Floats
from fitcheck.measurement.outlines import distances, least

_NEXT = np.array([1, 2, 0])
_TINY = 1e-12


@dataclass(frozen=True, kw_only=True)
class Places:
    """Of each triangle the place nearest to the tool's axis, out of what lies outside the screw's end; shapes (n,), mm.

    Attributes:
        distance: from the axis; 0 where the axis runs through the triangle, inf where nothing of it lies outside.
        height: along the axis.
        inside: how far the axis runs within the triangle's outline, seen along it; negative where it does not.
        lowest: least height of the triangle along the axis.
    """

    distance: Floats
    height: Floats
    inside: Floats
    lowest: Floats


def tool_axes(leans: Floats) -> Floats:
    """The frames of tools that lean, as seen upright: along them, across in the lean's direction, and square to both.

    Args:
        leans: shape (n, 2), radians.

    Returns:
        Shape (n, 3, 3).
    """
    tilt, around = np.hypot(leans[:, 0], leans[:, 1]), np.arctan2(leans[:, 1], leans[:, 0])
    ct, st, c, s, none = np.cos(tilt), np.sin(tilt), np.cos(around), np.sin(around), np.zeros(tilt.size)
    rows = [ct, st * c, st * s, -st, ct * c, ct * s, none, -s, c]
    return np.stack(rows, axis=1).reshape(-1, 3, 3)


def in_tools(seen: tuple[Floats, Floats, Floats], axes: Floats) -> tuple[Floats, Floats, Floats]:
    """Corners as seen upright, each of shape (n, 3), in the frames of their tools, shape (n, 3, 3)."""
    h, a, b = seen
    found = [axes[:, i, 0, None] * h + axes[:, i, 1, None] * a + axes[:, i, 2, None] * b for i in range(3)]
    return found[0], found[1], found[2]


def nearest_places(corners: tuple[Floats, Floats, Floats], low: Floats) -> Places:
    """The places of triangles nearest to the axis.

    Args:
        corners: in the tools' frames, each of shape (n, 3).
        low: shape (n,), the height where what counts begins.
    """
    # Rows are corners, or the sides that begin there: whole rows are quicker to work on than columns of threes.
    height, x, y = (np.ascontiguousarray(column.T) for column in corners)
    rise, dx, dy = height[_NEXT] - height, x[_NEXT] - x, y[_NEXT] - y
    square = dx * dx + dy * dy
    foot = -(x * dx + y * dy) / np.where(square < _TINY, 1.0, square)
    flat = np.abs(rise) < _TINY
    cut = np.clip((low - height) / np.where(flat, 1.0, rise), 0.0, 1.0)
    rising = rise > 0.0
    outside = np.maximum(height, height[_NEXT]) >= low
    first, last = np.where(rising & ~flat, cut, 0.0), np.where(rising | flat, 1.0, cut)
    at = np.clip(foot, first, last)
    px, py = x + at * dx, y + at * dy
    apart = np.where(outside, px * px + py * py, np.inf)
    side = np.argmin(apart, axis=0)
    each = np.arange(side.size)
    found, level = apart[side, each], (height + at * rise)[side, each]
    twice = x * y[_NEXT] - x[_NEXT] * y
    area = twice[0] + twice[1] + twice[2]
    same = ((twice >= 0.0).all(axis=0) | (twice <= 0.0).all(axis=0)) & (np.abs(area) > _TINY)
    # The weight of a corner is the area opposite to it.
    through = (height[0] * twice[1] + height[1] * twice[2] + height[2] * twice[0]) / np.where(same, area, 1.0)
    pierced = same & (through >= low)
    lines = np.abs(twice) / np.sqrt(np.maximum(square, _TINY))
    inside = np.where(pierced, np.minimum(np.minimum(lines[0], lines[1]), lines[2]), -1.0)
    distance, level = np.where(pierced, 0.0, np.sqrt(found)), np.where(pierced, through, level)
    lowest = least(corners[0])
    split = np.flatnonzero(~pierced & (lowest < low) & np.isfinite(distance))
    if split.size:
        corners_of, cuts = (x[:, split], y[:, split], dx[:, split], dy[:, split]), cut[:, split]
        crossed = (outside & (np.minimum(height, height[_NEXT]) < low))[:, split]
        line = _cut_line(corners_of, cuts, crossed)
        nearer = line < distance[split]
        distance[split] = np.where(nearer, line, distance[split])
        level[split] = np.where(nearer, low[split], level[split])
    return Places(distance=distance, height=level, inside=inside, lowest=lowest)


def _cut_line(sides: tuple[Floats, ...], cut: Floats, crossed: NDArray[np.bool_]) -> Floats:
    """Distances of the axis from the lines that a level cuts triangles in; two sides of each are crossed by it."""
    x, y, dx, dy = sides
    px, py, each = x + cut * dx, y + cut * dy, np.arange(cut.shape[1])
    one, two = np.argmax(crossed, axis=0), 2 - np.argmax(crossed[::-1], axis=0)
    first = np.stack([px[one, each], py[one, each]], axis=1)
    second = np.stack([px[two, each], py[two, each]], axis=1)
    return np.where(crossed.any(axis=0), distances(first, second), np.inf)
