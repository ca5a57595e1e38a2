"""Bores and bosses: cylindrical faces put together again, however the file has cut them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from fitcheck.measurement.extent import TWO_PI, covered_turn, face_extent
from fitcheck.measurement.line_grid import near_pairs
from fitcheck.measurement.model import Cylinder, Vector
from fitcheck.measurement.survey import Face, Survey
from fitcheck.measurement.vectors import add, cross, dot, line_angle, norm, scale, sub

RADIUS_APART = 0.01
"""mm; faces whose radii differ by less may be one bore (exporters round, B-splines approximate)."""

AXES_APART = 0.03
"""mm; sectors of one bore in converted files have been seen with axes 0.02 mm apart."""

TILT_APART = math.radians(0.05)
"""rad; the same for their directions."""

GAP = 0.1
"""mm; coaxial faces of one radius with no wider gap along the axis are one bore."""

MOST_TAPER = math.radians(3.0)
"""rad; a cone of no more half angle is a bore or a boss: drafted castings have up to 3 degrees, shaft ends of 1 in 10
have 2.86 (common practice, no source). It counts by its narrower end where it is a bore, else by its wider one."""


@dataclass(slots=True)
class Bore:
    """Coaxial cylindrical faces of one radius on one body: a bore where `concave`, else a boss.

    The axis is `origin + t * axis`; `start` and `stop` are the ends in t, mm; `turn` is the angle covered, rad;
    `other` is the radius at the other end of a cone that is nearly a cylinder, else `radius`.
    """

    body: int
    concave: bool
    radius: float
    origin: Vector
    axis: Vector
    start: float
    stop: float
    turn: float
    faces: list[Face] = field(default_factory=list)
    other: float = 0.0

    def point(self, t: float) -> Vector:
        """The point of the axis at `t`."""
        return add(self.origin, scale(self.axis, t))

    def reversed(self) -> Bore:
        """The same bore with its axis turned round."""
        return Bore(
            body=self.body, concave=self.concave, radius=self.radius, origin=self.origin, axis=scale(self.axis, -1.0),
            start=-self.stop, stop=-self.start, turn=self.turn, faces=self.faces, other=self.other,
        )  # fmt: skip

    def towards(self, direction: Vector) -> Bore:
        """The bore with its axis pointing as `direction` does."""
        return self if dot(self.axis, direction) >= 0.0 else self.reversed()

    def described(self, body: str) -> Cylinder:
        """As the measurement lists it: the origin is the axis at its start."""
        return Cylinder(
            kind="bore" if self.concave else "boss",
            diameter=2.0 * self.radius,
            origin=self.point(self.start),
            direction=self.axis,
            start=0.0,
            stop=self.stop - self.start,
            turn=math.degrees(self.turn),
            body=body,
        )


def find_bores(survey: Survey) -> list[Bore]:
    """All bores and bosses of a file, largest first.

    Faces are one bore when they lie on one body, on one side, with equal radius and axis, and overlap or touch along
    the axis.
    """
    round_ones = [face for face in survey.faces if _is_round(face)]
    pieces = [_piece(face, *ends) for face, ends in zip(round_ones, _ends(survey, round_ones), strict=True)]
    pieces = [piece for piece in pieces if piece.stop > piece.start and min(piece.radius, piece.other) > 0.0]
    parent = list(range(len(pieces)))

    def root(index: int) -> int:
        while parent[index] != index:
            parent[index] = parent[parent[index]]
            index = parent[index]
        return index

    for i, j in _alike(pieces):
        if _belong_together(pieces[i], pieces[j]):
            parent[root(j)] = root(i)
    groups: dict[int, list[Bore]] = {}
    for index, piece in enumerate(pieces):
        groups.setdefault(root(index), []).append(piece)
    bores = [_joined(survey, group) for group in groups.values()]
    bores.sort(key=lambda bore: (-bore.radius * bore.turn, -(bore.stop - bore.start)))
    return bores


def offset_between(bore: Bore, origin: Vector, axis: Vector) -> float:
    """Distance of the middle of a bore's axis from a line, mm."""
    return norm(cross(sub(bore.point(0.5 * (bore.start + bore.stop)), origin), axis))


def _is_round(face: Face) -> bool:
    return face.kind == "cylinder" or (face.kind == "cone" and abs(face.semi) <= MOST_TAPER)


def _alike(pieces: Sequence[Bore]) -> Iterator[tuple[int, int]]:
    """Pairs of pieces (i < j) that may be one bore: of one body and side, with nearly the same radius and line."""
    import numpy as np

    side = np.array([(piece.body, piece.concave) for piece in pieces], dtype=np.int64).reshape(-1, 2)
    radius = np.array([piece.radius for piece in pieces])
    origin, axis = np.array([[p.origin, p.axis] for p in pieces]).reshape(-1, 2, 3).transpose(1, 0, 2)
    ends = np.array([[p.start, p.stop] for p in pieces]).reshape(-1, 2)
    for i, j in near_pairs(origin, axis):
        same = (side[i] == side[j]).all(axis=1) & (np.abs(radius[i] - radius[j]) <= RADIUS_APART)
        i, j = i[same], j[same]
        same = np.linalg.norm(np.cross(axis[i], axis[j]), axis=1) <= 1.001 * TILT_APART
        # Where the other's ends lie along the first one: a housing may have a thousand rings of one size.
        away, turn = ((rows * axis[i]).sum(axis=1)[:, None] for rows in (origin[j] - origin[i], axis[j]))
        there = np.sort(away + turn * ends[j], axis=1)
        same &= (there[:, 0] <= ends[i, 1] + 2.0 * GAP) & (there[:, 1] >= ends[i, 0] - 2.0 * GAP)
        yield from zip(i[same].tolist(), j[same].tolist(), strict=True)


def _piece(face: Face, start: float, stop: float) -> Bore:
    ends = (face.radius, face.radius)
    if face.kind == "cone" and stop > start:
        slope = math.tan(face.semi)
        ends = (face.radius + slope * start, face.radius + slope * stop)
    return Bore(
        body=face.body, concave=face.concave, radius=min(ends) if face.concave else max(ends), origin=face.origin,
        axis=_tidy(face.axis), start=start, stop=stop, turn=0.0, faces=[face],
        other=max(ends) if face.concave else min(ends),
    )  # fmt: skip


def _ends(survey: Survey, faces: Sequence[Face]) -> list[tuple[float, float]]:
    """Where faces end along their own axes.

    Generating lines run from one bounding curve to another, and in files with loose tolerances they stop short of
    them or run past them; so the other edges say where a face ends.
    """
    low, high = survey.edge_table.ends_along(faces)
    return [
        (a, b) if b > a else face_extent(survey, face, face.origin, face.axis)
        for face, a, b in zip(faces, low.tolist(), high.tolist(), strict=True)
    ]


def _tidy(axis: Vector) -> Vector:
    size = norm(axis)
    return (axis[0] / size, axis[1] / size, axis[2] / size)


def _belong_together(a: Bore, b: Bore) -> bool:
    if abs(a.radius - b.radius) > RADIUS_APART:
        return False
    if line_angle(a.axis, b.axis) > TILT_APART:
        return False
    if offset_between(b, a.origin, a.axis) > AXES_APART:
        return False
    low, high = sorted(dot(sub(b.point(t), a.origin), a.axis) for t in (b.start, b.stop))
    return low <= a.stop + GAP and high >= a.start - GAP


def _joined(survey: Survey, group: list[Bore]) -> Bore:
    """One bore from its faces; the face that covers most gives the axis."""
    if len(group) == 1 and group[0].faces[0].native:
        only = group[0]
        only.turn = min(only.faces[0].u[1] - only.faces[0].u[0], TWO_PI)
        return only
    frame = group[0]
    arcs = [_arcs(survey, frame, piece.faces[0]) for piece in group]
    weights = [(piece.stop - piece.start) * covered_turn(arc) for piece, arc in zip(group, arcs, strict=True)]
    total = sum(weights)
    main = group[weights.index(max(weights))]
    radius = sum(w * piece.radius for w, piece in zip(weights, group, strict=True)) / total if total else main.radius
    ends = [dot(sub(piece.point(t), main.origin), main.axis) for piece in group for t in (piece.start, piece.stop)]
    return Bore(
        body=main.body, concave=main.concave, radius=radius, origin=main.origin, axis=main.axis,
        start=min(ends), stop=max(ends), turn=covered_turn(arc for some in arcs for arc in some),
        faces=[piece.faces[0] for piece in group],
        other=sum(w * piece.other for w, piece in zip(weights, group, strict=True)) / total if total else main.other,
    )  # fmt: skip


def _arcs(survey: Survey, frame: Bore, face: Face) -> list[tuple[float, float]]:
    """The arcs of a face, as angles about its bore's axis: (start, length), rad."""
    x, axis = frame.faces[0].x, frame.axis
    y = cross(axis, x)
    if face.native:
        u0, u1 = face.u
        begin = u0 if dot(cross(face.x, face.y), axis) > 0.0 else u1
        start = add(scale(face.x, math.cos(begin)), scale(face.y, math.sin(begin)))
        return [(math.atan2(dot(start, y), dot(start, x)), min(u1 - u0, TWO_PI))]
    found: list[tuple[float, float]] = []
    for edge in survey.rim(face):
        lowest = highest = turned = 0.0
        first = before = None
        for point in edge.samples(32):
            away = sub(point, frame.origin)
            angle = math.atan2(dot(away, y), dot(away, x))
            if before is None:
                first = angle
            else:
                turned += (angle - before + math.pi) % TWO_PI - math.pi
            before = angle
            lowest, highest = min(lowest, turned), max(highest, turned)
        if first is not None:
            found.append((first + lowest, min(highest - lowest, TWO_PI)))
    return found
