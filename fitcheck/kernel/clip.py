"""Lines on a surface, clipped to a face of it: keeps the parts of a ridge line that are really material."""

from __future__ import annotations

import math
from array import array
from collections.abc import Sequence
from itertools import pairwise

from OCP.BRep import BRep_Tool
from OCP.BRepTopAdaptor import BRepTopAdaptor_FClass2d
from OCP.gp import gp_Pnt
from OCP.ShapeAnalysis import ShapeAnalysis_Surface
from OCP.TopAbs import TopAbs_OUT
from OCP.TopoDS import TopoDS_Face

PROBES = 160
"""Points at which a line is asked, at the least, whether it is inside its face."""

APART = 0.1
"""mm between those points at the most. A narrower part may be missed, but the edges about it are obstacles of their
own, and between edges so close a surface of radius R bulges by APART^2 / 8 R: 0.6 µm at 2 mm (computed)."""

MOST = 20_000
"""Points at the most, for lines that are longer than any adapter."""

BESIDE = 0.05
"""mm; a point that lies farther beside the surface is not on it. More than a line's chords and a recognised surface
stray, so that nothing of a line is lost by it."""

PRECISE = 1e-7
"""mm; how far an end of a part may lie from the face's edge."""

Point = tuple[float, float, float]


def clip_line(face: TopoDS_Face, points: Sequence[Point]) -> list[array[float]]:
    """The parts of a polyline that lie in a face.

    Args:
        face: the face; the polyline lies on its surface, within the kernel's tolerance.
        points: corners, mm, file frame.

    Returns:
        Polylines, flat (x, y, z, ...), mm; their ends overreach the face by at most PRECISE. A line with a number
        that is none, from damaged geometry, comes back as it is: who asked counts what was lost.
    """
    if not all(math.isfinite(number) for point in points for number in point):
        return [array("d", (number for point in points for number in point))]
    surface = ShapeAnalysis_Surface(BRep_Tool.Surface_s(face))
    classify = BRepTopAdaptor_FClass2d(face, 1e-7)

    def inside(point: Point) -> bool:
        uv = surface.ValueOfUV(gp_Pnt(*point), 1e-6)
        # A point beyond the border of a patch that ends is projected onto the border, which is no part of the line.
        return bool(classify.Perform(uv) != TopAbs_OUT and surface.Gap() < BESIDE)

    least = max(math.ceil(PROBES / (len(points) - 1)), 1)
    length = sum(math.dist(a, b) for a, b in pairwise(points))
    apart = max(APART, length / MOST)
    runs: list[array[float]] = []
    run: array[float] | None = None
    before, was = points[0], inside(points[0])
    if was:
        run = array("d", before)
    for first, last in pairwise(points):
        pieces = max(least, math.ceil(math.dist(first, last) / apart))
        for index in range(1, pieces + 1):
            point = _between(first, last, index / pieces)
            now = inside(point)
            if now != was:
                border = _border(inside, before, point, was)
                if now:
                    run = array("d", border)
                elif run is not None:
                    run.extend(border)
                    runs.append(run)
                    run = None
            before, was = point, now
        if run is not None:
            run.extend(last)
    if run is not None:
        runs.append(run)
    return [run for run in runs if len(run) >= 6]


def _between(a: Point, b: Point, t: float) -> Point:
    if t == 1.0:
        return b
    return (a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]), a[2] + t * (b[2] - a[2]))


def _border(inside, a: Point, b: Point, state: bool) -> Point:  # type: ignore[no-untyped-def]
    """Where the state changes between two points, on the outer side."""
    while math.dist(a, b) > PRECISE:
        middle = _between(a, b, 0.5)
        if inside(middle) == state:
            a = middle
        else:
            b = middle
    return b if state else a
