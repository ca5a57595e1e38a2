"""Standard motor frames: NEMA ICS 16 stepper motors and IEC 60072-1 flanges. Lengths mm.

The values of the IEC flanges are from memory; those of the NEMA frames are read, and makers deviate from them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import hypot, sqrt

from fitcheck.errors import TableError
from fitcheck.standards.fits import Limits, limits
from fitcheck.standards.table import Row, Table, nearest, plain, table

TABLES = ("nema_frames", "iec_flanges")

NEAR = 0.5
"""mm; a frame is named only when its pilot or bolts lie this close to what was measured; common practice, no source."""


@dataclass(frozen=True, kw_only=True)
class Frame:
    """The mounting face of a standard motor frame; mm.

    Attributes:
        name: "NEMA 23", "IEC FF130".
        standard: the document.
        register_diameter: diameter of the register.
        register_height: greatest height of the register above the seat.
        register_tolerance: ISO 286 class of the register, None where the standard gives limits of its own.
        register_lower: lower deviation of the register where there is no class, the upper being 0 (weak memory).
        layout: "square" or "circle".
        size: side of the square, or bolt circle diameter.
        bolt_circle: bolt circle diameter, as published.
        count: number of holes.
        tapped: whether the motor's own holes are tapped.
        screw: screw size; for plain NEMA holes the largest metric screw that passes (common practice, no source).
        hole: diameter of plain holes in the motor's flange, None for tapped ones.
        outside: side of a square body or outside diameter of a flange.
        shaft_diameters: usual shaft diameters; the drawing of the motor decides.
        note: where the sources disagree.
        source: where the values were taken from.
        confidence: read, package, computed or memory.
    """

    name: str
    standard: str
    register_diameter: float
    register_height: float
    register_tolerance: str | None
    register_lower: float | None
    layout: str
    size: tuple[float, ...]
    bolt_circle: float
    count: int
    tapped: bool
    screw: str | None
    hole: float | None
    outside: float
    shaft_diameters: tuple[float, ...]
    note: str | None
    source: str
    confidence: str


def frame(name: str) -> Frame:
    """The frame of a name; spaces, hyphens, case and a missing "IEC" do not matter ("nema23", "ff 130").

    Raises:
        TableError: there is no such frame; the message lists the nearest and how many there are.
    """
    frames = _frames()
    wanted = plain(name)
    for key in (wanted, f"IEC{wanted}"):
        if key in frames:
            return frames[key]
    names = frame_names()
    like = name if wanted.startswith(("NEMA", "IEC")) or not wanted.startswith("F") else f"IEC{wanted}"
    near = " and ".join(str(choice) for choice in nearest(like, names))
    msg = (
        f"there is no frame {name!r} in the tables; nearest: {near}. They have {len(names)} frames: "
        f"{names[0]} to {names[len(table(TABLES[0]).rows) - 1]}, IEC FF55 to FF265 and IEC FT55 to FT265"
    )
    raise TableError(msg)


def frame_names() -> tuple[str, ...]:
    """The names of all frames."""
    return tuple(found.name for found in _frames().values())


def register_limits(found: Frame) -> Limits:
    """Deviations of a frame's register from its diameter, mm.

    IEC spigots are j6 (EASA AR100, table 2-10); NEMA ICS 16 registers are +0/-0.002 in, a weak memory.

    Raises:
        TableError: the register is outside the tables.
    """
    if found.register_tolerance is not None:
        return limits(found.register_diameter, found.register_tolerance)
    assert found.register_lower is not None, found.name
    column = table("nema_frames").columns["register_lower"]
    return Limits(
        lower=found.register_lower,
        upper=0.0,
        source=f"{found.standard}: {column.doc}",
        confidence=column.confidence or found.confidence,
    )


def closest_frame(
    pilot_diameter: float | None,
    bolt_layout: str | None,
    bolt_size: tuple[float, ...],
    count: int,
) -> tuple[Frame, float] | None:
    """The frame whose register and bolt pattern come nearest to what an adapter has.

    The deviation of a frame is the greater of the difference between pilot bore and register diameter, and the distance
    of a hole from its place. A square of side a is a circle of 4 holes of diameter a*sqrt(2). What is None or empty is
    left out of the comparison, and frames with another number of holes are left out. There is always a nearest frame:
    whether it is near enough is for the caller to judge. FF and FT flanges of one number are alike here; FF is given.

    Args:
        pilot_diameter: of the pilot bore, mm.
        bolt_layout: circle, square or rectangle; None or irregular where there is no such pattern.
        bolt_size: bolt circle diameter, side, or both sides, mm.
        count: number of holes.

    Returns:
        The frame and its deviation in mm, or None where there is nothing to compare.
    """
    corner = _corner(bolt_layout, bolt_size)
    if pilot_diameter is None and corner is None:
        return None
    best: tuple[Frame, float] | None = None
    for found in _frames().values():
        if corner is not None and count != found.count:
            continue
        deviations = []
        if pilot_diameter is not None:
            deviations.append(abs(pilot_diameter - found.register_diameter))
        if corner is not None:
            place = _corner(found.layout, found.size)
            assert place is not None, found.name
            deviations.append(hypot(corner[0] - place[0], corner[1] - place[1]))
        worst = max(deviations)
        if best is None or worst < best[1]:
            best = found, worst
    return best


@dataclass(frozen=True, kw_only=True)
class NamedFrame:
    """The standard frame that an end comes nearest to, its deviation in mm, and whether its bolts alone tell it."""

    frame: Frame
    deviation: float
    bolts_alone: bool = False

    def words(self) -> str:
        """As a page names it: name, deviation, and where its numbers are from."""
        by = " by its bolts alone" if self.bolts_alone else ""
        known = "its table typed from memory" if self.frame.confidence == "memory" else self.frame.confidence
        return f"{self.frame.name}{by}, {self.deviation:.3g} mm off at most ({self.frame.standard}, {known})"


def named_frame(
    pilot_diameter: float | None, patterns: Sequence[tuple[str, tuple[float, ...], int]], within: float = NEAR
) -> NamedFrame | None:
    """The frame to name for an end: the one that pilot and a bolt pattern fit, else the one that bolts alone fit.

    Args:
        pilot_diameter: of the pilot bore, mm; None where there is none.
        patterns: layout, size (mm) and count of each bolt pattern.
        within: greatest deviation of a frame that is named, mm.
    """
    regular = [pattern for pattern in patterns if pattern[0] != "irregular"]
    tries = [closest_frame(pilot_diameter, *pattern) for pattern in regular]
    if not regular:
        tries = [closest_frame(pilot_diameter, None, (), 0)]
    for alone in (False, True):
        found = [pair for pair in tries if pair is not None and pair[1] <= within]
        if found:
            best = min(found, key=lambda pair: pair[1])
            return NamedFrame(frame=best[0], deviation=best[1], bolts_alone=alone and pilot_diameter is not None)
        tries = [closest_frame(None, *pattern) for pattern in regular]
    return None


def _corner(layout: str | None, size: tuple[float, ...]) -> tuple[float, float] | None:
    """Where the hole in the first quadrant of a pattern of 4 holes lies, from the pattern's centre."""
    if layout == "circle" and len(size) == 1:
        return size[0] / sqrt(8.0), size[0] / sqrt(8.0)
    if layout in ("square", "rectangle") and size:
        return size[0] / 2.0, size[-1] / 2.0
    return None


@lru_cache(maxsize=1)
def _frames() -> dict[str, Frame]:
    return {plain(found.name): found for name in TABLES for found in _read(table(name))}


def _read(source: Table) -> Iterator[Frame]:
    for row in source.rows:
        yield _frame(source, row)


def _frame(source: Table, row: Row) -> Frame:
    return Frame(
        name=row.text("name"),
        standard=source.standard,
        register_diameter=row.number("register_diameter"),
        register_height=row.number("register_height"),
        register_tolerance=row.maybe_text("register_tolerance"),
        register_lower=row.maybe_number("register_lower"),
        layout=row.text("layout"),
        size=row.numbers("size"),
        bolt_circle=row.number("bolt_circle"),
        count=int(row.number("count")),
        tapped=row.text("tapped") == "yes",
        screw=row.maybe_text("screw"),
        hole=row.maybe_number("hole"),
        outside=row.number("outside"),
        shaft_diameters=row.numbers("shaft_diameters"),
        note=row.note,
        source=row.source,
        confidence=row.confidence,
    )
