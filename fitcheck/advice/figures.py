"""Typical figures of the coupling families, as ranges from most of a family to the best of it."""

from __future__ import annotations

from dataclasses import dataclass

from fitcheck.standards.table import Row, table

TABLE = "coupling_families"
REFERENCE_DIAMETER = 30.0
"""mm; the outside diameter that the table's torques are for."""


@dataclass(frozen=True, kw_only=True)
class Figures:
    """What a family typically does at an outside diameter; pairs run from most of the family to its best.

    Attributes:
        family: as in a job.
        angular: permitted, degrees.
        parallel: permitted, mm.
        axial: permitted to either side, mm.
        backlash: from the best to the worst or worn, degrees.
        stiffness: N·m/rad.
        torque: nominal, N·m.
        speed: rpm.
        shock: how much it softens shocks: none, little, some, much.
        upkeep: what has to be looked after.
        source: where the figures are from.
    """

    family: str
    angular: tuple[float, float]
    parallel: tuple[float, float]
    axial: tuple[float, float]
    backlash: tuple[float, float]
    stiffness: tuple[float, float]
    torque: tuple[float, float]
    speed: tuple[float, float]
    shock: str
    upkeep: str
    source: str


def typical(outside_mm: float) -> tuple[Figures, ...]:
    """Typical figures of every family for an outside diameter.

    Torque goes with the cube of the diameter (equal stress in similar couplings), stiffness with the torque.

    Args:
        outside_mm: outside diameter, mm.

    Returns:
        One entry a family, in the order of the table.
    """
    scale = (outside_mm / REFERENCE_DIAMETER) ** 3
    return tuple(_figures(row, scale) for row in table(TABLE).rows)


def _figures(row: Row, scale: float) -> Figures:
    torque = _pair(row, "torque", scale)
    soft, stiff = _pair(row, "stiffness")
    return Figures(
        family=row.text("family"),
        angular=_pair(row, "angular"),
        parallel=_pair(row, "parallel"),
        axial=_pair(row, "axial"),
        backlash=_pair(row, "backlash"),
        stiffness=(soft * torque[0], stiff * torque[1]),
        torque=torque,
        speed=_pair(row, "speed"),
        shock=row.text("shock"),
        upkeep=row.text("upkeep"),
        source=row.source,
    )


def _pair(row: Row, name: str, factor: float = 1.0) -> tuple[float, float]:
    return row.number(f"{name}_low") * factor, row.number(f"{name}_high") * factor
