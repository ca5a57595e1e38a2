"""The one shaft that is too long or too short, where the coupling is centred between the shaft ends.

Such a coupling moves by half of what a shaft is changed, so that both hubs show what one shaft causes; which shaft it
is shows by what else is mended with it.
"""

from __future__ import annotations

from collections.abc import Sequence

from fitcheck.checks.drive import CENTRED, Drive
from fitcheck.checks.trying import failing, with_shaft
from fitcheck.checks.wording import SIDES, mm

_FINEST = 0.01
"""mm; to this, the change of a shaft is told."""
_ROUNDING = 1e-9


def only_shaft(drive: Drive, check: str, subjects: Sequence[str], lacks: Sequence[float]) -> tuple[str, float] | None:
    """The one shaft by whose change both hubs are mended, and the change in mm; None where the other would do as well.

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
    was = set(failing(drive))
    left = {side: set(failing(with_shaft(drive, side, change))) for side in SIDES}
    mended = {side: keys_left for side, keys_left in left.items() if keys.isdisjoint(keys_left) and keys_left <= was}
    if not mended:
        return None
    least = min(map(len, mended.values()))
    best = [side for side, keys_left in mended.items() if len(keys_left) == least]
    return (best[0], change) if len(best) == 1 else None


def change_text(drive: Drive, side: str, change: float) -> str:
    """A shaft that is `change` mm longer, in words, with the length that it then has."""
    half = drive.side(side)
    assert half.shaft is not None
    text = f"the {side} shaft {mm(abs(change))} {'longer' if change > 0.0 else 'shorter'}"
    if half.seat is not None:
        length = abs(half.shaft.end - half.seat) + change
        text += f" ({'at least' if change > 0.0 else 'at most'} {mm(length)})"
    return f"{text}; the coupling is then centred anew"
