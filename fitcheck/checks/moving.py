"""Verifies a remedy that moves the coupling along the drive axis, by making the checks again at its new place.

The checks that offer such a remedy import this module where they need it, since it imports them.
"""

from __future__ import annotations

from dataclasses import replace

from fitcheck.checks import axial_room, engagement, insertion, radial_clearance, wrench_access
from fitcheck.checks.drive import Drive
from fitcheck.checks.wording import mm, rounded_down, rounded_up

_CHECKS = (engagement.check, axial_room.check, radial_clearance.check, insertion.check, wrench_access.check)
"""The checks whose answers depend on where the coupling sits."""

_ROUNDING = 1e-6


def move_remedy(drive: Drive, move: float, check: str, subject: str) -> str | None:
    """The move in words, if it makes a failing finding pass and no other one fail or fail worse.

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
    before, after = _failing(replace(drive, remedies=False)), _failing(drive.moved(face))
    if (check, subject) in after or any(
        key not in before or margin < before[key] - _ROUNDING for key, margin in after.items()
    ):
        return None
    towards = "actuator" if move > 0 else "motor"
    return f"move the coupling {mm(abs(move))} towards the {towards} (place.motor_hub_face: {mm(face)})"


def _failing(drive: Drive) -> dict[tuple[str, str], float]:
    """The margins of the failing findings, by check and subject."""
    found = (finding for check in _CHECKS for finding in check(drive) if finding.status == "fail")
    return {(f.check, f.subject): 0.0 if f.margin is None else f.margin for f in found}
