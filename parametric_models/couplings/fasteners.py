"""Screws and rivets as solids: head with hexagon socket, thread as a plain cylinder. Loads the CAD kernel; mm."""

from __future__ import annotations

import math
from functools import lru_cache

import cadquery as cq

from fitcheck.standards.screws import cap_screw, set_screw
from parametric_models.couplings.hubs import CAP, HubScrew, HubSeat
from parametric_models.couplings.shapes import across


@lru_cache(maxsize=64)
def cap_screw_solid(size: str, length: float) -> cq.Solid:
    """A cap screw by ISO 4762 along +Z: head from 0 to its height, shank from -length to 0.

    Args:
        size: thread size, "M3".
        length: length below the head, mm.

    Raises:
        TableError: the size is not in the table.
    """
    row = cap_screw(size)
    thread, head, height = row.diameter / 2, row.head_diameter / 2, row.head_height
    section = [(0.0, -length), (thread, -length), (thread, 0.0), (head, 0.0), (head, height), (0.0, height)]
    wire = cq.Wire.makePolygon([cq.Vector(r, 0, z) for r, z in section], close=True)
    body = cq.Solid.revolve(wire, [], 360.0, cq.Vector(0, 0, 0), cq.Vector(0, 0, 1))
    return body.cut(_socket(row.key_size, height, row.socket_depth)).Solids()[0]


@lru_cache(maxsize=64)
def set_screw_solid(size: str, length: float) -> cq.Solid:
    """A set screw by ISO 4026 (flat point) along +Z, from -length to 0, its socket at 0.

    Args:
        size: thread size, "M3".
        length: whole length, mm. A screw shorter than its socket is deep gets a socket of three quarters of its length.

    Raises:
        TableError: the size is not in the table.
    """
    row = set_screw(size)
    body = cq.Solid.makeCylinder(row.diameter / 2, length, cq.Vector(0, 0, -length))
    return body.cut(_socket(row.key_size, 0.0, min(row.socket_depth, 0.75 * length))).Solids()[0]


@lru_cache(maxsize=64)
def rivet_solid(diameter: float, grip: float, head_diameter: float, head_height: float) -> cq.Solid:
    """A flat-headed rivet along +Z: head from 0 to its height, shank from -grip to 0; mm."""
    shank, head = diameter / 2, head_diameter / 2
    section = [(0.0, -grip), (shank, -grip), (shank, 0.0), (head, 0.0), (head, head_height), (0.0, head_height)]
    wire = cq.Wire.makePolygon([cq.Vector(r, 0, z) for r, z in section], close=True)
    return cq.Solid.revolve(wire, [], 360.0, cq.Vector(0, 0, 0), cq.Vector(0, 0, 1))


def hub_screw_solid(screw: HubScrew, seat: HubSeat) -> cq.Solid:
    """A hub's screw in its place in the coupling's frame."""
    location = across(seat.station(screw.station), screw.offset, screw.angle)
    solid = (cap_screw_solid if screw.kind == CAP else set_screw_solid)(screw.size, screw.length)
    return solid.moved(location * cq.Location(cq.Vector(0, 0, screw.seat)))


def _socket(key_size: float, top: float, depth: float) -> cq.Solid:
    """A hexagonal prism, `key_size` across flats, from `top` down."""
    corner = key_size / math.sqrt(3.0)
    points = [
        cq.Vector(corner * math.cos(math.radians(60 * i)), corner * math.sin(math.radians(60 * i)), top)
        for i in range(6)
    ]
    return cq.Solid.extrudeLinear(cq.Wire.makePolygon(points, close=True), [], cq.Vector(0, 0, -depth))
