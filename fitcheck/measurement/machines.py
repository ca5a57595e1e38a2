"""The motor's and the actuator's own bodies: shaft, flat, keyseat, register, and the front that closes the chamber."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from fitcheck.measurement.cylinders import RADIUS_APART, Bore, offset_between
from fitcheck.measurement.extent import face_extent, radial_extent
from fitcheck.measurement.model import Flat, Keyseat, Register, Shaft
from fitcheck.measurement.mouths import CHAMFER, GROOVE, beyond_neck, station_on_axis
from fitcheck.measurement.survey import Face, Survey
from fitcheck.measurement.vectors import Frame, cross, dot, frame_on, line_angle, scale, sub

BESIDE = 4.0
"""mm; a shaft may lie no farther beside the drive axis to be the drive's: one out of line has to be found and told."""

LEANING = math.radians(6.0)
"""rad; the same for its lean."""

RIM = 1.0
"""mm; what reaches no farther beyond a shoulder of the shaft is the shaft's still."""

SHOULDER = 1.25
"""A ring wider than this many shaft radii (plus 0.5 mm) is the machine's front, not a step of the shaft."""

HOLLOW = 0.4
"""A hole of more than this part of a boss's width makes it a ring; as `shafts_of` has it."""

HUB = 2.0
"""A hub's outside is at least this many times as wide as its shaft; common practice, no source."""

COAXIAL_LEAN = math.radians(0.5)
"""rad; a face whose axis leans by more against the shaft's does not turn about it."""

WIDER = 0.005
"""mm; what stands out of a shaft's full diameter by no more is rounding."""

SHORTEST = 0.5
"""mm; a shorter cylinder is a lip, not a shaft."""


@dataclass(frozen=True, kw_only=True)
class MachineFound:
    """What a machine's bodies show; `front` is the station of its foremost face, the shaft apart."""

    shaft: Shaft | None
    front: float | None
    register: Register | None
    shaft_faces: frozenset[int]


def measure_machine(
    survey: Survey,
    frame: Frame,
    bores: Sequence[Bore],
    bodies: set[int],
    seat: float,
    inward: int,
    lean: float = 0.0,
    shaft_end: Bore | None = None,
) -> MachineFound:
    """Measure a machine.

    Args:
        survey: the file.
        frame: the axis frame.
        bores: all bores and bosses of the file.
        bodies: indices of the machine's bodies.
        seat: station of its seat, mm.
        inward: +1 where the other machine lies along the axis, else -1.
        lean: of its seat against the drive axis, rad; the machine leans as much.
        shaft_end: the boss that is the end of its shaft, where that is known.

    Returns:
        Its shaft and front; None where the bodies show none.
    """
    faces = [face for face in survey.faces if face.body in bodies]
    bosses = [
        bore.towards(scale(frame.along, inward))
        for bore in bores
        if bore.body in bodies
        and not bore.concave
        and bore.turn > math.radians(120.0)
        and bore.stop - bore.start >= SHORTEST
        and line_angle(bore.axis, frame.along) < LEANING + lean
        and offset_between(bore, frame.origin, frame.along) < BESIDE
    ]

    def depth(station: float) -> float:
        return inward * (station - seat)

    def ends(bore: Bore) -> tuple[float, float]:
        return tuple(depth(frame.local(bore.point(t))[0]) for t in (bore.start, bore.stop))  # type: ignore[return-value]

    solid = [bore for bore in bosses if not _is_ring(bore, bores)]
    tip = shaft_end.towards(scale(frame.along, inward)) if shaft_end is not None else None
    if tip is None and solid:
        tip = max(solid, key=lambda bore: ends(bore)[1])
    # A shaft out of line has its steps and its machine's front about its own axis.
    about = frame if tip is None else frame_on(tip.origin, tip.axis)
    front = _front(survey, frame, about, faces, inward, tip, lean)
    if tip is None:
        return MachineFound(shaft=None, front=front, register=None, shaft_faces=frozenset())
    radius = tip.radius
    own: list[tuple[Face, float, float]] = []
    for face in faces:
        low, high = sorted(depth(s) for s in face_extent(survey, face, frame.origin, frame.along))
        # The shaft of a body of its own starts inside the machine; what ends behind the front is no shaft end.
        near_end = front is None or high > depth(front) + 1e-6
        if near_end and radial_extent(survey, face, about)[1] <= SHOULDER * radius + 0.5 + RIM:
            own.append((face, low, high))
    end = max((high for _, _, high in own), default=ends(tip)[1])
    start, stop = ends(tip)
    grooves = []
    for deep, high in sorted((ends(bore) for bore in solid if abs(bore.radius - radius) < RADIUS_APART), reverse=True):
        if 0.0 < start - high <= GROOVE and any(
            bore.radius < radius and abs(ends(bore)[0] - high) < CHAMFER and abs(ends(bore)[1] - start) < CHAMFER
            for bore in solid
        ):
            grooves.append((seat + inward * high, seat + inward * start))
            start = deep
    if front is not None:
        # A shaft modelled as a body of its own goes on inside the machine.
        start = max(start, depth(front))
    shaft_faces = [face for face, _, _ in own]
    flat, keyseat = _cuts(survey, frame, shaft_faces, tip, seat, inward)
    own_axis = tip.towards(frame.along)
    at_end = sub(frame.at(seat + inward * end), own_axis.origin)
    origin = own_axis.point(dot(at_end, frame.along) / dot(own_axis.axis, frame.along))
    local = frame.local(origin)
    shaft = Shaft(
        diameter=2.0 * radius,
        length=end,
        end=seat + inward * end,
        full_from=seat + inward * start,
        full_to=seat + inward * stop,
        offset=math.hypot(local[1], local[2]),
        tilt=math.degrees(line_angle(tip.axis, frame.along)),
        flat=flat,
        keyseat=keyseat,
        grooves=tuple(grooves),
        origin=origin,
        direction=own_axis.axis,
        collars=_collars(survey, about, own, radius, seat, inward, front),
    )
    registers = [bore for bore in bosses if bore.radius > SHOULDER * radius + 0.5 and ends(bore)[1] > 0.2]
    register = None
    if registers:
        main = max(registers, key=lambda bore: (ends(bore)[0] < 0.5, bore.radius))
        # A groove at its foot, which relieves its corner, is narrower than the register.
        onward = [bore.towards(frame.along) for bore in registers]
        main = beyond_neck(main.towards(frame.along), frame, inward, onward) or main
        main = main.towards(scale(frame.along, inward))
        register = Register(diameter=2.0 * main.radius, height=max(ends(main)[1], depth(front) if front else 0.0))
    return MachineFound(
        shaft=shaft, front=front, register=register, shaft_faces=frozenset(face.index for face in shaft_faces)
    )


def _collars(
    survey: Survey, about: Frame, own: Sequence[tuple[Face, float, float]], radius: float, seat: float, inward: int,
    front: float | None,
) -> tuple[tuple[float, float, float], ...]:  # fmt: skip
    """What of a shaft is wider than its full diameter, in front of the machine: (start, stop, greatest radius)."""
    least = -math.inf if front is None else inward * (front - seat)
    found: list[tuple[float, float, float]] = []
    for face, low, high in own:
        round_it = face.kind in ("cylinder", "cone", "torus") and line_angle(face.axis, about.along) < COAXIAL_LEAN
        # A key in its seat is wider than the shaft too, but does not turn about its axis.
        if not round_it or face.concave or high <= least:
            continue
        widest = radial_extent(survey, face, about)[1]
        if widest > radius + WIDER:
            found.append((max(low, least), high, widest))
    joined: list[tuple[float, float, float]] = []
    for low, high, widest in sorted(found):
        if joined and low <= joined[-1][1] + CHAMFER:
            joined[-1] = (joined[-1][0], max(joined[-1][1], high), max(joined[-1][2], widest))
        else:
            joined.append((low, high, widest))
    return tuple((seat + inward * low, seat + inward * high, widest) for low, high, widest in joined)


def _is_ring(boss: Bore, bores: Sequence[Bore]) -> bool:
    """Whether a boss is a ring, a disc or a sleeve round something: hollow, and no longer than it is wide."""
    return boss.stop - boss.start < 2.0 * boss.radius and any(
        hole.body == boss.body
        and hole.concave
        and HOLLOW * boss.radius < hole.radius < boss.radius
        and line_angle(hole.axis, boss.axis) < 0.01
        and offset_between(hole, boss.origin, boss.axis) < 0.5 * boss.radius
        for hole in bores
    )


def _front(
    survey: Survey, frame: Frame, about: Frame, faces: Sequence[Face], inward: int, tip: Bore | None, lean: float
) -> float | None:
    """Station of the foremost ring that closes the chamber: it looks towards the other machine, behind the shaft's end.

    `about` is the frame of the shaft's own axis.

    A ring that a hub could pass (the mouth of a chamber in the machine's own body) is the front only where there is no
    narrower one; as an obstacle it counts anyway. A ring hardly wider than the shaft is a step of it.
    """
    radius = 0.0 if tip is None else tip.radius
    end = math.inf if tip is None else max(inward * frame.local(tip.point(t))[0] for t in (tip.start, tip.stop))
    rings = []
    for face in faces:
        if face.kind != "plane" or line_angle(face.axis, frame.along) > LEANING + lean:
            continue
        if dot(face.outward, frame.along) * inward <= 0.0:
            continue
        near, far = radial_extent(survey, face, about)
        station = station_on_axis(face, frame)
        if far > SHOULDER * radius + 0.5 and near < max(4.0 * radius, 10.0) and inward * station < end:
            rings.append((station, near))
    tight = [ring for ring in rings if ring[1] < HUB * radius + 1.0]
    return max((station for station, _ in tight or rings), key=lambda s: inward * s, default=None)


def _cuts(
    survey: Survey, frame: Frame, faces: Sequence[Face], tip: Bore, seat: float, inward: int
) -> tuple[Flat | None, Keyseat | None]:
    """The longest flat and the longest keyseat of a shaft."""
    flats: list[Flat] = []
    keyseats: list[Keyseat] = []
    radius = tip.radius
    for face in faces:
        if face.kind != "plane" or abs(dot(face.axis, tip.axis)) > math.sin(math.radians(1.0)):
            continue
        normal = face.outward
        height = dot(sub(face.origin, tip.origin), normal)
        if not -radius < height < radius - 0.02:
            continue
        across = cross(normal, tip.axis)
        left, right = face_extent(survey, face, tip.origin, across)
        low, high = sorted(inward * (s - seat) for s in face_extent(survey, face, frame.origin, frame.along))
        chord = 2.0 * math.sqrt(max(radius * radius - height * height, 0.0))
        start, stop = seat + inward * low, seat + inward * high
        if right - left > 0.98 * chord:
            flats.append(Flat(length=high - low, height=radius + height, start=start, stop=stop))
        elif height > 0.0 and abs(left + right) < 0.1 * radius and high - low > 0.5 * (right - left):
            keyseats.append(
                Keyseat(width=right - left, depth=radius - height, length=high - low, start=start, stop=stop)
            )
    flat = max(flats, key=lambda cut: cut.length, default=None)
    keyseat = max(keyseats, key=lambda cut: cut.length, default=None)
    return flat, keyseat
