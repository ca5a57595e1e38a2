"""`speed`: the coupling's greatest speed."""

from __future__ import annotations

from dataclasses import replace

from fitcheck.checks.drive import Drive
from fitcheck.checks.finding import Finding, compare, not_checked
from fitcheck.checks.sides import Missing
from fitcheck.checks.work_units import RPM, SPEED, open_question, three
from fitcheck.checks.working import Working, no_motion, ratings_of, working_of

CHECK = "speed"


def check(drive: Drive) -> tuple[Finding, ...]:
    """The greater of the cycle's and the controller's speed against the rating."""
    working, rated = working_of(drive), ratings_of(drive).maximum_speed
    if isinstance(working, Missing):
        return (open_question(CHECK, "coupling", working, required=drive.job.drive is not None),)
    if working.top_speed is None:
        return (open_question(CHECK, "coupling", no_motion(working.data), required=True),)
    speed, motor = working.top_speed * RPM, _motor(working)
    if rated is None:
        reason = f"the coupling's greatest speed is not given; the drive reaches {three(speed)} rpm"
        return (not_checked(CHECK, "coupling", reason, "give coupling.ratings.maximum_speed"), *motor)
    cycle = 0.0 if working.demand is None else working.demand.top_speed * RPM
    words = "the cycle" if cycle >= speed - 1e-9 else "what the controller allows (drive.motor.top_speed)"
    return (
        compare(
            check=CHECK, subject="coupling", value=speed, limit=rated, unit=SPEED, at_least=False,
            path="coupling.ratings.maximum_speed",
            message=f"the coupling turns with up to {three(speed)} rpm by {words}; at most {three(rated)} rpm",
            remedy=f"a coupling for at least {three(speed)} rpm, or {working.more_travel}",
        ),
        *motor,
    )  # fmt: skip


def _motor(working: Working) -> tuple[Finding, ...]:
    """A cycle that is faster than the controller allows the motor: job and motion contradict each other."""
    demand, top = working.demand, working.data.motor.top_speed
    if demand is None or top is None:
        return ()
    value = demand.top_speed * RPM
    if abs(value - top) < 1e-9 * top:
        value = top  # speeds come back from mm/s and rad/s but for rounding
    finding = compare(
        check=CHECK, subject="motor", value=value, limit=top, unit=SPEED, at_least=False, path="drive.motor.top_speed",
        message=f"the cycle turns the motor with up to {three(value)} rpm; its controller allows {three(top)} rpm",
        remedy=f"a slower motion, {working.more_travel}, or a top speed of at least {three(value)} rpm",
    )  # fmt: skip
    # Nothing of the coupling gives way by it, so it is no fail.
    return (replace(finding, status="warn") if finding.status == "fail" else finding,)
