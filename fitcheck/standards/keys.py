"""Hexagon keys, bits with their holders, and parallel keys. Lengths mm."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import cos, radians

from fitcheck.standards.table import table

SHARP_HEXAGON = 1.0 / cos(radians(30.0))
"""Across corners over across flats of a sharp hexagon, 1.1547: an upper bound, as the edges of keys are broken."""


@dataclass(frozen=True, kw_only=True)
class HexKey:
    """A hexagon socket screw key (L-key), ISO 2936:2014; mm.

    The arm lengths are the table's, taken as greatest lengths; keys of the edition of 1983 are still on sale and
    shorter. Take the longer ones where the key is in the way, and the shorter ones where it has to reach.

    Attributes:
        key_size: across flats.
        across_corners: upper bound, that of a sharp hexagon.
        short_arm: length of the short arm.
        long_arm: length of the long arm, standard series.
        long_arm_long: long series, None where there is none.
        long_arm_extra_long: extra long series, None where there is none.
        old_short_arm: edition of 1983, from memory; None where not known.
        old_long_arm: edition of 1983, from memory; None where not known.
        bend_radius: lower bound of the inner bend radius: the key size, as in ASME B18.3; no ISO value was found.
        source: where the values were taken from.
        confidence: of the arm lengths.
    """

    key_size: float
    across_corners: float
    short_arm: float
    long_arm: float
    long_arm_long: float | None
    long_arm_extra_long: float | None
    old_short_arm: float | None
    old_long_arm: float | None
    bend_radius: float
    source: str
    confidence: str

    @property
    def long_arms(self) -> tuple[float, ...]:
        """Lengths of the long arm in the standard, long and extra long series, as far as there are any."""
        return tuple(arm for arm in (self.long_arm, self.long_arm_long, self.long_arm_extra_long) if arm is not None)


@dataclass(frozen=True, kw_only=True)
class BitHolder:
    """A screwdriver bit with hexagon drive in a holder, DIN ISO 1173; mm. All but the drive size is from memory.

    Attributes:
        form: form and size of the drive, "C 6.3" (short bit) or "E 6.3" (long bit).
        drive: drive hexagon, across flats.
        across_corners: across corners of the drive hexagon, upper bound.
        bit_length: overall length of the bit.
        reach: length of the bit outside the holder; common practice, no source.
        holder_diameter: outside diameter of the holder, the larger one of those in use.
        source: where the values were taken from.
        confidence: memory, until the lengths and diameters are seen in a source.
    """

    form: str
    drive: float
    across_corners: float
    bit_length: float
    reach: float
    holder_diameter: float
    source: str
    confidence: str


@dataclass(frozen=True, kw_only=True)
class ParallelKey:
    """The parallel key of a shaft diameter, DIN 6885-1; mm.

    Attributes:
        width: width b.
        height: height h.
        length_range: shortest and longest standard length.
        shaft_depth: depth t1 of the keyseat in the shaft.
        hub_depth: depth t2 of the keyway in the hub.
        depth_tolerance: upper deviation of both depths; the lower one is 0.
        source: where the values were taken from.
        confidence: read, package, computed or memory.
    """

    width: float
    height: float
    length_range: tuple[float, float]
    shaft_depth: float
    hub_depth: float
    depth_tolerance: float
    source: str
    confidence: str


@lru_cache(maxsize=256)
def hex_key(key_size: float) -> HexKey:
    """The hexagon key of a size across flats in mm, 0.7 to 12 (ISO 2936).

    Raises:
        TableError: the size is not in the table.
    """
    row = table("hex_keys").row(key_size)
    size = row.number("key_size")
    return HexKey(
        key_size=size,
        across_corners=SHARP_HEXAGON * size,
        short_arm=row.number("short_arm"),
        long_arm=row.number("long_arm"),
        long_arm_long=row.maybe_number("long_arm_long"),
        long_arm_extra_long=row.maybe_number("long_arm_extra_long"),
        old_short_arm=row.maybe_number("old_short_arm"),
        old_long_arm=row.maybe_number("old_long_arm"),
        bend_radius=size,
        source=row.source,
        confidence=row.confidence,
    )


@lru_cache(maxsize=16)
def bit_holder(form: str = "C 6.3") -> BitHolder:
    """A bit of 6.3 mm (1/4 in) hexagon drive in its holder (DIN ISO 1173; lengths and diameters from memory).

    Args:
        form: "C 6.3" for the short bit, with which the holder comes nearest to the screw, or "E 6.3" for the long one.

    Raises:
        TableError: the form is not in the table.
    """
    row = table("bit_holders").row(form)
    return BitHolder(
        form=row.text("form"),
        drive=row.number("drive"),
        across_corners=SHARP_HEXAGON * row.number("drive"),
        bit_length=row.number("bit_length"),
        reach=row.number("bit_length") - row.number("seated"),
        holder_diameter=row.number("holder_diameter"),
        source=row.source,
        confidence=row.confidence,
    )


@lru_cache(maxsize=256)
def parallel_key(shaft_diameter: float) -> ParallelKey:
    """The parallel key of a shaft diameter in mm, over 6 to 58 (DIN 6885-1).

    Raises:
        TableError: the diameter is outside the table.
    """
    row = table("parallel_keys").containing(shaft_diameter, "shaft diameter")
    return ParallelKey(
        width=row.number("width"),
        height=row.number("height"),
        length_range=(row.number("length_min"), row.number("length_max")),
        shaft_depth=row.number("shaft_depth"),
        hub_depth=row.number("hub_depth"),
        depth_tolerance=row.number("depth_tolerance"),
        source=row.source,
        confidence=row.confidence,
    )
