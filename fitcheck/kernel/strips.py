"""Strips of cylinders that wind about their axis, which the kernel's own recognition does not know.

The root and the crest of a modelled thread are such strips. All normals of a cylinder lie square to its axis, so two of
them give the axis, and three points the circle.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from fitcheck.kernel.edges import fitted

CHECKED = 33
"""Points along each parameter at which the cylinder is compared with the face, four for each turn of eight."""

TRIED = 7
"""Points along each parameter at which a second normal is looked for."""

GOLDEN = 0.6180339887498949

SKEW = 0.3
"""Sine of the least angle between the two normals that give the axis."""

Vector = tuple[float, float, float]
Sample = Callable[[float, float], tuple[Vector, Vector]]


def recognise_strip(
    sample: Sample, u: tuple[float, float], v: tuple[float, float], tolerance: float
) -> dict[str, Any] | None:
    """The cylinder that a surface is, or None.

    Args:
        sample: the surface's point, mm, and its unit normal at its parameters.
        u: the face's bounds of the first parameter.
        v: the face's bounds of the second parameter.
        tolerance: mm by which the surface may lie from the cylinder.

    Returns:
        origin, axis, x, y, radius (mm) and `gap`, the farthest that a point was found from the cylinder, mm.
    """
    first, normal = sample(u[0], v[0])
    axis: Vector | None = None
    for a, b in _grid(u, v, TRIED):
        _, other = sample(a, b)
        square = _cross(normal, other)
        size = math.sqrt(_dot(square, square))
        if size > SKEW:
            axis = (square[0] / size, square[1] / size, square[2] / size)
            break
    if axis is None:
        return None
    x = normal
    y = _cross(axis, x)
    points = []
    for a, b in _grid(u, v, CHECKED):
        point, square = sample(a, b)
        if abs(_dot(square, axis)) > 0.05:
            return None
        away = (point[0] - first[0], point[1] - first[1], point[2] - first[2])
        points.append([_dot(away, x), _dot(away, y), 0.0])
    # Points one after the other along a strip go round and round; three of them that lie apart make the circle.
    far = max(points, key=lambda p: math.dist(p, points[0]))
    middle = max(points, key=lambda p: min(math.dist(p, points[0]), math.dist(p, far)))
    circle = fitted([points[0], middle, far])
    if circle is None or circle["kind"] != "circle":
        return None
    cx, cy, radius = circle["c"][0], circle["c"][1], float(circle["r"])
    gap = max(abs(math.hypot(p[0] - cx, p[1] - cy) - radius) for p in points)
    if gap > tolerance:
        return None
    origin = [first[k] + cx * x[k] + cy * y[k] for k in range(3)]
    return {"origin": origin, "axis": list(axis), "x": list(x), "y": list(y), "radius": radius, "gap": gap}


def _grid(u: tuple[float, float], v: tuple[float, float], count: int) -> list[tuple[float, float]]:
    # Uneven steps: even ones fall on the same few places of a strip that winds a whole number of turns.
    last = count - 1
    shift = [0.8 * (GOLDEN * index % 1.0 - 0.5) if 0 < index < last else 0.0 for index in range(count)]
    steps = [(index + more) / last for index, more in enumerate(shift)]
    return [(u[0] + s * (u[1] - u[0]), v[0] + t * (v[1] - v[0])) for s in steps for t in steps]


def _cross(a: Vector, b: Vector) -> Vector:
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def _dot(a: Vector, b: Vector) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
