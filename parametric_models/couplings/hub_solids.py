"""Hubs as solids: blanks, what is cut out of them, and their screws. Loads the CAD kernel; lengths mm."""

from __future__ import annotations

import cadquery as cq

from parametric_models.couplings.base import SCREW_COLOUR, Body
from parametric_models.couplings.fasteners import hub_screw_solid
from parametric_models.couplings.hubs import CAP, COUNTERBORE_PLAY, Hub, HubScrew, HubSeat
from parametric_models.couplings.shapes import along, block, crosswise, cut, cylinder, one_solid, revolved, segment

BEYOND = 1.0
"""How far a tool reaches beyond the face that it comes through, mm."""


def hub_blank(hub: Hub, seat: HubSeat) -> cq.Solid:
    """The full cylinder of a hub with its outer chamfer, without bore and screw holes."""
    radius, chamfer = hub.outside_diameter / 2, hub.chamfer
    corners = [(0.0, 0.0), (radius - chamfer, 0.0), (radius, chamfer), (radius, hub.length), (0.0, hub.length)]
    if chamfer == 0.0:
        del corners[1]
    return revolved([(r, seat.station(depth)) for r, depth in corners])


def hub_tools(hub: Hub, seat: HubSeat, relief_to: float | None = None) -> list[cq.Shape]:
    """Everything that is cut out of a hub: bore, keyway, slit and screw holes.

    Args:
        hub: the hub.
        seat: where it sits.
        relief_to: distance from the outer face to which the relief hole continues the bore; None for the hub's
            length. A closed hub (relief diameter 0) has none.

    Returns:
        The tools. For a two-piece hub they cut its cap off.
    """
    tools: list[cq.Shape] = []
    bore = cylinder(*seat.span(-BEYOND, hub.bore_length), hub.bore)
    if hub.flat is not None:
        land = segment(2 * hub.bore, hub.flat.height - hub.bore / 2, seat.span(-2 * BEYOND, hub.length), hub.flat.angle)
        bore = bore.cut(land)
    tools.append(bore)
    depth = hub.length if relief_to is None else relief_to
    if hub.relief_diameter > 0 and depth > hub.bore_length:
        tools.append(cylinder(*seat.span(hub.bore_length, depth), hub.relief_diameter))
    if hub.keyway is not None:
        half = hub.keyway.width / 2
        tools.append(
            block((0.0, hub.bore / 2 + hub.keyway.depth), (-half, half), seat.span(-BEYOND, hub.bore_length),
                  hub.keyway.angle)
        )  # fmt: skip
    if hub.clamps:
        tools += _slit_tools(hub, seat)
    for screw in hub.screws:
        tools += _screw_tools(hub, screw, seat)
    return tools


def _slit_tools(hub: Hub, seat: HubSeat) -> list[cq.Shape]:
    far, half = hub.outside_diameter, hub.slit_width / 2
    stations = seat.span(-BEYOND, hub.slit_length)
    end = seat.span(hub.slit_length - hub.slit_width, hub.slit_length)
    if hub.two_piece:
        tools: list[cq.Shape] = [block((-half, half), (-far, far), stations, hub.clamp_angle)]
        if hub.relief_cut:
            tools.append(block((-half, far), (-far, far), end, hub.clamp_angle))
        return tools
    tools = [block((0.0, far), (-half, half), stations, hub.slit_angle)]
    if hub.relief_cut:
        # half way round: the other half still joins the clamp to the rest of the coupling
        tools.append(block((0.0, far), (-far, far), end, hub.slit_angle))
    return tools


def _screw_tools(hub: Hub, screw: HubScrew, seat: HubSeat) -> list[cq.Shape]:
    far, place = hub.outside_diameter, (seat.station(screw.station), screw.offset, screw.angle)
    if screw.kind != CAP:
        return [crosswise(0.0, far, screw.thread, *place)]
    return [
        crosswise(-far, 0.0, screw.thread, *place),
        crosswise(0.0, screw.seat, screw.hole, *place),
        crosswise(screw.seat, far, 2 * (screw.across + COUNTERBORE_PLAY), *place),
    ]


def hub_bodies(
    shape: cq.Shape, hub: Hub, seat: HubSeat, group: str, material: str, colour: tuple[float, float, float],
    relief_to: float | None = None,
) -> list[Body]:  # fmt: skip
    """The bodies of a separate hub.

    Args:
        shape: the hub's blank with what the family puts on it (tongue, jaws, flange, arms).
        hub: the hub.
        seat: where it sits.
        group: its name.
        material: its material.
        colour: its colour.
        relief_to: as in `hub_tools`.

    Returns:
        The hub, its cap where it has one, and its screws.
    """
    rest, caps = without_caps(cut(shape, hub_tools(hub, seat, relief_to)), [(hub, seat)])
    bodies = [Body(name="hub", group=group, shape=one_solid(rest, group), material=material, colour=colour)]
    bodies += [Body(name="cap", group=group, shape=cap, material=material, colour=colour) for cap in caps]
    return [*bodies, *screw_bodies(hub, seat, group)]


def without_caps(shape: cq.Shape, hubs: list[tuple[Hub, HubSeat]]) -> tuple[cq.Shape, list[cq.Solid]]:
    """Parts the caps of two-piece hubs from the rest of a shape that was cut with `hub_tools`.

    Returns:
        The rest, and one cap for each two-piece hub, in order.
    """
    solids = list(shape.Solids())
    caps = []
    for hub, seat in hubs:
        if not hub.two_piece:
            continue
        low, high = seat.span(0.0, hub.slit_length)
        for solid in solids:
            box = solid.BoundingBox()
            if along(solid, hub.clamp_angle) > 0 and box.zmin > low - 1e-6 and box.zmax < high + 1e-6:
                caps.append(solid)
                solids.remove(solid)
                break
    return (solids[0] if len(solids) == 1 else cq.Compound.makeCompound(solids)), caps


def screw_bodies(hub: Hub, seat: HubSeat, group: str) -> list[Body]:
    """The screws of a hub, each a body of its own."""
    return [
        Body(
            name=f"{screw.kind} {index}",
            group=group,
            shape=hub_screw_solid(screw, seat),
            material="steel",
            colour=SCREW_COLOUR,
        )
        for index, screw in enumerate(hub.screws, start=1)
    ]
