"""How far the shaft turns on with the arm of a ball end free to swing where it stands, and what limits it.

The arm swings within the widest open range of tool angles that it can be put on in. Every triangle about it is parted
from the swing, and from the way in, by the plane that lasts longest as the shaft turns (`arm_planes`); the swing may
turn about the tool meanwhile, as its range does. A corner at q, the plane's normal n turning about the tool by k times
the shaft angle d, comes nearer by no more than -(n f + k m q) d + (r + 2 k r + k^2 s) d^2 / 2, with f as in
`lean_look`, m square to n, r the corner's distance from the drive axis and s the greatest from the tool.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import radians

import numpy as np

from fitcheck.checks.lean_look import Rows
from fitcheck.checks.lean_space import Flags, Indices, Poses, Space, near_pairs
from fitcheck.measurement.arm_angles import FAR, SLIVER, Arm, Spread, arm_intervals, open_ranges
from fitcheck.measurement.arm_planes import Moving, Parting, Sectors, parted
from fitcheck.measurement.intervals import TURN
from fitcheck.measurement.obstacles import Floats
from fitcheck.measurement.outlines import least, most
from fitcheck.measurement.tilted_tool import in_tools

_SOME = 6
"""So many corners at either end of a swing are paired."""
_WITHIN = 0.5
"""Radians beyond an end of the swing that corners are looked at for how the swing has to turn."""
_INSIDE = radians(2.0)
"""The way in lies so far within the swing."""
_SWAY = 0.12
"""Radians; what lies farther beside a swing than it may turn by that is left out, and farther than that none turns."""
_LEVER = 1e-3
"""mm; a corner nearer than that to the tool's axis, along the swing's end, is not moved off by turning the swing."""
_QUICKEST = 30.0
"""The swing turns no more than so many times as fast as the shaft."""


@dataclass(frozen=True, eq=False)
class _Swings:
    """The swings of n poses: which there are, which are wide enough, from where to where, and the way in; radians."""

    found: Flags
    wide: Flags
    first: Floats
    last: Floats
    way_in: Floats


@dataclass(frozen=True, eq=False)
class _About:
    """The triangles about the arm in n poses, in pairs: how they move, whose they are, and how far they are off."""

    moving: Moving
    pose: Indices
    spread: Floats
    loose: Floats
    far: Floats

    def only(self, rows: Indices) -> _About:
        m = self.moving
        some = Moving(
            corners=m.corners[rows], velocity=m.velocity[rows], away=m.away[rows], bound=m.bound[rows]
        )  # fmt: skip
        return _About(some, self.pose[rows], self.spread[rows], self.loose[rows], self.far[rows])


def look_at_arm(space: Space, poses: Poses, way: Floats) -> tuple[Rows, Floats]:
    """What limits the arm, and how far each pose may turn with its swing free.

    Args:
        space: what may be in the way.
        poses: where the tool stands.
        way: shape (n,), the sense in which it turns on: 1 or -1.

    Returns:
        The rows; and radians, shape (n,): at most `poses.turn`, negative where the arm does not work where it stands.
    """
    arm, count = space.arm, poses.thetas.size
    assert arm is not None
    about = _about(space, poses, way)
    swings = _swings(about, arm, count)
    swept = _Swept.of(about, swings, arm)
    drift = swept.corners(swept.room).drift()
    lasting = swept.lasting(drift)
    reach = poses.turn.copy()
    np.minimum.at(reach, swept.key % count, lasting.max(axis=1, initial=-1.0))
    # The way in has to stay within the swing.
    off = drift[count:] - drift[:count]
    inside = np.where(off > 0.0, swings.last - swings.way_in, swings.way_in - swings.first)
    reach = np.minimum(reach, inside / np.maximum(np.abs(off), 1e-9))
    # And what was left out beside a swing stays there as long as that turns no farther.
    reach = np.minimum(reach, _SWAY / np.maximum(np.abs(drift.reshape(2, count)).max(axis=0), 1e-9))
    reach = np.where(swings.wide, np.maximum(reach, 0.0), -1.0)
    stuck = np.flatnonzero(~swings.found)
    rows = swept.corners(lasting).rows(poses, way)
    nothing = np.zeros(stuck.size)
    return Rows(
        np.concatenate([rows.pose, stuck]), np.concatenate([rows.room, nothing - radians(arm.swing)]),
        np.concatenate([rows.by_turn, nothing]), np.concatenate([rows.by_lean, np.zeros((stuck.size, 2))]),
    ), reach  # fmt: skip


def arm_works(space: Space, poses: Poses) -> Flags:
    """Whether the arm makes its swing where each pose stands."""
    assert space.arm is not None
    about = _about(space, poses, np.ones(poses.thetas.size))
    return _swings(about, space.arm, poses.thetas.size).wide


def _about(space: Space, poses: Poses, way: Floats) -> _About:
    arm = space.arm
    assert arm is not None
    pose, which = near_pairs(space, poses, space.about_arm, arm.low, arm.length)
    seen = space.seen(poses.thetas[pose], which)
    axes = poses.axes[pose]
    local = np.stack(in_tools(seen, axes), axis=2)
    first, second = space.screw.about_axis(seen)
    none, moves = np.zeros(first.shape), np.where(space.turns[which], 0.0, 1.0)[:, None]
    velocity = (none, second, -first) if space.screw.sense else (second, -first, none)
    moving = Moving(
        corners=local, velocity=np.stack(in_tools(velocity, axes), axis=2) * (moves * way[pose, None])[:, :, None],
        away=np.hypot(first, second) * moves, bound=space.bound[which],
    )  # fmt: skip
    spread = space.away[which] * poses.turn[pose]
    far = np.sqrt(most((local**2).sum(axis=2)))
    return _About(moving, pose, spread, spread + far * poses.change[pose] + space.bound[which], far)


def _swings(about: _About, arm: Arm, count: int) -> _Swings:
    """The widest range of tool angles that is open and can be come into, and in it the swing and the way in."""
    bound, pose = about.moving.bound, about.pose
    both = arm_intervals(about.moving.corners, arm, Spread(up=bound, aside=bound, slide=np.zeros(bound.size)))
    turning, coming = ((low, high, pose[row]) for low, high, row in both)
    start, width, owner = open_ranges(turning, count, arm.both_sides)
    first, room, where = open_ranges(coming, count, arm.both_sides)
    after = np.mod((first + 0.5 * room) - start[:, None], TURN)
    enters = (owner[:, None] == where) & (room > SLIVER) & (after < width[:, None])
    best = np.full(count, -1)
    usable = np.flatnonzero(enters.any(axis=1))
    order = usable[np.argsort(width[usable], kind="stable")]
    best[owner[order]] = order
    found = np.flatnonzero(best >= 0)
    rows = best[found]
    swing, wide = radians(arm.swing), np.zeros(count, dtype=bool)
    begin, way_in = np.zeros(count), np.zeros(count)
    if rows.size:
        wide[found] = width[rows] >= swing - SLIVER
        way = np.argmax(np.where(enters[rows], room, -1.0), axis=1)
        middle = start[rows] + after[rows, way]
        low, high = middle - 0.5 * room[way], middle + 0.5 * room[way]
        # Amid the range, with the way in amid what the swing has of it; or else as near to that as it gets.
        amid = start[rows] + 0.5 * (width[rows] - swing)
        shared = np.maximum(low, amid), np.minimum(high, amid + swing)
        inside = np.maximum(low, start[rows]), np.minimum(high, start[rows] + width[rows])
        way_in[found] = 0.5 * np.where(shared[0] + _INSIDE < shared[1], shared[0] + shared[1], inside[0] + inside[1])
        begin[found] = np.clip(amid, way_in[found] - swing + _INSIDE, way_in[found] - _INSIDE)
    has = best >= 0
    return _Swings(has, has & wide, begin, begin + swing, way_in)


@dataclass(frozen=True, eq=False)
class _Swept:
    """What arms sweep, parted from the triangles about them: by planes square to the tools' axes and along them.

    Attributes:
        count: of poses.
        key: shape (n,), the pose of each row, and the number of poses more where it is about the way in.
        limit: shape (n,), mm of room beyond which a corner does not matter.
        flat: planes square to the axis.
        along: planes along it.
    """

    count: int
    key: Indices
    limit: Floats
    flat: Parting
    along: Parting

    @classmethod
    def of(cls, about: _About, swings: _Swings, arm: Arm) -> _Swept:
        """The swings and ways in of poses that have any."""
        middle = 0.5 * (swings.first + swings.last)
        # More than half a turn is no convex sector; two halves of it are.
        ends = [(swings.first, middle), (middle, swings.last)] if arm.swing > 180.0 else [(swings.first, swings.last)]
        heights, loose, count = about.moving.corners[:, :, 0], about.loose, middle.size
        top, bottom = most(heights) + loose, least(heights) - loose
        rows, keys, bars, firsts, lasts = [], [], [], [], []
        for bar in arm.bars:
            above = np.flatnonzero(swings.found[about.pose] & (top >= bar.low))
            beside = above[bottom[above] <= bar.high]
            for mine, more, (first, last), high in (
                *((beside, 0, end, bar.high) for end in ends), (above, count, (swings.way_in, swings.way_in), FAR)
            ):  # fmt: skip
                pose = about.pose[mine]
                rows.append(mine)
                keys.append(pose + more)
                bars.append(np.broadcast_to([[bar.low], [high], [bar.length], [bar.half_width]], (4, mine.size)))
                firsts.append(first[pose])
                lasts.append(last[pose])
        about = about.only(np.concatenate(rows))
        low, high, reach, half_width = np.concatenate(bars, axis=1)
        sectors = Sectors(
            low=low, high=high, first=np.concatenate(firsts), last=np.concatenate(lasts), reach=reach,
            half_width=half_width,
        )  # fmt: skip
        near = np.flatnonzero(sectors.beside(about.moving.corners) < about.loose + _SWAY * about.far)
        about = about.only(near)
        return cls(
            count, np.concatenate(keys)[near], about.loose, *parted(about.moving, sectors.only(near), about.spread)
        )  # fmt: skip

    def lasting(self, drift: Floats) -> Floats:
        """How far each plane lasts, radians: (pairs, planes)."""
        each = drift[self.key]
        return np.concatenate([self.flat.lasting(each), self.along.lasting(each)], axis=1)

    @cached_property
    def room(self) -> Floats:
        """How far the corners that come nearest to each plane are off it, mm: (pairs, planes)."""
        return np.concatenate([self.flat.room.min(axis=2), self.along.room.min(axis=2)], axis=1)

    def corners(self, worth: Floats) -> _Corners:
        """The corners held against the plane that is worth most, out of (pairs, planes), or else has most room."""
        plane = np.argmax(np.where(worth < 0.0, -1.0 + 1e-6 * np.maximum(self.room, -1e5), worth), axis=1)
        found = []
        for part, first in ((self.flat, 0), (self.along, 2)):
            mine = np.flatnonzero((plane >= first) & (plane < first + part.normals.shape[1]))
            its = plane[mine] - first
            pair, corner = np.nonzero(part.room[mine, its] <= self.limit[mine, None])
            row, at = mine[pair], its[pair]
            found.append(
                _Corners(
                    self.count, self.key[row], part.room[row, at, corner], part.by_turn[row, at, corner],
                    part.by_swing[row, at, corner] * (first > 0), part.normals[row, at], part.corners[row, corner],
                )
            )  # fmt: skip
        return _Corners.joined(found)


@dataclass(frozen=True, eq=False)
class _Corners:
    """Corners near planes: room (mm) and how it changes with turn and swing, the plane's normal and where.

    `count` and `key` are as in `_Swept`.
    """

    count: int
    key: Indices
    room: Floats
    by_turn: Floats
    by_swing: Floats
    normal: Floats
    at: Floats

    @classmethod
    def joined(cls, parts: Sequence[_Corners]) -> _Corners:
        """Together."""
        names = ("key", "room", "by_turn", "by_swing", "normal", "at")
        return cls(parts[0].count, *(np.concatenate([getattr(part, name) for part in parts]) for name in names))

    def scaled(self, rows: Flags | Indices, by: Floats | float) -> _Corners:
        """Some of them, room and changes divided by so much."""
        return _Corners(
            self.count, self.key[rows], self.room[rows] / by, self.by_turn[rows] / by, self.by_swing[rows] / by,
            self.normal[rows] / np.reshape(by, (-1, 1)), self.at[rows],
        )  # fmt: skip

    def ends(self, some: int) -> tuple[_Corners, _Corners]:
        """At either end of each swing the corners that it comes to first, all in radians of swing."""
        found = []
        for sense in (-1.0, 1.0):
            rows = np.flatnonzero(sense * self.by_swing > _LEVER)
            beyond, key = self.room[rows] / np.abs(self.by_swing[rows]), self.key[rows]
            order = np.lexsort((beyond, key))
            rank = np.arange(order.size) - np.searchsorted(key[order], key[order])
            rows = rows[order[rank < some]]
            found.append(self.scaled(rows, np.abs(self.by_swing[rows])))
        return found[0], found[1]

    def drift(self) -> Floats:
        """How much each swing should turn about the tool per radian of shaft angle, to stay amid its range."""
        rates, near = np.zeros((2, 2 * self.count)), np.zeros((2, 2 * self.count), dtype=bool)
        for number, end in enumerate(self.ends(1)):
            some = np.flatnonzero(end.room < _WITHIN)
            rates[number, end.key[some]], near[number, end.key[some]] = end.by_turn[some], True
        alone = np.where(near[0], np.minimum(rates[0], 0.0), np.where(near[1], -np.minimum(rates[1], 0.0), 0.0))
        return np.clip(np.where(near.all(axis=0), 0.5 * (rates[0] - rates[1]), alone), -_QUICKEST, _QUICKEST)

    def rows(self, poses: Poses, way: Floats) -> Rows:
        """The corners as rows; those at the ends of a swing in pairs, as the swing may turn."""
        fixed = self.scaled(np.abs(self.by_swing) <= _LEVER, 1.0)
        above, below = self.ends(_SOME)
        one, two = np.nonzero(above.key[:, None] == below.key)
        pose = np.concatenate([fixed.key, above.key[one]]) % self.count
        return Rows(
            pose, np.concatenate([fixed.room, above.room[one] + below.room[two]]),
            way[pose] * np.concatenate([fixed.by_turn, above.by_turn[one] + below.by_turn[two]]),
            np.concatenate([fixed.by_lean(poses), above.by_lean(poses)[one] + below.by_lean(poses)[two]]),
        )  # fmt: skip

    def by_lean(self, poses: Poses) -> Floats:
        """How the room changes as each pose's lean does: shape (n, 2)."""
        pose = self.key % self.count
        tilt, around = np.hypot(*poses.leans.T)[pose], np.arctan2(poses.leans[:, 1], poses.leans[:, 0])[pose]
        (nh, nx, ny), (h, x, y) = self.normal.T, self.at.T
        a, b = nh * x - nx * h, (nh * y - ny * h) * np.sinc(tilt / np.pi)
        c, s = np.cos(around), np.sin(around)
        return np.stack([a * c - b * s, a * s + b * c], axis=1)
