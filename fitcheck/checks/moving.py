"""Verifies a remedy that moves the coupling along the drive axis, by making the checks again at its new place.

The checks that offer such a remedy import this module where they need it, since it imports them.
"""

from __future__ import annotations

from fitcheck.checks.drive import Drive
from fitcheck.checks.trying import holds
from fitcheck.checks.wording import mm, rounded_down, rounded_up


def move_remedy(drive: Drive, move: float, check: str, subject: str) -> str | None:
    """The move in words, if it makes a failing finding pass and no other one fail or fail worse (`trying.holds`).

    Args:
        drive: the drive as it is.
        move: mm along the drive axis, positive towards the actuator.
        check: name of the failing check.
        subject: subject of its finding.

    Returns:
        The remedy with the job line that applies it, or None where the move does not help or does harm.
    """
    if drive.placed is None or not drive.remedies:
        return None
    start = drive.placed.start + move
    face = rounded_up(start, 3) if move > 0 else rounded_down(start, 3)
    if not holds(drive, drive.moved(face), ((check, subject),)):
        return None
    towards = "actuator" if move > 0 else "motor"
    return f"move the coupling {mm(abs(move))} towards the {towards} (place.motor_hub_face: {mm(face)})"
