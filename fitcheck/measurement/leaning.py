"""Ridge lines of tori, and of cylinders and cones that lean far against the drive axis (see `ridges.py` for them).

There a ridge line may turn back along the face's own axis, so it is followed by the angle about that axis, for which
the equation has one closed-form height (two on a torus). Chords are halved until the distance from the drive axis,
read along the chord, is right at every station.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

from fitcheck.measurement.model import Vector
from fitcheck.measurement.survey import Face
from fitcheck.measurement.vectors import Frame, add, scale, sub

FIRST = 8
"""Chords that a stretch of a ridge line starts with."""

DEEPEST = 26
"""Most halvings of a chord."""

ASIDE = 0.02
"""mm; a chord strays no farther from its line, whatever the radius says, so that it can be clipped to the face."""

TURNING = 1e-6
"""mm along the drive axis by which a line may turn back between the ends of a chord."""

MEETING = 1e-4
"""mm; where the equation holds this closely at every height, the straight line or circle there is a ridge line too."""

TWO_PI = 2.0 * math.pi

Curve = Callable[[float], Vector]


def cross_part(n: Vector, p: Vector) -> float:
    """The product across the axis, `nx py - ny px`."""
    return n[1] * p[2] - n[2] * p[1]


def leaning_ridges(face: Face, frame: Frame, reach: tuple[float, float], chord: float) -> list[list[Vector]]:
    """The ridge lines of a cylinder or a cone at any lean but none, or of a torus at any lean.

    Args:
        face: the face.
        frame: the axis frame.
        reach: ends of a cylinder or a cone along its own axis from its own origin, mm.
        chord: mm by which the radius, read along a chord, may be off.

    Returns:
        Polylines in the axis frame (s, x, y), unclipped.
    """
    return _of_torus(face, frame, chord) if face.kind == "torus" else _of_cone(face, frame, reach, chord)


def roots(a: float, b: float, d: float) -> tuple[float, ...]:
    """The angles in [0, 2 pi) at which `a cos u + b sin u = d`: none or two."""
    size = math.hypot(a, b)
    if size == 0.0 or abs(d) > size:
        return ()
    middle, half = math.atan2(b, a), math.acos(d / size)
    return ((middle + half) % TWO_PI, (middle - half) % TWO_PI)


def followed(curve: Curve, start: float, stop: float, first: Vector, last: Vector, chord: float) -> list[Vector]:
    """A curve from `start` to `stop` as a polyline, whose end points are given."""
    steps = [start + (stop - start) * index / FIRST for index in range(FIRST + 1)]
    points = [first, *(curve(u) for u in steps[1:-1]), last]
    stack = [(steps[i], steps[i + 1], points[i], points[i + 1], 0) for i in reversed(range(FIRST))]
    line = [first]
    while stack:
        u, v, p, q, depth = stack.pop()
        middle = 0.5 * (u + v)
        m = curve(middle)
        if depth < DEEPEST and not _straight(p, m, q, chord):
            stack.append((middle, v, m, q, depth + 1))
            stack.append((u, middle, p, m, depth + 1))
        else:
            line.append(q)
    return line


def _straight(p: Vector, m: Vector, q: Vector, chord: float) -> bool:
    """Whether the chord from p to q stands for the line through m."""
    step, to = sub(q, p), sub(m, p)
    square = step[0] ** 2 + step[1] ** 2 + step[2] ** 2
    if square == 0.0:
        return math.dist(p, m) < TURNING
    t = min(max((step[0] * to[0] + step[1] * to[1] + step[2] * to[2]) / square, 0.0), 1.0)
    if math.dist(m, add(p, scale(step, t))) > ASIDE:
        return False
    if abs(step[0]) > TURNING:
        t = to[0] / step[0]
        if not -TURNING <= t * abs(step[0]) <= abs(step[0]) + TURNING:
            return False
        t = min(max(t, 0.0), 1.0)
    elif min(abs(to[0]), abs(m[0] - q[0])) > TURNING:
        return False
    on = add(p, scale(step, t))
    return abs(math.hypot(on[1], on[2]) - math.hypot(m[1], m[2])) <= 0.5 * chord


def _of_cone(face: Face, frame: Frame, reach: tuple[float, float], chord: float) -> list[list[Vector]]:
    """A cylinder or cone: with the normal e - k Z, `e x C + (w + k r) e x Z = k Z x C`, r = r0 + k w, gives w."""
    centre, along = frame.local(face.origin), frame.turn(face.axis)
    x, y = frame.turn(face.x), frame.turn(face.y)
    slope = math.tan(face.semi) if face.kind == "cone" else 0.0
    right = slope * cross_part(along, centre)
    low, high = reach

    def out(u: float) -> Vector:
        return add(scale(x, math.cos(u)), scale(y, math.sin(u)))

    def point(u: float, w: float) -> Vector:
        return add(add(centre, scale(along, w)), scale(out(u), face.radius + slope * w))

    def height(u: float) -> float:
        e = out(u)
        rise = cross_part(e, along)
        if rise == 0.0:
            return math.inf
        return ((right - cross_part(e, centre)) / rise - slope * face.radius) / (1.0 + slope * slope)

    def curve(u: float) -> Vector:
        return point(u, min(max(height(u), low), high))

    poles = roots(cross_part(x, along), cross_part(y, along), 0.0)
    lines = [[point(u, low), point(u, high)] for u in poles if abs(right - cross_part(out(u), centre)) < MEETING]
    breaks = set(poles)
    for end in reach:
        lever = add(centre, scale(along, end + slope * (face.radius + slope * end)))
        breaks.update(roots(cross_part(x, lever), cross_part(y, lever), right))
    ordered = sorted(breaks)
    for index, start in enumerate(ordered):
        stop = ordered[index + 1] if index + 1 < len(ordered) else ordered[0] + TWO_PI
        if stop > start and low <= height(0.5 * (start + stop)) <= high:
            lines.append(followed(curve, start, stop, curve(start), curve(stop), chord))
    return lines


def _of_torus(face: Face, frame: Frame, chord: float) -> list[list[Vector]]:
    """A torus: `cos w (e x C) + sin w (Z x C - R e x Z) = 0` gives two opposite angles w about the tube."""
    centre, along = frame.local(face.origin), frame.turn(face.axis)
    x, y = frame.turn(face.x), frame.turn(face.y)
    level = cross_part(along, centre)

    def point(u: float, w: float) -> Vector:
        e = add(scale(x, math.cos(u)), scale(y, math.sin(u)))
        height = scale(along, face.minor * math.sin(w))
        return add(add(centre, height), scale(e, face.radius + face.minor * math.cos(w)))

    def tube(u: float) -> tuple[float, float]:
        e = add(scale(x, math.cos(u)), scale(y, math.sin(u)))
        return cross_part(e, centre), level - face.radius * cross_part(e, along)

    def branch(turn: float) -> Curve:
        def curve(u: float) -> Vector:
            a, b = tube(u)
            return point(u, math.atan2(-a, b) + turn)

        return curve

    special = {
        *roots(cross_part(x, centre), cross_part(y, centre), 0.0),
        *roots(face.radius * cross_part(x, along), face.radius * cross_part(y, along), level),
    }
    lines: list[list[Vector]] = []
    for u in special:
        if math.hypot(*tube(u)) < MEETING:
            circle = [point(u, TWO_PI * index / 8) for index in range(8)]
            for index in range(8):
                w0, w1 = TWO_PI * index / 8, TWO_PI * (index + 1) / 8
                lines.append(
                    followed(lambda w, u=u: point(u, w), w0, w1, circle[index], circle[(index + 1) % 8], chord)  # type: ignore[misc]
                )
    breaks = sorted({*special, *(TWO_PI * index / 8 for index in range(9))})
    for turn in (0.0, math.pi):
        curve = branch(turn)
        for start, stop in itertools.pairwise(breaks):
            if stop - start > 1e-12:
                lines.append(followed(curve, start, stop, curve(start), curve(stop), chord))
    return lines
