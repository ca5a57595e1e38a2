"""The coupling in the STEP file: what the job leaves to it, and where it differs from what the job says."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from fitcheck.checks.finding import Finding, Place
from fitcheck.checks.swept import Swept
from fitcheck.checks.wording import mm
from fitcheck.errors import JobError, MeasureError
from fitcheck.job.load import UNMEASURED
from fitcheck.job.model import NUMBERS_FROM, Coupling, Hub, LoadedJob
from fitcheck.job.validate import impossible
from fitcheck.measurement.model import MeasuredCoupling, Measurement

DIFFERENCE = 0.01
"""mm; where job and file tell the same thing, they may differ by rounding, not by more."""


def taken(loaded: LoadedJob, measurement: Measurement) -> MeasuredCoupling | None:
    """The coupling in the file, where the job asks for it."""
    return measurement.coupling if loaded.job.coupling.numbers_from == NUMBERS_FROM[1] else None


def completed(loaded: LoadedJob, measurement: Measurement) -> LoadedJob:
    """The job with its coupling's open numbers filled from the coupling in the file; the same job where none is open.

    Args:
        loaded: the job.
        measurement: oriented, so that the first bore is the motor hub's.

    Raises:
        MeasureError: the file does not show what the job leaves to it.
        JobError: what the job gives cannot go with what was measured.
    """
    coupling = loaded.job.coupling
    if coupling.numbers_from != NUMBERS_FROM[1] or measurement.drive_axis is None:
        return loaded
    found = measurement.coupling
    if found is None:
        msg = (
            "the job takes the coupling from this file, and none was found in it; name its bodies with "
            "bodies.coupling, or give the coupling's numbers and leave numbers_from out"
        )
        raise MeasureError(msg, loaded.step_path)
    if not any(_open(coupling)):
        return loaded
    full = replace(
        coupling,
        outside_diameter=coupling.outside_diameter or _rounded(found.outside_diameter),
        length=coupling.length or _rounded(found.length),
        hubs=replace(
            coupling.hubs,
            motor=_hub(loaded, coupling.hubs.motor, found, "motor"),
            actuator=_hub(loaded, coupling.hubs.actuator, found, "actuator"),
        ),
    )
    groups = ((full.hubs.motor, "coupling.hubs.motor"), (full.hubs.actuator, "coupling.hubs.actuator"))
    for group, path in (*groups, (full, "coupling")):
        for place, message in impossible(group, path):
            text = f"{place}: {message} (the coupling in the STEP file was measured)"
            raise JobError(text, loaded.file, loaded.lines.get(place, loaded.lines.get("coupling")))
    told = tuple(f"{path} = {mm(value)} (measured in the STEP file)" for path, value in _numbers(full))
    measured = tuple(text for text in told if text.partition(" ")[0] in loaded.to_measure)
    return replace(
        loaded, job=replace(loaded.job, coupling=full), defaults=(*loaded.defaults, *measured)
    )  # fmt: skip


def differences(loaded: LoadedJob, measurement: Measurement, swept: Swept | None) -> Iterator[Finding]:
    """A warning for each number of the job's coupling that differs from the coupling in the file.

    Args:
        loaded: the job, completed.
        measurement: oriented.
        swept: the coupling's swept radius by the job's numbers, where it is placed.
    """
    found = measurement.coupling
    if found is None:
        return
    coupling = loaded.job.coupling
    given = dict(_numbers(coupling))
    measured = {"coupling.outside_diameter": found.outside_diameter, "coupling.length": found.length}
    if len(found.bores) == 2:
        for side, bore in zip(("motor", "actuator"), found.bores, strict=True):
            measured[f"coupling.hubs.{side}.bore"] = bore.diameter
            measured[f"coupling.hubs.{side}.bore_length"] = bore.stop - bore.start
    for path, value in measured.items():
        if path not in loaded.to_measure and abs(given[path] - value) > DIFFERENCE:
            yield _differs(path, given[path], value, found)
    if swept is None:
        return
    by_numbers = max((swept.most_by_numbers(), 0.0))
    if not loaded.to_measure and abs(by_numbers - found.radius) > DIFFERENCE:
        yield _differs("coupling", by_numbers, found.radius, found, "the greatest swept radius")
    place = loaded.job.place.motor_hub_face
    if place is not None and abs(place - found.start) > DIFFERENCE:
        yield _differs("place.motor_hub_face", place, found.start, found, "the motor hub's outer face")


_CHECKS = {
    "coupling.outside_diameter": ("radial-clearance", "outside diameter", "the outside diameter"),
    "coupling": ("radial-clearance", "swept radius", "the greatest swept radius"),
    "coupling.length": ("axial-room", "coupling length", "the coupling's length"),
    "coupling.hubs.motor.bore": ("bore-fit", "motor hub", "the motor hub's bore"),
    "coupling.hubs.actuator.bore": ("bore-fit", "actuator hub", "the actuator hub's bore"),
    "coupling.hubs.motor.bore_length": ("engagement", "motor hub", "the motor hub's bore length"),
    "coupling.hubs.actuator.bore_length": ("engagement", "actuator hub", "the actuator hub's bore length"),
    "place.motor_hub_face": ("axial-room", "coupling", "the station of the motor hub's outer face"),
}


def _differs(path: str, given: float, value: float, found: MeasuredCoupling, what: str | None = None) -> Finding:
    check, subject, name = _CHECKS[path]
    return Finding(
        check=check,
        subject=subject,
        status="warn",
        value=given,
        limit=value,
        unit="mm",
        margin=-abs(given - value),
        at=Place(station=found.station if path == "coupling" else found.start, body=found.bodies[0]),
        message=f"{what or name} is {mm(given)} by the job, and {mm(value)} of the coupling in the STEP file",
        remedy=f"correct {path}, or leave the number out with coupling.numbers_from: {NUMBERS_FROM[1]}, or replace the "
        "coupling in the STEP file",
        path=path,
    )


def _open(coupling: Coupling) -> Iterator[bool]:
    return (value == UNMEASURED for _, value in _numbers(coupling))


def _numbers(coupling: Coupling) -> Iterator[tuple[str, float]]:
    """Dotted path and value of every number that a coupling in the file may tell."""
    yield "coupling.outside_diameter", coupling.outside_diameter
    yield "coupling.length", coupling.length
    for side, hub in (("motor", coupling.hubs.motor), ("actuator", coupling.hubs.actuator)):
        yield f"coupling.hubs.{side}.bore", hub.bore
        yield f"coupling.hubs.{side}.bore_length", hub.bore_length


def _hub(loaded: LoadedJob, hub: Hub, found: MeasuredCoupling, side: str) -> Hub:
    if hub.bore != UNMEASURED and hub.bore_length != UNMEASURED:
        return hub
    if len(found.bores) < 2:
        msg = (
            f"the coupling in this file does not show the {side} hub's bore; give coupling.hubs.{side}.bore and "
            "bore_length"
        )
        raise MeasureError(msg, loaded.step_path)
    bore = found.bores[0 if side == "motor" else 1]
    return replace(
        hub,
        bore=hub.bore or _rounded(bore.diameter),
        bore_length=hub.bore_length or _rounded(bore.stop - bore.start),
    )


def _rounded(value: float) -> float:
    """Without the rounding of sums: a length of 40 mm comes as 39.99999999999997."""
    return round(value, 6)
