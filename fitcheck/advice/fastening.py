"""Which fastening suits a shaft: round, flat, keyed, soft, removed often; with what it would hold where computed."""

from __future__ import annotations

from dataclasses import dataclass

from fitcheck.advice.needs import Needs
from fitcheck.checks.drive import Drive
from fitcheck.checks.hub_grip import check as hub_grip
from fitcheck.checks.hub_holding import holding_of
from fitcheck.checks.shaft_section import Section, section_of
from fitcheck.checks.work_units import nm, three
from fitcheck.errors import TableError, UsageError
from fitcheck.job.model import FASTENINGS, Hub
from fitcheck.mechanics.keys import HUB_BEARING, din_section, effective_length, key_torque_limit
from fitcheck.mechanics.set_screws import DYNAMIC_SAFETY, STATIC_SAFETY, holding_torque

USUAL_SET_SCREWS = ((4.0, "M2"), (6.0, "M3"), (10.0, "M4"), (14.0, "M5"), (20.0, "M6"), (40.0, "M8"))
"""Set screw by shaft diameter up to, mm; common practice, no source."""

HARD_SHARE = 0.85
"""What a set screw holds on a shaft that is not 10 HRC softer than its point: up to 15 % less (a fastener maker's
manual, read)."""

YES, CARE, NO = "yes", "with care", "no"
VERDICTS = (YES, CARE, NO)


@dataclass(frozen=True, kw_only=True)
class Choice:
    """One fastening on one shaft: yes, with care or no, why, and whether the job's hub has it."""

    fastening: str
    verdict: str
    why: str
    candidate: bool = False


@dataclass(frozen=True, kw_only=True)
class _Shaft:
    """A shaft as the fastenings see it."""

    section: Section
    hub: Hub
    soft: bool
    hard: bool
    often: bool

    @property
    def cut(self) -> str:
        """What interrupts its round, or nothing."""
        return "flat" if self.section.flat_height is not None else "keyseat" if self.section.keyseat_width else ""


def choices(drive: Drive, side: str, needs: Needs) -> tuple[Choice, ...]:
    """The fastenings for the shaft on a side, those that suit first; empty where the shaft is not known.

    Args:
        drive: job and measurement, joined.
        side: motor or actuator.
        needs: of the drive.
    """
    section, hub, machine = section_of(drive, side), getattr(drive.job.coupling.hubs, side), drive.side(side).machine
    if section is None:
        return ()
    surface = None if machine.shaft is None else machine.shaft.surface
    shaft = _Shaft(
        section=section, hub=hub, soft=surface == "soft", hard=surface == "hard", often=machine.removed == "often"
    )
    made = {
        "clamp": _clamp(shaft),
        "clamp two-piece": _two_piece(shaft),
        "set screw": _set_screw(shaft, needs),
        "key with set screw": _key(shaft, needs, clamped=False),
        "key with clamp": _key(shaft, needs, clamped=True),
    }
    found = []
    for name in FASTENINGS:
        verdict, why = made[name]
        if name == hub.fastening:
            verdict, why = _as_built(drive, side, verdict, why)
        found.append(Choice(fastening=name, verdict=verdict, why=why, candidate=name == hub.fastening))
    return tuple(sorted(found, key=lambda one: VERDICTS.index(one.verdict)))


def _as_built(drive: Drive, side: str, verdict: str, why: str) -> tuple[str, str]:
    """The job's own hub: what the check of its grip says stands above what the fastening usually does."""
    grip = next((one for one in hub_grip(drive) if one.subject == f"{side} hub"), None)
    if grip is None or grip.value is None or grip.limit is None:
        return verdict, f"{why}; the job's hub has it, and what that holds is not known"
    words = f"{why}; the job's hub holds {nm(grip.value)} at least, {nm(grip.limit)} are asked"
    if grip.status == "fail":
        return (NO if verdict == NO else CARE), f"{words}: as given it slips"
    return verdict, words


def _clamp(shaft: _Shaft) -> tuple[str, str]:
    off = "; comes off and goes on again" if not shaft.often else "; comes off and goes on again as often as is wanted"
    if shaft.cut:
        return CARE, f"grips the round part without marking it, without play; the {shaft.cut} under it costs grip{off}"
    soft = ", which counts on a soft shaft" if shaft.soft else ""
    return YES, f"grips the round shaft without marking it{soft}, without play{off}"


def _two_piece(shaft: _Shaft) -> tuple[str, str]:
    verdict, _ = _clamp(shaft)
    if shaft.often:
        return verdict, "as the clamp, and its cap comes off sideways: the one for this shaft, removed often"
    return verdict, "as the clamp, and its cap comes off sideways: for hubs that are to be removed often"


def _set_screw(shaft: _Shaft, needs: Needs) -> tuple[str, str]:
    section = shaft.section
    factor = DYNAMIC_SAFETY[0] if needs.reversing else STATIC_SAFETY[0]
    size = next((size for most, size in USUAL_SET_SCREWS if section.diameter <= most), "M10")
    flat = section.flat_height is not None
    words = "sits on the flat and marks only that" if flat else "mars the shaft, so that the hub jams when it comes off"
    bad = shaft.often and not flat
    if shaft.soft and not flat:
        words += ", the more so as it is soft"
        bad = True
    if bad and shaft.often:
        words += "; this hub is removed often"
    try:
        held = holding_torque(size, section.diameter).low / factor
    except TableError:
        return (NO if bad else CARE), f"{words}; for low torque only"
    if shaft.hard:
        held *= HARD_SHARE
        words += "; on a hard shaft its point bites less, up to 15 %"
    sums = f"one {size} holds {nm(held)} with a safety of {three(factor)}, {nm(needs.worst)} are asked"
    if bad or held < needs.worst:
        return NO, f"{words}; {sums}"
    return (YES if flat and not needs.reversing else CARE), f"{words}; {sums}"


def _key(shaft: _Shaft, needs: Needs, *, clamped: bool) -> tuple[str, str]:
    section, hub = shaft.section, shaft.hub
    if section.keyseat_width is None:
        return NO, "needs a keyseat, and the shaft has none"
    try:
        key = din_section(section.diameter)
        length = effective_length(hub.bore_length, key.width_mm, section.diameter)
        held = key_torque_limit(key, length, HUB_BEARING[holding_of(hub).material]).low
    except (TableError, UsageError) as error:
        return CARE, f"needs its exact size; what it carries is not computed: {error}"
    fits = abs(key.width_mm - section.keyseat_width) < 0.1
    words = (
        f"a key of {key.width_mm:g} x {key.height_mm:g} (DIN 6885-1) over the whole bore carries {nm(held)} in "
        f"{holding_of(hub).material}, {nm(needs.worst)} are asked; it needs its exact size"
    )
    if not fits:
        return CARE, f"{words}, and the keyseat is {section.keyseat_width:g} wide"
    if held < needs.worst:
        return NO, words
    if clamped:
        return YES, f"{words}; the clamp takes the play away as long as it does not slip"
    if needs.reversing:
        return CARE, f"{words}; its play is felt at every reversal, and its set screw marks the shaft or the key"
    return YES, f"{words}; its set screw keeps it in place and marks the shaft or the key"
