"""Which fastening suits a shaft: round, with a flat, keyed; with what it would hold where that can be computed."""

from __future__ import annotations

from dataclasses import dataclass

from fitcheck.advice.needs import Needs
from fitcheck.checks.drive import Drive
from fitcheck.checks.hub_holding import holding_of
from fitcheck.checks.shaft_section import Section, section_of
from fitcheck.checks.work_units import nm, three
from fitcheck.errors import TableError, UsageError
from fitcheck.job.model import FASTENINGS, Hub
from fitcheck.mechanics.keys import HUB_BEARING, din_section, effective_length, key_torque_limit
from fitcheck.mechanics.set_screws import DYNAMIC_SAFETY, STATIC_SAFETY, holding_torque

USUAL_SET_SCREWS = ((4.0, "M2"), (6.0, "M3"), (10.0, "M4"), (14.0, "M5"), (20.0, "M6"), (40.0, "M8"))
"""Set screw by shaft diameter up to, mm; common practice, no source."""


@dataclass(frozen=True, kw_only=True)
class Choice:
    """One fastening on one shaft: yes, with care or no, and why."""

    fastening: str
    verdict: str
    why: str


def choices(drive: Drive, side: str, needs: Needs) -> tuple[Choice, ...]:
    """The fastenings for the shaft on a side; empty where the shaft is not known."""
    section, hub = section_of(drive, side), getattr(drive.job.coupling.hubs, side)
    if section is None:
        return ()
    made = {
        "clamp": _clamp(section),
        "clamp two-piece": _two_piece(section),
        "set screw": _set_screw(section, needs),
        "key with set screw": _key(section, hub, needs, clamped=False),
        "key with clamp": _key(section, hub, needs, clamped=True),
    }
    return tuple(Choice(fastening=name, verdict=made[name][0], why=made[name][1]) for name in FASTENINGS)


def _clamp(section: Section) -> tuple[str, str]:
    if section.flat_height is not None or section.keyseat_width is not None:
        cut = "flat" if section.flat_height is not None else "keyseat"
        return "with care", f"grips round shafts without marking them, without play; the {cut} under it costs grip"
    return "yes", "grips the round shaft without marking it, without play; comes off and goes on again"


def _two_piece(section: Section) -> tuple[str, str]:
    verdict, _ = _clamp(section)
    return verdict, "as the clamp, and its cap comes off sideways: for hubs that are to be removed often"


def _set_screw(section: Section, needs: Needs) -> tuple[str, str]:
    factor = DYNAMIC_SAFETY[0] if needs.reversing else STATIC_SAFETY[0]
    size = next((size for most, size in USUAL_SET_SCREWS if section.diameter <= most), "M10")
    words = "mars the shaft, so that the hub jams when it is to come off"
    if section.flat_height is not None:
        words = "sits on the flat and marks only that"
    try:
        held = holding_torque(size, section.diameter).low / factor
    except TableError:
        return "with care", f"{words}; for low torque only"
    enough = held >= needs.worst
    sums = f"one {size} holds {nm(held)} with a safety of {three(factor)}, {nm(needs.worst)} are asked"
    if not enough:
        return "no", f"{words}; {sums}"
    return ("yes" if section.flat_height is not None and not needs.reversing else "with care"), f"{words}; {sums}"


def _key(section: Section, hub: Hub, needs: Needs, *, clamped: bool) -> tuple[str, str]:
    if section.keyseat_width is None:
        return "no", "needs a keyseat, and the shaft has none"
    try:
        key = din_section(section.diameter)
        length = effective_length(hub.bore_length, key.width_mm, section.diameter)
        held = key_torque_limit(key, length, HUB_BEARING[holding_of(hub).material]).low
    except (TableError, UsageError) as error:
        return "with care", f"needs its exact size; what it carries is not computed: {error}"
    fits = abs(key.width_mm - section.keyseat_width) < 0.1
    words = (
        f"a key of {key.width_mm:g} x {key.height_mm:g} (DIN 6885-1) over the whole bore carries {nm(held)} in "
        f"{holding_of(hub).material}, {nm(needs.worst)} are asked; it needs its exact size"
    )
    if not fits:
        return "with care", f"{words}, and the keyseat is {section.keyseat_width:g} wide"
    if held < needs.worst:
        return "no", words
    if clamped:
        return "yes", f"{words}; the clamp takes the play away as long as it does not slip"
    if needs.reversing:
        return "with care", f"{words}; its play is felt at every reversal"
    return "yes", words
