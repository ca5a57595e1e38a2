"""Triangles of the faces that a tool could meet, for corridors and swings.

Planes and plain cylinders, nearly all of an adapter, are triangulated here; the kernel meshes the rest, which takes it
some milliseconds a face.

Holes that run along the drive axis (bolt and lightening holes) are filled: their walls and floors are left out and so
are their mouths in the planes. For a tool that comes square to the axis that changes nothing: what could enter such a
hole sideways has met its wall's material before. For a tool's arm it errs on the cautious side.
"""

from __future__ import annotations

import math
from array import array
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

import mapbox_earcut as earcut
import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.cylinders import Bore
from fitcheck.measurement.extent import TWO_PI, edge_extent
from fitcheck.measurement.model import Vector
from fitcheck.measurement.survey import Edge, Face, Survey
from fitcheck.measurement.trace import Asker
from fitcheck.measurement.vectors import Frame, add, cross, dot, line_angle, scale, sub

Floats = NDArray[np.float64]

MESH = 0.01
"""mm; how far a triangle may stray from its face: 0.03 degrees at a radius of 20 mm."""

KERNEL_ANGLE = 0.35
"""rad between the kernel's neighbouring triangles; the deflection decides wherever it is finer."""

FILLED = 10.0
"""mm radius; larger holes along the axis are not filled."""

PARALLEL = math.radians(1.0)

JOINED = 1e-4
"""mm; ends of edges that are closer are one corner."""


@dataclass(slots=True)
class Triangles:
    """Triangles with their body and how far their face may lie from them; mm, file frame."""

    corners: list[Floats] = field(default_factory=list)
    bodies: list[int] = field(default_factory=list)
    bounds: list[float] = field(default_factory=list)

    def add(self, corners: Floats, body: int, bound: float) -> None:
        """Add triangles of shape (n, 3, 3) of one face."""
        if len(corners):
            self.corners.append(corners)
            self.bodies.append(body)
            self.bounds.append(bound)

    def arrays(self, frame: Frame) -> tuple[Floats, Floats, NDArray[np.int32]]:
        """Corners (n, 3, 3) in the axis frame (s, x, y), bounds (n,), bodies (n,)."""
        if not self.corners:
            return np.zeros((0, 3, 3)), np.zeros(0), np.zeros(0, dtype=np.int32)
        counts = [len(item) for item in self.corners]
        turn = np.array([frame.along, frame.x, frame.y]).T
        local = (np.concatenate(self.corners) - np.array(frame.origin)) @ turn
        return local, np.repeat(np.array(self.bounds), counts), np.repeat(np.array(self.bodies, dtype=np.int32), counts)


def tessellate(
    survey: Survey, frame: Frame, faces: Sequence[Face], bores: Iterable[Bore], ask: Asker
) -> tuple[Floats, Floats, NDArray[np.int32]]:
    """Triangles of faces, holes along the drive axis filled.

    Args:
        survey: the file.
        frame: the axis frame.
        faces: the faces that count.
        bores: all bores of the file.
        ask: asks the kernel worker.

    Returns:
        Corners (n, 3, 3) mm in the axis frame, how far the true face may lie from each (n,) mm, and bodies (n,).
    """
    filled = _filled(frame, survey, bores)
    mouths = {edge for index in filled for edge in survey.faces[index].edges}
    found, rest = Triangles(), []
    for face in faces:
        if face.index in filled or _closed_by(face, mouths):
            continue
        corners = None
        if face.kind == "plane":
            corners = _plane(survey, face, mouths)
        elif face.kind == "cylinder" and face.native:
            corners = _cylinder(survey, face)
        if corners is None:
            rest.append(face)
        else:
            found.add(corners, face.body, MESH + face.gap)
    if rest:
        request = {"do": "mesh", "faces": [f.index for f in rest], "deflection": MESH, "angle": KERNEL_ANGLE}
        answer, (flat,) = ask("meshing", request)
        _from_kernel(found, rest, answer["counts"], flat)
    return found.arrays(frame)


def _filled(frame: Frame, survey: Survey, bores: Iterable[Bore]) -> set[int]:
    """Faces of the holes that are filled, with the cones of their countersinks and drill points."""
    faces: set[int] = set()
    for bore in bores:
        full = bore.turn > TWO_PI - 1e-6 and bore.concave and bore.radius <= FILLED
        if not full or line_angle(bore.axis, frame.along) > PARALLEL:
            continue
        x, y = frame.local(bore.point(bore.start))[1:]
        if math.hypot(x, y) > 2.0 * bore.radius:
            faces |= {face.index for face in bore.faces}
    edges = {edge for index in faces for edge in survey.faces[index].edges}
    for face in survey.faces:
        if face.kind == "cone" and face.concave and not edges.isdisjoint(face.edges):
            full = face.native and face.u[1] - face.u[0] > TWO_PI - 1e-6
            if full and line_angle(face.axis, frame.along) < PARALLEL:
                faces.add(face.index)
    return faces


def _closed_by(face: Face, mouths: set[int]) -> bool:
    """Whether a face is a floor of filled holes: all its edges are theirs."""
    return bool(face.edges) and all(edge in mouths for edge in face.edges)


def _plane(survey: Survey, face: Face, mouths: set[int]) -> Floats | None:
    """Triangles of a plane, or None where its outline is not of lines and circles, or does not close."""
    edges = [edge for edge in survey.edges_of(face) if edge.index not in mouths and edge.kind != "none"]
    if any(edge.kind == "other" for edge in edges):
        return None
    loops = _loops(edges)
    if not loops:
        return None
    x, y = face.x, cross(face.axis, face.x)
    flat = [
        np.array([(dot(d, x), dot(d, y)) for d in (sub(point, face.origin) for point in loop)], dtype=np.float64)
        for loop in loops
    ]
    areas = [abs(_area(loop)) for loop in flat]
    outer = areas.index(max(areas))
    order = [outer, *(i for i in range(len(flat)) if i != outer)]
    points = np.concatenate([flat[i] for i in order])
    ends = np.cumsum([len(flat[i]) for i in order]).astype(np.uint32)
    index = earcut.triangulate_float64(points, ends)
    whole = areas[outer] - sum(area for i, area in enumerate(areas) if i != outer)
    picked = points[index].reshape(-1, 3, 2)
    a, b = picked[:, 1] - picked[:, 0], picked[:, 2] - picked[:, 0]
    covered = 0.5 * float(np.abs(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum())
    if abs(covered - whole) > 1e-6 * max(whole, 1.0):
        return None
    corners = np.array(face.origin) + picked[:, :, :1] * np.array(x) + picked[:, :, 1:] * np.array(y)
    return np.asarray(corners)


def _area(loop: Floats) -> float:
    x, y = loop[:, 0], loop[:, 1]
    return 0.5 * float(x @ np.roll(y, -1) - y @ np.roll(x, -1))


def _loops(edges: Sequence[Edge]) -> list[list[Vector]] | None:
    """Closed outlines of edges, as corners; None where they do not close."""
    loops: list[list[Vector]] = []
    open_: list[list[Vector]] = []
    for edge in edges:
        points = edge.samples(_pieces(edge))
        if math.dist(points[0], points[-1]) < JOINED:
            loops.append(points[:-1])
        else:
            open_.append(points)
    while open_:
        chain = open_.pop()
        while math.dist(chain[0], chain[-1]) > JOINED:
            for index, points in enumerate(open_):
                if math.dist(points[0], chain[-1]) < JOINED:
                    chain = chain + points[1:]
                elif math.dist(points[-1], chain[-1]) < JOINED:
                    chain = chain + points[-2::-1]
                else:
                    continue
                del open_[index]
                break
            else:
                return None
        loops.append(chain[:-1])
    return loops


def _pieces(edge: Edge) -> int:
    if edge.kind != "circle":
        return 1
    step = 2.0 * math.acos(max(1.0 - MESH / edge.radius, -1.0))
    return max(math.ceil((edge.span[1] - edge.span[0]) / min(step, 1.0)), 1)


def _cylinder(survey: Survey, face: Face) -> Floats | None:
    """Triangles of a cylinder between two circles and, where it is no full turn, two straight lines; else None."""
    low, high = math.inf, -math.inf
    turned = 0.0
    lines = 0
    levels: list[float] = []
    for edge in survey.edges_of(face):
        start, stop = edge_extent(edge, face.origin, face.axis)
        if edge.kind == "line":
            lines += 1
        elif edge.kind == "circle" and stop - start < 1e-6:
            turned += edge.span[1] - edge.span[0]
            levels.append(start)
        else:
            return None
        low, high = min(low, start), max(high, stop)
    u0, u1 = face.u
    span = u1 - u0
    at_ends = all(min(abs(level - low), abs(level - high)) < 1e-6 for level in levels)
    if not at_ends or abs(turned - 2.0 * span) > 1e-6 or lines not in (0, 2) or high - low < 1e-9:
        return None
    step = 2.0 * math.acos(max(1.0 - MESH / face.radius, -1.0))
    u = np.linspace(u0, u1, max(math.ceil(span / min(step, 1.0)), 1) + 1)
    ring = face.radius * (np.cos(u)[:, None] * np.array(face.x) + np.sin(u)[:, None] * np.array(face.y))
    bottom = ring + np.array(add(face.origin, scale(face.axis, low)))
    top = ring + np.array(add(face.origin, scale(face.axis, high)))
    first = np.stack([bottom[:-1], bottom[1:], top[1:]], axis=1)
    second = np.stack([bottom[:-1], top[1:], top[:-1]], axis=1)
    return np.concatenate([first, second])


def _from_kernel(found: Triangles, faces: Sequence[Face], counts: Sequence[int], flat: Any) -> None:
    points = np.frombuffer(flat, dtype=np.float64) if isinstance(flat, array) else np.asarray(flat)
    at = 0
    for face, count in zip(faces, counts, strict=True):
        if count > 0:
            found.add(points[at : at + 9 * count].reshape(-1, 3, 3), face.body, MESH + face.gap)
            at += 9 * count
