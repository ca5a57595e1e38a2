"""Bellows couplings: a thin-walled metal bellows between two hubs, its end tubes on a boss of each hub.

The middle line of the wall is made of quarter and half circles of one radius, joined by flanks square to the axis.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

from fitcheck.errors import UsageError
from parametric_models.couplings.base import METAL_COLOUR, SPRING_COLOUR, Body, Coupling, Given, rest_for_middle
from parametric_models.couplings.defaults import hub_pair
from parametric_models.couplings.limits import LEAST_WALL, within
from parametric_models.couplings.profile import Arc, Piece, Straight


@dataclass(frozen=True, kw_only=True)
class Bellows(Coupling):
    """A bellows coupling; lengths mm. The middle length is the length of the bellows with its end tubes.

    Attributes:
        convolutions: number of crowns.
        wall: thickness of the bellows' wall.
        crown_diameter: greatest outside diameter of the bellows.
        root_diameter: least inside diameter of the bellows, that of its end tubes and the hubs' bosses.
        tube_length: length of each end tube, and of the boss that it sits on.
        bellows_material: material of the bellows.
    """

    family: ClassVar[str] = "bellows"
    convolutions: int
    wall: float
    crown_diameter: float
    root_diameter: float
    tube_length: float
    bellows_material: str = "stainless steel"

    @property
    def pitch(self) -> float:
        """Length of one convolution, mm."""
        return (self.middle_length - 2 * self.tube_length) / self.convolutions

    @property
    def curve(self) -> float:
        """Radius of the wall's middle line at crowns and roots, mm."""
        return self.pitch / 4

    def check(self) -> None:
        """Refuses dimensions that cannot be built together; raises `UsageError`."""
        if self.convolutions != int(self.convolutions):
            raise UsageError(
                f"{self.subject}: convolutions {self.convolutions:g} cannot be built; a whole number works"
            )
        within(self.subject, "convolutions", self.convolutions, 1, 50, "a bellows has at least one crown")
        within(self.subject, "tube_length", self.tube_length, 0.2, self.middle_length / 2 - 0.1,
               f"the bellows is {self.middle_length:g} mm long")  # fmt: skip
        within(self.subject, "wall", self.wall, 0.02, 1.6 * self.curve,
               f"a convolution {self.pitch:.3g} mm long can be folded from thin sheet only")  # fmt: skip
        within(self.subject, "crown_diameter", self.crown_diameter, self.root_diameter + 2 * self.wall + 4 * self.curve,
               self.outside_diameter, "the bellows stands over its roots, and within the outside diameter")  # fmt: skip
        for hub in (self.motor, self.actuator):
            widest = max(hub.relief_diameter, hub.bore if hub.bore_length == hub.length else 0.0)
            within(
                self.subject,
                f"{hub.name} bore and relief_diameter",
                widest,
                0.0,
                self.root_diameter - 2 * LEAST_WALL,
                f"the boss of {self.root_diameter:g} mm needs a wall",
            )
            within(self.subject, "root_diameter", self.root_diameter + 2 * self.wall, 0.0, hub.outside_diameter,
                   f"the end tube sits on the {hub.name}")  # fmt: skip

    def middle_pieces(self) -> tuple[Piece, ...]:
        """End tubes, crowns, roots and flanks."""
        start, end = self.middle
        half, curve = self.wall / 2, self.curve
        tube, root = self.root_diameter / 2 + self.wall, self.root_diameter / 2 + half + curve
        crown = self.crown_diameter / 2 - half - curve
        begin = start + self.tube_length
        pieces: list[Piece] = [
            Straight(start=start, end=begin, start_radius=tube, end_radius=tube),
            Straight(start=end - self.tube_length, end=end, start_radius=tube, end_radius=tube),
        ]
        for index in range(self.convolutions):
            low = begin + index * self.pitch
            # outside the wall the root is tighter by half the wall, and the crown wider
            outer, inner = curve + half, curve - half
            high = low + 4 * curve
            pieces += [
                Arc(station=low, centre_radius=root, curve=inner, ridge=False, start=low, end=low + inner),
                Arc(
                    station=low + 2 * curve,
                    centre_radius=crown,
                    curve=outer,
                    ridge=True,
                    start=low + inner,
                    end=high - inner,
                ),
                Arc(station=high, centre_radius=root, curve=inner, ridge=False, start=high - inner, end=high),
            ]
        return tuple(pieces)

    def bodies(self) -> tuple[Body, ...]:
        """Two hubs, the bellows, and the screws; loads the CAD kernel."""
        from parametric_models.couplings import hub_solids, shapes
        from parametric_models.couplings.convolutions import bellows_solid

        start, end = self.middle
        bosses = ((start, start + self.tube_length), (end - self.tube_length, end))
        bodies: list[Body] = []
        for hub, seat, span in zip((self.motor, self.actuator), self.seats, bosses, strict=True):
            boss = shapes.cylinder(*span, self.root_diameter)
            shape = shapes.fused(hub_solids.hub_blank(hub, seat), boss)
            bodies += hub_solids.hub_bodies(
                shape, hub, seat, hub.name, self.hub_material, METAL_COLOUR, hub.length + self.tube_length
            )
        bellows = bellows_solid(self)
        bodies.append(
            Body(name="bellows", group=None, shape=bellows, material=self.bellows_material, colour=SPRING_COLOUR)
        )
        return tuple(bodies)


def default_bellows(outside_diameter: float, bores: tuple[float, float], given: Given) -> Bellows:
    """A bellows coupling; what is not given follows common practice, no source.

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
    middle = rest_for_middle(given, motor, actuator, round(0.5 * outside_diameter, 1), 1.0)
    count = given.take("convolutions", 4)
    tube = float(given.take("tube_length", round(0.14 * middle, 2)))
    wall = float(given.take("wall", max(0.08, round(0.006 * outside_diameter, 2))))
    crown = float(given.take("crown_diameter", round(0.97 * outside_diameter, 1)))
    hole = max(motor.relief_diameter, actuator.relief_diameter)
    most = crown - 2 * wall - (middle - 2 * tube) / max(1, count)
    root = max(min(0.66 * outside_diameter, most), hole + 2 * LEAST_WALL)
    return Bellows(
        outside_diameter=outside_diameter, middle_length=middle, motor=motor, actuator=actuator, convolutions=count,
        wall=wall, crown_diameter=crown, root_diameter=float(given.take("root_diameter", math.ceil(root * 100) / 100)),
        tube_length=tube, bellows_material=given.take("bellows_material", "stainless steel"),
        hub_material=given.take("hub_material", "aluminium 7075"),
    )  # fmt: skip
