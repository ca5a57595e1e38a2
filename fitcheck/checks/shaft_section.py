"""A shaft's section as job and file tell it: diameter, flat, keyseat; and the share of a bore that they interrupt."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from fitcheck.checks.drive import Drive, PlacedHub
from fitcheck.checks.sides import Missing
from fitcheck.errors import TableError, UsageError
from fitcheck.mechanics.shafts import Part, flat_part, keyseat_part, round_part
from fitcheck.standards.fits import limits


@dataclass(frozen=True, kw_only=True)
class Section:
    """A shaft's section, mm: flat and keyseat with their ranges of stations; None where there is none or not known."""

    diameter: float
    flat_height: float | None = None
    flat: tuple[float, float] | None = None
    keyseat_width: float | None = None
    keyseat_depth: float | None = None
    keyseat: tuple[float, float] | None = None


def section_of(drive: Drive, side: str) -> Section | None:
    """The section of the shaft on a side, from the job before the file; None where there is no shaft."""
    machine, end, shaft = drive.side(side).machine, drive.side(side).end, drive.side(side).shaft
    given, found = machine.shaft, None if end is None else end.shaft
    if given is None and found is None:
        return None
    # What the body shows and the job does not say is there all the same.
    flat = (None if given is None else given.flat) or (None if found is None else found.flat)
    seat = (None if given is None else given.keyseat) or (None if found is None else found.keyseat)
    diameter = given.diameter if given is not None else found.diameter if found is not None else 0.0
    return Section(
        diameter=diameter,
        flat_height=None if flat is None else flat.height,
        flat=None if shaft is None else shaft.flat,
        keyseat_width=None if seat is None else seat.width,
        keyseat_depth=None if seat is None else seat.depth,
        keyseat=None if shaft is None else shaft.keyseat,
    )


def play_of(drive: Drive, side: str) -> tuple[float, float, str] | Missing:
    """Least and greatest diametral play of the shaft in its bore, mm, negative for interference, and where from.

    Without tolerance classes the play lies between none and `require.bore_play`, which `bore-fit` holds it to.
    """
    hub, section = getattr(drive.job.coupling.hubs, side), section_of(drive, side)
    if section is None:
        return drive.side(side).no_shaft()
    shaft = drive.side(side).machine.shaft
    shaft_class = None if shaft is None else shaft.tolerance
    nominal = hub.bore - section.diameter
    if hub.bore_tolerance is None or shaft_class is None:
        most = max(drive.job.require.bore_play, nominal)
        return min(0.0, nominal), most, f"play taken as 0 to {most:g} mm, as tolerance classes are missing"
    try:
        bore, pin = limits(hub.bore, hub.bore_tolerance), limits(section.diameter, shaft_class)
    except TableError as error:
        return Missing(
            reason=str(error), supply=f"correct coupling.hubs.{side}.bore_tolerance or {side}.shaft.tolerance"
        )
    return nominal + bore.lower - pin.upper, nominal + bore.upper - pin.lower, f"{hub.bore_tolerance}/{shaft_class}"


def overlap(first: tuple[float, float], second: tuple[float, float] | None) -> float:
    """Length in mm that two ranges of stations share."""
    if second is None:
        return 0.0
    return max(0.0, min(first[1], second[1]) - max(first[0], second[0]))


def engaged(drive: Drive, side: str, hub: PlacedHub) -> tuple[float, float] | None:
    """Stations between which full-diameter shaft lies in the hub's bore, ascending; None where none does."""
    shaft = drive.side(side).shaft
    if shaft is None:
        return None
    low, high = sorted((shaft.full_from, shaft.full_to))
    start, stop = max(low, hub.bore[0]), min(high, hub.bore[1])
    return (start, stop) if stop > start else None


def parts(section: Section, start: float, stop: float) -> list[Part]:
    """The shaft between two stations, ascending, as parts of one section each.

    A flat or keyseat that the torsion formulas do not cover counts as the round shaft that fits beside it: too soft,
    which is the side that wind-up is judged on.
    """
    cuts = sorted({start, stop, *(s for r in (section.flat, section.keyseat) if r for s in r if start < s < stop)})
    made = []
    for first, last in pairwise(cuts):
        middle, length = (first + last) / 2.0, last - first
        if section.keyseat_depth and _inside(middle, section.keyseat):
            made.append(_keyseat(section, length))
        elif section.flat_height and _inside(middle, section.flat):
            made.append(_flat(section, length))
        else:
            made.append(round_part(length, section.diameter))
    return made


def _inside(station: float, span: tuple[float, float] | None) -> bool:
    return span is not None and span[0] <= station <= span[1]


def _flat(section: Section, length: float) -> Part:
    height = section.flat_height or section.diameter
    try:
        return flat_part(length, section.diameter, height)
    except UsageError:
        return round_part(length, height)


def _keyseat(section: Section, length: float) -> Part:
    width, depth = section.keyseat_width or 0.0, section.keyseat_depth or 0.0
    try:
        return keyseat_part(length, section.diameter, width, depth)
    except UsageError:
        return round_part(length, section.diameter - depth)
