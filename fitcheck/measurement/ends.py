"""From the chosen line to the axis frame and the adapter's ends, with the machines that sit on them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from fitcheck.measurement.axis import Candidate
from fitcheck.measurement.bolts import Hole
from fitcheck.measurement.coaxiality import axis_at, coaxiality
from fitcheck.measurement.cylinders import Bore
from fitcheck.measurement.end_roles import names_that_tell, settled_roles, told_apart
from fitcheck.measurement.extent import face_extent
from fitcheck.measurement.far_machine import bare_ends, with_far_machine
from fitcheck.measurement.hole_depths import hole_depth
from fitcheck.measurement.machines import MachineFound, measure_machine
from fitcheck.measurement.model import Coaxiality, End, Opening, Pilot, Register
from fitcheck.measurement.mouths import station_on_axis
from fitcheck.measurement.own_shaft import MACHINES, with_own_shafts
from fitcheck.measurement.pieces import shafts_of
from fitcheck.measurement.roles import end_order
from fitcheck.measurement.seats import Seat
from fitcheck.measurement.survey import Survey
from fitcheck.measurement.vectors import Frame, dot, frame_on, line_angle, scale, sub

TOLD = 0.1
"""degrees; a seat that leans more is warned of whatever the job asks for; common practice, no source."""


@dataclass(frozen=True, kw_only=True)
class Layout:
    """The axis frame, the ends on it, and every body's role.

    `shaft_faces` are the faces of shafts, which are no obstacles; `span` are the stations between which a coupling
    could turn: from machine front to machine front where bodies show them, else without end.
    """

    frame: Frame
    ends: tuple[End, ...]
    coaxiality: Coaxiality | None
    roles: list[str | None]
    shaft_faces: frozenset[int]
    span: tuple[float, float]


def lay_out(
    survey: Survey, bores: Sequence[Bore], chosen: Candidate, roles: list[str | None], warnings: list[str]
) -> Layout:
    """Put station 0 on the first end's seat, on the axis of its own pilot, and measure both ends.

    Args:
        survey: the file.
        bores: all its bores and bosses.
        chosen: the drive axis' candidate.
        roles: role of each body where known.
        warnings: gets what the user should know.
    """
    if not chosen.seats:
        return _without_seats(survey, bores, chosen, roles, warnings)
    seats = sorted(chosen.seats, key=lambda seat: seat.station)
    roles = names_that_tell(survey, seats, roles, warnings)
    strays: set[int] = set()
    sides = _sides(survey, bores, seats, roles, chosen, strays)
    first = _first(chosen, seats, sides, roles, warnings)
    ordered = [seats[first], *(seat for index, seat in enumerate(seats) if index != first)]
    sides = [sides[first], *(side for index, side in enumerate(sides) if index != first)]
    alike = len(ordered) == 2 and ordered[0].shares_holes(ordered[1]) and ordered[1].shares_holes(ordered[0])
    if alike and not any(sides):
        warnings.append(
            "both ends carry the same through holes, so either face may be the motor's seat: "
            "give 'motor: near: [x, y, z]', and 'actuator: seat' where the actuator sits elsewhere"
        )
    inward = -ordered[0].sign
    along = scale(chosen.frame.along, inward)
    lead = _lead(ordered[0], chosen)
    along = lead.towards(along).axis if lead is not None else along
    on_line = frame_on(lead.origin if lead is not None else chosen.frame.origin, along)
    zero = station_on_axis(ordered[0].plane, on_line)
    frame = frame_on(on_line.at(zero), along)
    roles = settled_roles(roles, sides)
    ends: list[End] = []
    shaft_faces: set[int] = set()
    for index, (seat, bodies) in enumerate(zip(ordered, sides, strict=True)):
        station = 0.0 if index == 0 else station_on_axis(seat.plane, frame)
        end, machine = _end(survey, bores, frame, seat, station, bodies, roles, 1 if index == 0 else -1)
        shaft_faces |= machine.shaft_faces
        ends.append(end)
    ends = told_apart(ends)
    for seat, end in zip(ordered, ends, strict=True):
        if end.lean >= TOLD:
            warnings.append(
                f"the {end.role} end at station {end.seat:.3f} leans by {end.lean:.3f} degrees against the drive axis"
            )
        if end.pilot is None and end.register is None:
            opening = "" if end.opening is None else f"; a plain bore of {end.opening.diameter:.3f} mm opens there"
            if end.opening is not None and seat.floor is not None:
                opening += f", {seat.floor:.3f} mm deep: more than its radius, so it counts as a passage"
            warnings.append(f"the {end.role} end at station {end.seat:.3f} has no pilot bore with a floor{opening}")
    if chosen.directed and all(end.role == "unknown" for end in ends):
        ends[0] = replace(ends[0], role=MACHINES[ordered[0].sign > 0])
        ends = told_apart(ends)
    ends, faces = with_far_machine(survey, bores, frame, ends, roles, strays, warnings)
    shaft_faces |= faces
    ends, own = with_own_shafts(survey, bores, frame, ends, roles, warnings)
    shaft_faces |= own
    ends = told_apart(ends)
    return Layout(
        frame=frame,
        ends=tuple(ends),
        coaxiality=coaxiality(frame, ends),
        roles=roles,
        shaft_faces=frozenset(shaft_faces) | {face.index for face in survey.faces if face.body in strays},
        span=_span(ends),
    )


def _without_seats(
    survey: Survey, bores: Sequence[Bore], chosen: Candidate, roles: list[str | None], warnings: list[str]
) -> Layout:
    """The layout on a line that the user gave, where the adapter has no seat."""
    frame, ends, faces = bare_ends(survey, bores, chosen, roles)
    warnings.append(
        "no seat was found on the drive axis that the job gives: its point is station 0, the motor's seat, and nothing "
        "is known of pilots and bolts"
    )
    return Layout(frame=frame, ends=tuple(ends), coaxiality=None, roles=roles, shaft_faces=faces, span=_span(ends))


def _span(ends: Sequence[End]) -> tuple[float, float]:
    low, high = -math.inf, math.inf
    if ends and ends[0].face is not None:
        low = ends[0].face
    if len(ends) > 1 and ends[1].face is not None:
        high = ends[1].face
    return low, high


def _sides(
    survey: Survey,
    bores: Sequence[Bore],
    seats: Sequence[Seat],
    roles: Sequence[str | None],
    chosen: Candidate,
    strays: set[int],
) -> list[set[int]]:
    """The machine bodies on each seat: those that touch it, those of their role, and shafts on its side.

    `strays` gets the shafts on the axis that belong to an end without a seat.
    """
    frame = chosen.frame
    sides = [set(seat.touched_by) for seat in seats]
    on_axis = {bore.body for bore in chosen.shafts}
    for index, role in enumerate(roles):
        if role in ("adapter", "coupling", "ignored") or any(index in side for side in sides):
            continue
        if role is None and index not in on_axis:
            continue
        faces = [face for face in survey.faces if face.body == index]
        spans = [face_extent(survey, face, frame.origin, frame.along) for face in faces]
        spans = [span for span in spans if span[0] <= span[1]]
        if not spans:
            continue
        low, high = min(span[0] for span in spans), max(span[1] for span in spans)
        for seat, side in zip(seats, sides, strict=True):
            reach = seat.sign * ((high if seat.sign > 0 else low) - seat.station)
            if reach > 0.5:
                side.add(index)
                break
        else:
            if index in on_axis and any(_slender(boss) for boss in shafts_of(bores, index)):
                _place_inner(low, high, index, seats, sides, chosen, strays)
    for role in MACHINES:
        mine = {index for index, known in enumerate(roles) if known == role}
        for side in sides:
            if side & mine:
                side |= mine
    return sides


def _place_inner(
    low: float,
    high: float,
    index: int,
    seats: Sequence[Seat],
    sides: list[set[int]],
    chosen: Candidate,
    strays: set[int],
) -> None:
    """Put a shaft that lies within the adapter from end to end on the end that it is nearer to.

    Where that end has no seat in the file, it is a stray.
    """
    places = [chosen.frame.local(bore.point(t))[0] for bore in chosen.coaxial for t in (bore.start, bore.stop)]
    places += [seat.station for seat in seats]
    before, after = low - min(places), max(places) - high
    sign = -1 if before < after else 1
    for seat, side in zip(seats, sides, strict=True):
        if seat.sign == sign:
            side.add(index)
            return
    strays.add(index)


def _slender(boss: Bore) -> bool:
    """Whether a boss is as long as a shaft is, not a ring or a disc."""
    return boss.stop - boss.start >= 2.0 * boss.radius


def _first(
    chosen: Candidate,
    seats: Sequence[Seat],
    sides: Sequence[set[int]],
    roles: Sequence[str | None],
    warnings: list[str],
) -> int:
    """Index of the seat that station 0 is put on: the motor's where known."""
    for index, side in enumerate(sides):
        if any(roles[body] == "motor" for body in side):
            return index
    if len(seats) < 2:
        return 0
    for index, side in enumerate(sides):
        if any(roles[body] == "actuator" for body in side):
            return 1 - index
    if chosen.directed:
        return next((index for index, seat in enumerate(seats) if seat.sign < 0), 0)
    ends = [_bare_end(chosen.frame, seat) for seat in seats]
    return end_order(ends)


def _lead(seat: Seat, chosen: Candidate) -> Bore | None:
    """The bore whose axis is the drive axis: what locates the first end, else its shaft or any bore."""
    if seat.locator is not None:
        return seat.locator
    everything = [*chosen.shafts, *(bore for bore in chosen.coaxial if bore.concave)]
    return max(everything, key=lambda bore: bore.stop - bore.start, default=None)


def _bare_end(frame: Frame, seat: Seat) -> End:
    """An end as its seat alone shows it, for telling ends apart."""
    pilot = None
    if seat.mouth is not None and seat.depth is not None:
        pilot = Pilot(
            diameter=2.0 * seat.mouth.radius, depth=seat.depth, origin=seat.mouth.origin, direction=seat.mouth.axis
        )
    return End(role="unknown", seat=seat.station, pilot=pilot, bolts=tuple(pattern for pattern, _ in seat.patterns))


def _end(
    survey: Survey,
    bores: Sequence[Bore],
    frame: Frame,
    seat: Seat,
    station: float,
    bodies: set[int],
    roles: Sequence[str | None],
    inward: int,
) -> tuple[End, MachineFound]:
    machine = MachineFound(shaft=None, front=None, register=None, shaft_faces=frozenset())
    if bodies:
        lean = line_angle(seat.plane.axis, frame.along)
        machine = measure_machine(survey, frame, bores, bodies, station, inward, lean)
    role = next((str(roles[body]) for body in sorted(bodies) if roles[body] in MACHINES), "unknown")
    end = _bare_end(frame, seat)
    opening = None
    if seat.mouth is not None and seat.depth is None:
        opening = Opening(diameter=2.0 * seat.mouth.radius, length=seat.mouth.stop - seat.mouth.start)
    pilot, register = end.pilot, None
    if pilot is not None and seat.mouth is not None:
        origin, direction = axis_at(seat.mouth, frame, station)
        pilot = replace(pilot, origin=origin, direction=direction)
    elif opening is not None and seat.mouth is not None:
        origin, direction = axis_at(seat.mouth, frame, station)
        opening = replace(opening, origin=origin, direction=direction)
    if seat.boss is not None:
        origin, direction = axis_at(seat.boss, frame, station)
        register = Register(diameter=2.0 * seat.boss.radius, height=seat.rise, origin=origin, direction=direction)
    bolts = tuple(
        replace(pattern, holes=_holes(frame, group, station), slots=_slots(frame, group), depth=depth, through=through)
        for pattern, group in seat.patterns
        for depth, through in (hole_depth(survey, frame, group, -inward),)
    )
    return (
        replace(
            end,
            role=role,
            seat=station,
            pilot=pilot,
            opening=opening,
            register=register,
            bolts=bolts,
            # What no name calls a machine's, and ends behind the seat before no front, is a ring or a pin.
            shaft=None if role == "unknown" and _is_no_end(machine) else machine.shaft,
            face=machine.front,
            machine_register=machine.register,
            bodies=tuple(sorted(bodies)),
            lean=math.degrees(line_angle(seat.plane.axis, frame.along)),
        ),
        machine,
    )


def _is_no_end(machine: MachineFound) -> bool:
    return machine.shaft is not None and machine.shaft.length <= 0.0 and machine.front is None


def _holes(frame: Frame, group: Sequence[Hole], station: float) -> tuple[tuple[float, float], ...]:
    """Centres of holes where their axes pass the seat's station, (x, y) mm."""
    found = []
    for hole in group:
        bore = hole.bore
        way = dot(sub(frame.at(station), bore.origin), frame.along) / dot(bore.axis, frame.along)
        local = frame.local(bore.point(way))
        found.append((local[1], local[2]))
    return tuple(found)


def _slots(frame: Frame, group: Sequence[Hole]) -> tuple[tuple[float, float], ...]:
    """Direction (degrees) and travel (mm) of each hole of a pattern where any is a slot; a round one has no travel."""
    found = []
    for hole in group:
        _, x, y = (0.0, 1.0, 0.0) if hole.reach is None else frame.turn(hole.reach)
        travel = 0.0 if hole.reach is None else 2.0 * math.hypot(x, y)
        found.append((math.degrees(math.atan2(y, x)) % 180.0, travel))
    return tuple(found) if any(hole.reach is not None for hole in group) else ()
