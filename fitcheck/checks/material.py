"""The material that stands about the coupling, and the least gap between it and what must pass."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.model import Measurement
from fitcheck.measurement.obstacles import Floats, Nearest, Obstacles, least_radius

NEVER = ("coupling", "ignored")
"""Roles of bodies that are never in the way: the coupling in the file is what is being replaced."""

_TOLERANCE = 1e-4
"""mm; a reported gap is at most this much smaller than the least one, never larger."""


@dataclass(frozen=True, kw_only=True)
class LeastGap:
    """The least of free radius minus needed radius: mm, and the material there."""

    value: float
    nearest: Nearest
    needed: float


def left_out(measurement: Measurement, roles: Collection[str] = ()) -> tuple[int, ...]:
    """Indices of the bodies that do not count."""
    skip = {*NEVER, *roles}
    return tuple(i for i, body in enumerate(measurement.bodies) if body.role in skip)


def material(measurement: Measurement, start: float, stop: float, roles: Collection[str] = ()) -> Obstacles | None:
    """The obstacles' segments in a range of stations, without bodies of the given roles; None where none were measured.

    Triangles are left out: this is for clearances, not for tool corridors.
    """
    obstacles = measurement.obstacles
    if obstacles is None:
        return None
    along = obstacles.segments[:, :, 0]
    keep = (along.max(axis=1) >= start) & (along.min(axis=1) <= stop)
    skip = left_out(measurement, roles)
    if skip:
        keep &= ~np.isin(obstacles.segment_body, np.array(skip))
    return _segments(obstacles, keep)


def extent(obstacles: Obstacles) -> tuple[float, float]:
    """First and last station of the segments; (0, 0) where there are none."""
    if obstacles.segments.shape[0] == 0:
        return 0.0, 0.0
    along = obstacles.segments[:, :, 0]
    return float(along.min()), float(along.max())


def least_gap(
    obstacles: Obstacles, needed: Callable[[float, float], float], breaks: Sequence[float]
) -> LeastGap | None:
    """The least of r(s) - needed(s), by branch and bound over the stations.

    Args:
        obstacles: the material.
        needed: the greatest radius needed over a closed range of stations, mm; exact.
        breaks: ascending stations; the first and the last are the range's ends, the others good places to halve at.

    Returns:
        The gap, at most 0.1 µm too small and never too large; None where no material lies in the range.
    """
    best: LeastGap | None = None
    heap: list[tuple[float, float, float]] = []

    def push(start: float, stop: float) -> None:
        nonlocal best
        nearest = least_radius(obstacles, start, stop)
        if nearest.radius == float("inf"):
            return
        here = needed(nearest.station, nearest.station)
        if best is None or nearest.radius - here < best.value:
            best = LeastGap(value=nearest.radius - here, nearest=nearest, needed=here)
        heappush(heap, (nearest.radius - needed(start, stop), start, stop))

    spans = list(pairwise(breaks)) or [(breaks[0], breaks[0])]
    for start, stop in spans:
        push(start, stop)
    if best is None:
        return None
    # What stays outside this radius cannot hold the least gap.
    obstacles = closer_than(obstacles, best.value + needed(breaks[0], breaks[-1]) + _TOLERANCE)
    while heap:
        low, start, stop = heappop(heap)
        if best.value - low <= _TOLERANCE or stop - start < 1e-9:
            value = min(low, best.value)
            return LeastGap(value=value, nearest=best.nearest, needed=best.needed)
        middle = 0.5 * (start + stop)
        push(start, middle)
        push(middle, stop)
    return best


def closer_than(obstacles: Obstacles, radius: float) -> Obstacles:
    """Without the segments that stay outside `radius` everywhere."""
    first, second = obstacles.segments[:, 0], obstacles.segments[:, 1]
    least = _distance(first[:, 1:], second[:, 1:]) - obstacles.segment_bound
    return _segments(obstacles, least <= radius)


def _distance(first: Floats, second: Floats) -> Floats:
    """Distances of segments in the plane from the origin; shapes (n, 2), (n, 2) to (n,)."""
    step = second - first
    square = np.einsum("ij,ij->i", step, step)
    t = np.clip(-np.einsum("ij,ij->i", first, step) / np.where(square == 0.0, 1.0, square), 0.0, 1.0)
    foot = first + t[:, None] * step
    return np.asarray(np.hypot(foot[:, 0], foot[:, 1]))


def _segments(obstacles: Obstacles, keep: NDArray[np.bool_]) -> Obstacles:
    return Obstacles(
        segments=obstacles.segments[keep],
        segment_bound=obstacles.segment_bound[keep],
        segment_body=obstacles.segment_body[keep],
        triangles=obstacles.triangles[:0],
        triangle_bound=obstacles.triangle_bound[:0],
        triangle_body=obstacles.triangle_body[:0],
    )
