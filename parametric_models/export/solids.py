"""Exports with solids: the bodies of the view, in place, in a document of their own or in the adapter's."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from parametric_models.couplings import build
from parametric_models.couplings.base import Body, Coupling
from parametric_models.couplings.envelope import envelope_solid
from parametric_models.couplings.materials import mass_properties
from parametric_models.couplings.profile import Profile
from parametric_models.export.documents import Source, insert
from parametric_models.export.placing import ENVELOPE_COLOUR, corridor, motion, moved
from parametric_models.export.request import MM_PER, Request
from parametric_models.export.writers import write
from parametric_models.step_files import new_document

TOLERANCE = 0.002
"""mm; how far the envelope lies outside curved parts of the profile. Cylinders and cones are met exactly."""


def export_solids(request: Request, profile: Profile, whole: Coupling | None) -> dict[str, Any]:
    """Write the file; returns the mass and inertia of a detailed coupling, and the unit of the file's numbers.

    Args:
        request: what is asked for.
        profile: the coupling's profile, for an envelope.
        whole: the coupling, for a detailed view.
    """
    unit, scale, source = request.unit, 1.0, None
    adapter = request.adapter
    if adapter is not None and (adapter.include or adapter.unit is not None):
        source = Source(adapter.path)
        if adapter.unit is not None:
            # the file's numbers are kept: what it calls a mm is really this long
            unit = source.unit
            scale = MM_PER[unit] / MM_PER[adapter.unit]
    by = motion(request.place, scale)
    found: dict[str, Any] = {"unit": unit}
    if request.view == "detail":
        assert whole is not None
        bodies = whole.bodies()
        mass = mass_properties(bodies)
        found |= {"mass": mass.mass, "inertia": mass.inertia}
    else:
        solid = envelope_solid(profile, TOLERANCE)
        name = f"{request.name} envelope"
        bodies = (Body(name=name, group=None, shape=solid, material="steel", colour=ENVELOPE_COLOUR),)
    models = [build.assembled(moved(bodies, by), request.name)]
    if request.tools:
        models.append(build.assembled(moved(map(corridor, request.tools), by), "tool corridors"))
    document = source.document() if source is not None and adapter is not None and adapter.include else new_document()
    insert(document, models, Path(request.title).stem)
    write(document, Path(request.target), request.ending, unit, request.title, request.time)
    return found
