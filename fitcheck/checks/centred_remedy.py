"""The one shaft that is too long or too short, where the coupling is centred between the shaft ends.

Such a coupling moves by half of what a shaft is changed, so that both hubs show what one shaft causes; which shaft it
is shows by what else is mended with it.
"""

from __future__ import annotations

from fitcheck.checks.drive import CENTRED, Drive
from fitcheck.checks.trying import failing, with_shaft
from fitcheck.checks.wording import SIDES, mm, number

_FINEST = 0.01
"""mm; to this, the change of a shaft is told."""
_ROUNDING = 1e-9


def centred_remedy(drive: Drive, check: str, subjects: tuple[str, str], lacks: tuple[float, float]) -> str | None:
    """The change of one shaft that mends both hubs, in words; None where none does, or the other would do as well.

    Args:
        drive: the drive.
        check: the failing check.
        subjects: its subjects, the motor's first.
        lacks: by how much each shaft is too short in its hub, mm; negative where it is too long.
    """
    both = [lack for lack in lacks if abs(lack) > _ROUNDING]
    if drive.placed is None or drive.placed.how != CENTRED or len(both) < 2 or both[0] * both[1] < 0.0:
        return None
    keys = {(check, subject) for subject in subjects}
    sign = 1.0 if both[0] > 0.0 else -1.0
    change = sign * (round(2.0 * max(abs(lack) for lack in both) / _FINEST + 0.499999) * _FINEST)
    found: list[tuple[int, str]] = []
    for side in SIDES:
        left = failing(with_shaft(drive, side, change))
        if keys.isdisjoint(left) and set(left) <= set(failing(drive)):
            found.append((len(left), side))
    if not found:
        return None
    least = min(count for count, _ in found)
    best = [side for count, side in found if count == least]
    # Where either shaft would do as well, neither is the cause.
    return f"{_words(drive, best[0], change)}; the coupling is then centred anew" if len(best) == 1 else None


def _words(drive: Drive, side: str, change: float) -> str:
    half = drive.side(side)
    assert half.shaft is not None
    text = f"the {side} shaft {mm(abs(change))} {'longer' if change > 0.0 else 'shorter'}"
    if half.seat is None:
        return text
    length = abs(half.shaft.end - half.seat) + change
    return f"{text} ({'at least' if change > 0.0 else 'at most'} {number(length)} mm)"
