"""The wall of a bellows as one solid of revolution of lines and arcs. Loads the CAD kernel; lengths mm."""

from __future__ import annotations

from typing import TYPE_CHECKING

import cadquery as cq

if TYPE_CHECKING:
    from parametric_models.couplings.bellows import Bellows


def bellows_solid(coupling: Bellows) -> cq.Solid:
    """The bellows with its end tubes, in the coupling's frame."""
    outside = _contour(coupling, coupling.wall / 2)
    inside = _contour(coupling, -coupling.wall / 2)
    ends = [
        cq.Edge.makeLine(inside[0].startPoint(), outside[0].startPoint()),
        cq.Edge.makeLine(inside[-1].endPoint(), outside[-1].endPoint()),
    ]
    wire = cq.Wire.assembleEdges([ends[0], *outside, ends[1], *inside])
    return cq.Solid.revolve(wire, [], 360.0, cq.Vector(0, 0, 0), cq.Vector(0, 0, 1))


def _contour(coupling: Bellows, off: float) -> list[cq.Edge]:
    """Edges, in the plane of x and z, of the wall's middle line set off outwards by `off`."""
    start, end = coupling.middle
    curve = coupling.curve
    tube = coupling.root_diameter / 2 + coupling.wall / 2
    root = tube + curve
    crown = coupling.crown_diameter / 2 - coupling.wall / 2 - curve
    # outwards off the middle line, crowns grow and roots shrink
    crown_curve, root_curve = curve + off, curve - off
    slant = 0.5**0.5
    edges: list[cq.Edge] = []
    at = cq.Vector(tube + off, 0, start)

    def line(r: float, z: float) -> None:
        nonlocal at
        point = cq.Vector(r, 0, z)
        if (point - at).Length > 1e-9:
            edges.append(cq.Edge.makeLine(at, point))
            at = point

    def arc(through: tuple[float, float], to: tuple[float, float]) -> None:
        nonlocal at
        point = cq.Vector(to[0], 0, to[1])
        edges.append(cq.Edge.makeThreePointArc(at, cq.Vector(through[0], 0, through[1]), point))
        at = point

    for index in range(coupling.convolutions):
        low = start + coupling.tube_length + index * coupling.pitch
        line(tube + off, low)
        arc((root - root_curve * slant, low + root_curve * slant), (root, low + root_curve))
        line(crown, low + root_curve)
        arc((crown + crown_curve, low + 2 * curve), (crown, low + 2 * curve + crown_curve))
        line(root, low + 2 * curve + crown_curve)
        high = low + coupling.pitch
        arc((root - root_curve * slant, high - root_curve * slant), (root - root_curve, high))
    line(tube + off, end)
    return edges
