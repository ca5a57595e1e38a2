"""Jaw couplings: two hubs whose jaws stand between each other, and an elastomer spider that fills the room between."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

from fitcheck.errors import UsageError
from parametric_models.couplings.base import ELASTOMER_COLOUR, METAL_COLOUR, Body, Coupling, Given, rest_for_middle
from parametric_models.couplings.defaults import hub_pair
from parametric_models.couplings.limits import LEAST_WALL, within
from parametric_models.couplings.profile import Piece, Straight


@dataclass(frozen=True, kw_only=True)
class Jaw(Coupling):
    """A jaw coupling; lengths mm. The middle length is the distance between the hubs' faces that the spider sits in.

    Attributes:
        jaws: jaws of one hub.
        jaw_turn: angle that one jaw takes, degrees; the legs of the spider share what the jaws leave.
        jaw_length: length of the jaws over the hubs' inner faces.
        jaw_inside: inside diameter of the jaws.
        jaw_angle: shaft angle of the middle of the motor hub's first jaw, degrees.
        spider_width: width of the spider along the axis.
        spider_diameter: outside diameter of the spider.
        spider_bore: inside diameter of the ring that joins the spider's legs; 0 for none.
        spider_material: material of the spider.
    """

    family: ClassVar[str] = "jaw"
    jaws: int
    jaw_turn: float
    jaw_length: float
    jaw_inside: float
    jaw_angle: float
    spider_width: float
    spider_diameter: float
    spider_bore: float
    spider_material: str = "polyurethane"

    def check(self) -> None:
        """Refuses dimensions that cannot be built together; raises `UsageError`."""
        if self.jaws != int(self.jaws):
            raise UsageError(f"{self.subject}: jaws {self.jaws:g} cannot be built; a whole number works")
        within(self.subject, "jaws", self.jaws, 2, 12, "jaws of one hub")
        within(self.subject, "jaw_turn", self.jaw_turn, 1.0, 180.0 / self.jaws - 1.0,
               f"{2 * self.jaws} jaws (degrees) and as many legs share one turn")  # fmt: skip
        # jaws that do not overlap would leave a ring of stations where only the spider is left
        within(
            self.subject,
            "jaw_length",
            self.jaw_length,
            self.middle_length / 2,
            self.middle_length,
            f"the jaws overlap between the hubs, {self.middle_length:g} mm apart, and stop at the other hub",
        )
        least = min(self.motor.outside_diameter, self.actuator.outside_diameter)
        within(self.subject, "jaw_inside", self.jaw_inside, 1.0, least - 2 * LEAST_WALL, "the jaws stand on the hubs")
        within(
            self.subject, "spider_width", self.spider_width, 0.1, self.middle_length, "the spider lies between the hubs"
        )
        within(self.subject, "spider_diameter", self.spider_diameter, self.jaw_inside + 0.1, self.outside_diameter,
               "the legs lie between the jaws")  # fmt: skip
        within(self.subject, "spider_bore", self.spider_bore, 0.0, self.jaw_inside - 2 * LEAST_WALL,
               "a ring within the jaws joins the legs")  # fmt: skip

    def middle_pieces(self) -> tuple[Piece, ...]:
        """The jaws of both hubs, and the spider."""
        start, end = self.middle
        first, last = self.motor.outside_diameter / 2, self.actuator.outside_diameter / 2
        spider, play = self.spider_diameter / 2, (self.middle_length - self.spider_width) / 2
        return (
            Straight(start=start, end=start + self.jaw_length, start_radius=first, end_radius=first),
            Straight(start=start + play, end=end - play, start_radius=spider, end_radius=spider),
            Straight(start=end - self.jaw_length, end=end, start_radius=last, end_radius=last),
        )

    def bodies(self) -> tuple[Body, ...]:
        """Two hubs, the spider, and the screws; loads the CAD kernel."""
        from parametric_models.couplings import hub_solids, shapes

        start, end = self.middle
        pitch = 360.0 / self.jaws
        bodies: list[Body] = []
        spans = ((start, start + self.jaw_length), (end - self.jaw_length, end))
        inner = self.jaw_inside / 2
        for hub, seat, span, turn in zip((self.motor, self.actuator), self.seats, spans, (0.0, pitch / 2), strict=True):
            outer = hub.outside_diameter / 2
            section = [(inner, span[0]), (outer, span[0]), (outer, span[1]), (inner, span[1])]
            jaw = shapes.revolved(section, self.jaw_turn, self.jaw_angle + turn - self.jaw_turn / 2)
            jaws = [shapes.turned(jaw, index * pitch) for index in range(self.jaws)]
            shape = shapes.fused(hub_solids.hub_blank(hub, seat), *jaws)
            bodies += hub_solids.hub_bodies(shape, hub, seat, hub.name, self.hub_material, METAL_COLOUR)
        bodies.append(
            Body(
                name="spider", group=None, shape=self._spider(), material=self.spider_material, colour=ELASTOMER_COLOUR
            )
        )
        return tuple(bodies)

    def _spider(self) -> object:
        from parametric_models.couplings import shapes

        start, end = self.middle
        play = (self.middle_length - self.spider_width) / 2
        low, high = start + play, end - play
        inner, outer, core = self.jaw_inside / 2, self.spider_diameter / 2, self.spider_bore / 2
        turn = 180.0 / self.jaws - self.jaw_turn
        # a leg begins a little inside the ring, so that both join over a volume and not over a face alone
        root = max(core, 0.98 * inner)
        leg = shapes.revolved(
            [(root, low), (outer, low), (outer, high), (root, high)], turn, self.jaw_angle + self.jaw_turn / 2
        )
        legs = [shapes.turned(leg, index * 180.0 / self.jaws) for index in range(2 * self.jaws)]
        ring = shapes.ring(low, high, 2 * inner, 2 * core) if core > 0 else shapes.cylinder(low, high, 2 * inner)
        return shapes.one_solid(shapes.fused(ring, *legs).clean(), f"{self.subject}, spider")


def default_jaw(outside_diameter: float, bores: tuple[float, float], given: Given) -> Jaw:
    """A jaw coupling; what is not given follows common practice, no source.

    Args:
        outside_diameter: mm.
        bores: of the motor hub and of the actuator hub, mm.
        given: the caller's dimensions.

    Returns:
        The coupling.

    Raises:
        UsageError: the dimensions cannot be built together.
    """
    motor, actuator = hub_pair(given, outside_diameter, bores, cap_web=round(0.08 * outside_diameter, 1))
    middle = rest_for_middle(given, motor, actuator, round(0.38 * outside_diameter, 1), 4 * LEAST_WALL)
    jaws = given.take("jaws", 3 if outside_diameter > 20 else 2)
    inside = float(given.take("jaw_inside", round(0.45 * outside_diameter, 1)))
    # a slit that runs into a jaw's middle would be bridged by it: the first jaw stands beside the slit
    slit = motor.slit_angle if motor.clamps and not motor.two_piece else 0.0
    return Jaw(
        outside_diameter=outside_diameter, middle_length=middle, motor=motor, actuator=actuator, jaws=jaws,
        jaw_turn=float(given.take("jaw_turn", round(0.55 * 180.0 / jaws, 3))),
        jaw_length=float(given.take("jaw_length", 0.92 * middle)), jaw_inside=inside,
        jaw_angle=float(given.take("jaw_angle", math.fmod(slit + 90.0 / jaws, 360.0))),
        spider_width=float(given.take("spider_width", 0.88 * middle)),
        spider_diameter=float(given.take("spider_diameter", 0.98 * outside_diameter)),
        spider_bore=float(given.take("spider_bore", round(0.22 * outside_diameter, 1))),
        spider_material=given.take("spider_material", "polyurethane"),
        hub_material=given.take("hub_material", "aluminium 7075"),
    )  # fmt: skip
