"""Geometry that cannot be, and words that only a table knows: what the shapes of the model alone do not refuse.

Whether the coupling fits is not asked here; a bore that is too large for its shaft is a finding, not a wrong job.
Each rule yields complaints that say what was found and what is needed.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from typing import Any

from fitcheck.errors import TableError
from fitcheck.job.complaint import Complaint
from fitcheck.job.drive_rules import RULES as DRIVE_RULES
from fitcheck.job.element_rules import between_the_hubs
from fitcheck.job.key_rules import hub_key, job_keys
from fitcheck.job.model import (
    ACROSS,
    TO_OTHER_HUB,
    Axis,
    Bolts,
    Coupling,
    Hub,
    Job,
    Keyseat,
    Machine,
    OwnTool,
    Register,
    Screw,
    Shaft,
    ShaftFlat,
)  # fmt: skip
from fitcheck.job.units import shorten

_GRADE = r"(?:01|0|1[0-8]|[1-9])"
_LETTER = r"(?:cd|ef|fg|js|za|zb|zc|[a-hjkmnprstuvxyz])"
_HOLE_LETTER = r"(?:CD|EF|FG|JS|ZA|ZB|ZC|[A-HJKMNPRSTUVXYZ])"
_SHAFT_CLASS = re.compile(_LETTER + _GRADE)
_HOLE_CLASS = re.compile(_HOLE_LETTER + _GRADE)
_THREAD = re.compile(r"M[1-9][0-9]{0,2}(?:\.[0-9])?")

LEAST_LENGTH = 1e-6
"""A direction's length below which it is none."""


def impossible(group: Any, path: str) -> Iterator[Complaint]:
    """What cannot be in one group, all of whose values are right by themselves.

    Args:
        group: an instance of one of the model's dataclasses.
        path: its dotted path in the job.

    Yields:
        One complaint for each value to blame.
    """
    rule = _RULES.get(type(group))
    if rule is not None:
        yield from rule(group, path)


def thread_diameter(size: str) -> float:
    """Nominal diameter in mm of a metric thread such as "M2.5"."""
    return float(size.removeprefix("M"))


def _number(value: float) -> str:
    return f"{value:.6g} mm"


def _tolerance(value: str | None, path: str, *, hole: bool) -> Iterator[Complaint]:
    pattern, kind, example = (_HOLE_CLASS, "bore", "H7") if hole else (_SHAFT_CLASS, "shaft or register", "h6")
    if value is None or pattern.fullmatch(value):
        return
    case = "capital" if hole else "small"
    yield Complaint(
        path,
        f"found {shorten(value)}; needed is an ISO 286 tolerance class of a {kind}, {case} letters and a grade "
        f"from 01 to 18, such as {example}",
    )


def _shaft(shaft: Shaft, path: str) -> Iterator[Complaint]:
    yield from _tolerance(shaft.tolerance, f"{path}.tolerance", hole=False)
    if shaft.chamfer >= shaft.length:
        yield Complaint(
            f"{path}.chamfer",
            f"found a chamfer of {_number(shaft.chamfer)}; needed is less than the shaft's length, "
            f"{_number(shaft.length)}",
        )
    elif shaft.full_from >= shaft.length - shaft.chamfer:
        yield Complaint(
            f"{path}.full_from",
            f"found {_number(shaft.full_from)}; needed is less than {_number(shaft.length - shaft.chamfer)}, where "
            "the full diameter ends (the shaft's length less its chamfer)",
        )
    if shaft.flat is not None:
        yield from _flat(shaft.flat, shaft, f"{path}.flat")
    if shaft.keyseat is not None:
        yield from _keyseat(shaft.keyseat, shaft, f"{path}.keyseat")


def _flat(flat: ShaftFlat, shaft: Shaft, path: str) -> Iterator[Complaint]:
    if flat.length > shaft.length:
        yield Complaint(
            f"{path}.length",
            f"found a flat of {_number(flat.length)}; needed is at most the shaft's length, {_number(shaft.length)}",
        )
    if not shaft.diameter / 2 <= flat.height < shaft.diameter:
        yield Complaint(
            f"{path}.height",
            f"found {_number(flat.height)} from the flat to the opposite side; needed is at least half the shaft's "
            f"diameter, {_number(shaft.diameter / 2)}, and less than the diameter, {_number(shaft.diameter)}",
        )


def _keyseat(keyseat: Keyseat, shaft: Shaft, path: str) -> Iterator[Complaint]:
    if keyseat.depth >= shaft.diameter / 2:
        yield Complaint(
            f"{path}.depth",
            f"found a keyseat {_number(keyseat.depth)} deep; needed is less than half the shaft's diameter, "
            f"{_number(shaft.diameter / 2)}",
        )
    if keyseat.width >= shaft.diameter:
        yield Complaint(
            f"{path}.width",
            f"found a keyseat {_number(keyseat.width)} wide; needed is less than the shaft's diameter, "
            f"{_number(shaft.diameter)}",
        )
    if keyseat.from_end + keyseat.length > shaft.length:
        yield Complaint(
            f"{path}.length",
            f"found a keyseat that ends {_number(keyseat.from_end + keyseat.length)} from the shaft end; needed is at "
            f"most the shaft's length, {_number(shaft.length)}",
        )


def _register(register: Register, path: str) -> Iterator[Complaint]:
    yield from _tolerance(register.tolerance, f"{path}.tolerance", hole=False)


def _bolts(bolts: Bolts, path: str) -> Iterator[Complaint]:
    wanted = 2 if bolts.layout == "rectangle" else 1
    if len(bolts.size) != wanted:
        what = {
            "circle": "the bolt circle diameter",
            "square": "the side of the square",
            "rectangle": "both sides of the rectangle, such as [40, 60]",
        }[bolts.layout]
        plural = "s" if len(bolts.size) > 1 else ""
        yield Complaint(
            f"{path}.size", f"found {len(bolts.size)} number{plural} for a {bolts.layout}; needed is {what}"
        )
    if bolts.screw is not None and not _THREAD.fullmatch(bolts.screw):
        yield Complaint(f"{path}.screw", f"found {shorten(bolts.screw)}; needed is a metric thread size, such as M5")


def hole_circle(bolts: Bolts) -> float:
    """Diameter in mm of the circle on which the corner holes of a bolt pattern lie."""
    if bolts.layout == "circle":
        return bolts.size[0]
    return math.hypot(bolts.size[0], bolts.size[-1])


def _machine(machine: Machine, path: str) -> Iterator[Complaint]:
    if path == "motor" and machine.seat is not None:
        yield Complaint(
            f"{path}.seat",
            "the motor's seat is station 0 by definition; remove the key, or give 'actuator.seat' for the actuator",
        )
    if machine.frame is not None:
        from fitcheck.standards.frames import frame

        try:
            frame(machine.frame)
        except TableError as error:
            yield Complaint(f"{path}.frame", str(error))
    register, shaft = machine.register, machine.shaft
    if register is not None and shaft is not None and shaft.diameter >= register.diameter:
        yield Complaint(
            f"{path}.shaft.diameter",
            f"found a shaft of {_number(shaft.diameter)}; needed is less than the register's diameter, "
            f"{_number(register.diameter)}",
        )
    if register is not None and machine.bolts is not None and hole_circle(machine.bolts) <= register.diameter:
        yield Complaint(
            f"{path}.bolts.size",
            f"found holes on a circle of {_number(hole_circle(machine.bolts))}; needed is more than the register's "
            f"diameter, {_number(register.diameter)}",
        )


def _hub(hub: Hub, path: str) -> Iterator[Complaint]:
    yield from _tolerance(hub.bore_tolerance, f"{path}.bore_tolerance", hole=True)
    if hub.length is not None and hub.bore_length > hub.length:
        yield Complaint(
            f"{path}.bore_length",
            f"found a bore length of {_number(hub.bore_length)}; needed is at most the hub's length, "
            f"{_number(hub.length)}",
        )
    yield from hub_key(hub, path)
    kind = "set screw" if "set screw" in hub.fastening else "cap screw"
    for index, screw in enumerate(hub.screws):
        place = f"{path}.screws.{index}"
        if screw.direction == ACROSS and screw.kind != kind:
            yield Complaint(
                f"{place}.kind",
                f"found a {screw.kind} in a hub whose fastening is {hub.fastening!r}; needed is kind: {kind}, or "
                "another fastening",
            )
        yield from _screw_along(screw, hub, place)


def _screw_along(screw: Screw, hub: Hub, path: str) -> Iterator[Complaint]:
    length = hub.bore_length if hub.length is None else hub.length
    if screw.direction != ACROSS:
        if screw.kind != "cap screw":
            yield Complaint(
                f"{path}.kind", f"found a {screw.kind} along the drive axis; needed is kind: cap screw (a flange screw)"
            )
        # Between the hubs there may be more room (`between_the_hubs`).
        if screw.station > length and screw.direction != TO_OTHER_HUB:
            yield Complaint(
                f"{path}.station",
                f"found the head's outer end {_number(screw.station)} from the hub's outer face; needed is at most the "
                f"hub's length, {_number(length)}",
            )
        return
    half = thread_diameter(screw.size) / 2
    if not half <= screw.station <= length - half:
        yield Complaint(
            f"{path}.station",
            f"found {_number(screw.station)} from the hub's outer face; needed is at least half the {screw.size} "
            f"thread, {_number(half)}, and at most {_number(length - half)}, so that the thread lies within the hub's "
            f"length of {_number(length)}",
        )


def _screw_across(screw: Screw, bore: float, outside: float, path: str) -> Iterator[Complaint]:
    """The screw against the bore and the outside diameter, in the section through its axis."""
    half, offset = thread_diameter(screw.size) / 2, abs(screw.offset)
    if screw.direction != ACROSS:
        if not bore / 2 + half <= offset <= outside / 2 - half:
            yield Complaint(
                f"{path}.offset",
                f"found a bolt circle radius of {_number(screw.offset)} for the {screw.size} screw along the drive "
                f"axis; needed is at least {_number(bore / 2 + half)}, beside the bore, and at most "
                f"{_number(outside / 2 - half)}, within the hub",
            )
    elif screw.kind == "cap screw":
        if offset - half < bore / 2:
            yield Complaint(
                f"{path}.offset",
                f"found an offset of {_number(screw.offset)}, where the {screw.size} thread cuts into the bore of "
                f"{_number(bore)}; needed is at least {_number(bore / 2 + half)} to either side",
            )
        elif offset + half > outside / 2:
            yield Complaint(
                f"{path}.offset",
                f"found an offset of {_number(screw.offset)}, where the {screw.size} thread leaves the hub of "
                f"{_number(outside)}; needed is at most {_number(outside / 2 - half)} to either side",
            )
    elif offset >= bore / 2:
        yield Complaint(
            f"{path}.offset",
            f"found an offset of {_number(screw.offset)}, where the set screw passes the bore of {_number(bore)} by; "
            f"needed is less than {_number(bore / 2)} to either side, 0 for a radial one",
        )
    elif screw.head_end is not None and screw.head_end <= math.sqrt(bore**2 / 4 - offset**2):
        yield Complaint(
            f"{path}.head_end",
            f"found {_number(screw.head_end)}, which lies inside the bore of {_number(bore)}; needed is the outer end "
            "of the set screw",
        )


def _coupling(coupling: Coupling, path: str) -> Iterator[Complaint]:
    total = 0.0
    hubs = {"motor": coupling.hubs.motor, "actuator": coupling.hubs.actuator}
    for name, hub in hubs.items():
        place = f"{path}.hubs.{name}"
        outside = coupling.outside_diameter if hub.outside_diameter is None else hub.outside_diameter
        if outside > coupling.outside_diameter:
            yield Complaint(
                f"{place}.outside_diameter",
                f"found a hub of {_number(outside)}; needed is at most the coupling's outside diameter, "
                f"{_number(coupling.outside_diameter)}",
            )
        if hub.bore >= outside:
            yield Complaint(
                f"{place}.bore",
                f"found a bore of {_number(hub.bore)}; needed is less than the hub's outside diameter, "
                f"{_number(outside)}",
            )
        else:
            for index, screw in enumerate(hub.screws):
                yield from _screw_across(screw, hub.bore, outside, f"{place}.screws.{index}")
        other = hubs["actuator" if name == "motor" else "motor"]
        # a rigid sleeve may take one shaft past its middle; elsewhere the flexing part and the other hub begin
        room = coupling.length - (0.0 if coupling.family == "rigid" else other.bore_length)
        if hub.insertion_limit is not None and hub.insertion_limit > room > 0:
            yield Complaint(
                f"{place}.insertion_limit",
                f"found {_number(hub.insertion_limit)}, which reaches into the other hub or out of the coupling; "
                f"needed is at most {_number(room)}",
            )
        total += hub.bore_length if hub.length is None else hub.length
    yield from between_the_hubs(coupling, path)
    if total > coupling.length + 1e-9:
        yield Complaint(
            f"{path}.length",
            f"found {_number(coupling.length)}; needed is at least the length of both hubs, {_number(total)}",
        )
    if coupling.shaft_gap >= coupling.length:
        yield Complaint(
            f"{path}.shaft_gap",
            f"found {_number(coupling.shaft_gap)}; needed is less than the coupling's length, "
            f"{_number(coupling.length)}",
        )


def _own_tool(tool: OwnTool, path: str) -> Iterator[Complaint]:
    if not tool.sections:
        yield Complaint(f"{path}.sections", "found no section; needed is at least one cylinder of the tool")


def _axis(axis: Axis, path: str) -> Iterator[Complaint]:
    if (axis.point is None) != (axis.direction is None):
        lacking = "direction" if axis.direction is None else "point"
        yield Complaint(
            f"{path}.{lacking}", "found half of a line; needed are a point and a direction, or 'near' to choose one"
        )
    if axis.direction is not None and math.hypot(*axis.direction) < LEAST_LENGTH:
        yield Complaint(f"{path}.direction", "found no direction; needed are three numbers that are not all 0")


_RULES: dict[type[Any], Callable[[Any, str], Iterator[Complaint]]] = {
    Axis: _axis,
    Shaft: _shaft,
    Register: _register,
    Bolts: _bolts,
    Machine: _machine,
    Hub: _hub,
    Coupling: _coupling,
    Job: job_keys,
    OwnTool: _own_tool,
    **DRIVE_RULES,
}
