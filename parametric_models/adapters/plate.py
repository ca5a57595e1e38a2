"""Plates, and open standoffs between two plates."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import hypot

import cadquery as cq

from parametric_models.adapters.features import Holes, Seat, block, carve, cylinder, hole_cutters, seat_cutters
from parametric_models.refusals import check_range


@dataclass(frozen=True, kw_only=True)
class Plate:
    """A flat plate: the motor's seat on its face at z = 0, the actuator's, where it has one, on the other.

    Attributes:
        width: extent along x, mm.
        height: extent along y, mm.
        thickness: mm.
        motor: the motor's seat; its opening runs through the plate.
        actuator: the actuator's seat, or None for a plate with one seat.
        lightening: patterns of through holes that locate nothing.
        edge_chamfer: chamfer of the four edges along z, mm.
    """

    width: float
    height: float
    thickness: float
    motor: Seat
    actuator: Seat | None = None
    lightening: tuple[Holes, ...] = ()
    edge_chamfer: float = 0.0

    def __post_init__(self) -> None:
        check_range("width", self.width, 0.0, open_low=True)
        check_range("height", self.height, 0.0, open_low=True)
        check_range("thickness", self.thickness, 0.0, open_low=True)
        least = min(self.width, self.height)
        check_range("edge_chamfer", self.edge_chamfer, 0.0, least / 4)
        depth = self.motor.pilot_depth + (0.0 if self.actuator is None else self.actuator.pilot_depth)
        check_range("thickness", self.thickness, depth + 0.2)
        for name, seat in (("motor", self.motor), ("actuator", self.actuator)):
            if seat is None:
                continue
            check_range(f"{name} pilot or opening diameter", seat.widest, 0.0, least - 1.0)
            check_holes(f"{name} holes", seat.holes, self.width, self.height)


def check_holes(name: str, patterns: tuple[Holes, ...], width: float, height: float) -> None:
    """Refuse bolt patterns that break out of a rectangle centred on the axis.

    Raises:
        ValueError: a hole's edge lies nearer than 0.2 mm to the outline.
    """
    for pattern in patterns:
        radius = max(pattern.diameter, pattern.counterbore_diameter) / 2
        for x, y in pattern.centres():
            check_range(f"{name} reach along x", abs(x) + radius, 0.0, width / 2 - 0.2)
            check_range(f"{name} reach along y", abs(y) + radius, 0.0, height / 2 - 0.2)


def plate(parameters: Plate) -> cq.Solid:
    """The plate as one solid.

    Raises:
        ValueError: the dimensions cut the plate into pieces.
    """
    p = parameters
    blank = block("square", (p.width, p.height), 0.0, p.thickness, p.edge_chamfer)
    return carve(blank, _plate_cutters(p), "plate")


def _plate_cutters(p: Plate) -> Iterator[cq.Shape]:
    yield from seat_cutters(p.motor, p.thickness, towards=1)
    if p.actuator is not None:
        top = cq.Location(cq.Vector(0, 0, p.thickness))
        for cutter in seat_cutters(p.actuator, p.thickness, towards=-1):
            yield cutter.moved(top)
    for pattern in p.lightening:
        yield from hole_cutters(pattern, p.thickness, towards=1)


@dataclass(frozen=True, kw_only=True)
class Standoffs:
    """Two plates held apart by round standoffs: open all around.

    Attributes:
        width: extent of both plates along x, mm.
        height: extent of both plates along y, mm.
        length: distance between the seats along the drive axis, mm.
        motor_plate: thickness of the motor's plate, mm.
        actuator_plate: thickness of the actuator's plate, mm.
        motor: the motor's seat, at z = 0.
        actuator: the actuator's seat, at z = length.
        posts: where the standoffs stand; the pattern's hole diameter is that of their screws.
        post_diameter: outside diameter of the standoffs, mm.
    """

    width: float
    height: float
    length: float
    motor_plate: float
    actuator_plate: float
    motor: Seat
    actuator: Seat
    posts: Holes
    post_diameter: float

    def __post_init__(self) -> None:
        check_range("length", self.length, self.motor_plate + self.actuator_plate, open_low=True)
        check_range("post_diameter", self.post_diameter, self.posts.diameter + 0.4)
        widest = max(self.motor.opening_diameter, self.actuator.opening_diameter)
        x, y = self.posts.centres()[0]
        check_range("post_diameter", self.post_diameter, 0.0, 2 * hypot(x, y) - widest)
        check_holes("posts", (self.posts,), self.width, self.height)
        for thickness, seat in ((self.motor_plate, self.motor), (self.actuator_plate, self.actuator)):
            Plate(width=self.width, height=self.height, thickness=thickness, motor=seat)


def standoffs(parameters: Standoffs) -> dict[str, cq.Solid]:
    """The bodies in place: "motor plate", "actuator plate", and "standoff 1" and so on.

    Raises:
        ValueError: the dimensions cut a plate into pieces.
    """
    p = parameters
    size = (p.width, p.height)
    top = cq.Location(cq.Vector(0, 0, p.length))
    low = [*seat_cutters(p.motor, p.motor_plate, towards=1), *hole_cutters(p.posts, p.motor_plate, towards=1)]
    high = [*seat_cutters(p.actuator, p.actuator_plate, towards=-1)]
    high += hole_cutters(p.posts, p.actuator_plate, towards=-1)
    bodies = {
        "motor plate": carve(block("square", size, 0.0, p.motor_plate), low, "motor plate"),
        "actuator plate": carve(
            block("square", size, p.length - p.actuator_plate, p.length), [c.moved(top) for c in high], "actuator plate"
        ),
    }
    start, stop = p.motor_plate, p.length - p.actuator_plate
    for number, (x, y) in enumerate(p.posts.centres(), start=1):
        bore = cylinder(p.posts.diameter, start - 1.0, stop + 1.0, x, y)
        bodies[f"standoff {number}"] = carve(cylinder(p.post_diameter, start, stop, x, y), (bore,), "standoff")
    return bodies
