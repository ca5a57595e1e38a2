"""The swept radius R(s) of a placed coupling, from the job's numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from math import hypot, sqrt

from fitcheck.checks.off_axis import OffAxis, most_off
from fitcheck.job.model import ACROSS, TO_OTHER_HUB, Coupling, Hub, Screw
from fitcheck.standards.screws import cap_screw, set_screw

_ROUNDING = 1e-9

BODY = "coupling body"
"""What lies between the hubs, as a part."""


@dataclass(frozen=True, kw_only=True)
class Step:
    """A round part of the coupling: stations `start` to `stop`, radius mm."""

    start: float
    stop: float
    radius: float
    part: str


@dataclass(frozen=True, kw_only=True)
class Head:
    """A protruding screw head: a cylinder across the drive axis.

    Its axis lies at `station`, `offset` beside the drive axis; it has `radius` and ends `height` from the plane through
    the drive axis across its own. At station s its cross-section across the screw is a chord of half length
    w = sqrt(radius^2 - (s - station)^2), so its outermost corner lies `height` out and `offset + w` aside, and sweeps

        R(s) = sqrt(height^2 + (offset + sqrt(radius^2 - (s - station)^2))^2),  |s - station| <= radius,

    which falls steadily away from `station`.
    """

    station: float
    radius: float
    offset: float
    height: float
    part: str

    @property
    def start(self) -> float:
        """First station."""
        return self.station - self.radius

    @property
    def stop(self) -> float:
        """Last station."""
        return self.station + self.radius

    def swept(self, station: float) -> float:
        """R at a station within the head, mm."""
        half_chord = sqrt(max(self.radius**2 - (station - self.station) ** 2, 0.0))
        return hypot(self.height, self.offset + half_chord)


@dataclass(frozen=True, kw_only=True)
class Slope:
    """A measured part of the coupling: radius over station is straight from (start, r0) to (stop, r1), mm."""

    start: float
    stop: float
    r0: float
    r1: float
    part: str

    def most(self, start: float, stop: float) -> float:
        """The greatest radius between two stations that the part reaches, mm."""
        return max(self._at(max(start, self.start)), self._at(min(stop, self.stop)))

    def _at(self, station: float) -> float:
        if self.stop == self.start:
            return max(self.r0, self.r1)
        return self.r0 + (self.r1 - self.r0) * (station - self.start) / (self.stop - self.start)


@dataclass(frozen=True, kw_only=True)
class Swept:
    """R(s) in absolute stations, about the drive axis. `assumptions` are sentences for the report.

    `steps` and `heads` are what the numbers say. Where the coupling was measured in the STEP file, `slopes` are what
    was found, and R(s) is theirs alone. `axes` are the shafts' own axes where they lie beside the drive axis: R(s) is
    greater by their distance, and reaches farther along by what a leaning part does; both on the safe side.
    """

    steps: tuple[Step, ...]
    heads: tuple[Head, ...] = ()
    assumptions: tuple[str, ...] = ()
    slopes: tuple[Slope, ...] = ()
    axes: tuple[OffAxis, ...] = ()

    @property
    def _ranges(self) -> list[tuple[float, float]]:
        if self.slopes:
            return [(slope.start, slope.stop) for slope in self.slopes]
        steps = [(step.start, step.stop) for step in self.steps]
        return steps + [(head.start, head.stop) for head in self.heads]

    @property
    def start(self) -> float:
        """First station that any part reaches."""
        return min(start for start, _ in self._ranges) - self.lean_reach

    @property
    def stop(self) -> float:
        """Last station that any part reaches."""
        return max(stop for _, stop in self._ranges) + self.lean_reach

    @cached_property
    def lean_reach(self) -> float:
        """How much farther along the drive axis a leaning part may reach than an upright one, mm."""
        if not self.axes:
            return 0.0
        radii = [max(slope.r0, slope.r1) for slope in self.slopes] or [self.most_by_numbers()]
        return max(radii) * max(axis.lean for axis in self.axes)

    @property
    def breaks(self) -> tuple[float, ...]:
        """Stations between which R is steady or falls away from a head's middle, ascending."""
        found = {station for ends in self._ranges for station in ends}
        found = found if self.slopes else found | {head.station for head in self.heads}
        reach = self.lean_reach
        if reach:
            found |= {station + way for station in found for way in (-reach, reach)}
        return tuple(sorted(found))

    def most(self, start: float, stop: float) -> float:
        """The greatest swept radius over the closed range of stations, mm; 0 where the coupling does not reach."""
        radius = self._most(start - self.lean_reach, stop + self.lean_reach)[0]
        return radius + self.off_axis(start, stop) if radius > 0.0 else radius

    def off_axis(self, start: float, stop: float) -> float:
        """How far beside the drive axis the coupling turns between two stations at most, mm."""
        return most_off(self.axes, start, stop)

    def most_by_numbers(self) -> float:
        """The greatest swept radius that the numbers alone say, mm."""
        heads = (head.swept(head.station) for head in self.heads)
        return max((*(step.radius for step in self.steps), *heads))

    def part(self, start: float, stop: float) -> str:
        """Which part of the coupling sweeps the most over the range."""
        return self._most(start - self.lean_reach, stop + self.lean_reach)[1]

    def _most(self, start: float, stop: float) -> tuple[float, str]:
        radius, part = 0.0, "coupling"
        for slope in self.slopes:
            if slope.start <= stop and slope.stop >= start and (found := slope.most(start, stop)) > radius:
                radius, part = found, slope.part
        if self.slopes:
            return radius, part
        for step in self.steps:
            if step.start <= stop and step.stop >= start and step.radius > radius:
                radius, part = step.radius, step.part
        for head in self.heads:
            if head.start <= stop and head.stop >= start:
                swept = head.swept(min(max(head.station, start), stop))
                if swept > radius:
                    radius, part = swept, head.part
        return radius, part


def measured(swept: Swept, profile: Sequence[tuple[float, float]], shift: float) -> Swept:
    """The swept radius with what was measured in the STEP file in the place of what the numbers say.

    Args:
        swept: by the numbers; its steps name the parts.
        profile: rows (station, radius) of the coupling in the file, linear between rows.
        shift: how far the coupling is placed from where it lies in the file, mm.
    """
    slopes = []
    for (s0, r0), (s1, r1) in pairwise(profile):
        middle = 0.5 * (s0 + s1) + shift
        part = next((step.part for step in swept.steps if step.start <= middle <= step.stop), "coupling")
        slopes.append(Slope(start=s0 + shift, stop=s1 + shift, r0=r0, r1=r1, part=part))
    return replace(swept, slopes=tuple(slopes), assumptions=())


def hub_radius(coupling: Coupling, hub: Hub) -> float:
    """Outside radius of a hub, mm."""
    return (hub.outside_diameter or coupling.outside_diameter) / 2


def hub_length(hub: Hub) -> float:
    """Length of a hub along the axis, mm; without one given, its bore's."""
    return hub.length or hub.bore_length


def element_radius(coupling: Coupling) -> float:
    """Outside radius of what lies between the hubs, mm; without one given, the coupling's."""
    return (coupling.element_diameter or coupling.outside_diameter) / 2


def element_known(coupling: Coupling) -> bool:
    """Whether the job tells how wide it is between the hubs: else the outside diameter is no more than a bound."""
    widest = coupling.outside_diameter / 2
    hubs_narrower = all(hub_radius(coupling, hub) < widest for hub in (coupling.hubs.motor, coupling.hubs.actuator))
    return coupling.element_diameter is not None or hubs_narrower


def stands_out(hub: Hub, screw: Screw) -> bool:
    """Whether the head of a screw along the drive axis stands out of its hub, between the hubs."""
    return screw.direction == TO_OTHER_HUB and screw.station > hub_length(hub)


def head_radius(screw: Screw) -> float:
    """Radius of what a screw's outer end sweeps about its own axis, mm (ISO 4762 knurled heads at their greatest)."""
    if screw.kind == "set screw":
        return float(set_screw(screw.size).diameter) / 2
    return float(cap_screw(screw.size).head_diameter) / 2


def outer_end(screw: Screw, outside_radius: float) -> float:
    """Distance of the screw's outer end from the plane through the drive axis, mm.

    Where the job does not tell it, the end's outermost corner is taken to lie on the hub's outside diameter.
    """
    if screw.head_end is not None:
        return screw.head_end
    corner = abs(screw.offset) + head_radius(screw)
    return sqrt(max(outside_radius**2 - corner**2, 0.0))


def screw_stands_out(coupling: Coupling, hub: Hub, screw: Screw) -> bool:
    """Whether the outer end of a screw across the drive axis shows: over its hub's outside, or beyond its length.

    Without `head_end` it is flush with the outside, and shows beyond the hub's length alone.
    """
    radius, outside = head_radius(screw), hub_radius(coupling, hub)
    if screw.station - radius < -_ROUNDING or screw.station + radius > hub_length(hub) + _ROUNDING:
        return True
    return screw.head_end is not None and hypot(screw.head_end, abs(screw.offset) + radius) > outside


def swept_of(coupling: Coupling, start: float) -> Swept:
    """The swept radius of a coupling whose motor hub's outer face lies at station `start`."""
    stop = start + coupling.length
    motor, actuator = coupling.hubs.motor, coupling.hubs.actuator
    motor_end, actuator_start = start + hub_length(motor), stop - hub_length(actuator)
    steps = [Step(start=start, stop=motor_end, radius=hub_radius(coupling, motor), part="motor hub")]
    if actuator_start > motor_end:
        body = element_radius(coupling)
        steps.append(Step(start=motor_end, stop=actuator_start, radius=body, part=BODY))
    steps.append(Step(start=actuator_start, stop=stop, radius=hub_radius(coupling, actuator), part="actuator hub"))
    heads: list[Head] = []
    assumptions: list[str] = []
    for side, hub in (("motor", motor), ("actuator", actuator)):
        for position, screw in enumerate(hub.screws, start=1):
            what = f"{side} hub screw {position}"
            if screw.direction != ACROSS:
                # The job's rules keep all other heads of flange screws within the hub.
                if stands_out(hub, screw):
                    ends = (
                        (motor_end, start + screw.station)
                        if side == "motor"
                        else (stop - screw.station, actuator_start)
                    )
                    swept_by = abs(screw.offset) + head_radius(screw)
                    steps.append(Step(start=ends[0], stop=ends[1], radius=swept_by, part=f"{what}'s head"))
                continue
            if screw.head_end is None:
                assumptions.append(f"{what}: head taken as flush with the hub's outside diameter (head_end not given)")
            station = start + screw.station if side == "motor" else stop - screw.station
            head = Head(
                station=station,
                radius=head_radius(screw),
                offset=abs(screw.offset),
                height=abs(outer_end(screw, hub_radius(coupling, hub))),
                part=f"{what}'s {'end' if screw.kind == 'set screw' else 'head'}",
            )
            if screw_stands_out(coupling, hub, screw):
                heads.append(head)
    return Swept(steps=tuple(steps), heads=tuple(heads), assumptions=tuple(assumptions))
