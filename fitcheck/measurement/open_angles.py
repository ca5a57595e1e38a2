"""The tool angles that are still open in cells of shaft angle, while triangle after triangle closes some.

Only ranges count that are wide enough for the swing and hold a free way in: what is narrower can but close further, and
is dropped at once. So what blocks nothing of the ranges left need not be looked at any more, and a cell without one is
decided. What hinders while turning hinders on the way in as well (`arm_angles`), so that ranges with a free way in lie
within those for turning.

Ranges and intervals of all cells lie on one line, each cell with a turn of its own, and are cut at angle 0.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.arm_angles import APART, Arm, BlockedAngles, Found
from fitcheck.measurement.intervals import TURN, merged, unwrapped
from fitcheck.measurement.obstacles import Floats

Open = tuple[Found, Found]
"""Open ranges for turning and for coming in: starts and ends in [0, 2 pi], ascending and disjoint in each cell, and the
cells, ascending."""


def all_open(count: int) -> Open:
    """Nothing blocked in any of so many cells."""
    every = np.zeros(count), np.full(count, TURN), np.arange(count)
    return every, every


def closed(still: Found, low: Floats, high: Floats, cell: NDArray[np.int64]) -> Found:
    """What blocked intervals (radians, any turn) in cells leave of open ranges."""
    if still[0].size == 0 or low.size == 0:
        return still
    low, high, cell = unwrapped(low, high, cell)
    shift, own = cell * APART, still[2] * APART
    low, high, first, last = low + shift, high + shift, still[0] + own, still[1] + own
    touching = np.flatnonzero(_touch(low, high, first, last))
    if touching.size == 0:
        return still
    # Between the open ranges everything is blocked.
    low, high = merged(
        np.concatenate([[-np.inf], last, low[touching]]), np.concatenate([first, [np.inf], high[touching]])
    )
    first, last = high[:-1], low[1:]
    owner = np.floor((first + 0.5) / APART).astype(np.int64)
    own = owner * APART
    # A range up to the cut at a full turn ends there exactly, so that it goes on at angle 0.
    return first - own, np.where(last == TURN + own, TURN, last - own), owner


def usable(turning: Found, coming: Found, least: float) -> Open:
    """The open ranges of at least so many radians that hold a free way in, and the ways in that lie in them."""
    low, high, cell = turning
    if low.size == 0:
        return turning, turning
    first, last = _joined(turning)
    width = high - low
    width[first] = width[last] = width[first] + width[last]
    keep = width >= least
    begin, end, whose = coming
    middle = 0.5 * (begin + end) + whose * APART
    at = np.searchsorted(low + cell * APART, middle, side="right") - 1
    within = (at >= 0) & (middle <= (high + cell * APART)[np.maximum(at, 0)])
    enters = np.zeros(low.size, dtype=bool)
    enters[at[within]] = True
    enters[first] = enters[last] = enters[first] | enters[last]
    keep &= enters
    within[within] = keep[at[within]]
    return (low[keep], high[keep], cell[keep]), (begin[within], end[within], whose[within])


def widest(turning: Found) -> float:
    """The widest of open ranges, radians; 0 without any."""
    width = turning[1] - turning[0]
    first, last = _joined(turning)
    width[first] += width[last]
    return float(width.max(initial=0.0))


def _joined(ranges: Found) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """The ranges that begin at angle 0, and those that end there and are one with them, a full turn before."""
    low, high, cell = ranges
    ends = np.flatnonzero(cell[1:] != cell[:-1])
    first, last = np.concatenate([[0], ends + 1]), np.concatenate([ends, [cell.size - 1]])
    over = (low[first] == 0.0) & (high[last] == TURN) & (first != last) if low.size else np.zeros(1, dtype=bool)
    return first[over], last[over]


def touches(low: Floats, high: Floats, cell: NDArray[np.int64], still: Found) -> NDArray[np.bool_]:
    """Which intervals (radians, any turn), each in a cell, reach into an open range."""
    found = np.zeros(low.size, dtype=bool)
    if still[0].size == 0 or low.size == 0:
        return found
    low, high, row = unwrapped(low, high, np.arange(low.size))
    shift, own = cell[row] * APART, still[2] * APART
    found[row[_touch(low + shift, high + shift, still[0] + own, still[1] + own)]] = True
    return found


def _touch(low: Floats, high: Floats, first: Floats, last: Floats) -> NDArray[np.bool_]:
    """Which intervals overlap one of disjoint ascending ranges."""
    at = np.searchsorted(last, low, side="right")
    return np.asarray((at < first.size) & (first[np.minimum(at, first.size - 1)] < high))


def without(still: Open, blocked: tuple[Found, Found], arm: Arm, least: float) -> Open:
    """What an arm can use, with at least so many radians, of what blocked intervals in cells leave open."""
    turning, coming = (
        closed(one, *_all_round(*found, arm)) for one, found in zip(still, blocked, strict=True)
    )  # fmt: skip
    return usable(turning, coming, least)


def beside_fixed(fixed: Sequence[BlockedAngles], arm: Arm, least: float) -> Open:
    """What an arm can use in cells beside what is blocked in each whatever the shaft angle."""
    count = len(fixed)
    every: list[Found] = []
    for angles in ([one.turning for one in fixed], [one.coming for one in fixed]):
        cell = np.repeat(np.arange(count), [low.size for low, _ in angles])
        every.append((np.concatenate([low for low, _ in angles]), np.concatenate([high for _, high in angles]), cell))
    return without(all_open(count), (every[0], every[1]), arm, least)


def has_open(still: Open, count: int) -> NDArray[np.bool_]:
    """Which of so many cells have an open range left."""
    found = np.zeros(count, dtype=bool)
    found[still[0][2]] = True
    return found


def _all_round(
    low: Floats, high: Floats, cell: NDArray[np.int64], arm: Arm
) -> tuple[Floats, Floats, NDArray[np.int64]]:  # fmt: skip
    """What an arm to both sides is hindered by on either side."""
    if not arm.both_sides:
        return low, high, cell
    return np.concatenate([low, low + np.pi]), np.concatenate([high, high + np.pi]), np.concatenate([cell, cell])
