"""What the checks look at: the job and the measurement joined, in stations along the drive axis.

What is missing stays missing here, with the reason and the job line that would supply it; each check decides what it
can do without.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, field, replace
from typing import Any

from fitcheck.checks.finding import Finding, Place
from fitcheck.checks.from_file import completed, differences, taken
from fitcheck.checks.off_axis import off_axis
from fitcheck.checks.sides import Missing, Side, side_of
from fitcheck.checks.swept import Swept, hub_length, measured, swept_of
from fitcheck.job.model import Hub, Job, LoadedJob
from fitcheck.measurement.model import MeasuredCoupling, Measurement

CENTRED = "centred between the shaft ends"
"""How a coupling is placed where the job gives it no place."""


@dataclass(frozen=True, kw_only=True)
class PlacedHub:
    """A hub in stations: its outer face, where the shaft enters, and its inner end."""

    hub: Hub
    outer: float
    inner: float

    def inwards(self, distance: float) -> float:
        """The station so far from the outer face into the hub."""
        return self.outer + distance if self.inner >= self.outer else self.outer - distance

    @property
    def bore(self) -> tuple[float, float]:
        """The stations of the gripping bore, ascending."""
        low, high = sorted((self.outer, self.inwards(self.hub.bore_length)))
        return low, high


@dataclass(frozen=True, kw_only=True)
class Placed:
    """The coupling where it sits: stations of both outer faces, the hubs, and the swept radius."""

    start: float
    stop: float
    motor: PlacedHub
    actuator: PlacedHub
    swept: Swept
    how: str

    def hub(self, side: str) -> PlacedHub:
        """The hub on the shaft of `side`."""
        return self.motor if side == "motor" else self.actuator


@dataclass(frozen=True, kw_only=True)
class Drive:
    """The one context object of all checks.

    `answers` keeps what checks have worked out, by what was asked; `trial` is set where a remedy is being tried, and
    only whether checks pass is wanted.
    """

    loaded: LoadedJob
    measurement: Measurement
    motor: Side
    actuator: Side
    placed: Placed | None
    unplaced: Missing | None
    conflicts: tuple[Finding, ...] = ()
    remedies: bool = True
    trial: bool = False
    answers: dict[Hashable, Any] = field(default_factory=dict, compare=False, repr=False)

    @property
    def job(self) -> Job:
        """The job itself."""
        return self.loaded.job

    @property
    def sides(self) -> tuple[Side, Side]:
        """Motor and actuator."""
        return self.motor, self.actuator

    def side(self, name: str) -> Side:
        """The motor's or the actuator's side."""
        return self.motor if name == "motor" else self.actuator

    def body_name(self, index: int) -> str | None:
        """A body's name by its index; None where there is none."""
        return self.measurement.bodies[index].name if 0 <= index < len(self.measurement.bodies) else None

    def at(self, station: float, radius: float = 0.0, theta: float = 0.0, body: int = -1) -> Place:
        """A place on or beside the drive axis, with the file-frame point."""
        point = self.measurement.point(station, radius, theta) if self.measurement.drive_axis is not None else None
        return Place(station=station, point=point, body=self.body_name(body))

    def between(self, motor: Side, actuator: Side) -> Drive:
        """The same drive between other machines, the coupling placed anew; for trying remedies, makes none itself."""
        placed, unplaced = _place(self.job, self.measurement, taken(self.loaded, self.measurement), motor, actuator)
        return replace(
            self, motor=motor, actuator=actuator, placed=placed, unplaced=unplaced, remedies=False, trial=True,
            conflicts=(), answers={},
        )  # fmt: skip

    def moved(self, motor_hub_face: float) -> Drive:
        """The same drive with the coupling elsewhere along the axis, for verifying remedies; it makes none itself."""
        found = taken(self.loaded, self.measurement)
        placed = _placed_at(self.job, self.measurement, found, (self.motor, self.actuator), motor_hub_face, "moved")
        return replace(self, placed=placed, unplaced=None, remedies=False, trial=True, conflicts=(), answers={})


def drive_of(loaded: LoadedJob, measurement: Measurement, *, remedies: bool = True) -> Drive:
    """Join a job and an oriented measurement (its motor end at station 0).

    Args:
        loaded: the job.
        measurement: oriented, so that the motor's end comes first and station 0 is the motor's seat.
        remedies: whether checks may spend time on remedies that need further computing.
    """
    loaded = completed(loaded, measurement)
    job = loaded.job
    conflicts: list[Finding] = []
    motor = side_of("motor", 1.0, job.motor, measurement.end("motor"), conflicts)
    actuator = side_of("actuator", -1.0, job.actuator, measurement.end("actuator"), conflicts)
    placed, unplaced = _place(job, measurement, taken(loaded, measurement), motor, actuator)
    conflicts += differences(loaded, measurement, None if placed is None else placed.swept)
    return Drive(
        loaded=loaded,
        measurement=measurement,
        motor=motor,
        actuator=actuator,
        placed=placed,
        unplaced=unplaced,
        conflicts=tuple(conflicts),
        remedies=remedies,
    )


def _place(
    job: Job, measurement: Measurement, found: MeasuredCoupling | None, motor: Side, actuator: Side
) -> tuple[Placed | None, Missing | None]:
    face, sides = job.place.motor_hub_face, (motor, actuator)
    if face is not None:
        return _placed_at(job, measurement, found, sides, face, "at place.motor_hub_face"), None
    if found is not None:
        return _placed_at(job, measurement, found, sides, found.start, "as it lies in the STEP file"), None
    unknown = [side for side in (motor, actuator) if side.shaft is None]
    if motor.shaft is None or actuator.shaft is None:
        missing = [side.no_shaft() for side in unknown]
        return None, Missing(
            reason="the coupling cannot be centred between the shaft ends: " + "; ".join(m.reason for m in missing),
            supply=" and ".join(m.supply for m in missing) + ", or give place.motor_hub_face",
        )
    middle = 0.5 * (motor.shaft.end + actuator.shaft.end)
    start = middle - job.coupling.length / 2
    return _placed_at(job, measurement, None, sides, start, CENTRED), None


def _placed_at(
    job: Job, measurement: Measurement, found: MeasuredCoupling | None, sides: tuple[Side, Side], start: float, how: str
) -> Placed:
    """The coupling at a station; `found` is the one in the STEP file, where that is the one asked about."""
    coupling = job.coupling
    stop, hubs = start + coupling.length, coupling.hubs
    swept = swept_of(coupling, start)
    if found is not None:
        swept = measured(swept, found.profile, start - found.start)
    ends = start + hub_length(hubs.motor), stop - hub_length(hubs.actuator)
    swept = replace(swept, axes=off_axis(measurement, *sides, *ends))
    return Placed(
        start=start,
        stop=stop,
        motor=PlacedHub(hub=hubs.motor, outer=start, inner=start + hub_length(hubs.motor)),
        actuator=PlacedHub(hub=hubs.actuator, outer=stop, inner=stop - hub_length(hubs.actuator)),
        swept=swept,
        how=how,
    )
