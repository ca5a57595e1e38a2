"""ISO 286 limits and fits, for nominal sizes over 0 to 250 mm."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from fitcheck.errors import TableError
from fitcheck.standards.table import Row, table, weakest

GRADES = (5, 6, 7, 8, 9, 10, 11)
_CLASS = re.compile(r"([A-Za-z]{1,2})(\d{1,2})")
_MIRRORED = {"F": "f", "G": "g"}
_BY_RULE = ("h", "H", "js", "JS")


@dataclass(frozen=True, kw_only=True)
class Limits:
    """Deviations of a size from its nominal, mm, with the sources and the mark of the values behind them."""

    lower: float
    upper: float
    source: str
    confidence: str

    @property
    def tolerance(self) -> float:
        """Width of the tolerance, mm."""
        return self.upper - self.lower


@dataclass(frozen=True, kw_only=True)
class Play:
    """Diametral play of a shaft in a hole, mm; negative values are interference."""

    least: float
    greatest: float


@lru_cache(maxsize=1024)
def limits(nominal: float, tolerance_class: str) -> Limits:
    """The limit deviations of an ISO 286 class at a nominal size.

    Shafts f, g, h, js, m, n, p and holes F, G, H, JS with grades 5 to 11; k with grades 5 to 7; j6; J7. F and G mirror
    f and g (general rule of ISO 286-1); js and JS are plus and minus half the standard tolerance, not rounded.

    Args:
        nominal: nominal size, mm, over 0 to 250.
        tolerance_class: "H7", "g6", "js6"; capital letters are holes, small ones shafts.

    Returns:
        Lower and upper deviation in mm.

    Raises:
        TableError: the class or the size is outside the tables.
    """
    symbol, grade = _parsed(tolerance_class)
    tolerances = table("tolerance_grades").containing(nominal, "nominal size")
    width = tolerances.number(f"it{grade}")
    rows = [tolerances]
    lower: float
    upper: float
    if symbol in ("H", "h"):
        lower, upper = (0.0, width) if symbol == "H" else (-width, 0.0)
    elif symbol in ("JS", "js"):
        lower, upper = -width / 2, width / 2
    else:
        shaft_or_hole = _MIRRORED.get(symbol, symbol)
        row = table("deviations").containing(nominal, "nominal size", symbol=shaft_or_hole)
        rows.append(row)
        lower, upper = _completed(row, width)
        if symbol in _MIRRORED:
            lower, upper = -upper, -lower
    return Limits(
        lower=lower / 1000.0,
        upper=upper / 1000.0,
        source="ISO 286-1, after " + "; ".join(dict.fromkeys(row.source for row in rows)),
        confidence=weakest(row.confidence for row in rows),
    )


def play(nominal: float, hole_class: str, shaft_class: str) -> Play:
    """Least and greatest play in mm of a fit, as `play(50, "H7", "g6")`.

    Raises:
        TableError: a class or the size is outside the tables.
    """
    hole, shaft = limits(nominal, hole_class), limits(nominal, shaft_class)
    return Play(least=hole.lower - shaft.upper, greatest=hole.upper - shaft.lower)


@lru_cache(maxsize=1)
def tolerance_classes() -> tuple[str, ...]:
    """Every class that `limits` knows."""
    grades: dict[str, tuple[int, ...]] = dict.fromkeys((*_BY_RULE, *_MIRRORED), GRADES)
    for row in table("deviations").rows:
        grades[row.text("symbol")] = tuple(int(grade) for grade in row.numbers("grades")) or GRADES
    return tuple(f"{symbol}{grade}" for symbol in sorted(grades) for grade in grades[symbol])


def _parsed(tolerance_class: str) -> tuple[str, int]:
    known = tolerance_classes()
    wanted = tolerance_class.replace(" ", "")
    found = _CLASS.fullmatch(wanted)
    if found is None or wanted not in known:
        alike = [name for name in known if found and name.rstrip("0123456789") == found[1]]
        near = f"; nearest: {', '.join(alike)}" if alike else ""
        msg = (
            f"ISO 286-1: tolerance class {tolerance_class!r} is not in the tables{near}. They have "
            f"{len(known)} classes: shafts f, g, h, js, m, n, p and holes F, G, H, JS with grades 5 to 11, "
            "k5 to k7, j6 and J7; capital letters are holes"
        )
        raise TableError(msg)
    return found[1], int(found[2])


def _completed(row: Row, width: float) -> tuple[float, float]:
    lower, upper = row.maybe_number("lower"), row.maybe_number("upper")
    if lower is None:
        upper = row.number("upper")
        lower = upper - width
    elif upper is None:
        upper = lower + width
    return lower, upper
