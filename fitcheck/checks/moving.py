"""Verifies a remedy that moves the coupling along the drive axis."""

from __future__ import annotations

from fitcheck.checks import axial_room, engagement, insertion, radial_clearance
from fitcheck.checks.drive import Drive
from fitcheck.checks.finding import Finding

_CHECKS = (engagement.check, axial_room.check, radial_clearance.check, insertion.check)


def hindrance(drive: Drive, motor_hub_face: float) -> Finding | None:
    """The first finding that fails with the coupling's motor hub face at this station, or None where none does."""
    moved = drive.moved(motor_hub_face)
    return next((found for check in _CHECKS for found in check(moved) if found.status == "fail"), None)
