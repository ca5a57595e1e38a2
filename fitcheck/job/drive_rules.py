"""What cannot be in the groups of the drive, the ratings and the fastening, across their values."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from fitcheck.job.complaint import Complaint
from fitcheck.job.drive import Asked, DriveData, MotorData, Move, ScrewDrive, Turn
from fitcheck.job.ratings import HelicalCut, Holding, RadialSlits, Ratings


def _screw(screw: ScrewDrive, path: str) -> Iterator[Complaint]:
    if screw.inertia is None and (screw.diameter is None or screw.length is None):
        yield Complaint(
            f"{path}.inertia",
            "found neither the screw's inertia nor both its diameter and its length; needed is one of them: "
            "inertia, or diameter and length",
        )
    for name, unit in (("counterbalance_mass", "kg"), ("counterbalance_force", "N")):
        value = getattr(screw, name)
        if value and screw.incline == 0.0:
            yield Complaint(
                f"{path}.{name}",
                f"found {value:g} {unit} on a horizontal axis; needed is an incline, such as 90 for a vertical axis",
            )
    yield from _travel(screw, path)


def _travel(screw: ScrewDrive, path: str) -> Iterator[Complaint]:
    """Strokes that leave the screw: the carriage's places after each move, from where the cycle begins."""
    if screw.length is None:
        return
    place = low = high = 0.0
    for index, move in enumerate(screw.moves):
        end = place + move.stroke
        low, high = min(low, end), max(high, end)
        if high - low > screw.length:
            yield Complaint(
                f"{path}.moves.{index}.stroke",
                f"found {move.stroke:g} mm, with which the moves reach over {high - low:g} mm; needed is at most the "
                f"screw's length, {screw.length:g} mm",
            )
            return
        place = end if move.then == "stays" else place


def _moves(move: Move | Turn, path: str) -> Iterator[Complaint]:
    name, size = ("stroke", move.stroke) if isinstance(move, Move) else ("angle", move.angle)
    if size == 0.0:
        yield Complaint(
            f"{path}.{name}", "found 0; needed is a distance, to either side; a rest is the pause of a move"
        )


def _drive(drive: DriveData, path: str) -> Iterator[Complaint]:
    if drive.kind is None and drive.screw is not None and drive.rotary is not None:
        yield Complaint(f"{path}.kind", "found both a screw and a rotary drive; needed is kind: screw or kind: rotary")
    elif drive.kind is not None and getattr(drive, drive.kind) is None:
        yield Complaint(
            f"{path}.kind", f"found kind {drive.kind!r} without its group; needed is the group {drive.kind!r}"
        )
    # What is asked in mm of a turning load, or in degrees of a carriage, would be asked of nothing.
    if drive.axis_kind == "rotary" and drive.screw is None:
        wrong: tuple[str, ...] = ("repeatability", "following_error")
        needed = "angular_repeatability, for a turning load"
    elif drive.axis_kind == "screw" and drive.rotary is None:
        wrong, needed = ("angular_repeatability",), "repeatability, for a carriage on a screw"
    else:
        return
    for name in wrong:
        if getattr(drive.asked, name) is not None:
            yield Complaint(f"{path}.asked.{name}", f"found a limit for another kind of drive; needed is {needed}")


def _motor(motor: MotorData, path: str) -> Iterator[Complaint]:
    if motor.peak_torque is not None and motor.rated_torque is not None and motor.peak_torque < motor.rated_torque:
        yield Complaint(
            f"{path}.peak_torque",
            f"found {motor.peak_torque:g} N*m; needed is at least the rated torque, {motor.rated_torque:g} N*m",
        )
    teeth = motor.steps / (2.0 * motor.phases)
    if motor.holding_torque is not None and (teeth < 1.0 or abs(teeth - round(teeth)) > 1e-6):
        yield Complaint(
            f"{path}.steps",
            f"found {motor.steps:g} full steps of {motor.phases} phases, which is no whole number of rotor teeth "
            f"({teeth:g}); needed is a multiple of {2 * motor.phases}, such as 200 for 2 phases and 500 for 5",
        )


def _asked(asked: Asked, path: str) -> Iterator[Complaint]:
    if asked.kept_free is not None and asked.kept_free[0] >= asked.kept_free[1]:
        yield Complaint(
            f"{path}.kept_free",
            f"found a band from {asked.kept_free[0]:g} to {asked.kept_free[1]:g} Hz; needed is the lower end first",
        )


def _ratings(ratings: Ratings, path: str) -> Iterator[Complaint]:
    nominal, maximum = ratings.nominal_torque, ratings.maximum_torque
    if nominal is not None and maximum is not None and maximum < nominal:
        yield Complaint(
            f"{path}.maximum_torque",
            f"found {maximum:g} N*m; needed is at least the nominal torque, {nominal:g} N*m",
        )
    span, stiffness = ratings.torsional_stiffness_range, ratings.torsional_stiffness
    if span is not None and span[0] > span[1]:
        yield Complaint(
            f"{path}.torsional_stiffness_range", f"found {span[0]:g} to {span[1]:g}; needed is the least one first"
        )
    elif span is not None and stiffness is not None and not span[0] <= stiffness <= span[1]:
        yield Complaint(
            f"{path}.torsional_stiffness_range",
            f"found {span[0]:g} to {span[1]:g}, which does not hold the torsional stiffness {stiffness:g}; needed is "
            "a range about it",
        )


def _ring(cut: HelicalCut | RadialSlits, path: str) -> Iterator[Complaint]:
    if cut.bore >= cut.outside_diameter:
        yield Complaint(
            f"{path}.bore",
            f"found a bore of {cut.bore:g} mm; needed is less than the outside diameter, {cut.outside_diameter:g} mm",
        )


def _holding(holding: Holding, path: str) -> Iterator[Complaint]:
    for name in ("friction", "thread_friction"):
        values = getattr(holding, name)
        if list(values) != sorted(values):
            shown = ", ".join(f"{value:g}" for value in values)
            yield Complaint(f"{path}.{name}", f"found {shown}; needed is low, nominal, high in that order")


RULES: dict[type[Any], Callable[[Any, str], Iterator[Complaint]]] = {
    ScrewDrive: _screw,
    Move: _moves,
    Turn: _moves,
    DriveData: _drive,
    MotorData: _motor,
    Asked: _asked,
    Ratings: _ratings,
    HelicalCut: _ring,
    RadialSlits: _ring,
    Holding: _holding,
}
"""The rules by the group that they are about."""
