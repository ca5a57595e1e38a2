"""How far edges and faces reach: along a direction, and from the drive axis. Exact for lines and circles."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from fitcheck.measurement.model import Vector
from fitcheck.measurement.survey import Edge, Face, Survey
from fitcheck.measurement.vectors import Frame, cross, dot, line_angle, sub

TWO_PI = 2.0 * math.pi

MANY = 12
"""Edges of a face that are worth looking at together."""

SQUARE = 1e-7
"""rad; a circle that leans by less is square to the axis."""


def edge_extent(edge: Edge, origin: Vector, direction: Vector) -> tuple[float, float]:
    """The range of `dot(point - origin, direction)` over an edge, mm; (inf, -inf) for a degenerated one.

    Exact for lines and circles; for other curves over their coarse points.
    """
    if edge.kind == "none":
        return math.inf, -math.inf
    if edge.kind == "other":
        values = [dot(sub(point, origin), direction) for point in edge.points]
        return min(values), max(values)
    values = [dot(sub(edge.a, origin), direction), dot(sub(edge.b, origin), direction)]
    if edge.kind == "circle":
        y = cross(edge.normal, edge.x)
        cx, cy = edge.radius * dot(edge.x, direction), edge.radius * dot(y, direction)
        amplitude = math.hypot(cx, cy)
        middle = dot(sub(edge.centre, origin), direction)
        if edge.span[1] - edge.span[0] >= TWO_PI:
            return min(middle - amplitude, *values), max(middle + amplitude, *values)
        top = math.atan2(cy, cx)
        for angle, value in ((top, middle + amplitude), (top + math.pi, middle - amplitude)):
            if (angle - edge.span[0]) % TWO_PI <= edge.span[1] - edge.span[0]:
                values.append(value)
    return min(values), max(values)


def face_extent(survey: Survey, face: Face, origin: Vector, direction: Vector) -> tuple[float, float]:
    """The range of `dot(point - origin, direction)` over the edges of a face, mm.

    That is the range over the face itself for planes, and for cylinders and cones along their own axis.
    """
    low, high = math.inf, -math.inf
    for edge in survey.rim(face):
        a, b = edge_extent(edge, origin, direction)
        low, high = min(low, a), max(high, b)
    return low, high


def radial_extent(survey: Survey, face: Face, frame: Frame) -> tuple[float, float]:
    """Least and greatest distance of a face's edges from the drive axis, mm.

    Exact for lines, for circles square to the axis, and for arcs whose ends decide; within 0.01 radii otherwise.
    """
    rim = (*face.edges, *face.seams)
    low, high = math.inf, 0.0
    rest: Sequence[int] = rim
    if len(rim) > MANY:
        # Plates have faces with hundreds of holes, and are asked often.
        low, high, rest = survey.edge_table.circle_radii(rim, frame)
    for index in rest:
        a, b = edge_radii(survey.edges[index], frame)
        low, high = min(low, a), max(high, b)
    return low, high


def edge_radii(edge: Edge, frame: Frame) -> tuple[float, float]:
    """Least and greatest distance of an edge from the drive axis, mm; see `radial_extent` for how exact."""
    if edge.kind == "none":
        return math.inf, 0.0
    if edge.kind == "line":
        a, b = frame.local(edge.a), frame.local(edge.b)
        ends = math.hypot(a[1], a[2]), math.hypot(b[1], b[2])
        dx, dy = b[1] - a[1], b[2] - a[2]
        square = dx * dx + dy * dy
        if square < 1e-24:
            return min(ends), max(ends)
        t = min(max(-(a[1] * dx + a[2] * dy) / square, 0.0), 1.0)
        return math.hypot(a[1] + t * dx, a[2] + t * dy), max(ends)
    if edge.kind == "circle" and line_angle(edge.normal, frame.along) < SQUARE:
        return _circle_radii(edge, frame)
    radii = [math.hypot(p[1], p[2]) for p in (frame.local(point) for point in edge.samples(64))]
    return min(radii), max(radii)


def _circle_radii(edge: Edge, frame: Frame) -> tuple[float, float]:
    """The same for a circle square to the axis: extreme at an end, or on the line through both centres."""
    centre = frame.local(edge.centre)
    away = math.hypot(centre[1], centre[2])
    radii = [math.hypot(p[1], p[2]) for p in (frame.local(edge.a), frame.local(edge.b))]
    full = edge.span[1] - edge.span[0] >= TWO_PI - 1e-9
    if full or away < 1e-12:
        return abs(away - edge.radius), away + edge.radius
    out = frame.globally((0.0, centre[1] / away, centre[2] / away))
    direction = sub(out, frame.origin)
    angle = math.atan2(dot(direction, cross(edge.normal, edge.x)), dot(direction, edge.x))
    for turn, radius in ((angle, away + edge.radius), (angle + math.pi, abs(away - edge.radius))):
        if (turn - edge.span[0]) % TWO_PI <= edge.span[1] - edge.span[0]:
            radii.append(radius)
    return min(radii), max(radii)


def merged(intervals: Iterable[tuple[float, float]], gap: float = 0.0) -> list[tuple[float, float]]:
    """The union of closed intervals; those closer than `gap` become one."""
    found: list[tuple[float, float]] = []
    for low, high in sorted(intervals):
        if found and low <= found[-1][1] + gap:
            found[-1] = (found[-1][0], max(found[-1][1], high))
        else:
            found.append((low, high))
    return found


def covered_turn(arcs: Iterable[tuple[float, float]]) -> float:
    """The part of a full turn that arcs (start, length; rad) cover together, rad."""
    pieces: list[tuple[float, float]] = []
    for start, length in arcs:
        if length >= TWO_PI - 1e-9:
            return TWO_PI
        begin = start % TWO_PI
        end = begin + length
        pieces.append((begin, min(end, TWO_PI)))
        if end > TWO_PI:
            pieces.append((0.0, end - TWO_PI))
    total = sum(high - low for low, high in merged(pieces, 1e-9))
    return min(total, TWO_PI)
