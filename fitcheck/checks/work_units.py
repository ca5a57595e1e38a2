"""Numbers of the mechanics in messages, and the units of its findings."""

from __future__ import annotations

from fitcheck.checks.finding import Finding, not_checked
from fitcheck.checks.sides import Missing

TORQUE, STIFFNESS, SPEED, FREQUENCY, ANGLE = "N·m", "N·m/rad", "rpm", "Hz", "deg"

RPM = 9.549296585513721
"""Revolutions a minute in one radian a second: 30/pi."""


def three(value: float) -> str:
    """Three significant digits, or whole numbers from 1000 on."""
    return f"{value:.0f}" if abs(value) >= 999.5 else f"{value:.3g}"


def nm(value: float) -> str:
    """A torque."""
    return f"{three(value)} N·m"


def open_question(check: str, subject: str, missing: Missing, *, required: bool) -> Finding:
    """A finding for what could not be decided because something is missing."""
    return not_checked(check, subject, missing.reason, missing.supply, required=required)
