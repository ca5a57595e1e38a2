"""`pilot-alignment`: how far the adapter itself sets the two machines out of line."""

from __future__ import annotations

from collections.abc import Iterator

from fitcheck.checks.drive import Drive
from fitcheck.checks.finding import Finding, compare, not_checked
from fitcheck.checks.wording import mm, number

CHECK = "pilot-alignment"
SAME_LEAN = 0.001
"""degrees; a seat that leans as its pilot does is one fault."""


def check(drive: Drive) -> tuple[Finding, ...]:
    """Offset and tilt of the actuator's pilot against the motor's, and the lean of either seat, as modelled."""
    return (*_pilots(drive), *_seats(drive))


def _seats(drive: Drive) -> Iterator[Finding]:
    """A machine stands as its seat does: one that leans more than its pilot tells is told on its own."""
    measured, limit = drive.measurement.coaxiality, drive.job.require.angular_misalignment
    known = 0.0 if measured is None else measured.tilt
    for side in drive.sides:
        lean = 0.0 if side.end is None else side.end.lean
        if side.end is None or lean <= known + SAME_LEAN:
            continue
        yield compare(
            check=CHECK, subject=f"{side.name} seat", value=lean, limit=limit, unit="deg", at_least=False,
            at=drive.at(side.end.seat), path="require.angular_misalignment",
            message=f"the {side.name}'s seat leans {number(lean)}° against the drive axis; at most {number(limit)}° "
            "allowed",
            remedy=f"turn the {side.name}'s seat {number(lean)}° square to its pilot",
        )  # fmt: skip


def _pilots(drive: Drive) -> tuple[Finding, ...]:
    measured, require = drive.measurement.coaxiality, drive.job.require
    if measured is None:
        known = drive.measurement.ends
        reason = (
            "the adapter has one seat only, so there are no two pilots to compare"
            if len(known) < 2
            else "no pilot was found at one of the seats"
        )
        supply = "a file with both pilots, or judge the alignment by other means"
        # The job cannot supply it, so it is not what the job asks for.
        return (not_checked(CHECK, "pilots", reason, supply, required=False),)
    end = drive.actuator.end
    at = drive.at(end.seat if end is not None else 0.0)
    offset = compare(
        check=CHECK, subject="offset", value=measured.offset, limit=require.parallel_misalignment, unit="mm",
        at_least=False, at=at, path="require.parallel_misalignment",
        message=f"the actuator's pilot lies {mm(measured.offset)} beside the motor's; "
        f"at most {mm(require.parallel_misalignment)} allowed",
        remedy=f"move the actuator's pilot {mm(measured.offset)} onto the motor's axis",
    )  # fmt: skip
    tilt = compare(
        check=CHECK, subject="tilt", value=measured.tilt, limit=require.angular_misalignment, unit="deg",
        at_least=False, at=at, path="require.angular_misalignment",
        message=f"the actuator's pilot is tilted {number(measured.tilt)}° against the motor's; "
        f"at most {number(require.angular_misalignment)}° allowed",
        remedy=f"turn the actuator's seat and pilot {number(measured.tilt)}° square to the motor's axis",
    )  # fmt: skip
    return offset, tilt
