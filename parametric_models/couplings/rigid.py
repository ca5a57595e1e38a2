"""Rigid couplings: a sleeve that holds both shafts, clamped on one side, split in two halves, or with set screws."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from parametric_models.couplings.base import METAL_COLOUR, Body, Coupling, Given, rest_for_middle
from parametric_models.couplings.defaults import hub_pair
from parametric_models.couplings.hubs import Hub
from parametric_models.couplings.limits import within
from parametric_models.couplings.profile import Piece, Straight


@dataclass(frozen=True, kw_only=True)
class Rigid(Coupling):
    """A rigid coupling: one sleeve, or two half shells where both hubs are two-piece clamps of one angle."""

    family: ClassVar[str] = "rigid"

    def check(self) -> None:
        """Refuses dimensions that cannot be built together; raises `UsageError`."""
        within(self.subject, "middle_length", self.middle_length, 0.0, self.outside_diameter,
               "a sleeve longer than one diameter between its hubs is no coupling")  # fmt: skip

    @property
    def halves(self) -> bool:
        """Whether the sleeve is split along its whole length into two half shells."""
        same = abs((self.motor.clamp_angle - self.actuator.clamp_angle + 180.0) % 360.0 - 180.0) < 1e-6
        whole = all(hub.two_piece and hub.slit_length == hub.length for hub in (self.motor, self.actuator))
        return same and whole and not self.motor.relief_cut and not self.actuator.relief_cut

    def middle_pieces(self) -> tuple[Piece, ...]:
        """The sleeve between the hubs."""
        if self.middle_length == 0:
            return ()
        start, end = self.middle
        radius = self.outside_diameter / 2
        return (Straight(start=start, end=end, start_radius=radius, end_radius=radius),)

    def bodies(self) -> tuple[Body, ...]:
        """The sleeve (or its halves, or the sleeve and the caps) and the screws; loads the CAD kernel."""
        from parametric_models.couplings import hub_solids, shapes

        start, end = self.middle
        hubs = list(zip((self.motor, self.actuator), self.seats, strict=True))
        blanks = [hub_solids.hub_blank(hub, seat) for hub, seat in hubs]
        tools = [tool for hub, seat in hubs for tool in hub_solids.hub_tools(hub, seat)]
        if self.middle_length > 0:
            blanks.append(shapes.cylinder(start, end, self.outside_diameter))
            hole = max(hub.relief_diameter for hub, _ in hubs)
            if hole > 0:
                tools.append(shapes.cylinder(start, end, hole))
            if self.halves:
                half, far = self.motor.slit_width / 2, self.outside_diameter
                tools.append(shapes.block((-half, half), (-far, far), (start, end), self.motor.clamp_angle))
        sleeve = shapes.cut(shapes.fused(*blanks).clean(), tools)
        material, colour = self.hub_material, METAL_COLOUR
        bodies = []
        if self.halves:
            half_shells = sorted(sleeve.Solids(), key=lambda solid: -shapes.along(solid, self.motor.clamp_angle))
            names = ("half with heads", "half with threads")
            bodies = [
                Body(name=name, group=None, shape=shape, material=material, colour=colour)
                for name, shape in zip(names, half_shells, strict=True)
            ]
        else:
            rest, caps = hub_solids.without_caps(sleeve, hubs)
            solid = shapes.one_solid(rest, self.subject)
            bodies = [Body(name="sleeve", group=None, shape=solid, material=material, colour=colour)]
            owners = [hub.name for hub, _ in hubs if hub.two_piece]
            bodies += [
                Body(name="cap", group=owner, shape=cap, material=material, colour=colour)
                for owner, cap in zip(owners, caps, strict=True)
            ]
        for hub, seat in hubs:
            bodies += hub_solids.screw_bodies(hub, seat, hub.name)
        return tuple(bodies)


def default_rigid(outside_diameter: float, bores: tuple[float, float], given: Given) -> Rigid:
    """A rigid coupling; what is not given follows common practice, no source.

    Args:
        outside_diameter: mm.
        bores: of the motor hub and of the actuator hub, mm.
        given: the caller's dimensions.

    Returns:
        The coupling.

    Raises:
        UsageError: the dimensions cannot be built together.
    """
    motor, actuator = hub_pair(given.copy(), outside_diameter, bores)
    # clamps that do not open along one line must be cut free of each other, and need a ring that joins them
    part = motor.clamps and actuator.clamps and _opening(motor) != _opening(actuator)
    part = part or motor.two_piece != actuator.two_piece
    motor, actuator = hub_pair(given, outside_diameter, bores, relief_cut=part)
    middle = rest_for_middle(given, motor, actuator, round(0.1 * outside_diameter, 1) if part else 0.0)
    return Rigid(
        outside_diameter=outside_diameter, middle_length=middle, motor=motor, actuator=actuator,
        hub_material=given.take("hub_material", "steel"),
    )  # fmt: skip


def _opening(hub: Hub) -> tuple[bool, float]:
    """Whether a clamp is two-piece, and the shaft angle that it opens to."""
    return hub.two_piece, round(hub.clamp_angle if hub.two_piece else hub.slit_angle, 6) % 360.0
