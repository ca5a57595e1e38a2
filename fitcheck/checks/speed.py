"""`speed`: the coupling's greatest speed."""

from __future__ import annotations

from fitcheck.checks.drive import Drive
from fitcheck.checks.finding import Finding, compare, not_checked
from fitcheck.checks.sides import Missing
from fitcheck.checks.work_units import RPM, SPEED, open_question, three
from fitcheck.checks.working import no_motion, ratings_of, working_of

CHECK = "speed"


def check(drive: Drive) -> tuple[Finding, ...]:
    """The greater of the cycle's and the controller's speed against the rating."""
    working, rated = working_of(drive), ratings_of(drive).maximum_speed
    if isinstance(working, Missing):
        return (open_question(CHECK, "coupling", working, required=drive.job.drive is not None),)
    if working.top_speed is None:
        return (open_question(CHECK, "coupling", no_motion(working.data), required=True),)
    speed = working.top_speed * RPM
    if rated is None:
        reason = f"the coupling's greatest speed is not given; the drive reaches {three(speed)} rpm"
        return (not_checked(CHECK, "coupling", reason, "give coupling.ratings.maximum_speed"),)
    cycle = 0.0 if working.demand is None else working.demand.top_speed * RPM
    words = "the cycle" if cycle >= speed - 1e-9 else "what the controller allows (drive.motor.top_speed)"
    return (
        compare(
            check=CHECK, subject="coupling", value=speed, limit=rated, unit=SPEED, at_least=False,
            path="coupling.ratings.maximum_speed",
            message=f"the coupling turns with up to {three(speed)} rpm by {words}; at most {three(rated)} rpm",
            remedy=f"a coupling for at least {three(speed)} rpm, or a screw of more lead",
        ),
    )  # fmt: skip
