"""At which shaft angles a tool with an arm (L-shaped key, T-handle) is put on and turned far enough.

In the frame of a screw across the drive axis a point has the height t along the screw's direction and the place (v, w)
beside the screw's axis, v to the left, w along the drive axis; a tool angle psi turns from v to w. An arm is made of
bars: at tool angle psi a bar fills the heights `low` to `high` and, in (v, w), all within `half_width` of the ray in
the direction psi, up to `length` from the screw's axis. So a point at distance d and direction phi blocks

    every psi                                  where d <= half_width,
    |psi - phi| <= asin(half_width / d)        where half_width < d <= length,

and a line segment blocks one interval, with its ends where the segment is cut by the circle of radius `length`, or at
the point nearest to the screw's axis (on either side of it both bounds run steadily, as in `corridor`).

While it works, the arm lies between `low` and `high`; on its way in it sweeps all heights above `low`. A shaft angle
works when some open range of tool angles is at least the swing wide and holds a tool angle at which the way in is free.

Exactness over the shaft angle: a turn by d moves a point by a bounded way in height and to the left. With each triangle
grown by that, "works" at a cell's middle proves the whole cell; with each shrunk by it, "works not" proves that no
angle of the cell works. Cells that neither decides are halved, down to the tolerance, and then count as blocked.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import radians

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.intervals import TURN, Gap, covered, merged, unwrapped
from fitcheck.measurement.obstacles import Floats, Obstacles
from fitcheck.measurement.outlines import least, most, outlines

FAR = 1e6
_FIRST_CELL = np.radians(4.0)
_MOST_CELLS = 3000
"""Cells tried before the rest counts as blocked; a bound on time, on the safe side."""
_SLIVER = 1e-9
_APART = TURN + 1.0
"""How far apart the turns of two cells lie on the line that they are merged on."""

Intervals = tuple[Floats, Floats]
_Found = tuple[Floats, Floats, NDArray[np.int64]]
"""Lower and upper ends in radians, and the row that each interval came from."""
_NOTHING: _Found = (np.empty(0), np.empty(0), np.empty(0, dtype=np.int64))
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
class _Spread:
    """How far each triangle may lie off its place, mm: in height, and across the screw; negative: inwards."""

    up: Floats
    aside: Floats


@dataclass(frozen=True, kw_only=True, eq=False)
class _Cells:
    """Cells of shaft angle, radians: `middle`, and `half` the width (negative: what holds anywhere in the cell).

    `growth` of the tool in mm; none without.
    """

    middle: Floats
    half: Floats
    growth: Floats | None = None

    @property
    def grown(self) -> Floats:
        """Growth of the tool, mm."""
        return np.zeros(self.middle.size) if self.growth is None else self.growth


@dataclass(frozen=True, kw_only=True, eq=False)
class NearArm:
    """The triangles that an arm could meet at some shaft angle, about one screw."""

    triangles: Floats
    bound: Floats
    body: NDArray[np.int64]
    radius: Floats
    station: float
    offset: float

    @property
    def none(self) -> bool:
        """Whether there are none."""
        return bool(self.bound.size == 0)

    def only(self, keep: NDArray[np.bool_] | slice) -> NearArm:
        """Some of the triangles."""
        return replace(
            self, triangles=self.triangles[keep], bound=self.bound[keep], body=self.body[keep], radius=self.radius[keep]
        )

    def thinned(self) -> NearArm | None:
        """One of many of the triangles, or None where there are few."""
        every = self.bound.size // 150
        return self.only(slice(None, None, every)) if every > 1 else None


def near_arm(
    obstacles: Obstacles, station: float, offset: float, arm: Arm, leave_out: Iterable[int] = (), spare: float = 0.0
) -> NearArm:
    """What an arm about a screw could meet, grown by `spare` mm."""
    along = obstacles.triangles[:, :, 0]
    bound = obstacles.triangle_bound + spare
    reach = arm.length + bound
    keep = (least(along) <= station + reach) & (most(along) >= station - reach)
    skip = np.fromiter(leave_out, dtype=np.int64)
    if skip.size:
        keep &= ~np.isin(obstacles.triangle_body, skip)
    index = np.flatnonzero(keep)
    triangles = obstacles.triangles[index]
    radius = most(np.hypot(triangles[:, :, 1], triangles[:, :, 2]))
    high = radius >= arm.low - bound[index]
    index = index[high]
    return NearArm(
        triangles=triangles[high], bound=obstacles.triangle_bound[index],
        body=obstacles.triangle_body[index].astype(np.int64), radius=radius[high], station=station, offset=offset,
    )  # fmt: skip


def working_ranges(
    near: NearArm, arm: Arm, ranges: Sequence[Gap], fixed: BlockedAngles | None = None, *, tolerance: float = 0.02
) -> tuple[Gap, ...]:
    """The shaft angles at which the arm works, out of those at which the tool's straight part comes in.

    Args:
        near: what may be in the way.
        arm: the arm.
        ranges: free ranges of the straight part, degrees of shaft angle; it has to reach out of the arm's bars.
        fixed: tool angles that are blocked at every shaft angle.
        tolerance: degrees; a reported range may be too narrow by this much at either side, it is never too wide.

    Returns:
        Free ranges in degrees, within the given ones.
    """
    fixed = fixed or BlockedAngles()
    if near.none:
        return tuple(ranges) if _works(fixed, arm) else ()
    found: list[Gap] = []
    for gap in ranges:
        about = near.only(_highest(near, gap) >= arm.low - near.bound)
        cells = max(int(np.ceil(np.radians(gap.width) / _FIRST_CELL)), 1)
        ends = np.radians(np.linspace(gap.start, gap.stop, cells + 1))
        proved = _proved(about, arm, fixed, np.stack([ends[:-1], ends[1:]], axis=1), np.radians(tolerance))
        for low, high in proved:
            start, stop = np.degrees(low), np.degrees(high)
            whole_start, whole_stop = start - gap.start < 1e-9, gap.stop - stop < 1e-9
            found.append(
                Gap(
                    start=gap.start if whole_start else float(start), stop=gap.stop if whole_stop else float(stop),
                    start_owner=gap.start_owner if whole_start else -1,
                    stop_owner=gap.stop_owner if whole_stop else -1,
                )
            )  # fmt: skip
    return _rounded_about(found)


def swings(
    near: NearArm, arm: Arm, thetas: Floats, growth: Floats, fixed: Sequence[BlockedAngles] | None = None
) -> NDArray[np.bool_]:
    """Whether the arm, grown by `growth` mm, works at single shaft angles (radians); all shapes (n,).

    `fixed` are the tool angles blocked at every shaft angle, one for each growth.
    """
    fixed = fixed or [BlockedAngles()] * thetas.size
    if near.none:
        return np.array([_works(one, arm) for one in fixed])
    return _each_works(near, arm, fixed, _Cells(middle=thetas, half=np.zeros(thetas.size), growth=growth))


def widest_swing(near: NearArm, arm: Arm, theta: float, fixed: BlockedAngles | None = None) -> float:
    """The widest swing in degrees that the arm can make at a shaft angle (radians) and can be put on in; 0 for none."""
    blocked = fixed or BlockedAngles()
    if not near.none:
        blocked = blocked | _at(near, arm, theta)
    return float(np.degrees(_swing(blocked, arm)))


def arm_blockers(near: NearArm, arm: Arm, theta: float) -> tuple[int, ...]:
    """The bodies that block tool angles at a shaft angle (radians), those that block most first."""
    shares = {}
    for index in np.unique(near.body):
        mine = near.body == index
        low, high = merged(*_unwrapped(_at(near.only(mine), arm, theta).coming))
        if low.size:
            shares[int(index)] = float(np.sum(high - low))
    return tuple(sorted(shares, key=lambda index: -shares[index]))


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
        turn, come = _bar_intervals(triangles, bar, _Spread(up=nothing, aside=nothing))
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


def _highest(near: NearArm, gap: Gap) -> Floats:
    """The greatest height of each triangle above the drive axis while the shaft turns through a range, mm."""
    y, x = near.triangles[:, :, 2], near.triangles[:, :, 1]
    away = np.mod(np.arctan2(y, x) - radians(gap.start + gap.width / 2) + np.pi, TURN) - np.pi
    away = np.maximum(np.abs(away) - radians(gap.width / 2), 0.0)
    return most(np.hypot(x, y) * np.cos(np.minimum(away, np.pi)))


def _proved(
    near: NearArm, arm: Arm, fixed: BlockedAngles, cells: Floats, tolerance: float
) -> list[tuple[float, float]]:
    """The cells of shaft angle (radians) that are proved to work, joined; shape (n, 2).

    What is blocked everywhere in a cell is blocked in its halves, and a triangle that blocks nothing beside it needs no
    further look: so each cell carries on its own triangles and its own blocked tool angles.
    """
    done: list[Floats] = []
    count = cells.shape[0]
    tried, thinned = 0, near.thinned()
    if thinned is not None:
        # Few of the triangles are enough to tell most of the cells that cannot work.
        middle, half = cells.mean(axis=1), 0.5 * (cells[:, 1] - cells[:, 0])
        cells = cells[_each_works(thinned, arm, [fixed] * count, _Cells(middle=middle, half=-half))]
        count = cells.shape[0]
    pairs = np.repeat(np.arange(count), near.bound.size), np.tile(np.arange(near.bound.size), count)
    known = _with_fixed(_NOTHING, [fixed.turning] * count), _with_fixed(_NOTHING, [fixed.coming] * count)
    enough = radians(arm.swing) - _SLIVER
    while cells.shape[0] and tried < _MOST_CELLS:
        count = cells.shape[0]
        tried += count
        middle, half = cells.mean(axis=1), 0.5 * (cells[:, 1] - cells[:, 0])
        outer = _of_pairs(near, arm, _Cells(middle=middle, half=half), *pairs)
        swing = _swings(*_both(known, outer, pairs[0]), count, arm)
        done.append(cells[swing >= enough])
        rest = (swing < enough) & (half > 0.5 * tolerance)
        if not rest.any():
            break
        inner = _of_pairs(near, arm, _Cells(middle=middle, half=-half), *pairs)
        known = _both(known, inner, pairs[0])
        rest &= _swings(*known, count, arm) >= enough
        needed = np.zeros(pairs[0].size, dtype=bool)
        known = _united(known[0]), _united(known[1])
        for found, union in zip(outer, known, strict=True):
            needed |= _sticks_out(found, pairs[0], union)
        needed &= rest[pairs[0]]
        number = np.cumsum(rest) - 1
        halves = int(rest.sum())
        pairs = number[pairs[0][needed]], pairs[1][needed]
        pairs = np.concatenate([pairs[0], pairs[0] + halves]), np.concatenate([pairs[1], pairs[1]])
        known = _for_halves(known[0], rest, number, halves), _for_halves(known[1], rest, number, halves)
        cells, middle = cells[rest], middle[rest]
        cells = np.concatenate([np.stack([cells[:, 0], middle], 1), np.stack([middle, cells[:, 1]], 1)])
    if not done:
        return []
    proved = np.concatenate(done)
    low, high = merged(proved[:, 0], proved[:, 1])
    return list(zip(low.tolist(), high.tolist(), strict=True))


def _both(known: tuple[_Found, _Found], new: tuple[_Found, _Found], cell: NDArray[np.int64]) -> tuple[_Found, _Found]:
    """What is known of cells, turning and coming in, with what pairs add."""
    return _added(known[0], _in_cells(new[0], cell)), _added(known[1], _in_cells(new[1], cell))


def _in_cells(found: _Found, cell: NDArray[np.int64]) -> _Found:
    return found[0], found[1], cell[found[2]]


def _united(found: _Found) -> _Found:
    """Blocked tool angles as a disjoint union in each cell, in ascending order, cut at angle 0."""
    low, high, cell = unwrapped(*found)
    low, high = merged(low + cell * _APART, high + cell * _APART)
    owner = np.floor((low + 0.5) / _APART).astype(np.int64)
    return low - owner * _APART, high - owner * _APART, owner


def _sticks_out(found: _Found, cell: NDArray[np.int64], union: _Found) -> NDArray[np.bool_]:
    """Which rows have an interval that is not within one of its cell's union."""
    low, high, row = unwrapped(*found)
    shift, own = cell[row] * _APART, union[2] * _APART
    inside = covered(low + shift, high + shift, union[0] + own, union[1] + own)
    out = np.zeros(cell.size, dtype=bool)
    out[row[~inside]] = True
    return out


def _for_halves(found: _Found, rest: NDArray[np.bool_], number: NDArray[np.int64], count: int) -> _Found:
    low, high, cell = (column[rest[found[2]]] for column in found)
    cell = number[cell]
    return np.concatenate([low, low]), np.concatenate([high, high]), np.concatenate([cell, cell + count])


def _each_works(near: NearArm, arm: Arm, fixed: Sequence[BlockedAngles], cells: _Cells) -> NDArray[np.bool_]:
    count = cells.middle.size
    turning, coming = _blocked(near, arm, cells)
    turning = _with_fixed(turning, [one.turning for one in fixed[:count]])
    coming = _with_fixed(coming, [one.coming for one in fixed[:count]])
    return _swings(turning, coming, count, arm) >= radians(arm.swing) - _SLIVER


def _at(near: NearArm, arm: Arm, theta: float) -> BlockedAngles:
    """Blocked tool angles at one shaft angle."""
    turning, coming = _blocked(near, arm, _Cells(middle=np.array([theta]), half=np.zeros(1)))
    return BlockedAngles(turning=turning[:2], coming=coming[:2])


def _with_fixed(found: _Found, fixed: Sequence[Intervals]) -> _Found:
    counts = [low.size for low, _ in fixed]
    if not any(counts):
        return found
    cells = np.repeat(np.arange(len(fixed)), counts)
    return _added(found, (np.concatenate([a for a, _ in fixed]), np.concatenate([b for _, b in fixed]), cells))


def _blocked(near: NearArm, arm: Arm, cells: _Cells) -> tuple[_Found, _Found]:
    """Blocked tool angles, turning and coming in, of each cell."""
    count, size = cells.middle.size, near.bound.size
    cell, which = np.repeat(np.arange(count), size), np.tile(np.arange(size), count)
    turning, coming = _of_pairs(near, arm, cells, cell, which)
    return _in_cells(turning, cell), _in_cells(coming, cell)


def _of_pairs(
    near: NearArm, arm: Arm, cells: _Cells, cell: NDArray[np.int64], which: NDArray[np.int64]
) -> tuple[_Found, _Found]:
    """Blocked tool angles, turning and coming in, of pairs of a cell and a triangle; rows are pairs."""
    c, s = np.cos(cells.middle)[cell, None], np.sin(cells.middle)[cell, None]
    x, y = near.triangles[which, :, 1], near.triangles[which, :, 2]
    height, left = c * x + s * y, c * y - s * x
    # A turn by d moves a point at (t, v) and radius rho by no more than |v| sin d + rho (1 - cos d) in height, and by
    # no more than |t| sin d + rho (1 - cos d) to the left (and only what the arm reaches counts: no farther to the
    # left than its length).
    half, grown = cells.half[cell], cells.grown[cell]
    highest = most(np.abs(height))
    farthest = np.minimum(most(np.abs(left)), arm.length + abs(near.offset) + grown)
    turn, second = np.sin(half), near.radius[which] * np.sign(half) * (1.0 - np.cos(half))
    own = near.bound[which] + grown
    up, aside = own + farthest * turn + second, own + highest * turn + second
    row = np.flatnonzero(most(height) >= arm.low - up)
    along = near.triangles[which[row], :, 0] - near.station
    local = np.stack([height[row], left[row] - near.offset, along], axis=2)
    spread = _Spread(up=up[row], aside=aside[row])
    turning: _Found = _NOTHING
    coming: _Found = _NOTHING
    for bar in arm.bars:
        turned, came = _bar_intervals(local, bar, spread)
        turning = _added(turning, (turned[0], turned[1], row[turned[2]]))
        coming = _added(coming, (came[0], came[1], row[came[2]]))
    return turning, coming


def _bar_intervals(local: Floats, bar: Bar, spread: _Spread) -> tuple[_Found, _Found]:
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
    return _added(shared, turned), _added(shared, passed)


def _cut_intervals(
    local: Floats, bar: Bar, spread: _Spread, rows: NDArray[np.int64], low: Floats, high: Floats
) -> _Found:
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


def _added(first: _Found, second: _Found) -> _Found:
    low, high, rows = (np.concatenate(pair) for pair in zip(first, second, strict=True))
    return low, high, rows


def _works(blocked: BlockedAngles, arm: Arm) -> bool:
    return _swing(blocked, arm) >= radians(arm.swing) - _SLIVER


def _swing(blocked: BlockedAngles, arm: Arm) -> float:
    turning, coming = ((*pair, np.zeros(pair[0].size, dtype=np.int64)) for pair in (blocked.turning, blocked.coming))
    return float(_swings(turning, coming, 1, arm)[0])


def _swings(turning: _Found, coming: _Found, count: int, arm: Arm) -> Floats:
    """The widest open range of tool angles (radians) with a free way in, of each cell; 0 where there is none."""
    start, width, cell = _open(turning, count, arm.both_sides)
    first, room, where = _open(coming, count, arm.both_sides)
    middle = first + 0.5 * room
    enters = (cell[:, None] == where[None, :]) & (room[None, :] > _SLIVER)
    enters &= np.mod(middle[None, :] - start[:, None], TURN) < width[:, None]
    usable = enters.any(axis=1)
    widest = np.zeros(count)
    np.maximum.at(widest, cell[usable], width[usable])
    return widest


def _open(blocked: _Found, count: int, both_sides: bool) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """Open ranges of tool angles on the circle: start and width (radians), and the cell of each."""
    low, high, cell = blocked
    if both_sides:
        low, high = np.concatenate([low, low + np.pi]), np.concatenate([high, high + np.pi])
        cell = np.concatenate([cell, cell])
    low, high, cell = unwrapped(low, high, cell)
    # All cells on one line, each with a turn of its own.
    low, high = merged(low + cell * _APART, high + cell * _APART)
    owner = np.floor((low + 0.5) / _APART).astype(np.int64)
    low, high = low - owner * _APART, high - owner * _APART
    last = np.flatnonzero(np.diff(owner, append=-1) != 0)
    after = np.append(low[1:], 0.0)[: low.size]
    after[last] = low[np.concatenate([[0], last[:-1] + 1])] + TURN if last.size else after[last]
    free = np.setdiff1d(np.arange(count), owner)
    return (
        np.concatenate([high, np.zeros(free.size)]),
        np.concatenate([after - high, np.full(free.size, TURN)]),
        np.concatenate([owner, free]),
    )


def _unwrapped(blocked: Intervals) -> Intervals:
    low, high = blocked
    return unwrapped(low, high, np.zeros(low.size, dtype=np.int64))[:2]


def _joined(first: Intervals, second: Intervals) -> Intervals:
    if first[0].size == 0:
        return second
    if second[0].size == 0:
        return first
    return np.concatenate([first[0], second[0]]), np.concatenate([first[1], second[1]])


def _rounded_about(found: list[Gap]) -> tuple[Gap, ...]:
    """Ranges with their start in [0, 360); two that meet at a full turn become one."""
    if len(found) > 1 and abs(found[-1].stop - 360.0 - found[0].start) < 1e-9:
        last = found.pop()
        found[0] = replace(last, stop=last.stop + found[0].width, stop_owner=found[0].stop_owner)
    moved = [replace(gap, start=gap.start % 360.0, stop=gap.start % 360.0 + gap.width) for gap in found]
    return tuple(sorted(moved, key=lambda gap: gap.start))
