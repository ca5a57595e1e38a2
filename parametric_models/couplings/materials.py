"""Densities of the materials that couplings are made of, and mass properties from their solids."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from fitcheck.errors import TableError
from parametric_models.couplings.base import Body

_ACCURACY = 1e-6
"""Relative accuracy asked of the kernel's integration."""

_TABLE = Path(__file__).with_name("data") / "materials.csv"


@dataclass(frozen=True, kw_only=True)
class Material:
    """A row of the material table.

    Attributes:
        name: its name.
        density: kg/m³.
        source: where the density comes from.
        confidence: "read" (seen in the source) or "memory".
    """

    name: str
    density: float
    source: str
    confidence: str


@dataclass(frozen=True, kw_only=True)
class MassProperties:
    """Mass and inertia of a coupling.

    Attributes:
        mass: kg.
        inertia: about the drive axis, kg·m².
        centre: station of the centre of mass from the motor hub's outer face, mm.
        bodies: (group or "", name, mass in kg, inertia in kg·m²) of every body.
        materials: the material rows used, with their sources.
    """

    mass: float
    inertia: float
    centre: float
    bodies: tuple[tuple[str, str, float, float], ...]
    materials: tuple[Material, ...]


@lru_cache(maxsize=1)
def _rows() -> dict[str, Material]:
    with _TABLE.open(encoding="utf-8", newline="") as file:
        return {
            row["material"]: Material(
                name=row["material"],
                density=float(row["density_kg_m3"]),
                source=row["source"],
                confidence=row["confidence"],
            )
            for row in csv.DictReader(file)
        }


def material(name: str) -> Material:
    """A material by name.

    Raises:
        TableError: the table has no such material; the message lists those that there are.
    """
    rows = _rows()
    if name not in rows:
        raise TableError(f"material {name!r} is not in the table; there are: {', '.join(rows)}")
    return rows[name]


def material_names() -> tuple[str, ...]:
    """Names of the materials in the table."""
    return tuple(_rows())


def mass_properties(bodies: Sequence[Body]) -> MassProperties:
    """Mass and inertia about the drive axis, integrated over the solids; loads the CAD kernel.

    Args:
        bodies: the bodies of a coupling in its frame, mm.

    Returns:
        The mass properties.

    Raises:
        TableError: a material is not in the table.
    """
    from OCP.BRepGProp import BRepGProp
    from OCP.gp import gp_Ax1, gp_Dir, gp_Pnt
    from OCP.GProp import GProp_GProps

    axis = gp_Ax1(gp_Pnt(0, 0, 0), gp_Dir(0, 0, 1))
    parts, moment = [], 0.0
    for body in bodies:
        properties = GProp_GProps()
        # without an accuracy the kernel's integration is 1e-5 off where holes cross curved walls
        BRepGProp.VolumeProperties_s(body.shape.wrapped, properties, _ACCURACY, False, False)
        density = material(body.material).density
        # mm³ to m³, and mm⁵ to m⁵
        mass = properties.Mass() * 1e-9 * density
        parts.append((body.group or "", body.name, mass, properties.MomentOfInertia(axis) * 1e-15 * density))
        moment += mass * properties.CentreOfMass().Z()
    mass = sum(part[2] for part in parts)
    used = dict.fromkeys(body.material for body in bodies)
    return MassProperties(
        mass=mass,
        inertia=sum(part[3] for part in parts),
        centre=moment / mass,
        bodies=tuple(parts),
        materials=tuple(material(name) for name in used),
    )
