"""Low, nominal and high values of one quantity, and the checks of inputs that all formulas share."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from fitcheck.errors import UsageError


@dataclass(frozen=True, kw_only=True)
class Bounds:
    """A value with what it may be at least and at most; a drive is judged on the side that is worse for it.

    Raises:
        UsageError: the three are not in order, or one is not finite.
    """

    low: float
    nominal: float
    high: float

    def __post_init__(self) -> None:
        if not all(isfinite(value) for value in (self.low, self.nominal, self.high)):
            raise UsageError(f"low, nominal and high must be finite; found {self.low}, {self.nominal}, {self.high}")
        if not self.low <= self.nominal <= self.high:
            raise UsageError(f"low <= nominal <= high is needed; found {self.low:g}, {self.nominal:g}, {self.high:g}")

    def times(self, factor: float) -> Bounds:
        """All three multiplied by a factor of at least 0."""
        at_least_zero(factor=factor)
        return Bounds(low=self.low * factor, nominal=self.nominal * factor, high=self.high * factor)


def exactly(value: float) -> Bounds:
    """Bounds of a value that is known."""
    return Bounds(low=value, nominal=value, high=value)


def finite(**values: float) -> None:
    """Check that inputs are finite numbers.

    Raises:
        UsageError: one is not; the message names it.
    """
    for name, value in values.items():
        if not isfinite(value):
            raise UsageError(f"{name} must be a finite number; found {value}")


def above_zero(**values: float) -> None:
    """Check that inputs are finite and greater than 0.

    Raises:
        UsageError: one is not; the message names it.
    """
    finite(**values)
    for name, value in values.items():
        if value <= 0.0:
            raise UsageError(f"{name} must be greater than 0; found {value:g}")


def at_least_zero(**values: float) -> None:
    """Check that inputs are finite and not negative.

    Raises:
        UsageError: one is not; the message names it.
    """
    finite(**values)
    for name, value in values.items():
        if value < 0.0:
            raise UsageError(f"{name} must be at least 0; found {value:g}")


def within(least: float, most: float, **values: float) -> None:
    """Check that inputs lie between two limits, the limits included.

    Raises:
        UsageError: one does not; the message names it and the limits.
    """
    finite(**values)
    for name, value in values.items():
        if not least <= value <= most:
            raise UsageError(f"{name} must be between {least:g} and {most:g}; found {value:g}")
