"""How much thicker a straight tool could be at a given shaft angle: its margin in mm.

At one shaft angle the way in of a cylinder about the screw's axis is a half-infinite cylinder. All material beyond its
start, projected along the screw's direction, lies at some distance from the screw's axis; the least one, less the
cylinder's radius, is the margin. A position is free where the margin is positive, and the margin is exact up to the
triangles' own bound, which is taken off.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from fitcheck.measurement.corridor import ToolPart
from fitcheck.measurement.obstacles import Floats, Obstacles
from fitcheck.measurement.outlines import distances, least, most, outlines

LARGEST = 10.0
"""mm; a larger margin is told as this."""


def straight_margin(
    obstacles: Obstacles,
    station: float,
    offset: float,
    parts: Sequence[ToolPart],
    thetas: Floats,
    *,
    leave_out: Iterable[int] = (),
    largest: float = LARGEST,
) -> Floats:
    """The margin of a tool that comes in free, at shaft angles in radians.

    Args:
        obstacles: the measurement's obstacles.
        station: station of the screw's axis, mm.
        offset: distance of the screw's axis from the drive axis, mm.
        parts: the tool's cylinders.
        thetas: shape (n,); at each the tool must be free (`corridor`).
        leave_out: body indices that do not count.
        largest: mm; margins are cut off here.

    Returns:
        Shape (n,), mm; negative where the tool is not free after all.
    """
    best = np.full(thetas.size, largest)
    skip = np.fromiter(leave_out, dtype=np.int64)
    for part in parts:
        reach = part.radius + largest
        keep = obstacles.between(station - reach, station + reach)
        if skip.size:
            keep = keep[~np.isin(obstacles.triangle_body[keep], skip)]
        triangles, bound = obstacles.triangles[keep], obstacles.triangle_bound[keep]
        for index, theta in enumerate(thetas):
            c, s = np.cos(theta), np.sin(theta)
            height = triangles[:, :, 1] * c + triangles[:, :, 2] * s
            left = triangles[:, :, 2] * c - triangles[:, :, 1] * s - offset
            wide = part.radius + bound + largest
            near = np.flatnonzero((most(height) >= part.start - bound) & (least(left) <= wide) & (most(left) >= -wide))
            if near.size == 0:
                continue
            local = np.stack([height[near], left[near], triangles[near, :, 0] - station], axis=2)
            low = part.start - bound[near]
            first, second, owner = outlines(local, low, np.full(near.size, 1e6))
            if owner.size:
                gap = distances(first, second) - bound[near][owner] - part.radius
                best[index] = min(best[index], float(gap.min()))
    return best
