"""How far the shaft ends grow towards each other, against the adapter, when drive and adapter warm up."""

from __future__ import annotations

from dataclasses import dataclass

from fitcheck.checks.drive import Drive
from fitcheck.checks.sides import Side
from fitcheck.checks.wording import SIDES
from fitcheck.checks.work_units import three
from fitcheck.job.drive import Service
from fitcheck.job.ratings import FAR
from fitcheck.mechanics.misalignment import EXPANSION, thermal_growth

BEHIND_SEAT = 2.0
"""How far behind the seat a shaft is held, in diameters, where no bearing is given; common practice, no source."""


@dataclass(frozen=True, kw_only=True)
class Growth:
    """Greatest change of the distance between the shaft ends by heat, mm, to either side, and how it was found.

    `closing` is what of it brings the ends closer together.
    """

    size: float
    closing: float
    how: str


def growth_of(drive: Drive, service: Service) -> Growth:
    """The growth of both shafts from the bearings that hold them along the axis, and of the adapter between the seats.

    The shafts warm first and the adapter follows, so that their difference alone is looked at as well as the whole.
    What lies behind the seats, the machines' own housings, is taken as not growing.
    """
    lengths, words = [], []
    for name in SIDES:
        length, where = _held(drive.side(name))
        lengths.append(length)
        if length > 0.0:
            words.append(f"{three(length)} mm of the {name}'s from {where}")
    length, steel = sum(lengths), EXPANSION["steel"]
    early = thermal_growth(length, service.warming, steel)
    late, how = early, f"of {' and '.join(words) or 'no known shaft'}"
    seats = [half.seat for half in (drive.motor, drive.actuator)]
    if service.adapter_warming != 0.0 and seats[0] is not None and seats[1] is not None:
        adapter = abs(seats[1] - seats[0])
        late = thermal_growth(length, service.warming + service.adapter_warming, steel)
        late -= thermal_growth(adapter, service.adapter_warming, EXPANSION[service.adapter_material])
        how += f" against {three(adapter)} mm of {service.adapter_material}"
    return Growth(size=max(abs(early), abs(late)), closing=max(0.0, early, late), how=how)


def _held(side: Side) -> tuple[float, str]:
    """Length of a shaft from where it is held along its axis to its end, mm, and that place in words."""
    if side.shaft is None or side.seat is None:
        return 0.0, ""
    bearings, free = side.machine.bearings, abs(side.shaft.end - side.seat)
    if bearings is None:
        behind = BEHIND_SEAT * side.shaft.diameter
        return free + behind, f"{BEHIND_SEAT:g} diameters behind the seat, no bearing given"
    if bearings.fixed == FAR:
        return free + bearings.distance + bearings.span, "its far bearing"
    return free + bearings.distance, "its near bearing"
