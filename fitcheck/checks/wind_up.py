"""`wind-up`: what the twist of the shaft train costs at the carriage: at reversal, in acceleration, settled."""

from __future__ import annotations

from dataclasses import replace

from fitcheck.checks.aligned import JOINTS, aligned_of
from fitcheck.checks.drive import Drive
from fitcheck.checks.finding import Finding, compare, not_checked
from fitcheck.checks.play import play_angle
from fitcheck.checks.sides import Missing
from fitcheck.checks.train import Train, train_of
from fitcheck.checks.work_units import STIFFNESS, nm, open_question, three
from fitcheck.checks.working import Working, no_motion, working_of
from fitcheck.errors import UsageError
from fitcheck.mechanics.joints import joint_angle_error, joint_speed_range
from fitcheck.mechanics.stiffness import (
    following_error_um,
    joint_error_um,
    lost_motion_um,
    settled_error_um,
    turn_for_travel,
)

CHECK = "wind-up"


def check(drive: Drive) -> tuple[Finding, ...]:
    """Lost motion at reversal and the settled band against the repeatability; the lag against what is allowed."""
    working, required = working_of(drive), drive.job.drive is not None
    if isinstance(working, Missing):
        return (open_question(CHECK, "coupling", working, required=required),)
    train = train_of(drive)
    if isinstance(train, Missing):
        asked = asked_travel(working) is not None
        return (open_question(CHECK, "coupling", train, required=asked),)
    limit = asked_travel(working)
    found = []
    if limit is None:
        found.append(_not_asked(working, train))
    else:
        found += [_reversal(working, train, limit), _settled(working, train, limit)]
    found.append(_following(working, train, limit))
    if drive.job.coupling.family in JOINTS:
        found.append(_joint(drive, working, limit))
    return tuple(found)


def asked_travel(working: Working) -> float | None:
    """The repeatability asked for, in the unit of the drive's travel: µm, or degrees of a turning load."""
    asked = working.data.asked
    if working.unit == "deg":
        return asked.angular_repeatability
    return None if asked.repeatability is None else asked.repeatability * 1000.0


def _path(working: Working) -> str:
    return "drive.asked.repeatability" if working.unit == "µm" else "drive.asked.angular_repeatability"


def _not_asked(working: Working, train: Train) -> Finding:
    play, _ = play_angle(working.drive)
    lost = _lost(working, train, play or 0.0)
    reason = (
        f"the job asks for no repeatability; at reversal {three(lost)} {working.unit} are lost {working.where} (shaft "
        f"train {train.how})"
    )
    return not_checked(CHECK, "reversal", reason, f"give {_path(working)}", required=False)


def _lost(working: Working, train: Train, play: float) -> float:
    return lost_motion_um(working.friction_torque, train.stiffness.low, working.lead_mm, play)


def _reversal(working: Working, train: Train, limit: float) -> Finding:
    play, words = play_angle(working.drive)
    value = _lost(working, train, play or 0.0)
    friction = working.friction_torque
    finding = compare(
        check=CHECK, subject="reversal", value=value, limit=limit, unit=working.unit, at_least=False,
        path=_path(working),
        message=f"at reversal {three(value)} {working.unit} are lost {working.where}: twice the friction torque of "
        f"{nm(friction)} on the shaft train, {train.how}, {words}; at most {three(limit)} {working.unit}. The nut's "
        "own "
        "play and its axial give come on top",
        remedy=_stiffer(working, limit, 2.0 * friction, play or 0.0, train),
    )  # fmt: skip
    return _softened(working, finding)


def _settled(working: Working, train: Train, limit: float) -> Finding:
    play, words = play_angle(working.drive)
    holding, friction = working.axis.holding_torque, working.friction_torque
    band = settled_error_um(holding, friction, train.stiffness.low, working.lead_mm, play or 0.0)
    value = band.high - band.low
    finding = compare(
        check=CHECK, subject="settled", value=value, limit=limit, unit=working.unit, at_least=False,
        path=_path(working),
        message=f"after settling, approached from both sides, the carriage stands within a band of {three(value)} "
        f"{working.unit}: friction {nm(friction)} can hold the shaft train wound up to either side, {words}; at most "
        f"{three(limit)} {working.unit}. The standing torque of {nm(abs(holding))} adds a constant "
        f"{three(abs(band.nominal))} "
        f"{working.unit}, which can be compensated",
        remedy=_stiffer(working, limit, 2.0 * friction, play or 0.0, train),
    )  # fmt: skip
    return _softened(working, finding)


def _softened(working: Working, finding: Finding) -> Finding:
    """With a scale at the carriage the loss is in the loop, not in the position: a fail becomes a warning."""
    if finding.status != "fail" or working.data.asked.feedback != "carriage":
        return finding
    message = f"{finding.message}. The scale at the carriage takes it out of the position, not out of the control loop"
    return replace(finding, status="warn", message=message)


def _stiffer(working: Working, limit: float, torque: float, play: float, train: Train) -> str:
    """What alone keeps the loss within the limit: a stiffness of the coupling, or less friction."""
    room = turn_for_travel(limit, working.lead_mm) - play
    if room <= 0.0:
        return f"a coupling without backlash: its play alone is {three(play * working.scale)} {working.unit}"
    others = sum(1.0 / spring.stiffness.low for spring in train.stubs)
    spare = room / torque - others if torque > 0.0 else 0.0
    less = f"friction torque of at most {nm(room * train.stiffness.low / 2.0)}, or a screw of less lead"
    if spare <= 0.0:
        return f"shorter or thicker shaft ends, as they alone wind up too far; or a {less}"
    return f"a coupling of at least {three(1.0 / spare)} {STIFFNESS}, or a {less}"


def _following(working: Working, train: Train, repeatability: float | None) -> Finding:
    if working.demand is None:
        return open_question(CHECK, "following error", no_motion(working.data), required=False)
    alpha, inertia = working.demand.top_acceleration, working.axis.inertia
    value = following_error_um(inertia, alpha, train.stiffness.low, working.lead_mm)
    given = working.data.asked.following_error if working.unit == "µm" else None
    limit = repeatability if given is None else given * 1000.0
    message = (
        f"in acceleration {three(value)} {working.unit} lag {working.where}: {nm(inertia * alpha)} for the driven "
        "inertia "
        f"on {three(train.stiffness.low)} {STIFFNESS}; up to twice that where the acceleration sets in at once"
    )
    if limit is None:
        return not_checked(
            CHECK, "following error", f"{message}; the job sets no limit", "give drive.asked.following_error",
            required=False,
        )  # fmt: skip
    words = "allowed" if given is not None else "is the repeatability asked for, and no limit of its own is given"
    finding = compare(
        check=CHECK, subject="following error", value=value, limit=limit, unit=working.unit, at_least=False,
        path="drive.asked.following_error", message=f"{message}; {three(limit)} {working.unit} {words}",
        remedy="a stiffer coupling, or less acceleration; it comes back when the acceleration ends",
    )  # fmt: skip
    return replace(finding, status="warn") if finding.status == "fail" and given is None else finding


def _joint(drive: Drive, working: Working, limit: float | None) -> Finding:
    """Angle error of a single universal joint, twice in a turn."""
    aligned = aligned_of(drive)
    if isinstance(aligned, Missing):
        return open_question(CHECK, "joint ripple", aligned, required=True)
    angle = aligned.worst.angular_deg
    try:
        error = joint_error_um(joint_angle_error(angle), working.lead_mm)
        least, most = joint_speed_range(angle)
    except UsageError as problem:
        return not_checked(CHECK, "joint ripple", str(problem), "correct the angle between the shafts")
    message = (
        f"the joint at {three(angle)}° between the shafts turns unevenly, {three(100 * (most - least))} % of the speed "
        f"from end to end, and errs by {three(error)} {working.unit} to either side twice a turn"
    )
    if limit is None:
        return not_checked(CHECK, "joint ripple", message, f"give {_path(working)}", required=False)
    return compare(
        check=CHECK, subject="joint ripple", value=2.0 * error, limit=limit, unit=working.unit, at_least=False,
        path=_path(working), message=f"{message}; both sides together may make {three(limit)} {working.unit}",
        remedy="a smaller angle between the shafts, a double joint in the right phase, or a constant-velocity family",
    )  # fmt: skip
