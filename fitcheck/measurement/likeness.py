"""What a body looks like by its shapes alone: a machine with a shaft end; and what a file without an adapter does."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from fitcheck.measurement.cylinders import Bore
from fitcheck.measurement.extent import face_extent
from fitcheck.measurement.machines import SHOULDER, measure_machine
from fitcheck.measurement.model import BoltPattern, Register, Shaft
from fitcheck.measurement.pieces import has_inner_shaft, runs_in, shafts_of
from fitcheck.measurement.seats import Seat, coaxial_bores, find_seats
from fitcheck.measurement.survey import Survey
from fitcheck.measurement.vectors import Frame, dot, frame_on, sub
from fitcheck.standards.frames import named_frame

FREE_END = 2.0
"""mm; a shaft's end lies no farther behind the foremost point of its body: a chamfer, a centring stub."""

LEAST_LENGTH = 1.0
"""A shaft end is at least this many times as long as its radius; common practice, no source."""


SLENDER = 2.0
"""A shaft that runs in a body is at least this many of its radii long."""

FLATTEST = 0.5
"""A register is no higher than this many of its radii; common practice, no source."""


@dataclass(frozen=True, kw_only=True)
class MachineLike:
    """What looks like a machine: its frame (station 0 on its own seat, along its shaft), and what is on it.

    `body` is its own; `bodies` with it those of a shaft that runs in it.
    """

    body: int
    bodies: frozenset[int]
    frame: Frame
    shaft: Shaft
    register: Register | None
    bolts: tuple[BoltPattern, ...]

    @property
    def bolted(self) -> bool:
        """Whether it has a register or a bolt pattern about its shaft, as a motor has."""
        return self.register is not None or bool(self.bolts)

    @property
    def sure(self) -> bool:
        """Whether it has all that a machine has on one axis: shaft, register and bolt pattern, in sound proportion."""
        register = self.register
        sound = register is not None and register.height <= FLATTEST * register.diameter / 2.0
        return sound and any(pattern.layout != "irregular" for pattern in self.bolts)


def machine_like(survey: Survey, bores: Sequence[Bore], body: int) -> MachineLike | None:
    """A body as a machine, where it is solid with a shaft that sticks out of it farthest; else None.

    The shaft may be a body of its own that runs in it. An adapter with a spigot is hollow there, and a chamber with a
    shaft inside ends beyond the shaft.
    """
    bodies = frozenset((body, *_running_in(bores, body)))
    mine = [bore for bore in bores if bore.body in bodies]
    shafts = [
        boss
        for one in sorted(bodies)
        for boss in shafts_of(mine, one)
        if boss.stop - boss.start >= LEAST_LENGTH * boss.radius
    ]
    if not shafts or has_inner_shaft(mine, body):
        return None
    faces = [face for face in survey.faces if face.body in bodies]
    for boss in sorted(shafts, key=lambda boss: boss.radius):
        spans = [face_extent(survey, face, boss.origin, boss.axis) for face in faces]
        low, high = min(span[0] for span in spans), max(span[1] for span in spans)
        if high - low - (boss.stop - boss.start) < FREE_END:
            # A pin or a shaft alone has no front that it sticks out of.
            continue
        for towards in (boss, boss.reversed()):
            top = high if towards is boss else -low
            if top - towards.stop > FREE_END:
                continue
            found = _machine(survey, mine, body, bodies, towards)
            if found is not None:
                return found
    return None


def _running_in(bores: Sequence[Bore], body: int) -> list[int]:
    """Bodies whose shafts run in a body, each in a bore hardly wider than it; a register in its pilot is no shaft."""
    others = {bore.body for bore in bores if bore.body != body and not bore.concave}
    return [
        other
        for other in sorted(others)
        if any(
            boss.stop - boss.start >= SLENDER * boss.radius and runs_in(boss, bores, body)
            for boss in shafts_of(bores, other)
        )
    ]


def _machine(
    survey: Survey, mine: Sequence[Bore], body: int, bodies: frozenset[int], shaft: Bore
) -> MachineLike | None:
    frame = frame_on(shaft.origin, shaft.axis)
    seats = find_seats(survey, frame, mine, coaxial_bores(mine, frame), set(bodies), set())
    seat: Seat | None = next((seat for seat in seats if seat.sign > 0), None)
    station = seat.station if seat is not None else shaft.start
    if seat is None or not seat.patterns:
        station = _below_register(mine, shaft, station)
    machine = measure_machine(survey, frame, mine, set(bodies), station, 1, shaft_end=shaft)
    if seat is None and machine.front is not None:
        station = _below_register(mine, shaft, machine.front)
        machine = measure_machine(survey, frame, mine, set(bodies), station, 1, shaft_end=shaft)
    if machine.shaft is None or machine.front is None or machine.shaft.length <= 0.0:
        return None
    if machine.shaft.end - machine.front < LEAST_LENGTH * machine.shaft.diameter / 2.0:
        # It ends within the body.
        return None
    return MachineLike(
        body=body, bodies=bodies, frame=frame_on(frame.at(station), frame.along), shaft=machine.shaft,
        register=machine.register, bolts=() if seat is None else tuple(pattern for pattern, _ in seat.patterns),
    )  # fmt: skip


def _below_register(mine: Sequence[Bore], shaft: Bore, top: float) -> float:
    """Where the register stands whose end a face is, along the shaft's axis; the face itself where it is none."""
    for bore in coaxial_bores(mine, frame_on(shaft.origin, shaft.axis)):
        shift = dot(sub(bore.origin, shaft.origin), shaft.axis)
        low, high = bore.start + shift, bore.stop + shift
        if (
            not bore.concave
            and bore.radius > SHOULDER * shaft.radius + 0.5
            and abs(high - top) < FREE_END
            and high - low <= FLATTEST * bore.radius
        ):
            return low
    return top


def looks(survey: Survey, bores: Sequence[Bore]) -> tuple[str, str]:
    """What a file without a drive axis looks like and what it lacks, as a sentence; and a machine as a job's group.

    Returns:
        The sentence, and the lines for a job of the one machine that the file holds; "" where it holds none.
    """
    count = len(survey.bodies)
    for body in survey.bodies[:MOST_LOOKED_AT]:
        found = machine_like(survey, bores, body.index)
        if found is not None:
            what = "a machine (a motor or an actuator)" if found.bolted else "a block with a shaft end"
            alone = "alone" if len(found.bodies) == count else f"among {count} bodies"
            sentence = (
                f"'{body.name}' looks like {what} {alone}: {told(found)}; missing is the adapter that it is bolted to"
            )
            return sentence, job_group(found) if found.bolted else ""
    holes = sum(bore.concave and bore.turn > math.radians(300.0) for bore in bores)
    planes = sum(face.kind == "plane" for face in survey.faces)
    bodies = "1 body" if count == 1 else f"{count} bodies"
    sentence = (
        f"the file holds {bodies} with {len(survey.faces)} faces ({planes} plane) and {holes} round holes; missing is "
        "a bore that a coupling passes, with a bolt pattern or a pilot recess about it"
    )
    return sentence, ""


def job_group(found: MachineLike) -> str:
    """A machine as the group of a job, YAML; a motor's, as most machines with such an end are."""
    lines = ["motor:"]
    frame = named_frame(
        None if found.register is None else found.register.diameter,
        [(pattern.layout, pattern.size, pattern.count) for pattern in found.bolts],
        within=FRAME_WITHIN,
    )
    if frame is not None:
        lines.append(f"  frame: {frame.frame.name}")
    if found.register is not None:
        register = found.register
        lines.append(f"  register: {{diameter: {_number(register.diameter)}, height: {_number(register.height)}}}")
    for pattern in [p for p in found.bolts if p.layout != "irregular"][:1]:
        size = ", ".join(_number(value) for value in pattern.size)
        size = f"[{size}]" if len(pattern.size) > 1 else size
        lines.append(f"  bolts: {{layout: {pattern.layout}, size: {size}, count: {pattern.count}}}")
    shaft = found.shaft
    sizes = [f"diameter: {_number(shaft.diameter)}", f"length: {_number(shaft.length)}"]
    chamfer = abs(shaft.end - shaft.full_to)
    sizes += [f"chamfer: {_number(chamfer)}"] if chamfer > 1e-3 else []
    if shaft.flat is not None:
        length = abs(shaft.end - shaft.flat.start) if shaft.flat.start < shaft.flat.stop else abs(shaft.flat.length)
        sizes.append(f"flat: {{length: {_number(length)}, height: {_number(shaft.flat.height)}}}")
    lines.append(f"  shaft: {{{', '.join(sizes)}}}")
    return "\n".join(lines)


def _number(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".")


FRAME_WITHIN = 0.2
"""mm; a machine is called a standard frame's where its register and holes lie this close to the table."""

MOST_LOOKED_AT = 20
"""Bodies that are looked at as machines in a file without an adapter."""


def told(found: MachineLike) -> str:
    """A machine's shaft, register and bolts in words."""
    words = [f"shaft {found.shaft.diameter:.3f} mm, {found.shaft.length:.3f} mm long from its seat"]
    if found.register is not None:
        words.append(f"register {found.register.diameter:.3f} x {found.register.height:.3f} mm")
    for pattern in found.bolts[:1]:
        size = " x ".join(f"{value:.3f}" for value in pattern.size)
        words.append(f"{pattern.count} holes of {pattern.hole:.3f} mm on a {pattern.layout} {size}".strip())
    return ", ".join(words)
