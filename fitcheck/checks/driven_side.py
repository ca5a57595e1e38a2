"""What lies behind the coupling: inertias of driven side and load, and how the screw gives between them."""

from __future__ import annotations

from dataclasses import dataclass

from fitcheck.checks.train import Spring
from fitcheck.checks.work_units import three
from fitcheck.checks.working import Working
from fitcheck.mechanics.axis import ScrewAxis
from fitcheck.mechanics.bounds import exactly
from fitcheck.mechanics.shafts import SHEAR_MODULUS_STEEL, torsion_constant
from fitcheck.mechanics.stiffness import in_series, travel_um

AXIAL = "its axial give"

ROOT_SHARE = 0.9
"""Diameter of the screw that carries its torsion, of the nominal one; common practice, no source."""


@dataclass(frozen=True, kw_only=True)
class DrivenSide:
    """Inertias in kg·m² and springs in N·m/rad, all seen from the coupling.

    Attributes:
        near: of all that turns with the screw, half of the coupling among it.
        load: of what the screw moves, or of a load that turns through a ratio.
        springs: between them: the screw's torsion over the whole length (carriage at the far end) and its axial give,
            or the give of a gear or belt; none where the job does not tell them.
    """

    near: float
    load: float
    springs: tuple[Spring, ...]

    @property
    def stiffness(self) -> float | None:
        """Of the springs in series, N·m/rad; None without any."""
        return in_series(*(spring.stiffness.low for spring in self.springs)) if self.springs else None


def driven_side(working: Working) -> DrivenSide:
    """The driven side of a drive at work."""
    axis, screw = working.axis, working.data.screw
    if not isinstance(axis, ScrewAxis) or screw is None:
        rotary, gears = working.data.rotary, []
        if rotary is not None and rotary.stiffness is not None:
            gear = exactly(rotary.stiffness / rotary.ratio**2)
            gears.append(Spring(name="the gear's give", stiffness=gear, how="as given"))
        return DrivenSide(near=axis.driven_inertia, load=axis.inertia - axis.driven_inertia, springs=tuple(gears))
    load = (screw.moving_mass + screw.counterbalance_mass) * axis.travel_per_radian**2
    springs = []
    if screw.diameter is not None and screw.length is not None:
        root = ROOT_SHARE * screw.diameter
        turning = SHEAR_MODULUS_STEEL * torsion_constant(root) / (screw.length / 1000.0) / screw.ratio**2
        how = f"{three(screw.length)} mm of root {three(root)}"
        springs.append(Spring(name="the screw's torsion", stiffness=exactly(turning), how=how))
    if screw.axial_stiffness is not None:
        pushing = screw.axial_stiffness * 1000.0 * axis.travel_per_radian**2
        springs.append(Spring(name=AXIAL, stiffness=exactly(pushing), how="as given"))
    return DrivenSide(near=axis.inertia - load, load=load, springs=tuple(springs))


def lost_behind(working: Working) -> tuple[float, str]:
    """What screw or gear lose at reversal beside the shaft train, at most, in the drive's travel, and the words for it.

    Torsion takes the whole friction behind the coupling, the screw's axial give only what guide and seals take: the
    nut's preload rubs inside the nut. 0 where the job tells neither.
    """
    axis, screw = working.axis, working.data.screw
    parts = []
    for spring in driven_side(working).springs:
        if spring.name == AXIAL and isinstance(axis, ScrewAxis) and screw is not None and screw.axial_stiffness:
            parts.append((2.0 * axis.friction_force / screw.axial_stiffness * 1000.0, spring))
        else:
            parts.append((travel_um(2.0 * working.friction_torque / spring.stiffness.low, working.lead_mm), spring))
    words = " and ".join(
        f"{spring.name} ({spring.how}) {three(lost)} {working.unit}" for lost, spring in parts if lost > 1e-6
    )
    return sum(lost for lost, _ in parts), words
