"""Forces that misalignment puts on the machines' bearings: by the coupling's stiffness, or by bent shafts."""

from __future__ import annotations

from math import radians

from fitcheck.checks.aligned import Aligned, shown
from fitcheck.checks.drive import Drive
from fitcheck.checks.finding import Finding, compare, not_checked
from fitcheck.checks.shaft_section import section_of
from fitcheck.checks.sides import Missing
from fitcheck.checks.wording import SIDES
from fitcheck.checks.work_units import open_question, three
from fitcheck.checks.working import ratings_of
from fitcheck.errors import UsageError
from fitcheck.job.drive import DriveData
from fitcheck.mechanics.misalignment import Offsets, Overhang, restoring, rigid_load

CHECK = "misalignment"
UPPER_BOUND = "an upper bound: bearings' own play takes some micrometres of the offset"


def rigid_findings(drive: Drive, aligned: Aligned, actual: Offsets, *, required: bool) -> tuple[Finding, ...]:
    """A rigid coupling bends the shafts instead: the force on each bearing next to it."""
    stubs = [_overhang(drive, side) for side in SIDES]
    for stub in stubs:
        if isinstance(stub, Missing):
            return (open_question(CHECK, "bearings", stub, required=required),)
    first, second = (stub for stub in stubs if isinstance(stub, Overhang))
    assert drive.motor.shaft is not None
    assert drive.actuator.shaft is not None
    placed = drive.placed
    gap = drive.actuator.shaft.end - drive.motor.shaft.end if placed is None else placed.stop - placed.start
    gap = max(0.0, gap)
    try:
        load = rigid_load(first, second, gap, actual.parallel_mm, actual.angular_deg)
    except UsageError as error:
        return (not_checked(CHECK, "bearings", str(error), "correct the shafts and their bearings", required=required),)
    one = rigid_load(first, second, gap, 1.0, 0.0)
    found = []
    for number, side in enumerate(SIDES):
        bearings = drive.side(side).machine.bearings
        limit = None if bearings is None else bearings.radial_load
        force = load.bearing_forces[number]
        message = (
            f"a rigid coupling forgives nothing: {three(actual.parallel_mm)} mm and {three(actual.angular_deg)}° "
            "between the "
            f"shafts ({three(aligned.worst.parallel_mm)} mm at worst) bend both and put {three(force)} N on the "
            f"{side}'s "
            f"bearing, {three(load.stresses[number] / 1e6)} MPa of bending in its shaft once a turn ({UPPER_BOUND})"
        )
        if limit is None:
            supply = f"give {side}.bearings.radial_load"
            found.append(not_checked(CHECK, f"{side} bearing", message, supply, required=required))
            continue
        offset = limit / one.bearing_forces[number]
        found.append(
            compare(
                check=CHECK, subject=f"{side} bearing", value=force, limit=limit, unit="N", at_least=False,
                path=f"{side}.bearings.radial_load", message=f"{message}; at most {three(limit)} N",
                remedy=f"a flexible coupling, or shafts aligned to {three(offset)} mm without any angle",
            )
        )  # fmt: skip
    return (*found, *_rigid_growth(drive, aligned))


def _rigid_growth(drive: Drive, aligned: Aligned) -> tuple[Finding, ...]:
    """What the shafts move along their axis, which a rigid coupling leaves to the play of their bearings."""
    data = drive.job.drive or DriveData()
    play = data.service.axial_play
    moved = max(0.0, aligned.worst.axial_mm - play)  # the play is no movement of the shafts here, but room for it
    if moved <= 0.0:
        return ()
    return (
        compare(
            check=CHECK, subject="axial", value=moved, limit=play, unit="mm", at_least=False,
            path="drive.service.axial_play",
            message=f"a rigid coupling does not let the shafts move along their axis: {three(moved)} mm ("
            f"{shown(aligned.axial, 'mm')}) go into the play of their bearings, {three(play)} mm, and press on them "
            "beyond it",
            remedy=f"one of the shafts not held along its axis, with {three(moved)} mm of play, or a coupling that "
            "permits axial movement",
        ),
    )  # fmt: skip


def restoring_findings(drive: Drive, actual: Offsets) -> tuple[Finding, ...]:
    """Radial and axial load of a flexible coupling on each shaft end, where its stiffnesses are given."""
    ratings, found = ratings_of(drive), []
    bending = None if ratings.bending_stiffness is None else ratings.bending_stiffness * radians(1.0)
    force = restoring(actual, ratings.lateral_stiffness, ratings.axial_stiffness, bending)
    for side in SIDES:
        bearings = drive.side(side).machine.bearings
        turned = _turned(drive, side, force.moment)
        radial = f"{three(force.radial_force)} N by its parallel offset"
        if force.moment > 0.0:
            radial += f", {three(turned)} N by its bending moment of {three(force.moment)} N·m"
        rows = (
            ("radial", force.radial_force + turned, radial, None if bearings is None else bearings.radial_load),
            (
                "axial",
                force.axial_force,
                f"{three(force.axial_force)} N",
                None if bearings is None else bearings.axial_load,
            ),
        )
        for name, value, words, limit in rows:
            if value <= 0.0:
                continue
            subject = f"{side} bearing {name}"
            message = f"the misaligned coupling loads the {side}'s shaft end {name}ly with {three(value)} N ({words})"
            if limit is None:
                supply = f"give {side}.bearings.{name}_load"
                found.append(not_checked(CHECK, subject, message, supply, required=False))
                continue
            found.append(
                compare(
                    check=CHECK, subject=subject, value=value, limit=limit, unit="N", at_least=False,
                    path=f"{side}.bearings.{name}_load", message=f"{message}; at most {three(limit)} N",
                    remedy=f"a coupling {three(value / limit)} times as soft, or misalignment that many times less",
                )
            )  # fmt: skip
    return tuple(found)


def _turned(drive: Drive, side: str, moment: float) -> float:
    """Radial load at the shaft end that loads the bearing next to it as a bending moment there does: M/(a + S), N.

    The moment puts M/S on that bearing, a force F at the overhang a puts F (a + S)/S on it. Without the bearings'
    place, the shaft's own length stands for the arm: too short, so the load is too great.
    """
    half = drive.side(side)
    shaft, bearings = half.shaft, half.machine.bearings
    if moment <= 0.0 or shaft is None or half.seat is None:
        return 0.0
    arm = abs(shaft.end - half.seat)
    if bearings is not None:
        arm += bearings.distance + bearings.span
    return moment * 1000.0 / max(arm, 1.0)


def _overhang(drive: Drive, side: str) -> Overhang | Missing:
    half = drive.side(side)
    section, shaft, bearings = section_of(drive, side), half.shaft, half.machine.bearings
    if section is None or shaft is None or half.seat is None:
        return half.no_shaft()
    if bearings is None:
        return Missing(
            reason=f"a rigid coupling is judged by the force on the bearings, and where the {side}'s sit is not known",
            supply=f"give {side}.bearings (distance, span, radial_load)",
        )
    # The hub stiffens the shaft inside it; the stub counts from the bearing to the hub's face.
    face = shaft.end if drive.placed is None else drive.placed.hub(side).outer
    length = max((face - half.seat) * half.sign, 0.0) + bearings.distance
    if length <= 0.0:
        return Missing(reason=f"the {side}'s bearing sits inside the hub", supply=f"correct {side}.bearings.distance")
    return Overhang(diameter_mm=section.diameter, length_mm=length, span_mm=bearings.span)
