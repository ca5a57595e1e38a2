"""Edges to plain features: lines, circles, and other curves as points."""

from __future__ import annotations

import math
from array import array
from typing import Any

from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.BRepTools import BRepTools
from OCP.GCPnts import GCPnts_QuasiUniformDeflection
from OCP.GeomAbs import GeomAbs_Circle, GeomAbs_Line
from OCP.GeomAdaptor import GeomAdaptor_Curve
from OCP.gp import gp_Circ
from OCP.TopoDS import TopoDS_Edge, TopoDS_Face

COARSE = 16
"""Intervals of the first, coarse sampling of a curve that is neither line nor circle."""

STRAIGHT = 1e-5
"""mm; a curve that strays no farther from a line or a circle is one."""

# Numbers, as the kernel's own enumeration takes half a microsecond to compare.
_LINE, _CIRCLE = GeomAbs_Line.value, GeomAbs_Circle.value

Point = tuple[float, float, float]


def _xyz(point: Any) -> list[float]:
    return list(point.Coord())


def describe_edge(edge: TopoDS_Edge) -> dict[str, Any]:
    """The curve of an edge as a JSON-able object.

    Returns:
        kind line, circle, other or none (degenerated); end points `a`, `b` (mm, file frame); for a circle its centre
        `c`, axis `n`, direction of angle zero `x`, radius `r` and the angles `t` that it spans, rad; for another
        curve coarse points `p`, the end points among them.
    """
    if BRep_Tool.Degenerated_s(edge):
        return {"kind": "none"}
    try:
        curve = BRepAdaptor_Curve(edge)
        kind = curve.GetType().value
    except Exception:
        return {"kind": "none"}
    first, last = curve.FirstParameter(), curve.LastParameter()
    a, b = _xyz(curve.Value(first)), _xyz(curve.Value(last))
    if kind == _LINE:
        return {"kind": "line", "a": a, "b": b}
    if kind == _CIRCLE:
        circle: gp_Circ = curve.Circle()
        position = circle.Position()
        return {
            "kind": "circle", "a": a, "b": b, "c": _xyz(position.Location()), "n": _xyz(position.Direction()),
            "x": _xyz(position.XDirection()), "r": circle.Radius(), "t": [first, last],
        }  # fmt: skip
    step = (last - first) / COARSE
    points = [_xyz(curve.Value(first + step * index)) for index in range(COARSE + 1)]
    return fitted(points) or {"kind": "other", "a": a, "b": b, "p": points}


def sample_edge(edge: TopoDS_Edge, deflection: float) -> array[float]:
    """Points along an edge whose chords stay within `deflection` mm of the curve, flat (x, y, z, x, ...)."""
    curve = BRepAdaptor_Curve(edge)
    return _sampled(curve, deflection, curve.FirstParameter(), curve.LastParameter())


def sample_meridian(face: TopoDS_Face, deflection: float) -> array[float]:
    """The same for one meridian of a surface of revolution, as long as the face reaches along it."""
    u0, u1, v0, v1 = BRepTools.UVBounds_s(face)
    curve = GeomAdaptor_Curve(BRep_Tool.Surface_s(face).UIso(0.5 * (u0 + u1)))
    return _sampled(curve, deflection, v0, v1)


def _sampled(curve: Any, deflection: float, first: float, last: float) -> array[float]:
    sampler = GCPnts_QuasiUniformDeflection(curve, deflection, first, last)
    flat = array("d")
    if not sampler.IsDone():
        msg = "a curve could not be followed"
        raise RuntimeError(msg)
    for index in range(1, sampler.NbPoints() + 1):
        flat.extend(_xyz(sampler.Value(index)))
    return flat


def _minus(a: list[float], b: list[float]) -> Point:
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def _cross(a: Point, b: Point) -> Point:
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def _dot(a: Point, b: Point) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def fitted(points: list[list[float]]) -> dict[str, Any] | None:
    """A line or a circle through the points, or None where neither passes within STRAIGHT of them all."""
    first, last = points[0], points[-1]
    closed = math.dist(first, last) < STRAIGHT
    middle = points[len(points) // 3 if closed else len(points) // 2]
    third = points[2 * len(points) // 3] if closed else last
    ab, ac = _minus(middle, first), _minus(third, first)
    normal = _cross(ab, ac)
    size = math.sqrt(_dot(normal, normal))
    longest = math.sqrt(_dot(ac, ac))
    if longest < STRAIGHT:
        return None
    if size / longest < STRAIGHT:
        unit = (ac[0] / longest, ac[1] / longest, ac[2] / longest)
        for point in points:
            away = _cross(_minus(point, first), unit)
            if math.sqrt(_dot(away, away)) > STRAIGHT:
                return None
        return {"kind": "line", "a": first, "b": last}
    ab2, ac2 = _dot(ab, ab), _dot(ac, ac)
    to_centre = _cross(
        (ab2 * ac[0] - ac2 * ab[0], ab2 * ac[1] - ac2 * ab[1], ab2 * ac[2] - ac2 * ab[2]),
        normal,
    )
    # Circumcentre of a triangle: a + ((|ab|^2 ac - |ac|^2 ab) x (ab x ac)) / (2 |ab x ac|^2), with the sign that
    # keeps it equally far from all three corners.
    scale = 1.0 / (2.0 * size * size)
    centre = [first[i] - to_centre[i] * scale for i in range(3)]
    if abs(math.dist(centre, first) - math.dist(centre, middle)) > STRAIGHT:
        centre = [first[i] + to_centre[i] * scale for i in range(3)]
    radius = math.dist(centre, first)
    axis = (normal[0] / size, normal[1] / size, normal[2] / size)
    x = _minus(first, centre)
    x = (x[0] / radius, x[1] / radius, x[2] / radius)
    y = _cross(axis, x)
    turned, before = 0.0, 0.0
    for point in points:
        away = _minus(point, centre)
        if abs(_dot(away, axis)) > STRAIGHT or abs(math.dist(point, centre) - radius) > STRAIGHT:
            return None
        angle = math.atan2(_dot(away, y), _dot(away, x))
        turned += (angle - before + math.pi) % (2.0 * math.pi) - math.pi
        before = angle
    return {
        "kind": "circle", "a": first, "b": last, "c": centre, "n": list(axis), "x": list(x), "r": radius,
        "t": sorted((0.0, turned)),
    }  # fmt: skip
