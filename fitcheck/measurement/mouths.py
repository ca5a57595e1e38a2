"""The bore that opens at a seat: which one it is, how deep a register goes into it, and where its floor is."""

from __future__ import annotations

import math
from collections.abc import Sequence

from fitcheck.measurement.cylinders import Bore
from fitcheck.measurement.extent import radial_extent
from fitcheck.measurement.survey import Face, Survey
from fitcheck.measurement.vectors import Frame, dot, line_angle, sub

COAXIAL = 0.6
"""mm; a bore that belongs to the drive axis may lie no farther beside it: enough to find a misplaced pilot."""

CHAMFER = 2.0
"""mm; the widest chamfer or fillet at a pilot's mouth or floor."""

GROOVE = 6.0
"""mm; the widest ring groove in the wall of a pilot or of a bearing seat: one for an O-ring of 4 mm (common practice,
no source)."""

SHALLOWEST = 0.1
"""mm; a recess that a register can enter by no more locates nothing."""

SAME_STATION = 0.02
"""mm; faces of one seat."""


def station_on_axis(face: Face, frame: Frame) -> float:
    """Where the plane of a face meets the axis, mm."""
    return dot(sub(face.origin, frame.origin), face.axis) / dot(frame.along, face.axis)


def find_mouth(
    survey: Survey,
    frame: Frame,
    station: float,
    sign: int,
    coaxial: Sequence[Bore],
    planes: Sequence[Face],
    plane: Face,
) -> tuple[Bore | None, float]:
    """The widest bore that opens at a station, and how deep something as wide as it goes in; None where none opens.

    Round a boss that is level with the seat no register goes in: that is a relief, and a bore within the boss opens.

    Args:
        survey: the file.
        frame: the axis frame.
        station: of the seat, mm.
        sign: +1 where the seat looks along the axis, else -1.
        coaxial: the adapter's bores and bosses on the axis.
        planes: the adapter's planes across the axis.
        plane: the seat's.
    """
    opening = [
        (gap, bore) for bore in coaxial if bore.concave and _opens(gap := _gap(bore, frame, station, sign), bore, plane)
    ]
    nearest = min((gap for gap, _ in opening), default=0.0)
    for bore in sorted((bore for gap, bore in opening if gap < nearest + 0.05), key=lambda bore: -bore.radius):
        room = room_in(survey, frame, station, sign, bore, coaxial, planes)
        if room > SHALLOWEST:
            return bore, room
    return None, 0.0


def ends_of(bore: Bore, frame: Frame, sign: int) -> tuple[float, float]:
    """Stations of a coaxial bore's ends: the inner one and the one towards the seat's side."""
    low = frame.local(bore.point(bore.start))[0]
    high = frame.local(bore.point(bore.stop))[0]
    return (low, high) if sign > 0 else (high, low)


def bottom_of(mouth: Bore, frame: Frame, sign: int, coaxial: Sequence[Bore]) -> float:
    """Station of a bore's inner end; ring grooves in its wall (for a seal or a retaining ring) do not end it."""
    inner = ends_of(mouth, frame, sign)[0]
    spans = [(bore.radius - mouth.radius, *ends_of(bore, frame, sign)) for bore in coaxial if bore.concave]
    while True:
        further = [
            deep
            for wider, deep, outer in spans
            if abs(wider) < SAME_STATION
            and 0.0 < sign * (inner - outer) <= GROOVE
            and any(w > SAME_STATION and abs(o - inner) < CHAMFER and abs(d - outer) < CHAMFER for w, d, o in spans)
        ]
        if not further:
            return inner
        inner = further[0]


def top_of(boss: Bore, frame: Frame, sign: int, coaxial: Sequence[Bore]) -> float:
    """Station of a boss' outer end; ring grooves in its wall (for a seal or a retaining ring) do not end it."""
    top = ends_of(boss, frame, sign)[1]
    mine = [other for other in coaxial if not other.concave and other.body == boss.body]
    spans = [(other.radius - boss.radius, *ends_of(other, frame, sign)) for other in mine]
    while True:
        further = [
            outer
            for wider, inner, outer in spans
            if abs(wider) < SAME_STATION
            and 0.0 < sign * (inner - top) <= GROOVE
            and any(w < -SAME_STATION and abs(i - top) < CHAMFER and abs(o - inner) < CHAMFER for w, i, o in spans)
        ]
        if not further:
            return top
        top = further[0]


def beyond_neck(neck: Bore, frame: Frame, sign: int, coaxial: Sequence[Bore]) -> Bore | None:
    """The wider boss that a short boss carries: that one is the floor of a groove under it; None where it is none."""
    inner, outer = ends_of(neck, frame, sign)
    if abs(outer - inner) > GROOVE:
        return None
    wider = [
        other
        for other in coaxial
        if not other.concave
        and other.body == neck.body
        and other.radius > neck.radius + SAME_STATION
        and abs(ends_of(other, frame, sign)[0] - outer) < CHAMFER
        and sign * (ends_of(other, frame, sign)[1] - outer) > 0.0
    ]
    return min(wider, key=lambda other: abs(ends_of(other, frame, sign)[0] - outer), default=None)


def _gap(bore: Bore, frame: Frame, station: float, sign: int) -> float:
    return sign * (station - ends_of(bore, frame, sign)[1])


def _opens(gap: float, bore: Bore, plane: Face) -> bool:
    # The rim of a bore that leans against its seat stands out beyond it on one side.
    rim = bore.radius * math.tan(line_angle(bore.axis, plane.axis))
    return -SAME_STATION - rim <= gap <= CHAMFER


def room_in(
    survey: Survey,
    frame: Frame,
    station: float,
    sign: int,
    mouth: Bore,
    coaxial: Sequence[Bore],
    planes: Sequence[Face],
) -> float:
    """How deep something as wide as a bore goes into it before it meets a boss that stands inside; inf without one."""
    deepest = bottom_of(mouth, frame, sign, coaxial)
    room = math.inf
    for boss in coaxial:
        if boss.concave or boss.radius > mouth.radius - 0.05:
            continue
        top = ends_of(boss, frame, sign)[1]
        if sign * (top - deepest) <= 0.05:
            continue
        for face in planes:
            # A chamfer or a fillet may lie between the boss and its flat top.
            higher = sign * (station_on_axis(face, frame) - top)
            outwards = 0.0 < higher <= CHAMFER and dot(face.outward, frame.along) * sign > 0.0
            if outwards and radial_extent(survey, face, frame)[1] < boss.radius + 0.01:
                top += sign * higher
        room = min(room, sign * (station - top))
    return room


def find_depth(
    survey: Survey,
    frame: Frame,
    station: float,
    sign: int,
    mouth: Bore,
    coaxial: Sequence[Bore],
    planes: Sequence[Face],
) -> float | None:
    """Depth of a pilot from its seat to its floor, or None where the bore has no floor.

    The floor is the flat ring at the bore's inner end; where that is tapered, a narrower bore beyond it.
    """
    inner = bottom_of(mouth, frame, sign, coaxial)
    floors: list[float] = []
    for face in planes:
        if dot(face.outward, frame.along) * sign <= 0.0:
            continue
        place = station_on_axis(face, frame)
        beyond = sign * (inner - place)
        if not -SAME_STATION <= beyond <= CHAMFER or sign * (station - place) < 0.05:
            continue
        near, far = radial_extent(survey, face, frame)
        if near < mouth.radius - 0.01 and mouth.radius - CHAMFER - COAXIAL <= far <= mouth.radius + CHAMFER + COAXIAL:
            floors.append(place)
    if floors:
        return sign * (station - max(floors, key=lambda place: sign * place))
    for bore in coaxial:
        beyond = sign * (inner - ends_of(bore, frame, sign)[1])
        if bore.concave and bore.radius < mouth.radius - 0.05 and 0.0 <= beyond <= 2.5 * CHAMFER:
            return sign * (station - inner)
    return None
