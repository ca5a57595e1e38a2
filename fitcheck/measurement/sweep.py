"""The swept radius of bodies about the drive axis: the upper border of what their faces and edges reach.

At a station, the point of a body farthest from the axis lies on an edge of its boundary, on a face coaxial with the
axis, or where a bulging face is square to the ray through it. So edges, coaxial faces and cylinders parallel to the
axis are taken in closed form, and only what bulges otherwise is meshed. Lengths mm.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.extent import face_extent
from fitcheck.measurement.model import Vector
from fitcheck.measurement.reach import CoaxialReach
from fitcheck.measurement.survey import Asker, Edge, Face, Survey
from fitcheck.measurement.vectors import Frame, add, line_angle, scale

CHORD = 5e-4
"""mm; how far a chord may stray from its curve, and a facet from its face; it is added to the radius."""

SAME = 1e-7
"""mm; stations closer than this are one."""

BINS = 256
"""Stations are cut into so many bins to find what is hidden."""

SQUARE = 1e-9
"""rad; a cylinder whose axis is so square to the drive axis bulges nowhere between its edges."""

Rows = tuple[tuple[float, float], ...]
Pieces = NDArray[np.float64]


class Sweep:
    """Collects straight pieces of radius over station, each not inside what it stands for.

    Args:
        survey: the file.
        frame: the axis frame.
        ask: asks the kernel worker.
    """

    def __init__(self, survey: Survey, frame: Frame, ask: Asker) -> None:
        self.survey, self.frame, self.ask = survey, frame, ask
        self._pieces: list[tuple[float, float, float, float]] = []
        self._low, self._high = math.inf, -math.inf

    def rows(self, bodies: Collection[int]) -> Rows:
        """The swept radius of bodies as rows (station, radius), linear between them, a jump as two rows at a station.

        It is never smaller than the true one, and no farther outside it than about twice `CHORD`.
        """
        faces = [face for face in self.survey.faces if face.body in bodies and face.kind != "none"]
        reach = CoaxialReach(self.survey, self.frame)
        rest: list[Face] = []
        for face in faces:
            found = reach.generator(face)
            if found is None:
                rest.append(face)
            else:
                self._add_line(found[0], found[1], CHORD if face.kind in ("torus", "sphere") else 0.0)
        done = {index for face in reach.faces for index in face.edges}
        sampled: list[int] = []
        for face in rest:
            for edge in self.survey.edges_of(face):
                if edge.index not in done:
                    done.add(edge.index)
                    self._add_edge(edge, face.gap, sampled)
        border = upper_border(np.array(self._pieces, dtype=np.float64).reshape(-1, 4))
        bulging = [face for face in rest if self._bulges(face) and not self._hidden(face, border)]
        self._ask(sampled, [face.index for face in bulging])
        if not self._pieces:
            return ()
        pieces = np.array(self._pieces, dtype=np.float64)
        # what was shifted to be on the safe side does not make the bodies longer
        pieces[:, [0, 2]] = np.clip(pieces[:, [0, 2]], self._low, self._high)
        return upper_border(pieces)

    def _add(self, a: Vector, b: Vector, bound: float, stray: float = 0.0) -> None:
        """A straight line in space: its distance from the axis is a convex function, so its chords lie outside it.

        `bound` is added to the radius. What the line stands for may stray from it by `stray` in any direction, so it
        is taken that much farther out, and also that much farther to either side.
        """
        self._low, self._high = min(self._low, a[0], b[0]), max(self._high, a[0], b[0])
        ra, rb = math.hypot(a[1], a[2]), math.hypot(b[1], b[2])
        aside = stray
        if abs(a[0] - b[0]) <= SAME:
            # a curve that lies square to the axis strays outwards only
            ra, aside = max(ra, rb), 0.0
            rb = ra
        else:
            half = (0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1]), 0.5 * (a[2] + b[2]))
            if 0.5 * (ra + rb) - math.hypot(half[1], half[2]) > CHORD:
                self._add(a, half, bound, stray)
                self._add(half, b, bound, stray)
                return
        more = bound + stray
        first, last = sorted(((a[0], ra + more), (b[0], rb + more)))
        for shift in (-aside, 0.0, aside) if aside else (0.0,):
            self._pieces.append((first[0] + shift, first[1], last[0] + shift, last[1]))

    def _add_line(self, points: Sequence[Vector], bound: float, stray: float = 0.0) -> None:
        for a, b in pairwise(points):
            self._add(a, b, bound, stray)

    def _add_edge(self, edge: Edge, gap: float, sampled: list[int]) -> None:
        if edge.kind == "line":
            self._add(self.frame.local(edge.a), self.frame.local(edge.b), gap)
        elif edge.kind == "circle":
            span = edge.span[1] - edge.span[0]
            count = max(math.ceil(span / (2.0 * math.acos(max(1.0 - CHORD / edge.radius, -1.0)))), 1)
            turns = [edge.span[0] + span * i / count for i in range(count + 1)]
            self._add_line([self.frame.local(edge.on_circle(turn)) for turn in turns], gap, CHORD)
        elif edge.kind == "other":
            sampled.append(edge.index)

    def _bulges(self, face: Face) -> bool:
        """Whether a face may reach farther out between its edges than on them; some are settled here.

        A concave face has its body's material beyond it, so that something else of the body reaches farther.
        """
        if face.kind == "plane" or (face.kind in ("cylinder", "cone", "sphere") and face.concave):
            return False
        if face.kind != "cylinder":
            return True
        tilt = line_angle(face.axis, self.frame.along)
        if abs(tilt - math.pi / 2) < SQUARE:
            return False
        if tilt > SQUARE:
            return True
        low, high = face_extent(self.survey, face, face.origin, face.axis)
        ends = [self.frame.local(add(face.origin, scale(face.axis, t))) for t in (low, high)]
        away = math.hypot(ends[0][1], ends[0][2])
        if away > 0.0 and self._faces_out(face, ends[0], away):
            outmost = away + face.radius
            self._add((ends[0][0], outmost, 0.0), (ends[1][0], outmost, 0.0), face.gap)
        return False

    def _faces_out(self, face: Face, centre: Vector, away: float) -> bool:
        """Whether a parallel cylinder has its line farthest from the axis; where that is not plain, yes."""
        if not face.native or face.u[1] - face.u[0] > 2.0 * math.pi - 1e-6:
            return True
        x, y = self.frame.turn(face.x), self.frame.turn(face.y)
        out = (centre[1] / away, centre[2] / away)
        angle = math.atan2(out[0] * y[1] + out[1] * y[2], out[0] * x[1] + out[1] * x[2])
        return (angle - face.u[0]) % (2.0 * math.pi) <= face.u[1] - face.u[0]

    def _hidden(self, face: Face, border: Rows) -> bool:
        """Whether a face lies below a border that is there already, however far it may bulge from its edges."""
        points = [self.frame.local(point) for edge in self.survey.rim(face) for point in edge.samples(8)]
        if not points:
            return False
        size = max(math.dist(points[0], point) for point in points)
        most = max(math.hypot(x, y) for _, x, y in points) + size
        low, high = min(s for s, _, _ in points) - size, max(s for s, _, _ in points) + size
        if not border or low < border[0][0] or high > border[-1][0]:
            return False
        near = [radius for station, radius in border if low <= station <= high]
        before = [row for row in border if row[0] <= low][-1]
        after = next(row for row in border if row[0] >= high)
        # between rows the border is straight, so its least value lies at a row or at an end of the range
        return min(*near, before[1], after[1], math.inf) >= most

    def _ask(self, edges: list[int], faces: list[int]) -> None:
        if edges:
            _, lines = self.ask("tracing", {"do": "edges", "wanted": edges, "deflection": CHORD})
            for flat in lines:
                points = [self.frame.local(flat[i : i + 3]) for i in range(0, len(flat), 3)]
                self._add_line(points, 0.0, CHORD)
        if faces:
            request = {"do": "mesh", "faces": faces, "deflection": CHORD, "angle": 0.5}
            _, (flat,) = self.ask("meshing", request)
            self._add_triangles(np.frombuffer(flat, dtype=np.float64).reshape(-1, 3, 3))

    def _add_triangles(self, triangles: NDArray[np.float64]) -> None:
        """The sides of facets: within a facet, the farthest point at a station lies on one of them."""
        frame = self.frame
        local = (triangles - np.array(frame.origin)) @ np.array([frame.along, frame.x, frame.y]).T
        for a, b in ((0, 1), (1, 2), (2, 0)):
            for p, q in zip(local[:, a].tolist(), local[:, b].tolist(), strict=True):
                self._add(p, q, 0.0, CHORD)


def upper_border(pieces: Pieces) -> Rows:
    """The upper border of straight pieces.

    Args:
        pieces: shape (n, 4), rows (s0, r0, s1, r1) with s0 <= s1.

    Returns:
        Rows (station, radius) in order of station, linear between them; never below a piece. 0 where there is none
        between others.
    """
    if pieces.shape[0] == 0:
        return ()
    pieces = _visible(pieces)
    stations = np.unique(pieces[:, [0, 2]])
    stations = stations[np.concatenate([[True], np.diff(stations) > SAME])]
    points = pieces[pieces[:, 2] - pieces[:, 0] <= SAME]
    pieces = pieces[pieces[:, 2] - pieces[:, 0] > SAME]
    rows: list[tuple[float, float]] = []
    for index, station in enumerate(stations.tolist()):
        stretch: list[tuple[float, float]] = []
        if index + 1 < stations.size:
            start, stop = station, float(stations[index + 1])
            active = pieces[(pieces[:, 0] <= start + SAME) & (pieces[:, 2] >= stop - SAME)]
            _between(stretch, start, stop, active)
        peak = float(points[np.abs(points[:, 0] - station) <= SAME, 1].max(initial=0.0))
        if peak > max((row[1] for row in (*rows[-1:], *stretch[:1])), default=-1.0) + 1e-9:
            _append(rows, station, peak)
        for row in stretch:
            _append(rows, *row)
    return tuple(_thinned(rows))


def _between(rows: list[tuple[float, float]], start: float, stop: float, active: Pieces) -> None:
    """The border between two stations that no piece begins or ends between: straight, or a convex chain."""
    if active.shape[0] == 0:
        _append(rows, start, 0.0)
        _append(rows, stop, 0.0)
        return
    first, last = _heights(active, start), _heights(active, stop)
    a, b = float(first.max()), float(last.max())
    # the greatest of straight lines is convex, so its chord lies above it
    if stop - start > 1e-3 and 0.5 * (a + b) - float((first + last).max()) / 2 > CHORD:
        middle = 0.5 * (start + stop)
        _between(rows, start, middle, active)
        _between(rows, middle, stop, active)
        return
    _append(rows, start, a)
    _append(rows, stop, b)


def _heights(pieces: Pieces, station: float) -> NDArray[np.float64]:
    part = np.clip((station - pieces[:, 0]) / (pieces[:, 2] - pieces[:, 0]), 0.0, 1.0)
    return np.asarray(pieces[:, 1] + part * (pieces[:, 3] - pieces[:, 1]))


def _visible(pieces: Pieces) -> Pieces:
    """Without the pieces that lie below others all along."""
    low, high = float(pieces[:, 0].min()), float(pieces[:, 2].max())
    if high - low <= SAME or pieces.shape[0] < 16:
        return pieces
    keep = np.zeros(pieces.shape[0], dtype=bool)
    long = np.where(pieces[:, 2] - pieces[:, 0] > SAME, pieces[:, 2] - pieces[:, 0], 1.0)
    slope = (pieces[:, 3] - pieces[:, 1]) / long
    edges = np.linspace(low, high, BINS + 1)
    for a, b in pairwise(edges.tolist()):
        touching = np.flatnonzero((pieces[:, 0] <= b) & (pieces[:, 2] >= a))
        some, grade = pieces[touching], slope[touching]
        at_a = some[:, 1] + grade * (np.maximum(a, some[:, 0]) - some[:, 0])
        at_b = some[:, 1] + grade * (np.minimum(b, some[:, 2]) - some[:, 0])
        through = (some[:, 0] <= a) & (some[:, 2] >= b)
        floor = float(np.minimum(at_a, at_b)[through].max(initial=0.0))
        keep[touching[np.maximum(at_a, at_b) >= floor - 1e-9]] = True
    return pieces[keep]


def _append(rows: list[tuple[float, float]], station: float, radius: float) -> None:
    if not (rows and abs(rows[-1][0] - station) <= SAME and abs(rows[-1][1] - radius) <= 1e-9):
        rows.append((station, radius))


def _thinned(rows: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Rows without those that lie on the straight line between their neighbours, and without needless doubles."""
    kept: list[tuple[float, float]] = []
    for row in rows:
        while len(kept) >= 2 and _needless(kept[-2], kept[-1], row):
            kept.pop()
        kept.append(row)
    return kept


def _needless(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> bool:
    if c[0] - a[0] <= SAME:
        # of several rows at one station the first and the last say what comes before and after, and the highest counts
        return min(a[1], c[1]) <= b[1] <= max(a[1], c[1])
    if b[0] - a[0] <= SAME or c[0] - b[0] <= SAME:
        return False
    between = a[1] + (c[1] - a[1]) * (b[0] - a[0]) / (c[0] - a[0])
    return -1e-9 <= between - b[1] <= 1e-6
