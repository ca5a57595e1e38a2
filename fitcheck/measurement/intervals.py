"""Unions of closed intervals on the circle of shaft angles, and the gaps between them. Angles in radians, in arrays."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.obstacles import Floats

TURN = 2.0 * np.pi
_SLIVER = 1e-9
"""Gaps narrower than this (radians) are rounding, not free angles."""


@dataclass(frozen=True, kw_only=True)
class Gap:
    """A free range of angles between blocked ones, degrees: `start` in [0, 360), `stop` in (start, start + 360].

    `start_owner` and `stop_owner` own the blocked intervals at either side; -1 where nothing is blocked at all.
    """

    start: float
    stop: float
    start_owner: int
    stop_owner: int

    @property
    def width(self) -> float:
        """Degrees."""
        return self.stop - self.start


def unwrapped(low: Floats, high: Floats, owner: NDArray[np.int64]) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """Intervals cut at angle 0, so that all lie in [0, 2 pi].

    Args:
        low: shape (n,), starts, any multiple of a turn away.
        high: shape (n,), ends, at least `low`.
        owner: shape (n,), whose each is.

    Returns:
        Starts, ends and owners; an interval over angle 0 becomes two.
    """
    width = np.minimum(high - low, TURN)
    # Much quicker than `mod`; rounded below 0 it is 0.
    low = np.maximum(low - TURN * np.floor(low / TURN), 0.0)
    high = low + width
    over = np.flatnonzero(high > TURN)
    if over.size == 0:
        return low, high, owner
    return (
        np.concatenate([low, np.zeros(over.size)]),
        np.concatenate([np.minimum(high, TURN), high[over] - TURN]),
        np.concatenate([owner, owner[over]]),
    )


def apart(angle: Floats, reference: Floats) -> Floats:
    """`angle - reference`, radians, brought into [-pi, pi]."""
    step = angle - reference
    return np.asarray(step - TURN * np.rint(step / TURN))


def merged(low: Floats, high: Floats) -> tuple[Floats, Floats]:
    """The disjoint union, in ascending order, of intervals on a line."""
    if low.size == 0:
        return low, high
    order = np.argsort(low, kind="stable")
    low, reach = low[order], np.maximum.accumulate(high[order])
    first = np.flatnonzero(np.concatenate([[True], low[1:] > reach[:-1] + _SLIVER]))
    last = np.concatenate([first[1:] - 1, [low.size - 1]])
    return low[first], reach[last]


def covered(low: Floats, high: Floats, union_low: Floats, union_high: Floats) -> NDArray[np.bool_]:
    """Which intervals lie within one interval of a disjoint ascending union."""
    if union_low.size == 0:
        return np.zeros(low.size, dtype=bool)
    at = np.searchsorted(union_low, low, side="right") - 1
    return np.asarray((at >= 0) & (high <= union_high[np.maximum(at, 0)]))


def gaps(low: Floats, high: Floats, owner: NDArray[np.int64]) -> tuple[Gap, ...]:
    """What the union of blocked intervals leaves free on the circle, in ascending order of start.

    Args:
        low: shape (n,), starts in radians.
        high: shape (n,), ends.
        owner: shape (n,), whose each is; told with the gaps beside it.
    """
    if low.size == 0:
        return (Gap(start=0.0, stop=360.0, start_owner=-1, stop_owner=-1),)
    low, high, owner = unwrapped(low, high, owner)
    order = np.argsort(low, kind="stable")
    low, high, owner = low[order], high[order], owner[order]
    reach = np.maximum.accumulate(high)
    record = np.concatenate([[True], high[1:] > reach[:-1]])
    holder = np.maximum.accumulate(np.where(record, np.arange(low.size), 0))
    breaks = np.flatnonzero(low[1:] > reach[:-1] + _SLIVER)
    found = [
        Gap(
            start=float(np.degrees(reach[i])),
            stop=float(np.degrees(low[i + 1])),
            start_owner=int(owner[holder[i]]),
            stop_owner=int(owner[i + 1]),
        )
        for i in breaks
    ]
    if TURN - reach[-1] + low[0] > _SLIVER:
        start, stop = float(np.degrees(reach[-1])), float(np.degrees(low[0])) + 360.0
        owners = {"start_owner": int(owner[holder[-1]]), "stop_owner": int(owner[0])}
        if start >= 360.0 - 1e-9:
            found.insert(0, Gap(start=0.0, stop=stop - 360.0, **owners))
        else:
            found.append(Gap(start=start, stop=stop, **owners))
    return tuple(found)


def common(first: tuple[Gap, ...], second: tuple[Gap, ...]) -> tuple[tuple[float, float], ...]:
    """The angles in both of two sets of free ranges, degrees, as (start, stop) with start in [0, 360).

    A range over angle 0 stays one range.
    """
    found: list[tuple[float, float]] = []
    for one in first:
        for other in second:
            for shift in (-360.0, 0.0, 360.0):
                start, stop = max(one.start, other.start + shift), min(one.stop, other.stop + shift)
                if stop > start:
                    turn = 360.0 * np.floor(start / 360.0)
                    found.append((float(start - turn), float(stop - turn)))
    return tuple(sorted(set(found)))


def united(ranges: Iterable[Gap]) -> tuple[Gap, ...]:
    """The union of free ranges on the circle, degrees, in ascending order of start."""
    every = list(ranges)
    if not every:
        return ()
    if any(gap.width >= 360.0 for gap in every):
        return gaps(np.empty(0), np.empty(0), np.empty(0, dtype=np.int64))
    low, high = (np.radians([getattr(gap, end) for gap in every]) for end in ("start", "stop"))
    blocked = gaps(low, high, np.zeros(low.size, dtype=np.int64))
    if not blocked:
        return gaps(np.empty(0), np.empty(0), np.empty(0, dtype=np.int64))
    low, high = (np.radians([getattr(gap, end) for gap in blocked]) for end in ("start", "stop"))
    return gaps(low, high, np.full(low.size, -1, dtype=np.int64))
