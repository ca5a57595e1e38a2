"""At which shaft angles a straight tool comes to a screw that lies along the drive axis.

Beyond the tool's start, the material is projected along the drive axis onto (x, y). The tool is a disc whose centre
runs round the drive axis on a circle. A line blocks it while the centre lies within the disc's radius of it: in the
rectangle about the line or in the circles about its ends, each of which the circle of the centre enters and leaves at
angles in closed form. What is left between lines is wholly free or wholly under a face, which its middle tells.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.corridor import Corridor, ToolPart
from fitcheck.measurement.intervals import TURN, gaps
from fitcheck.measurement.obstacles import Floats, Obstacles
from fitcheck.measurement.outlines import distances, least, most, outlines, over_origin

_FAR = 1e6


def axial_corridor(
    obstacles: Obstacles,
    radius: float,
    sense: float,
    parts: Sequence[ToolPart],
    *,
    leave_out: Iterable[int] = (),
) -> Corridor:
    """The shaft angles at which a tool comes in along the drive axis, exact for exact triangles.

    Args:
        obstacles: the measurement's obstacles; triangles are used, grown by their bound.
        radius: distance of the screw's axis from the drive axis, mm.
        sense: +1 where the tool lies towards the actuator, -1 towards the motor.
        parts: the tool's cylinders; `start` is `sense` times the station where each begins.
        leave_out: body indices that do not count.

    Returns:
        Free ranges of the angle at which the screw lies, degrees.
    """
    turned, bound, body = _ahead(obstacles, sense, leave_out)
    lows, highs, owners = [np.empty(0)], [np.empty(0)], [np.empty(0, dtype=np.int64)]
    for part in parts:
        first, second, which = _outlines(turned, bound, part)
        low, high, row = disc_intervals(first, second, radius, part.radius + bound[which])
        lows.append(low)
        highs.append(high)
        owners.append(body[which[row]])
    low, high, owner = np.concatenate(lows), np.concatenate(highs), np.concatenate(owners)
    left = gaps(low, high, owner)
    middles = np.radians([gap.start + 0.5 * gap.width for gap in left])
    for part in parts:
        for gap, under in zip(left, _under(turned, bound, body, radius, part, middles), strict=True):
            if under >= 0:
                low, high = np.append(low, np.radians(gap.start)), np.append(high, np.radians(gap.stop))
                owner = np.append(owner, under)
    names, counts = np.unique(owner, return_counts=True)
    return Corridor(
        free=gaps(low, high, owner), blockers=tuple(int(name) for name in names[np.argsort(-counts, kind="stable")])
    )


def axial_margin(
    obstacles: Obstacles,
    radius: float,
    sense: float,
    parts: Sequence[ToolPart],
    thetas: Floats,
    *,
    leave_out: Iterable[int] = (),
    largest: float,
) -> Floats:
    """How much thicker a tool that comes in free could be at shaft angles (radians), mm; cut off at `largest`."""
    turned, bound, _ = _ahead(obstacles, sense, leave_out)
    room = np.full(thetas.size, largest)
    for part in parts:
        first, second, which = _outlines(turned, bound, part)
        for index, theta in enumerate(thetas):
            centre = radius * np.array([np.cos(theta), np.sin(theta)])
            gap = distances(first - centre, second - centre) - bound[which] - part.radius
            room[index] = min(room[index], float(gap.min(initial=np.inf)))
    return room


def disc_intervals(
    first: Floats, second: Floats, radius: float, reach: Floats
) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """Angles (radians) at which a point on a circle about the origin lies within `reach` of line segments.

    Args:
        first: shape (n, 2), first ends.
        second: shape (n, 2), second ends.
        radius: the circle's radius, mm.
        reach: shape (n,).

    Returns:
        Lower and upper ends, and the segment (index) of each interval.
    """
    rows = np.arange(reach.size)
    found = [_about_point(point, radius, reach) for point in (first, second)]
    step = second - first
    length = np.hypot(step[:, 0], step[:, 1])
    long = np.flatnonzero(length > 1e-12)
    along = step[long] / length[long, None]
    across = np.stack([-along[:, 1], along[:, 0]], axis=1)
    mu = np.arctan2(across[:, 1], across[:, 0])
    distance = np.einsum("ij,ij->i", across, first[long])
    start = np.einsum("ij,ij->i", along, first[long])
    # With delta = theta - mu the point lies radius cos(delta) across and -radius sin(delta) along.
    near, far = (distance + reach[long]) / radius, (distance - reach[long]) / radius
    low_cos, high_cos = np.arccos(np.clip(near, -1.0, 1.0)), np.arccos(np.clip(far, -1.0, 1.0))
    low, high = -(start + length[long]) / radius, -start / radius
    low_sin, high_sin = np.arcsin(np.clip(low, -1.0, 1.0)), np.arcsin(np.clip(high, -1.0, 1.0))
    reached = (far <= 1.0) & (near >= -1.0) & (low <= 1.0) & (high >= -1.0)
    for begin, end in ((low_cos, high_cos), (-high_cos, -low_cos)):
        for turn in (-TURN, 0.0):
            for first_of, last_of in ((low_sin, high_sin), (np.pi - high_sin, np.pi - low_sin)):
                a, b = np.maximum(begin, first_of + turn), np.minimum(end, last_of + turn)
                met = np.flatnonzero(reached & (b >= a))
                found.append((mu[met] + a[met], mu[met] + b[met], rows[long[met]]))
    lows, highs, owners = zip(*found, strict=True)
    return np.concatenate(lows), np.concatenate(highs), np.concatenate(owners)


def _about_point(point: Floats, radius: float, reach: Floats) -> tuple[Floats, Floats, NDArray[np.int64]]:
    away = np.hypot(point[:, 0], point[:, 1])
    met = np.flatnonzero((np.abs(away - radius) <= reach) & (reach > 0.0))
    away = away[met]
    cosine = (radius**2 + away**2 - reach[met] ** 2) / np.maximum(2.0 * radius * away, 1e-12)
    half = np.arccos(np.clip(cosine, -1.0, 1.0))
    phi = np.arctan2(point[met, 1], point[met, 0])
    return phi - half, phi + half, met


def _ahead(obstacles: Obstacles, sense: float, leave_out: Iterable[int]) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """Triangles with their first coordinate growing along the tool, their bounds and bodies."""
    keep = ~np.isin(obstacles.triangle_body, np.fromiter(leave_out, dtype=np.int64))
    turned = obstacles.triangles[keep] * np.array([sense, 1.0, 1.0])
    return turned, obstacles.triangle_bound[keep], obstacles.triangle_body[keep].astype(np.int64)


def _outlines(turned: Floats, bound: Floats, part: ToolPart) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """The outlines of what lies beyond a part's start; the last is the triangle of each line."""
    rows = np.flatnonzero(most(turned[:, :, 0]) >= part.start - bound)
    first, second, which = outlines(turned[rows], part.start - bound[rows], np.full(rows.size, _FAR))
    return first, second, rows[which]


def _under(
    turned: Floats, bound: Floats, body: NDArray[np.int64], radius: float, part: ToolPart, thetas: Floats
) -> list[int]:
    """The body of a triangle that lies over the disc's centre at each angle; -1 where none does."""
    found = []
    for theta in thetas:
        centre = radius * np.array([np.cos(theta), np.sin(theta)])
        here = turned - np.array([0.0, *centre])
        about = np.flatnonzero(
            (least(here[:, :, 1]) <= 0) & (most(here[:, :, 1]) >= 0)
            & (least(here[:, :, 2]) <= 0) & (most(here[:, :, 2]) >= 0)
        )  # fmt: skip
        over = about[over_origin(here[about], part.start - bound[about])]
        found.append(int(body[over[0]]) if over.size else -1)
    return found
