"""`wind-up`: what the twist of the shaft train costs at the carriage: at reversal, in acceleration, settled."""

from __future__ import annotations

from dataclasses import replace

from fitcheck.checks.drive import Drive
from fitcheck.checks.driven_side import lost_behind
from fitcheck.checks.finding import Finding, compare, not_checked
from fitcheck.checks.play import play_angle, unknown_play
from fitcheck.checks.sides import Missing
from fitcheck.checks.train import Train, train_of
from fitcheck.checks.turn_error import turn_error
from fitcheck.checks.work_units import STIFFNESS, nm, open_question, three
from fitcheck.checks.working import Working, no_motion, working_of
from fitcheck.mechanics.demand import Demand, Segment
from fitcheck.mechanics.stiffness import (
    following_error_um,
    lost_motion_um,
    settled_error_um,
    turn_for_travel,
    twist_deg,
    wind_up_um,
)

CHECK = "wind-up"


def check(drive: Drive) -> tuple[Finding, ...]:
    """Lost motion at reversal and the settled band against the repeatability; the lag against what is allowed."""
    working, required = working_of(drive), drive.job.drive is not None
    if isinstance(working, Missing):
        return (open_question(CHECK, "coupling", working, required=required),)
    train, limit = train_of(drive), asked_travel(working)
    uneven = (turn_error(drive, working, train, limit, _path(working)),) if drive.job.coupling.family != "rigid" else ()
    if isinstance(train, Missing):
        return (open_question(CHECK, "coupling", train, required=limit is not None), *uneven)
    found = []
    if limit is None:
        found.append(_not_asked(working, train))
    else:
        found += [_reversal(working, train, limit), *_with_screw(working, train, limit)]
        found.append(_settled(working, train, limit))
    found.append(_following(working, train, limit))
    return (*found, *uneven)


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
        f"{nm(friction)} on the shaft train, {train.how}, {words}; at most {three(limit)} {working.unit}. The "
        f"{'nut' if working.data.axis_kind == 'screw' else 'gear'}'s own play comes on top",
        remedy=_stiffer(working, limit, 2.0 * friction, play or 0.0, train),
    )  # fmt: skip
    return _decided(working, train, _softened(working, finding), play_counts=True)


def _with_screw(working: Working, train: Train, limit: float) -> tuple[Finding, ...]:
    """Lost motion with the screw's or gear's own give: over the limit a warning, as no coupling helps against it."""
    more, words = lost_behind(working)
    if not words:
        return ()
    screw = working.data.axis_kind == "screw"
    value = _lost(working, train, play_angle(working.drive)[0] or 0.0) + more
    far, own = (", with its carriage at the far end,", "nut") if screw else ("", "gear")
    finding = compare(
        check=CHECK, subject="reversal with screw" if screw else "reversal with gear", value=value, limit=limit,
        unit=working.unit, at_least=False, path=_path(working),
        message=f"at reversal the {'screw' if screw else 'gear'} adds{far} by {words}: {three(value)} {working.unit} "
        f"in all; at most {three(limit)} {working.unit}. The {own}'s own play comes on top",
        remedy=f"a stiffer {'screw' if screw else 'gear or belt'}, as it loses {three(more)} {working.unit}, or less "
        f"friction{', or a screw of less lead' if screw else ''}",
    )  # fmt: skip
    finding = replace(finding, status="warn") if finding.status == "fail" else finding
    return (_decided(working, train, finding, play_counts=True),)


def _settled(working: Working, train: Train, limit: float) -> Finding:
    play, words = play_angle(working.drive)
    holding, friction = working.axis.holding_torque, working.friction_torque
    is_open = abs(holding) <= friction
    if not is_open:
        play, words = 0.0, "the standing torque keeps any play closed"
    band = settled_error_um(holding, friction, train.stiffness.low, working.lead_mm, play or 0.0)
    value = band.high - band.low
    finding = compare(
        check=CHECK, subject="settled", value=value, limit=limit, unit=working.unit, at_least=False,
        path=_path(working),
        message=f"after settling, approached from both sides, the {working.moved} stands within a band of "
        f"{three(value)} {working.unit}: friction {nm(friction)} can hold the shaft train wound up to either side, "
        f"{words}; at most "
        f"{three(limit)} {working.unit}. The standing torque of {nm(abs(holding))} adds a constant "
        f"{three(abs(band.nominal))} "
        f"{working.unit}, which can be compensated",
        remedy=_stiffer(working, limit, 2.0 * friction, play or 0.0, train),
    )  # fmt: skip
    return _decided(working, train, _softened(working, finding), play_counts=is_open)


def _decided(working: Working, train: Train, finding: Finding, *, play_counts: bool) -> Finding:
    """A pass that does not count what is not known is none: without the play not checked, without a stub a warning."""
    if finding.status != "pass":
        return finding
    drive = working.drive
    if play_counts and play_angle(drive)[0] is None:
        return not_checked(CHECK, finding.subject, finding.message, f"give {' and '.join(unknown_play(drive))}")
    return train.warned(finding)


def _softened(working: Working, finding: Finding) -> Finding:
    """With a scale at the carriage the loss is in the loop, not in the position: a fail becomes a warning."""
    if finding.status != "fail" or working.data.asked.feedback != "carriage":
        return finding
    message = f"{finding.message}. The scale {working.where} takes it out of the position, not out of the control loop"
    return replace(finding, status="warn", message=message)


def _stiffer(working: Working, limit: float, torque: float, play: float, train: Train) -> str:
    """What alone keeps the loss within the limit: a stiffness of the coupling, or less friction."""
    room = turn_for_travel(limit, working.lead_mm) - play
    if room <= 0.0:
        return f"a coupling without backlash: its play alone is {three(play * working.scale)} {working.unit}"
    others = sum(1.0 / spring.stiffness.low for spring in train.stubs)
    spare = room / torque - others if torque > 0.0 else 0.0
    less = f"friction torque of at most {nm(room * train.stiffness.low / 2.0)}, or {working.less_travel}"
    if spare <= 0.0:
        return f"shorter or thicker shaft ends, as they alone wind up too far; or a {less}"
    return f"a coupling of at least {three(1.0 / spare)} {STIFFNESS}, or a {less}"


def _following(working: Working, train: Train, repeatability: float | None) -> Finding:
    if working.demand is None:
        return open_question(CHECK, "following error", no_motion(working.data), required=False)
    alpha, inertia, stiffness = working.demand.top_acceleration, working.axis.inertia, train.stiffness.low
    surge = _surge(working, working.demand)
    value = following_error_um(inertia, alpha, stiffness, working.lead_mm)
    value = max(value, wind_up_um(surge, stiffness, working.lead_mm))
    given = working.data.asked.following_error if working.unit == "µm" else None
    limit = repeatability if given is None else given * 1000.0
    message = (
        f"in acceleration {three(value)} {working.unit} lag {working.where} over constant speed: {nm(surge)} more for "
        f"the driven inertia and its loss, on {three(stiffness)} {STIFFNESS}; up to twice that where the acceleration "
        f"sets in at once. {_wound(working, working.demand, stiffness)}"
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
    if finding.status == "fail" and given is None:
        return replace(finding, status="warn")
    return _decided(working, train, finding, play_counts=False)


def _surge(working: Working, demand: Demand) -> float:
    """Greatest difference between a segment's torque and that at constant speed in its direction, N·m, size."""

    def steady(part: Segment) -> float:
        return working.axis.torque(1 if part.angle > 0.0 else -1)

    return max((abs(part.coupling_torque - steady(part)) for part in demand.segments if part.accelerating), default=0.0)


def _wound(working: Working, demand: Demand, stiffness: float) -> str:
    """Twist of the whole shaft train at constant speed, at the cycle's peak and at reversal, in words."""
    worst = working.worst
    rows = (
        ("at constant speed", demand.running),
        ("at the cycle's peak", demand.peak),
        ("over a reversal", 2.0 * working.friction_torque),
        *((("in the worst case", worst.torque),) if worst.torque > demand.peak else ()),
    )
    shown = ", ".join(
        f"{three(twist_deg(torque, stiffness))}° {when} ({nm(torque)}, "
        f"{three(wind_up_um(torque, stiffness, working.lead_mm))} {working.unit})"
        for when, torque in rows
    )
    return f"It is wound up by {shown}"
