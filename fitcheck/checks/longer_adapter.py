"""A longer adapter as a remedy: the measurement stretched between the shaft ends, and checked again."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

import numpy as np

from fitcheck.checks.drive import Drive
from fitcheck.checks.from_file import taken
from fitcheck.checks.trying import Key, outcome, told, with_job
from fitcheck.checks.wording import mm
from fitcheck.measurement.model import End, Measurement
from fitcheck.measurement.obstacles import Floats


def longer_adapter(drive: Drive, more: float, keys: Collection[Key]) -> str | None:
    """An adapter `more` mm longer, with the coupling as it is, or longer by the same.

    Returns:
        The remedy in words, with what suffers by it; None where it does not help or cannot be tried.
    """
    motor, actuator, placed = drive.motor.shaft, drive.actuator.shaft, drive.placed
    if motor is None or actuator is None or placed is None or taken(drive.loaded, drive.measurement) is not None:
        return None
    section = 0.5 * (motor.end + actuator.end)
    longer = replace(drive, measurement=stretched(drive.measurement, section, more))
    job = drive.job
    if job.actuator.seat is not None:
        job = replace(job, actuator=replace(job.actuator, seat=job.actuator.seat + more))
    text = f"the adapter {mm(more)} longer"
    plain = outcome(drive, with_job(longer, job), keys)
    if plain.good:
        return told(text, plain)
    coupling = replace(job.coupling, length=job.coupling.length + more)
    place = replace(job.place, motor_hub_face=placed.start)
    both = outcome(drive, with_job(longer, replace(job, coupling=coupling, place=place)), keys)
    if both.good:
        return told(f"{text} and the coupling with it (coupling.length: {mm(coupling.length)})", both)
    return told(text, plain)


def stretched(measurement: Measurement, section: float, more: float) -> Measurement:
    """A measurement in which all beyond a station lies `more` mm farther on, and what crosses it is longer."""

    def corners(points: Floats) -> Floats:
        moved = points.copy()
        moved[..., 0] += np.where(points[..., 0] > section, more, 0.0)
        return moved

    obstacles = measurement.obstacles
    if obstacles is not None:
        obstacles = replace(
            obstacles, segments=corners(obstacles.segments), triangles=corners(obstacles.triangles)
        )  # fmt: skip
    ends = tuple(end if end.role == "motor" else _moved(end, more) for end in measurement.ends)
    return replace(measurement, ends=ends, obstacles=obstacles)


def _moved(end: End, more: float) -> End:
    shaft = end.shaft
    if shaft is not None:
        flat, keyseat = shaft.flat, shaft.keyseat
        shaft = replace(
            shaft, end=shaft.end + more, full_from=shaft.full_from + more, full_to=shaft.full_to + more,
            collars=tuple((start + more, stop + more, radius) for start, stop, radius in shaft.collars),
            flat=None if flat is None else replace(flat, start=flat.start + more, stop=flat.stop + more),
            keyseat=None if keyseat is None else replace(keyseat, start=keyseat.start + more, stop=keyseat.stop + more),
            grooves=tuple((first + more, last + more) for first, last in shaft.grooves),
        )  # fmt: skip
    face = None if end.face is None else end.face + more
    return replace(end, seat=end.seat + more, face=face, shaft=shaft)
