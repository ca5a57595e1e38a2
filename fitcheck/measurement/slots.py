"""Straight slots that stand for bolt holes: two half cylinders that look away from each other, with walls between."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from fitcheck.measurement.cylinders import RADIUS_APART, Bore
from fitcheck.measurement.model import Vector
from fitcheck.measurement.survey import Survey
from fitcheck.measurement.vectors import add, dot, line_angle, norm, scale, sub

HALF_TURN = (math.radians(150.0), math.radians(200.0))
"""What the rounded end of a slot covers; half a turn but for what fillets and rounding take."""

LONGEST = 40.0
"""mm; a slot with more travel is a window, not a bolt hole (common practice, no source)."""

ALIGNED = math.cos(math.radians(3.0))
"""Cosine of how far the ends of a slot may look past each other."""


def find_slots(survey: Survey, halves: Sequence[Bore]) -> list[tuple[Bore, Vector]]:
    """The slots that half cylinders form, each end with the nearest one that it looks away from.

    Args:
        survey: the file.
        halves: concave cylinders of about half a turn that run along the drive axis.

    Returns:
        For each slot a bore in its middle, as wide as it, and the way from its middle to one end's centre, mm.
    """
    ends = [(bore, _outwards(survey, bore)) for bore in halves if HALF_TURN[0] <= bore.turn <= HALF_TURN[1]]
    if len(ends) < 2:
        return []
    middles = np.array([bore.point(0.5 * (bore.start + bore.stop)) for bore, _ in ends])
    outs = np.array([out for _, out in ends])
    pairs = []
    for first, (bore, out) in enumerate(ends[:-1]):
        # A perforated plate has slots by the hundred: those that look away from this one are few.
        ways = middles[first + 1 :] - middles[first]
        lengths = np.linalg.norm(ways, axis=1)
        facing = (lengths > 0.0) & (lengths <= LONGEST) & (ways @ np.array(out) <= -ALIGNED * lengths)
        facing &= np.einsum("ij,ij->i", ways, outs[first + 1 :]) >= ALIGNED * lengths
        for second in (np.flatnonzero(facing) + first + 1).tolist():
            way = _apart(bore, ends[second][0])
            if way is not None:
                pairs.append((norm(way), first, second, way))
    found: list[tuple[Bore, Vector]] = []
    used: set[int] = set()
    for _, first, second, way in sorted(pairs, key=lambda pair: pair[0]):
        if used.isdisjoint((first, second)):
            used |= {first, second}
            bore = ends[first][0]
            middle = replace(
                bore, origin=add(bore.origin, scale(way, 0.5)), turn=2.0 * math.pi,
                faces=[*bore.faces, *ends[second][0].faces],
            )  # fmt: skip
            found.append((middle, scale(way, 0.5)))
    return found


def _outwards(survey: Survey, bore: Bore) -> Vector:
    """The direction from a bore's axis to the middle of its wall, of length 1 (none of length 0 where it is round)."""
    points = [point for face in bore.faces for edge in survey.edges_of(face) for point in edge.samples(8)]
    if not points:
        return (0.0, 0.0, 0.0)
    middle = scale((sum(p[0] for p in points), sum(p[1] for p in points), sum(p[2] for p in points)), 1.0 / len(points))
    away = sub(middle, bore.origin)
    away = sub(away, scale(bore.axis, dot(away, bore.axis)))
    size = norm(away)
    return scale(away, 1.0 / size) if size > 1e-9 else (0.0, 0.0, 0.0)


def _apart(a: Bore, b: Bore) -> Vector | None:
    """From one axis to the other, where both are alike: one body, one radius, parallel, between the same stations."""
    if a.body != b.body or abs(a.radius - b.radius) > RADIUS_APART or line_angle(a.axis, b.axis) > 0.01:
        return None
    b = b.towards(a.axis)
    low, high = (dot(sub(b.point(t), a.origin), a.axis) for t in (b.start, b.stop))
    if abs(low - a.start) > 0.1 or abs(high - a.stop) > 0.1:
        return None
    way = sub(b.origin, a.origin)
    return sub(way, scale(a.axis, dot(way, a.axis)))
