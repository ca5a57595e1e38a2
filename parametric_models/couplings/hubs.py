"""Hubs and their screws as plain data: dimensions, what they need to be buildable, and what they sweep.

Lengths mm, angles degrees. A hub's stations are counted from its outer face (where the shaft enters) inwards. A screw
points along u = (cos, sin) of its angle, and its axis lies `offset` to the left of the drive axis, n = (-sin, cos).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from fitcheck.errors import UsageError
from fitcheck.job.model import FASTENINGS
from fitcheck.standards.screws import CapScrew, SetScrew, cap_screw, clearance_hole, set_screw
from parametric_models.couplings.limits import LEAST_WALL, above_zero, within
from parametric_models.couplings.profile import Crossing, Piece, Straight

CAP, SET = "cap screw", "set screw"
COUNTERBORE_PLAY = 0.2
"""Radial room around a screw head in its counterbore, mm; common practice, no source."""


@dataclass(frozen=True, kw_only=True)
class HubScrew:
    """A screw in its hub, as it lies when it is tight.

    Attributes:
        size: thread size, "M3".
        kind: "cap screw" (ISO 4762) or "set screw" (ISO 4026).
        station: distance of its axis from the hub's outer face, mm.
        offset: distance of its axis from the drive axis, mm, to the left of its direction.
        angle: shaft angle of its direction, degrees.
        head_end: distance along its direction from the plane through the drive axis to its outer end, mm.
        length: length below the head of a cap screw, whole length of a set screw, mm.
    """

    size: str
    kind: str
    station: float
    offset: float = 0.0
    angle: float = 0.0
    head_end: float
    length: float

    def __post_init__(self) -> None:
        if self.kind not in (CAP, SET):
            raise UsageError(f"hub screw: kind {self.kind!r} is unknown; there are {CAP!r} and {SET!r}")
        above_zero("hub screw", "length", self.length)

    @property
    def standard(self) -> CapScrew | SetScrew:
        """Its row of the screw table."""
        return cap_screw(self.size) if self.kind == CAP else set_screw(self.size)

    @property
    def thread(self) -> float:
        """Thread diameter, mm."""
        return self.standard.diameter

    @property
    def head_height(self) -> float:
        """Height of the head, mm; 0 for a set screw."""
        row = self.standard
        return row.head_height if isinstance(row, CapScrew) else 0.0

    @property
    def across(self) -> float:
        """Greatest radius, mm: of the head, or of a set screw's thread."""
        row = self.standard
        return (row.head_diameter if isinstance(row, CapScrew) else row.diameter) / 2

    @property
    def seat(self) -> float:
        """Distance along its direction to the face that the head presses on, mm; a set screw's outer end."""
        return self.head_end - self.head_height

    @property
    def tip(self) -> float:
        """Distance along its direction to its inner end, mm; negative beyond the plane through the drive axis."""
        return self.seat - self.length

    @property
    def hole(self) -> float:
        """Diameter of the clearance hole under the head, mm (ISO 273 medium)."""
        return clearance_hole(self.size)


@dataclass(frozen=True, kw_only=True)
class Keyway:
    """A keyway in a hub: width, depth over the bore's surface, and shaft angle of its middle."""

    width: float
    depth: float
    angle: float = 0.0


@dataclass(frozen=True, kw_only=True)
class BoreFlat:
    """A flat in a bore, for a shaft with a flat: height from the flat to the opposite side, and its shaft angle."""

    height: float
    angle: float = 0.0


@dataclass(frozen=True, kw_only=True)
class HubSeat:
    """Where a hub sits in a coupling: station of its outer face, and whether inwards is +1 or -1 along the axis."""

    face: float
    inward: int

    def station(self, depth: float) -> float:
        """Station in the coupling's frame at a distance from the hub's outer face, mm."""
        return self.face + self.inward * depth

    def span(self, first: float, last: float) -> tuple[float, float]:
        """Stations in rising order of two distances from the hub's outer face, mm."""
        ends = self.station(first), self.station(last)
        return min(ends), max(ends)


@dataclass(frozen=True, kw_only=True)
class Hub:
    """One hub.

    Attributes:
        bore: nominal bore diameter, mm.
        bore_length: length of the gripping bore from the outer face, mm.
        outside_diameter: outside diameter, mm.
        length: length from the outer face to the inner face, mm.
        fastening: one of the job's fastenings ("clamp", "clamp two-piece", "set screw", "key with set screw",
            "key with clamp").
        screws: its screws.
        slit_width: width of the clamp's slit, mm; 0 for a hub without clamp.
        slit_length: length of the slit from the outer face, mm.
        relief_cut: whether a cut square to the axis frees the clamp from the rest of the coupling at the slit's end.
        relief_diameter: diameter of the hole that continues the bore inwards; 0 for a closed hub.
        chamfer: chamfer of the outer edge, mm.
        keyway: the keyway, for the fastenings with a key.
        flat: a flat in the bore.
        name: "motor hub" or "actuator hub", for messages.
    """

    bore: float
    bore_length: float
    outside_diameter: float
    length: float
    fastening: str
    screws: tuple[HubScrew, ...]
    slit_width: float = 0.0
    slit_length: float = 0.0
    relief_cut: bool = False
    relief_diameter: float = 0.0
    chamfer: float = 0.0
    keyway: Keyway | None = None
    flat: BoreFlat | None = None
    name: str = "hub"

    def __post_init__(self) -> None:
        check_hub(self)

    @property
    def clamps(self) -> bool:
        """Whether cap screws close a slit on the shaft."""
        return self.fastening in ("clamp", "clamp two-piece", "key with clamp")

    @property
    def two_piece(self) -> bool:
        """Whether the hub has a removable cap."""
        return self.fastening == "clamp two-piece"

    @property
    def keyed(self) -> bool:
        """Whether the hub has a keyway."""
        return self.fastening.startswith("key")

    @property
    def clamp_screws(self) -> tuple[HubScrew, ...]:
        """Its cap screws."""
        return tuple(screw for screw in self.screws if screw.kind == CAP)

    @property
    def clamp_angle(self) -> float:
        """Shaft angle of the clamp screws' direction, degrees; 0 for a hub without clamp."""
        return self.clamp_screws[0].angle if self.clamp_screws else 0.0

    @property
    def slit_angle(self) -> float:
        """Shaft angle of the side that a one-piece clamp's slit opens to, degrees."""
        first = self.clamp_screws[0]
        return first.angle + (90.0 if first.offset >= 0 else -90.0)


def check_hub(hub: Hub) -> None:
    """Refuses a hub that cannot be built; raises `UsageError` with the dimension at fault and the range that works."""
    name = hub.name
    if hub.fastening not in FASTENINGS:
        raise UsageError(f"{name}: fastening {hub.fastening!r} is unknown; there are: {', '.join(FASTENINGS)}")
    for field in ("bore", "bore_length", "outside_diameter", "length"):
        above_zero(name, field, getattr(hub, field))
    radius = hub.outside_diameter / 2
    within(name, "bore", hub.bore, 0.1, hub.outside_diameter - 2 * LEAST_WALL,
           f"outside diameter {hub.outside_diameter:g} mm and walls of {LEAST_WALL} mm")  # fmt: skip
    within(name, "bore_length", hub.bore_length, 0.1, hub.length, f"the hub is {hub.length:g} mm long")
    within(name, "relief_diameter", hub.relief_diameter, 0.0, hub.outside_diameter - 2 * LEAST_WALL,
           f"outside diameter {hub.outside_diameter:g} mm and walls of {LEAST_WALL} mm")  # fmt: skip
    within(name, "chamfer", hub.chamfer, 0.0, min(radius - hub.bore / 2, hub.length) - LEAST_WALL,
           "the chamfer must leave a face around the bore")  # fmt: skip
    if hub.flat is not None:
        within(name, "flat height", hub.flat.height, hub.bore / 2, hub.bore,
               f"a flat lies between the axis and the surface of the {hub.bore:g} mm bore")  # fmt: skip
    if hub.keyed != (hub.keyway is not None):
        raise UsageError(f"{name}: fastening {hub.fastening!r} {'needs a' if hub.keyed else 'has no'} keyway")
    if hub.keyway is not None:
        within(name, "keyway depth", hub.keyway.depth, 0.0, radius - hub.bore / 2 - LEAST_WALL,
               "the keyway must leave a wall under the outside diameter")  # fmt: skip
    _check_screws(hub)


def _check_screws(hub: Hub) -> None:
    caps = [screw for screw in hub.screws if screw.kind == CAP]
    sets = [screw for screw in hub.screws if screw.kind == SET]
    if hub.clamps and not caps:
        raise UsageError(f"{hub.name}: fastening {hub.fastening!r} needs at least one cap screw; it has none")
    if not hub.clamps and (caps or not sets):
        raise UsageError(
            f"{hub.name}: fastening {hub.fastening!r} needs set screws and no cap screws; it has {len(sets)} "
            f"set screws and {len(caps)} cap screws"
        )
    if hub.clamps:
        within(hub.name, "slit_length", hub.slit_length, 0.1, hub.length, f"the hub is {hub.length:g} mm long")
        within(hub.name, "slit_width", hub.slit_width, 0.05, hub.bore, "the slit runs along the bore")
        if not hub.two_piece:
            sides = {round(s.angle + (90.0 if s.offset >= 0 else -90.0), 6) % 360.0 for s in caps}
            if len(sides) > 1:
                raise UsageError(
                    f"{hub.name}: the clamp screws lie on {len(sides)} sides of the bore; a one-piece clamp has one "
                    f"slit, so all offsets must be on one side"
                )
        elif len({round(s.angle, 6) % 360.0 for s in caps}) > 1:
            raise UsageError(f"{hub.name}: the screws of a two-piece clamp must all have one angle, they differ")
    for index, screw in enumerate(hub.screws):
        check = _check_cap_screw if screw.kind == CAP else _check_set_screw
        check(hub, screw, f"screws[{index}]")


def _check_cap_screw(hub: Hub, screw: HubScrew, name: str) -> None:
    radius, offset = hub.outside_diameter / 2, abs(screw.offset)
    within(hub.name, f"{name}.offset", offset, (hub.bore + screw.thread) / 2,
           radius - screw.thread / 2 - 0.05,
           f"the {screw.size} screw passes between bore {hub.bore:g} mm and outside diameter "
           f"{hub.outside_diameter:g} mm")  # fmt: skip
    within(hub.name, f"{name}.head_end", screw.head_end,
           hub.slit_width / 2 + LEAST_WALL + screw.head_height,
           math.sqrt(max(0.0, radius**2 - offset**2)) + screw.head_height,
           "the head must press on the hub, clear of the slit")  # fmt: skip
    within(hub.name, f"{name}.length", screw.length, screw.seat + hub.slit_width / 2 + LEAST_WALL, math.inf,
           "the screw must cross the slit into its thread")  # fmt: skip
    relief = hub.slit_width if hub.relief_cut else 0.0
    within(hub.name, f"{name}.station", screw.station, screw.thread / 2,
           hub.slit_length - relief - screw.thread / 2,
           f"the {screw.size} thread lies within the clamp, whose slit is {hub.slit_length:g} mm long")  # fmt: skip


def _check_set_screw(hub: Hub, screw: HubScrew, name: str) -> None:
    half = screw.thread / 2
    within(hub.name, f"{name}.offset", abs(screw.offset), 0.0, hub.bore / 2, "a set screw presses on the shaft")
    within(hub.name, f"{name}.station", screw.station, half, hub.bore_length - half,
           f"the {screw.size} screw presses within the bore, {hub.bore_length:g} mm long")  # fmt: skip
    contact = set_screw_contact(hub, screw.angle)
    within(hub.name, f"{name}.length", screw.length, 0.1, screw.head_end - contact,
           f"the tip stops at the shaft or its key, {contact:g} mm from the axis")  # fmt: skip


def set_screw_contact(hub: Hub, angle: float) -> float:
    """Distance from the drive axis to what a radial set screw presses on, mm: shaft, flat or bottom of the keyway.

    Args:
        hub: the hub (its bore, flat and keyway).
        angle: shaft angle of the set screw, degrees.
    """
    if hub.flat is not None and abs((angle - hub.flat.angle + 180.0) % 360.0 - 180.0) < 1e-6:
        return hub.flat.height - hub.bore / 2
    return hub.bore / 2


def hub_pieces(hub: Hub, seat: HubSeat) -> tuple[Piece, ...]:
    """The pieces of the profile that a hub and its screws sweep, in the coupling's frame.

    Args:
        hub: the hub.
        seat: where it sits.

    Returns:
        Its chamfer, its cylinder, and for every screw the head and the tip.
    """
    radius, chamfer = hub.outside_diameter / 2, hub.chamfer
    pieces: list[Piece] = []
    if chamfer > 0:
        start, end = seat.span(0.0, chamfer)
        rising = seat.inward > 0
        pieces.append(
            Straight(
                start=start,
                end=end,
                start_radius=radius - chamfer if rising else radius,
                end_radius=radius if rising else radius - chamfer,
            )
        )
    start, end = seat.span(chamfer, hub.length)
    pieces.append(Straight(start=start, end=end, start_radius=radius, end_radius=radius))
    for screw in hub.screws:
        pieces += screw_pieces(screw, seat)
    return tuple(pieces)


def screw_pieces(screw: HubScrew, seat: HubSeat) -> tuple[Crossing, ...]:
    """What a screw sweeps: its head and its shank, or a set screw's whole length."""
    station = seat.station(screw.station)
    shank = Crossing(
        station=station, offset=screw.offset, across=screw.thread / 2, reach=max(abs(screw.seat), abs(screw.tip))
    )
    if screw.kind == SET:
        return (shank,)
    reach = max(abs(screw.head_end), abs(screw.seat))
    return (Crossing(station=station, offset=screw.offset, across=screw.across, reach=reach), shank)
