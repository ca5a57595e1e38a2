"""Invented motors and linear actuators: a body, a flange with holes, a register and a shaft end.

A machine is described in its own frame: seat at z = 0, shaft along +z, body at -z, x at shaft angle 0. `motor` leaves
it there (the motor seat is the adapter's z = 0); `actuator` turns it about x and sets it on its seat. Lengths mm.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import cadquery as cq

from parametric_models.adapters.features import OVER, Holes, block, carve, cone, cylinder, hole_cutters
from parametric_models.refusals import check_choice, check_range

SHAFT_ROOT = 8.0
"""How deep a shaft that is a body of its own starts below the seat, mm."""
SHAFT_PASSAGE = 1.0
"""Radial gap between such a shaft and its machine's front, mm."""


@dataclass(frozen=True, kw_only=True)
class ShaftFlat:
    """A flat on the +x side of a shaft: its length from the shaft end, and the height from it to the opposite side."""

    length: float
    height: float


@dataclass(frozen=True, kw_only=True)
class Keyseat:
    """A keyseat with round ends on the +x side of a shaft.

    Attributes:
        width: mm.
        depth: from the shaft's full round to the floor, mm.
        length: over both ends, mm.
        from_end: distance from the shaft end to where it begins, mm; 0 for one that is open at the end.
    """

    width: float
    depth: float
    length: float
    from_end: float = 0.0


@dataclass(frozen=True, kw_only=True)
class ShaftEnd:
    """A shaft end: diameter, length from the seat to its end, 45° chamfer at the end, flat or keyseat; mm."""

    diameter: float
    length: float
    chamfer: float = 0.0
    flat: ShaftFlat | None = None
    keyseat: Keyseat | None = None

    def __post_init__(self) -> None:
        check_range("shaft diameter", self.diameter, 0.0, open_low=True)
        check_range("shaft length", self.length, 0.0, open_low=True)
        check_range("shaft chamfer", self.chamfer, 0.0, min(self.length, self.diameter / 2) - 0.01)
        if self.flat is not None:
            check_range("flat length", self.flat.length, 0.0, self.length, open_low=True)
            check_range("flat height", self.flat.height, self.diameter / 2, self.diameter - 0.01, open_low=True)
        if self.keyseat is not None:
            key = self.keyseat
            check_range("keyseat width", key.width, 0.0, self.diameter - 0.1, open_low=True)
            check_range("keyseat depth", key.depth, 0.0, self.diameter / 2, open_low=True)
            check_range("keyseat length", key.length, key.width, self.length - key.from_end, open_low=True)
            check_range("keyseat from_end", key.from_end, 0.0)


@dataclass(frozen=True, kw_only=True)
class MachineBody:
    """A motor or an actuator.

    Attributes:
        flange_size: extents of the flange along x and y, mm.
        flange_thickness: mm.
        body_size: extents of the body behind it along x and y, mm; both the diameter for a round body.
        body_length: mm.
        shaft: the shaft end.
        register_diameter: of the boss that locates, mm; 0 for none.
        register_height: above the seat, mm.
        holes: through holes in the flange, or blind (tapped) ones.
        body: square or round.
    """

    flange_size: tuple[float, float]
    flange_thickness: float
    body_size: tuple[float, float]
    body_length: float
    shaft: ShaftEnd
    register_diameter: float = 0.0
    register_height: float = 0.0
    holes: tuple[Holes, ...] = ()
    body: str = "square"

    def __post_init__(self) -> None:
        check_choice("body", self.body, ("square", "round"))
        check_range("flange_thickness", self.flange_thickness, 0.0, open_low=True)
        check_range("body_length", self.body_length, SHAFT_ROOT)
        least = min(*self.flange_size, *self.body_size)
        check_range("flange_size and body_size", least, self.shaft.diameter + 2 * SHAFT_PASSAGE, open_low=True)
        if self.register_diameter:
            low = self.shaft.diameter + 2 * SHAFT_PASSAGE
            check_range("register_diameter", self.register_diameter, low, min(self.flange_size), open_low=True)
            check_range("register_height", self.register_height, 0.0, self.shaft.length - 1.0, open_low=True)
        elif self.register_height:
            check_range("register_height", self.register_height, 0.0, 0.0)


def machine(parameters: MachineBody) -> cq.Solid:
    """The machine in its own frame, as one solid with its shaft."""
    housing, shaft = _front(parameters), shaft_end(parameters.shaft, start=-OVER)
    return carve(housing.fuse(shaft), (), "machine")


def machine_parts(parameters: MachineBody) -> dict[str, cq.Solid]:
    """The machine in its own frame as two bodies that do not touch: "housing" and "shaft"."""
    passage = cylinder(
        parameters.shaft.diameter + 2 * SHAFT_PASSAGE, -SHAFT_ROOT - SHAFT_PASSAGE, parameters.shaft.length
    )
    return {
        "housing": carve(_front(parameters), (passage,), "machine"),
        "shaft": shaft_end(parameters.shaft, start=-SHAFT_ROOT),
    }


def actuator_place(
    seat: float, offset: tuple[float, float] = (0.0, 0.0), tilt: float = 0.0, turn: float = 0.0
) -> cq.Location:
    """The location that sets a machine on the actuator seat.

    Args:
        seat: station of the actuator seat, mm.
        offset: (dx, dy) of its axis from the drive axis, mm.
        tilt: of its axis about the x direction through the seat's centre, degrees.
        turn: about its own axis, degrees.
    """
    to_seat = cq.Location(cq.Vector(*offset, seat))
    x = cq.Vector(1, 0, 0)
    about = cq.Location(cq.Vector(0, 0, 0), x, 180.0 + tilt)
    return to_seat * about * cq.Location(cq.Vector(0, 0, 0), cq.Vector(0, 0, 1), turn)


def motor(parameters: MachineBody) -> cq.Solid:
    """The motor on its seat, z = 0, as one solid."""
    return machine(parameters)


def motor_parts(parameters: MachineBody) -> dict[str, cq.Solid]:
    """The motor on its seat as two bodies, "housing" and "shaft"."""
    return machine_parts(parameters)


def actuator(
    parameters: MachineBody, seat: float, offset: tuple[float, float] = (0.0, 0.0), tilt: float = 0.0, turn: float = 0.0
) -> cq.Solid:
    """The actuator on its seat at station `seat` mm, as one solid; the place as in `actuator_place`."""
    return machine(parameters).moved(actuator_place(seat, offset, tilt, turn))


def actuator_parts(
    parameters: MachineBody, seat: float, offset: tuple[float, float] = (0.0, 0.0), tilt: float = 0.0, turn: float = 0.0
) -> dict[str, cq.Solid]:
    """The actuator on its seat as two bodies, "housing" and "shaft"; the place as in `actuator_place`."""
    place = actuator_place(seat, offset, tilt, turn)
    return {name: body.moved(place) for name, body in machine_parts(parameters).items()}


def shaft_end(parameters: ShaftEnd, start: float = 0.0) -> cq.Solid:
    """The shaft from z = `start` to its end, with chamfer, flat and keyseat."""
    p = parameters
    round_end = p.length - p.chamfer
    bar = cylinder(p.diameter, start, round_end)
    if p.chamfer:
        bar = bar.fuse(cone(p.diameter, p.diameter - 2 * p.chamfer, round_end, p.length))
    return carve(bar, _shaft_cutters(p), "shaft")


def _shaft_cutters(p: ShaftEnd) -> Iterator[cq.Shape]:
    if p.flat is not None:
        corner = cq.Vector(p.flat.height - p.diameter / 2, -p.diameter, p.length - p.flat.length)
        yield cq.Solid.makeBox(p.diameter, 2 * p.diameter, p.flat.length + OVER, corner)
    if p.keyseat is not None:
        key = p.keyseat
        top = p.length - key.from_end
        # An open keyseat runs out past the shaft end, so that only its inner end is round.
        over = key.width if not key.from_end else 0.0
        length = key.length + over
        floor = cq.Vector(p.diameter / 2 - key.depth, 0, top + over - length / 2)
        plane = cq.Plane(floor, cq.Vector(0, 0, 1), cq.Vector(1, 0, 0))
        yield cq.Workplane(plane).slot2D(length, key.width).extrude(p.diameter).val()


def _front(p: MachineBody) -> cq.Solid:
    flange = block("square", p.flange_size, -p.flange_thickness, 0.0)
    behind = -p.flange_thickness - p.body_length
    parts = [block(p.body, p.body_size, behind, -p.flange_thickness)]
    if p.register_diameter:
        parts.append(cylinder(p.register_diameter, -OVER, p.register_height))
    cutters: list[cq.Shape] = []
    for pattern in p.holes:
        cutters += hole_cutters(pattern, p.flange_thickness, towards=-1)
    return carve(flange.fuse(*parts).clean(), cutters, "machine")
