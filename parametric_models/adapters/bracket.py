"""L- and U-brackets: one or two upright plates on a foot that is screwed to the machine's frame.

The foot lies at -y of the drive axis and runs from the motor's plate towards the actuator.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import cadquery as cq

from parametric_models.adapters.features import OVER, Seat, carve, seat_cutters
from parametric_models.adapters.plate import check_holes
from parametric_models.refusals import check_range


@dataclass(frozen=True, kw_only=True)
class Foot:
    """The foot of a bracket.

    Attributes:
        axis_height: distance of the drive axis from the foot's underside, mm.
        thickness: mm.
        hole_diameter: of the two rows of screw holes, mm; 0 for none.
        hole_spacing: distance of the two rows along x, mm.
        hole_stations: stations of the holes of each row, mm.
        counterbore_diameter: on the foot's upper side, mm; 0 for none.
        counterbore_depth: mm.
    """

    axis_height: float
    thickness: float
    hole_diameter: float = 0.0
    hole_spacing: float = 0.0
    hole_stations: tuple[float, ...] = ()
    counterbore_diameter: float = 0.0
    counterbore_depth: float = 0.0

    def __post_init__(self) -> None:
        check_range("foot axis_height", self.axis_height, 0.0, open_low=True)
        check_range("foot thickness", self.thickness, 0.0, self.axis_height - 0.5, open_low=True)
        check_range("foot hole_diameter", self.hole_diameter, 0.0)
        if self.hole_diameter:
            check_range("foot hole_spacing", self.hole_spacing, self.hole_diameter + 0.4)
        if self.counterbore_diameter:
            check_range("foot counterbore_diameter", self.counterbore_diameter, self.hole_diameter, open_low=True)
            check_range("foot counterbore_depth", self.counterbore_depth, 0.0, self.thickness - 0.2, open_low=True)


@dataclass(frozen=True, kw_only=True)
class LBracket:
    """A bracket with one seat, for the motor; the actuator stands on its own.

    Attributes:
        width: extent along x, mm.
        top: extent of the upright plate above the drive axis, mm.
        thickness: of the upright plate, mm.
        foot: the foot.
        foot_length: extent of the bracket along the drive axis, the plate included, mm.
        motor: the motor's seat; its opening runs through the plate.
        gusset: thickness of the two triangular ribs at the sides, mm; 0 for none.
    """

    width: float
    top: float
    thickness: float
    foot: Foot
    foot_length: float
    motor: Seat
    gusset: float = 0.0

    def __post_init__(self) -> None:
        check_range("thickness", self.thickness, self.motor.pilot_depth + 0.2)
        check_range("foot_length", self.foot_length, self.thickness + 1.0)
        check_range("gusset", self.gusset, 0.0, self.width / 2 - 0.5)
        check_upright(self.width, self.top, self.foot, self.motor, "motor")
        check_foot(self.foot, self.width, self.thickness, self.foot_length)


@dataclass(frozen=True, kw_only=True)
class UBracket:
    """A bracket with two upright plates on one foot, open at the top and the sides.

    Attributes:
        width: extent along x, mm.
        top: extent of the plates above the drive axis, mm.
        length: distance between the seats (the outer faces), mm.
        motor_plate: thickness of the motor's plate, mm.
        actuator_plate: thickness of the actuator's plate, mm.
        foot: the foot.
        motor: the motor's seat, at z = 0.
        actuator: the actuator's seat, at z = length.
        actuator_offset: (dx, dy) of the actuator's pilot, opening and holes, mm.
    """

    width: float
    top: float
    length: float
    motor_plate: float
    actuator_plate: float
    foot: Foot
    motor: Seat
    actuator: Seat
    actuator_offset: tuple[float, float] = (0.0, 0.0)

    def __post_init__(self) -> None:
        check_range("motor_plate", self.motor_plate, self.motor.pilot_depth + 0.2)
        check_range("actuator_plate", self.actuator_plate, self.actuator.pilot_depth + 0.2)
        check_range("length", self.length, self.motor_plate + self.actuator_plate + 1.0)
        check_upright(self.width, self.top, self.foot, self.motor, "motor")
        check_upright(self.width, self.top, self.foot, self.actuator, "actuator")
        check_foot(self.foot, self.width, self.motor_plate, self.length - self.actuator_plate)


def check_upright(width: float, top: float, foot: Foot, seat: Seat, name: str) -> None:
    """Refuse a seat that breaks out of an upright plate.

    Raises:
        ValueError: a bore or a hole reaches the plate's outline or the foot.
    """
    room = min(width / 2, top, foot.axis_height)
    check_range(f"{name} pilot or opening diameter", seat.widest, 0.0, 2 * room - 1.0)
    check_holes(f"{name} holes", seat.holes, width, 2 * min(top, foot.axis_height))


def check_foot(foot: Foot, width: float, start: float, stop: float) -> None:
    """Refuse foot holes outside the foot's free length (start, stop).

    Raises:
        ValueError: a hole's edge lies outside.
    """
    if not foot.hole_diameter:
        return
    radius = max(foot.hole_diameter, foot.counterbore_diameter) / 2
    check_range("foot hole_spacing", foot.hole_spacing, 0.0, width - 2 * radius - 0.4)
    for station in foot.hole_stations:
        check_range("foot hole_stations", station, start + radius + 0.1, stop - radius - 0.1)


def l_bracket(parameters: LBracket) -> cq.Solid:
    """The L-bracket as one solid.

    Raises:
        ValueError: the dimensions cut the bracket into pieces.
    """
    p = parameters
    blank = _upright(p.width, p.top, p.foot, 0.0, p.thickness)
    parts = [_foot(p.width, p.foot, 0.0, p.foot_length)]
    if p.gusset:
        rise = min(p.top, p.foot.axis_height) * 0.6
        parts += [_gusset(p, side, rise) for side in (-1, 1)]
    cutters = [*seat_cutters(p.motor, p.thickness, towards=1), *_foot_cutters(p.foot)]
    return carve(blank.fuse(*parts).clean(), cutters, "L-bracket")


def u_bracket(parameters: UBracket) -> cq.Solid:
    """The U-bracket as one solid.

    Raises:
        ValueError: the dimensions cut the bracket into pieces.
    """
    p = parameters
    blank = _upright(p.width, p.top, p.foot, 0.0, p.motor_plate)
    far = _upright(p.width, p.top, p.foot, p.length - p.actuator_plate, p.length)
    end = cq.Location(cq.Vector(*p.actuator_offset, p.length))
    cutters = [*seat_cutters(p.motor, p.motor_plate, towards=1), *_foot_cutters(p.foot)]
    cutters += [c.moved(end) for c in seat_cutters(p.actuator, p.actuator_plate, towards=-1)]
    return carve(blank.fuse(far, _foot(p.width, p.foot, 0.0, p.length)).clean(), cutters, "U-bracket")


def _upright(width: float, top: float, foot: Foot, start: float, stop: float) -> cq.Solid:
    corner = cq.Vector(-width / 2, -foot.axis_height, start)
    return cq.Solid.makeBox(width, top + foot.axis_height, stop - start, corner)


def _foot(width: float, foot: Foot, start: float, stop: float) -> cq.Solid:
    corner = cq.Vector(-width / 2, -foot.axis_height, start)
    return cq.Solid.makeBox(width, foot.thickness, stop - start, corner)


def _gusset(p: LBracket, side: int, rise: float) -> cq.Solid:
    low = -p.foot.axis_height + p.foot.thickness
    run = p.foot_length - p.thickness
    outline = [(low, p.thickness), (low, p.thickness + run), (low + rise, p.thickness)]
    plane = cq.Plane(cq.Vector(side * (p.width / 2 - p.gusset), 0, 0), cq.Vector(0, 1, 0), cq.Vector(1, 0, 0))
    return cq.Workplane(plane).polyline(outline).close().extrude(side * p.gusset).val()


def _foot_cutters(foot: Foot) -> Iterator[cq.Solid]:
    if not foot.hole_diameter:
        return
    under, upper = -foot.axis_height, -foot.axis_height + foot.thickness
    up = cq.Vector(0, 1, 0)
    for x in (-foot.hole_spacing / 2, foot.hole_spacing / 2):
        for z in foot.hole_stations:
            base = cq.Vector(x, under - OVER, z)
            yield cq.Solid.makeCylinder(foot.hole_diameter / 2, foot.thickness + 2 * OVER, base, up)
            if foot.counterbore_diameter:
                base = cq.Vector(x, upper - foot.counterbore_depth, z)
                yield cq.Solid.makeCylinder(foot.counterbore_diameter / 2, foot.counterbore_depth + OVER, base, up)
