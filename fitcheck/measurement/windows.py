"""Windows of the chamber: openings in the wall that goes round the drive axis, by the loops of edges about them.

Only walls that turn about the drive axis show windows so; an open bracket has none to list.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from fitcheck.measurement.cylinders import Bore
from fitcheck.measurement.model import Vector, Window
from fitcheck.measurement.survey import Edge, Survey
from fitcheck.measurement.vectors import Frame, line_angle

ON_AXIS = 0.01
"""mm; a wall whose axis lies no farther beside the drive axis turns about it."""

JOINED = 1e-3
"""mm; ends of edges that are closer are one corner."""

AT_END = 1e-3
"""mm; a rim no farther from the wall's end is that end."""

SMALLEST = 2.0
"""mm; a smaller opening is a hole for a screw or for grease."""


def find_windows(survey: Survey, bores: Sequence[Bore], frame: Frame, adapter: set[int]) -> tuple[Window, ...]:
    """The windows in the adapter's chamber, by station and shaft angle.

    Args:
        survey: the file.
        bores: all its bores and bosses.
        frame: the axis frame.
        adapter: indices of the adapter's bodies.
    """
    found = []
    for bore in bores:
        if bore.body not in adapter or not bore.concave or bore.turn < math.radians(60.0):
            continue
        middle = frame.local(bore.point(0.5 * (bore.start + bore.stop)))
        if math.hypot(middle[1], middle[2]) > ON_AXIS or line_angle(bore.axis, frame.along) > 1e-3:
            continue
        for loop in _loops(_rims(survey, bore)):
            window = _window(loop, frame, bore.radius)
            if window is not None:
                found.append(window)
    return tuple(sorted(found, key=lambda window: (window.start, window.angle)))


def _rims(survey: Survey, bore: Bore) -> list[Edge]:
    """The edges of a wall that bound openings in it: neither its ends' nor those between pieces of the wall."""
    shared: dict[int, int] = {}
    for face in bore.faces:
        for index in face.edges:
            shared[index] = shared.get(index, 0) + 1
    edges = [survey.edges[index] for index, times in shared.items() if times == 1]
    return [edge for edge in edges if edge.kind != "none" and not _is_end(edge, bore)]


def _is_end(edge: Edge, bore: Bore) -> bool:
    points = edge.samples(4)
    stations = [sum((p[k] - bore.origin[k]) * bore.axis[k] for k in range(3)) for p in points]
    return any(max(abs(station - end) for station in stations) < AT_END for end in (bore.start, bore.stop))


def _loops(edges: Sequence[Edge]) -> list[list[Edge]]:
    """Edges that hang together."""
    open_ = list(edges)
    loops = []
    while open_:
        loop = [open_.pop()]
        grown = True
        while grown:
            grown = False
            corners = [point for edge in loop for point in _corners(edge)]
            for edge in list(open_):
                if any(math.dist(a, b) < JOINED for a in _corners(edge) for b in corners):
                    loop.append(edge)
                    open_.remove(edge)
                    grown = True
        loops.append(loop)
    return loops


def _corners(edge: Edge) -> tuple[Vector, Vector]:
    points = edge.samples(1)
    return points[0], points[-1]


def _window(loop: Sequence[Edge], frame: Frame, radius: float) -> Window | None:
    curves = [[frame.local(point) for point in edge.samples(32)] for edge in loop]
    angles = [math.atan2(point[2], point[1]) for curve in curves for point in curve]
    about = math.atan2(sum(map(math.sin, angles)), sum(map(math.cos, angles)))
    start, stop = _range([[point[0] for point in curve] for curve in curves])
    least, most = _range([
        [(math.atan2(p[2], p[1]) - about + math.pi) % (2.0 * math.pi) - math.pi for p in curve] for curve in curves
    ])  # fmt: skip
    width = 2.0 * radius * math.sin(min(0.5 * (most - least), 0.5 * math.pi))
    if stop - start < SMALLEST or width < SMALLEST:
        return None
    angle = about + 0.5 * (least + most)
    ends = frame.globally((0.0, math.cos(angle), math.sin(angle)))
    direction = (ends[0] - frame.origin[0], ends[1] - frame.origin[1], ends[2] - frame.origin[2])
    return Window(
        start=start, stop=stop, angle=math.degrees(angle) % 360.0, opens=math.degrees(most - least), width=width,
        direction=direction,
    )  # fmt: skip


def _range(curves: Sequence[Sequence[float]]) -> tuple[float, float]:
    """The least and the greatest of values along curves, with the tops between samples by a parabola through three."""
    found = [value for curve in curves for value in curve]
    for curve in curves:
        closed = len(curve) > 3 and abs(curve[0] - curve[-1]) < JOINED
        ring = list(curve[:-1]) if closed else list(curve)
        for index in range(0 if closed else 1, len(ring) if closed else len(ring) - 1):
            a, b, c = ring[index - 1], ring[index], ring[(index + 1) % len(ring)]
            bend = a - 2.0 * b + c
            if (b - a) * (b - c) > 0.0 and bend != 0.0:
                found.append(b - 0.125 * (a - c) ** 2 / bend)
    return min(found), max(found)
