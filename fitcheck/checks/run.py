"""All checks over one job: which there are, which are required, and their findings in a fixed order."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from difflib import get_close_matches

from fitcheck.checks import (
    assembly_order,
    axial_room,
    bolt_pattern,
    bore_fit,
    engagement,
    insertion,
    pilot_alignment,
    pilot_fit,
    radial_clearance,
    shaft_gap,
    wrench_access,
)
from fitcheck.checks.drive import Drive, drive_of
from fitcheck.checks.finding import Finding, not_checked
from fitcheck.job.model import MARK, Job, LoadedJob
from fitcheck.measurement.model import Measurement

Check = Callable[[Drive], tuple[Finding, ...]]

CHECKS: dict[str, Check] = {
    "pilot-alignment": pilot_alignment.check,
    "pilot-fit": pilot_fit.check,
    "bolt-pattern": bolt_pattern.check,
    "insertion": insertion.check,
    "radial-clearance": radial_clearance.check,
    "axial-room": axial_room.check,
    "engagement": engagement.check,
    "shaft-gap": shaft_gap.check,
    "bore-fit": bore_fit.check,
    "wrench-access": wrench_access.check,
    "assembly-order": assembly_order.check,
}
"""The checks by their names in the contract, in the order of the findings."""

WORK = ("torque", "hub-grip", "key-stress", "misalignment", "wind-up", "backlash", "resonance", "speed", "inertia")
"""The checks of the mechanics, which are in `work` and made only where the job asks for them."""

NAMES = (*CHECKS, *WORK)
"""Every name of the contract."""

FROM_MATERIAL = ("insertion", "radial-clearance", "axial-room", "wrench-access", "assembly-order")
"""Checks that pass by the absence of material; a file that was read in part cannot show that."""


def run_checks(loaded: LoadedJob, measurement: Measurement, *, remedies: bool = True) -> tuple[Finding, ...]:
    """Make every check that can be made.

    Where `require.checks` lists checks, those are required and the others are made as far as they can be. Without the
    list a check is required when the job gives what it is about; the coupling is always given, so everything that
    follows from it is required.

    Args:
        loaded: the job.
        measurement: oriented for the job, its motor end first and at station 0.
        remedies: False leaves out remedies that take further computing.

    Returns:
        Findings in the order of CHECKS; never empty.
    """
    drive = drive_of(loaded, measurement, remedies=remedies)
    listed = loaded.job.require.checks
    found: list[Finding] = []
    for name, check in CHECKS.items():
        made = [finding for finding in drive.conflicts if finding.check == name]
        made += _made(name, check, drive)
        found += [replace(finding, required=name in listed) for finding in made] if listed else made
    asked = [name for name in dict.fromkeys(listed) if name not in CHECKS]
    if _asks_for_work(loaded.job) or any(name in WORK for name in asked):
        # Loaded only where it is asked for: a job about geometry does not wait for the mechanics.
        from fitcheck.checks.work import work_findings

        for name, finding in work_findings(drive, listed):
            found.append(replace(finding, required=name in listed) if listed else finding)
    found += [_unavailable(name) for name in asked if name not in WORK]
    if loaded.unfilled:
        found.append(_examples(loaded.unfilled))
    from fitcheck.checks.root_causes import with_causes

    return tuple(with_causes(drive, found))


def _examples(lines: tuple[int, ...]) -> Finding:
    """A job that still holds numbers of the starting file says nothing about the user's coupling."""
    where = f"lines {', '.join(map(str, lines))}" if len(lines) > 1 else f"line {lines[0]}"
    return not_checked(
        "insertion",
        "the coupling's numbers",
        f"examples still stand in {where} of the job, marked {MARK}: whether your coupling fits is not known",
        "put the numbers of your coupling there, and take the marks away",
    )


def _asks_for_work(job: Job) -> bool:
    """Whether the job says anything about what the coupling has to do."""
    hubs = job.coupling.hubs
    given = (job.drive, job.coupling.ratings, hubs.motor.holding, hubs.actuator.holding)
    return any(group is not None for group in given)


def _made(name: str, check: Check, drive: Drive) -> tuple[Finding, ...]:
    measurement = drive.measurement
    if measurement.drive_axis is None:
        return (_unsettled(name, measurement),)
    findings = check(drive)
    if measurement.complete or name not in FROM_MATERIAL:
        return findings
    return tuple(_undecided(finding) if finding.status in ("pass", "warn") else finding for finding in findings)


def _unsettled(name: str, measurement: Measurement) -> Finding:
    """What keeps the file from being judged, told by the first check; the others point to it."""
    first = next(iter(CHECKS))
    why = measurement.unsettled
    if name != first:
        reason = f"no drive axis was found in the file; see {first}"
        return replace(not_checked(name, "adapter", reason, "settle that first"), cause=(first, "STEP file"))
    if why is None:
        return not_checked(name, "STEP file", "no drive axis was found in the file", "give axis.point and direction")
    return not_checked(name, "STEP file", why.reason, why.remedy)


def _undecided(finding: Finding) -> Finding:
    """A pass by the absence of material, in a file of which parts are missing."""
    return replace(
        finding,
        status="not-checked",
        message=f"parts of the STEP file could not be read, and may be in the way; of what was read: {finding.message}",
        remedy="export the STEP file again, complete",
    )


def _unavailable(name: str) -> Finding:
    near = get_close_matches(name, NAMES, n=1)
    hint = f"did you mean {near[0]}?" if near else f"the checks are: {', '.join(NAMES)}"
    return not_checked(name, "job", f"there is no check {name!r}", f"correct require.checks: {hint}")
