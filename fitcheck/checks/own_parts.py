"""What of the drive itself is in a tool's way: the coupling, the shafts, other screws, and machines not in the file.

All of it is round about the drive axis, or turns with the screw, so it blocks the same tool angles at every shaft
angle.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from math import acos, asin, cos, hypot, inf, pi, radians, sin, sqrt

import numpy as np

from fitcheck.checks.drive import Drive, Placed
from fitcheck.checks.sides import Side
from fitcheck.checks.swept import BODY, head_radius, hub_radius, outer_end, screw_stands_out, stands_out
from fitcheck.checks.wording import SIDES
from fitcheck.job.model import ACROSS, Screw
from fitcheck.measurement.arm_angles import (
    NO_INTERVALS,
    Arm,
    BlockedAngles,
    blocked_by_rectangle,
    blocked_by_triangles,
)
from fitcheck.measurement.corridor import ToolPart
from fitcheck.measurement.obstacles import Floats
from fitcheck.measurement.outlines import distances, outlines

_ROUNDING = 1e-9
_FAR = 1e6
_SIDES_OF_A_HEAD = 24
"""Corners of the prism about a round head; it is 0.9 % wider over its corners than the head, which is on the safe
side."""


@dataclass(frozen=True, kw_only=True)
class Round:
    """A body that is round about the drive axis: stations `start` to `stop`, radius mm.

    `ring` is set for what the head of a flange screw sweeps, which counts for the screws of the other kind alone;
    `element` for what lies between the hubs.
    """

    start: float
    stop: float
    radius: float
    what: str
    own_hub: bool = False
    ring: bool = False
    element: bool = False


@dataclass(frozen=True, kw_only=True)
class Hindrance:
    """What is in the way of a tool's straight part at every shaft angle, and the room that it leaves, mm."""

    what: str | None
    room: float


def rounds(drive: Drive, placed: Placed, side: str, absent: Collection[str] = ()) -> list[Round]:
    """The round bodies about a screw of the hub on `side`.

    Args:
        absent: machines (motor, actuator) and parts of the coupling ("actuator hub") that are not there yet.
    """
    found = [
        Round(
            start=step.start, stop=step.stop, radius=step.radius, what=_part(step.part),
            own_hub=step.part == f"{side} hub", ring=step.part.endswith("head"), element=step.part == BODY,
        )
        for step in placed.swept.steps
        if not any(step.part.startswith(part) for part in absent)
    ]  # fmt: skip
    for machine in drive.sides:
        if machine.name in absent:
            continue
        if machine.shaft is not None and machine.seat is not None:
            start, stop = sorted((machine.seat, machine.shaft.end))
            found.append(
                Round(start=start, stop=stop, radius=machine.shaft.diameter / 2, what=f"the {machine.name}'s shaft")
            )
        if machine.face is None or machine.face.in_file or machine.seat is None:
            continue
        body, behind = _body(machine)
        named = "" if body < inf else f" (taken as endless: give {machine.name}.flange or frame)"
        radius = machine.face.register_radius
        if radius is not None:
            found.append(_behind(machine.sign, machine.seat, body, behind, f"the {machine.name}'s seat{named}"))
            found.append(_behind(machine.sign, machine.face.station, radius, inf, machine.face.what))
        else:
            found.append(_behind(machine.sign, machine.face.station, body, behind, f"{machine.face.what}{named}"))
    return found


def _part(part: str) -> str:
    """A part of the coupling in words."""
    return f"the {part}" if part.endswith("head") else f"the coupling's own {part.removeprefix('coupling ')}"


def _body(machine: Side) -> tuple[float, float]:
    """The radius that holds a machine's body however it is turned, and how far it reaches back, mm; inf where unknown.

    The job's flange counts before the frame's outside, which is that of a square.
    """
    flange = machine.machine.flange
    if flange is None:
        return (inf if machine.frame is None else machine.frame.outside / sqrt(2.0)), inf
    radius = flange.size / (sqrt(2.0) if flange.shape == "square" else 2.0)
    return radius, inf if flange.length is None else flange.length


def _behind(sign: float, station: float, radius: float, length: float, what: str) -> Round:
    end = station - sign * min(length, _FAR)
    return Round(start=min(station, end), stop=max(station, end), radius=min(radius, _FAR), what=what)


def heads(
    drive: Drive, placed: Placed, side: str, position: int, absent: Collection[str] = ()
) -> Iterator[tuple[str, Floats]]:  # fmt: skip
    """The protruding heads of the other screws, as triangles in a screw's own frame.

    To a screw across the drive axis, heads of flange screws are rings (`rounds`).

    Yields:
        What it is, and its triangles (n, 3, 3) in (height along the screw, left of it, along the drive axis); of a
        screw along the drive axis, in (height along the screw, outwards from it, left of it).
    """
    here = placed.hub(side).hub.screws[position - 1]
    axial = here.direction != ACROSS
    origin, beside = (0.0, 0.0) if axial else (placed.hub(side).inwards(here.station), here.offset)
    radius, sense = abs(here.offset), axial_sense(side, here)
    for other in SIDES:
        hub = placed.hub(other)
        for number, screw in enumerate(() if f"{other} hub" in absent else hub.hub.screws, start=1):
            if (other, number) == (side, position):
                continue
            if axial and stands_out(hub.hub, screw):
                ends = (sense * hub.inner, sense * hub.inwards(screw.station))
                yield f"the head of {other} hub screw {number}", _prism_along(screw, ends, here)
            if screw.direction != ACROSS or not screw_stands_out(drive.job.coupling, hub.hub, screw):
                continue
            end = outer_end(screw, hub_radius(drive.job.coupling, hub.hub))
            turned = radians(screw.angle - here.angle)
            triangles = _prism(replace(screw, head_end=end), hub.inwards(screw.station) - origin, turned, beside)
            if axial:
                out, left, along = (triangles[:, :, column] for column in range(3))
                triangles = np.stack([sense * along, out - radius, left], axis=2)
            yield f"the head of {other} hub screw {number}", triangles


def axial_sense(side: str, screw: Screw) -> float:
    """Where a screw along the drive axis is reached from: +1 from the actuator's side, -1 from the motor's."""
    outwards = -1.0 if side == "motor" else 1.0
    return outwards if screw.direction == "to outer face" else -outwards


def _prism(screw: Screw, along: float, turned: float, offset: float) -> Floats:
    """A head as a prism about it, from the plane through the drive axis to its outer end."""
    assert screw.head_end is not None
    radius = head_radius(screw) / cos(pi / _SIDES_OF_A_HEAD)
    angles = np.arange(_SIDES_OF_A_HEAD) * 2 * pi / _SIDES_OF_A_HEAD
    left, w = screw.offset + radius * np.cos(angles), along + radius * np.sin(angles)

    def ring(height: float) -> Floats:
        t = height * cos(turned) - left * sin(turned)
        v = height * sin(turned) + left * cos(turned) - offset
        return np.stack([t, v, w], axis=1)

    low, high = ring(0.0), ring(screw.head_end)
    low_next, high_next = np.roll(low, -1, axis=0), np.roll(high, -1, axis=0)
    middle = np.broadcast_to(high.mean(axis=0), high.shape)
    return np.concatenate(
        [
            np.stack([low, low_next, high], axis=1),
            np.stack([low_next, high_next, high], axis=1),
            np.stack([high, high_next, middle], axis=1),
        ]
    )


def _prism_along(screw: Screw, ends: tuple[float, float], here: Screw) -> Floats:
    """The head of a flange screw as a prism about it, in the frame of another one (`heads`), closed at both ends."""
    radius = head_radius(screw) / cos(pi / _SIDES_OF_A_HEAD)
    turned = radians(screw.angle - here.angle)
    angles = np.arange(_SIDES_OF_A_HEAD) * 2 * pi / _SIDES_OF_A_HEAD
    out = abs(screw.offset) * cos(turned) - abs(here.offset) + radius * np.cos(angles)
    left = abs(screw.offset) * sin(turned) + radius * np.sin(angles)
    low, high = (np.stack([np.full(angles.size, height), out, left], axis=1) for height in sorted(ends))
    low_next, high_next = np.roll(low, -1, axis=0), np.roll(high, -1, axis=0)
    lids = [
        np.stack([ring, np.roll(ring, -1, axis=0), np.broadcast_to(ring.mean(axis=0), ring.shape)], axis=1)
        for ring in (low, high)
    ]
    walls = [np.stack([low, low_next, high], axis=1), np.stack([low_next, high_next, high], axis=1)]
    return np.concatenate([*walls, *lids])


def hindrance(
    about: Sequence[Round], others: Sequence[tuple[str, Floats]], station: float, offset: float,
    parts: Sequence[ToolPart],
) -> Hindrance:  # fmt: skip
    """What is in the way of a tool's cylinders; the screw's own hub does not hinder what enters its counterbore."""
    room, what = inf, None
    for position, part in enumerate(parts):
        for body in about:
            if body.own_hub and position == 0:
                continue
            half = _half_width(body.radius, part.start)
            if half is None:
                continue
            across = max(abs(offset) - half, 0.0)
            away = max(body.start - station, station - body.stop, 0.0)
            left = hypot(across, away) - part.radius
            if left < room:
                room, what = left, body.what
        for name, triangles in others:
            left = _triangles_room(triangles, part)
            if left < room:
                room, what = left, name
    return Hindrance(what=what if room < -_ROUNDING else None, room=room)


def axial_hindrance(
    about: Sequence[Round], others: Sequence[tuple[str, Floats]], radius: float, sense: float, parts: Sequence[ToolPart]
) -> Hindrance:
    """`hindrance` of a screw along the drive axis, at `radius` from it."""
    room, what = inf, None
    for position, part in enumerate(parts):
        for body in about:
            if body.own_hub and position == 0:
                continue
            if max(sense * body.start, sense * body.stop) > part.start + _ROUNDING:
                left = max(radius - body.radius, 0.0) - part.radius
                if left < room:
                    room, what = left, body.what
        for name, triangles in others:
            left = _triangles_room(triangles, part)
            if left < room:
                room, what = left, name
    return Hindrance(what=what if room < -_ROUNDING else None, room=room)


def axial_blocked_tool_angles(
    about: Sequence[Round], others: Sequence[tuple[str, Floats]], radius: float, sense: float, arm: Arm
) -> BlockedAngles:
    """`blocked_tool_angles` of a screw along the drive axis: tool angle 0 points away from the drive axis.

    A round body of radius rho is a disc seen along the screw, its middle `radius` away at tool angle 180 degrees. Its
    points at distance d from the screw's axis lie within acos((d^2 + radius^2 - rho^2) / (2 d radius)) of that, and
    block asin(half width / d) beside it. The sum is greatest where the bar's side touches the disc,
    asin((rho + half width) / radius), or at the end of the bar, if that is nearer.

    A tool that comes in beside the screw's axis (`Arm.way`) meets nothing above its bars, and slides over its own hub.
    """
    blocked = BlockedAngles()
    for body in about:
        low, high = sorted((sense * body.start, sense * body.stop))
        for number, bar in enumerate(arm.every):
            beside, within = number >= len(arm.bars), low < bar.high
            if high <= bar.low or radius - body.radius >= bar.length or (beside and body.own_hub):
                continue
            half = _disc_half_angle(radius, body.radius, bar.half_width, bar.length)
            span = (np.array([pi - half]), np.array([pi + half]))
            while_turning = span if within and not beside else NO_INTERVALS
            coming = span if (within and beside if arm.way else True) else NO_INTERVALS
            blocked = blocked | BlockedAngles(turning=while_turning, coming=coming)
    for _, triangles in others:
        blocked = blocked | blocked_by_triangles(arm, triangles)
    return blocked


def _disc_half_angle(away: float, radius: float, half_width: float, length: float) -> float:
    """Half the range of tool angles that a disc blocks for a bar, radians."""
    wide = radius + half_width
    if wide >= away:
        return pi
    side = asin(wide / away)
    # The point that the bar's side touches lies `half_width` beside the ray, above the foot of the disc's middle.
    if hypot(away * cos(side), half_width) <= length:
        return side
    cosine = (length**2 + away**2 - radius**2) / (2.0 * length * away)
    return acos(max(min(cosine, 1.0), -1.0)) + asin(min(half_width / length, 1.0))


def _triangles_room(triangles: Floats, part: ToolPart) -> float:
    count = triangles.shape[0]
    first, second, _ = outlines(triangles, np.full(count, part.start), np.full(count, _FAR))
    return float(distances(first, second).min(initial=inf)) - part.radius


def blocked_tool_angles(
    about: Sequence[Round], others: Sequence[tuple[str, Floats]], station: float, offset: float, arm: Arm
) -> BlockedAngles:
    """The tool angles at which the drive itself is in the way of a tool's arm."""
    blocked = BlockedAngles()
    for body in about:
        levels = [_half_width(body.radius, max(bar.low, 0.0)) for bar in arm.bars]
        if any(level is not None for level in levels):
            blocked = blocked | blocked_by_rectangle(arm, levels, offset, body.start - station, body.stop - station)
    for _, triangles in others:
        blocked = blocked | blocked_by_triangles(arm, triangles)
    return blocked


def _half_width(radius: float, height: float) -> float | None:
    """Half a round body's width at a height above the drive axis; None where it ends below."""
    return sqrt(radius * radius - height * height) if radius - _ROUNDING > abs(height) else None
