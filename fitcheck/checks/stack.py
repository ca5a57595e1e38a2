"""A tolerance stack: one size that others add to, as nominal, worst case and root sum square."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt


@dataclass(frozen=True, kw_only=True)
class Contribution:
    """What one size adds to the stack, mm: anything from `low` to `high`."""

    name: str
    low: float
    high: float

    @property
    def middle(self) -> float:
        """Its mean, mm."""
        return 0.5 * (self.low + self.high)

    @property
    def half(self) -> float:
        """Half its width, mm."""
        return 0.5 * (self.high - self.low)


def plus_minus(name: str, size: float) -> Contribution:
    """A contribution to either side."""
    return Contribution(name=name, low=-size, high=size)


def loss(name: str, size: float) -> Contribution:
    """A contribution that only takes off, from nothing to `size`."""
    return Contribution(name=name, low=-size, high=0.0)


@dataclass(frozen=True, kw_only=True)
class Stack:
    """A nominal size and what adds to it, mm."""

    nominal: float
    contributions: tuple[Contribution, ...]

    @property
    def worst(self) -> float:
        """The least it can come to: every contribution at its worst."""
        return self.nominal + sum(part.low for part in self.contributions)

    @property
    def root_sum_square(self) -> float:
        """The mean less the root of the sum of squares of the half widths: the usual estimate of the least.

        With independent normal contributions whose half widths are three standard deviations each, 0.135 % of the
        assemblies come to less.
        """
        mean = self.nominal + sum(part.middle for part in self.contributions)
        return mean - sqrt(sum(part.half**2 for part in self.contributions))

    @property
    def largest(self) -> Contribution | None:
        """The contribution that matters most; None where none matters."""
        most = max(self.contributions, key=lambda part: part.high - part.low, default=None)
        return None if most is None or most.half <= 0.0 else most

    @property
    def turned(self) -> Stack:
        """The same stack with all signs turned: its least is what this one comes to at most."""
        parts = tuple(replace(part, low=-part.high, high=-part.low) for part in self.contributions)
        return Stack(nominal=-self.nominal, contributions=parts)

    def tried(self, limit: float, trials: int, seed: int) -> tuple[float, float]:
        """Monte Carlo: every contribution uniform over its width, which is the flattest that keeps to it.

        Args:
            limit: mm.
            trials: how many assemblies.
            seed: the same seed gives the same answer.

        Returns:
            The share of assemblies below the limit, and the size that 0.135 % come below, mm.
        """
        import numpy as np

        draw = np.random.Generator(np.random.PCG64(seed))
        size = np.full(trials, self.nominal)
        for part in self.contributions:
            size += draw.uniform(part.low, part.high, trials)
        return float(np.mean(size < limit)), float(np.quantile(size, 0.00135))
