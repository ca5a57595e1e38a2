"""The solids of a disc coupling. Loads the CAD kernel; lengths mm."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import cadquery as cq

from parametric_models.couplings import hub_solids, shapes
from parametric_models.couplings.base import METAL_COLOUR, SCREW_COLOUR, SPRING_COLOUR, Body
from parametric_models.couplings.default_screws import screw_diameter
from parametric_models.couplings.fasteners import cap_screw_solid, rivet_solid

if TYPE_CHECKING:
    from parametric_models.couplings.disc import Disc


def disc_bodies(coupling: Disc) -> tuple[Body, ...]:
    """All bodies of a disc coupling, in its frame."""
    start, end = coupling.middle
    front, behind = _front_angles(coupling), _behind_angles(coupling)
    bodies: list[Body] = []
    # threads for the screws that hold on to this part, pockets for the heads of the others
    tools = (
        [*_threads(coupling, front, start, -1), *_pockets(coupling, behind, start, -1)],
        [*_threads(coupling, behind, end, 1), *_pockets(coupling, front, end, 1)],
    )
    for hub, seat, own in zip((coupling.motor, coupling.actuator), coupling.seats, tools, strict=True):
        blank = shapes.cut(hub_solids.hub_blank(hub, seat), own)
        bodies += hub_solids.hub_bodies(blank, hub, seat, hub.name, coupling.hub_material, METAL_COLOUR)
    for index, at in enumerate(coupling.stack_starts, start=1):
        bodies += _pack_bodies(coupling, at, f"disc pack {index}")
    if coupling.packs == 2:
        low, high = start + coupling.stack, end - coupling.stack
        own = [
            *_threads(coupling, behind, low, 1), *_pockets(coupling, front, low, 1),
            *_threads(coupling, front, high, -1), *_pockets(coupling, behind, high, -1),
        ]  # fmt: skip
        if coupling.spacer_bore > 0:
            own.append(shapes.cylinder(low - 1.0, high + 1.0, coupling.spacer_bore))
        if coupling.waist is not None:
            own.append(shapes.ring(*coupling.waist, coupling.outside_diameter + 2.0, coupling.spacer_diameter))
        solid = shapes.cut(shapes.cylinder(low, high, coupling.outside_diameter), own)
        spacer = shapes.one_solid(solid, f"{coupling.subject}, spacer")
        bodies.append(
            Body(name="spacer", group=None, shape=spacer, material=coupling.hub_material, colour=METAL_COLOUR)
        )
    return tuple(bodies)


def _front_angles(coupling: Disc) -> list[float]:
    """Shaft angles of the screws that hold a pack on to the part before it."""
    step = 360.0 / coupling.fixings
    return [coupling.fixing_angle + step * index for index in range(0, coupling.fixings, 2)]


def _behind_angles(coupling: Disc) -> list[float]:
    step = 360.0 / coupling.fixings
    return [coupling.fixing_angle + step * index for index in range(1, coupling.fixings, 2)]


def _place(coupling: Disc, angle: float, station: float) -> cq.Vector:
    turn, radius = math.radians(angle), coupling.screw_circle / 2
    return cq.Vector(radius * math.cos(turn), radius * math.sin(turn), station)


def _round(coupling: Disc, angle: float, station: float, length: float, diameter: float) -> cq.Solid:
    """A cylinder on the screw circle from a station; a negative length goes towards the motor."""
    low = station + min(0.0, length)
    return cq.Solid.makeCylinder(diameter / 2, abs(length), _place(coupling, angle, low))


def _threads(coupling: Disc, angles: list[float], face: float, inward: int) -> list[cq.Shape]:
    thread = screw_diameter(coupling.screw_size)
    return [_round(coupling, angle, face, inward * coupling.thread_depth, thread) for angle in angles]


def _pockets(coupling: Disc, angles: list[float], face: float, inward: int) -> list[cq.Shape]:
    depth = coupling.pocket_depth
    if depth == 0:
        return []
    return [_round(coupling, angle, face, inward * depth, coupling.pocket_diameter) for angle in angles]


def _pack_bodies(coupling: Disc, start: float, group: str) -> list[Body]:
    low = start + coupling.washer_thickness
    high = low + coupling.pack_thickness
    front, behind = _front_angles(coupling), _behind_angles(coupling)
    thread = screw_diameter(coupling.screw_size)
    holes = [_round(coupling, angle, low - 1.0, high - low + 2.0, thread) for angle in (*front, *behind)]
    pack = shapes.cut(shapes.ring(low, high, coupling.pack_diameter, coupling.pack_bore), holes)
    material = coupling.disc_material
    solid = shapes.one_solid(pack, group)
    bodies = [Body(name="discs", group=group, shape=solid, material=material, colour=SPRING_COLOUR)]
    height = coupling.washer_thickness
    washer = cq.Solid.makeCylinder(coupling.washer_diameter / 2, height).cut(cq.Solid.makeCylinder(thread / 2, height))
    grip = coupling.pack_thickness + height + coupling.thread_depth
    if coupling.fixing == "screw":
        fixing = cap_screw_solid(coupling.screw_size, grip)
    else:
        fixing = rivet_solid(thread, grip, *coupling.head)
    count = 0
    for angles, inward in ((front, -1), (behind, 1)):
        for angle in angles:
            count += 1
            washer_at = _place(coupling, angle, low - height if inward < 0 else high)
            # the head lies on the pack's far side, the shank points to the part that it holds on to
            head_at = _place(coupling, angle, high if inward < 0 else low)
            turn = cq.Location(head_at) if inward < 0 else cq.Location(head_at, cq.Vector(1, 0, 0), 180.0)
            bodies += [
                Body(name=f"washer {count}", group=group, shape=washer.Solids()[0].moved(cq.Location(washer_at)),
                     material=material, colour=SPRING_COLOUR),
                Body(name=f"{coupling.fixing} {count}", group=group, shape=fixing.moved(turn), material="steel",
                     colour=SCREW_COLOUR),
            ]  # fmt: skip
    return bodies
