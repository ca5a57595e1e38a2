"""The words of caution that stand at the end of every report and help page."""

from __future__ import annotations

from collections.abc import Iterable

MAKER = "The coupling maker's ratings and fitting instructions prevail; follow local codes."
REVIEW = "Have the result reviewed by someone competent: a pass is only a statement about the numbers that were given."
VERTICAL = "Support a vertical load on its own before the drive is taken apart: without its coupling nothing holds it."
GUARD = "Rotating parts: guard them."

CAUTIONS = (GUARD, VERTICAL, MAKER, REVIEW)

WORK_CAUTIONS = (
    GUARD,
    "ISO 12100 tells how the risk is assessed, ISO 14120 what guards need.",
    "A vertical axis needs a brake or a counterbalance: STO alone does not hold it.",
    VERTICAL,
    MAKER,
    REVIEW,
)
"""What stands instead in a report that judges what the coupling has to do; each thing is said once."""

WORK = ("torque", "hub-grip", "key-stress", "misalignment", "wind-up", "backlash", "resonance", "speed", "inertia")


def cautions_for(checks: Iterable[str]) -> tuple[str, ...]:
    """The cautions of a report, once each.

    Args:
        checks: names of the checks that the report holds.
    """
    return WORK_CAUTIONS if any(name in WORK for name in checks) else CAUTIONS


CAUTION = " ".join(CAUTIONS)
