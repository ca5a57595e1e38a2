"""How far from the drive axis a hub turns: a coupling turns about the shafts that it sits on, not a nominal line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan, hypot, inf, sin

from fitcheck.checks.sides import Side
from fitcheck.measurement.model import Measurement

LEAST = 1e-6
"""mm and mm/mm; a shaft that lies closer to the drive axis lies on it."""


@dataclass(frozen=True, kw_only=True)
class OffAxis:
    """The axis of a shaft over the stations where the coupling turns about it.

    Attributes:
        start: first station.
        stop: last station.
        at_zero: where it passes station 0, (x, y) of the axis frame, mm.
        slope: how it leans, (x, y) in mm for a mm of station.
    """

    start: float
    stop: float
    at_zero: tuple[float, float]
    slope: tuple[float, float]

    def distance(self, first: float, last: float) -> float:
        """Its greatest distance from the drive axis between two stations, mm; 0 where it does not reach."""
        first, last = max(first, self.start), min(last, self.stop)
        # A distance from a line is convex, so that its greatest value lies at an end.
        return max((self._at(first), self._at(last))) if first <= last else 0.0

    def _at(self, station: float) -> float:
        return hypot(*(a + station * b for a, b in zip(self.at_zero, self.slope, strict=True)))

    @property
    def lean(self) -> float:
        """Sine of its angle to the drive axis."""
        return sin(atan(hypot(*self.slope)))


def off_axis(
    measurement: Measurement, motor: Side, actuator: Side, motor_hub_end: float, actuator_hub_start: float
) -> tuple[OffAxis, ...]:
    """The axes that a coupling turns about, where the file's bodies show them beside the drive axis.

    Between the hubs it lies between both axes; each counts there, so the greater distance does.

    Args:
        measurement: oriented.
        motor: its side.
        actuator: its side.
        motor_hub_end: station where the motor's hub ends.
        actuator_hub_start: station where the actuator's begins.
    """
    found = []
    for side, start, stop in ((motor, -inf, actuator_hub_start), (actuator, motor_hub_end, inf)):
        shaft = None if side.end is None else side.end.shaft
        if shaft is None or shaft.origin is None or shaft.direction is None or measurement.drive_axis is None:
            continue
        s, x, y = measurement.axis_frame(shaft.origin)
        tip = (
            shaft.origin[0] + shaft.direction[0],
            shaft.origin[1] + shaft.direction[1],
            shaft.origin[2] + shaft.direction[2],
        )
        s1, x1, y1 = measurement.axis_frame(tip)
        slope = ((x1 - x) / (s1 - s), (y1 - y) / (s1 - s))
        if hypot(x, y) < LEAST and hypot(*slope) < LEAST:
            continue
        found.append(OffAxis(start=start, stop=stop, at_zero=(x - s * slope[0], y - s * slope[1]), slope=slope))
    return tuple(found)


def most_off(axes: Sequence[OffAxis], first: float, last: float) -> float:
    """The greatest distance of any of the axes from the drive axis between two stations, mm."""
    return max((axis.distance(first, last) for axis in axes), default=0.0)
