"""Who is who: which body is adapter, motor, actuator or coupling, and which end of the adapter takes which machine."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fitcheck.measurement.cylinders import Bore
from fitcheck.measurement.model import AxisLine, End, Flat, FreeRadius, Keyseat, Measurement, Shaft, Vector
from fitcheck.measurement.options import (
    ALSO_IN_COUPLINGS,
    ALSO_IN_MACHINES,
    ROLE_WORDS,
    MeasureOptions,
    body_names,
    matches,
)
from fitcheck.measurement.pieces import has_inner_shaft, has_shaft, runs_in, shafts_of
from fitcheck.measurement.survey import Survey

if TYPE_CHECKING:
    from fitcheck.job.model import Job, Machine


SEAT_APART = 0.1
"""mm; a measured seat farther from the station that the job gives is not the actuator's."""


@dataclass(frozen=True, kw_only=True)
class NamedRoles:
    """Attributes:

    roles: of each body, None where its name does not tell.
    doubtful: bodies without a shaft that words tell are a machine's, beside an adapter: they may be a piece of the
        adapter, and have no role yet; the role that words tell.
    hosts: bodies that words tell are a machine's, as a nameless shaft runs in them or a shaft that is one piece with
        them ends in their own chamber.
    """

    roles: list[str | None]
    doubtful: dict[int, str]
    hosts: frozenset[int]


def named_roles(survey: Survey, bores: Sequence[Bore], options: MeasureOptions) -> NamedRoles:
    """The role of each body by the options' patterns, then by the words in its name; None where neither tells.

    A word in a body's own name counts before one in the names of the assemblies that it is part of. A motor or an
    actuator that only words tell must have a shaft among its bodies, or one of a nameless body that runs in them;
    without one they are pieces of the adapter (a "motor side" of a housing) where no other body is.
    """
    patterns = {
        "ignored": options.ignore,
        "coupling": options.coupling,
        "motor": options.motor,
        "actuator": options.actuator,
        "adapter": options.adapter,
    }
    found: list[str | None] = []
    by_word: dict[str, list[int]] = {"motor": [], "actuator": []}
    for body in survey.bodies:
        known = body_names(body.index, body.names)
        role = next((role for role, wanted in patterns.items() if matches(wanted, known)), None)
        told = role is not None
        if role is None:
            role = role_by_words([*reversed(body.name.split("/")), *body.names])
        found.append(role)
        if not told and role in by_word:
            by_word[role].append(body.index)
    doubtful: dict[int, str] = {}
    hosts: set[int] = set()
    adapter = "adapter" in found
    for word, bodies in by_word.items():
        if not bodies or any(has_shaft(bores, index) for index in bodies):
            hosts |= {index for index in bodies if has_inner_shaft(bores, index)}
            continue
        running = [
            other
            for other, role in enumerate(found)
            if role is None and any(runs_in(s, bores, index) for s in shafts_of(bores, other) for index in bodies)
        ]
        for index in running:
            found[index] = word
        if running:
            hosts |= set(bodies)
            continue
        for index in bodies:
            found[index] = None if adapter else "adapter"
            if adapter:
                doubtful[index] = word
    if len(found) == 1 and found[0] != "ignored":
        found[0], doubtful = "adapter", {}
    return NamedRoles(roles=found, doubtful=doubtful, hosts=frozenset(hosts))


def role_by_words(names: Sequence[str]) -> str | None:
    """The role that the first telling name tells; a part with a word that couplings have too may be one of theirs."""
    texts = [name.casefold().replace("_", " ").replace("-", " ") for name in names]
    for text in texts:
        found = next(((r, word) for r, words in ROLE_WORDS for word in words if word in text), None)
        if found is not None:
            if found[0] != "adapter":
                return found[0]
            around = [_word_role(other) for other in texts if other != text]
            if found[1] in ALSO_IN_COUPLINGS and "coupling" in around:
                return "coupling"
            # A plate of a motor's assembly is the motor's, unless the assembly is called an adapter's too.
            machine = next((role for role in around if role in ("motor", "actuator", "adapter")), None)
            return machine if machine is not None and found[1] in ALSO_IN_MACHINES else "adapter"
    return None


def _word_role(text: str) -> str | None:
    return next((role for role, words in ROLE_WORDS if any(word in text for word in words)), None)


def flipped(measurement: Measurement, seat: float) -> Measurement:
    """The same measurement with the axis turned round and station 0 at `seat` (a station of the old axis)."""
    from fitcheck.measurement.obstacles import Obstacles

    axis = measurement.drive_axis
    if axis is None:
        return measurement

    def s(station: float) -> float:
        return seat - station

    def flat(cut: Flat | None) -> Flat | None:
        return None if cut is None else replace(cut, start=s(cut.start), stop=s(cut.stop))

    def keyseat(cut: Keyseat | None) -> Keyseat | None:
        return None if cut is None else replace(cut, start=s(cut.start), stop=s(cut.stop))

    def turned(direction: Vector) -> Vector:
        return (-direction[0], -direction[1], -direction[2])

    def shaft(found: Shaft | None) -> Shaft | None:
        if found is None:
            return None
        return replace(
            found, end=s(found.end), full_from=s(found.full_from), full_to=s(found.full_to), flat=flat(found.flat),
            keyseat=keyseat(found.keyseat), grooves=tuple((s(a), s(b)) for a, b in found.grooves),
            collars=tuple((s(a), s(b), r) for a, b, r in found.collars),
            direction=None if found.direction is None else turned(found.direction),
        )  # fmt: skip

    def end(found: End) -> End:
        # The second direction across the axis turns round with the axis; the first stays.
        bolts = tuple(
            replace(
                b, holes=tuple((x, -y) for x, y in b.holes), slots=tuple((-angle % 180.0, t) for angle, t in b.slots)
            )
            for b in found.bolts
        )
        pilot, opening, register = found.pilot, found.opening, found.register
        if pilot is not None:
            pilot = replace(pilot, direction=turned(pilot.direction))
        if opening is not None and opening.direction is not None:
            opening = replace(opening, direction=turned(opening.direction))
        if register is not None and register.direction is not None:
            register = replace(register, direction=turned(register.direction))
        return replace(
            found, seat=s(found.seat), pilot=pilot, opening=opening, register=register, bolts=bolts,
            shaft=shaft(found.shaft),
            face=None if found.face is None else s(found.face),
        )  # fmt: skip

    origin = measurement.point(seat)
    free = measurement.free_radius
    if free is not None:
        free = FreeRadius(
            least=free.least, station=s(free.station), profile=tuple((s(a), r) for a, r in reversed(free.profile))
        )
    obstacles = measurement.obstacles
    if obstacles is not None:
        import numpy as np

        mirror, shift = np.array([-1.0, 1.0, -1.0]), np.array([seat, 0.0, 0.0])
        obstacles = Obstacles(
            segments=obstacles.segments * mirror + shift, segment_bound=obstacles.segment_bound,
            segment_body=obstacles.segment_body, triangles=obstacles.triangles * mirror + shift,
            triangle_bound=obstacles.triangle_bound, triangle_body=obstacles.triangle_body,
        )  # fmt: skip
    coupling = measurement.coupling
    if coupling is not None:
        coupling = replace(
            coupling, start=s(coupling.stop), stop=s(coupling.start), station=s(coupling.station),
            profile=tuple((s(a), r) for a, r in reversed(coupling.profile)),
            bores=tuple(replace(b, start=s(b.stop), stop=s(b.start)) for b in reversed(coupling.bores)),
        )  # fmt: skip
    apart = measurement.coaxiality
    return replace(
        measurement,
        coupling=coupling,
        coaxiality=None if apart is None else replace(apart, features=apart.features[::-1]),
        windows=tuple(
            replace(window, start=s(window.stop), stop=s(window.start), angle=-window.angle % 360.0)
            for window in reversed(measurement.windows)
        ),
        drive_axis=AxisLine(origin=origin, direction=turned(axis.direction), across=axis.across),
        ends=tuple(end(found) for found in reversed(measurement.ends)),
        free_radius=free,
        obstacles=obstacles,
        warnings=tuple(_turned_round(text, seat) for text in measurement.warnings),
    )


def orient(measurement: Measurement, job: Job) -> Measurement:
    """The measurement with its ends told apart by the job: the motor's first, at station 0.

    Roles that the file's bodies gave stay. Otherwise the job's `near` points decide, then which end fits the
    registers and bolts that the job gives; where nothing tells, the first end is the motor's and a warning says so.
    """
    if measurement.drive_axis is None or not measurement.ends:
        return measurement
    roles = [end.role for end in measurement.ends]
    warnings = measurement.warnings
    if "motor" in roles:
        first = roles.index("motor")
    elif "actuator" in roles and len(roles) > 1:
        first = 1 - roles.index("actuator")
    elif roles == ["actuator"]:
        first = -1
    else:
        first, told = _fitting_end(measurement, job)
        if not told:
            warnings = (
                *warnings,
                "nothing tells which end is the motor's: the one at station 0 was taken; give 'motor: near: [x, y, z]'"
                " or the motor's register and bolts to settle it",
            )
    if first == -1:
        return replace(measurement, warnings=warnings)
    if first == 1:
        measurement = flipped(measurement, measurement.ends[1].seat)
        warnings = measurement.warnings
    ends = [replace(measurement.ends[0], role="motor")]
    ends += [replace(end, role="actuator") for end in measurement.ends[1:]]
    said = job.actuator.seat
    if said is not None and len(ends) > 1 and not ends[1].on_adapter:
        ends[1] = ends[1].at_seat(said)
    elif said is not None and len(ends) > 1 and abs(ends[1].seat - said) > SEAT_APART:
        warnings = (
            *warnings,
            f"the job puts the actuator's seat at station {said:g}; the adapter's face at station "
            f"{ends[1].seat:g} is not taken for it",
        )
        ends = ends[:1]
    # A machine that no name told is one now that its end is known.
    of = {index: end.role for end in ends for index in end.bodies}
    bodies = tuple(
        replace(body, role=of[index]) if index in of and body.role == "other" else body
        for index, body in enumerate(measurement.bodies)
    )
    return replace(measurement, bodies=bodies, ends=tuple(ends), warnings=warnings)


def _turned_round(warning: str, seat: float) -> str:
    """A warning of the measurement, with its stations counted from the other end; they are told to 0.001 mm."""

    def turned(found: re.Match[str]) -> str:
        stations = sorted(seat - float(text) + 0.0 for text in found.groups() if text is not None)
        return "station " + " to ".join(f"{station:.3f}" for station in stations)

    text = re.sub(r"\bstation (-?\d+\.\d{3})(?: to (-?\d+\.\d{3}))?", turned, warning)
    other = {"first": "second", "second": "first"}
    return re.sub(r"\b(first|second) end\b", lambda found: f"{other[found[1]]} end", text)


def _fitting_end(measurement: Measurement, job: Job) -> tuple[int, bool]:
    """Index of the motor's end, and whether anything told so."""
    ends = measurement.ends
    for machine, sign in ((job.motor, 1), (job.actuator, -1)):
        if machine.near is not None:
            near = machine.near
            distances = [math.dist(near, measurement.point(end.seat)) for end in ends]
            closest = distances.index(min(distances))
            if len(ends) == 1:
                return (0, True)
            return (closest if sign > 0 else 1 - closest, True)
    if len(ends) == 1:
        return 0, True
    motor, actuator = _wanted(job.motor), _wanted(job.actuator)
    direct = _misfit(ends[0], motor) + _misfit(ends[1], actuator)
    crossed = _misfit(ends[1], motor) + _misfit(ends[0], actuator)
    if abs(direct - crossed) < 0.05:
        return 0, False
    return (0 if direct < crossed else 1), True


def _wanted(machine: Machine) -> tuple[float | None, float | None]:
    """Register diameter and bolt circle diameter that a machine asks for, mm; None where it says nothing."""
    register = machine.register.diameter if machine.register is not None else None
    circle: float | None = None
    if machine.bolts is not None:
        size = machine.bolts.size
        circle = {
            "circle": size[0],
            "square": size[0] * math.sqrt(2.0),
            "rectangle": math.hypot(size[0], size[-1]),
        }[machine.bolts.layout]
    if machine.frame is not None:
        from fitcheck.standards.frames import frame

        standard = frame(machine.frame)
        register = register or standard.register_diameter
        if circle is None:
            circle = standard.size[0] * (math.sqrt(2.0) if standard.layout == "square" else 1.0)
    return register, circle


def _misfit(end: End, wanted: tuple[float | None, float | None]) -> float:
    """How badly an end fits, mm; 0 where nothing is asked, a fixed penalty where the end lacks what is asked."""
    register, circle = wanted
    total = 0.0
    if register is not None:
        bore = end.pilot.diameter if end.pilot else end.opening.diameter if end.opening else None
        total += 5.0 if bore is None else min(abs(bore - register), 5.0)
    if circle is not None:
        circles = [bolts.bolt_circle for bolts in end.bolts if bolts.bolt_circle is not None]
        total += 5.0 if not circles else min(*(abs(c - circle) for c in circles), 5.0)
    return total


def end_order(ends: Sequence[End]) -> int:
    """Which of two ends comes first where no body and no job tells: 0 or 1.

    Only shapes decide, so that moving the file does not: a motor's standard frame, then the larger bolt circle, then
    the larger pilot.
    """
    from fitcheck.standards.frames import closest_frame

    if len(ends) < 2:
        return 0
    keys = []
    for end in ends:
        bolts = end.bolts[0] if end.bolts else None
        pilot = end.pilot.diameter if end.pilot else None
        match = None
        if pilot is not None and bolts is not None:
            match = closest_frame(pilot, bolts.layout, bolts.size, bolts.count)
        is_frame = match is not None and match[1] < 0.3
        keys.append((is_frame, round(bolts.bolt_circle or 0.0, 3) if bolts else 0.0, round(pilot or 0.0, 3)))
    return 1 if keys[1] > keys[0] else 0
