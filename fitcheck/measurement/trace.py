"""Obstacles for the free radius: every face and edge reduced to the lines that come nearest to the drive axis.

At a station, the point of a face nearest to the axis lies on the face's boundary, or where the face's normal lies in
the plane through the axis and the point. Those points form lines of closed form on most faces:

- a face coaxial with the drive axis: any one of its generating lines;
- a plane: the foot of the axis in each cross section, a straight line;
- a cylinder, a sphere, a parallel cone or torus: the ridge lines of `ridges.py`.

Any other surface is meshed finely. All become line segments; see `obstacles.least_radius`.
"""

from __future__ import annotations

import itertools
import math
from array import array
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.arcs import followed_arc
from fitcheck.measurement.coarse import BOUND, sorted_out
from fitcheck.measurement.extent import edge_extent, edge_radii, face_extent
from fitcheck.measurement.hiding import Cover, circle_bounds
from fitcheck.measurement.meshed import reduced
from fitcheck.measurement.model import Vector
from fitcheck.measurement.obstacles import Floats
from fitcheck.measurement.patches import KINDS, Bounds, patch_bounds, within
from fitcheck.measurement.plane_lines import CHORD, LINED_UP, PlaneLines
from fitcheck.measurement.reach import CoaxialReach, Envelope
from fitcheck.measurement.ridges import ridge_lines
from fitcheck.measurement.survey import Asker, Edge, Face, Survey
from fitcheck.measurement.vectors import Frame, add, cross, dot, line_angle, norm, scale, sub, vector

MERIDIAN = 0.1 * CHORD
"""mm; as `CHORD`, for a free curve that was turned about the drive axis, which may run steeply to it."""

SLACK = 0.05
"""mm; added to what a coarsely sampled curve may stray from its samples."""

MESH = 2e-3
"""mm; as `CHORD`, for the facets of a surface that has no closed form: the stated bound by which its free radius may be
too small. A quarter of it takes twenty times as long (138 s for one revolved spline)."""

ON_AXIS = 1e-6
"""mm; axes closer than this are one."""

FIRST_FACES = 64
"""The same for faces that bulge; each portion is a question to the reader."""

FIRST_CIRCLES = 50
"""So many circles are followed before it is looked again which of the others they hide; then twice as many, and on."""


class Tracer:
    """Collects segments (axis frame) with their body and bound; what could not be traced is a segment of no numbers.

    Args:
        survey: the file.
        frame: the axis frame.
        ask: asks the kernel worker.
    """

    def __init__(self, survey: Survey, frame: Frame, ask: Asker) -> None:
        self.survey, self.frame, self.ask = survey, frame, ask
        self._points: list[tuple[Vector, Vector]] = []
        self._bodies: list[int] = []
        self._bounds: list[float] = []
        self._ridges: list[tuple[int, float, dict[str, Any]]] = []
        self._meshed: list[Face] = []
        self._turned: list[Face] = []
        self._sampled: list[tuple[Edge, int]] = []
        self._circles: list[tuple[Edge, Face]] = []

    def trace(self, faces: Sequence[Face]) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int32]]:
        """Segments of shape (n, 2, 3) mm, their bounds (n,) mm and their bodies (n,)."""
        reach = CoaxialReach(self.survey, self.frame)
        rest: list[Face] = []
        for face in faces:
            found = reach.generator(face)
            if found is None:
                rest.append(face)
            else:
                self._add_line(found[0], face.body, found[1])
        envelope = reach.envelope()
        # An edge of a coaxial face lies on it, so that face's generating line stands for the edge too.
        done = {index for face in reach.faces for index in face.edges}
        for face in rest:
            for edge in self.survey.edges_of(face):
                if edge.index not in done:
                    done.add(edge.index)
                    self._trace_edge(edge, face, envelope)
        self._circles = self._not_hidden(self._circles, envelope)
        bulging = [face for face in rest if face.kind != "plane"]
        planes = PlaneLines(self.survey, self.frame, self.ask)
        for face in rest:
            if face.kind == "plane":
                for a, b in planes.lines(face, envelope):
                    self._add(a, b, face.body, face.gap)
        # The straight lines, which are known now, hide most of what bends and bulges.
        known = [face for face in bulging if face.native and face.kind in KINDS]
        bounds = patch_bounds(known, self.frame)
        cover = self._cover(np.concatenate(bounds[:2]))
        self._trace_circles(envelope, cover)
        for face in bulging:
            if not face.native or face.kind not in KINDS:
                self._trace_face(face, envelope)
        self._trace_bulging(known, bounds, envelope, cover)
        self._meshed, far = sorted_out(self._meshed, self.frame, envelope, self.ask)
        for lines, body in far:
            for a, b in lines.tolist():
                self._add(vector(a), vector(b), body, BOUND)
        self._ask_all()
        segments = np.array(self._points, dtype=np.float64).reshape(-1, 2, 3)
        return segments, np.array(self._bounds, dtype=np.float64), np.array(self._bodies, dtype=np.int32)

    def _add(self, a: Vector, b: Vector, body: int, bound: float = 0.0) -> None:
        self._points.append((a, b))
        self._bodies.append(body)
        self._bounds.append(bound)

    def _add_line(self, points: Sequence[Vector], body: int, bound: float = 0.0) -> None:
        for a, b in itertools.pairwise(points):
            self._add(a, b, body, bound)

    def _cover(self, ends: Floats) -> Cover:
        """What the lines that are known hide, each of its own body; `ends` are stations at which faces end."""
        points = np.array(self._points, dtype=np.float64).reshape(-1, 2, 3)
        sound = np.flatnonzero(np.isfinite(points).all(axis=(1, 2)))
        known = points[sound, :, 0]
        low, high = (float(known.min()), float(known.max())) if sound.size else (0.0, 0.0)
        cover = Cover(low, high, len(self.survey.bodies), np.concatenate([known.ravel(), ends[np.isfinite(ends)]]))
        for index in sound:
            cover.add(points[index], self._bodies[index])
        return cover

    def _trace_bulging(self, faces: Sequence[Face], bounds: Bounds, envelope: Envelope, cover: Cover) -> None:
        """The faces that bulge and have bounds, those first that come nearest to the axis, as they hide others."""
        low, high, near = bounds
        near = near - np.array([face.gap for face in faces])
        bodies = np.array([face.body for face in faces], dtype=np.int64)
        waiting = np.argsort(near, kind="stable")
        waiting = waiting[~envelope.hides_each(low[waiting], high[waiting], near[waiting])]
        count = FIRST_FACES
        while waiting.size:
            hidden = cover.hides((low[waiting], high[waiting], near[waiting]), bodies[waiting].tolist())
            waiting = waiting[~hidden]
            for index in waiting[:count].tolist():
                self._trace_face(faces[index], envelope)
            waiting, count = waiting[count:], 2 * count
            if waiting.size:
                self._clip(cover)

    def _clip(self, cover: Cover | None = None) -> None:
        """Have the ridge lines clipped to their faces; where a cover is given, what is left of them hides others."""
        waiting, self._ridges = self._ridges, []
        if not waiting:
            return
        answer, lines = self.ask("tracing", {"do": "clip", "wanted": [item for _, _, item in waiting]})
        for owner, flat in zip(answer["owner"], lines, strict=True):
            body, bound, _ = waiting[owner]
            points = self._local_points(flat)
            self._add_line(points, body, bound)
            if cover is not None and bound == 0.0:
                for piece in _onward(np.array(points)):
                    cover.add(piece, body)

    def _trace_circles(self, envelope: Envelope, cover: Cover) -> None:
        """The circles that come nearest to the axis first, as they hide others."""
        low, high, near = circle_bounds([edge for edge, _ in self._circles], self.frame)
        bodies = [face.body for _, face in self._circles]
        gap = np.array([face.gap for _, face in self._circles])
        waiting = np.argsort(near, kind="stable")
        count = FIRST_CIRCLES
        while waiting.size:
            mine = [bodies[index] for index in waiting]
            hidden = cover.hides((low[waiting], high[waiting], near[waiting] - gap[waiting]), mine)
            waiting = waiting[~hidden]
            for index in waiting[:count]:
                edge, face = self._circles[index]
                if not envelope.hides(float(low[index]), float(high[index]), float(near[index])):
                    for line in self._trace_circle(edge, face, envelope):
                        cover.add(np.array(line), face.body)
            waiting, count = waiting[count:], 2 * count

    def _stations(self, edge: Edge) -> tuple[float, float]:
        return edge_extent(edge, self.frame.origin, self.frame.along)

    def _trace_edge(self, edge: Edge, face: Face, envelope: Envelope) -> None:
        if edge.kind == "none":
            return
        if edge.kind == "line":
            self._add(self.frame.local(edge.a), self.frame.local(edge.b), face.body, face.gap)
            return
        if edge.kind == "circle":
            self._circles.append((edge, face))
            return
        low, high = self._stations(edge)
        near, _ = edge_radii(edge, self.frame)
        # A coarse sampling misses the extremes by little; a curve that it may have misjudged is followed closely.
        # Between two samples the curve strays by less than their chord from them, on a loop as on an open curve.
        slack = SLACK + max((math.dist(a, b) for a, b in itertools.pairwise(edge.points)), default=0.0)
        if not envelope.hides(low - slack, high + slack, near - slack):
            self._sampled.append((edge, face.body))

    def _not_hidden(self, circles: list[tuple[Edge, Face]], envelope: Envelope) -> list[tuple[Edge, Face]]:
        """The circles without those that lie wholly outside coaxial faces, which is most of them and quick to tell."""
        if not circles:
            return []
        frame = self.frame
        centre = np.array([edge.centre for edge, _ in circles]) - np.array(frame.origin)
        radius = np.array([edge.radius for edge, _ in circles])
        normal, along = np.array([edge.normal for edge, _ in circles]), np.array(frame.along)
        station = centre @ along
        leaning = np.linalg.norm(np.cross(normal, along), axis=1) * radius
        away = np.hypot(centre @ np.array(frame.x), centre @ np.array(frame.y)) - radius
        hidden = envelope.hides_each(station - leaning, station + leaning, away)
        return [circle for circle, out in zip(circles, hidden.tolist(), strict=True) if not out]

    def _trace_circle(self, edge: Edge, face: Face, envelope: Envelope) -> list[list[Vector]]:
        """Follow a circle; returns the lines along which stations grow, or fall."""
        # A coarse sampling misses the extremes by little.
        if envelope.hides(*self._stations(edge), edge_radii(edge, self.frame)[0] - 0.002 * edge.radius):
            return []
        centre = self.frame.local(edge.centre)
        square = line_angle(edge.normal, self.frame.along) < LINED_UP
        if square and math.hypot(centre[1], centre[2]) < ON_AXIS:
            point = self.frame.local(edge.on_circle(0.5 * (edge.span[0] + edge.span[1])))
            self._add(point, point, face.body, face.gap)
            return []
        span = edge.span[1] - edge.span[0]
        if square:
            # All of it lies at one station, so its nearest point stands for it: the innermost, or an end of the arc.
            away = math.hypot(centre[1], centre[2])
            inmost = 1.0 - edge.radius / away
            inside = (centre[0], centre[1] * inmost, centre[2] * inmost)
            direction = sub(self.frame.globally(inside), edge.centre)
            y = cross(edge.normal, edge.x)
            angle = math.atan2(dot(direction, y), dot(direction, edge.x))
            points = [self.frame.local(edge.a), self.frame.local(edge.b)]
            if (angle - edge.span[0]) % (2.0 * math.pi) <= span:
                points = [inside]
            for point in points:
                self._add(point, point, face.body, face.gap)
            return []

        # Cut where it turns back along the drive axis, as between two such points each station comes once.
        x = scale(self.frame.turn(edge.x), edge.radius)
        y = scale(self.frame.turn(cross(edge.normal, edge.x)), edge.radius)
        top = math.atan2(y[0], x[0])
        turns = {edge.span[0] + (top + k * math.pi - edge.span[0]) % (2.0 * math.pi) for k in (0, 1)}
        stops = [edge.span[0], *sorted(t for t in turns if edge.span[0] < t < edge.span[1]), edge.span[1]]
        lines = followed_arc(centre, x, y, stops, CHORD) if edge.span[1] > edge.span[0] else []
        for line in lines:
            self._add_line(line, face.body, face.gap)
        return lines

    def _trace_face(self, face: Face, envelope: Envelope) -> None:
        low, high = face_extent(self.survey, face, self.frame.origin, self.frame.along)
        if face.kind not in ("cylinder", "cone"):
            # The face may bulge beyond its edges by no more than its own size.
            size = self._size(face)
            low, high = low - size, high + size
        if envelope.hides(low, high, self._floor(face)):
            return
        if face.revolved and self._on_the_axis(face):
            self._turned.append(face)
            return
        reach = face_extent(self.survey, face, face.origin, face.axis)
        lines = ridge_lines(face, self.frame, reach, CHORD) if face.kind not in ("other", "none") else None
        if lines is None:
            self._meshed.append(face)
            return
        for line in lines:
            points = np.array([self.frame.globally(point) for point in line])
            self._ridges += [
                (face.body, face.gap, {"face": face.index, "points": part.tolist()}) for part in within(face, points)
            ]

    def _on_the_axis(self, face: Face) -> bool:
        """Whether a face turns about the drive axis itself: any meridian stands for it, as the face is connected."""
        _, x, y = self.frame.local(face.origin)
        return math.hypot(x, y) < ON_AXIS and line_angle(face.axis, self.frame.along) < LINED_UP

    def _size(self, face: Face) -> float:
        """No point of a face lies farther from any of its edges than this, mm."""
        if face.kind == "other":
            # A free form may rise higher than its rim is wide.
            return face.minor
        points = [point for edge in self.survey.rim(face) for point in edge.samples(8)]
        if not points:
            return 2.0 * (face.radius + face.minor)
        return max(math.dist(points[0], point) for point in points)

    def _floor(self, face: Face) -> float:
        """A distance from the drive axis that no point of the face comes nearer than."""
        if face.kind == "cylinder":
            reach = face_extent(self.survey, face, face.origin, face.axis)
            return self._cylinder_floor(face, [self.frame.local(add(face.origin, scale(face.axis, t))) for t in reach])
        if face.kind in ("sphere", "torus"):
            between = norm(cross(sub(face.origin, self.frame.origin), self.frame.along))
            return max(between - face.radius - face.minor, 0.0)
        near = min((edge_radii(edge, self.frame)[0] for edge in self.survey.rim(face)), default=0.0)
        return max(near - self._size(face), 0.0)

    def _cylinder_floor(self, face: Face, ends: Sequence[Vector]) -> float:
        """The same of a cylinder whose axis has these ends, in the axis frame."""
        (_, ax, ay), (_, bx, by) = ends
        square = (bx - ax) ** 2 + (by - ay) ** 2
        t = min(max(-(ax * (bx - ax) + ay * (by - ay)) / square, 0.0), 1.0) if square > 0.0 else 0.0
        nearest = math.hypot(ax + t * (bx - ax), ay + t * (by - ay))
        if nearest > face.radius:
            return nearest - face.radius
        # The drive axis runs inside; a leaning cylinder's cross section is wider than its radius, never narrower.
        return max(face.radius - max(math.hypot(ax, ay), math.hypot(bx, by)), 0.0)

    def _ask_all(self) -> None:
        self._clip()
        if self._sampled:
            wanted = [edge.index for edge, _ in self._sampled]
            _, lines = self.ask("tracing", {"do": "edges", "wanted": wanted, "deflection": CHORD})
            for (_, body), flat in zip(self._sampled, lines, strict=True):
                self._add_line(self._local_points(flat), body)
        if self._turned:
            wanted = [face.index for face in self._turned]
            _, lines = self.ask("tracing", {"do": "meridians", "faces": wanted, "deflection": MERIDIAN})
            for face, flat in zip(self._turned, lines, strict=True):
                self._add_line(self._local_points(flat), face.body, MERIDIAN)
        if self._meshed:
            request = {"do": "mesh", "faces": [f.index for f in self._meshed], "deflection": MESH, "angle": 0.5}
            answer, (flat,) = self.ask("meshing", request)
            self._add_meshed(np.frombuffer(flat, dtype=np.float64).reshape(-1, 3), answer["counts"])

    def _add_meshed(self, points: NDArray[np.float64], counts: Sequence[int]) -> None:
        """The facets of `self._meshed`, body by body, as their lower envelope."""
        frame = self.frame
        local = ((points - np.array(frame.origin)) @ np.array([frame.along, frame.x, frame.y]).T).reshape(-1, 3, 3)
        bodies = np.repeat([face.body for face in self._meshed], np.maximum(counts, 0))
        sound = np.isfinite(local).all(axis=(1, 2))
        for body in np.unique(bodies):
            for a, b in reduced(local[sound & (bodies == body)]).tolist():
                self._add(vector(a), vector(b), int(body), MESH)
        lost = (math.nan, math.nan, math.nan)
        for face in (face for face, count in zip(self._meshed, counts, strict=True) if count < 0):
            self._add(lost, lost, face.body)
        for body in bodies[~sound].tolist():
            self._add(lost, lost, body)

    def _local_points(self, flat: array[float]) -> list[Vector]:
        return [self.frame.local(flat[i : i + 3]) for i in range(0, len(flat), 3)]


def _onward(line: NDArray[np.float64]) -> list[NDArray[np.float64]]:
    """A polyline (n, 3) cut where it turns back along the drive axis; nothing of one with a number that is none."""
    if not np.isfinite(line).all():
        return []
    ways = np.sign(np.diff(line[:, 0]))
    turns = np.flatnonzero(ways[1:] * ways[:-1] < 0.0) + 1
    return [line[start : stop + 1] for start, stop in itertools.pairwise([0, *turns.tolist(), len(line) - 1])]
