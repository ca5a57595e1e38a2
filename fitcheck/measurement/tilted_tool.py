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

_NEXT = np.array([1, 2, 0])
_TINY = 1e-12


@dataclass(frozen=True, kw_only=True, eq=False)
class Places:
    """Of each triangle the place nearest to the tool's axis, out of what lies outside the screw's end.

    Attributes:
        distance: shape (n,), from the axis, mm; 0 where the axis runs through the triangle, inf where nothing of it
            lies outside.
        across: shape (2, n), where it lies beside the axis, mm.
        split: rows of triangles that the level at which the outside begins cuts in two.
        outside: shape (3, len(split)), which of their sides lie outside at least in part.
        shares: shape (2, 3, len(split)), from where to where they do, as parts of the side.
    """

    distance: Floats
    across: Floats
    split: NDArray[np.int64]
    outside: NDArray[np.bool_]
    shares: Floats


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
    above = height[_NEXT]
    dx, dy = x[_NEXT] - x, y[_NEXT] - y
    square = dx * dx + dy * dy
    at = np.clip(-(x * dx + y * dy) / np.maximum(square, _TINY), 0.0, 1.0)
    apart = (x + at * dx) ** 2 + (y + at * dy) ** 2
    lowest = np.minimum(np.minimum(height[0], height[1]), height[2])
    split = np.flatnonzero(lowest < low)
    outside, shares = np.empty((3, 0), dtype=bool), np.empty((2, 3, 0))
    if split.size:
        level, one, two = low[split], height[:, split], above[:, split]
        cut = np.clip((level - one) / np.where(np.abs(two - one) < _TINY, 1.0, two - one), 0.0, 1.0)
        rising, outside = two > one + _TINY, np.maximum(one, two) >= level
        falling = two < one - _TINY
        shares = np.stack([np.where(rising, cut, 0.0), np.where(falling, cut, 1.0)])
        at[:, split] = np.clip(at[:, split], *shares)
        near = (x[:, split] + at[:, split] * dx[:, split]) ** 2 + (y[:, split] + at[:, split] * dy[:, split]) ** 2
        apart[:, split] = np.where(outside, near, np.inf)
    side, each = np.argmin(apart, axis=0), np.arange(low.size)
    found, t = apart[side, each], at[side, each]
    across = np.stack([x[side, each] + t * dx[side, each], y[side, each] + t * dy[side, each]])
    twice = x * y[_NEXT] - x[_NEXT] * y
    area = twice[0] + twice[1] + twice[2]
    same = ((twice >= 0.0).all(axis=0) | (twice <= 0.0).all(axis=0)) & (np.abs(area) > _TINY)
    # The weight of a corner is the area opposite to it.
    through = (height[0] * twice[1] + height[1] * twice[2] + height[2] * twice[0]) / np.where(same, area, 1.0)
    distance = np.where(same & (through >= low), 0.0, np.sqrt(found))
    if split.size:
        _on_the_cut(distance, across, split, (x, y, dx, dy), shares, outside)
    return Places(distance=distance, across=across, split=split, outside=outside, shares=shares)


def _on_the_cut(
    distance: Floats, across: Floats, split: NDArray[np.int64], sides: tuple[Floats, ...], shares: Floats,
    outside: NDArray[np.bool_],
) -> None:  # fmt: skip
    """Enters the places on the lines that the level cuts triangles in, where they are the nearest."""
    x, y, dx, dy = (side[:, split] for side in sides)
    # A side that is cut lies outside in part.
    crossed = outside & ((shares[0] > 0.0) | (shares[1] < 1.0))
    cut = np.where(shares[0] > 0.0, shares[0], shares[1])
    rows = np.flatnonzero((crossed.sum(axis=0) >= 2) & (distance[split] > 0.0))
    if not rows.size:
        return
    crossed = crossed[:, rows]
    one, two = np.argmax(crossed, axis=0), 2 - np.argmax(crossed[::-1], axis=0)
    px, py = (x + cut * dx)[:, rows], (y + cut * dy)[:, rows]
    each = np.arange(rows.size)
    ax, ay = px[one, each], py[one, each]
    bx, by = px[two, each] - ax, py[two, each] - ay
    t = np.clip(-(ax * bx + ay * by) / np.maximum(bx * bx + by * by, _TINY), 0.0, 1.0)
    found = np.stack([ax + t * bx, ay + t * by])
    apart, at = np.hypot(*found), split[rows]
    nearer = apart < distance[at]
    distance[at[nearer]] = apart[nearer]
    across[:, at[nearer]] = found[:, nearer]
