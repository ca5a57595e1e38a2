"""What cup point set screws hold on a shaft."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from fitcheck.errors import TableError
from fitcheck.mechanics.bounds import Bounds, above_zero, at_least_zero, finite
from fitcheck.standards.screws import set_screw
from fitcheck.standards.strength import SetScrewHolding, set_screw_holding
from fitcheck.standards.table import table, weakest

STATIC_SAFETY = (1.5, 2.0)
"""Safety on the holding force of steady loads (Shigley, 9th ed., p. 390, read)."""

DYNAMIC_SAFETY = (4.0, 8.0)
"""Safety on the holding force of changing loads (Shigley, 9th ed., p. 390, read)."""

SOFT_POINT_LOSS = 0.15
"""Loss where the screw is not at least 10 HRC harder than the shaft (a fastener maker's manual, read)."""


TOGETHER = ((0.0, 2.0), (60.0, 1.75), (180.0, 1.3))
"""What two equal set screws hold beside one, by the angle between them in degrees, linear between (memory). That it is
less than twice as much, and goes by the angle, is read: a maker's page on set screws, studylib 18241577 (Fig. 1)."""


@dataclass(frozen=True, kw_only=True)
class CupPoint:
    """A metric cup point set screw between its neighbours in the inch table.

    Attributes:
        seating_torque: N·m, interpolated.
        force: at the shaft's surface, N: the smaller neighbour, interpolated, the larger neighbour.
        source: where the values were taken from.
        confidence: the weaker mark; memory for most sizes.
    """

    seating_torque: float
    force: Bounds
    source: str
    confidence: str


def cup_point(size: str) -> CupPoint:
    """Seating torque and holding force of a metric cup point set screw, interpolated by diameter in the inch table.

    Args:
        size: "M2" to "M12", or "M1.6".

    Returns:
        The seating torque and the force as low (next smaller inch screw), nominal (linear between the neighbours) and
        high (next larger one). Real joints scatter by some tens of per cent about the nominal value.

    Raises:
        TableError: the size is not a set screw's, or has no neighbour on both sides.

    Source: Shigley, 9th ed., table 7-4 (memory from #3, read below it); definition of holding: slip of 0.010 in on
    a shaft of HRC 15 (read). Interpolation between inch sizes is computed.
    """
    diameter = set_screw(size).diameter
    rows = [set_screw_holding(row.text("size")) for row in table("set_screw_holding").rows]
    below = [row for row in rows if row.diameter <= diameter]
    above = [row for row in rows if row.diameter >= diameter]
    if not below or not above:
        msg = (
            f"no holding force for {size}: the table covers {rows[0].diameter:.3g} to {rows[-1].diameter:.3g} mm and "
            "is not extrapolated"
        )
        raise TableError(msg)
    return _between(max(below, key=_diameter), min(above, key=_diameter), diameter)


def holding_torque(
    size: str, shaft_mm: float, count: int = 1, torque: float | None = None, hard_point: bool = False
) -> Bounds:
    """Torque at which set screws slip on the shaft: T = n F d/2, without any safety factor.

    Args:
        size: "M4".
        shaft_mm: diameter of the shaft.
        count: screws in a row along the shaft, which add up; for screws at an angle see `second_share`.
        torque: that they are tightened with, N·m; below the seating torque the force falls in proportion, above it
            nothing is added. None takes the seating torque.
        hard_point: whether the screw is known to be 10 HRC harder than the shaft; else the low value loses 15 %.

    Returns:
        N·m. Judge on the low value with `STATIC_SAFETY` or `DYNAMIC_SAFETY`.

    Raises:
        TableError: the size is outside the table.
        UsageError: the shaft, the count or the torque is out of its range.

    Source: as `cup_point`; the torque columns of the table are F d/2 (read); fall in proportion to torque computed
    from the screw's linear preload.
    """
    above_zero(shaft_mm=shaft_mm, count=count)
    point = cup_point(size)
    share = 1.0
    if torque is not None:
        at_least_zero(torque=torque)
        share = min(1.0, torque / point.seating_torque)
    whole = point.force.times(share * count * shaft_mm / 2000.0)
    low = whole.low if hard_point else whole.low * (1.0 - SOFT_POINT_LOSS)
    return Bounds(low=low, nominal=whole.nominal, high=whole.high)


def second_share(angle: float) -> float:
    """What a second, equal set screw adds to the first, as a share of it, by the angle between both.

    Args:
        angle: degrees, any.

    Returns:
        1 for two in a row along the shaft, 0.3 for two opposite each other.

    Raises:
        UsageError: the angle is not finite.

    Source: as `TOGETHER` (memory).
    """
    finite(angle=angle)
    between = abs((angle + 180.0) % 360.0 - 180.0)
    (low, first), (high, last) = next(pair for pair in pairwise(TOGETHER) if between <= pair[1][0])
    return first + (last - first) * (between - low) / (high - low) - 1.0


def _diameter(holding: SetScrewHolding) -> float:
    return holding.diameter


def _between(low: SetScrewHolding, high: SetScrewHolding, diameter: float) -> CupPoint:
    width = high.diameter - low.diameter
    part = 0.0 if width == 0.0 else (diameter - low.diameter) / width
    force = low.holding_force + part * (high.holding_force - low.holding_force)
    return CupPoint(
        seating_torque=low.seating_torque + part * (high.seating_torque - low.seating_torque),
        force=Bounds(low=low.holding_force, nominal=force, high=high.holding_force),
        source=low.source if low.source == high.source else f"{low.source}; {high.source}",
        confidence=weakest((low.confidence, high.confidence)),
    )
