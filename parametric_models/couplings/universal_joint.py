"""Universal joints: two yokes on a cross; a double joint has two crosses and a middle piece between them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from fitcheck.errors import UsageError
from parametric_models.couplings.base import METAL_COLOUR, SCREW_COLOUR, Body, Coupling, Given, rest_for_middle
from parametric_models.couplings.defaults import hub_pair
from parametric_models.couplings.limits import LEAST_WALL, within
from parametric_models.couplings.profile import Crossing, Piece, Straight

if TYPE_CHECKING:
    import cadquery as cq


@dataclass(frozen=True, kw_only=True)
class UniversalJoint(Coupling):
    """A universal joint, straight; lengths mm. The middle is everything between the hubs' cylinders: arms, crosses.

    Attributes:
        joints: 1 (single) or 2 (double).
        arm_reach: distance from the base of a yoke's arms to the middle of its cross.
        arm_width: width of the arms; their ends are round, of half this radius about the pin.
        arm_gap: distance between the two arms of a yoke.
        pin_diameter: diameter of the cross' pins.
        pin_length: length over a pair of pins.
        cross_width: side of the cross' block.
        yoke_angle: shaft angle of the motor hub's arms, degrees; the yoke facing them is turned by a quarter.
        cross_material: material of the crosses.
    """

    family: ClassVar[str] = "universal joint"
    joints: int = 1
    arm_reach: float
    arm_width: float
    arm_gap: float
    pin_diameter: float
    pin_length: float
    cross_width: float
    yoke_angle: float = 0.0
    cross_material: str = "steel"

    @property
    def subject(self) -> str:
        """What an error about this coupling begins with."""
        return f"{'double ' if self.joints == 2 else ''}universal joint"

    @property
    def body_length(self) -> float:
        """Length of the uncut part of a double joint's middle piece, mm; 0 for a single joint."""
        return self.middle_length - 4 * self.arm_reach if self.joints == 2 else 0.0

    @property
    def pivots(self) -> tuple[float, ...]:
        """Stations of the middles of the crosses, mm."""
        start, end = self.middle
        return (start + self.arm_reach,) if self.joints == 1 else (start + self.arm_reach, end - self.arm_reach)

    def check(self) -> None:
        """Refuses dimensions that cannot be built together; raises `UsageError`."""
        if self.joints not in (1, 2):
            raise UsageError(f"{self.subject}: joints {self.joints} cannot be built; 1 (single) or 2 (double) works")
        across = min(self.outside_diameter, self.motor.outside_diameter, self.actuator.outside_diameter)
        within(self.subject, "arm_gap", self.arm_gap, 0.5, across - 4 * LEAST_WALL,
               f"two arms stand within outside diameter {across:g} mm")  # fmt: skip
        # the arms of facing yokes pass between each other
        within(self.subject, "arm_width", self.arm_width, self.pin_diameter + 2 * LEAST_WALL, self.arm_gap,
               "an arm surrounds its pin, and passes between the arms of the facing yoke")  # fmt: skip
        within(self.subject, "pin_diameter", self.pin_diameter, 0.3, self.cross_width, "the pins stand on the cross")
        within(self.subject, "cross_width", self.cross_width, 0.3, self.arm_gap, "the cross lies between the arms")
        most = 2 * ((across / 2) ** 2 - (self.pin_diameter / 2) ** 2) ** 0.5
        within(self.subject, "pin_length", self.pin_length, self.arm_gap, most,
               "the pins reach into the arms, and stay within the outside diameter")  # fmt: skip
        within(self.subject, "arm_reach", self.arm_reach, self.arm_width / 2, float("inf"),
               "the round ends of the arms clear the base of the facing yoke")  # fmt: skip
        if self.joints == 2:
            within(self.subject, "body_length", self.body_length, LEAST_WALL, float("inf"),
                   "the middle piece joins two pairs of arms")  # fmt: skip
        else:
            within(self.subject, "middle_length", self.middle_length, 2 * self.arm_reach - 1e-6,
                   2 * self.arm_reach + 1e-6, "the middle is twice the arms' reach")  # fmt: skip

    def middle_pieces(self) -> tuple[Piece, ...]:
        """The arms of facing yokes pass each other, so that some arm reaches the outside diameter all the way."""
        start, end = self.middle
        radius, tip = self.outside_diameter / 2, self.arm_width / 2
        first, last = self.motor.outside_diameter / 2, self.actuator.outside_diameter / 2
        pieces: list[Piece] = [
            Straight(start=start, end=self.pivots[0] + tip, start_radius=first, end_radius=first),
            Straight(start=self.pivots[-1] - tip, end=end, start_radius=last, end_radius=last),
        ]
        if self.joints == 2:
            pieces.append(
                Straight(start=self.pivots[0] - tip, end=self.pivots[1] + tip, start_radius=radius, end_radius=radius)
            )
        pieces += [
            Crossing(station=pivot, offset=0.0, across=self.pin_diameter / 2, reach=self.pin_length / 2)
            for pivot in self.pivots
        ]
        return tuple(pieces)

    def bodies(self) -> tuple[Body, ...]:
        """Two hubs with yokes, the crosses, the middle piece of a double joint, the screws; loads the CAD kernel."""
        from parametric_models.couplings import hub_solids, shapes

        motor_seat, actuator_seat = self.seats
        start, end = self.middle
        first, last = self.pivots[0], self.pivots[-1]
        # each cross turns the axis of the next yoke by a quarter; the middle piece has both of its yokes alike
        far_turn = 90.0 if self.joints == 1 else 0.0
        bodies: list[Body] = []
        yokes = ((self.motor, motor_seat, start, first, 0.0), (self.actuator, actuator_seat, end, last, far_turn))
        for hub, seat, base, pivot, turn in yokes:
            arms = self._arms(base, pivot, hub.outside_diameter, self.yoke_angle + turn)
            shape = shapes.fused(hub_solids.hub_blank(hub, seat), *arms).clean()
            bodies += hub_solids.hub_bodies(shape, hub, seat, hub.name, self.hub_material, METAL_COLOUR)
        if self.joints == 2:
            low, high = first + self.arm_reach, last - self.arm_reach
            arms = [
                arm
                for base, pivot in ((low, first), (high, last))
                for arm in self._arms(base, pivot, self.outside_diameter, self.yoke_angle + 90.0)
            ]
            middle = shapes.fused(shapes.cylinder(low, high, self.outside_diameter), *arms).clean()
            solid = shapes.one_solid(middle, f"{self.subject}, middle piece")
            bodies.append(
                Body(name="middle piece", group=None, shape=solid, material=self.hub_material, colour=METAL_COLOUR)
            )
        for index, pivot in enumerate(self.pivots, start=1):
            name = "cross" if self.joints == 1 else f"cross {index}"
            cross = self._cross(pivot)
            bodies.append(Body(name=name, group=None, shape=cross, material=self.cross_material, colour=SCREW_COLOUR))
        return tuple(bodies)

    def _arms(self, base: float, pivot: float, diameter: float, angle: float) -> list[cq.Solid]:
        """Two arms with round ends, from a base station past the pivot, bored for the pins."""
        from parametric_models.couplings import shapes

        inner, outer = self.arm_gap / 2, diameter
        outline = shapes.eye_outline(base, pivot, self.arm_width)
        eye = shapes.circle_outline(pivot, self.pin_diameter)
        prisms = [shapes.extruded_along(outline, [eye], ends, angle) for ends in ((-outer, -inner), (inner, outer))]
        tip = (1 if pivot > base else -1) * self.arm_width / 2
        around = shapes.cylinder(min(base, pivot + tip), max(base, pivot + tip), diameter)
        return list(around.intersect(*prisms).Solids())

    def _cross(self, pivot: float) -> cq.Solid:
        from parametric_models.couplings import shapes

        half, pin = self.cross_width / 2, self.pin_length / 2
        height = max(half, self.pin_diameter / 2)
        block = shapes.block((-half, half), (-half, half), (pivot - height, pivot + height), self.yoke_angle)
        pins = [
            shapes.crosswise(-pin, pin, self.pin_diameter, pivot, 0.0, self.yoke_angle + turn) for turn in (0.0, 90.0)
        ]
        return shapes.one_solid(shapes.fused(block, *pins), f"{self.subject}, cross")


def default_universal_joint(
    outside_diameter: float, bores: tuple[float, float], given: Given, joints: int = 1
) -> UniversalJoint:
    """A universal joint; what is not given follows common practice, no source.

    Args:
        outside_diameter: mm.
        bores: of the motor hub and of the actuator hub, mm.
        given: the caller's dimensions.
        joints: 1 for a single, 2 for a double joint.

    Returns:
        The joint.

    Raises:
        UsageError: the dimensions cannot be built together.
    """
    web = float(given.take("web", round(0.1 * outside_diameter, 1)))
    motor, actuator = hub_pair(given, outside_diameter, bores, web=web, relief_cut=True)
    gap = float(given.take("arm_gap", round(0.5 * outside_diameter, 1)))
    width = float(given.take("arm_width", round(0.84 * gap, 2)))
    least = 2 * joints * width / 2
    reach = given.take("arm_reach", None)
    default_reach = round(0.5 * width + 0.12 * outside_diameter, 1) if reach is None else float(reach)
    body = float(given.take("body_length", round(0.25 * outside_diameter, 1))) if joints == 2 else 0.0
    middle = rest_for_middle(given, motor, actuator, 2 * joints * default_reach + body, least)
    if reach is None:
        # a double joint's middle piece takes up length first, and the arms what is left
        room = middle - body if joints == 2 and middle < 4 * default_reach + body else middle
        reach = middle / 2 if joints == 1 else min(default_reach, max(room / 4, width / 2))
    pin = float(given.take("pin_diameter", round(0.42 * width, 1)))
    return UniversalJoint(
        outside_diameter=outside_diameter, middle_length=middle, motor=motor, actuator=actuator, joints=joints,
        arm_reach=float(reach), arm_width=width, arm_gap=gap, pin_diameter=pin,
        pin_length=float(given.take("pin_length", round(0.9 * outside_diameter, 1))),
        cross_width=float(given.take("cross_width", round(0.9 * gap, 1))),
        yoke_angle=float(given.take("yoke_angle", 0.0)), cross_material=given.take("cross_material", "steel"),
        hub_material=given.take("hub_material", "steel"),
    )  # fmt: skip
