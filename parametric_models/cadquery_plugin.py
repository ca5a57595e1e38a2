"""Couplings in CadQuery models: plain functions that return shapes, assemblies and callbacks; nothing is patched.

    import cadquery as cq
    from parametric_models import cadquery_plugin as couplings

    jaw = couplings.design("jaw", outside_diameter=30, bores=(8, 10))
    adapter = cq.Workplane().box(60, 60, 60).invoke(couplings.chamber(jaw, clearance=1.0, start=-18.0))
    drive = cq.Assembly(name="drive").add(adapter, name="adapter").add(couplings.assembly(jaw, name="coupling"))

The frame of a coupling: the drive axis is +Z, the motor hub's outer face lies at z = 0, x is shaft angle 0. Lengths mm,
angles degrees.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import Any

import cadquery as cq

from fitcheck.errors import UsageError
from parametric_models.couplings import build
from parametric_models.couplings.base import Coupling
from parametric_models.couplings.shapes import revolved

AXIS, MOTOR_FACE, ACTUATOR_FACE = "axis", "motor_face", "actuator_face"
MATES = (AXIS, MOTOR_FACE, ACTUATOR_FACE)
"""Tags of a coupling's assembly: the drive axis (an edge from hub face to hub face), and the hubs' outer faces: discs
square to the axis and centred on it, whatever the hub's own face looks like, with normals out of the coupling."""

design = build.coupling
"""The dimensions of a coupling, from its family, outside diameter and bores; see `couplings.build.coupling`."""


def envelope(coupling: Coupling, *, clearance: float = 0.0, tolerance: float = 0.01) -> cq.Solid:
    """All that a coupling sweeps in one turn, and a clearance around it.

    Args:
        coupling: the coupling.
        clearance: radial and axial distance that the envelope is larger, mm.
        tolerance: greatest distance of the envelope outside the swept radius, mm; it is never inside.

    Raises:
        UsageError: the clearance is less than 0.
    """
    if clearance < 0:
        raise UsageError(f"envelope: the clearance {clearance:g} mm must not be less than 0 mm")
    if clearance == 0:
        return build.envelope(coupling, tolerance)
    outline = coupling.profile().outline(tolerance)
    corners = _grown(outline, clearance)
    return revolved([(0.0, corners[0][0]), *((r, s) for s, r in corners), (0.0, corners[-1][0])])


def _grown(outline: tuple[tuple[float, float], ...], by: float) -> list[tuple[float, float]]:
    """The polygon (station, radius) that holds everything within `by` of the outline along the axis and across it."""
    stations = sorted({s + shift for s, _ in outline for shift in (-by, 0.0, by)})
    found: list[tuple[float, float]] = []
    for start, stop in pairwise(stations):
        most = _most(outline, start - by, stop + by) + by
        found += [(start, most), (stop, most)]
    return [knot for index, knot in enumerate(found) if index == 0 or knot != found[index - 1]]


def _most(outline: tuple[tuple[float, float], ...], start: float, stop: float) -> float:
    """Greatest radius of the outline between two stations, mm; 0 where it does not reach."""
    most = 0.0
    for (s0, r0), (s1, r1) in pairwise(outline):
        low, high = max(s0, start), min(s1, stop)
        if low > high:
            continue
        for station in (low, high):
            most = max(most, max(r0, r1) if s1 == s0 else r0 + (r1 - r0) * (station - s0) / (s1 - s0))
    return most


def chamber(
    coupling: Coupling, *, clearance: float, start: float = 0.0, tolerance: float = 0.01
) -> Callable[[cq.Workplane], cq.Workplane]:
    """A callback for `Workplane.invoke` that cuts a coupling's envelope out of the solid on the stack.

    Args:
        coupling: the coupling.
        clearance: distance that the chamber is wider and longer than the envelope, mm.
        start: station of the motor hub's outer face along the workplane's normal, from its origin, mm.
        tolerance: as for `envelope`.
    """
    tool = envelope(coupling, clearance=clearance, tolerance=tolerance)

    def cut(workplane: cq.Workplane) -> cq.Workplane:
        place = workplane.plane.location * cq.Location(cq.Vector(0.0, 0.0, start))
        return workplane.cut(cq.Workplane(obj=tool.moved(place)))

    return cut


def at_points(
    coupling: Coupling, *, detail: bool = False, tolerance: float = 0.01
) -> Callable[[cq.Location], cq.Shape]:
    """A callback for `Workplane.eachpoint` that puts a coupling at each point, its axis along the workplane's normal.

    On another workplane than XY, CadQuery needs `eachpoint(..., useLocalCoordinates=True)`.

    Args:
        coupling: the coupling.
        detail: all bodies, as one compound, instead of the envelope.
        tolerance: as for `envelope`.
    """
    shape: cq.Shape
    if detail:
        shape = cq.Compound.makeCompound([body.shape for body in build.detailed(coupling)])
    else:
        shape = build.envelope(coupling, tolerance)

    def put(place: cq.Location) -> cq.Shape:
        return shape.moved(place)

    return put


def assembly(coupling: Coupling, *, name: str = "coupling", detail: bool = True) -> cq.Assembly:
    """A coupling for `Assembly.add`: its bodies with names and colours, and its mates as tags.

    Args:
        coupling: the coupling.
        name: name of the assembly.
        detail: False for the envelope alone.

    Returns:
        The assembly. Name a mate in a constraint by `mate(...)`.
    """
    from parametric_models.export.placing import ENVELOPE_COLOUR

    if detail:
        made = build.assembly(coupling, name)
    else:
        solid = build.envelope(coupling)
        made = cq.Assembly(name=name).add(solid, name="envelope", color=cq.Color(*ENVELOPE_COLOUR))
    carrier = _carrier(made)
    tagged = cq.Workplane(obj=carrier.obj)
    radius = coupling.motor.outside_diameter / 2, coupling.actuator.outside_diameter / 2
    marks = {
        AXIS: cq.Edge.makeLine(cq.Vector(0, 0, 0), cq.Vector(0, 0, coupling.length)),
        MOTOR_FACE: _disc(radius[0], 0.0, -1.0),
        ACTUATOR_FACE: _disc(radius[1], coupling.length, 1.0),
    }
    for tag, mark in marks.items():
        tagged.newObject([mark]).tag(tag)
    carrier.obj = tagged
    return made


def _disc(radius: float, station: float, normal: float) -> cq.Face:
    wire = cq.Wire.makeCircle(radius, cq.Vector(0, 0, station), cq.Vector(0, 0, normal))
    return cq.Face.makeFromWires(wire)


def _carrier(made: cq.Assembly) -> cq.Assembly:
    """The part that carries the tags: the first that has a shape."""
    return made if made.obj is not None else next(_carrier(child) for child in made.children)


def mate(made: cq.Assembly, which: str) -> str:
    """The name of a mate for `Assembly.constrain` of the assembly that holds the coupling.

    Args:
        made: the coupling's assembly, as it was added.
        which: one of `MATES`.

    Raises:
        UsageError: there is no such mate.
    """
    if which not in MATES:
        raise UsageError(f"mate {which!r} is unknown; there are: {', '.join(MATES)}")
    path, part = made.name, made
    while part.obj is None:
        part = part.children[0]
        path = f"{path}/{part.name}"
    return f"{path}?{which}"


def show(model: Any, *, viewer: Callable[..., Any], **options: Any) -> Any:
    """Hand a shape or an assembly to a viewer of any kind.

    Args:
        model: what to show.
        viewer: a callable that takes the model and keywords, such as the `show` of a viewer.
        **options: the viewer's own keywords.

    Returns:
        What the viewer returns.
    """
    return viewer(model, **options)
