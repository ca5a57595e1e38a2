"""Which screws a hub gets when the caller names none. All proportions here: common practice, no source."""

from __future__ import annotations

import math
from dataclasses import replace

from fitcheck.standards.screws import cap_screw, clearance_hole, set_screw
from parametric_models.couplings.base import Given
from parametric_models.couplings.hubs import CAP, COUNTERBORE_PLAY, SET, HubScrew
from parametric_models.couplings.limits import LEAST_WALL, within

SCREW_SIZES: tuple[str, ...] = ("M1.6", "M2", "M2.5", "M3", "M4", "M5", "M6", "M8", "M10", "M12")
SET_SCREW_SIZES: tuple[str, ...] = SCREW_SIZES[1:]
SCREW_LENGTHS = (
    2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0, 55.0, 60.0,
    65.0, 70.0, 80.0, 90.0, 100.0,
)  # fmt: skip
"""Lengths that screws are made in, mm (ISO 888, from memory)."""

_ENGAGEMENT = 0.8
"""Least thread engagement and least material under a head, in thread diameters."""


def screw_diameter(size: str) -> float:
    """Thread diameter of a size of `SCREW_SIZES`, mm."""
    return float(size[1:])


def largest_clamped_bore(outside_diameter: float, size: str, slit_width: float) -> float:
    """The largest bore that leaves room for a clamp screw beside it, mm; negative where none does.

    Args:
        outside_diameter: of the hub, mm.
        size: size of the clamp screw.
        slit_width: width of the slit, mm.
    """
    radius, hole, thread = outside_diameter / 2, clearance_hole(size) / 2, screw_diameter(size)
    depth = slit_width / 2 + _ENGAGEMENT * thread
    if depth >= radius:
        return -1.0
    # the head's seat and the thread's end both lie `depth` from the slit's middle, and inside the hub
    offset = min(
        radius - hole - LEAST_WALL, math.sqrt(radius**2 - depth**2) - thread / 2, math.sqrt(radius**2 - depth**2) - 0.3
    )
    return 2 * (offset - hole - LEAST_WALL)


def clamp_size(name: str, bore: float, outside_diameter: float, slit_width: float) -> str:
    """The largest plausible clamp screw that finds room beside the bore.

    Args:
        name: the hub, for messages.
        bore: bore diameter, mm.
        outside_diameter: of the hub, mm.
        slit_width: width of the slit, mm.

    Returns:
        The size.

    Raises:
        UsageError: no screw finds room; the message gives the range of bores.
    """
    wanted = max(1.6, 0.13 * outside_diameter)
    for size in reversed(SCREW_SIZES):
        if screw_diameter(size) <= wanted and bore <= largest_clamped_bore(outside_diameter, size, slit_width):
            return size
    most = largest_clamped_bore(outside_diameter, SCREW_SIZES[0], slit_width)
    within(name, "bore", bore, 0.1, math.floor(most * 100) / 100,
           f"a clamp screw, {SCREW_SIZES[0]} at least, must find room beside the bore within outside diameter "
           f"{outside_diameter:g} mm")  # fmt: skip
    return SCREW_SIZES[0]


def clamp_screw(
    given: Given, size: str, bore: float, outside_diameter: float, slit_width: float, angle: float
) -> HubScrew:
    """A clamp screw beside the bore, its head as far out as stays within the hub's outside diameter.

    Args:
        given: the caller's dimensions; `screw_offset`, `screw_head_end` and `screw_length` are taken out.
        size: size of the screw.
        bore: bore diameter, mm.
        outside_diameter: of the hub, mm.
        slit_width: width of the slit, mm.
        angle: shaft angle of the screw's direction, degrees.

    Returns:
        The screw, at station 0.
    """
    row, radius = cap_screw(size), outside_diameter / 2
    least = bore / 2 + clearance_hole(size) / 2 + LEAST_WALL
    most = max(least, (largest_clamped_bore(outside_diameter, size, slit_width) / 2 - bore / 2) + least)
    offset = float(
        given.take("screw_offset", min(max(math.ceil(least * 10) / 10, round(0.28 * outside_diameter, 1)), most))
    )
    corner = abs(offset) + row.head_diameter / 2
    flush = math.floor(math.sqrt(max(0.0, radius**2 - corner**2)) * 10) / 10 - row.head_height
    shallow, deep = (slit_width / 2 + part * row.diameter for part in (_ENGAGEMENT, 1.5))
    # without a seat of its own the head would hang over the hub's edge
    edge = math.sqrt(max(0.0, radius**2 - offset**2))
    seat = min(max(flush, shallow), deep, max(shallow, edge))
    head_end = float(given.take("screw_head_end", seat + row.head_height))
    seat = head_end - row.head_height
    length = clamp_screw_length(size, abs(offset), seat, outside_diameter, slit_width)
    length = float(given.take("screw_length", length))
    return HubScrew(size=size, kind=CAP, station=0.0, offset=offset, angle=angle, head_end=head_end, length=length)


def clamp_screw_length(size: str, offset: float, seat: float, outside_diameter: float, slit_width: float) -> float:
    """Length below the head of a clamp screw: 1.5 diameters of thread if the hub has them, in a length that is made.

    Args:
        size: size of the screw.
        offset: distance of its axis from the drive axis, mm.
        seat: distance from the slit's middle to the face under the head, mm.
        outside_diameter: of the hub, mm.
        slit_width: width of the slit, mm.
    """
    thread = screw_diameter(size)
    room = seat + math.sqrt(max(0.0, (outside_diameter / 2) ** 2 - (offset + thread / 2) ** 2))
    to_thread = seat + slit_width / 2
    made = [length for length in SCREW_LENGTHS if to_thread + _ENGAGEMENT * thread <= length <= room]
    enough = [length for length in made if length >= to_thread + 1.5 * thread]
    if enough:
        return enough[0]
    return made[-1] if made else max(room, to_thread + LEAST_WALL)


def set_screw_size(name: str, bore: float, wall: float, outside_diameter: float) -> str:
    """The largest plausible set screw that the wall can hold.

    Args:
        name: the hub, for messages.
        bore: bore diameter, mm.
        wall: radial length of thread from what the screw presses on to the outside diameter, mm.
        outside_diameter: of the hub, mm.

    Returns:
        The size.

    Raises:
        UsageError: the wall is too thin for the smallest size.
    """
    wanted = max(2.0, 0.13 * outside_diameter)
    for size in reversed(SET_SCREW_SIZES):
        fits: bool = wall >= _shortest(size) + _sagitta(size, outside_diameter)
        if fits and screw_diameter(size) <= wanted:
            return size
    least = _shortest(SET_SCREW_SIZES[0]) + _sagitta(SET_SCREW_SIZES[0], outside_diameter)
    within(
        name,
        "bore",
        bore,
        0.1,
        math.floor((bore + 2 * (wall - least)) * 100) / 100,
        f"the shortest {SET_SCREW_SIZES[0]} set screw, {least:.3g} mm, must find room between bore (or key) and "
        f"outside diameter {outside_diameter:g} mm",
    )
    return SET_SCREW_SIZES[0]


def _sagitta(size: str, outside_diameter: float) -> float:
    """How far the rim of a screw's outer end lies below the outside diameter over its middle, mm."""
    radius, half = outside_diameter / 2, screw_diameter(size) / 2
    return radius - math.sqrt(radius**2 - half**2) if half < radius else radius


def _shortest(size: str) -> float:
    """Shortest length of a set screw: its socket and a point of a quarter diameter, rounded up to a made length."""
    row = set_screw(size)
    least = row.socket_depth + 0.25 * row.diameter
    return next(length for length in SCREW_LENGTHS if length >= least)


def set_screws(
    given: Given, size: str, outside_diameter: float, angle: float, station: float, contacts: tuple[float, ...]
) -> tuple[HubScrew, ...]:
    """Radial set screws at one station, as long as stays within the outside diameter.

    Args:
        given: the caller's dimensions; `screw_head_end`, `screw_length` and `set_screw_spread` are taken out.
        size: size of the screws.
        outside_diameter: of the hub, mm.
        angle: shaft angle of the first screw, degrees.
        station: distance from the hub's outer face, mm.
        contacts: for each screw, the distance from the drive axis to what it presses on, mm.

    Returns:
        The screws.
    """
    spread = float(given.take("set_screw_spread", 90.0))
    head_end, given_length = given.take("screw_head_end", None), given.take("screw_length", None)
    first = HubScrew(size=size, kind=SET, station=station, angle=angle, head_end=1.0, length=1.0)
    screws = []
    for index, contact in enumerate(contacts):
        # the rim of the screw's outer end stays within the outside diameter
        room = math.sqrt((outside_diameter / 2) ** 2 - (screw_diameter(size) / 2) ** 2) - contact
        made = [length for length in SCREW_LENGTHS if _shortest(size) <= length <= room]
        length = float(given_length or (made[-1] if made else room))
        end = contact + length if head_end is None else float(head_end)
        screws.append(replace(first, angle=angle + index * spread, head_end=end, length=length))
    return tuple(screws)


def row_pitch(size: str, kind: str) -> float:
    """Least distance between screws beside each other along the axis, mm."""
    if kind == SET:
        return 1.6 * screw_diameter(size)
    return cap_screw(size).head_diameter + 2 * COUNTERBORE_PLAY
