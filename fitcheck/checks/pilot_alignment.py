"""`pilot-alignment`: how far the adapter, and the machines as they lie in the file, are out of line."""

from __future__ import annotations

from collections.abc import Iterator
from math import hypot

from fitcheck.checks.drive import Drive
from fitcheck.checks.finding import Finding, compare, not_checked
from fitcheck.checks.locating import WORDS, correction, locator_of, misplaced, pilots_apart, vector_text
from fitcheck.checks.shaft_alignment import Axis, ShaftAlignment, shaft_alignment
from fitcheck.checks.wording import mm, number

CHECK = "pilot-alignment"
SAME_LEAN = 0.001
"""degrees; a seat that leans as its pilot does is one fault."""


def check(drive: Drive) -> tuple[Finding, ...]:
    """Offset and tilt of the actuator's pilot against the motor's, the lean of either seat, and the shafts' own."""
    return (*_pilots(drive), *_seats(drive), *_shafts(drive))


def _seats(drive: Drive) -> Iterator[Finding]:
    """A machine stands as its seat does: one that leans more than its pilot tells is told on its own."""
    measured, limit = pilots_apart(drive), drive.job.require.angular_misalignment
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
    measured, require = pilots_apart(drive), drive.job.require
    if measured is None:
        # The job cannot supply it, so it is not what the job asks for.
        return (not_checked(CHECK, "pilots", *_unknown(drive), required=False),)
    motor, actuator = (WORDS[what] for what in measured.features)
    end = drive.actuator.end
    at = drive.at(end.seat if end is not None else 0.0)
    moved = correction(drive, "motor", motor) or correction(drive, "actuator", actuator)
    offset = compare(
        check=CHECK, subject="offset", value=measured.offset, limit=require.parallel_misalignment, unit="mm",
        at_least=False, at=at, path="require.parallel_misalignment",
        message=f"the actuator's {actuator} lies {mm(measured.offset)} beside the motor's {motor}; "
        f"at most {mm(require.parallel_misalignment)} allowed",
        remedy=moved or f"move the actuator's {actuator} {mm(measured.offset)} onto the motor's axis",
    )  # fmt: skip
    tilt = compare(
        check=CHECK, subject="tilt", value=measured.tilt, limit=require.angular_misalignment, unit="deg",
        at_least=False, at=at, path="require.angular_misalignment",
        message=f"the actuator's {actuator} is tilted {number(measured.tilt)}° against the motor's {motor}; "
        f"at most {number(require.angular_misalignment)}° allowed",
        remedy=f"turn the actuator's seat and {actuator} {number(measured.tilt)}° square to the motor's axis",
    )  # fmt: skip
    return offset, tilt


def _unknown(drive: Drive) -> tuple[str, str]:
    """Why there are no two pilots to compare, and what to supply."""
    if len(drive.measurement.ends) < 2:
        reason = "the adapter has one seat only, so there are no two pilots to compare"
        return reason, "a file with both pilots, or judge the alignment by other means"
    for side in drive.sides:
        end = side.end
        if end is None or locator_of(side) is not None or end.opening is None:
            continue
        bore = f"the bore of {mm(end.opening.diameter)} at the {side.name}'s seat has no floor"
        if side.register is None:
            return f"{bore}, and whether it locates the {side.name} is not known", f"give {side.name}.register or frame"
        return (
            f"{bore}, and does not fit the {side.name}'s register of {mm(side.register.diameter)}: an opening only",
            f"a pilot for the {side.name}, or judge the alignment by other means",
        )
    reason = "no pilot was found at one of the seats"
    return reason, "a file with both pilots, or judge the alignment by other means"


def _shafts(drive: Drive) -> tuple[Finding, ...]:
    """The shafts as the file's bodies show them; against the other machine's pilot where only one is there."""
    found, require = shaft_alignment(drive), drive.job.require
    if found is None:
        return ()
    at = drive.at(found.station)
    pair = f"{found.actuator.what} against {found.motor.what}"
    return (
        compare(
            check=CHECK, subject="shaft offset", value=found.offset, limit=require.parallel_misalignment, unit="mm",
            at_least=False, at=at, path="require.parallel_misalignment",
            message=f"{pair}: {mm(found.offset)} beside it at the coupling's place; at most "
            f"{mm(require.parallel_misalignment)} allowed",
            remedy=_shaft_remedy(drive, found),
        ),
        compare(
            check=CHECK, subject="shaft tilt", value=found.tilt, limit=require.angular_misalignment, unit="deg",
            at_least=False, at=at, path="require.angular_misalignment",
            message=f"{pair}: tilted {number(found.tilt)}°; at most {number(require.angular_misalignment)}° allowed",
            remedy=f"turn the {_to_move(drive, found)} {number(found.tilt)}° into line",
        ),
    )  # fmt: skip


def _to_move(drive: Drive, found: ShaftAlignment) -> str:
    """The machine whose shaft lies farther from the line that the adapter's features agree on."""
    x, y = misplaced(drive).place

    def away(axis: Axis) -> float:
        _, at_x, at_y = drive.measurement.axis_frame(axis.at(drive, found.station))
        return hypot(at_x - x, at_y - y)

    motor = away(found.motor) if found.motor.shaft else -1.0
    return "motor" if motor > away(found.actuator) or not found.actuator.shaft else "actuator"


def _shaft_remedy(drive: Drive, found: ShaftAlignment) -> str:
    side = _to_move(drive, found)
    move = found.move if side == "actuator" else (-found.move[0], -found.move[1], -found.move[2])
    return f"move the {side} by {vector_text(move)}"
