"""Straight tools as stacks of cylinders, and what of the drive itself is in their way."""

from __future__ import annotations

from math import hypot, sqrt

from fitcheck.checks.drive import Drive, Placed
from fitcheck.job.model import Screw
from fitcheck.measurement.corridor import ToolPart
from fitcheck.standards.keys import bit_holder, hex_key
from fitcheck.standards.screws import cap_screw, set_screw

_ROUNDING = 1e-9


def tool_parts(tool: str, screw: Screw, start: float) -> tuple[ToolPart, ...]:
    """A tool's cylinders on a screw whose outer end lies `start` mm out, nearest first.

    A hexagon key is a cylinder over its corners. A bit is taken at the width of its drive over its whole length, which
    is more than its blade has; the holder begins where the bit, engaged by the socket's depth, leaves it.

    Raises:
        TableError: the screw or its key is not in the tables.
    """
    standard = set_screw(screw.size) if screw.kind == "set screw" else cap_screw(screw.size)
    key = hex_key(standard.key_size)
    if tool == "hex key":
        return (ToolPart(start=start, radius=key.across_corners / 2),)
    bit = bit_holder()
    width = max(bit.across_corners, key.across_corners)
    holder_start = start + max(bit.reach - standard.socket_depth, 0.0)
    return ToolPart(start=start, radius=width / 2), ToolPart(start=holder_start, radius=bit.holder_diameter / 2)


def own_hindrance(
    drive: Drive, placed: Placed, side: str, station: float, offset: float, parts: tuple[ToolPart, ...]
) -> str | None:
    """What of the coupling, or of a machine that is not in the file, is in the tool's way at every shaft angle.

    The screw's own hub does not hinder the part that enters its counterbore.
    """
    for position, part in enumerate(parts):
        for step in placed.swept.steps:
            if position == 0 and step.part == f"{side} hub":
                continue
            away = max(step.start - station, station - step.stop, 0.0)
            if away >= part.radius:
                continue
            half_width = sqrt(part.radius**2 - away**2)
            if hypot(part.start, max(abs(offset) - half_width, 0.0)) < step.radius - _ROUNDING:
                return f"the coupling's own {step.part.removeprefix('coupling ')}"
        nearest = hypot(part.start, max(abs(offset) - part.radius, 0.0))
        for machine in drive.sides:
            if machine.face is None or machine.face.in_file or machine.seat is None:
                continue
            inside = machine.face.register_radius is None or nearest < machine.face.register_radius
            wall = machine.face.station if inside else machine.seat
            if (wall - station) * machine.sign > -part.radius + _ROUNDING:
                return machine.face.what if inside else f"the {machine.name}'s seat"
    return None
