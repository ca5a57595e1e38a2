"""How a dimension is refused: which one, what it is, and the range that works."""

from __future__ import annotations

import math

from fitcheck.errors import UsageError

LEAST_WALL = 0.3
"""Thinnest wall that a generator leaves standing, mm; common practice, no source."""

_SLACK = 1e-9


def _number(value: float) -> str:
    return f"{value:.4g}"


def within(subject: str, name: str, value: float, least: float, most: float, why: str) -> None:
    """Refuses a dimension out of its range.

    Args:
        subject: what is being built ("jaw coupling, motor hub").
        name: the dimension as the caller spells it.
        value: its value, mm unless the name says otherwise.
        least: the least value that works.
        most: the greatest value that works; may be infinite.
        why: what sets the range.

    Raises:
        UsageError: the value is out of the range, or no number.
    """
    if least - _SLACK <= value <= most + _SLACK:
        return
    if most < least:
        room = f"no value works here (at least {_number(least)} and at most {_number(most)} would be needed)"
    elif math.isinf(most):
        room = f"at least {_number(least)} works"
    else:
        room = f"{_number(least)} to {_number(most)} works"
    raise UsageError(f"{subject}: {name} {_number(value)} cannot be built; {room}: {why}")


def above_zero(subject: str, name: str, value: float) -> None:
    """Refuses a length that is not above zero; raises `UsageError`."""
    if not (value > 0 and math.isfinite(value)):
        raise UsageError(f"{subject}: {name} {_number(value)} cannot be built; a length above 0 mm works")
