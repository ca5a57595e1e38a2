"""Where a ball end, tilted against the screw, drives it in.

A ball end comes in along its own tilted axis. Tilts are tried in twelve directions about the screw, at the greatest
tilt and at half of it, and straight; at each one whole cells of shaft angle are proved free, every point of the
material being grown by its way through the cell. So what is told free is free; a tilt between those tried may reach
somewhat farther.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from math import cos, pi, radians, sin

import numpy as np
from numpy.typing import NDArray

from fitcheck.checks.own_parts import Round
from fitcheck.checks.tools import Tool
from fitcheck.measurement.intervals import Gap, united
from fitcheck.measurement.obstacles import Floats, Obstacles
from fitcheck.measurement.outlines import distances, least, most, outlines, over_origin

_FIRST_CELLS = 90
_FINEST = radians(0.25)
_DIRECTIONS = 12
_FAR = 400.0
_SIDES = 36


def tilted_ranges(
    obstacles: Obstacles, about: Sequence[Round], station: float, offset: float, tool: Tool, *,
    leave_out: Iterable[int] = (),
) -> tuple[Gap, ...]:  # fmt: skip
    """Shaft angles at which some tilt comes in free, degrees (of the tool's direction)."""
    skip = np.fromiter(leave_out, dtype=np.int64)
    keep = most(np.hypot(obstacles.triangles[:, :, 1], obstacles.triangles[:, :, 2])) >= tool.parts[0].start * 0.5
    if skip.size:
        keep &= ~np.isin(obstacles.triangle_body, skip)
    triangles, bound = obstacles.triangles[keep], obstacles.triangle_bound[keep]
    own = np.concatenate([np.empty((0, 3, 3)), *(_tube(body) for body in about if not body.own_hub)])
    part = tool.parts[0]
    tilts = [
        tilt for tilt in _tilts(tool.tilt) if not _met(_seen(own, 0.0, station, offset, part.start, tilt), part.radius)
    ]
    ends = np.linspace(0.0, 2.0 * pi, _FIRST_CELLS + 1)
    cells = np.stack([ends[:-1], ends[1:]], axis=1)
    free: list[Floats] = []
    while cells.shape[0] and tilts:
        proved = np.zeros(cells.shape[0], dtype=bool)
        for index, (low, high) in enumerate(cells):
            middle, half = 0.5 * (low + high), 0.5 * (high - low)
            near, grow = _in_cone(triangles, bound, middle, half, station, offset, part.start, tool)
            proved[index] = any(
                not _met(_seen(near, middle, station, offset, part.start, tilt), part.radius, grow) for tilt in tilts
            )
        free.extend(cells[proved])
        cells = cells[~proved]
        wide = cells[:, 1] - cells[:, 0] > _FINEST
        # Only next to what is free may a finer cell still be free.
        beside = np.zeros(cells.shape[0], dtype=bool)
        for low, high in free:
            for shift in (-2.0 * pi, 0.0, 2.0 * pi):
                beside |= (np.abs(cells[:, 0] + shift - high) < 1e-9) | (np.abs(cells[:, 1] + shift - low) < 1e-9)
        cells = cells[wide & beside]
        middle_of = cells.mean(axis=1)
        cells = np.concatenate([np.stack([cells[:, 0], middle_of], 1), np.stack([middle_of, cells[:, 1]], 1)])
    return united(
        Gap(start=float(np.degrees(low)), stop=float(np.degrees(high)), start_owner=-1, stop_owner=-1)
        for low, high in free
    )


def _tilts(greatest: float) -> Iterator[tuple[float, float]]:
    """Tilt and its direction about the screw, radians; straight first."""
    yield 0.0, 0.0
    for share in (0.5, 1.0):
        for step in range(_DIRECTIONS):
            yield radians(greatest) * share, 2.0 * pi * step / _DIRECTIONS


def _in_cone(
    triangles: Floats, bound: Floats, theta: float, half: float, station: float, offset: float, start: float, tool: Tool
) -> tuple[Floats, Floats]:
    """The triangles that a tilted tool may meet in a cell of shaft angle, and by how much they are grown there."""
    c, s = cos(theta), sin(theta)
    x, y = triangles[:, :, 1], triangles[:, :, 2]
    height, left, along = c * x + s * y - start, c * y - s * x - offset, triangles[:, :, 0] - station
    grow = bound + 2.0 * most(np.hypot(x, y)) * sin(0.5 * half)
    top = most(height) + grow
    reach = np.maximum(top, 0.0) * np.tan(radians(tool.tilt)) + tool.parts[0].radius / cos(radians(tool.tilt)) + grow
    keep = (top >= 0.0) & (least(left) <= reach) & (most(left) >= -reach)
    keep &= (least(along) <= reach) & (most(along) >= -reach)
    return triangles[keep], grow[keep]


def _seen(
    triangles: Floats, theta: float, station: float, offset: float, start: float, tilt: tuple[float, float]
) -> Floats:
    """Triangles in the tilted tool's frame: along it from the screw's outer end, and across it."""
    u, n, axis = np.array([0.0, cos(theta), sin(theta)]), np.array([0.0, -sin(theta), cos(theta)]), np.eye(3)[0]
    side = cos(tilt[1]) * n + sin(tilt[1]) * axis
    other = -sin(tilt[1]) * n + cos(tilt[1]) * axis
    along, across = cos(tilt[0]) * u + sin(tilt[0]) * side, cos(tilt[0]) * side - sin(tilt[0]) * u
    origin = station * axis + offset * n + start * u
    return np.asarray((triangles - origin) @ np.stack([along, across, other]).T)


def _met(seen: Floats, radius: float, grow: Floats | None = None) -> bool:
    """Whether the tool meets any of the triangles, grown."""
    if seen.shape[0] == 0:
        return False
    grow = np.zeros(seen.shape[0]) if grow is None else grow
    # What lies beside the ball itself is the screw's own counterbore and the hub, which are not among the triangles.
    first, second, owner = outlines(seen, -grow, np.full(grow.size, 1e6))
    if owner.size and bool((distances(first, second) <= radius + grow[owner]).any()):
        return True
    return bool(over_origin(seen, -grow).any())


def _tube(body: Round) -> Floats:
    """A round body as triangles about it, cut off far away; in (s, x, y)."""
    radius = min(body.radius, _FAR) / cos(pi / _SIDES)
    start, stop = max(body.start, -_FAR), min(body.stop, _FAR)
    angles = 2.0 * pi * np.arange(_SIDES + 1) / _SIDES
    ring = radius * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    made: list[NDArray[np.float64]] = []
    for a, b in pairwise(ring):
        p, q, r, t = (np.array([s, *point]) for s, point in ((start, a), (start, b), (stop, a), (stop, b)))
        made += [np.stack([p, q, t]), np.stack([p, t, r])]
        made += [np.stack([np.array([s, 0.0, 0.0]), one, two]) for s, one, two in ((start, p, q), (stop, r, t))]
    return np.array(made)
