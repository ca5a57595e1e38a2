"""Part of `wind-up`: how unevenly the coupling turns out of line, once and twice a turn, as travel of the carriage."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import atan2, degrees

from fitcheck.checks.aligned import JOINTS, aligned_of
from fitcheck.checks.drive import Drive
from fitcheck.checks.finding import Finding, compare, not_checked
from fitcheck.checks.shaft_section import section_of
from fitcheck.checks.sides import Missing, Side
from fitcheck.checks.train import Train
from fitcheck.checks.wording import SIDES
from fitcheck.checks.work_units import open_question, three
from fitcheck.checks.working import Working, ratings_of
from fitcheck.errors import TableError, UsageError
from fitcheck.job.drive import DriveData
from fitcheck.mechanics.joints import joint_angle_error, joint_speed_range
from fitcheck.mechanics.misalignment import Offsets, flexing_angle
from fitcheck.mechanics.stiffness import joint_error_um, travel_um
from fitcheck.mechanics.unevenness import (
    BEAM_BENDS,
    bent_angle,
    double_joint_error,
    lateral_ripple,
    row_error,
    runout_error,
    single_leg_error,
)
from fitcheck.standards.runout import machine_runout, shaft_runout

CHECK = "wind-up"
DOUBLE = ("double slit", "double disc", "double universal joint")
BOUNDED = ("slit", "double slit", "bellows", "disc", "double disc")
"""Families that bend instead of turning in joints; what is told of them is an upper bound."""
LEG_RADIUS = 1.0 / 3.0
"""Radius of a spider's legs, in outside diameters; common practice, no source."""


def turn_error(drive: Drive, working: Working, train: Train | Missing, limit: float | None, path: str) -> Finding:
    """Error from end to end within a turn, against the repeatability; judged at the worst misalignment.

    Args:
        drive: job and measurement, joined.
        working: the drive at work.
        train: shaft train; without it the ripple of the lateral force is left out.
        limit: travel asked for, in the unit of the drive's travel.
        path: of the job's field that asks for it.
    """
    family = drive.job.coupling.family
    subject = "joint ripple" if "joint" in family else "turn error"
    aligned = aligned_of(drive)
    if isinstance(aligned, Missing):
        return open_question(CHECK, subject, aligned, required=family in JOINTS)
    worst = aligned.worst
    try:
        uneven = _uneven(drive, worst)
        turning, turning_words = _turning(drive, uneven)
        twice = joint_error_um(uneven.twice, working.lead_mm)
        once = joint_error_um(runout_error(uneven.bend, turning), working.lead_mm)
        lone = _lone_leg(drive, worst)
    except UsageError as problem:
        return not_checked(
            CHECK, subject, str(problem), "correct the misalignment of the shafts", required=family in JOINTS
        )
    ripple, ripple_words = _lateral(drive, working, train, worst)
    value = 2.0 * (twice + once + ripple)
    message = (
        f"{uneven.words}: it errs by {three(twice)} {working.unit} to either side twice a turn and by at most "
        f"{three(once)} {working.unit} once a turn ({turning_words}){ripple_words}; that comes back the same "
        "at the same place"
    )
    if family == "jaw":
        one = joint_error_um(lone, working.lead_mm)
        message += (
            f". How evenly the spider's legs carry is not known: one leg alone would add {three(one)} {working.unit} "
            f"to either side by the offset of {three(worst.parallel_mm)} mm"
        )
        return not_checked(CHECK, subject, message, "measure it on the drive, if it matters", required=False)
    if limit is None:
        return not_checked(CHECK, subject, message, f"give {path}", required=False)
    finding = compare(
        check=CHECK, subject=subject, value=value, limit=limit, unit=working.unit, at_least=False, path=path,
        message=f"{message}; both sides together may make {three(limit)} {working.unit}",
        remedy=_remedy(family, working),
    )  # fmt: skip
    if finding.status == "fail" and family in BOUNDED:
        return replace(finding, status="warn", message=f"{finding.message}. It is an upper bound, so this is a warning")
    return finding


def _remedy(family: str, working: Working) -> str:
    if family in JOINTS:
        return "a smaller angle between the shafts, a double joint in the right phase, or a constant-velocity family"
    return f"shafts better in line (drive.alignment as measured), or {working.less_travel}"


@dataclass(frozen=True, kw_only=True)
class _Uneven:
    """How a family turns out of line: error twice a turn and all its bending, degrees; offset to bending, 1/mm."""

    twice: float
    bend: float
    words: str
    by_offset: float = 0.0


def _uneven(drive: Drive, worst: Offsets) -> _Uneven:
    """The family's unevenness.

    Raises:
        UsageError: an angle is beyond what a joint does.
    """
    coupling = drive.job.coupling
    angle, offset, family = worst.angular_deg, worst.parallel_mm, coupling.family
    at = f"at {three(angle)}° between the shafts"
    if family == "universal joint":
        least, most = joint_speed_range(angle)
        uneven = f"the joint {at} turns unevenly, {three(100 * (most - least))} % of the speed from end to end"
        return _Uneven(twice=joint_angle_error(angle), bend=angle, words=uneven)
    if family in ("oldham", "jaw", "disc"):
        words = f"a {family} coupling {at} is at worst a universal joint"
        if family == "oldham":
            words = f"a sliding disc passes on any offset evenly, but {at} turns as a universal joint does"
        return _Uneven(twice=joint_angle_error(angle), bend=angle, words=words)
    span, given = _span(drive)
    over = f"over {three(span)} mm{'' if given else ', as no flexing_span is given'}"
    if family in DOUBLE:
        bend, most = flexing_angle(offset, 0.0, span), flexing_angle(offset, angle, span)
        planes = f"two flexing planes that bend by {three(most)}° and {three(bend)}° ({over})"
        if family == "double universal joint":
            twice, words = (
                double_joint_error(most, bend),
                f"two joints in the right phase leave what differs of {planes}",
            )
        else:
            twice, words = row_error((most, bend)), f"a {family} coupling is at worst two universal joints, {planes}"
        return _Uneven(twice=twice, bend=most + bend, words=words, by_offset=2.0 / span)
    bent = bent_angle(offset, angle, span)
    words = f"a {family} coupling is at worst one universal joint of all its bending, {three(bent)}° ({over})"
    return _Uneven(twice=joint_angle_error(bent), bend=bent, words=words, by_offset=BEAM_BENDS / span)


def _turning(drive: Drive, uneven: _Uneven) -> tuple[float, str]:
    """Angle that turns with the shafts, degrees: their run-out, read at half their length, and the offset by it."""
    data = drive.job.drive or DriveData()
    tilt = offset = 0.0
    for name in SIDES:
        section, side = section_of(drive, name), drive.side(name)
        if section is None or side.shaft is None or side.seat is None:
            return 0.0, f"run-out not counted, as the {name} shaft is not known"
        try:
            off = _eccentricity(side, section.diameter, data.tolerances.runout_grade)
        except TableError as error:
            return 0.0, f"run-out not counted: {error}"
        tilt += degrees(atan2(2.0 * off, abs(side.shaft.end - side.seat)))
        offset += off
    turning = tilt + degrees(offset * uneven.by_offset)
    return turning, f"by the shafts' run-out, {three(offset)} mm of both, which bends by {three(turning)}°"


def _eccentricity(side: Side, diameter: float, grade: str) -> float:
    """Of the shaft end at half its length, mm; by the frame's standard, or DIN 42955.

    Raises:
        TableError: the shaft is outside the tables.
    """
    if side.frame is None:
        return shaft_runout(diameter, grade).eccentricity
    return machine_runout(side.frame, diameter, grade).shaft.eccentricity


def _lone_leg(drive: Drive, worst: Offsets) -> float:
    """Angle error that one leg of a spider alone would make, degrees; 0 for other families."""
    coupling = drive.job.coupling
    return (
        single_leg_error(worst.parallel_mm, LEG_RADIUS * coupling.outside_diameter) if coupling.family == "jaw" else 0.0
    )


def _span(drive: Drive) -> tuple[float, bool]:
    """Length that flexes, or distance of the two flexing planes, mm, and whether it is given.

    Not given, it is what the hubs' bores leave of the coupling, for two planes half of that, but a tenth of the
    coupling at least (common practice, no source): a short length bends more.
    """
    coupling, given = drive.job.coupling, ratings_of(drive).flexing_span
    if given is not None:
        return given, True
    left = coupling.length - coupling.hubs.motor.bore_length - coupling.hubs.actuator.bore_length
    return max(left / 2.0 if coupling.family in DOUBLE else left, 0.1 * coupling.length), False


def _lateral(drive: Drive, working: Working, train: Train | Missing, worst: Offsets) -> tuple[float, str]:
    """What run-out against a standing offset adds by the coupling's force across, in travel to either side."""
    stiff = ratings_of(drive).lateral_stiffness
    if stiff is None or isinstance(train, Missing):
        return 0.0, ""
    torque = lateral_ripple(stiff, worst.parallel_mm)
    travel = travel_um(torque / train.stiffness.low, working.lead_mm)
    return travel, f", and by at most {three(travel)} {working.unit} through its stiffness across"
