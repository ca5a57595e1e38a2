"""At which shaft angles a tool with an arm (L-shaped key, T-handle) is put on and turned far enough.

While it works, the arm lies between `low` and `high`; on its way in it sweeps all heights above `low`. A shaft angle
works when some open range of tool angles is at least the swing wide and holds a tool angle at which the way in is free.

Exactness over the shaft angle: a turn by d moves a point by a bounded way in height and to the left. With each triangle
grown by that, "works" at a cell's middle proves the whole cell; with each shrunk by it, "works not" proves that no
angle of the cell works. Cells that neither decides are halved, down to the tolerance, and then count as blocked.

What blocks which tool angle at one shaft angle is in `arm_angles`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import radians

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.arm_angles import (
    APART,
    SLIVER,
    Arm,
    BlockedAngles,
    Found,
    Intervals,
    Spread,
    added,
    bar_intervals,
    open_swing,
    unwrapped_angles,
    widest_open,
    works,
)
from fitcheck.measurement.intervals import TURN, Gap, covered, merged, unwrapped
from fitcheck.measurement.obstacles import Floats, Obstacles
from fitcheck.measurement.outlines import least, most

_FIRST_CELL = np.radians(4.0)
_MOST_CELLS = 3000
"""Cells tried before the rest counts as blocked; a bound on time, on the safe side."""
NOTHING: Found = (np.empty(0), np.empty(0), np.empty(0, dtype=np.int64))


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
        return tuple(ranges) if works(fixed, arm) else ()
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
        return np.array([works(one, arm) for one in fixed])
    return _each_works(near, arm, fixed, _Cells(middle=thetas, half=np.zeros(thetas.size), growth=growth))


def widest_swing(near: NearArm, arm: Arm, theta: float, fixed: BlockedAngles | None = None) -> float:
    """The widest swing in degrees that the arm can make at a shaft angle (radians) and can be put on in; 0 for none."""
    blocked = fixed or BlockedAngles()
    if not near.none:
        blocked = blocked | _at(near, arm, theta)
    return float(np.degrees(open_swing(blocked, arm)))


def arm_blockers(near: NearArm, arm: Arm, theta: float) -> tuple[int, ...]:
    """The bodies that block tool angles at a shaft angle (radians), those that block most first."""
    shares = {}
    for index in np.unique(near.body):
        mine = near.body == index
        low, high = merged(*unwrapped_angles(_at(near.only(mine), arm, theta).coming))
        if low.size:
            shares[int(index)] = float(np.sum(high - low))
    return tuple(sorted(shares, key=lambda index: -shares[index]))


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
    known = _with_fixed(NOTHING, [fixed.turning] * count), _with_fixed(NOTHING, [fixed.coming] * count)
    enough = radians(arm.swing) - SLIVER
    while cells.shape[0] and tried < _MOST_CELLS:
        count = cells.shape[0]
        tried += count
        middle, half = cells.mean(axis=1), 0.5 * (cells[:, 1] - cells[:, 0])
        outer = _of_pairs(near, arm, _Cells(middle=middle, half=half), *pairs)
        swing = widest_open(*_both(known, outer, pairs[0]), count, arm)
        done.append(cells[swing >= enough])
        rest = (swing < enough) & (half > 0.5 * tolerance)
        if not rest.any():
            break
        inner = _of_pairs(near, arm, _Cells(middle=middle, half=-half), *pairs)
        known = _both(known, inner, pairs[0])
        rest &= widest_open(*known, count, arm) >= enough
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


def _both(known: tuple[Found, Found], new: tuple[Found, Found], cell: NDArray[np.int64]) -> tuple[Found, Found]:
    """What is known of cells, turning and coming in, with what pairs add."""
    return added(known[0], _in_cells(new[0], cell)), added(known[1], _in_cells(new[1], cell))


def _in_cells(found: Found, cell: NDArray[np.int64]) -> Found:
    return found[0], found[1], cell[found[2]]


def _united(found: Found) -> Found:
    """Blocked tool angles as a disjoint union in each cell, in ascending order, cut at angle 0."""
    low, high, cell = unwrapped(*found)
    low, high = merged(low + cell * APART, high + cell * APART)
    owner = np.floor((low + 0.5) / APART).astype(np.int64)
    return low - owner * APART, high - owner * APART, owner


def _sticks_out(found: Found, cell: NDArray[np.int64], union: Found) -> NDArray[np.bool_]:
    """Which rows have an interval that is not within one of its cell's union."""
    low, high, row = unwrapped(*found)
    shift, own = cell[row] * APART, union[2] * APART
    inside = covered(low + shift, high + shift, union[0] + own, union[1] + own)
    out = np.zeros(cell.size, dtype=bool)
    out[row[~inside]] = True
    return out


def _for_halves(found: Found, rest: NDArray[np.bool_], number: NDArray[np.int64], count: int) -> Found:
    low, high, cell = (column[rest[found[2]]] for column in found)
    cell = number[cell]
    return np.concatenate([low, low]), np.concatenate([high, high]), np.concatenate([cell, cell + count])


def _each_works(near: NearArm, arm: Arm, fixed: Sequence[BlockedAngles], cells: _Cells) -> NDArray[np.bool_]:
    count = cells.middle.size
    turning, coming = _blocked(near, arm, cells)
    turning = _with_fixed(turning, [one.turning for one in fixed[:count]])
    coming = _with_fixed(coming, [one.coming for one in fixed[:count]])
    return widest_open(turning, coming, count, arm) >= radians(arm.swing) - SLIVER


def _at(near: NearArm, arm: Arm, theta: float) -> BlockedAngles:
    """Blocked tool angles at one shaft angle."""
    turning, coming = _blocked(near, arm, _Cells(middle=np.array([theta]), half=np.zeros(1)))
    return BlockedAngles(turning=turning[:2], coming=coming[:2])


def _with_fixed(found: Found, fixed: Sequence[Intervals]) -> Found:
    counts = [low.size for low, _ in fixed]
    if not any(counts):
        return found
    cells = np.repeat(np.arange(len(fixed)), counts)
    return added(found, (np.concatenate([a for a, _ in fixed]), np.concatenate([b for _, b in fixed]), cells))


def _blocked(near: NearArm, arm: Arm, cells: _Cells) -> tuple[Found, Found]:
    """Blocked tool angles, turning and coming in, of each cell."""
    count, size = cells.middle.size, near.bound.size
    cell, which = np.repeat(np.arange(count), size), np.tile(np.arange(size), count)
    turning, coming = _of_pairs(near, arm, cells, cell, which)
    return _in_cells(turning, cell), _in_cells(coming, cell)


def _of_pairs(
    near: NearArm, arm: Arm, cells: _Cells, cell: NDArray[np.int64], which: NDArray[np.int64]
) -> tuple[Found, Found]:
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
    spread = Spread(up=up[row], aside=aside[row])
    turning: Found = NOTHING
    coming: Found = NOTHING
    for bar in arm.bars:
        turned, came = bar_intervals(local, bar, spread)
        turning = added(turning, (turned[0], turned[1], row[turned[2]]))
        coming = added(coming, (came[0], came[1], row[came[2]]))
    return turning, coming


def _rounded_about(found: list[Gap]) -> tuple[Gap, ...]:
    """Ranges with their start in [0, 360); two that meet at a full turn become one."""
    if len(found) > 1 and abs(found[-1].stop - 360.0 - found[0].start) < 1e-9:
        last = found.pop()
        found[0] = replace(last, stop=last.stop + found[0].width, stop_owner=found[0].stop_owner)
    moved = [replace(gap, start=gap.start % 360.0, stop=gap.start % 360.0 + gap.width) for gap in found]
    return tuple(sorted(moved, key=lambda gap: gap.start))
