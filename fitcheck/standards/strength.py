"""Strength of screws and keys: ISO 898-1 areas, classes and loads; set screw holding power; hexagon key torque."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from fitcheck.errors import TableError
from fitcheck.standards.screws import set_screw
from fitcheck.standards.table import Row, table, weakest

NEWTON_PER_LBF = 4.4482216152605
METRE_PER_INCH = 0.0254


@dataclass(frozen=True, kw_only=True)
class PropertyClass:
    """A property class of screws, ISO 898-1; stresses in MPa. Class 8.8 holds for diameters up to 16 mm."""

    name: str
    proof_stress: float
    yield_strength: float
    tensile_strength: float
    source: str
    confidence: str


@dataclass(frozen=True, kw_only=True)
class SetScrewHolding:
    """What a cup point set screw holds on a steel shaft, seated with its torque; no safety factor is in it.

    Attributes:
        size: the inch size of the table's row.
        diameter: thread diameter, mm.
        seating_torque: N·m.
        holding_force: N, at the shaft's surface, along it or around it.
        source: where the values were taken from.
        confidence: the weaker mark of both values; memory for all sizes from #3.
    """

    size: str
    diameter: float
    seating_torque: float
    holding_force: float
    source: str
    confidence: str


@dataclass(frozen=True, kw_only=True)
class KeyTorque:
    """Least torsional strength of a hexagon key, N·m: `yielding` is the limit for use; from 2 mm from memory."""

    key_size: float
    yielding: float
    shearing: float
    source: str
    confidence: str


def stress_area(size: str) -> float:
    """Nominal stress area in mm² of a coarse thread, M1.6 to M12 (ISO 898-1; below M3 computed by its formula).

    Raises:
        TableError: the size is not in the table.
    """
    return table("thread_strength").row(size).number("stress_area")


def proof_load(size: str, property_class_name: str) -> float:
    """Proof load in N of a coarse thread, M3 to M12, in class 8.8, 10.9 or 12.9 (ISO 898-1).

    Raises:
        TableError: the size or the class is not in the table.
    """
    return _load("proof", size, property_class_name)


def ultimate_load(size: str, property_class_name: str) -> float:
    """Least ultimate load in N of a coarse thread, M3 to M12, in class 8.8, 10.9 or 12.9 (ISO 898-1).

    Raises:
        TableError: the size or the class is not in the table.
    """
    return _load("ultimate", size, property_class_name)


@lru_cache(maxsize=16)
def property_class(name: str) -> PropertyClass:
    """Property class 8.8, 10.9 or 12.9 (ISO 898-1).

    Raises:
        TableError: the class is not in the table.
    """
    row = table("property_classes").row(name)
    return PropertyClass(
        name=row.text("property_class"),
        proof_stress=row.number("proof_stress"),
        yield_strength=row.number("yield_strength"),
        tensile_strength=row.number("tensile_strength"),
        source=row.source,
        confidence=row.confidence,
    )


@lru_cache(maxsize=64)
def set_screw_holding(size: str) -> SetScrewHolding:
    """Seating torque and holding force of a cup point set screw (Shigley, table 7-4; mostly from memory).

    A metric size takes the row of the largest inch screw that is not thicker than it: on the safe side, no source.

    Args:
        size: an inch size "#0" to "3/4", or a metric size "M1.6" to "M12".

    Raises:
        TableError: the size is not in the table.
    """
    holding = table("set_screw_holding")
    if size.strip()[:1].upper() == "M":
        diameter = set_screw(size).diameter
        row = max((row for row in holding.rows if _millimetres(row) <= diameter), key=_millimetres)
    else:
        row = holding.row(size)
    return SetScrewHolding(
        size=row.text("size"),
        diameter=_millimetres(row),
        seating_torque=row.number("seating_torque") * NEWTON_PER_LBF * METRE_PER_INCH,
        holding_force=row.number("holding_force") * NEWTON_PER_LBF,
        source=f"{holding.standard}, table {holding.number}: {row.source}",
        confidence=weakest((row.confidence, row.text("seating_confidence"))),
    )


@lru_cache(maxsize=64)
def key_torque(key_size: float) -> KeyTorque:
    """Least torsional strength of a hexagon key, 0.7 to 10 mm across flats (ASME B18.3.2M; from memory from 2 mm).

    Raises:
        TableError: the size is not in the table.
    """
    row = table("hex_key_torque").row(key_size)
    return KeyTorque(
        key_size=row.number("key_size"),
        yielding=row.number("yield_torque"),
        shearing=row.number("shear_torque"),
        source=row.source,
        confidence=row.confidence,
    )


def _load(kind: str, size: str, class_name: str) -> float:
    strength = table("thread_strength")
    column = f"{kind}_{property_class(class_name).name.replace('.', '_')}"
    load = strength.row(size).maybe_number(column)
    if load is None:
        listed = [row.text("size") for row in strength.rows if row.values[column] is not None]
        msg = (
            f"{strength.standard}, {strength.title}: no {kind} load is listed for {size}; the table lists "
            f"{len(listed)}, {listed[0]} to {listed[-1]}"
        )
        raise TableError(msg)
    return load


def _millimetres(row: Row) -> float:
    return row.number("diameter_inch") * METRE_PER_INCH * 1000.0
