"""Tori that are written as B-splines or as revolved curves, which the kernel's own recognition does not know.

Exporters write a fillet round a bore so. One family of parameter lines of such a face are circles about one axis, and
their radii and heights lie on one circle in turn.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

from fitcheck.kernel.edges import fitted

COUNT = 9
"""Circles that are looked at, and points on each."""

CHECKED = 17
"""Points along each parameter at which the torus is compared with the face."""

PARALLEL = 1e-4
"""rad; how far the circles may lean against each other; the comparison with the face decides."""

Evaluate = Callable[[float, float], list[float]]


def recognise_torus(
    evaluate: Evaluate, u: tuple[float, float], v: tuple[float, float], tolerance: float
) -> dict[str, Any] | None:
    """The torus that a surface is, or None.

    Args:
        evaluate: the surface's point at its parameters, mm.
        u: the face's bounds of the first parameter.
        v: the face's bounds of the second parameter.
        tolerance: mm by which the surface may lie from the torus.

    Returns:
        origin, axis, x, y, radius and minor (mm), `u` and `v`, the torus' own angles that the face spans (rad), and
        `gap`, the farthest that a point was found from the torus, mm.
    """
    for along_first in (True, False):
        turn, rise = (u, v) if along_first else (v, u)

        def at(a: float, b: float, first: bool = along_first) -> list[float]:
            return evaluate(a, b) if first else evaluate(b, a)

        found = _from_rings([[at(a, b) for a in _spread(turn, COUNT)] for b in _spread(rise, COUNT)])
        if found is None:
            continue
        points = (at(a, b) for a in _spread(turn, CHECKED) for b in _spread(rise, CHECKED))
        gap = max(abs(_away(found, point)) for point in points)
        if gap <= tolerance:
            return {**found, "gap": gap}
    return None


def tube_centre(torus: dict[str, Any], point: Sequence[float]) -> list[float]:
    """The point of a torus' centre circle that is nearest to a point, mm."""
    offset = [point[k] - torus["origin"][k] for k in range(3)]
    height = _dot(offset, torus["axis"])
    out = [offset[k] - height * torus["axis"][k] for k in range(3)]
    size = math.sqrt(_dot(out, out)) or 1.0
    return [torus["origin"][k] + torus["radius"] * out[k] / size for k in range(3)]


def _from_rings(rings: list[list[list[float]]]) -> dict[str, Any] | None:
    circles = [fitted(ring) for ring in rings]
    if any(circle is None or circle["kind"] != "circle" for circle in circles):
        return None
    sure: list[dict[str, Any]] = [circle for circle in circles if circle is not None]
    main = max(sure, key=lambda circle: float(circle["r"]))
    axis, centre = main["n"], main["c"]
    if any(abs(abs(_dot(circle["n"], axis)) - 1.0) > 0.5 * PARALLEL**2 for circle in sure):
        return None
    heights = [_dot([circle["c"][k] - centre[k] for k in range(3)], axis) for circle in sure]
    profile = fitted([[height, circle["r"], 0.0] for height, circle in zip(heights, sure, strict=True)])
    if profile is None or profile["kind"] != "circle" or not 0.0 < profile["r"] < profile["c"][1]:
        return None
    middle, radius = profile["c"][0], profile["c"][1]
    angles: list[float] = []
    for height, circle in zip(heights, sure, strict=True):
        angle = math.atan2(height - middle, circle["r"] - radius)
        if angles:
            angle = angles[-1] + (angle - angles[-1] + math.pi) % (2.0 * math.pi) - math.pi
        angles.append(angle)
    x = main["x"]
    y = [axis[1] * x[2] - axis[2] * x[1], axis[2] * x[0] - axis[0] * x[2], axis[0] * x[1] - axis[1] * x[0]]
    return {
        "origin": [centre[k] + middle * axis[k] for k in range(3)], "axis": list(axis), "x": list(x), "y": y,
        "radius": radius, "minor": profile["r"], "u": list(main["t"]), "v": [min(angles), max(angles)],
    }  # fmt: skip


def _away(torus: dict[str, Any], point: Sequence[float]) -> float:
    return math.dist(tube_centre(torus, point), point) - float(torus["minor"])


def _spread(bounds: tuple[float, float], count: int) -> list[float]:
    return [bounds[0] + (bounds[1] - bounds[0]) * index / (count - 1) for index in range(count)]


def _dot(a: Sequence[float], b: Sequence[float]) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
