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

from fitcheck.measurement.bore_table import BoreTable
from fitcheck.measurement.cylinders import Bore
from fitcheck.measurement.extent import TWO_PI, edge_extent
from fitcheck.measurement.model import Vector
from fitcheck.measurement.patch_mesh import KINDS, chords, patch_triangles
from fitcheck.measurement.patches import patch_bounds
from fitcheck.measurement.survey import Asker, Edge, Face, Survey
from fitcheck.measurement.vectors import Frame, add, cross, line_angle, scale

Floats = NDArray[np.float64]

MESH, FULL_AT = 0.01, 20.0
"""mm; how far a triangle may stray from its face: 0.03 degrees at a radius of 20 mm. Cones, spheres and tori farther
out stray by the same angle."""

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
    # Farther out the same angle is more: fillets come by the hundred, and each has hundreds of triangles.
    curved = [face for face in faces if face.native and face.kind in KINDS]
    near = np.maximum(patch_bounds(curved, frame)[2] / FULL_AT, 1.0)
    strays = {face.index: MESH * more for face, more in zip(curved, near.tolist(), strict=True)}
    round_ones: dict[int, list[tuple[Face, float, float]]] = {}
    for face in faces:
        if face.index in filled or _closed_by(face, mouths):
            continue
        if face.kind == "cylinder" and face.native:
            ends = _cylinder_ends(survey, face)
            if ends is not None:
                round_ones.setdefault(_steps(face.radius, face.u[1] - face.u[0]), []).append((face, *ends))
                continue
        stray = strays.get(face.index, MESH)
        corners = _plane(survey, face, mouths) if face.kind == "plane" else patch_triangles(survey, face, stray)
        if corners is None:
            rest.append(face)
        else:
            exact = face.kind == "plane" and _straight(survey, face, mouths)
            found.add(corners, face.body, face.gap + (0.0 if exact else stray))
    # All of as many triangles at once: an adapter may have thousands of small holes.
    for steps, those in round_ones.items():
        for (face, *_), corners in zip(those, _cylinders(those, steps), strict=True):
            found.add(corners, face.body, MESH + face.gap)
    if rest:
        request = {"do": "mesh", "faces": [f.index for f in rest], "deflection": MESH, "angle": KERNEL_ANGLE}
        answer, (flat,) = ask("meshing", request)
        _from_kernel(found, rest, answer["counts"], flat)
    return found.arrays(frame)


def _filled(frame: Frame, survey: Survey, bores: Iterable[Bore]) -> set[int]:
    """Faces of the holes that are filled, with the cones of their countersinks and drill points."""
    table = BoreTable.of(bores)
    holes = (table.turn > TWO_PI - 1e-6) & table.concave & (table.radius <= FILLED)
    # Both ends of one that is parallel to the axis lie as far from it.
    beside = np.hypot(*table.ends(frame)[0][:, 1:].T) > 2.0 * table.radius
    found = [bore for bore in table.where(holes & (table.lean(frame) <= PARALLEL) & beside) if _closed(survey, bore)]
    faces = {face.index for bore in found for face in bore.faces}
    edges = {edge for index in faces for edge in survey.faces[index].edges}
    for face in survey.faces:
        if face.kind == "cone" and face.concave and not edges.isdisjoint(face.edges):
            full = face.native and face.u[1] - face.u[0] > TWO_PI - 1e-6
            if full and line_angle(face.axis, frame.along) < PARALLEL:
                faces.add(face.index)
    return faces


def _closed(survey: Survey, bore: Bore) -> bool:
    """Whether a hole's wall goes all round over its whole length.

    One that breaks into a slot, or that another hole meets, may be entered from the side, and its far wall met.
    """
    shared: dict[int, int] = {}
    for face in bore.faces:
        for index in face.edges:
            shared[index] = shared.get(index, 0) + 1
    return all(
        survey.edges[index].kind == "none"
        or (survey.edges[index].kind == "circle" and line_angle(survey.edges[index].normal, bore.axis) < PARALLEL)
        or times > 1
        for index, times in shared.items()
    )


def _closed_by(face: Face, mouths: set[int]) -> bool:
    """Whether a face is a floor of filled holes: all its edges are theirs."""
    return bool(face.edges) and all(edge in mouths for edge in face.edges)


def _plane(survey: Survey, face: Face, mouths: set[int]) -> Floats | None:
    """Triangles of a plane, or None where its outline is not of lines and circles, or does not close."""
    edges = [edge for edge in survey.edges_of(face) if edge.index not in mouths and edge.kind != "none"]
    if any(edge.kind == "other" or not _sound(edge) for edge in edges):
        return None
    loops = _loops(edges)
    if not loops:
        return None
    x, y = face.x, cross(face.axis, face.x)
    across = np.array([x, y]).T
    flat = [(loop - np.array(face.origin)) @ across for loop in loops]
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


def _straight(survey: Survey, face: Face, mouths: set[int]) -> bool:
    """Whether a plane's outline is of straight lines alone, so that its triangles are the face itself."""
    return all(edge.kind in ("line", "none") for edge in survey.edges_of(face) if edge.index not in mouths)


def _sound(edge: Edge) -> bool:
    """Whether an edge has a size at all, and a circle no more than a turn; damaged files have others."""
    return math.isfinite(sum((*edge.a, *edge.b, *edge.centre, edge.radius))) and abs(edge.span[1] - edge.span[0]) < 7.0


def _area(loop: Floats) -> float:
    x, y = loop[:, 0], loop[:, 1]
    return 0.5 * float(x[:-1] @ y[1:] - y[:-1] @ x[1:] + x[-1] * y[0] - y[-1] * x[0])


def _loops(edges: Sequence[Edge]) -> list[Floats] | None:
    """Closed outlines of edges, as corners (n, 3); None where they do not close."""
    full: dict[int, list[Edge]] = {}
    open_: list[list[Vector]] = []
    loops: list[Floats] = []
    for edge in edges:
        if edge.kind == "circle" and math.dist(edge.on_circle(edge.span[0]), edge.on_circle(edge.span[1])) < JOINED:
            full.setdefault(_pieces(edge), []).append(edge)
            continue
        points = edge.samples(_pieces(edge))
        if math.dist(points[0], points[-1]) < JOINED:
            loops.append(np.array(points[:-1]))
        else:
            open_.append(points)
    for count, circles in full.items():
        loops += list(_polygons(circles, count))
    while open_:
        chain = open_.pop()
        while math.dist(chain[0], chain[-1]) > JOINED:
            # From the end, as edges mostly come in their order along the outline.
            for index in range(len(open_) - 1, -1, -1):
                points = open_[index]
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
        loops.append(np.array(chain[:-1]))
    return loops


def _polygons(circles: Sequence[Edge], count: int) -> Floats:
    """Corners (n, count, 3) of circles, each at equal steps of its span; the last is left out, as it is the first."""
    x = np.array([edge.x for edge in circles])
    y = np.cross(np.array([edge.normal for edge in circles]), x)
    radius = np.array([edge.radius for edge in circles])[:, None, None]
    first, last = np.array([edge.span for edge in circles]).T
    turn = (first[:, None] + (last - first)[:, None] * (np.arange(count) / count))[..., None]
    centre = np.array([edge.centre for edge in circles])[:, None]
    return np.asarray(centre + radius * (np.cos(turn) * x[:, None] + np.sin(turn) * y[:, None]))


def _pieces(edge: Edge) -> int:
    return 1 if edge.kind != "circle" else _steps(edge.radius, edge.span[1] - edge.span[0])


def _steps(radius: float, span: float) -> int:
    return chords(radius, span, MESH)


def _cylinder_ends(survey: Survey, face: Face) -> tuple[float, float] | None:
    """Where along its axis a cylinder begins and ends: between two circles and, where it is no full turn, two lines.

    None where it is bounded otherwise.
    """
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
    span = face.u[1] - face.u[0]
    if not (0.0 <= span < 7.0 and math.isfinite(face.radius)):
        return None
    at_ends = all(min(abs(level - low), abs(level - high)) < 1e-6 for level in levels)
    if not at_ends or abs(turned - 2.0 * span) > 1e-6 or lines not in (0, 2) or high - low < 1e-9:
        return None
    return low, high


def _cylinders(those: Sequence[tuple[Face, float, float]], steps: int) -> Floats:
    """Triangles (n, 2 steps, 3, 3) of cylinders with their ends."""
    first, last = np.array([face.u for face, _, _ in those]).T
    u = (first[:, None] + (last - first)[:, None] * np.linspace(0.0, 1.0, steps + 1))[..., None]
    x, y = (np.array([getattr(face, side) for face, _, _ in those])[:, None] for side in ("x", "y"))
    radius = np.array([face.radius for face, _, _ in those])[:, None, None]
    ring = radius * (np.cos(u) * x + np.sin(u) * y)
    ends = [add(face.origin, scale(face.axis, low)) for face, low, _ in those]
    bottom = ring + np.array(ends)[:, None]
    ends = [add(face.origin, scale(face.axis, high)) for face, _, high in those]
    top = ring + np.array(ends)[:, None]
    one = np.stack([bottom[:, :-1], bottom[:, 1:], top[:, 1:]], axis=2)
    two = np.stack([bottom[:, :-1], top[:, 1:], top[:, :-1]], axis=2)
    return np.concatenate([one, two], axis=1)


def _from_kernel(found: Triangles, faces: Sequence[Face], counts: Sequence[int], flat: Any) -> None:
    points = np.frombuffer(flat, dtype=np.float64) if isinstance(flat, array) else np.asarray(flat)
    at = 0
    for face, count in zip(faces, counts, strict=True):
        if count > 0:
            found.add(points[at : at + 9 * count].reshape(-1, 3, 3), face.body, MESH + face.gap)
            at += 9 * count
