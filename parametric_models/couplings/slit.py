"""Slit couplings: one piece of metal whose middle is cut so that it bends, in parallel cuts or along a helix.

Parallel cuts are square to the axis and each leave a bridge on one side; the bridges go round by quarter turns. A
helical cut winds through the whole wall. A single coupling has one group of cuts, a double one two groups with an uncut
middle between them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, NamedTuple

from fitcheck.errors import UsageError
from parametric_models.couplings.base import METAL_COLOUR, Body, Coupling, Given, rest_for_middle
from parametric_models.couplings.defaults import hub_pair
from parametric_models.couplings.limits import LEAST_WALL, within
from parametric_models.couplings.profile import Piece, Straight

if TYPE_CHECKING:
    import cadquery as cq

    from parametric_models.couplings.hubs import Hub

CUTS = ("parallel", "helical")
BRIDGE_ANGLES = (0.0, 180.0, 90.0, 270.0)
"""Shaft angles of the bridges of following parallel cuts: opposite pairs, then turned by a quarter."""


@dataclass(frozen=True, kw_only=True)
class Slit(Coupling):
    """A slit coupling; lengths mm.

    Attributes:
        groups: groups of cuts, 1 (single) or 2 (double).
        cut: "parallel" or "helical".
        cut_width: width of a cut along the axis.
        cuts: parallel cuts in a group; turns of a helical cut in a group (may be a fraction).
        pitch: distance between following cuts, or the pitch of the helix.
        bridge: depth of the bridge that a parallel cut leaves, measured inwards from the outside diameter.
        core_diameter: diameter of the hole through the middle.
        rigid_length: length of the uncut middle between the two groups of a double coupling.
    """

    family: ClassVar[str] = "slit"
    groups: int = 1
    cut: str = "parallel"
    cut_width: float
    cuts: float
    pitch: float
    bridge: float
    core_diameter: float
    rigid_length: float = 0.0

    @property
    def subject(self) -> str:
        """What an error about this coupling begins with."""
        return f"{'double ' if self.groups == 2 else ''}slit coupling"

    @property
    def group_length(self) -> float:
        """Length of one group, from the first cut's beginning to the last cut's end, mm."""
        if self.cut == "helical":
            return self.cuts * self.pitch + self.cut_width
        return (self.cuts - 1) * self.pitch + self.cut_width

    @property
    def group_starts(self) -> tuple[float, ...]:
        """Stations where the groups begin, mm; the groups lie in the middle of the part between the hubs."""
        start, end = self.middle
        whole = self.groups * self.group_length + (self.groups - 1) * self.rigid_length
        first = (start + end - whole) / 2
        return tuple(first + index * (self.group_length + self.rigid_length) for index in range(self.groups))

    def check(self) -> None:
        """Refuses dimensions that cannot be built together; raises `UsageError`."""
        if self.groups not in (1, 2):
            raise UsageError(f"{self.subject}: groups {self.groups} cannot be built; 1 (single) or 2 (double) works")
        if self.cut not in CUTS:
            raise UsageError(f"{self.subject}: cut {self.cut!r} is unknown; there are: {', '.join(CUTS)}")
        radius, core = self.outside_diameter / 2, self.core_diameter / 2
        within(self.subject, "core_diameter", self.core_diameter, 0.1, self.outside_diameter - 4 * LEAST_WALL,
               f"the wall under outside diameter {self.outside_diameter:g} mm")  # fmt: skip
        within(self.subject, "bridge", self.bridge, LEAST_WALL, radius - core,
               f"a bridge lies between core and outside diameter, {radius - core:g} mm apart")  # fmt: skip
        if self.cut == "parallel" and self.cuts != int(self.cuts):
            raise UsageError(
                f"{self.subject}: cuts {self.cuts:g} cannot be built; a whole number of parallel cuts works"
            )
        within(self.subject, "cuts", self.cuts, 1.0, 100.0, "a group has at least one cut, or one turn of the helix")
        within(self.subject, "cut_width", self.cut_width, 0.05, self.pitch - LEAST_WALL,
               f"a wall must stand between cuts {self.pitch:g} mm apart")  # fmt: skip
        room = self.middle_length - 2 * LEAST_WALL - (self.groups - 1) * self.rigid_length
        within(self.subject, "length of a group of cuts", self.group_length, 0.0, room / self.groups,
               f"{self.groups} group(s) must find room between the hubs, {self.middle_length:g} mm apart")  # fmt: skip
        if self.groups == 2:
            within(self.subject, "rigid_length", self.rigid_length, LEAST_WALL, self.middle_length,
                   "a double coupling has an uncut middle between its groups")  # fmt: skip

    def middle_pieces(self) -> tuple[Piece, ...]:
        """The cut part: at every station some material reaches the outside diameter."""
        start, end = self.middle
        radius = self.outside_diameter / 2
        return (Straight(start=start, end=end, start_radius=radius, end_radius=radius),)

    def bodies(self) -> tuple[Body, ...]:
        """The coupling's one body (with the caps of two-piece clamps) and the screws; loads the CAD kernel."""
        from parametric_models.couplings import hub_solids, shapes

        start, end = self.middle
        hubs = list(zip((self.motor, self.actuator), self.seats, strict=True))
        blanks = [hub_solids.hub_blank(hub, seat) for hub, seat in hubs]
        blank = shapes.fused(blanks[0], shapes.cylinder(start, end, self.outside_diameter), blanks[1]).clean()
        tools = [tool for hub, seat in hubs for tool in hub_solids.hub_tools(hub, seat)]
        tools.append(shapes.cylinder(start, end, self.core_diameter))
        if self.cut == "parallel":
            tools += self._parallel_tools()
        solid = shapes.cut(blank, tools)
        if self.cut == "helical":
            from parametric_models.couplings.helix import helical_slots

            solid = shapes.cut(solid, helical_slots(self))
        rest, caps = hub_solids.without_caps(solid, hubs)
        material, colour = self.hub_material, METAL_COLOUR
        body = shapes.one_solid(rest, self.subject)
        bodies = [Body(name="body", group=None, shape=body, material=material, colour=colour)]
        owners = [hub.name for hub, _ in hubs if hub.two_piece]
        bodies += [
            Body(name="cap", group=owner, shape=cap, material=material, colour=colour)
            for owner, cap in zip(owners, caps, strict=True)
        ]
        for hub, seat in hubs:
            bodies += hub_solids.screw_bodies(hub, seat, hub.name)
        return tuple(bodies)

    def _parallel_tools(self) -> list[cq.Solid]:
        from parametric_models.couplings.shapes import block

        radius = self.outside_diameter / 2
        tools = []
        for start in self.group_starts:
            for index in range(int(self.cuts)):
                low = start + index * self.pitch
                angle = BRIDGE_ANGLES[index % 4]
                # everything up to the bridge's chord
                tools.append(
                    block((-2 * radius, radius - self.bridge), (-2 * radius, 2 * radius), (low, low + self.cut_width),
                          angle)
                )  # fmt: skip
        return tools


def default_slit(outside_diameter: float, bores: tuple[float, float], given: Given, groups: int = 1) -> Slit:
    """A slit coupling; what is not given follows common practice, no source.

    Args:
        outside_diameter: mm.
        bores: of the motor hub and of the actuator hub, mm.
        given: the caller's dimensions.
        groups: 1 for a single, 2 for a double coupling.

    Returns:
        The coupling.

    Raises:
        UsageError: the dimensions cannot be built together.
    """
    motor, actuator = hub_pair(given, outside_diameter, bores, relief_cut=True)
    kind = given.take("cut", "parallel")
    usual = _usual_cuts(outside_diameter, kind, groups, _room(given, motor, actuator))
    width = float(given.take("cut_width", usual.width))
    pitch = float(given.take("pitch", round(usual.pitch - usual.width + width, 2)))
    cuts = given.take("cuts", usual.cuts)
    group = ((cuts - 1) if kind == "parallel" else cuts) * pitch + width
    land = max(LEAST_WALL, pitch - width)
    rigid = float(given.take("rigid_length", 0.0 if groups == 1 else usual.rigid))
    needed = groups * group + (groups - 1) * rigid
    middle = rest_for_middle(
        given, motor, actuator, round(math.ceil((needed + 2 * land) * 10) / 10, 1), needed + 2 * LEAST_WALL
    )
    core = float(given.take("core_diameter", max(motor.bore, actuator.bore) + 0.4))
    wall = (outside_diameter - core) / 2
    return Slit(
        outside_diameter=outside_diameter, middle_length=middle, motor=motor, actuator=actuator, groups=groups,
        cut=kind, cut_width=width, cuts=cuts, pitch=pitch, core_diameter=core, rigid_length=rigid,
        bridge=float(given.take("bridge", round(0.6 * wall, 2))),
        hub_material=given.take("hub_material", "aluminium 7075"),
    )  # fmt: skip


class _Cuts(NamedTuple):
    """Dimensions of the cuts: width, pitch, number in a group, uncut length between two groups; mm."""

    width: float
    pitch: float
    cuts: int
    rigid: float


def _room(given: Given, motor: Hub, actuator: Hub) -> float:
    """What a given length leaves for the cuts, mm; without end where none is given."""
    middle = given.peek("middle_length", None)
    if middle is None:
        length = given.peek("length", None)
        if length is None:
            return math.inf
        middle = float(length) - motor.length - actuator.length
    return float(middle) - 2 * LEAST_WALL


def _usual_cuts(outside_diameter: float, kind: str, groups: int, room: float) -> _Cuts:
    """Usual cuts (common practice, no source), made closer, fewer and narrower in turn until the room holds them."""
    most = 4 if kind == "parallel" else 4 - groups
    tries = [(cuts, size) for cuts in range(most, 1, -1) for size in (1.0, 0.9, 0.8, 0.7)]
    tries += [(2, size) for size in (0.6, 0.5, 0.4, 0.3)]
    for cuts, size in tries:
        width = round(max(0.3, 0.02 * outside_diameter * size), 2)
        wall = max(LEAST_WALL, (0.06 if kind == "parallel" else 0.09) * outside_diameter * size)
        pitch = round(wall + width, 2)
        rigid = round(max(LEAST_WALL, 0.15 * outside_diameter * size), 1)
        found = _Cuts(width, pitch, cuts, rigid)
        group = ((cuts - 1) if kind == "parallel" else cuts) * pitch + width
        if groups * group + (groups - 1) * rigid <= room:
            return found
    return found
