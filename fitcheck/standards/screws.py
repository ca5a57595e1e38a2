"""Screws and holes: ISO 4762 cap screws, ISO 4026 and ISO 4029 set screws, ISO 273 clearance holes. Lengths mm."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from fitcheck.errors import TableError
from fitcheck.standards.table import table

HOLE_SERIES = ("fine", "medium", "coarse")


@dataclass(frozen=True, kw_only=True)
class CapScrew:
    """A hexagon socket head cap screw, ISO 4762, coarse pitch; mm.

    Attributes:
        size: thread size, "M3".
        diameter: nominal thread diameter.
        pitch: thread pitch.
        head_diameter: greatest diameter of a knurled head, the one to take for clearance.
        head_diameter_plain: greatest diameter of a plain head.
        head_height: greatest head height.
        key_size: nominal hexagon key size.
        socket_min: least size across flats of the socket.
        socket_max: greatest size across flats of the socket.
        socket_depth: least depth of the socket.
        bearing_diameter: least diameter of the head's bearing face.
        source: where the values were taken from.
        confidence: read, package, computed or memory.
    """

    size: str
    diameter: float
    pitch: float
    head_diameter: float
    head_diameter_plain: float
    head_height: float
    key_size: float
    socket_min: float
    socket_max: float
    socket_depth: float
    bearing_diameter: float
    source: str
    confidence: str


@dataclass(frozen=True, kw_only=True)
class SetScrew:
    """A hexagon socket set screw, ISO 4026 (flat point) or ISO 4029 (cup point); mm.

    Attributes:
        size: thread size, "M3".
        diameter: nominal thread diameter.
        key_size: nominal hexagon key size.
        socket_depth: least depth of the socket of the short screws.
        socket_depth_full: least depth of the socket of the longer screws.
        cup_diameter: diameter of the cup point.
        source: where the values were taken from.
        confidence: read, package, computed or memory.
    """

    size: str
    diameter: float
    key_size: float
    socket_depth: float
    socket_depth_full: float
    cup_diameter: float
    source: str
    confidence: str


@lru_cache(maxsize=256)
def cap_screw(size: str) -> CapScrew:
    """The cap screw of a thread size, M1.6 to M12 (ISO 4762).

    Raises:
        TableError: the size is not in the table.
    """
    row = table("cap_screws").row(size)
    return CapScrew(
        size=row.text("size"),
        diameter=row.number("diameter"),
        pitch=row.number("pitch"),
        head_diameter=row.number("head_diameter"),
        head_diameter_plain=row.number("head_diameter_plain"),
        head_height=row.number("head_height"),
        key_size=row.number("key_size"),
        socket_min=row.number("socket_min"),
        socket_max=row.number("socket_max"),
        socket_depth=row.number("socket_depth"),
        bearing_diameter=row.number("bearing_diameter"),
        source=row.source,
        confidence=row.confidence,
    )


@lru_cache(maxsize=256)
def set_screw(size: str) -> SetScrew:
    """The set screw of a thread size, M1.6 to M12 (ISO 4026 and ISO 4029).

    Raises:
        TableError: the size is not in the table.
    """
    row = table("set_screws").row(size)
    return SetScrew(
        size=row.text("size"),
        diameter=row.number("diameter"),
        key_size=row.number("key_size"),
        socket_depth=row.number("socket_depth"),
        socket_depth_full=row.number("socket_depth_full"),
        cup_diameter=row.number("cup_diameter"),
        source=row.source,
        confidence=row.confidence,
    )


@lru_cache(maxsize=256)
def clearance_hole(size: str, series: str = "medium") -> float:
    """Diameter in mm of the clearance hole for a screw, M1.6 to M12 (ISO 273).

    Args:
        size: thread size, "M3".
        series: fine, medium or coarse.

    Raises:
        TableError: the size or the series is not in the table.
    """
    if series not in HOLE_SERIES:
        msg = f"ISO 273 has no series {series!r}; it has {len(HOLE_SERIES)}: {', '.join(HOLE_SERIES)}"
        raise TableError(msg)
    return table("clearance_holes").row(size).number(series)
