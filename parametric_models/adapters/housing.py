"""Closed housings: a bar with a chamber through it, a seat at each end, and windows in the wall."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import cos, radians, sin, sqrt, tan

import cadquery as cq

from parametric_models.adapters.features import (
    OVER,
    Holes,
    Seat,
    Window,
    block,
    carve,
    cylinder,
    hole_cutters,
    seat_cutters,
    window_cutter,
)
from parametric_models.refusals import check_choice, check_range


@dataclass(frozen=True, kw_only=True)
class Waist:
    """The slimmer, round middle of a housing between two flanges.

    Attributes:
        diameter: outside diameter of the waist, mm.
        motor_flange: thickness of the flange at the motor end, mm.
        actuator_flange: thickness of the flange at the actuator end, mm.
    """

    diameter: float
    motor_flange: float
    actuator_flange: float


@dataclass(frozen=True, kw_only=True)
class Housing:
    """A closed housing.

    Attributes:
        length: distance between the seats along the drive axis, mm.
        size: side of a square housing or diameter of a round one, mm.
        chamber_diameter: diameter of the chamber that the coupling turns in, mm.
        motor: the motor end; its opening's length must be given.
        actuator: the actuator end; its opening's length must be given.
        outside: square or round.
        windows: openings in the wall.
        lightening: patterns of holes parallel to the drive axis that lighten the part; they locate nothing.
        edge_chamfer: chamfer of the long outside edges of a square housing, mm.
        waist: a slimmer middle; through holes of a seat then pass its flange only.
        actuator_offset: (dx, dy) of the whole actuator end (pilot, opening, holes) from the drive axis, mm.
        actuator_tilt: tilt of the actuator's pilot, opening and holes about the seat's centre, degrees.
        tilt_direction: shaft angle of the line that the tilt turns about, degrees.
        tilted_seat: whether the seat's face is tilted along with the pilot (one set-up), or stays square.
    """

    length: float
    size: float
    chamber_diameter: float
    motor: Seat
    actuator: Seat
    outside: str = "square"
    windows: tuple[Window, ...] = ()
    lightening: tuple[Holes, ...] = ()
    edge_chamfer: float = 0.0
    waist: Waist | None = None
    actuator_offset: tuple[float, float] = (0.0, 0.0)
    actuator_tilt: float = 0.0
    tilt_direction: float = 0.0
    tilted_seat: bool = True

    def __post_init__(self) -> None:
        check_choice("outside", self.outside, ("square", "round"))
        check_range("length", self.length, 0.0, open_low=True)
        outer = self.size if self.waist is None else self.waist.diameter
        check_range("size", self.size, 0.0, open_low=True)
        if self.waist is not None:
            check_range("waist diameter", self.waist.diameter, 0.0, self.size, open_low=True)
            check_range("waist motor_flange", self.waist.motor_flange, 0.0, self.length / 2, open_low=True)
            check_range("waist actuator_flange", self.waist.actuator_flange, 0.0, self.length / 2, open_low=True)
        check_range("chamber_diameter", self.chamber_diameter, 0.0, outer - 1.0, open_low=True)
        check_range("edge_chamfer", self.edge_chamfer, 0.0, self.size / 4)
        check_range("actuator_tilt", self.actuator_tilt, -5.0, 5.0, unit="degrees")
        for name, seat in (("motor", self.motor), ("actuator", self.actuator)):
            if seat.opening_length is None:
                msg = f"{name} opening_length is missing; it must be at least 0 mm, the chamber begins behind it"
                raise ValueError(msg)
            check_range(f"{name} opening_diameter", seat.opening_diameter, 0.0, self.size - 1.0, open_low=True)
            check_range(f"{name} pilot diameter with its chamfer", seat.widest, 0.0, self.size - 1.0)
            across = self.size if self.outside == "round" else self.size * sqrt(2)
            for pattern in seat.holes:
                check_range(f"{name} holes reach", pattern.reach(), 0.0, across / 2 - 0.2)
        taken = self._depth(self.motor) + self._depth(self.actuator)
        check_range("length", self.length, taken + 0.1)
        for window in self.windows:
            check_range(
                "window station", window.station, window.length / 2 + 0.1, self.length - window.length / 2 - 0.1
            )
            widest = self.size - 0.2 if self.waist is None else self.waist.diameter - 0.2
            check_range("window width", window.width + 2 * abs(window.offset), 0.0, widest)

    @staticmethod
    def _depth(seat: Seat) -> float:
        return seat.pilot_depth + (seat.opening_length or 0.0)

    @property
    def chamber(self) -> tuple[float, float]:
        """Stations between which the chamber runs, mm."""
        return self._depth(self.motor), self.length - self._depth(self.actuator)

    def actuator_frame(self) -> cq.Location:
        """Where the actuator end's own frame lies: origin in the seat, z along its pilot's axis."""
        dx, dy = self.actuator_offset
        place = cq.Location(cq.Vector(dx, dy, self.length))
        if not self.actuator_tilt:
            return place
        towards = radians(self.tilt_direction)
        line = cq.Vector(cos(towards), sin(towards), 0)
        return place * cq.Location(cq.Vector(0, 0, 0), line, self.actuator_tilt)


def housing(parameters: Housing) -> cq.Solid:
    """A closed housing as one solid.

    Raises:
        ValueError: the dimensions cut the housing into pieces.
    """
    return carve(_blank(parameters), _cutters(parameters), "housing")


def _blank(p: Housing) -> cq.Shape:
    size = (p.size, p.size)
    # A tilted seat is milled off a longer bar: the far corner of the face rises by this much.
    rise = p.size * tan(radians(abs(p.actuator_tilt))) if p.tilted_seat else 0.0
    if p.waist is None:
        return block(p.outside, size, 0.0, p.length + rise, p.edge_chamfer)
    low = block(p.outside, size, 0.0, p.waist.motor_flange, p.edge_chamfer)
    high = block(p.outside, size, p.length - p.waist.actuator_flange, p.length + rise, p.edge_chamfer)
    return low.fuse(cylinder(p.waist.diameter, 0.0, p.length), high).clean()


def _cutters(p: Housing) -> Iterator[cq.Shape]:
    start, stop = p.chamber
    yield cylinder(p.chamber_diameter, start, stop)
    place = p.actuator_frame()
    motor_through = p.length if p.waist is None else p.waist.motor_flange
    actuator_through = p.length if p.waist is None else p.waist.actuator_flange
    yield from seat_cutters(p.motor, motor_through, towards=1)
    # A tilted opening's cutter runs on into the chamber, so that its slanted end leaves no sliver before it.
    end = p._depth(p.actuator)
    if p.actuator_tilt and p.actuator.opening_diameter < p.chamber_diameter:
        end += p.actuator.opening_diameter * tan(radians(abs(p.actuator_tilt)))
    for cutter in seat_cutters(p.actuator, actuator_through, towards=-1, opening_end=end):
        yield cutter.moved(place)
    if p.actuator_tilt and p.tilted_seat:
        side = 4 * p.size
        slab = cq.Solid.makeBox(side, side, side, cq.Vector(-side / 2, -side / 2, 0))
        yield slab.moved(place)
    for pattern in p.lightening:
        yield from hole_cutters(pattern, p.length, towards=1)
    reach = p.size * sqrt(2) / 2 + OVER
    for window in p.windows:
        yield window_cutter(window, reach)
