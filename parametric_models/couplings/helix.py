"""The helical cut of a slit coupling as a solid. Loads the CAD kernel; lengths mm."""

from __future__ import annotations

from typing import TYPE_CHECKING

import cadquery as cq
from OCP.BRepOffsetAPI import BRepOffsetAPI_MakePipeShell
from OCP.gp import gp_Dir

from fitcheck.errors import FitcheckError

if TYPE_CHECKING:
    from parametric_models.couplings.slit import Slit


def helical_slots(coupling: Slit) -> list[cq.Solid]:
    """The slots of a helical slit coupling, one a group."""
    inside, outside = coupling.core_diameter / 2, coupling.outside_diameter / 2
    # reaching past both surfaces of the wall, so that no face of the slot lies on them
    inner, outer = inside - min(0.5, inside / 2), outside + 0.5
    return [
        helical_slot(inner, outer, start + coupling.cut_width / 2, coupling.cut_width, coupling.pitch, coupling.cuts)
        for start in coupling.group_starts
    ]


def helical_slot(inner: float, outer: float, start: float, width: float, pitch: float, turns: float) -> cq.Solid:
    """A slot of constant width along the axis that winds about it.

    Args:
        inner: inner radius, mm.
        outer: outer radius, mm.
        start: station of the middle of its beginning, at shaft angle 0, mm.
        width: width along the axis, mm.
        pitch: rise in one turn, mm.
        turns: number of turns, may be a fraction.

    Returns:
        The slot.

    Raises:
        FitcheckError: the kernel could not sweep it.
    """
    middle = (inner + outer) / 2
    spine = cq.Wire.makeHelix(pitch, pitch * turns, middle, cq.Vector(0, 0, start))
    corners = [(inner, -width / 2), (outer, -width / 2), (outer, width / 2), (inner, width / 2)]
    section = cq.Wire.makePolygon([cq.Vector(r, 0, start + z) for r, z in corners], close=True)
    builder = BRepOffsetAPI_MakePipeShell(spine.wrapped)
    builder.SetMode(gp_Dir(0, 0, 1))
    builder.Add(section.wrapped, False, False)
    builder.Build()
    if not builder.IsDone() or not builder.MakeSolid():
        raise FitcheckError(
            f"helical cut of {turns:g} turns, pitch {pitch:g} mm: the kernel could not sweep it; change pitch or width"
        )
    return cq.Shape.cast(builder.Shape()).Solids()[0]
