"""Material taken away: triangles with a prism cut out of them, for trying what a larger opening would do.

A prism is given in a tool's own frame: height along the tool, left of it, and along the drive axis, the middle on the
tool's axis; it is endless along the tool. Its sides that are new walls of the material are put in as triangles, over
all heights at which anything was cut, so that what reaches past them still finds material there.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.obstacles import Floats, Obstacles
from fitcheck.measurement.outlines import least, most

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
    rows = np.flatnonzero(touched(obstacles, [prism], station, offset, theta, bodies))
    if rows.size == 0:
        return obstacles
    kept, owner, inside = _outside(to_tool(obstacles.triangles[rows], station, offset, theta), prism)
    if not inside.size:
        return obstacles
    pieces = [from_tool(kept, station, offset, theta)]
    owners = [rows[owner]]
    walls = _walls(prism, inside)
    if walls.size:
        pieces.append(from_tool(walls, station, offset, theta))
        owners.append(np.full(walls.shape[0], rows[0]))
    new, whose = np.concatenate(pieces), np.concatenate(owners)
    far = np.ones(obstacles.triangle_bound.size, dtype=bool)
    far[rows] = False
    return obstacles.exchanged(np.flatnonzero(far), new, whose)


def touched(
    obstacles: Obstacles, prisms: Collection[Prism], station: float, offset: float, theta: float,
    bodies: Collection[int],
) -> NDArray[np.bool_]:  # fmt: skip
    """Which triangles prisms may cut, going by the boxes about both; arguments as of `cut`, shape (n,)."""
    found = np.zeros(obstacles.triangle_bound.size, dtype=bool)
    if not prisms:
        return found
    corners = np.concatenate([prism.corners for prism in prisms])
    rows = obstacles.between(station + float(corners[:, 1].min()), station + float(corners[:, 1].max()))
    rows = rows[np.isin(obstacles.triangle_body[rows], np.fromiter(bodies, dtype=np.int64))]
    local = to_tool(obstacles.triangles[rows], station, offset, theta)
    low, high = ([each(local[:, :, axis]) for axis in range(3)] for each in (least, most))
    for prism in prisms:
        (v0, w0), (v1, w1) = prism.corners.min(axis=0), prism.corners.max(axis=0)
        near = (high[0] > prism.low) & (high[1] > v0) & (low[1] < v1) & (high[2] > w0) & (low[2] < w1)
        found[rows[near]] = True
    return found


def _outside(triangles: Floats, prism: Prism) -> tuple[Floats, NDArray[np.int64], Floats]:
    """Triangles without what lies in the prism: the pieces, whose each is, and the corners (n, 3) of what was cut."""
    planes = _planes(prism)
    heights = np.stack([triangles @ normal - distance for normal, distance in planes], axis=2)
    beside = np.any(np.all(heights >= -_TINY, axis=1), axis=1)
    rows = np.flatnonzero(~beside)
    crossing = np.any(heights[rows] > _TINY, axis=1)
    # What is left of each triangle within the planes so far, as a convex polygon; a plane adds one corner at most.
    rest = np.zeros((rows.size, 3 + int(crossing.sum(axis=1).max(initial=0)), 3))
    rest[:, :3], count = triangles[rows], np.full(rows.size, 3)
    pieces: list[Floats] = [np.zeros((0, 3, 3))]
    owner: list[NDArray[np.int64]] = [np.zeros(0, dtype=np.int64)]
    for (normal, distance), crossed in zip(planes, crossing.T, strict=True):
        these = np.flatnonzero(crossed & (count > 0))
        if not these.size:
            continue
        used = np.arange(rest.shape[1]) < count[these, None]
        height = rest[these] @ normal - distance
        some, out = ((height > _TINY) & used).any(axis=1), ((height >= -_TINY) | ~used).all(axis=1)
        count[these[some & out]] = 0
        cut_through = some & ~out
        these, height = these[cut_through], height[cut_through]
        fans, whose = _fans(*_clipped(rest[these], count[these], height))
        pieces.append(fans)
        owner.append(these[whose])
        inner, corners = _clipped(rest[these], count[these], -height)
        rest[these, : inner.shape[1]], count[these] = inner, corners
    gone = count >= 3
    new, whose = np.concatenate(pieces), np.concatenate(owner)
    new, whose = new[gone[whose]], rows[whose[gone[whose]]]
    whole = np.concatenate([np.flatnonzero(beside), rows[~gone]])
    inside = rest[gone][np.arange(rest.shape[1]) < count[gone, None]]
    return np.concatenate([triangles[whole], new]), np.concatenate([whole, whose]), inside


def _planes(prism: Prism) -> list[tuple[Floats, float]]:
    """The prism's planes as outward normal and distance: inside where normal . point <= distance."""
    found = [(np.array([-1.0, 0.0, 0.0]), -prism.low)]
    for first, second in zip(prism.corners, np.roll(prism.corners, -1, axis=0), strict=True):
        step = second - first
        normal = np.array([0.0, step[1], -step[0]]) / np.hypot(*step)
        found.append((normal, float(normal[1:] @ first)))
    return found


def _clipped(polygons: Floats, count: NDArray[np.int64], height: Floats) -> tuple[Floats, NDArray[np.int64]]:
    """What of convex polygons lies where their corners' heights are positive.

    Args:
        polygons: shape (n, k, 3); of each row the first `count` corners.
        count: shape (n,).
        height: shape (n, k).
    """
    place = np.arange(polygons.shape[1])
    used = place < count[:, None]
    following = np.where(place + 1 < count[:, None], place + 1, 0)
    there = np.take_along_axis(polygons, following[..., None], axis=1)
    high = np.take_along_axis(height, following, axis=1)
    through = used & (((height > 0.0) & (high < 0.0)) | ((height < 0.0) & (high > 0.0)))
    share = height / np.where(through, height - high, 1.0)
    points = np.stack([polygons, polygons + share[..., None] * (there - polygons)], axis=2)
    wanted = np.stack([used & (height >= 0.0), through], axis=2).reshape(len(polygons), 2 * place.size)
    found = wanted.sum(axis=1)
    order = np.argsort(~wanted, axis=1, kind="stable")[:, : int(found.max(initial=0))]
    return np.take_along_axis(points.reshape(len(polygons), 2 * place.size, 3), order[..., None], axis=1), found


def _fans(polygons: Floats, count: NDArray[np.int64]) -> tuple[Floats, NDArray[np.int64]]:
    """Convex polygons as triangles (m, 3, 3), and the polygon of each."""
    row, second = np.nonzero(np.arange(1, polygons.shape[1] - 1) + 1 < count[:, None])
    corners = [polygons[row, at] for at in (np.zeros_like(second), second + 1, second + 2)]
    return np.stack(corners, axis=1), row


def _walls(prism: Prism, points: Floats) -> Floats:
    """The new walls, from the least to the greatest height at which anything was cut."""
    low, high = float(points[:, 0].min()), float(points[:, 0].max())
    found = []
    for wall, first, second in zip(prism.walls, prism.corners, np.roll(prism.corners, -1, axis=0), strict=True):
        if wall:
            a, b, c, d = ((low, *first), (low, *second), (high, *second), (high, *first))
            found += [(a, b, c), (a, c, d)]
    return np.array(found).reshape(-1, 3, 3)
