"""`torque`: nominal and maximum torque of the coupling against the cycle and the two bad cases."""

from __future__ import annotations

from dataclasses import replace

from fitcheck.checks.collision import collision_case
from fitcheck.checks.drive import Drive
from fitcheck.checks.finding import Finding, compare
from fitcheck.checks.service import load_factor, start_factor, temperature_factor, together
from fitcheck.checks.sides import Missing
from fitcheck.checks.work_units import TORQUE, nm, open_question
from fitcheck.checks.working import Case, Working, no_motion, ratings_of, working_of

CHECK = "torque"
NO_RATING = Missing(reason="the coupling's nominal torque is not given", supply="give coupling.ratings.nominal_torque")


def check(drive: Drive) -> tuple[Finding, ...]:
    """The lasting torque against the nominal rating, and each short torque against the maximum one."""
    working = working_of(drive)
    if isinstance(working, Missing):
        return (open_question(CHECK, "coupling", working, required=drive.job.drive is not None),)
    ratings = ratings_of(drive)
    nominal, most = ratings.nominal_torque, ratings.maximum_torque
    if nominal is None and most is None:
        worst = working.worst
        missing = Missing(
            reason=f"{NO_RATING.reason}; asked are {nm(worst.torque)} ({worst.how})", supply=NO_RATING.supply
        )
        return (open_question(CHECK, "coupling", missing, required=True),)
    rated = most or nominal or 0.0
    lasting = (
        open_question(CHECK, "nominal", NO_RATING, required=True) if nominal is None else _nominal(working, nominal)
    )
    short = (_short(working, case, rated, most is not None) for case in working.cases)
    return (lasting, *short, *_motor(working), *_brake(working))


def _nominal(working: Working, rated: float) -> Finding:
    if working.demand is None:
        return open_question(CHECK, "nominal", no_motion(working.data), required=True)
    factor = together(load_factor(working), temperature_factor(working))
    if isinstance(factor, Missing):
        return open_question(CHECK, "nominal", factor, required=True)
    demand = working.demand
    lasting = max(demand.rms, demand.running, demand.holding)
    value = lasting * factor.value
    return compare(
        check=CHECK, subject="nominal", value=value, limit=rated, unit=TORQUE, at_least=False,
        path="coupling.ratings.nominal_torque",
        message=f"lasting torque {nm(lasting)} (the largest of root mean square {nm(demand.rms)}, running "
        f"{nm(demand.running)} and at rest {nm(demand.holding)}), with {factor.how}: {nm(value)}; the coupling carries "
        f"{nm(rated)} for ever",
        remedy=f"a coupling with a nominal torque of at least {nm(value)}",
    )  # fmt: skip


def _short(working: Working, case: Case | tuple[str, Missing], rated: float, given: bool) -> Finding:
    if not isinstance(case, Case):
        return open_question(CHECK, case[0], case[1], required=True)
    factor = together(start_factor(working), temperature_factor(working))
    if isinstance(factor, Missing):
        reason = f"{factor.reason}; without it {nm(case.torque)}: {case.how}"
        return open_question(CHECK, case.subject, Missing(reason=reason, supply=factor.supply), required=True)
    value = case.torque * factor.value
    words = f", with {factor.how}" if factor.how else ""
    rating = "for short peaks" if given else "for ever, as no maximum torque is given"
    less = {
        "peak": "less acceleration or mass",
        "blocked carriage": "a lower torque limit of the motor",
        "emergency stop": "a softer emergency stop",
        "collision": "a lower speed, a stop that gives, or a torque limiter",
    }
    finding = compare(
        check=CHECK, subject=case.subject, value=value, limit=rated, unit=TORQUE, at_least=False, path=case.path,
        message=f"{case.how}{words}: {nm(value)}; the coupling carries {nm(rated)} {rating}{_crash(working, case)}",
        remedy=f"a coupling with a maximum torque of at least {nm(value)}, or {less[case.subject]}",
    )  # fmt: skip
    if case.warning is not None and finding.status == "pass":
        words, remedy = case.warning
        return replace(finding, status="warn", message=f"{finding.message}. But {words}", remedy=remedy)
    return finding


def _motor(working: Working) -> tuple[Finding, ...]:
    """Whether the motor can make the motion that the torques are reckoned for, where its figures are known."""
    demand, motor = working.demand, working.data.motor
    if demand is None or working.motor_inertia is None:
        return ()
    rows = (
        ("motor peak", demand.motor_peak, motor.peak_torque, "peak", "the greatest torque of the cycle"),
        ("motor rated", demand.motor_rms, motor.rated_torque, "rated", "the root mean square over the cycle"),
    )
    found = []
    for subject, value, limit, name, words in rows:
        if limit is None:
            continue
        finding = compare(
            check=CHECK, subject=subject, value=value, limit=limit, unit=TORQUE, at_least=False,
            path=f"drive.motor.{name}_torque",
            message=f"{words} at the motor, its own rotor counted, is {nm(value)}; its {name} torque is {nm(limit)}",
            remedy=f"a motor of at least {nm(value)}, or a slower motion: this one it cannot make",
        )  # fmt: skip
        # Nothing of the coupling gives way by it, so it is no fail.
        found.append(replace(finding, status="warn") if finding.status == "fail" else finding)
    return tuple(found)


def _brake(working: Working) -> tuple[Finding, ...]:
    """Whether the brake holds the load that pulls at rest: without current nothing else does."""
    brake, pull = working.data.motor.brake_torque, abs(working.axis.holding_torque)
    if brake is None or pull == 0.0:
        return ()
    finding = compare(
        check=CHECK, subject="motor brake", value=brake, limit=pull, unit=TORQUE, at_least=True,
        path="drive.motor.brake_torque",
        message=f"the brake holds {nm(brake)}; the load pulls with {nm(pull)} at rest, friction not counted",
        remedy=f"a brake of more than {nm(pull)}, or a counterbalance: without current the load comes down",
    )  # fmt: skip
    # Nothing of the coupling gives way by it, so it is no fail.
    return (replace(finding, status="warn") if finding.status == "fail" else finding,)


def _crash(working: Working, case: Case) -> str:
    """What a run into a hard stop at full speed would do; told, not judged, where the job does not ask for it."""
    if case.subject != "blocked carriage" or working.top_speed is None or working.collision_speed is not None:
        return ""
    crash = collision_case(working, working.top_speed)
    if not isinstance(crash, Case):
        return ""
    return f". Not judged, as drive.{working.data.axis_kind}.collision_speed is not given: {crash.how}"
