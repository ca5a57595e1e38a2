"""Oldham couplings: two hubs with a tongue each, and a disc between them that slides on both."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from parametric_models.couplings.base import METAL_COLOUR, PLASTIC_COLOUR, Body, Coupling, Given, rest_for_middle
from parametric_models.couplings.defaults import hub_pair
from parametric_models.couplings.limits import LEAST_WALL, within
from parametric_models.couplings.profile import Piece, Straight


@dataclass(frozen=True, kw_only=True)
class Oldham(Coupling):
    """An Oldham coupling; lengths mm.

    Attributes:
        disc_diameter: outside diameter of the disc, at most the hubs'.
        disc_thickness: thickness of the disc; on both sides of it the hubs stand off by the same gap.
        disc_bore: diameter of the hole through the disc; 0 for none.
        tongue_width: width of the tongues and the slots, equal (no play).
        tongue_height: height of the tongues over the hubs' inner faces.
        slot_depth: depth of the slots in the disc.
        tongue_angle: shaft angle along the motor hub's tongue, degrees; the actuator hub's is a quarter further.
        disc_material: material of the disc.
    """

    family: ClassVar[str] = "oldham"
    disc_diameter: float
    disc_thickness: float
    disc_bore: float
    tongue_width: float
    tongue_height: float
    slot_depth: float
    tongue_angle: float = 0.0
    disc_material: str = "acetal"

    @property
    def gap(self) -> float:
        """Distance from each hub's inner face to the disc, mm."""
        return (self.middle_length - self.disc_thickness) / 2

    def check(self) -> None:
        """Refuses dimensions that cannot be built together; raises `UsageError`."""
        hubs = min(self.motor.outside_diameter, self.actuator.outside_diameter)
        within(self.subject, "disc_thickness", self.disc_thickness, 2 * LEAST_WALL, self.middle_length,
               f"the disc lies between the hubs, {self.middle_length:g} mm apart")  # fmt: skip
        within(self.subject, "slot_depth", self.slot_depth, 0.1, (self.disc_thickness - LEAST_WALL) / 2,
               "a wall must stand between the two slots of the disc")  # fmt: skip
        within(self.subject, "tongue_height", self.tongue_height, self.gap + 0.1, self.gap + self.slot_depth,
               "the tongue reaches into its slot, and not through its floor")  # fmt: skip
        within(self.subject, "tongue_width", self.tongue_width, 0.2, hubs / 2, "the tongue crosses the hub's face")
        within(self.subject, "disc_diameter", self.disc_diameter, 2 * self.tongue_width, self.outside_diameter,
               "the disc holds two crossed slots, and stays within the outside diameter")  # fmt: skip
        within(self.subject, "disc_bore", self.disc_bore, 0.0, self.disc_diameter - self.tongue_width - 2 * LEAST_WALL,
               "the slots need flanks")  # fmt: skip
        for hub in (self.motor, self.actuator):
            within(self.subject, f"{hub.name} bore and relief_diameter", max(hub.bore, hub.relief_diameter), 0.0,
                   hub.outside_diameter - 2 * self.tongue_width / 2 - 2 * LEAST_WALL,
                   "the tongue needs length on both sides of the bore")  # fmt: skip

    def middle_pieces(self) -> tuple[Piece, ...]:
        """The disc, and the tongues over their whole height."""
        start, end = self.middle
        disc, first, last = self.disc_diameter / 2, self.motor.outside_diameter / 2, self.actuator.outside_diameter / 2
        height, gap = self.tongue_height, self.gap
        return (
            Straight(start=start, end=start + height, start_radius=first, end_radius=first),
            Straight(start=start + gap, end=end - gap, start_radius=disc, end_radius=disc),
            Straight(start=end - height, end=end, start_radius=last, end_radius=last),
        )

    def bodies(self) -> tuple[Body, ...]:
        """Two hubs, the disc, and the screws; loads the CAD kernel."""
        from parametric_models.couplings import hub_solids, shapes

        start, end = self.middle
        half, far = self.tongue_width / 2, self.outside_diameter
        bodies: list[Body] = []
        tongues = ((start, start + self.tongue_height), (end - self.tongue_height, end))
        for hub, seat, span, turn in zip((self.motor, self.actuator), self.seats, tongues, (0.0, 90.0), strict=True):
            bar = shapes.block((-far, far), (-half, half), span, self.tongue_angle + turn)
            tongue = bar.intersect(shapes.cylinder(*span, hub.outside_diameter))
            shape = shapes.fused(hub_solids.hub_blank(hub, seat), tongue)
            depth = hub.length + self.tongue_height + hub_solids.BEYOND
            if hub.relief_diameter == 0 or hub.relief_diameter < self.tongue_width:
                depth = hub.length
            bodies += hub_solids.hub_bodies(shape, hub, seat, hub.name, self.hub_material, METAL_COLOUR, depth)
        low, high = start + self.gap, end - self.gap
        slots = [
            shapes.block((-far, far), (-half, half), (low - 1.0, low + self.slot_depth), self.tongue_angle),
            shapes.block((-far, far), (-half, half), (high - self.slot_depth, high + 1.0), self.tongue_angle + 90.0),
        ]
        if self.disc_bore > 0:
            slots.append(shapes.cylinder(low - 1.0, high + 1.0, self.disc_bore))
        disc = shapes.one_solid(
            shapes.cut(shapes.cylinder(low, high, self.disc_diameter), slots), f"{self.subject}, disc"
        )
        bodies.append(Body(name="disc", group=None, shape=disc, material=self.disc_material, colour=PLASTIC_COLOUR))
        return tuple(bodies)


def default_oldham(outside_diameter: float, bores: tuple[float, float], given: Given) -> Oldham:
    """An Oldham coupling; what is not given follows common practice, no source.

    Args:
        outside_diameter: mm.
        bores: of the motor hub and of the actuator hub, mm.
        given: the caller's dimensions.

    Returns:
        The coupling.

    Raises:
        UsageError: the dimensions cannot be built together.
    """
    web = float(given.take("web", round(0.06 * outside_diameter, 1)))
    motor, actuator = hub_pair(given, outside_diameter, bores, web=web, relief_cut=True)
    gap = float(given.take("gap", 0.1))
    thickness = given.take("disc_thickness", None)
    default = round(0.3 * outside_diameter, 1) if thickness is None else float(thickness)
    middle = rest_for_middle(given, motor, actuator, default + 2 * gap, 2 * LEAST_WALL + 2 * gap)
    thickness = middle - 2 * gap if thickness is None else float(thickness)
    gap = (middle - thickness) / 2
    depth = float(given.take("slot_depth", min(0.42 * thickness, (thickness - LEAST_WALL) / 2)))
    return Oldham(
        outside_diameter=outside_diameter, middle_length=middle, motor=motor, actuator=actuator,
        disc_diameter=float(given.take("disc_diameter", outside_diameter)), disc_thickness=thickness, slot_depth=depth,
        disc_bore=float(given.take("disc_bore", round(0.25 * outside_diameter, 1))),
        tongue_width=float(given.take("tongue_width", round(0.22 * outside_diameter, 1))),
        tongue_height=float(given.take("tongue_height", gap + 0.95 * depth)),
        tongue_angle=float(given.take("tongue_angle", 0.0)), disc_material=given.take("disc_material", "acetal"),
        hub_material=given.take("hub_material", "aluminium 7075"),
    )  # fmt: skip
