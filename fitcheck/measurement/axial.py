"""At which shaft angles a straight tool comes to a screw that lies along the drive axis.

Beyond the tool's start, the material is projected along the drive axis onto (x, y). The tool is a disc whose centre
runs round the drive axis on a circle; it is free where the nearest material is farther from its centre than its radius.
A turn by d moves the centre by at most 2 radius sin(d / 2), which proves or refutes whole cells of shaft angle; cells
that are neither are halved down to the tolerance and then count as blocked.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.corridor import Corridor, ToolPart
from fitcheck.measurement.intervals import gaps
from fitcheck.measurement.obstacles import Floats, Obstacles
from fitcheck.measurement.outlines import distances, least, most, outlines, over_origin

_FIRST_CELLS = 180


def axial_corridor(
    obstacles: Obstacles,
    radius: float,
    sense: float,
    parts: Sequence[ToolPart],
    *,
    leave_out: Iterable[int] = (),
    tolerance: float = 0.05,
) -> Corridor:
    """The shaft angles at which a tool comes in along the drive axis.

    Args:
        obstacles: the measurement's obstacles; triangles are used, grown by their bound.
        radius: distance of the screw's axis from the drive axis, mm.
        sense: +1 where the tool lies towards the actuator, -1 towards the motor.
        parts: the tool's cylinders; `start` is `sense` times the station where each begins.
        leave_out: body indices that do not count.
        tolerance: degrees by which a free range may be too narrow at either side.

    Returns:
        Free ranges of the angle at which the screw lies, degrees.
    """
    skip = np.fromiter(leave_out, dtype=np.int64)
    keep = ~np.isin(obstacles.triangle_body, skip)
    turned = obstacles.triangles[keep] * np.array([sense, 1.0, 1.0])
    bound, body = obstacles.triangle_bound[keep], obstacles.triangle_body[keep].astype(np.int64)
    ends = np.linspace(0.0, 2.0 * np.pi, _FIRST_CELLS + 1)
    cells = np.stack([ends[:-1], ends[1:]], axis=1)
    blocked: list[Floats] = []
    owners: list[int] = []
    while cells.shape[0]:
        middle, half = cells.mean(axis=1), 0.5 * (cells[:, 1] - cells[:, 0])
        moved = 2.0 * radius * np.sin(0.5 * half)
        room, owner = _room(turned, bound, body, radius, parts, middle)
        undecided = room <= moved
        certain = undecided & ((room <= -moved) | (2.0 * half <= np.radians(tolerance)))
        blocked.extend(cells[certain])
        owners.extend(owner[certain].tolist())
        split = undecided & ~certain
        cells, middle = cells[split], middle[split]
        cells = np.concatenate([np.stack([cells[:, 0], middle], 1), np.stack([middle, cells[:, 1]], 1)])
    if not blocked:
        return Corridor(free=gaps(np.empty(0), np.empty(0), np.empty(0, dtype=np.int64)), blockers=())
    low, high = np.array(blocked).T
    names, counts = np.unique(np.array(owners), return_counts=True)
    return Corridor(
        free=gaps(low, high, np.array(owners, dtype=np.int64)),
        blockers=tuple(int(name) for name in names[np.argsort(-counts)]),
    )


def _room(
    turned: Floats,
    bound: Floats,
    body: NDArray[np.int64],
    radius: float,
    parts: Sequence[ToolPart],
    thetas: Floats,
) -> tuple[Floats, NDArray[np.int64]]:
    """How much thicker the tool could be at each angle, mm, and the body that limits it (-1: none)."""
    room, owner = np.full(thetas.size, np.inf), np.full(thetas.size, -1, dtype=np.int64)
    for part in parts:
        near = most(turned[:, :, 0]) >= part.start - bound
        triangles, grow, bodies = turned[near], bound[near], body[near]
        low = part.start - grow
        first, second, which = outlines(triangles, low, np.full(low.size, 1e6))
        for index, theta in enumerate(thetas):
            centre = radius * np.array([np.cos(theta), np.sin(theta)])
            if which.size:
                gap = distances(first - centre, second - centre) - grow[which] - part.radius
                at = int(np.argmin(gap))
                if gap[at] < room[index]:
                    room[index], owner[index] = gap[at], bodies[which[at]]
            here = triangles - np.array([0.0, *centre])
            about = (least(here[:, :, 1]) <= 0) & (most(here[:, :, 1]) >= 0)
            over = np.flatnonzero(about)[over_origin(here[about], low[about])]
            if over.size:
                room[index], owner[index] = -np.inf, bodies[over[0]]
    return room, owner
