"""How deep the holes of a bolt pattern go, and whether they go through."""

from __future__ import annotations

from collections.abc import Sequence

from fitcheck.measurement.bolts import Hole
from fitcheck.measurement.cylinders import Bore
from fitcheck.measurement.extent import face_extent, radial_extent
from fitcheck.measurement.survey import Survey
from fitcheck.measurement.vectors import Frame, dot, frame_on, scale

WITHIN = 0.01
"""mm; a floor reaches no farther beyond its hole's wall."""

AT_END = 0.01
"""mm; edges so close to a hole's end are its rim there."""


def hole_depth(survey: Survey, frame: Frame, group: Sequence[Hole], sign: int) -> tuple[float | None, bool | None]:
    """The depth of a pattern's holes from their mouths, mm, without a drill's point; and whether they go through.

    Args:
        survey: the file.
        frame: the axis frame.
        group: the pattern's holes.
        sign: +1 where the seat looks along the axis, else -1.

    Returns:
        Of a stepped hole the part that opens on the seat. None for what differs from hole to hole or is not known.
    """
    depths = {round(hole.bore.stop - hole.bore.start, 6) for hole in group}
    # Their mouths lie towards the seat, their ends away from it.
    inwards = scale(frame.along, -float(sign))
    ways = {_through(survey, hole.bore.towards(inwards)) for hole in group}
    return depths.pop() if len(depths) == 1 else None, ways.pop() if len(ways) == 1 else None


def _through(survey: Survey, bore: Bore) -> bool | None:
    """Whether a bore is open at its `stop`; None where nothing meets it there."""
    own = {face.index for face in bore.faces}
    rims = set()
    for face in bore.faces:
        for index in face.edges:
            edge = survey.edges[index]
            if edge.kind == "circle" and abs(dot_along(edge.centre, bore) - bore.stop) < AT_END:
                rims.add(index)
    beyond = [face for face in survey.faces if face.index not in own and not rims.isdisjoint(face.edges)]
    if not beyond:
        return None
    about = frame_on(bore.origin, bore.axis)
    for face in beyond:
        if face.kind not in ("plane", "cone", "sphere"):
            continue
        low, high = face_extent(survey, face, bore.origin, bore.axis)
        # A flat floor, a drill's point or a ball's end: nothing of it lies outside the hole.
        closed = radial_extent(survey, face, about)[1] <= bore.radius + WITHIN and high >= bore.stop - AT_END
        if closed and low >= bore.stop - AT_END:
            return False
    return True


def dot_along(point: tuple[float, float, float], bore: Bore) -> float:
    """Where a point lies along a bore's axis, mm from its origin."""
    away = (point[0] - bore.origin[0], point[1] - bore.origin[1], point[2] - bore.origin[2])
    return dot(away, bore.axis)
