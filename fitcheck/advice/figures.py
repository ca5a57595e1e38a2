"""Typical figures of the coupling families, as ranges from most of a family to the best of it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from fitcheck.job.ratings import Ratings
from fitcheck.standards.table import Row, table

TABLE = "coupling_families"
REFERENCE_DIAMETER = 30.0
"""mm; the outside diameter that the table's torques are for."""


SHORT_OVER_NOMINAL = 2.0
"""Maximum over nominal torque of most couplings; common practice, no source."""


@dataclass(frozen=True, kw_only=True)
class Figures:
    """What a family typically does at an outside diameter; pairs run from most of the family to its best.

    Attributes:
        family: as in a job.
        angular: permitted, degrees.
        parallel: permitted, mm.
        axial: permitted to either side, mm.
        backlash: from the best to the worst or worn, degrees.
        stiffness_class: among the families.
        stiffness: N·m/rad.
        torque: nominal, N·m.
        maximum: for short peaks, N·m; typically `SHORT_OVER_NOMINAL` times the nominal one.
        speed: rpm.
        shock: how much it softens shocks: none, little, some, much.
        upkeep: what has to be looked after.
        source: where the figures are from.
        confidence: mark of the source, as in the tables of `fitcheck/standards`.
        given: names of the figures that the job gives for its candidate; the others are typical.
    """

    family: str
    angular: tuple[float, float]
    parallel: tuple[float, float]
    axial: tuple[float, float]
    backlash: tuple[float, float]
    stiffness_class: str
    stiffness: tuple[float, float]
    torque: tuple[float, float]
    maximum: tuple[float, float]
    speed: tuple[float, float]
    shock: str
    upkeep: str
    source: str
    confidence: str
    given: tuple[str, ...] = ()

    def how(self, name: str) -> str:
        """Whether a figure is the job's or the family's, for a sentence."""
        return "rated" if name in self.given else "typically"


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
        stiffness_class=row.text("stiffness_class"),
        stiffness=(soft * torque[0], stiff * torque[1]),
        torque=torque,
        maximum=(SHORT_OVER_NOMINAL * torque[0], SHORT_OVER_NOMINAL * torque[1]),
        speed=_pair(row, "speed"),
        shock=row.text("shock"),
        upkeep=row.text("upkeep"),
        source=row.source,
        confidence=row.confidence,
    )


def _pair(row: Row, name: str, factor: float = 1.0) -> tuple[float, float]:
    return row.number(f"{name}_low") * factor, row.number(f"{name}_high") * factor


def as_rated(figures: Figures, ratings: Ratings) -> Figures:
    """The figures of a job's candidate: its own ratings in place of the typical ones, where the job gives them.

    Args:
        figures: typical of its family.
        ratings: the job's.
    """
    stiffness = ratings.torsional_stiffness_range or ratings.torsional_stiffness
    given: dict[str, float | tuple[float, ...] | None] = {
        "torque": ratings.nominal_torque, "maximum": ratings.maximum_torque or ratings.nominal_torque,
        "parallel": ratings.parallel, "angular": ratings.angular, "axial": ratings.axial,
        "backlash": ratings.backlash, "stiffness": stiffness, "speed": ratings.maximum_speed,
    }  # fmt: skip

    def pair(name: str, typical_pair: tuple[float, float]) -> tuple[float, float]:
        value = given[name]
        if value is None:
            return typical_pair
        return (value[0], value[1]) if isinstance(value, tuple) else (value, value)

    return replace(
        figures,
        given=tuple(name for name, value in given.items() if value is not None),
        torque=pair("torque", figures.torque),
        maximum=pair("maximum", figures.maximum),
        parallel=pair("parallel", figures.parallel),
        angular=pair("angular", figures.angular),
        axial=pair("axial", figures.axial),
        backlash=pair("backlash", figures.backlash),
        stiffness=pair("stiffness", figures.stiffness),
        speed=pair("speed", figures.speed),
    )
