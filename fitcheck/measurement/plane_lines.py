"""Plane faces as obstacles: in each cross section the foot of the drive axis, where it lies on the face.

The feet lie on one straight line; the face's outline cuts it into stretches on the face and beside it (even-odd rule).
A plane square to the drive axis counts where the axis passes through it.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence

from fitcheck.measurement.extent import face_extent
from fitcheck.measurement.model import Vector
from fitcheck.measurement.reach import Envelope
from fitcheck.measurement.survey import Asker, Edge, Face, Survey
from fitcheck.measurement.vectors import Frame, add, cross, dot, scale, sub

CHORD = 2e-4
"""mm; how far a chord of a curve may stray from it: a fifth of the micrometre that a clearance may be off."""

LINED_UP = 1e-7
"""rad; directions closer than this are parallel (1 nm over 10 mm)."""

ROUND = 360
"""Intervals of a circle in which its crossings with a plane are looked for."""

NUDGE = 3.7e-10
"""mm; a line that counts crossings of an outline is moved by this much, off the corners that lie on it."""


class PlaneLines:
    """Finds the lines of plane faces.

    Args:
        survey: the file.
        frame: the axis frame.
        ask: asks the kernel worker.
    """

    def __init__(self, survey: Survey, frame: Frame, ask: Asker) -> None:
        self.survey, self.frame, self.ask = survey, frame, ask
        self._curves: dict[int, list[Vector]] = {}

    def lines(self, face: Face, envelope: Envelope) -> list[tuple[Vector, Vector]]:
        """The lines of a plane face that come nearest to the drive axis, in the axis frame.

        Args:
            face: the face.
            envelope: what hides faces that lie farther out.
        """
        normal = self.frame.turn(face.axis)
        level = dot(sub(face.origin, self.frame.origin), face.axis)
        across = math.hypot(normal[1], normal[2])
        if across < LINED_UP:
            point = (level / normal[0], 0.0, 0.0)
            return [(point, point)] if self._pierced(face) else []
        # In the plane: along the foot line, and across it.
        ux, uy = normal[1] / across, normal[2] / across
        along = (across, -normal[0] * ux, -normal[0] * uy)
        low, high = face_extent(self.survey, face, self.frame.origin, self.frame.along)
        if any(edge.kind == "other" for edge in self.survey.edges_of(face)):
            # The coarse points of a curve may stop short of its extremes.
            low, high = low - 0.05 * (high - low), high + 0.05 * (high - low)
        ends = [(level - normal[0] * station) / across for station in (low, high)]
        if envelope.hides(low, high, 0.0 if ends[0] * ends[1] <= 0.0 else min(abs(ends[0]), abs(ends[1]))):
            return []
        crossings = [dot(point, along) for point in self._crossings(face, ux, uy)]
        crossings.sort()
        foot = (level * normal[0], level * normal[1], level * normal[2])
        base = dot(foot, along)
        return [
            (add(foot, scale(along, first - base)), add(foot, scale(along, last - base)))
            for first, last in zip(crossings[::2], crossings[1::2], strict=False)
        ]

    def _pierced(self, face: Face) -> bool:
        """Whether the drive axis passes through a plane that is square to it (even-odd rule)."""
        level = dot(sub(face.origin, self.frame.origin), face.axis) / dot(self.frame.along, face.axis)
        if face.edges and not self.survey.edge_table.reaches(face.edges, self.frame.at(level)):
            return False
        inside = False
        arcs: list[Edge] = []
        for edge in self.survey.edges_of(face):
            full = edge.kind == "circle" and edge.span[1] - edge.span[0] >= 2.0 * math.pi - 1e-9
            if full:
                centre = self.frame.local(edge.centre)
                inside ^= math.hypot(centre[1], centre[2]) < edge.radius
            else:
                arcs.append(edge)
        return inside ^ _contains(self._chords(arcs, 90))

    def _crossings(self, face: Face, ux: float, uy: float) -> Iterator[Vector]:
        """Where a face's outline crosses the plane that holds the drive axis and the direction (ux, uy)."""

        def aside(point: Vector) -> float:
            return -uy * point[1] + ux * point[2]

        for edge in self.survey.edges_of(face):
            if edge.kind == "none":
                continue
            if edge.kind == "circle" and abs(aside(self.frame.local(edge.centre))) > edge.radius + NUDGE:
                continue
            points = [self.frame.local(point) for point in self._followed(edge)]
            for index, (a, b) in enumerate(itertools.pairwise(points)):
                sa, sb = aside(a), aside(b)
                if (sa > NUDGE) == (sb > NUDGE):
                    continue
                if edge.kind == "circle":
                    step = (edge.span[1] - edge.span[0]) / ROUND
                    begin = edge.span[0] + step * index
                    yield self.frame.local(edge.on_circle(self._crossing_angle(edge, begin, step, ux, uy)))
                else:
                    yield add(a, scale(sub(b, a), sa / (sa - sb)))

    def _crossing_angle(self, edge: Edge, begin: float, step: float, ux: float, uy: float) -> float:
        """The angle from `begin` to `begin + step` at which a circle crosses the plane of `_crossings`."""
        centre, x = self.frame.local(edge.centre), self.frame.turn(edge.x)
        y = self.frame.turn(cross(edge.normal, edge.x))
        a, b = edge.radius * (ux * x[2] - uy * x[1]), edge.radius * (ux * y[2] - uy * y[1])
        size, middle = math.hypot(a, b), math.atan2(b, a)
        half = math.acos(min(max((uy * centre[1] - ux * centre[2]) / size, -1.0), 1.0)) if size else 0.0
        # Both roots, as their way from the middle of the stretch; the nearer one is in it.
        ways = (
            (root - begin - 0.5 * step + math.pi) % (2.0 * math.pi) - math.pi for root in (middle + half, middle - half)
        )
        way = min(ways, key=abs)
        return begin + 0.5 * step + min(max(way, -0.5 * abs(step)), 0.5 * abs(step))

    def _followed(self, edge: Edge) -> Sequence[Vector]:
        """Points along an edge, in the file frame: ROUND intervals of a circle, another curve within CHORD."""
        if edge.kind != "other":
            return edge.samples(ROUND)
        if edge.index not in self._curves:
            _, (flat,) = self.ask("tracing", {"do": "edges", "wanted": [edge.index], "deflection": CHORD})
            self._curves[edge.index] = [(flat[i], flat[i + 1], flat[i + 2]) for i in range(0, len(flat), 3)]
        return self._curves[edge.index]

    def _chords(self, edges: Iterable[Edge], fineness: int) -> Iterator[tuple[Vector, Vector]]:
        for edge in edges:
            if edge.kind == "none":
                continue
            # A circle that stays on one side of the ray that is counted on crosses it no more than its chord does.
            aside = edge.kind == "circle" and abs(self.frame.local(edge.centre)[2]) > edge.radius + 2.0 * NUDGE
            points = [edge.a, edge.b] if aside else edge.samples(fineness)
            yield from itertools.pairwise([self.frame.local(point) for point in points])


def _contains(outline: Iterable[tuple[Vector, Vector]]) -> bool:
    """Whether the drive axis passes inside an outline (even-odd rule)."""
    inside = False
    for (_, ax, ay), (_, bx, by) in outline:
        if (ay > NUDGE) != (by > NUDGE) and ax + (NUDGE - ay) * (bx - ax) / (by - ay) > 0.0:
            inside = not inside
    return inside
