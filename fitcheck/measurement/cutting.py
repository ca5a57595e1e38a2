"""Material taken away: triangles with a prism cut out of them, for trying what a larger opening would do.

A prism is given in a tool's own frame: height along the tool, left of it, and along the drive axis, the middle on the
tool's axis; it is endless along the tool. Its sides that are new walls of the material are put in as triangles, over
all heights at which anything was cut, so that what reaches past them still finds material there.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.obstacles import Floats, Obstacles

_TINY = 1e-9


@dataclass(frozen=True, kw_only=True)
class Prism:
    """What is cut out: a convex outline across the tool, from a height on.

    Attributes:
        corners: shape (n, 2), left of the tool and along the drive axis, mm, in turning order left to along.
        low: height in mm from which on it cuts.
        walls: which of the sides (from corner i to i + 1) are new walls.
    """

    corners: Floats
    low: float
    walls: tuple[bool, ...]


def round_hole(radius: float, low: float, sides: int = 32) -> Prism:
    """A round hole about the tool's axis, as a prism that lies within it, so that it frees no more than the hole."""
    angles = np.arange(sides) * 2.0 * np.pi / sides
    corners = radius * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    return Prism(corners=corners, low=low, walls=(True,) * sides)


def notch(left: tuple[float, float], along: tuple[float, float], low: float, wall: int | None) -> Prism:
    """A rectangle across the tool; `wall` is the side that is a new wall: 0 first station, 1 left, 2 last, 3 right."""
    (v0, v1), (w0, w1) = left, along
    corners = np.array([(v0, w0), (v1, w0), (v1, w1), (v0, w1)])
    return Prism(corners=corners, low=low, walls=tuple(side == wall for side in range(4)))


def to_tool(points: Floats, station: float, offset: float, theta: float) -> Floats:
    """Points (..., 3) of the axis frame (s, x, y) in a tool's frame: height, left of it, along the drive axis.

    Args:
        points: mm.
        station: station of the tool's axis.
        offset: how far its axis lies beside the drive axis, mm.
        theta: its direction in radians.
    """
    c, s = np.cos(theta), np.sin(theta)
    height = points[..., 1] * c + points[..., 2] * s
    left = points[..., 2] * c - points[..., 1] * s - offset
    return np.stack([height, left, points[..., 0] - station], axis=-1)


def from_tool(points: Floats, station: float, offset: float, theta: float) -> Floats:
    """The other way round from `to_tool`."""
    c, s = np.cos(theta), np.sin(theta)
    height, left = points[..., 0], points[..., 1] + offset
    return np.stack([points[..., 2] + station, height * c - left * s, height * s + left * c], axis=-1)


def cut(
    obstacles: Obstacles, prisms: Collection[Prism], station: float, offset: float, theta: float,
    bodies: Collection[int],
) -> Obstacles:  # fmt: skip
    """The obstacles with prisms cut out of some bodies; the free radius is left as it is, which is on the safe side.

    Args:
        obstacles: the measurement's.
        prisms: what to cut, in the frame of the tool given by the next three.
        station: mm.
        offset: mm.
        theta: radians.
        bodies: indices of the bodies that may be cut.

    Returns:
        Other obstacles; their triangles that were not cut stay the same numbers.
    """
    for prism in prisms:
        obstacles = _cut_one(obstacles, prism, station, offset, theta, bodies)
    return obstacles


def _cut_one(
    obstacles: Obstacles, prism: Prism, station: float, offset: float, theta: float, bodies: Collection[int]
) -> Obstacles:  # fmt: skip
    local = to_tool(obstacles.triangles, station, offset, theta)
    low, high = np.array([prism.low, *prism.corners.min(axis=0)]), np.array([np.inf, *prism.corners.max(axis=0)])
    near = (local.max(axis=1) > low).all(axis=1) & (local.min(axis=1) < high).all(axis=1)
    near &= np.isin(obstacles.triangle_body, np.fromiter(bodies, dtype=np.int64))
    rows = np.flatnonzero(near)
    if rows.size == 0:
        return obstacles
    kept, owner, inside = _outside(local[rows], prism)
    if not inside:
        return obstacles
    pieces = [from_tool(kept, station, offset, theta)]
    owners = [rows[owner]]
    walls = _walls(prism, np.concatenate(inside))
    if walls.size:
        pieces.append(from_tool(walls, station, offset, theta))
        owners.append(np.full(walls.shape[0], rows[0]))
    new, whose = np.concatenate(pieces), np.concatenate(owners)
    return replace(
        obstacles,
        triangles=np.concatenate([obstacles.triangles[~near], new]),
        triangle_bound=np.concatenate([obstacles.triangle_bound[~near], obstacles.triangle_bound[whose]]),
        triangle_body=np.concatenate([obstacles.triangle_body[~near], obstacles.triangle_body[whose]]),
    )


def _outside(triangles: Floats, prism: Prism) -> tuple[Floats, NDArray[np.int64], list[Floats]]:
    """Triangles without what lies in the prism: the pieces, whose each is, and the corners of what was cut."""
    planes = _planes(prism)
    heights = np.stack([triangles @ normal - distance for normal, distance in planes], axis=2)
    beside = np.any(np.all(heights >= -_TINY, axis=1), axis=1)
    crossing = np.any(heights > _TINY, axis=1)
    kept: list[Floats] = [triangles[beside]]
    owner: list[int] = [int(number) for number in np.flatnonzero(beside)]
    inside: list[Floats] = []
    for number in np.flatnonzero(~beside):
        triangle = triangles[number]
        rest, out = triangle, []
        for plane in np.flatnonzero(crossing[number]):
            normal, distance = planes[plane]
            height = rest @ normal - distance
            if (height <= _TINY).all():
                continue
            if (height >= -_TINY).all():
                rest = rest[:0]
                break
            out.append(_clipped(rest, height))
            rest = _clipped(rest, -height)
        if rest.shape[0] < 3:
            kept.append(triangle[None])
            owner.append(int(number))
            continue
        inside.append(rest)
        for polygon in out:
            fans = np.stack([np.stack([polygon[0], polygon[i], polygon[i + 1]]) for i in range(1, len(polygon) - 1)])
            kept.append(fans)
            owner += [int(number)] * len(fans)
    return np.concatenate(kept), np.array(owner, dtype=np.int64), inside


def _planes(prism: Prism) -> list[tuple[Floats, float]]:
    """The prism's planes as outward normal and distance: inside where normal . point <= distance."""
    found = [(np.array([-1.0, 0.0, 0.0]), -prism.low)]
    for first, second in zip(prism.corners, np.roll(prism.corners, -1, axis=0), strict=True):
        step = second - first
        normal = np.array([0.0, step[1], -step[0]]) / np.hypot(*step)
        found.append((normal, float(normal[1:] @ first)))
    return found


def _clipped(polygon: Floats, height: Floats) -> Floats:
    """What of a convex polygon lies where its corners' heights are positive."""
    following, above = np.roll(polygon, -1, axis=0), np.roll(height, -1)
    points = []
    for here, there, low, high in zip(polygon, following, height, above, strict=True):
        if low >= 0.0:
            points.append(here)
        if (low > 0.0 > high) or (low < 0.0 < high):
            points.append(here + (there - here) * (low / (low - high)))
    return np.array(points).reshape(-1, 3)


def _walls(prism: Prism, points: Floats) -> Floats:
    """The new walls, from the least to the greatest height at which anything was cut."""
    low, high = float(points[:, 0].min()), float(points[:, 0].max())
    found = []
    for wall, first, second in zip(prism.walls, prism.corners, np.roll(prism.corners, -1, axis=0), strict=True):
        if wall:
            a, b, c, d = ((low, *first), (low, *second), (high, *second), (high, *first))
            found += [(a, b, c), (a, c, d)]
    return np.array(found).reshape(-1, 3, 3)
