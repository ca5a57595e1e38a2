"""Disc couplings: thin metal discs that are fixed by turns to one side and to the other, and bend between.

A single coupling has one pack of discs between its hubs; a double one has a pack at both ends of a spacer. Each pack
has screws (or rivets) on one circle; every other one holds it on to the part before it, the rest on to the part behind.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

from fitcheck.errors import UsageError
from fitcheck.standards.screws import cap_screw, clearance_hole
from parametric_models.couplings.base import Body, Coupling, Given, rest_for_middle
from parametric_models.couplings.default_screws import SCREW_SIZES, screw_diameter
from parametric_models.couplings.defaults import hub_pair
from parametric_models.couplings.limits import LEAST_WALL, within
from parametric_models.couplings.profile import Piece, Straight

FIXINGS = ("screw", "rivet")


@dataclass(frozen=True, kw_only=True)
class Disc(Coupling):
    """A disc coupling; lengths mm. The middle lies between the hubs' flange faces, the flanges are part of the hubs.

    Attributes:
        packs: 1 (single) or 2 (double, with a spacer).
        fixing: "screw" (cap screws, ISO 4762) or "rivet" (flat heads of half the screw head's height).
        fixings: screws or rivets of one pack, an even number; every other one holds on to either side.
        screw_size: thread size, also the shank of the rivets.
        screw_circle: diameter of the circle that they lie on.
        pack_thickness: thickness of a pack of discs.
        pack_diameter: outside diameter of the discs.
        pack_bore: inside diameter of the discs.
        washer_thickness: height of the washers that hold the pack off the flanges.
        washer_diameter: outside diameter of the washers.
        thread_depth: how deep screws and rivets reach into the part that they hold on to.
        flange_thickness: axial length free for threads and head pockets in the hubs' flanges.
        spacer_bore: diameter of the hole through the spacer of a double coupling.
        spacer_diameter: outside diameter of the spacer between its own flanges, which hold the screws and are as wide
            as the coupling; 0 for a spacer that is as wide all along.
        fixing_angle: shaft angle of the first screw, degrees.
    """

    family: ClassVar[str] = "disc"
    packs: int = 1
    fixing: str = "screw"
    fixings: int
    screw_size: str
    screw_circle: float
    pack_thickness: float
    pack_diameter: float
    pack_bore: float
    washer_thickness: float
    washer_diameter: float
    thread_depth: float
    flange_thickness: float
    spacer_bore: float = 0.0
    spacer_diameter: float = 0.0
    fixing_angle: float = 45.0
    disc_material: str = "stainless steel"

    @property
    def subject(self) -> str:
        """What an error about this coupling begins with."""
        return f"{'double ' if self.packs == 2 else ''}disc coupling"

    @property
    def head(self) -> tuple[float, float]:
        """Diameter and height of the heads of screws or rivets, mm."""
        row = cap_screw(self.screw_size)
        return row.head_diameter, row.head_height if self.fixing == "screw" else row.head_height / 2

    @property
    def stack(self) -> float:
        """Axial length of a pack with its washers on both sides, mm."""
        return self.pack_thickness + 2 * self.washer_thickness

    @property
    def spacer_length(self) -> float:
        """Length of the spacer of a double coupling, mm; 0 for a single one."""
        return self.middle_length - 2 * self.stack if self.packs == 2 else 0.0

    @property
    def waist(self) -> tuple[float, float] | None:
        """Stations between which the spacer of a double coupling is narrower than its flanges; None where nowhere."""
        if self.packs == 1 or self.spacer_diameter == 0.0:
            return None
        start, end = self.middle
        flange = self.stack + max(self.thread_depth, self.pocket_depth) + LEAST_WALL
        return start + flange, end - flange

    @property
    def pocket_depth(self) -> float:
        """How deep a head sinks into the part opposite, with 0.2 mm to spare, mm; 0 where the gap holds it."""
        return max(0.0, self.head[1] - self.washer_thickness + 0.2)

    @property
    def pocket_diameter(self) -> float:
        """Diameter of the pockets for the heads, mm: as much play as the disc's misalignment may need."""
        return self.head[0] + 0.6

    @property
    def stack_starts(self) -> tuple[float, ...]:
        """Stations where the packs with their washers begin, mm."""
        start, end = self.middle
        return (start,) if self.packs == 1 else (start, end - self.stack)

    def check(self) -> None:
        """Refuses dimensions that cannot be built together; raises `UsageError`."""
        if self.packs not in (1, 2):
            raise UsageError(f"{self.subject}: packs {self.packs} cannot be built; 1 (single) or 2 (double) works")
        if self.fixing not in FIXINGS:
            raise UsageError(f"{self.subject}: fixing {self.fixing!r} is unknown; there are: {', '.join(FIXINGS)}")
        if self.fixings not in (4, 6, 8, 10, 12):
            raise UsageError(f"{self.subject}: fixings {self.fixings} cannot be built; 4, 6, 8, 10 or 12 works")
        hubs = min(self.motor.outside_diameter, self.actuator.outside_diameter)
        widest = max(max(hub.relief_diameter, hub.bore) for hub in (self.motor, self.actuator))
        pocket = self.pocket_diameter
        within(
            self.subject,
            "screw_circle",
            self.screw_circle,
            widest + pocket + 2 * LEAST_WALL,
            hubs - pocket - 2 * LEAST_WALL,
            f"{self.screw_size} heads find room between bore {widest:g} mm and outside diameter {hubs:g} mm",
        )
        within(self.subject, "pack_diameter", self.pack_diameter, self.screw_circle + screw_diameter(self.screw_size),
               self.outside_diameter, "the discs surround their screws, within the outside diameter")  # fmt: skip
        within(
            self.subject,
            "pack_bore",
            self.pack_bore,
            0.1,
            self.screw_circle - clearance_hole(self.screw_size) - 0.6,
            "the discs surround their screws",
        )
        within(self.subject, "washer_diameter", self.washer_diameter, clearance_hole(self.screw_size) + 0.2,
               self.outside_diameter - self.screw_circle, "the washers stay within the outside diameter")  # fmt: skip
        most = self.flange_thickness - LEAST_WALL
        for name, value in (("thread_depth", self.thread_depth), ("depth of the head pockets", self.pocket_depth)):
            within(self.subject, name, value, 0.0, most, f"the flange is {self.flange_thickness:g} mm thick")
        for hub in (self.motor, self.actuator):
            taken = hub.slit_length if hub.clamps else max((s.station + s.thread / 2 for s in hub.screws), default=0.0)
            within(self.subject, f"{hub.name} length", hub.length, taken + self.flange_thickness, float("inf"),
                   f"slit and screws ({taken:g} mm) lie before the flange ({self.flange_thickness:g} mm)")  # fmt: skip
        if self.packs == 2:
            within(self.subject, "spacer_length", self.spacer_length, 2 * self.thread_depth + LEAST_WALL, float("inf"),
                   "the spacer holds screws from both ends")  # fmt: skip
            within(self.subject, "spacer_bore", self.spacer_bore, 0.0, self.screw_circle - pocket - 2 * LEAST_WALL,
                   "the spacer holds the screws")  # fmt: skip
            if self.waist is not None:
                within(self.subject, "spacer_diameter", self.spacer_diameter, self.spacer_bore + 2 * LEAST_WALL,
                       self.outside_diameter, "a tube about its bore, within the outside diameter")  # fmt: skip
                low, high = self.waist
                within(self.subject, "spacer_length", self.spacer_length, self.spacer_length - (high - low) + 0.1,
                       float("inf"), "its flanges hold the screws, and a narrower part lies between them")  # fmt: skip
        else:
            within(self.subject, "middle_length", self.middle_length, self.stack - 1e-6, self.stack + 1e-6,
                   "a single pack with its washers fills the middle")  # fmt: skip

    def middle_pieces(self) -> tuple[Piece, ...]:
        """Packs, washers, heads, and the spacer."""
        pieces: list[Piece] = []
        circle = self.screw_circle / 2
        for start in self.stack_starts:
            end, low = start + self.stack, start + self.washer_thickness
            high = low + self.pack_thickness
            washer, head = circle + self.washer_diameter / 2, circle + self.head[0] / 2
            reach = min(self.head[1], self.washer_thickness)
            pieces += [
                Straight(start=start, end=low, start_radius=washer, end_radius=washer),
                Straight(start=low, end=high, start_radius=self.pack_diameter / 2, end_radius=self.pack_diameter / 2),
                Straight(start=high, end=end, start_radius=washer, end_radius=washer),
                Straight(start=low - reach, end=low, start_radius=head, end_radius=head),
                Straight(start=high, end=high + reach, start_radius=head, end_radius=head),
            ]
        if self.packs == 2:
            start, end = self.middle
            radius, narrow = self.outside_diameter / 2, self.spacer_diameter / 2
            low, high = start + self.stack, end - self.stack
            stretches = [(low, high, radius)]
            if self.waist is not None:
                first, last = self.waist
                stretches = [(low, first, radius), (first, last, narrow), (last, high, radius)]
            pieces += [Straight(start=a, end=b, start_radius=r, end_radius=r) for a, b, r in stretches]
        return tuple(pieces)

    def bodies(self) -> tuple[Body, ...]:
        """Two hubs, the packs with their washers and screws, the spacer, the hubs' screws; loads the CAD kernel."""
        from parametric_models.couplings.disc_solids import disc_bodies

        return disc_bodies(self)


def default_disc(outside_diameter: float, bores: tuple[float, float], given: Given, packs: int = 1) -> Disc:
    """A disc coupling; what is not given follows common practice, no source.

    Args:
        outside_diameter: mm.
        bores: of the motor hub and of the actuator hub, mm.
        given: the caller's dimensions.
        packs: 1 for a single, 2 for a double coupling.

    Returns:
        The coupling.

    Raises:
        UsageError: the dimensions cannot be built together.
    """
    fixing = given.take("fixing", "screw")
    across = float(given.peek("hub_outside_diameter", outside_diameter))
    size = given.take("pack_screw_size", None) or _screw_for(given.subject, min(across, outside_diameter), max(bores))
    row = cap_screw(size)
    pack = float(given.take("pack_thickness", round(max(0.3, 0.02 * outside_diameter), 2)))
    washer = float(given.take("washer_thickness", round(max(0.5, 0.03 * outside_diameter), 1)))
    thread = float(given.take("thread_depth", round(1.2 * row.diameter, 1)))
    pocket = row.head_height * (1.0 if fixing == "screw" else 0.5) - washer + 0.2
    flange = float(given.take("flange_thickness", round(max(thread, pocket) + 0.8, 1)))
    motor, actuator = hub_pair(given, outside_diameter, bores, web=flange, relief_cut=True)
    stack = pack + 2 * washer
    if packs == 1:
        length = given.take("length", None)
        if length is not None:
            # the washers take up what the length leaves beside the discs
            left = float(length) - motor.length - actuator.length
            within(given.subject, "length", float(length), motor.length + actuator.length + pack + 0.2, float("inf"),
                   f"the hubs alone take {motor.length + actuator.length:g} mm")  # fmt: skip
            washer = (left - pack) / 2
        middle = rest_for_middle(given, motor, actuator, pack + 2 * washer)
    else:
        spacer = float(given.take("spacer_length", round(max(0.3 * outside_diameter, 2 * thread + 1.0), 1)))
        middle = rest_for_middle(given, motor, actuator, 2 * stack + spacer, 2 * stack)
    circle = given.take("screw_circle", None)
    hole = max(motor.bore, actuator.bore, motor.relief_diameter, actuator.relief_diameter)
    if circle is None:
        most = min(motor.outside_diameter, actuator.outside_diameter, outside_diameter) - row.head_diameter - 1.2
        circle = max(hole + row.head_diameter + 1.2, most - 0.02 * outside_diameter)
        circle = min(circle, most)
    washer_diameter = float(given.take("washer_diameter", min(1.7 * row.diameter, outside_diameter - circle)))
    core = min(hole, circle - row.head_diameter - 1.2)
    spacer_bore = float(given.take("spacer_bore", core)) if packs == 2 else 0.0
    return Disc(
        outside_diameter=outside_diameter, middle_length=middle, motor=motor, actuator=actuator, packs=packs,
        fixing=fixing, fixings=given.take("fixings", 4 if outside_diameter < 40 else 6), screw_size=size,
        screw_circle=float(circle), pack_thickness=pack, washer_thickness=washer, thread_depth=thread,
        pack_diameter=float(given.take("pack_diameter", outside_diameter)),
        pack_bore=float(given.take("pack_bore", max(0.5 * circle, circle - 2.6 * row.diameter))),
        washer_diameter=washer_diameter, flange_thickness=flange,
        spacer_bore=spacer_bore,
        spacer_diameter=float(given.take("spacer_diameter", 0.0)) if packs == 2 else 0.0,
        fixing_angle=float(given.take("fixing_angle", 45.0)),
        disc_material=given.take("disc_material", "stainless steel"),
        hub_material=given.take("hub_material", "aluminium 7075"),
    )  # fmt: skip


def _screw_for(subject: str, outside_diameter: float, bore: float) -> str:
    """The largest plausible screw whose head finds room between the bore and the outside diameter."""
    for size in reversed(SCREW_SIZES):
        if screw_diameter(size) <= max(1.6, 0.08 * outside_diameter) and bore <= _largest_bore(size, outside_diameter):
            return size
    most = _largest_bore(SCREW_SIZES[0], outside_diameter)
    why = f"the heads of {SCREW_SIZES[0]} screws at least find room around it, within outside diameter"
    within(subject, "bore", bore, 0.1, most, f"{why} {outside_diameter:g} mm")
    return SCREW_SIZES[0]


def _largest_bore(size: str, outside_diameter: float) -> float:
    """Largest bore that leaves room for the pockets of the screw heads beside its relief, rounded down, mm."""
    room = outside_diameter - 2 * (cap_screw(size).head_diameter + 0.6) - 4 * LEAST_WALL - 0.4
    return math.floor(room * 100) / 100
