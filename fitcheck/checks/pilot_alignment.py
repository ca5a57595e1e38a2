"""`pilot-alignment`: how far the adapter itself sets the two machines out of line."""

from __future__ import annotations

from fitcheck.checks.drive import Drive
from fitcheck.checks.finding import Finding, compare, not_checked
from fitcheck.checks.wording import mm, number

CHECK = "pilot-alignment"


def check(drive: Drive) -> tuple[Finding, ...]:
    """Offset and tilt of the actuator's pilot against the motor's, as modelled."""
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
