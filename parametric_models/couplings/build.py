"""Any coupling by family: its dimensions, its three views, and its mass properties. Start here.

from parametric_models.couplings import build
coupling = build.coupling("double disc", outside_diameter=34.0, bores=(8.0, 12.0))
build.profile(coupling).largest()    # swept radius and its station, no CAD kernel
build.envelope(coupling)             # cadquery.Solid
build.assembly(coupling).export("coupling.step")
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterable
from functools import partial
from typing import TYPE_CHECKING, Any

from fitcheck.errors import UsageError
from fitcheck.job.model import FAMILIES
from parametric_models.couplings.base import Body, Coupling, Given
from parametric_models.couplings.bellows import default_bellows
from parametric_models.couplings.disc import default_disc
from parametric_models.couplings.jaw import default_jaw
from parametric_models.couplings.limits import above_zero
from parametric_models.couplings.materials import MassProperties
from parametric_models.couplings.materials import mass_properties as _mass_properties
from parametric_models.couplings.oldham import default_oldham
from parametric_models.couplings.profile import Profile
from parametric_models.couplings.rigid import default_rigid
from parametric_models.couplings.slit import default_slit
from parametric_models.couplings.universal_joint import default_universal_joint

if TYPE_CHECKING:
    import cadquery as cq

_DEFAULTS: dict[str, Callable[[float, tuple[float, float], Given], Coupling]] = {
    "rigid": default_rigid,
    "slit": default_slit,
    "double slit": partial(default_slit, groups=2),
    "oldham": default_oldham,
    "jaw": default_jaw,
    "bellows": default_bellows,
    "disc": default_disc,
    "double disc": partial(default_disc, packs=2),
    "universal joint": default_universal_joint,
    "double universal joint": partial(default_universal_joint, joints=2),
}


def coupling(family: str, *, outside_diameter: float, bores: tuple[float, float], **dimensions: Any) -> Coupling:
    """A coupling of a family; every dimension that is not given gets a plausible value (common practice, no source).

    Args:
        family: one of `fitcheck.job.model.FAMILIES`.
        outside_diameter: outside diameter, screw heads not counted, mm.
        bores: bore of the motor hub and of the actuator hub, mm.
        **dimensions: any field of the family's class, and `length` (over both hubs), `fastening` (of both hubs),
            `motor` and `actuator` (a `Hub`, or a mapping of what `defaults.default_hub` takes).

    Returns:
        The coupling's dimensions; no solid is made.

    Raises:
        UsageError: family or dimension unknown, or the dimensions cannot be built together; the message names the
            dimension at fault and the range that works.
    """
    if family not in _DEFAULTS:
        near = difflib.get_close_matches(str(family), FAMILIES, n=1)
        advice = f"; did you mean {near[0]!r}?" if near else ""
        raise UsageError(f"coupling family {family!r} is unknown; there are: {', '.join(FAMILIES)}{advice}")
    subject = family if family.endswith("joint") else f"{family} coupling"
    above_zero(subject, "outside_diameter", outside_diameter)
    if len(bores) != 2:
        raise UsageError(f"{subject}: bores needs two values, motor hub and actuator hub; it has {len(bores)}")
    given = Given(subject, dimensions)
    made = _DEFAULTS[family](float(outside_diameter), (float(bores[0]), float(bores[1])), given)
    given.finish()
    return made


def profile(design: Coupling) -> Profile:
    """The swept radius of a coupling along its axis, exact; needs no CAD kernel."""
    return design.profile()


def envelope(design: Coupling, tolerance: float = 0.01) -> cq.Solid:
    """The envelope of a coupling: contains it at every shaft angle, and touches it.

    Args:
        design: the coupling.
        tolerance: greatest distance of the envelope outside the swept radius, mm.
    """
    from parametric_models.couplings.envelope import envelope_solid

    return envelope_solid(design.profile(), tolerance)


def detailed(design: Coupling) -> tuple[Body, ...]:
    """All solids of a coupling, each with name, group, material and colour.

    Raises:
        FitcheckError: the dimensions cut a body apart.
    """
    return design.bodies()


def assembly(design: Coupling, name: str = "coupling") -> cq.Assembly:
    """The detailed coupling as an assembly: `name`, in it the hubs and packs as sub-assemblies, in them the bodies."""
    return assembled(design.bodies(), name)


def assembled(bodies: Iterable[Body], name: str) -> cq.Assembly:
    """Bodies as an assembly `name`: those of a group in a sub-assembly of the group's name, the others beside it."""
    import cadquery as cq

    root = cq.Assembly(name=name)
    groups: dict[str, cq.Assembly] = {}
    for body in bodies:
        home = root
        if body.group is not None:
            home = groups.setdefault(body.group, cq.Assembly(name=body.group))
        label = body.name if body.group is None else f"{body.group} {body.name}"
        home.add(body.shape, name=label, color=cq.Color(*body.colour))
    for group in groups.values():
        root.add(group, name=group.name)
    return root


def mass_properties(design: Coupling) -> MassProperties:
    """Mass, inertia about the drive axis and centre of mass of the detailed coupling."""
    return _mass_properties(design.bodies())
