"""Each coupling family against a drive's needs: what speaks for it here, what against, and what needs a good one."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, isinf

from fitcheck.advice.effects import Effects, effects_of
from fitcheck.advice.figures import Figures
from fitcheck.advice.needs import Needs, factors_for
from fitcheck.checks.work_units import nm, three
from fitcheck.checks.working import ELASTOMER, Working
from fitcheck.errors import TableError
from fitcheck.mechanics.service import required_rating

SUITS, CARE, NOT = "suits", "suits with care", "does not suit"
VERDICTS = (SUITS, CARE, NOT)
LIVELY = 12.0
"""mm/s; sliding speed of lubricated steel from which on alignment is no longer called acceptable (a published table of
alignment tolerances, read); for plain discs it is a class only."""

FELT_TWIST = 2.0
"""Degrees under the greatest torque from which on it is said; common practice, no source."""

BREAKING = "breaks by fatigue"


@dataclass(frozen=True, kw_only=True)
class Opinion:
    """One family for this drive. `care` is what only the better ones of the family do."""

    family: str
    verdict: str
    figures: Figures
    effects: Effects
    reasons_for: tuple[str, ...]
    care: tuple[str, ...]
    against: tuple[str, ...]


class _Weigher:
    """Collects reasons, each by a need against a range of the family."""

    def __init__(self) -> None:
        self.reasons_for: list[str] = []
        self.care: list[str] = []
        self.against: list[str] = []

    def reach(self, need: float, most: float, best: float, words: str) -> None:
        """A need that the family must reach: `most` of it do, or its `best`."""
        (self.reasons_for if need <= most else self.care if need <= best else self.against).append(words)

    def stay(self, limit: float, best: float, worst: float, words: str) -> None:
        """A limit that the family must stay below: all of it do, or its best."""
        (self.reasons_for if worst <= limit else self.care if best <= limit else self.against).append(words)


def opinions(needs: Needs, working: Working, figures: tuple[Figures, ...]) -> tuple[Opinion, ...]:
    """All families, those that suit first.

    Args:
        needs: of the drive.
        working: the drive at work.
        figures: of each family, for the outside diameter in question.
    """
    found = [_opinion(needs, working, one) for one in figures]
    return tuple(sorted(found, key=lambda one: (VERDICTS.index(one.verdict), len(one.against), len(one.care))))


def _opinion(needs: Needs, working: Working, figures: Figures) -> Opinion:
    weigh, effects = _Weigher(), effects_of(needs, working, figures)
    _torque(weigh, needs, working, figures)
    _misalignment(weigh, needs, figures, effects)
    _precision(weigh, needs, working, figures, effects)
    _use(weigh, needs, figures)
    verdict = NOT if weigh.against else CARE if weigh.care else SUITS
    return Opinion(
        family=figures.family, verdict=verdict, figures=figures, effects=effects, reasons_for=tuple(weigh.reasons_for),
        care=tuple(weigh.care), against=tuple(weigh.against),
    )  # fmt: skip


def _torque(weigh: _Weigher, needs: Needs, working: Working, figures: Figures) -> None:
    try:
        factors = factors_for(working, figures.family)
    except TableError as error:
        weigh.against.append(f"no service factor for its elastomer: {error}")
        return
    rating = required_rating(needs.lasting or 0.0, needs.worst, factors)
    where = "" if "torque" in figures.given else " at this size"
    words = (
        f"torque: {nm(rating.nominal)} lasting and {nm(rating.maximum)} short asked with service factors, "
        f"{figures.how('torque')} {span(figures.torque, ' N·m')} and {span(figures.maximum, ' N·m')}{where}"
    )
    used = [max(rating.nominal / figures.torque[end], rating.maximum / figures.maximum[end]) for end in (0, 1)]
    weigh.stay(1.0, used[1], used[0], words)


def _misalignment(weigh: _Weigher, needs: Needs, figures: Figures, effects: Effects) -> None:
    offsets = needs.offsets
    if offsets is None:
        return
    rows = (
        ("parallel", offsets.parallel_mm, figures.parallel, " mm"),
        ("angular", offsets.angular_deg, figures.angular, "°"),
        ("axial", offsets.axial_mm, figures.axial, " mm"),
    )
    for name, need, pair, unit in rows:
        if need <= 0.0:
            continue
        permitted = f"{span(pair, unit)} {figures.how(name)}" if pair[1] > 0.0 else "none"
        words = f"{name} misalignment: the shafts have {three(need)}{unit}, permitted {permitted}"
        if figures.family == "rigid":
            words += "; the shafts and their bearings take it as force"
        elif need > pair[0] and BREAKING in figures.upkeep:
            words += "; over its limit it breaks by fatigue"
        weigh.reach(need, *pair, words)
    _together(weigh, rows)
    if effects.sliding is not None and effects.sliding > 0.0:
        words = f"wear: the disc slides with up to {three(effects.sliding)} mm/s at that offset and speed"
        (weigh.reasons_for if effects.sliding <= LIVELY else weigh.care).append(words)


def _together(weigh: _Weigher, rows: tuple[tuple[str, float, tuple[float, float], str], ...]) -> None:
    """The kinds of misalignment that are there at once, added as the check does: shares of what is permitted."""
    kinds = [(need, pair) for _, need, pair, _ in rows if need > 0.0]
    if len(kinds) < 2 or any(pair[1] <= 0.0 for _, pair in kinds):
        return  # of one kind, or of one that is not permitted at all, enough is said
    best = sum(need / pair[1] for need, pair in kinds)
    worst = sum(need / pair[0] if pair[0] > 0.0 else inf for need, pair in kinds)
    share = f"{three(100.0 * best)} % at best" if isinf(worst) else span((100.0 * best, 100.0 * worst), " %")
    weigh.stay(1.0, best, worst, f"misalignment together: {share} of what is permitted, shares added (an assumption)")


def _precision(weigh: _Weigher, needs: Needs, working: Working, figures: Figures, effects: Effects) -> None:
    play = (
        "no backlash"
        if figures.backlash[1] == 0.0
        else f"backlash {figures.how('backlash')} {span(figures.backlash, '°')}"
    )
    stiff = f"{span(figures.stiffness, ' N·m/rad')} {figures.how('stiffness')}"
    if needs.travel is not None:
        unit, limit = working.unit, needs.travel
        best, worst = effects.lost
        words = (
            f"lost motion: {span((best, worst), f' {unit}')} at reversal, {three(limit)} {unit} asked: stiffness "
            f"{stiff}, {play}"
        )
        if isinf(needs.stiffness or 0.0) and best > limit:
            words += "; the shaft ends alone wind up too far"
        if needs.scale_feedback and worst > limit:
            weigh.care.append(f"{words}; a scale at the carriage takes it out of the position, not out of the loop")
        else:
            weigh.stay(limit, best, worst, words)
    if needs.given_backlash is not None:
        weigh.stay(
            needs.given_backlash, *figures.backlash, f"backlash: at most {three(needs.given_backlash)}° asked, {play}"
        )
    if needs.resonance is not None and effects.resonance is not None:
        words = f"resonance: {span(effects.resonance, ' Hz')} at the lowest, {three(needs.resonance)} Hz asked"
        weigh.reach(needs.resonance, *effects.resonance, words)
    if needs.kept_free is not None and effects.in_band is not None:
        _band(weigh, needs.kept_free, effects.in_band)
    if effects.uneven is not None and effects.uneven > 0.0:
        words = f"turns unevenly, twice a turn, by the angle between the shafts: {three(effects.uneven)} {working.unit}"
        over = needs.travel is not None and 2.0 * effects.uneven > needs.travel
        small = needs.travel is not None and 20.0 * effects.uneven < needs.travel
        (weigh.against if over else weigh.reasons_for if small else weigh.care).append(f"{words} to either side")
    if effects.twist[1] > FELT_TWIST:
        weigh.care.append(f"twist: {span(effects.twist, '°')} under the greatest torque, with the shaft ends")


def _band(weigh: _Weigher, band: tuple[float, float], lowest: tuple[float, float]) -> None:
    """The lowest resonance against the band that is to be kept free: clear of it, clear for some, or in it for all."""
    words = f"resonance: {span(lowest, ' Hz')} at the lowest, {span(band, ' Hz')} to be kept free"
    if lowest[1] < band[0] or lowest[0] > band[1]:
        weigh.reasons_for.append(words)
    elif band[0] <= lowest[0] and lowest[1] <= band[1]:
        weigh.against.append(words)
    else:
        weigh.care.append(words)


def _use(weigh: _Weigher, needs: Needs, figures: Figures) -> None:
    if needs.speed is not None:
        shown = span(figures.speed, " rpm")
        weigh.reach(
            needs.speed, *figures.speed, f"speed: {three(needs.speed)} rpm asked, {figures.how('speed')} up to {shown}"
        )
    if needs.load_class != "uniform":
        softens = figures.shock in ("some", "much")
        words = f"shocks ({needs.load_class}): it softens them{'' if softens else ' little or not'}"
        (weigh.reasons_for if softens else weigh.care).append(words)
    if needs.vertical and figures.family in ELASTOMER:
        weigh.care.append("a hanging load: choose a spider that still holds when it breaks (fail-through jaws)")
    if figures.upkeep.startswith("none"):
        weigh.reasons_for.append(f"upkeep: {figures.upkeep}")
        return
    target = weigh.care if needs.load_class == "heavy shock" else weigh.reasons_for
    target.append(f"upkeep, to be planned: {figures.upkeep}")


def span(pair: tuple[float, float], unit: str) -> str:
    """A range in words, in rising order; one number where both ends read the same."""
    low, high = sorted(pair)
    first, last = three(low), three(high)
    return f"{first}{unit}" if first == last else f"{first} to {last}{unit}"
