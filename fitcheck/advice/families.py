"""Each coupling family against a drive's needs: what speaks for it here, what against, and what needs a good one."""

from __future__ import annotations

from dataclasses import dataclass
from math import isinf

from fitcheck.advice.figures import Figures
from fitcheck.advice.needs import Needs, factors_for
from fitcheck.checks.work_units import nm, three
from fitcheck.checks.working import ELASTOMER, Working
from fitcheck.errors import TableError
from fitcheck.mechanics.service import required_rating

SUITS, CARE, NOT = "suits", "suits with care", "does not suit"
VERDICTS = (SUITS, CARE, NOT)
SHORT_OVER_NOMINAL = 2.0
"""Maximum over nominal torque of most couplings; common practice, no source."""


@dataclass(frozen=True, kw_only=True)
class Opinion:
    """One family for this drive. `care` is what only the better ones of the family do."""

    family: str
    verdict: str
    figures: Figures
    reasons_for: tuple[str, ...]
    care: tuple[str, ...]
    against: tuple[str, ...]


class _Weigher:
    """Collects reasons, each by a need against a typical range."""

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
        figures: typical ones, for the outside diameter in question.
    """
    found = [_opinion(needs, working, one) for one in figures]
    return tuple(sorted(found, key=lambda one: (VERDICTS.index(one.verdict), len(one.against), len(one.care))))


def _opinion(needs: Needs, working: Working, figures: Figures) -> Opinion:
    weigh = _Weigher()
    _torque(weigh, needs, working, figures)
    _misalignment(weigh, needs, figures)
    _precision(weigh, needs, figures)
    _use(weigh, needs, figures)
    verdict = NOT if weigh.against else CARE if weigh.care else SUITS
    return Opinion(
        family=figures.family, verdict=verdict, figures=figures, reasons_for=tuple(weigh.reasons_for),
        care=tuple(weigh.care), against=tuple(weigh.against),
    )  # fmt: skip


def _torque(weigh: _Weigher, needs: Needs, working: Working, figures: Figures) -> None:
    try:
        factors = factors_for(working, figures.family in ELASTOMER)
    except TableError as error:
        weigh.against.append(f"no service factor for its elastomer: {error}")
        return
    rating = required_rating(needs.lasting or 0.0, needs.worst, factors)
    need = max(rating.nominal, rating.maximum / SHORT_OVER_NOMINAL)
    low, high = figures.torque
    weigh.reach(
        need, low, high,
        f"torque: {nm(need)} nominal asked with service factors, typically {three(low)} to {nm(high)} at this size",
    )  # fmt: skip


def _misalignment(weigh: _Weigher, needs: Needs, figures: Figures) -> None:
    offsets = needs.offsets
    if offsets is None:
        return
    rows = (
        ("parallel", offsets.parallel_mm, figures.parallel, "mm"),
        ("angular", offsets.angular_deg, figures.angular, "°"),
        ("axial", offsets.axial_mm, figures.axial, "mm"),
    )
    for name, need, (low, high), unit in rows:
        space = "" if unit == "°" else " "
        if need <= 0.0:
            continue
        typical = f"permits {three(low)} to {three(high)}{space}{unit}" if high > 0.0 else "permits none"
        words = f"{name} misalignment: the shafts have {three(need)}{space}{unit}, the family {typical}"
        if figures.family == "rigid":
            words += "; the shafts and their bearings take it as force"
        weigh.reach(need, low, high, words)


def _precision(weigh: _Weigher, needs: Needs, figures: Figures) -> None:
    if needs.stiffness is not None:
        low, high = figures.stiffness
        if isinf(needs.stiffness):
            weigh.against.append("stiffness: the shaft ends alone wind up too far, whatever the coupling")
        else:
            asked = f"{three(needs.stiffness)} N·m/rad asked by {needs.stiffness_how}"
            words = f"stiffness: {asked}, typically {three(low)} to {three(high)}"
            weigh.reach(needs.stiffness, low, high, words)
    if needs.backlash is not None:
        best, worst = figures.backlash
        typical = "none" if worst == 0.0 else f"typically {three(best)} to {three(worst)}°"
        weigh.stay(needs.backlash, best, worst, f"backlash: at most {three(needs.backlash)}° asked, {typical}")
    if figures.family == "universal joint" and needs.offsets is not None and needs.offsets.angular_deg > 0.0:
        weigh.care.append("turns unevenly, twice a turn, by the angle between the shafts")


def _use(weigh: _Weigher, needs: Needs, figures: Figures) -> None:
    if needs.speed is not None:
        low, high = figures.speed
        weigh.reach(
            needs.speed,
            low,
            high,
            f"speed: {three(needs.speed)} rpm, typically up to {three(low)} to {three(high)} rpm",
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
