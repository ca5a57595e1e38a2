"""Shaft alignment: how one machine's shaft lies against the other's, as the file's bodies show them.

Each shaft has an axis of its own. Where only one is in the file, what locates the other machine stands for its shaft.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import degrees, hypot

from fitcheck.checks.drive import Drive
from fitcheck.checks.locating import WORDS, across_vector, locator_of
from fitcheck.checks.sides import Side
from fitcheck.measurement.model import Vector
from fitcheck.measurement.vectors import dot, line_angle, sub


@dataclass(frozen=True, kw_only=True)
class Axis:
    """An axis in the file frame, and what it is of; `shaft` where a body shows the shaft itself."""

    origin: Vector
    direction: Vector
    what: str
    shaft: bool

    def at(self, drive: Drive, station: float) -> Vector:
        """Its point at a station of the drive axis, file frame, mm."""
        line = drive.measurement.drive_axis
        assert line is not None
        way = dot(sub(drive.measurement.point(station), self.origin), line.direction)
        step = way / dot(self.direction, line.direction)
        return (
            self.origin[0] + step * self.direction[0],
            self.origin[1] + step * self.direction[1],
            self.origin[2] + step * self.direction[2],
        )


@dataclass(frozen=True, kw_only=True)
class ShaftAlignment:
    """The actuator's axis against the motor's at a station; `move` (file frame, mm) would bring it there.

    `offset` is the length of `move`, mm; `tilt` degrees.
    """

    motor: Axis
    actuator: Axis
    station: float
    move: Vector
    tilt: float

    @property
    def offset(self) -> float:
        """Mm."""
        return hypot(*self.move)

    @property
    def both(self) -> bool:
        """Whether both are shafts of bodies."""
        return self.motor.shaft and self.actuator.shaft


def axis_of(side: Side) -> Axis | None:
    """The axis that a machine turns about: its shaft's own, else that of what locates it; None where none is known."""
    end = side.end
    if end is None:
        return None
    shaft = end.shaft
    if shaft is not None and shaft.origin is not None and shaft.direction is not None:
        return Axis(origin=shaft.origin, direction=shaft.direction, what=f"the {side.name}'s shaft", shaft=True)
    locator = locator_of(side)
    if locator is None:
        return None
    what = f"the {side.name}'s {WORDS[locator.what]}"
    return Axis(origin=locator.origin, direction=locator.direction, what=what, shaft=False)


def middle_of(drive: Drive) -> float | None:
    """The station where the shafts are compared: the coupling's middle, else midway between the shaft ends or seats."""
    if drive.placed is not None:
        return 0.5 * (drive.placed.start + drive.placed.stop)
    ends = [side.shaft.end for side in drive.sides if side.shaft is not None]
    if len(ends) < 2:
        ends = [side.seat for side in drive.sides if side.seat is not None]
    return 0.5 * sum(ends) if len(ends) == 2 else None


def shaft_alignment(drive: Drive) -> ShaftAlignment | None:
    """The alignment of the shafts; None where no body shows a shaft, or nothing shows the other machine's axis."""
    motor, actuator, station = axis_of(drive.motor), axis_of(drive.actuator), middle_of(drive)
    if motor is None or actuator is None or station is None or not (motor.shaft or actuator.shaft):
        return None
    # Both points lie at one station; what rounding leaves along the axis is nothing.
    move = across_vector(drive, sub(motor.at(drive, station), actuator.at(drive, station)))
    return ShaftAlignment(
        motor=motor, actuator=actuator, station=station, move=move,
        tilt=degrees(line_angle(motor.direction, actuator.direction)),
    )  # fmt: skip
