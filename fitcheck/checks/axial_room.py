"""`axial-room`: the coupling keeps its distance from what closes the chamber on both sides."""

from __future__ import annotations

from fitcheck.checks.drive import Drive, Placed
from fitcheck.checks.finding import Finding, compare, not_checked
from fitcheck.checks.material import closer_than, extent, material
from fitcheck.checks.sides import Face, Side
from fitcheck.checks.swept import hub_radius
from fitcheck.checks.wording import SIDES, mm, other, rounded_down, rounded_up
from fitcheck.measurement.obstacles import least_radius

CHECK = "axial-room"
_FAR = 1e9
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
    found = []
    for side in SIDES:
        face, subject = closing[side], f"{side} side"
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
        remedy = _remedy(drive, side, room, limit) if value < limit else None
        found.append(
            compare(
                check=CHECK, subject=subject, value=value, limit=limit, unit="mm", at_least=True, message=message,
                remedy=remedy, at=drive.at(face.station), path="require.axial_clearance",
            )
        )  # fmt: skip
    return tuple(found)


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


def _remedy(drive: Drive, side: str, room: dict[str, float], limit: float) -> str:
    lack = rounded_up(limit - room[side])
    spare = room.get(other(side), float("-inf")) - limit
    sign = 1.0 if side == "motor" else -1.0
    if spare >= lack:
        from fitcheck.checks.moving import move_remedy

        moved = move_remedy(drive, sign * lack, CHECK, f"{side} side")
        if moved is not None:
            return moved
        return f"a coupling at least {mm(lack)} shorter on the {side}'s side (moving it makes another check fail)"
    if other(side) not in room:
        return f"move the coupling {mm(lack)} towards the {other(side)}, where room is not known"
    longest = rounded_down(drive.job.coupling.length + room["motor"] + room["actuator"] - 2 * limit)
    from fitcheck.checks.coupling_length import length_remedy

    if longest <= 0:
        return "no coupling fits between the closing faces; make the adapter longer"
    text = f"largest coupling length that fits: {mm(longest)} (now {mm(drive.job.coupling.length)})"
    fitting = length_remedy(drive)
    return text if fitting is None else f"{text}; with engagement and clearance counted, {fitting}"
