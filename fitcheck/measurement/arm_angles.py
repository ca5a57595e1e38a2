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
APART = TURN + 1.0
"""How far apart the turns of two cells lie on the line that they are merged on."""

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
    """The arm of a tool: its bars, the swing in degrees that it has to make, and whether it lies to both sides."""

    bars: tuple[Bar, ...]
    swing: float
    both_sides: bool = False

    @property
    def low(self) -> float:
        """Height of its lowest point, mm."""
        return min(bar.low for bar in self.bars)

    @property
    def length(self) -> float:
        """Its farthest reach from the screw's axis, mm."""
        return max(bar.length for bar in self.bars)

    def grown(self, by: float) -> Arm:
        """Larger all round by so many mm."""
        bars = tuple(
            replace(bar, low=bar.low - by, high=bar.high + by, half_width=bar.half_width + by, length=bar.length + by)
            for bar in self.bars
        )
        return replace(self, bars=bars)


@dataclass(frozen=True, kw_only=True)
class BlockedAngles:
    """Tool angles (radians) that are blocked at every shaft angle: while working, and on the way in."""

    turning: Intervals = NO_INTERVALS
    coming: Intervals = NO_INTERVALS

    def __or__(self, other: BlockedAngles) -> BlockedAngles:
        return BlockedAngles(turning=_joined(self.turning, other.turning), coming=_joined(self.coming, other.coming))


@dataclass(frozen=True, kw_only=True, eq=False)
class Spread:
    """How far each triangle may lie off its place, mm: in height, and across the screw; negative: inwards."""

    up: Floats
    aside: Floats


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
    blocked = BlockedAngles()
    if triangles.shape[0] == 0:
        return blocked
    nothing = np.zeros(triangles.shape[0])
    for bar in arm.bars:
        turn, come = bar_intervals(triangles, bar, Spread(up=nothing, aside=nothing))
        blocked = blocked | BlockedAngles(turning=turn[:2], coming=come[:2])
    return blocked


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
    step = second - first
    square = np.einsum("ij,ij->i", step, step)
    along = np.einsum("ij,ij->i", first, step)
    beyond = np.einsum("ij,ij->i", first, first) - length**2
    point_like = square < 1e-24
    divisor = np.where(point_like, 1.0, square)
    under_root = along**2 - square * beyond
    root = np.sqrt(np.maximum(under_root, 0.0))
    enter = np.where(point_like, 0.0, (-along - root) / divisor)
    leave = np.where(point_like, 1.0, (-along + root) / divisor)
    inside = np.where(point_like, beyond <= 0.0, (under_root >= 0.0) & (enter <= 1.0) & (leave >= 0.0))
    rows = np.flatnonzero(inside & (half_width > 0.0))
    first, step, half_width = first[rows], step[rows], half_width[rows]
    enter, leave = np.clip(enter[rows], 0.0, 1.0), np.clip(leave[rows], 0.0, 1.0)
    foot = np.clip(np.where(point_like, 0.0, -along / divisor)[rows], enter, leave)
    near = first + foot[:, None] * step
    phi = np.arctan2(near[:, 1], near[:, 0])
    distance = np.hypot(near[:, 0], near[:, 1])
    half_angle = np.arcsin(np.clip(half_width / np.maximum(distance, 1e-12), 0.0, 1.0))
    low, high = -half_angle, half_angle
    for t in (enter, leave):
        point = first + t[:, None] * step
        turned = np.arctan2(near[:, 0] * point[:, 1] - near[:, 1] * point[:, 0], np.einsum("ij,ij->i", near, point))
        half = np.arcsin(np.clip(half_width / np.maximum(np.hypot(point[:, 0], point[:, 1]), 1e-12), 0.0, 1.0))
        low, high = np.minimum(low, turned - half), np.maximum(high, turned + half)
    every = distance <= half_width
    return np.where(every, 0.0, phi + low), np.where(every, TURN, phi + high), rows


def bar_intervals(local: Floats, bar: Bar, spread: Spread) -> tuple[Found, Found]:
    """What one bar meets while it turns, and on its way in; material below its highest place is the same for both."""
    low, high, length = bar.low - spread.up, bar.high + spread.up, bar.length + spread.aside
    top, bottom = most(local[:, :, 0]), least(local[:, :, 0])
    near = (top >= low) & (low <= high)
    left, along = local[:, :, 1], local[:, :, 2]
    aside = np.maximum(np.maximum(least(left), -most(left)), 0.0)
    away = np.maximum(np.maximum(least(along), -most(along)), 0.0)
    near &= aside**2 + away**2 <= np.maximum(length, 0.0) ** 2
    under, across, over = near & (top <= high), near & (top > high) & (bottom <= high), near & (bottom > high)
    beyond = np.full(low.size, FAR)
    shared = _cut_intervals(local, bar, spread, np.flatnonzero(under), low, high)
    turned = _cut_intervals(local, bar, spread, np.flatnonzero(across), low, high)
    passed = _cut_intervals(local, bar, spread, np.flatnonzero(across | over), low, beyond)
    return added(shared, turned), added(shared, passed)


def _cut_intervals(
    local: Floats, bar: Bar, spread: Spread, rows: NDArray[np.int64], low: Floats, high: Floats
) -> Found:
    if rows.size == 0:
        return np.empty(0), np.empty(0), rows
    local, low, high = local[rows], low[rows], high[rows]
    whole = (least(local[:, :, 0]) >= low) & (most(local[:, :, 0]) <= high)
    uncut, cut = np.flatnonzero(whole), np.flatnonzero(~whole)
    firsts, seconds, owners = outlines(local[cut], low[cut], high[cut])
    corners = local[uncut, :, 1:]
    first = np.concatenate([firsts, *(corners[:, i] for i in range(3))])
    second = np.concatenate([seconds, *(corners[:, (i + 1) % 3] for i in range(3))])
    owner = rows[np.concatenate([cut[owners], uncut, uncut, uncut])]
    found_low, found_high, which = ray_intervals(
        first, second, bar.half_width + spread.aside[owner], np.maximum(bar.length + spread.aside[owner], 0.0)
    )
    return found_low, found_high, owner[which]


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
    start, width, cell = _open(turning, count, arm.both_sides)
    first, room, where = _open(coming, count, arm.both_sides)
    middle = first + 0.5 * room
    enters = (cell[:, None] == where[None, :]) & (room[None, :] > SLIVER)
    enters &= np.mod(middle[None, :] - start[:, None], TURN) < width[:, None]
    usable = enters.any(axis=1)
    widest = np.zeros(count)
    np.maximum.at(widest, cell[usable], width[usable])
    return widest


def _open(blocked: Found, count: int, both_sides: bool) -> tuple[Floats, Floats, NDArray[np.int64]]:
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


def unwrapped_angles(blocked: Intervals) -> Intervals:
    """The same angles within one turn."""
    low, high = blocked
    return unwrapped(low, high, np.zeros(low.size, dtype=np.int64))[:2]


def _joined(first: Intervals, second: Intervals) -> Intervals:
    if first[0].size == 0:
        return second
    if second[0].size == 0:
        return first
    return np.concatenate([first[0], second[0]]), np.concatenate([first[1], second[1]])
