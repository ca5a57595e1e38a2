"""Numbers in messages."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from math import ceil, floor

SIDES = ("motor", "actuator")


def number(value: float) -> str:
    """At most three decimals, without trailing zeros."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def mm(value: float) -> str:
    """A length with its unit."""
    return f"{number(value)} mm"


def degrees(value: float) -> str:
    """An angle to 0.1 degrees, with its unit."""
    return f"{value:.1f}°"


def shaft_angle(value: float) -> str:
    """A direction to 0.1 degrees, 0.0° to 359.9°."""
    return degrees(round(value, 1) % 360.0)


def rounded_down(value: float, digits: int = 2) -> float:
    """The next lower value of so many digits; a value within rounding of a digit keeps it."""
    scale = float(10**digits)
    return floor(value * scale + 1e-6) / scale


def rounded_up(value: float, digits: int = 2) -> float:
    """The next higher value of so many digits; a value within rounding of a digit keeps it."""
    scale = float(10**digits)
    return ceil(value * scale - 1e-6) / scale


def other(side: str) -> str:
    """The other of motor and actuator."""
    return "actuator" if side == "motor" else "motor"


def screws_text(names: Sequence[str]) -> str:
    """Screws in words, those of one hub together: "motor hub screw 1, actuator hub screws 2, 3"."""
    found: list[str] = []
    for whose, group in groupby(names, key=lambda name: name.rpartition(" ")[0]):
        numbers = [name.rpartition(" ")[2] for name in group]
        found.append(f"{whose}{'s' if len(numbers) > 1 else ''} {', '.join(numbers)}")
    return ", ".join(found)
