"""Parameter lines of a face, clipped to the face: where the points nearest to the drive axis lie on many surfaces."""

from __future__ import annotations

import math
from array import array

from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.BRepTools import BRepTools
from OCP.BRepTopAdaptor import BRepTopAdaptor_FClass2d
from OCP.gp import gp_Pnt2d
from OCP.TopAbs import TopAbs_OUT
from OCP.TopoDS import TopoDS_Face

PROBES = 160
"""Points at which a line is asked whether it is inside its face; a gap narrower than 1/160 of it can be missed, and
then counts as material."""

DEEPEST = 12
"""Halvings of an interval in pursuit of the deflection."""


def follow(face: TopoDS_Face, along: str, at: float, deflection: float) -> list[array[float]]:
    """The pieces of a parameter line that lie in a face.

    Args:
        face: the face.
        along: "u" or "v", the parameter that varies.
        at: the value of the other parameter.
        deflection: mm that a chord may stray from the surface.

    Returns:
        Polylines, flat (x, y, z, ...), mm.
    """
    u0, u1, v0, v1 = BRepTools.UVBounds_s(face)
    surface = BRepAdaptor_Surface(face, False)
    classify = BRepTopAdaptor_FClass2d(face, 1e-7)
    low, high = (u0, u1) if along == "u" else (v0, v1)

    def inside(t: float) -> bool:
        point = gp_Pnt2d(t, at) if along == "u" else gp_Pnt2d(at, t)
        return bool(classify.Perform(point) != TopAbs_OUT)

    def place(t: float) -> tuple[float, float, float]:
        point = surface.Value(t, at) if along == "u" else surface.Value(at, t)
        return (point.X(), point.Y(), point.Z())

    return [_polyline(place, start, stop, deflection) for start, stop in _intervals(inside, low, high)]


def _intervals(inside, low: float, high: float) -> list[tuple[float, float]]:  # type: ignore[no-untyped-def]
    """Where `inside` holds on [low, high]; ends found to 1e-9 of the range, on the outer side."""
    step = (high - low) / PROBES
    states = [inside(low + step * index) for index in range(PROBES + 1)]
    found: list[tuple[float, float]] = []
    start: float | None = low if states[0] else None
    for index in range(1, PROBES + 1):
        if states[index] == states[index - 1]:
            continue
        a, b = low + step * (index - 1), low + step * index
        while b - a > 1e-9 * (high - low):
            middle = 0.5 * (a + b)
            if inside(middle) == states[index - 1]:
                a = middle
            else:
                b = middle
        if states[index]:
            start = a
        elif start is not None:
            found.append((start, b))
            start = None
    if start is not None:
        found.append((start, high))
    return found


def _polyline(place, start: float, stop: float, deflection: float) -> array[float]:  # type: ignore[no-untyped-def]
    def refine(t0: float, p0: tuple[float, ...], t1: float, p1: tuple[float, ...], depth: int) -> None:
        middle = 0.5 * (t0 + t1)
        point = place(middle)
        chord = [0.5 * (a + b) for a, b in zip(p0, p1, strict=True)]
        if depth < 2 or (depth < DEEPEST and math.dist(point, chord) > deflection):
            refine(t0, p0, middle, point, depth + 1)
            refine(middle, point, t1, p1, depth + 1)
        else:
            flat.extend(p1)

    first, last = place(start), place(stop)
    flat = array("d", first)
    quarter = place(start + 0.25 * (stop - start))
    half = place(0.5 * (start + stop))
    straight = [first[i] + 0.25 * (last[i] - first[i]) for i in range(3)]
    centre = [0.5 * (first[i] + last[i]) for i in range(3)]
    if math.dist(half, centre) < 1e-9 and math.dist(quarter, straight) < 1e-9:
        flat.extend(last)
        return flat
    refine(start, first, stop, last, 0)
    return flat
