"""The words of caution that stand at the end of every report and help page."""

from __future__ import annotations

CAUTIONS = (
    "Rotating parts: guard them.",
    "Support a vertical load on its own before the drive is taken apart: without its coupling nothing holds it.",
    "The coupling maker's ratings and fitting instructions prevail; follow local codes.",
    "Have the result reviewed by someone competent: a pass is only a statement about the numbers that were given.",
)

CAUTION = " ".join(CAUTIONS)
