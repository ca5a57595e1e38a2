"""The checks of what the coupling has to do, by their names in the contract; loaded only for jobs that ask."""

from __future__ import annotations

from collections.abc import Callable

from fitcheck.checks import (
    backlash,
    hub_grip,
    inertia,
    key_stress,
    misalignment,
    resonance,
    speed,
    torque,
    wind_up,
)
from fitcheck.checks.drive import Drive
from fitcheck.checks.finding import Finding, not_checked
from fitcheck.checks.working import NO_DRIVE

CHECKS: dict[str, Callable[[Drive], tuple[Finding, ...]]] = {
    "torque": torque.check,
    "hub-grip": hub_grip.check,
    "key-stress": key_stress.check,
    "misalignment": misalignment.check,
    "wind-up": wind_up.check,
    "backlash": backlash.check,
    "resonance": resonance.check,
    "speed": speed.check,
    "inertia": inertia.check,
}
"""In the order of the findings."""


def work_findings(drive: Drive, listed: tuple[str, ...]) -> tuple[tuple[str, Finding], ...]:
    """Findings of the mechanics with the check's name, or one note where the job says too little to make any.

    Args:
        drive: job and measurement, joined.
        listed: the checks that the job requires by name.

    Returns:
        All checks where the job gives a drive; else those that are listed, or a note that none was asked for.
    """
    if drive.job.drive is not None:
        return tuple((name, finding) for name, check in CHECKS.items() for finding in check(drive))
    named = [name for name in CHECKS if name in listed]
    if named:
        return tuple((name, finding) for name in named for finding in CHECKS[name](drive))
    reason = f"ratings are given, but {NO_DRIVE.reason}, so torque and all that follows from it was not checked"
    return (("torque", not_checked("torque", "drive", reason, NO_DRIVE.supply, required=False)),)
