"""Seats: the faces of the adapter that a motor or an actuator is bolted against, with their pilot and bolt pattern."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from dataclasses import field as attribute

import numpy as np

from fitcheck.measurement.bolts import Hole, HoleField, patterns_of
from fitcheck.measurement.bore_table import BoreTable
from fitcheck.measurement.cylinders import Bore, offset_between
from fitcheck.measurement.extent import radial_extent
from fitcheck.measurement.locators import BESIDE, SQUARE, Place, near_the_axis
from fitcheck.measurement.model import BoltPattern
from fitcheck.measurement.mouths import CHAMFER, COAXIAL, SAME_STATION, find_mouth, station_on_axis
from fitcheck.measurement.survey import Face, Survey
from fitcheck.measurement.vectors import Frame, dot, line_angle, sub

LEANING = math.radians(10.0)
"""rad; the same for an end of which nothing squarer is found: it is measured, and its lean told."""

FLANGE = 0.6
"""A flange is no thicker than this many times its bore's diameter; common practice, no source."""

THICKEST = 1.0
"""Behind a wall thicker than this many times its bore's diameter the other face is an end of its own, even where screws
run through to it: so long a body is a housing with tie rods; common practice, no source."""

ENOUGH = 3.0
"""A face with this score, a bolt pattern or a pilot, is an end."""


@dataclass(slots=True)
class Seat:
    """A face that something could be bolted against.

    `sign` is +1 where it looks along the axis, `plane` a face in it. `mouth` is the bore that opens at it; `floor` that
    bore's depth where it has a floor, `depth` the same where it is a pilot, else None; `rise` the height of a register
    that stands on the seat, `boss` the register. `opens` where a bore opens on it or on its register: what is solid
    there is a machine's face. `touched_by` are machines whose faces lie on it, `bodies` those that it is a face of.
    `score` weighs the evidence that this is a seat.
    """

    station: float
    sign: int
    plane: Face
    mouth: Bore | None = None
    depth: float | None = None
    floor: float | None = None
    boss: Bore | None = None
    rise: float = 0.0
    opens: bool = False
    touched_by: frozenset[int] = frozenset()
    bodies: frozenset[int] = frozenset()
    patterns: list[tuple[BoltPattern, list[Hole]]] = attribute(default_factory=list)

    @property
    def score(self) -> float:
        """Evidence: a machine's face on it 4, a bolt pattern 3 (2 holes: 2), a pilot 3, any bore that opens on it 1."""
        total = 4.0 if self.touched_by else 0.0
        if self.patterns:
            total += 3.0 if max(pattern.count for pattern, _ in self.patterns) > 2 else 2.0
        if self.boss is not None:
            total += 2.0
        if self.depth is not None:
            total += 3.0
        elif self.mouth is not None:
            total += 1.0
        return total

    @property
    def locator(self) -> Bore | None:
        """What locates the machine: its pilot, else its register, else the bore that opens there."""
        if self.depth is not None or self.boss is None:
            return self.mouth
        return self.boss

    def holes(self) -> list[Hole]:
        """Its bolt holes."""
        return [hole for _, group in self.patterns for hole in group]

    def shares_holes(self, other: Seat) -> bool:
        """Whether all holes of another seat run through to this one, stepped ones (a counterbore) too."""
        theirs = other.holes()
        return bool(theirs) and all(any(_one_hole(mine, hole) for mine in self.holes()) for hole in theirs)


def _one_hole(a: Hole, b: Hole) -> bool:
    if a.bore is b.bore:
        return True
    if line_angle(a.bore.axis, b.bore.axis) > SQUARE or offset_between(b.bore, a.bore.origin, a.bore.axis) > 0.1:
        return False
    ends = (dot(sub(b.bore.point(t), a.bore.origin), a.bore.axis) for t in (b.bore.start, b.bore.stop))
    low, high = sorted(ends)
    return low <= a.bore.stop + CHAMFER and high >= a.bore.start - CHAMFER


def coaxial_bores(bores: Iterable[Bore], frame: Frame) -> list[Bore]:
    """The bores and bosses on an axis, pointing along it."""
    table = BoreTable.of(bores)
    on_it = (table.turn > math.radians(150.0)) & (table.lean(frame) < SQUARE) & (table.offset(frame) < COAXIAL)
    return [bore.towards(frame.along) for bore in table.where(on_it)]


def beside_the_axis(bores: Iterable[Bore], frame: Frame) -> list[Bore]:
    """The round holes that lie along an axis and do not hold it."""
    table = BoreTable.of(bores)
    round_ = table.concave & (table.turn > math.radians(300.0)) & (table.lean(frame) < SQUARE)
    return table.where(round_ & (table.offset(frame) > table.radius))


def find_seats(
    survey: Survey, frame: Frame, bores: Sequence[Bore], coaxial: Sequence[Bore], adapter: set[int], machines: set[int]
) -> list[Seat]:
    """The seats on an axis: at most one that looks along it and one that looks against it.

    Args:
        survey: the file.
        frame: an axis frame.
        bores: all bores of the adapter.
        coaxial: the adapter's bores and bosses on the axis.
        adapter: indices of the adapter's bodies.
        machines: indices of the bodies that may be bolted on.

    Returns:
        The best seat for each side that has evidence for one.
    """
    leans = [
        (face, line_angle(face.axis, frame.along))
        for face in survey.faces
        if face.kind == "plane" and face.body in adapter | machines
    ]
    square = [face for face, lean in leans if lean < SQUARE]
    leaning = [face for face, lean in leans if SQUARE <= lean < LEANING]
    floors = [face for face in (*square, *leaning) if face.body in adapter]
    field = HoleField(survey, bores, frame)
    beside = near_the_axis(bores, frame)
    found: list[list[Seat]] = []
    for sign in (-1, 1):
        seats = _looking(survey, frame, sign, field, coaxial, beside, adapter, square, floors)
        if leaning and not any(seat.score >= ENOUGH for seat in seats):
            more = _looking(survey, frame, sign, field, coaxial, beside, adapter, leaning, floors)
            seats += [seat for seat in more if seat.patterns or seat.depth is not None]
        if seats:
            found.append(sorted(seats, key=lambda s: (s.score, s.sign * s.station), reverse=True))
    chosen = _without_backs([seats[0] for seats in found])
    if len(found) == 2 and len(chosen) == 1:
        # Behind a flange's back may stand spacers, whose far ends are a seat.
        for other in found[0 if chosen[0].sign > 0 else 1][1:]:
            if other.patterns and other.bodies.isdisjoint(chosen[0].bodies):
                return _without_backs([chosen[0], other])
    return chosen


def _looking(
    survey: Survey,
    frame: Frame,
    sign: int,
    field: HoleField,
    coaxial: Sequence[Bore],
    beside: Sequence[Bore],
    adapter: set[int],
    planes: Sequence[Face],
    floors: Sequence[Face],
) -> list[Seat]:
    """The seats of one side that have any evidence, among planes of the adapter and of machines.

    `floors` are the adapter's planes that may be floors of pilots.
    """
    mine = [face for face in planes if face.body in adapter]
    places = [(face, station_on_axis(face, frame), dot(face.outward, frame.along) * sign) for face in planes]
    facing = [(station, face) for face, station, way in places if way > 0.0 and face.body in adapter]
    theirs = [(station, face) for face, station, way in places if way < 0.0 and face.body not in adapter]
    across = np.array([station for station, _ in facing])
    stations: list[float] = []
    for station, _ in facing:
        # A damaged plane has no finite place; the obstacles tell so.
        if math.isfinite(station) and not (np.abs(np.array(stations) - station) <= SAME_STATION).any():
            stations.append(station)
    seats = []
    for station in stations:
        own = [facing[index][1] for index in np.flatnonzero(np.abs(across - station) < SAME_STATION).tolist()]
        seat = _examine(survey, frame, station, sign, field, coaxial, beside, mine, floors, own)
        seat.touched_by = frozenset(
            face.body
            for place, face in theirs
            if abs(place - station) < SAME_STATION
            # What ends within the bore that opens there (a collar on a bearing's ring) lies on no seat.
            and (seat.mouth is None or radial_extent(survey, face, frame)[1] > seat.mouth.radius)
        )
        seat.bodies = frozenset(face.body for face in own)
        if seat.score > 0.0:
            seats.append(seat)
    return seats


def _without_backs(seats: list[Seat]) -> list[Seat]:
    """Leaves out the back of a flange: the face that the heads of the very same screws lie on."""
    if len(seats) < 2:
        return seats
    a, b = sorted(seats, key=lambda seat: -seat.score)
    if a.score > b.score == 1.0 and b.mouth is not None:
        # Nothing but a bore opens on it; close behind the other seat it is a flange's back, not an end.
        return [a] if abs(a.station - b.station) < FLANGE * 2.0 * b.mouth.radius else seats
    if b.touched_by or b.depth is not None or not a.shares_holes(b):
        return seats
    if a.bodies.isdisjoint(b.bodies):
        # Its holes run on through other bodies, spacers: what they keep away sits on their ends.
        return seats
    if b.mouth is not None and abs(a.station - b.station) > THICKEST * 2.0 * b.mouth.radius:
        return seats
    wider = max(p.hole for p, _ in b.patterns) > max(p.hole for p, _ in a.patterns) + 0.3
    return [a] if a.score > b.score or wider else seats


def _examine(
    survey: Survey,
    frame: Frame,
    station: float,
    sign: int,
    field: HoleField,
    coaxial: Sequence[Bore],
    beside: Sequence[Bore],
    planes: Sequence[Face],
    floors: Sequence[Face],
    own: Sequence[Face],
) -> Seat:
    plane = min(own, key=lambda face: abs(station_on_axis(face, frame) - station))
    seat = Seat(station=station, sign=sign, plane=plane)
    place = Place(survey=survey, frame=frame, station=station, sign=sign, planes=planes, floors=floors, own=own)
    seat.mouth, seat.floor, seat.depth = place.recess(coaxial, plane)
    seat.boss, seat.rise = place.spigot(coaxial)
    if seat.depth is None and seat.boss is None:
        found = place.beside(coaxial, beside, plane)
        if found is not None:
            seat.mouth, seat.floor, seat.depth = found.mouth or seat.mouth, found.floor, found.depth
            seat.boss, seat.rise = found.boss, found.rise
    top = station if seat.boss is None else station + sign * seat.rise
    seat.opens = seat.mouth is not None or find_mouth(survey, frame, top, sign, coaxial, planes, plane)[0] is not None
    seat.opens = seat.opens or (seat.boss is not None and place.opens_on_a_step(seat.boss, coaxial, plane))
    holes = field.opening_on(station, sign, frame.turn(plane.axis))
    if holes:
        # A ledge inside may lie level with the ends of holes that are nowhere near it.
        reach = max(radial_extent(survey, face, frame)[1] for face in own)
        holes = [hole for hole in holes if math.hypot(hole.x, hole.y) < reach]
    seat.patterns = patterns_of(holes, _centres(seat, frame, holes))
    return seat


def _centres(seat: Seat, frame: Frame, holes: Sequence[Hole]) -> list[tuple[float, float]]:
    """Where the middle of a pattern may lie on a seat, (x, y) mm.

    On the axis, on what locates the machine there, or, beside a pilot or spigot, in the middle of holes of one size.
    """
    centres = [(0.0, 0.0)]
    if seat.locator is not None:
        bore = seat.locator
        way = dot(sub(frame.at(seat.station), bore.origin), frame.along) / dot(bore.axis, frame.along)
        local = frame.local(bore.point(way))
        if math.hypot(local[1], local[2]) > SAME_STATION:
            centres.append((local[1], local[2]))
    alike: dict[float, list[Hole]] = {}
    for hole in holes if seat.depth is not None or seat.boss is not None else ():
        alike.setdefault(round(hole.radius, 2), []).append(hole)
    for group in alike.values():
        x, y = sum(hole.x for hole in group) / len(group), sum(hole.y for hole in group) / len(group)
        if len(group) > 2 and SAME_STATION < math.hypot(x, y) < BESIDE:
            centres.append((x, y))
    return centres
