"""Tool angles that are blocked for a tool with an arm (L-shaped key, T-handle), at one shaft angle.

In the frame of a screw across the drive axis a point has the height t along the screw's direction and the place (v, w)
beside the screw's axis, v to the left, w along the drive axis; a tool angle psi turns from v to w. An arm is made of
bars: at tool angle psi a bar fills the heights `low` to `high` and, in (v, w), all within `half_width` of the ray in
the direction psi, up to `length` from the screw's axis. So a point at distance d and direction phi blocks

    every psi                                  where d <= half_width,
    |psi - phi| <= asin(half_width / d)        where half_width < d <= length,

and a line segment blocks one interval, with its ends where the segment is cut by the circle of radius `length`, or at
the point nearest to the screw's axis (on either side of it both bounds run steadily, as in `corridor`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import radians

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.intervals import TURN, merged, unwrapped
from fitcheck.measurement.obstacles import Floats
from fitcheck.measurement.outlines import least, most, outlines

FAR = 1e6
SLIVER = 1e-9
_LEVEL = 1e-9
"""mm; a line whose ends differ less along the drive axis runs square to it."""
APART = TURN + 1.0
"""How far apart the turns of two cells lie on the line that they are merged on."""

_BOTH, _TURNING, _COMING = 0, 1, 2
"""What a cut of a triangle counts for: the swing and the way in, or one of them."""

Intervals = tuple[Floats, Floats]
Found = tuple[Floats, Floats, NDArray[np.int64]]
"""Lower and upper ends in radians, and the row that each interval came from."""
NO_INTERVALS: Intervals = (np.empty(0), np.empty(0))
EVERY_ANGLE: Intervals = (np.zeros(1), np.full(1, TURN))


@dataclass(frozen=True, kw_only=True)
class Bar:
    """One bar of an arm, mm: heights `low` to `high` (screw's direction), `half_width`, and reach from the screw."""

    low: float
    high: float
    half_width: float
    length: float


@dataclass(frozen=True, kw_only=True)
class Arm:
    """The arm of a tool: its bars, the swing in degrees that it has to make, and whether it lies to both sides.

    A tool is put on along the screw's axis, from far outside. With a `way` it comes in beside the axis instead, along
    its own arm: `way` are the bars that all of it sweeps so, and what lies above them does not hinder. They hold all of
    the arm's bars, so that where the way in is free, the arm is.
    """

    bars: tuple[Bar, ...]
    swing: float
    both_sides: bool = False
    way: tuple[Bar, ...] = ()

    @property
    def every(self) -> tuple[Bar, ...]:
        """Its bars, and those of its way in."""
        return *self.bars, *self.way

    @property
    def low(self) -> float:
        """Height of its lowest point, mm."""
        return min(bar.low for bar in self.every)

    @property
    def length(self) -> float:
        """Its farthest reach from the screw's axis, mm; that of its way in, where it has one."""
        return max(bar.length for bar in self.every)

    def grown(self, by: float) -> Arm:
        """Larger all round by so many mm."""
        bars, way = (
            tuple(
                replace(
                    bar, low=bar.low - by, high=bar.high + by, half_width=bar.half_width + by, length=bar.length + by
                )
                for bar in every
            )
            for every in (self.bars, self.way)
        )
        return replace(self, bars=bars, way=way)


@dataclass(frozen=True, kw_only=True)
class BlockedAngles:
    """Tool angles (radians) that are blocked at every shaft angle: while working, and on the way in."""

    turning: Intervals = NO_INTERVALS
    coming: Intervals = NO_INTERVALS

    def __or__(self, other: BlockedAngles) -> BlockedAngles:
        return BlockedAngles(turning=_joined(self.turning, other.turning), coming=_joined(self.coming, other.coming))


@dataclass(frozen=True, kw_only=True, eq=False)
class Spread:
    """How far each triangle may lie off its place, mm; negative: by how much it is smaller all the way.

    `up` is in height, and `aside` across the screw's axis, `slide` of it along v alone.
    """

    up: Floats
    aside: Floats
    slide: Floats

    def only(self, rows: NDArray[np.int64]) -> Spread:
        """Some of the triangles' spreads."""
        return Spread(up=self.up[rows], aside=self.aside[rows], slide=self.slide[rows])


def blocked_by_rectangle(
    arm: Arm, level_half_width: Sequence[float | None], offset: float, start: float, stop: float
) -> BlockedAngles:
    """Tool angles blocked by a body that is round about the drive axis.

    Args:
        arm: the arm.
        level_half_width: for each bar half the body's width across at the bar's lowest height; None where it ends
            below that.
        offset: the screw's offset, mm.
        start: where the body begins along the drive axis, from the screw's station, mm.
        stop: where it ends.
    """
    blocked = BlockedAngles()
    for bar, half in zip(arm.bars, level_half_width, strict=True):
        if half is None:
            continue
        left, right = -offset - half, -offset + half
        if left <= 0.0 <= right and start <= 0.0 <= stop:
            return BlockedAngles(turning=EVERY_ANGLE, coming=EVERY_ANGLE)
        corners = np.array([(left, start), (right, start), (right, stop), (left, stop)])
        count = np.ones(4)
        low, high, _ = ray_intervals(corners, np.roll(corners, -1, axis=0), bar.half_width * count, bar.length * count)
        blocked = blocked | BlockedAngles(turning=(low, high), coming=(low, high))
    return blocked


def blocked_by_triangles(arm: Arm, triangles: Floats) -> BlockedAngles:
    """Tool angles blocked by triangles that turn with the screw; shape (n, 3, 3) in (t, v, w)."""
    if triangles.shape[0] == 0:
        return BlockedAngles()
    nothing = np.zeros(triangles.shape[0])
    turn, come = arm_intervals(triangles, arm, Spread(up=nothing, aside=nothing, slide=nothing))
    return BlockedAngles(turning=turn[:2], coming=come[:2])


def ray_intervals(
    first: Floats, second: Floats, half_width: Floats, length: Floats
) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """Directions (radians) in which a bar from the origin meets line segments in the plane.

    Args:
        first: shape (n, 2), first ends.
        second: shape (n, 2), second ends.
        half_width: shape (n,), half the bar's width.
        length: shape (n,), how far the bar reaches.

    Returns:
        Lower and upper ends, and the segment (index) of each interval.
    """
    # Columns, and roots of squares: much quicker than rows of two and `hypot`.
    x, y = first[:, 0], first[:, 1]
    dx, dy = second[:, 0] - x, second[:, 1] - y
    square, along = dx * dx + dy * dy, x * dx + y * dy
    beyond = x * x + y * y - length**2
    point_like = square < 1e-24
    under_root = along**2 - square * beyond
    divisor = np.where(point_like, 1.0, square)
    root = np.sqrt(np.maximum(under_root, 0.0))
    enter, leave = (-along - root) / divisor, (root - along) / divisor
    inside = np.where(point_like, beyond <= 0.0, (under_root >= 0.0) & (enter <= 1.0) & (leave >= 0.0))
    rows = np.flatnonzero(inside & (half_width > 0.0))
    x, y, dx, dy, half_width = x[rows], y[rows], dx[rows], dy[rows], half_width[rows]
    point_like = point_like[rows]
    enter = np.where(point_like, 0.0, np.maximum(enter[rows], 0.0))
    leave = np.where(point_like, 1.0, np.minimum(leave[rows], 1.0))
    foot = np.where(point_like, 0.0, -along[rows] / divisor[rows])
    foot = np.minimum(np.maximum(foot, enter), leave)
    near_x, near_y = x + foot * dx, y + foot * dy
    distance = np.sqrt(near_x * near_x + near_y * near_y)
    high = np.arcsin(np.minimum(half_width / np.maximum(distance, 1e-12), 1.0))
    low = -high
    for t in (enter, leave):
        there_x, there_y = x + t * dx, y + t * dy
        turned = np.arctan2(near_x * there_y - near_y * there_x, near_x * there_x + near_y * there_y)
        away = np.sqrt(there_x * there_x + there_y * there_y)
        half = np.arcsin(np.minimum(half_width / np.maximum(away, 1e-12), 1.0))
        low, high = np.minimum(low, turned - half), np.maximum(high, turned + half)
    phi, every = np.arctan2(near_y, near_x), distance <= half_width
    return np.where(every, 0.0, phi + low), np.where(every, TURN, phi + high), rows


def arm_intervals(local: Floats, arm: Arm, spread: Spread) -> tuple[Found, Found]:
    """What the bars of an arm meet while it turns, and on its way in.

    Material below a bar's highest place is the same for both. All bars and cuts are taken in one go, since the arrays
    are short.

    Args:
        local: shape (n, 3, 3), triangles in (t, v, w).
        arm: the arm.
        spread: how far each may lie off its place.

    Returns:
        Blocked tool angles while turning, and on the way in; rows are triangles.
    """
    top, bottom = most(local[:, :, 0]), least(local[:, :, 0])
    left, along = local[:, :, 1], local[:, :, 2]
    aside = np.maximum(np.maximum(least(left), -most(left)), 0.0)
    away = np.maximum(np.maximum(least(along), -most(along)), 0.0)
    off = aside**2 + away**2
    rows, lows, highs, lengths, widths, slides, uses = [], [], [], [], [], [], []
    for number, bar in enumerate(arm.every):
        low, high = bar.low - spread.up, bar.high + spread.up
        length, width = bar.length + spread.aside, bar.half_width + spread.aside
        reach = np.maximum(length - np.minimum(spread.slide, 0.0), 0.0)
        near = (top >= low) & (low <= high) & (off <= reach**2) & (width > np.minimum(spread.slide, 0.0))
        beyond = np.full(low.size, FAR)
        if arm.way:
            kinds = [(_TURNING if number < len(arm.bars) else _COMING, near & (bottom <= high), high)]
        else:
            kinds = [
                (_BOTH, near & (top <= high), high),
                (_TURNING, near & (top > high) & (bottom <= high), high),
                (_COMING, near & (top > high), beyond),
            ]
        for kind, which, until in kinds:
            met = np.flatnonzero(which)
            rows.append(met)
            lows.append(low[met])
            highs.append(until[met])
            lengths.append(length[met])
            widths.append(width[met])
            slides.append(spread.slide[met])
            uses.append(np.full(met.size, kind))
    row, use = np.concatenate(rows), np.concatenate(uses)
    start, stop, which = _cut_intervals(
        local[row], np.concatenate(lows), np.concatenate(highs), np.concatenate(widths), np.concatenate(lengths),
        np.concatenate(slides),
    )  # fmt: skip
    use, row = use[which], row[which]
    turning, coming = use != _COMING, use != _TURNING
    return (start[turning], stop[turning], row[turning]), (start[coming], stop[coming], row[coming])


def _cut_intervals(
    local: Floats, low: Floats, high: Floats, half_width: Floats, length: Floats, slide: Floats
) -> Found:
    """Tool angles that triangles, cut to heights, block; all other shapes (n,)."""
    first, second, owner = outlines(local, low, high)
    half_width, length, slide = half_width[owner], length[owner], slide[owner]
    if slide.any():
        first, second, half_width, length, owner = _slid(first, second, half_width, length, slide, owner)
    found_low, found_high, which = ray_intervals(first, second, half_width, np.maximum(length, 0.0))
    return found_low, found_high, owner[which]


def _slid(
    first: Floats, second: Floats, half_width: Floats, length: Floats, slide: Floats, owner: NDArray[np.int64]
) -> tuple[Floats, Floats, Floats, Floats, NDArray[np.int64]]:
    """Lines that run along v, as walls square to the drive axis make, made longer or shorter instead of the bar wider.

    Such a line, sliding along itself by up to `slide`, sweeps one that is longer by that at both ends; and what is left
    of it when it is shortened by that at both ends is met all the time, wherever each of its points slides.
    """
    level = np.abs(first[:, 1] - second[:, 1]) < _LEVEL
    wider = np.flatnonzero(level & (slide > 0.0))
    across = first[:, 0] - second[:, 0]
    longer = np.where(across[wider] < 0.0, -slide[wider], slide[wider])
    first, second, half_width, length = first.copy(), second.copy(), half_width.copy(), length.copy()
    first[wider, 0] += longer
    second[wider, 0] -= longer
    half_width[wider] -= slide[wider]
    length[wider] -= slide[wider]
    rest = np.flatnonzero(level & (slide < 0.0) & (np.abs(across) + 2.0 * slide > 0.0))
    shorter = np.where(across[rest] < 0.0, -slide[rest], slide[rest])
    begin, end = first[rest], second[rest]
    begin[:, 0] += shorter
    end[:, 0] -= shorter
    return (
        np.concatenate([first, begin]),
        np.concatenate([second, end]),
        np.concatenate([half_width, half_width[rest] - slide[rest]]),
        np.concatenate([length, length[rest] - slide[rest]]),
        np.concatenate([owner, owner[rest]]),
    )


def added(first: Found, second: Found) -> Found:
    """The intervals of both."""
    low, high, rows = (np.concatenate(pair) for pair in zip(first, second, strict=True))
    return low, high, rows


def works(blocked: BlockedAngles, arm: Arm) -> bool:
    """Whether the arm can be put on and make its swing."""
    return open_swing(blocked, arm) >= radians(arm.swing) - SLIVER


def open_swing(blocked: BlockedAngles, arm: Arm) -> float:
    """The widest swing that the arm can make and can be put on in, radians; 0 for none."""
    turning, coming = ((*pair, np.zeros(pair[0].size, dtype=np.int64)) for pair in (blocked.turning, blocked.coming))
    return float(widest_open(turning, coming, 1, arm)[0])


def widest_open(turning: Found, coming: Found, count: int, arm: Arm) -> Floats:
    """The widest open range of tool angles (radians) with a free way in, of each cell; 0 where there is none."""
    start, width, cell = open_ranges(turning, count, arm.both_sides)
    first, room, where = open_ranges(coming, count, arm.both_sides)
    middle = first + 0.5 * room
    enters = (cell[:, None] == where[None, :]) & (room[None, :] > SLIVER)
    enters &= np.mod(middle[None, :] - start[:, None], TURN) < width[:, None]
    usable = enters.any(axis=1)
    widest = np.zeros(count)
    np.maximum.at(widest, cell[usable], width[usable])
    return widest


def open_ranges(blocked: Found, count: int, both_sides: bool) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """Open ranges of tool angles on the circle: start and width (radians), and the cell of each."""
    low, high, cell = blocked
    if both_sides:
        low, high = np.concatenate([low, low + np.pi]), np.concatenate([high, high + np.pi])
        cell = np.concatenate([cell, cell])
    low, high, cell = unwrapped(low, high, cell)
    # All cells on one line, each with a turn of its own.
    low, high = merged(low + cell * APART, high + cell * APART)
    owner = np.floor((low + 0.5) / APART).astype(np.int64)
    low, high = low - owner * APART, high - owner * APART
    last = np.flatnonzero(np.diff(owner, append=-1) != 0)
    after = np.append(low[1:], 0.0)[: low.size]
    after[last] = low[np.concatenate([[0], last[:-1] + 1])] + TURN if last.size else after[last]
    free = np.setdiff1d(np.arange(count), owner)
    return (
        np.concatenate([high, np.zeros(free.size)]),
        np.concatenate([after - high, np.full(free.size, TURN)]),
        np.concatenate([owner, free]),
    )


def _joined(first: Intervals, second: Intervals) -> Intervals:
    if first[0].size == 0:
        return second
    if second[0].size == 0:
        return first
    return np.concatenate([first[0], second[0]]), np.concatenate([first[1], second[1]])
