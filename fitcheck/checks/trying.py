"""A remedy is applied to the drive and all that depends on it is checked again, before it is told.

The checks that offer remedies import this module where they need it, since it imports them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace

from fitcheck.checks import (
    assembly_order,
    axial_room,
    engagement,
    insertion,
    radial_clearance,
    shaft_gap,
    wrench_access,
)
from fitcheck.checks.drive import Drive, drive_of
from fitcheck.checks.finding import Finding
from fitcheck.checks.sides import ShaftEnd
from fitcheck.checks.wording import mm
from fitcheck.job.model import NUMBERS_FROM, Coupling, Job
from fitcheck.job.validate import impossible

_CHECKS = (
    engagement.check,
    axial_room.check,
    radial_clearance.check,
    insertion.check,
    shaft_gap.check,
    wrench_access.check,
    assembly_order.check,
)
"""The checks whose answers depend on the coupling's place and size, the shafts or the adapter's openings."""

_ROUNDING = 1e-6

HARM = "but then this fails"
"""In the words of a remedy by which something suffers."""

Key = tuple[str, str]
"""A finding by its check and its subject."""


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What a change does: whether it mends what it should, and the checks that fail, or fail worse, by it."""

    mends: bool
    breaks: tuple[str, ...]

    @property
    def good(self) -> bool:
        """It mends, and nothing suffers."""
        return self.mends and not self.breaks


def failing(drive: Drive) -> dict[Key, float]:
    """The margins of what fails, by check and subject; an order of assembly that is missing counts as a fail."""
    asked = ("failing",)
    if asked not in drive.answers:
        drive.answers[asked] = dict(_failing(drive))
    answer: dict[Key, float] = drive.answers[asked]
    return answer


def _failing(drive: Drive) -> Iterator[tuple[Key, float]]:
    """One by one, what is quickly told first."""
    # Trying asks less of each screw, so its answers are kept apart from those that are told.
    plain = drive if drive.trial else replace(drive, remedies=False, trial=True, answers={})
    for finding in _findings(plain):
        if finding.status == "fail" or (finding.check == assembly_order.CHECK and finding.status == "warn"):
            yield (finding.check, finding.subject), 0.0 if finding.margin is None else finding.margin


def _findings(drive: Drive) -> Iterator[Finding]:
    for check in _CHECKS:
        yield from check(drive)
    if drive.job.drive is not None:
        from fitcheck.checks.work import work_findings

        yield from (finding for _, finding in work_findings(drive, ()))


def holds(before: Drive, after: Drive, keys: Collection[Key]) -> bool:
    """Whether a change mends what it should and nothing suffers by it.

    Args:
        before: the drive as it is.
        after: the drive with the remedy applied.
        keys: what the remedy should mend.
    """
    was = failing(before)
    return not any(key in keys or _worse(was, key, margin) for key, margin in _failing(after))


def _worse(was: dict[Key, float], key: Key, margin: float) -> bool:
    return key not in was or margin < was[key] - _ROUNDING


def outcome(before: Drive, after: Drive, keys: Collection[Key]) -> Outcome:
    """As `holds`, with the names of what suffers."""
    was, now = failing(before), failing(after)
    worse = [key for key, margin in now.items() if key not in keys and _worse(was, key, margin)]
    return Outcome(
        mends=not any(key in now for key in keys), breaks=tuple(f"{check}, {subject}" for check, subject in worse)
    )


def told(text: str, found: Outcome) -> str | None:
    """A remedy in words: as it is where nothing suffers, with what suffers where something does, None for no remedy."""
    if not found.mends:
        return None
    return text if not found.breaks else f"{text} ({HARM}: {'; '.join(found.breaks)})"


def with_job(drive: Drive, job: Job) -> Drive:
    """The drive of a changed job and the same measurement; it makes no remedies itself.

    A coupling whose numbers were changed is no longer the one in the STEP file, so the job's numbers count for it.
    """
    if job.coupling != drive.job.coupling:
        job = replace(job, coupling=replace(job.coupling, numbers_from=NUMBERS_FROM[0]))
    loaded = replace(drive.loaded, job=job)
    return replace(drive_of(loaded, drive.measurement, remedies=False), trial=True, conflicts=())


def with_coupling(drive: Drive, coupling: Coupling, motor_hub_face: float | None = None) -> Drive | None:
    """The drive with another coupling, at another place where one is given; None where no such coupling can be."""
    hubs = ((coupling.hubs.motor, "coupling.hubs.motor"), (coupling.hubs.actuator, "coupling.hubs.actuator"))
    if any(True for group in (*hubs, (coupling, "coupling")) for _ in impossible(*group)):
        return None
    place = drive.job.place if motor_hub_face is None else replace(drive.job.place, motor_hub_face=motor_hub_face)
    return with_job(drive, replace(drive.job, coupling=coupling, place=place))


def with_shaft(drive: Drive, side: str, more: float, motor_hub_face: float | None = None) -> Drive:
    """The drive with a shaft that is `more` mm longer; its flat, keyseat and chamfer stay with its end.

    A coupling that is centred between the shaft ends is centred anew, unless it is given a place.
    """
    machine = drive.side(side).machine
    place = drive.job.place if motor_hub_face is None else replace(drive.job.place, motor_hub_face=motor_hub_face)
    job = replace(drive.job, place=place)
    if machine.shaft is not None:
        changed = replace(machine, shaft=replace(machine.shaft, length=machine.shaft.length + more))
        return with_job(drive, replace(job, motor=changed) if side == "motor" else replace(job, actuator=changed))
    shaft, step = drive.side(side).shaft, more * drive.side(side).sign
    assert shaft is not None
    longer = replace(
        shaft, end=shaft.end + step, full_to=shaft.full_to + step, flat=_moved(shaft.flat, step),
        keyseat=_moved(shaft.keyseat, step), grooves=tuple((a + step, b + step) for a, b in shaft.grooves),
    )  # fmt: skip
    return with_shaft_end(with_job(drive, job), side, longer)


def with_shaft_end(drive: Drive, side: str, shaft: ShaftEnd) -> Drive:
    """The drive with another shaft end in the place of one; it makes no remedies itself."""
    changed = replace(drive.side(side), shaft=shaft)
    sides = (changed, drive.actuator) if side == "motor" else (drive.motor, changed)
    return drive.between(*sides)


def shaft_change(drive: Drive, side: str, more: float, keys: Collection[Key]) -> str | None:
    """A longer (or, `more` negative, shorter) shaft as a remedy, with the coupling's place where that has to be given.

    Returns:
        The remedy in words, with what suffers by it; None where it does not help.
    """
    word = "longer" if more > 0 else "shorter"
    text = f"the {side} shaft {mm(abs(more))} {word}"
    plain = outcome(drive, with_shaft(drive, side, more), keys)
    if plain.good or drive.placed is None:
        return told(text, plain)
    start = round(drive.placed.start, 3)
    pinned = outcome(drive, with_shaft(drive, side, more, start), keys)
    pinned_text = f"{text} with the coupling where it is (place.motor_hub_face: {mm(start)})"
    if pinned.good or (pinned.mends and not plain.mends):
        return told(pinned_text, pinned)
    return told(text, plain)


def shafts_change(drive: Drive, more: float, keys: Collection[Key]) -> str | None:
    """Both shafts longer or shorter by the same as a remedy; None where that does not help."""
    tried = with_shaft(with_shaft(drive, "motor", more), "actuator", more)
    return told(f"each shaft {mm(abs(more))} {'longer' if more > 0 else 'shorter'}", outcome(drive, tried, keys))


def _moved(stretch: tuple[float, float] | None, step: float) -> tuple[float, float] | None:
    return None if stretch is None else (stretch[0] + step, stretch[1] + step)
