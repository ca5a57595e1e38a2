"""`axial-room`: the coupling keeps its distance from what closes the chamber on both sides."""

from __future__ import annotations

from dataclasses import replace
from math import inf

from fitcheck.checks.drive import Drive, Placed
from fitcheck.checks.finding import Finding, compare, not_checked
from fitcheck.checks.material import closer_than, extent, material
from fitcheck.checks.shaft_collar import collar_at
from fitcheck.checks.sides import Face, Side
from fitcheck.checks.swept import hub_radius
from fitcheck.checks.wording import SIDES, mm, other, rounded_down, rounded_up
from fitcheck.measurement.obstacles import least_radius

CHECK = "axial-room"
_FAR = 1e9
_BEHIND = 0.02
"""mm behind the hub's end at which it is looked how wide the chamber is about it."""
_FINE = 1e-6
"""mm; how closely the station of a wall is found."""


def check(drive: Drive) -> tuple[Finding, ...]:
    """The distance along the axis from each face of the coupling, float taken off, to the nearest closing face."""
    placed = drive.placed
    if placed is None:
        assert drive.unplaced is not None
        missing = drive.unplaced
        return tuple(not_checked(CHECK, f"{side} side", missing.reason, missing.supply) for side in SIDES)
    give, limit = drive.job.coupling.axial_float, drive.job.require.axial_clearance
    closing = {side.name: _closing(drive, placed, side) for side in drive.sides}
    room = {name: _room(placed, name, face) - give for name, face in closing.items() if face is not None}
    found: list[Finding] = []
    for side in SIDES:
        face, subject = closing[side], f"{side} side"
        found += _collar(drive, placed, side)
        if face is None:
            reason = f"nothing is known that closes the chamber on the {side}'s side"
            found.append(not_checked(CHECK, subject, reason, f"give {side}.seat"))
            continue
        value = room[side]
        message = (
            f"{mm(value)} between the {side} hub's end and {face.what} at station {mm(face.station)}"
            + (f", {mm(give)} axial float taken off" if give else "")
            + f"; at least {mm(limit)} needed"
        )
        remedy = _remedy(drive, placed, side, room, limit) if value < limit and not drive.trial else None
        found.append(
            compare(
                check=CHECK, subject=subject, value=value, limit=limit, unit="mm", at_least=True, message=message,
                remedy=remedy, at=drive.at(face.station), path="require.axial_clearance",
            )
        )  # fmt: skip
    return tuple(found)


def _collar(drive: Drive, placed: Placed, side: str) -> list[Finding]:
    """The hub's face against what of its own shaft is wider than its bore; nothing where the shaft has no such part."""
    collar, limit, subject = collar_at(placed, drive.side(side)), drive.job.require.axial_clearance, f"{side} collar"
    if collar is None or (collar.radius is None and collar.room >= 0.0):
        return []
    bore, at = placed.hub(side).hub.bore, drive.at(collar.face.station)
    if collar.radius is None:
        reason = (
            f"the {side} hub with its bore of {mm(bore)} reaches {mm(-collar.room)} over the part of the shaft before "
            f"{side}.shaft.full_from, and how wide that is nobody tells"
        )
        supply = f"a hub that begins at the full diameter, station {mm(collar.face.station)}, or the shaft as a body"
        return [not_checked(CHECK, subject, reason, supply)]
    room = collar.room - drive.job.coupling.axial_float
    needed = rounded_up(limit - room)
    return [
        compare(
            check=CHECK, subject=subject, value=room, limit=limit, unit="mm", at_least=True, at=at,
            path="require.axial_clearance",
            message=f"{mm(room)} between the {side} hub's end, bore {mm(bore)}, and {collar.face.what} at station "
            f"{mm(collar.face.station)}; at least {mm(limit)} needed",
            remedy=f"the coupling {mm(needed)} farther from the {side}, or a collar that ends {mm(needed)} earlier",
        )
    ]  # fmt: skip


def _room(placed: Placed, side: str, face: Face) -> float:
    return placed.swept.start - face.station if side == "motor" else face.station - placed.swept.stop


def _closing(drive: Drive, placed: Placed, side: Side) -> Face | None:
    """The nearer of the machine's face and any wall that reaches in front of the hub's end."""
    wall = _wall(drive, placed, side)
    if wall is None or side.face is None:
        return wall or side.face
    return wall if (wall.station - side.face.station) * side.sign > _FINE else side.face


def _wall(drive: Drive, placed: Placed, side: Side) -> Face | None:
    """The nearest material outside the coupling that lies closer to the axis than the hub's outside radius."""
    swept = placed.swept
    reach = (-_FAR, swept.start) if side.name == "motor" else (swept.stop, _FAR)
    about = material(drive.measurement, *reach)
    if about is None:
        return None
    radius = hub_radius(drive.job.coupling, placed.hub(side.name).hub) + drive.job.require.orbit
    radius = min(radius, _free_beside(drive, placed, side))
    about = closer_than(about, radius)
    first, last = extent(about)
    near, far = (swept.start, min(first, swept.start)) if side.sign > 0 else (swept.stop, max(last, swept.stop))
    if least_radius(about, min(near, far), max(near, far)).radius >= radius:
        return None
    if least_radius(about, near, near).radius < radius:
        far = near
    free = near
    while abs(far - free) > _FINE:
        middle = 0.5 * (free + far)
        if least_radius(about, min(near, middle), max(near, middle)).radius >= radius:
            free = middle
        else:
            far = middle
    nearest = least_radius(about, min(near, far), max(near, far))
    name = drive.body_name(nearest.body) or "material"
    return Face(station=free, what=f"{name}, which reaches in front of the hub", in_file=True)


def _free_beside(drive: Drive, placed: Placed, side: Side) -> float:
    """The free radius just behind the hub's end, a hair less: that a hub is too wide there is no axial matter."""
    end = placed.swept.start if side.sign > 0 else placed.swept.stop
    first, last = sorted((end + side.sign * _BEHIND, end + 2.0 * side.sign * _BEHIND))
    about = material(drive.measurement, first, last)
    return inf if about is None else least_radius(about, first, last).radius - _FINE


def _remedy(drive: Drive, placed: Placed, side: str, room: dict[str, float], limit: float) -> str:
    """A move, another length or place; each tried first, and what suffers by it is told."""
    if not drive.remedies:
        return "another place or length of the coupling, or a longer adapter"
    from fitcheck.checks.coupling_length import length_remedy
    from fitcheck.checks.moving import move_remedy

    lack = rounded_up(limit - room[side])
    key = (CHECK, f"{side} side")
    sign = 1.0 if side == "motor" else -1.0
    moved, fitting = move_remedy(drive, sign * lack, *key), length_remedy(drive, key)
    ways = [way for way in (moved, fitting) if way is not None]
    if ways:
        return ", or ".join(ways) + ("" if other(side) in room else f"; room on the {other(side)}'s side is not known")
    if other(side) in room:
        shorter = _shorter(drive, placed, room, limit)
        if shorter is not None:
            return shorter
    return f"{mm(lack)} more between the closing faces, by a longer adapter or another coupling; no move is enough"


def _shorter(drive: Drive, placed: Placed, room: dict[str, float], limit: float) -> str | None:
    """The largest coupling length between the closing faces and its place; it may take other changes as well."""
    from fitcheck.checks.trying import outcome, told, with_coupling

    coupling = drive.job.coupling
    longest = rounded_down(min(coupling.length, coupling.length + room["motor"] + room["actuator"] - 2 * limit))
    face = rounded_up(placed.start + limit - room["motor"])
    if longest <= 0:
        return None
    tried = with_coupling(drive, replace(coupling, length=longest), face)
    if tried is None:
        return None
    found = outcome(drive, tried, [(CHECK, f"{name} side") for name in SIDES])
    now = f"now {mm(coupling.length)}; place.motor_hub_face: {mm(face)}"
    return told(f"largest coupling length that fits: {mm(longest)} ({now})", found)
