"""The bodies of an export where they belong. Loads the CAD kernel; lengths mm."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

import cadquery as cq
from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
from OCP.gp import gp_Pnt, gp_Trsf

from parametric_models.couplings.base import Body
from parametric_models.couplings.shapes import crosswise, fused
from parametric_models.export.request import Place, Tool

ENVELOPE_COLOUR = (0.35, 0.60, 0.85)
SIGNAL_COLOUR = (1.0, 0.40, 0.0)


def motion(place: Place | None, scale: float) -> gp_Trsf:
    """From the coupling's own frame to its place, and then to the numbers of the adapter's file.

    Args:
        place: where the coupling sits; None for its own frame.
        scale: what a true mm counts in the file's declared mm; 1 unless the file declares a wrong unit.
    """
    sizing = gp_Trsf()
    sizing.SetScale(gp_Pnt(0.0, 0.0, 0.0), scale)
    if place is None:
        return sizing
    along, across = cq.Vector(*place.direction), cq.Vector(*place.across)
    turn = math.radians(place.angle)
    x = across * math.cos(turn) + along.cross(across) * math.sin(turn)
    frame = cq.Plane(cq.Vector(*place.origin) + along * place.start, x, along)
    return sizing.Multiplied(cq.Location(frame).wrapped.Transformation())


def moved(bodies: Iterable[Body], by: gp_Trsf) -> tuple[Body, ...]:
    """The bodies with their geometry itself moved, so that a file shows the place in its coordinates."""
    return tuple(
        replace(body, shape=cq.Shape.cast(BRepBuilderAPI_Transform(body.shape.wrapped, by, True).Shape()))
        for body in bodies
    )


def corridor(tool: Tool) -> Body:
    """The room that a tool needs, as one solid in the coupling's frame."""
    pieces = [
        crosswise(start, end, 2 * radius, tool.station, tool.offset, tool.angle) for start, end, radius in tool.parts
    ]
    solid = fused(*pieces).clean() if len(pieces) > 1 else pieces[0]
    return Body(name=tool.name, group=None, shape=solid, material="steel", colour=SIGNAL_COLOUR)
