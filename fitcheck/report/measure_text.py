"""A measurement as a page that a designer reads."""

from __future__ import annotations

from collections.abc import Callable
from math import acos, degrees, hypot
from typing import Any

from fitcheck.measurement.model import Body, BoltPattern, Cylinder, End, Measurement, Shaft, Vector
from fitcheck.report.cautions import CAUTION
from fitcheck.report.page import clean, number, table, wrapped
from fitcheck.report.profile import stretches
from fitcheck.report.wording import plural

FRAME_TOLERANCE = 0.5
"""mm; a standard frame is named only when its pilot or bolts lie this close to what was measured."""
MOST_CYLINDERS = 40
_LABEL = 14
_LOCATORS = {"pilot": "pilot", "register": "register", "opening": "bore"}

FrameLookup = Callable[[float | None, str | None, tuple[float, ...], int], "tuple[Any, float] | None"]


def measure_text(measurement: Measurement, *, closest_frame: FrameLookup | None = None) -> str:
    """The page, at most 100 columns wide, ending in a newline.

    Args:
        measurement: what was measured.
        closest_frame: looks a standard frame up by pilot diameter, bolt layout, size and count; the tables of
            `fitcheck.standards.frames` where None.
    """
    look_up = _tables() if closest_frame is None else closest_frame
    lines = wrapped(clean(measurement.file), first="Measured  ")
    lines += _labelled("File unit", f"{clean(measurement.file_unit)}; all lengths below are mm, angles degrees")
    if measurement.from_cache:
        lines += _labelled("From cache", "the file is unchanged since it was measured")
    if not measurement.complete:
        lines += _labelled("Incomplete", "parts of the file could not be read; the warnings say what is missing")
    lines += ["", "Bodies"]
    lines += table(
        ("#", "body", "role", "volume mm3", "box mm", "off axis", "touches"),
        [
            (
                str(index),
                clean(b.name),
                b.role,
                number(b.volume, 1),
                _box(b),
                "" if b.distance is None else number(b.distance, 2),
                ", ".join(f"#{i + 1}" for i in b.touches),
            )
            for index, b in enumerate(measurement.bodies, start=1)
        ],
        right=(0, 3, 5),
    )
    lines += ["", "Drive axis"]
    axis = measurement.drive_axis
    if axis is None:
        lines += wrapped("none was found; the warnings say why", 2)
    else:
        lines += _labelled("Station 0", _vector(axis.origin))
        lines += _labelled("Direction", f"{_vector(axis.direction, 6)}, from the end at station 0")
        lines += _labelled("Shaft angle 0", _vector(axis.across, 6))
    if measurement.unsettled is not None and measurement.unsettled.job_group:
        lines += ["", "The machine in this file, as a job's group"]
        for line in measurement.unsettled.job_group.splitlines():
            text = line.lstrip()
            lines.append(" " * (2 + len(line) - len(text)) + clean(text))
    for end in measurement.ends:
        lines += ["", *_end(end, look_up)]
    if measurement.coaxiality is not None:
        found = measurement.coaxiality
        first, second = (_LOCATORS[what] for what in found.features)
        lines += ["", f"Second end's {second} against the first's {first}, at the second seat"]
        lines += _labelled("Offset", f"{number(found.offset, 4)} mm")
        lines += _labelled("Tilt", f"{number(found.tilt, 4)} degrees")
    lines += _windows(measurement)
    lines += _coupling(measurement)
    lines += _free_radius(measurement)
    lines += _cylinders(measurement)
    if measurement.warnings:
        lines += ["", "Warnings"]
        for text in measurement.warnings:
            lines += wrapped(clean(text), 2, "- ")
    lines += ["", *wrapped(CAUTION)]
    return "\n".join(lines) + "\n"


def _tables() -> FrameLookup:
    from fitcheck.standards.frames import closest_frame

    return closest_frame


def _labelled(label: str, text: str) -> list[str]:
    return wrapped(text, 2, f"{label + ':':<{_LABEL + 1}}")


def _vector(vector: Vector, decimals: int = 3) -> str:
    # Adding 0.0 turns a rounded minus nought into nought.
    return "(" + ", ".join(number(round(v, decimals) + 0.0, decimals) for v in vector) + ")"


def _end(end: End, closest_frame: FrameLookup) -> list[str]:
    name = {"motor": "Motor end", "actuator": "Actuator end"}.get(end.role, "End whose machine is not known")
    lines = [name, *_labelled("Seat", f"station {number(end.seat)}")]
    if end.pilot is not None:
        lines += _labelled("Pilot bore", f"diameter {number(end.pilot.diameter)}, depth {number(end.pilot.depth)}")
    else:
        lines += _labelled("Pilot bore", "none")
    if end.opening is not None:
        text = f"diameter {number(end.opening.diameter)}, length {number(end.opening.length)}"
        lines += _labelled("Opening", text)
    if end.register is not None:
        text = f"diameter {number(end.register.diameter)}, height {number(end.register.height)}, on the adapter"
        lines += _labelled("Register", text)
    for pattern in end.bolts:
        lines += _labelled("Bolts", _bolts(pattern))
    if end.machine_register is not None:
        text = f"diameter {number(end.machine_register.diameter)}, height {number(end.machine_register.height)}"
        lines += _labelled("Its register", f"{text}, on the machine")
    if end.face is not None:
        lines += _labelled("Its face", f"station {number(end.face)}")
    if end.shaft is not None:
        lines += _shaft(end.shaft)
    frame = _frame(end, closest_frame)
    if frame is not None:
        lines += _labelled("Closest frame", frame)
    return lines


def _bolts(pattern: BoltPattern) -> str:
    size = " x ".join(number(v) for v in pattern.size)
    layout = f"{pattern.layout} {size}".strip()
    if pattern.bolt_circle is not None and pattern.layout != "circle":
        layout += f" (bolt circle {number(pattern.bolt_circle)})"
    thread = {None: "", True: ", threaded", False: ", not threaded"}[pattern.threaded]
    if pattern.depth is not None:
        ends = {None: "", True: ", through", False: ", blind"}[pattern.through]
        thread += f", {number(pattern.depth)} deep{ends}"
    if pattern.slots:
        ways = ", ".join(f"{number(travel)} at {number(angle, 1)} degrees" for angle, travel in pattern.slots)
        return f"{pattern.count} on a {layout}, slots {number(pattern.hole)} wide, travel {ways}{thread}"
    return f"{pattern.count} on a {layout}, holes of diameter {number(pattern.hole)}{thread}"


def _shaft(shaft: Shaft) -> list[str]:
    lines = _labelled(
        "Shaft",
        f"diameter {number(shaft.diameter)}, length {number(shaft.length)} from the seat, end at station "
        f"{number(shaft.end)}; full diameter from station {number(shaft.full_from)} to {number(shaft.full_to)}",
    )
    if shaft.offset > 0.0005 or shaft.tilt > 0.0005:
        text = f"offset {number(shaft.offset, 4)}, tilt {number(shaft.tilt, 4)} degrees, against the drive axis"
        lines += _labelled("Shaft's axis", text)
    if shaft.flat is not None:
        flat = shaft.flat
        text = f"length {number(flat.length)}, height {number(flat.height)}"
        lines += _labelled("Flat", f"{text}, station {number(flat.start)} to {number(flat.stop)}")
    if shaft.keyseat is not None:
        seat = shaft.keyseat
        text = f"width {number(seat.width)}, depth {number(seat.depth)}, length {number(seat.length)}"
        lines += _labelled("Keyseat", f"{text}, station {number(seat.start)} to {number(seat.stop)}")
    for first, last in shaft.grooves:
        lines += _labelled("Ring groove", f"station {number(first)} to {number(last)}")
    return lines


def _frame(end: End, closest_frame: FrameLookup) -> str | None:
    """The standard frame that pilot and bolts fit, else the one that a bolt pattern alone fits."""
    pilot = None if end.pilot is None else end.pilot.diameter
    patterns = [pattern for pattern in end.bolts if pattern.layout != "irregular"]
    both = [closest_frame(pilot, pattern.layout, pattern.size, pattern.count) for pattern in patterns]
    if not patterns and pilot is not None:
        both = [closest_frame(pilot, None, (), 0)]
    found = _nearest(both)
    if found is not None:
        known = "; the table was typed from memory" if getattr(found[0], "confidence", "") == "memory" else ""
        return f"{clean(found[0].name)}, {number(found[1])} mm off at most ({clean(found[0].standard)}{known})"
    found = _nearest([closest_frame(None, pattern.layout, pattern.size, pattern.count) for pattern in patterns])
    if found is None:
        return None
    register = number(found[0].register_diameter)
    return f"{clean(found[0].name)} by its bolts alone, {number(found[1])} mm off; its register is {register}"


def _nearest(found: list[tuple[Any, float] | None]) -> tuple[Any, float] | None:
    near = [pair for pair in found if pair is not None and pair[1] <= FRAME_TOLERANCE]
    return min(near, key=lambda pair: pair[1], default=None)


def _box(body: Body) -> str:
    if body.box is None:
        return ""
    return " x ".join(number(high - low, 1) for low, high in zip(*body.box, strict=True))


def _windows(measurement: Measurement) -> list[str]:
    if not measurement.windows:
        return []
    rows = [
        (number(w.start, 2), number(w.stop, 2), number(w.angle, 1), number(w.width, 2), _vector(w.direction))
        for w in measurement.windows
    ]
    return [
        "", "Windows of the chamber",
        *table(("from station", "to station", "shaft angle", "width", "direction"), rows, right=(0, 1, 2, 3)),
    ]  # fmt: skip


def _coupling(measurement: Measurement) -> list[str]:
    found = measurement.coupling
    if found is None:
        return []
    lines = ["", "Coupling in the file"]
    lines += _labelled("Stations", f"{number(found.start)} to {number(found.stop)}, length {number(found.length)}")
    lines += _labelled("Diameter", f"{number(found.outside_diameter)}, of its widest cylinder about the drive axis")
    lines += _labelled(
        "Swept radius",
        f"{number(found.radius)} at station {number(found.station)}; too large by {number(found.bound, 4)} at most",
    )
    for bore in found.bores:
        lines += _labelled("Bore", f"{number(bore.diameter)} from {number(bore.start)} to {number(bore.stop)}")
    return lines


def _free_radius(measurement: Measurement) -> list[str]:
    found = measurement.free_radius
    if found is None:
        return []
    lines = ["", "Free radius (shafts and coupling left out)"]
    lines += _labelled("Least", f"{number(found.least)} at station {number(found.station)}")
    rows = [
        (number(part.start), number(part.stop), number(part.least), number(part.most))
        for part in stretches(found.profile)
    ]
    if rows:
        lines += table(("from station", "to station", "least", "greatest"), rows, right=(0, 1, 2, 3))
    return lines


def _cylinders(measurement: Measurement) -> list[str]:
    if not measurement.cylinders:
        return []
    grouped: dict[tuple[str, ...], int] = {}
    # The drive axis's own cylinders come first, in the order of their stations; the others by diameter.
    for cylinder in sorted(measurement.cylinders, key=lambda c: _order(measurement, c)):
        text, _, first, last = _relation(measurement, cylinder)
        key = (
            cylinder.kind, number(cylinder.diameter), text, number(first), number(last), number(cylinder.turn, 1),
            clean(cylinder.body),
        )  # fmt: skip
        grouped[key] = grouped.get(key, 0) + 1
    rows = [(str(count), *key) for key, count in grouped.items()]
    lines = ["", "Cylinders (from and to are stations where the axis is parallel to the drive axis)"]
    lines += table(
        ("count", "kind", "diameter", "axis", "from", "to", "turn", "body"),
        rows[:MOST_CYLINDERS],
        right=(0, 2, 4, 5, 6),
    )
    if len(rows) > MOST_CYLINDERS:
        lines += wrapped(f"and {plural(len(rows) - MOST_CYLINDERS, 'more kind')}; --format json lists them all", 2)
    return lines


def _order(measurement: Measurement, cylinder: Cylinder) -> tuple[int, float, float]:
    _, rank, first, _ = _relation(measurement, cylinder)
    return (rank, first, cylinder.diameter) if rank == 0 else (rank, -cylinder.diameter, first)


def _relation(measurement: Measurement, cylinder: Cylinder) -> tuple[str, int, float, float]:
    """How a cylinder lies to the drive axis in words and as a rank, and from where to where it goes."""
    axis = measurement.drive_axis
    if axis is None:
        return f"along {_vector(cylinder.direction)}", 3, cylinder.start, cylinder.stop
    along = sum(a * b for a, b in zip(cylinder.direction, axis.direction, strict=True))
    away = [cylinder.origin[i] - axis.origin[i] for i in range(3)]
    station = sum(a * b for a, b in zip(away, axis.direction, strict=True))
    across = [away[i] - station * axis.direction[i] for i in range(3)]
    distance = hypot(*across)
    # The sine, from the part across the drive axis, keeps small angles that the cosine loses.
    sine = hypot(*(cylinder.direction[i] - along * axis.direction[i] for i in range(3)))
    if sine < 1e-3:
        ends = sorted((station + along * cylinder.start, station + along * cylinder.stop))
        if distance < 0.01:
            return "drive axis", 0, ends[0], ends[1]
        return f"parallel, {number(distance)} off", 1, ends[0], ends[1]
    return f"at {number(degrees(acos(min(1.0, abs(along)))), 1)} degrees", 2, cylinder.start, cylinder.stop
