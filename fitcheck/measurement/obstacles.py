"""What stands in the way, as plain arrays in the axis frame (s, x, y): for clearance and for tool corridors.

Free radius: the material's boundary is reduced to line segments on which, at every station, the points nearest to the
drive axis lie (edges, and the ridge lines of faces). On a segment the square of the distance to the axis is a quadratic
in the station, so the least distance over any range of stations is exact and closed.

Corridors: triangles of all faces in reach; `triangle_bound` is how far the true surface may lie from a triangle.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, eq=False)
class Obstacles:
    """Attributes:

    segments: shape (n, 2, 3), end points (s, x, y) in mm.
    segment_bound: shape (n,), how much nearer to the axis than its segment the true material may be, mm.
    segment_body: shape (n,), index into the measurement's bodies.
    triangles: shape (m, 3, 3), corners (s, x, y) in mm.
    triangle_bound: shape (m,), mm.
    triangle_body: shape (m,), index into the measurement's bodies.
    """

    segments: Floats
    segment_bound: Floats
    segment_body: NDArray[np.int32]
    triangles: Floats
    triangle_bound: Floats
    triangle_body: NDArray[np.int32]


@dataclass(frozen=True, kw_only=True)
class Nearest:
    """The material nearest to the drive axis over a range of stations.

    radius mm (inf where there is no material), station mm, theta degrees, body index (-1 where there is none).
    """

    radius: float
    station: float
    theta: float
    body: int


def least_radius(obstacles: Obstacles, start: float, stop: float) -> Nearest:
    """The free radius's least value over the closed range of stations [start, stop], exact for exact segments.

    Args:
        obstacles: the measurement's obstacles.
        start: first station, mm.
        stop: last station, mm; at least `start`.

    Returns:
        The nearest material; never farther out than the true one by more than the file's own tolerance.
    """
    first, last = obstacles.segments[:, 0, :], obstacles.segments[:, 1, :]
    low = np.minimum(first[:, 0], last[:, 0])
    high = np.maximum(first[:, 0], last[:, 0])
    inside = np.flatnonzero((high >= start) & (low <= stop))
    if inside.size == 0:
        return Nearest(radius=float("inf"), station=start, theta=0.0, body=-1)
    a, b = first[inside], last[inside]
    step = b - a
    rise = step[:, 0]
    flat = np.abs(rise) < 1e-12
    divisor = np.where(flat, 1.0, rise)
    t0 = np.where(flat, 0.0, (start - a[:, 0]) / divisor)
    t1 = np.where(flat, 1.0, (stop - a[:, 0]) / divisor)
    t0, t1 = np.minimum(t0, t1), np.maximum(t0, t1)
    t0, t1 = np.clip(t0, 0.0, 1.0), np.clip(t1, 0.0, 1.0)
    across = step[:, 1:]
    square = np.einsum("ij,ij->i", across, across)
    foot = -np.einsum("ij,ij->i", a[:, 1:], across) / np.where(square == 0.0, 1.0, square)
    t = np.clip(foot, t0, t1)
    points = a + t[:, None] * step
    radius = np.hypot(points[:, 1], points[:, 2]) - obstacles.segment_bound[inside]
    best = int(np.argmin(radius))
    point = points[best]
    return Nearest(
        radius=max(float(radius[best]), 0.0),
        station=float(point[0]),
        theta=float(np.degrees(np.arctan2(point[2], point[1]))),
        body=int(obstacles.segment_body[inside[best]]),
    )


def triangles_between(obstacles: Obstacles, start: float, stop: float) -> Obstacles:
    """The obstacles' triangles that reach into a range of stations, without the segments: for tool corridors alone."""
    along = obstacles.triangles[:, :, 0]
    keep = (along.max(axis=1) >= start) & (along.min(axis=1) <= stop)
    return Obstacles(
        segments=obstacles.segments[:0],
        segment_bound=obstacles.segment_bound[:0],
        segment_body=obstacles.segment_body[:0],
        triangles=obstacles.triangles[keep],
        triangle_bound=obstacles.triangle_bound[keep],
        triangle_body=obstacles.triangle_body[keep],
    )
