"""Ridge lines of curved faces: where, at each station, the points nearest to the drive axis can lie inside a face.

A point is on a ridge line when the face's normal lies in the plane through the drive axis and the point: with `|` for
the part across the axis, when N| and P| are parallel, `Nx Py - Ny Px = 0`. On each surface here that has closed form.
Lines are as long as the surface; the kernel clips them to the face.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from fitcheck.measurement.leaning import followed, leaning_ridges
from fitcheck.measurement.model import Vector
from fitcheck.measurement.survey import Face
from fitcheck.measurement.vectors import Frame, add, line_angle, scale

LEANING = {"cylinder": 0.7, "cone": 0.1, "torus": 0.0}
"""rad; a face of the kind that leans more against the drive axis is followed by `leaning.py`. Lines of a cylinder don't
turn back along its axis; those of a torus always run steeply somewhere."""

COARSEST = 48
"""Fewest chords of a line that is not straight."""


def ridge_lines(face: Face, frame: Frame, reach: tuple[float, float], chord: float) -> list[list[Vector]] | None:
    """The ridge lines of a curved face.

    Args:
        face: a face that is no plane and not coaxial with the drive axis.
        frame: the axis frame.
        reach: the face's ends along its own axis from its own origin, mm.
        chord: mm that a chord may stray.

    Returns:
        Polylines in the axis frame (s, x, y), unclipped, or None where the surface has no closed form here.
    """
    if face.kind == "sphere":
        return _of_sphere(face, frame, chord)
    if face.kind not in ("cylinder", "cone", "torus"):
        return None
    lean = line_angle(face.axis, frame.along)
    if lean < LEANING[face.kind]:
        return _upright(face, frame, reach, chord)
    return leaning_ridges(face, frame, reach, chord)


def _across(n: Vector, p: Vector) -> float:
    return n[1] * p[2] - n[2] * p[1]


def _upright(face: Face, frame: Frame, reach: tuple[float, float], chord: float) -> list[list[Vector]]:
    """The two ridge lines of a cylinder or a cone that stands more or less along the drive axis.

    With e the direction across the face's own axis Z from its origin C to the point (e = X cos u + Y sin u), and x
    for the product above: a cone of slope k has N = e - k Z and P = C + r e + t Z, hence
    e x (C + (t + k r) Z) = k Z x C. That is A cos u + B sin u = D, with two solutions u.
    """
    centre, along = frame.local(face.origin), frame.turn(face.axis)
    x, y = frame.turn(face.x), frame.turn(face.y)
    leaning = _across(along, centre)
    slope = math.tan(face.semi) if face.kind == "cone" else 0.0
    lines: list[list[Vector]] = []
    runs: list[list[Vector]] = [[], []]
    before: list[float | None] = [None, None]
    for w in _heights(face, centre, along, slope, reach, chord):
        lever = add(centre, scale(along, w + slope * (face.radius + slope * w)))
        right = slope * leaning
        a, b = _across(x, lever), _across(y, lever)
        size = math.hypot(a, b)
        for branch, sign in enumerate((1.0, -1.0)):
            # Where the own axis meets the drive axis, every point of the ring is as near and the lines change sides.
            solved = size >= 1e-12 and abs(right) <= size
            u = math.atan2(b, a) + sign * math.acos(right / size) if solved else None
            last = before[branch]
            if u is None or last is None or abs((u - last + math.pi) % (2.0 * math.pi) - math.pi) > 0.5:
                lines.append(runs[branch])
                runs[branch] = []
            if u is not None:
                runs[branch].append(_point(face, centre, along, add(scale(x, math.cos(u)), scale(y, math.sin(u))), w))
            before[branch] = u
    return [_straightened(line) for line in (*lines, *runs) if len(line) > 1]


def _point(face: Face, centre: Vector, along: Vector, out: Vector, w: float) -> Vector:
    radius = face.radius + (math.tan(face.semi) * w if face.kind == "cone" else 0.0)
    return add(add(centre, scale(along, w)), scale(out, radius))


def _heights(
    face: Face, centre: Vector, along: Vector, slope: float, reach: tuple[float, float], chord: float
) -> list[float]:
    """Heights on a cylinder or cone, mm: dense where the ridge swings round the axis."""
    square = along[1] ** 2 + along[2] ** 2
    swing: list[float] = []
    if square > 1e-24:
        foot = -(centre[1] * along[1] + centre[2] * along[2]) / square
        least = math.hypot(centre[1] + foot * along[1], centre[2] + foot * along[2])
        # In steps of the swing's angle: its tangent is lean (h - foot) / least.
        count = max(math.ceil(math.pi / _step(face.radius, chord)), COARSEST)
        for index in range(1, count):
            turned = math.tan(-0.5 * math.pi + math.pi * index / count)
            swing.append(foot + turned * max(least, 1e-9) / math.sqrt(square))
        swing += [foot - 1e-6, foot + 1e-6]
    low, high = reach
    heights = [(h - slope * face.radius) / (1.0 + slope * slope) for h in swing]
    return sorted({low, high, *(h for h in heights if low < h < high)})


def _of_sphere(face: Face, frame: Frame, chord: float) -> list[list[Vector]] | None:
    centre = frame.local(face.origin)
    away = math.hypot(centre[1], centre[2])
    if away < 1e-9:
        return None
    out = (0.0, centre[1] / away, centre[2] / away)
    return [_circle(centre, out, face.radius, chord)]


def _circle(centre: Vector, out: Vector, radius: float, chord: float) -> list[Vector]:
    """A full circle in the plane of the drive axis' direction and `out`, dense where it runs towards the axis."""

    def point(t: float) -> Vector:
        return add(centre, (radius * math.sin(t), radius * math.cos(t) * out[1], radius * math.cos(t) * out[2]))

    corners = [0.5 * math.pi * index for index in range(5)]
    line = [point(0.0)]
    for start, stop in itertools.pairwise(corners):
        line += followed(point, start, stop, line[-1], point(stop), chord)[1:]
    return line


def _step(radius: float, chord: float) -> float:
    """The angle whose chord strays by `chord` from a circle, rad."""
    return 2.0 * math.acos(max(1.0 - chord / radius, 0.0))


def _straightened(points: Sequence[Vector]) -> list[Vector]:
    """The two ends alone, where all points lie between them."""
    first, last = points[0], points[-1]
    length = math.dist(first, last)
    if all(abs(math.dist(first, p) + math.dist(p, last) - length) < 1e-11 for p in points):
        return [first, last]
    return list(points)
