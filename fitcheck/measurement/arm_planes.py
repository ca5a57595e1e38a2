"""Planes that part triangles from where an arm swings, in the frame of its tool: how far off, and how they near it.

Where an arm swings is a sector: heights from `low` to `high` along the tool's axis, directions from `first` to `last`
about it and as far as the arm reaches, all of it thicker by half the arm's width. A sector of no more than half a turn
is convex, and so is a triangle: if they do not meet, some plane parts them. Those that are tried lie square to the axis
below and above the sector, or along the axis: beside the sector's first and last direction, beyond its reach, beyond
its corners, and along the triangle's own sides and face. For the latter a triangle is cut to the sector's heights and a
little more, so that whatever moves by less than that stays off where its cut does.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.intervals import TURN
from fitcheck.measurement.obstacles import Floats
from fitcheck.measurement.outlines import least, most

_NEXT = [1, 2, 0]
_TINY = 1e-9
LONGEST = 0.15
"""Radians; the bounds hold for turns no longer than that."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Sectors:
    """Where arms swing, one for each of n triangles: heights, directions (radians), reach and half width, mm; (n,)."""

    low: Floats
    high: Floats
    first: Floats
    last: Floats
    reach: Floats
    half_width: Floats

    def only(self, rows: NDArray[np.int64]) -> Sectors:
        """Some of the sectors."""
        return Sectors(**{name: getattr(self, name)[rows] for name in self.__dataclass_fields__})

    def beside(self, corners: Floats) -> Floats:
        """At least how far triangles (n, 3, 3) lie beside them, or beyond their reach, mm; or less than 0: (n,)."""
        x, y = corners[:, :, 1], corners[:, :, 2]
        c, s = np.cos(self.last)[:, None], np.sin(self.last)[:, None]
        after = least(c * y - s * x)
        c, s = np.cos(self.first)[:, None], np.sin(self.first)[:, None]
        before = least(s * x - c * y)
        off_x, off_y = (np.maximum(np.maximum(least(one), -most(one)), 0.0) for one in (x, y))
        beyond = np.sqrt(off_x * off_x + off_y * off_y) - np.maximum(self.reach, self.half_width)
        return np.asarray(np.maximum(np.maximum(after, before) - self.half_width, beyond))

    def support(self, directions: Floats) -> Floats:
        """How far the sectors reach in directions (n, m), square to the axis, mm."""
        half = 0.5 * (self.last - self.first)[:, None]
        off = np.abs(np.mod(directions - (self.first[:, None] + half) + np.pi, TURN) - np.pi)
        beside = np.minimum(np.maximum(off - half, 0.0), 0.5 * np.pi)
        reach, wide = self.reach[:, None], self.half_width[:, None]
        return np.maximum(np.minimum(reach, reach * np.cos(beside) + wide * np.sin(beside)), wide)


@dataclass(frozen=True, kw_only=True, eq=False)
class Moving:
    """Triangles in the frame of a tool, and how they move as the shaft turns; n of them.

    Attributes:
        corners: shape (n, 3, 3), height and two places beside the tool's axis, mm.
        velocity: shape (n, 3, 3), how they move as the turn begins, mm per radian.
        away: shape (n, 3), how far they are from the axis of the turn, mm; 0 of one that does not move.
        bound: shape (n,), how far the true surface may lie off, mm.
    """

    corners: Floats
    velocity: Floats
    away: Floats
    bound: Floats


@dataclass(frozen=True, kw_only=True, eq=False)
class Parting:
    """Planes that may part triangles from sectors: m planes of each of n triangles, held against k corners.

    Attributes:
        normals: shape (n, m, 3), from the sector to the triangle.
        corners: shape (n, k, 3).
        room: shape (n, m, k), of corners beyond planes, mm; inf where nothing is that counts.
        by_turn: shape (n, m, k), how the room changes as the turn begins, mm per radian.
        by_swing: shape (n, m, k), how it changes as the sector turns about the tool, mm per radian.
        away: shape (n, k), of corners from the axis of the turn, mm.
    """

    normals: Floats
    corners: Floats
    room: Floats
    by_turn: Floats
    by_swing: Floats
    away: Floats

    def lasting(self, drift: Floats) -> Floats:
        """How far a turn goes until a corner may come to its plane: shape (n, m), radians; negative where one has.

        `drift`, shape (n,), is how much the sector turns about the tool per radian of the turn. Turns that are longer
        than `LONGEST` do not count.
        """
        k = np.abs(drift)[:, None]
        beside = np.hypot(self.corners[:, :, 1], self.corners[:, :, 2]) + LONGEST * self.away
        bend = self.away * (1.0 + 2.0 * k) + k * k * beside
        upright = np.abs(self.normals[:, :, 0]) > 0.5
        bend = np.where(upright[:, :, None], self.away[:, None], bend[:, None])
        coming = self.by_turn + drift[:, None, None] * self.by_swing
        return np.asarray(free_turn(self.room, coming, bend).min(axis=2))


def parted(moving: Moving, sectors: Sectors, spread: Floats) -> tuple[Parting, Parting]:
    """The planes that may part triangles from sectors: those square to the tool's axis, and those along it.

    Args:
        moving: the triangles.
        sectors: a sector for each.
        spread: shape (n,), mm, how much more than to the sector's heights triangles are cut to: more than they move.
    """
    count = moving.away.shape[0]
    below = np.broadcast_to(np.array([[-1.0, 0.0, 0.0], [1.0, 0.0, 0.0]]), (count, 2, 3))
    flat = _held(below, np.stack([-sectors.low, sectors.high], axis=1), moving.corners, moving.velocity, moving, None)
    every = np.concatenate([moving.corners, moving.velocity, moving.away[:, :, None]], axis=2)
    cut, counts = _cut(every, sectors.low - spread, sectors.high + spread)
    directions = _directions(moving.corners, cut[:, :, :3], counts, sectors)
    normals = np.stack([np.zeros(directions.shape), np.cos(directions), np.sin(directions)], axis=2)
    along = _held(normals, sectors.support(directions), cut[:, :, :3], cut[:, :, 3:6], moving, (counts, cut[:, :, 6]))
    return flat, along


def _held(
    normals: Floats, stands: Floats, corners: Floats, velocity: Floats, moving: Moving,
    some: tuple[NDArray[np.bool_], Floats] | None,
) -> Parting:  # fmt: skip
    """Planes with corners held against them; `some`: which of the corners count, and how far they are away."""
    turned = corners.transpose(0, 2, 1)
    room = normals @ turned - (stands + moving.bound[:, None])[:, :, None]
    by_swing = normals[:, :, 1:2] * turned[:, None, 2] - normals[:, :, 2:] * turned[:, None, 1]
    if some is not None:
        room = np.where(some[0][:, None], room, np.inf)
    return Parting(
        normals=normals, corners=corners, room=room, by_turn=normals @ velocity.transpose(0, 2, 1), by_swing=by_swing,
        away=moving.away if some is None else some[1],
    )  # fmt: skip


def free_turn(room: Floats, coming: Floats, bend: Floats) -> Floats:
    """How far what has some room may turn: radians, negative where it has none.

    Args:
        room: mm.
        coming: how the room changes as the turn begins, mm per radian; shape as `room`.
        bend: the most that it changes on from that, mm per radian squared.
    """
    nearer, bend = np.maximum(-coming, 0.0), np.maximum(bend, 0.0)
    divisor = nearer + np.sqrt(nearer * nearer + 2.0 * bend * np.clip(room, 0.0, 1e9))
    free = np.where(divisor > 1e-12, 2.0 * np.minimum(room, 1e9) / np.maximum(divisor, 1e-12), np.inf)
    return np.where(room < 0.0, -1.0, free)


def _cut(corners: Floats, low: Floats, high: Floats) -> tuple[Floats, NDArray[np.bool_]]:
    """The ends of what is left of triangles' sides between heights: shape (n, 6, ...), and which there are."""
    begin, step = corners, corners[:, _NEXT] - corners
    rise = step[:, :, 0]
    flat = np.abs(rise) < _TINY
    divisor = np.where(flat, 1.0, rise)
    at = [np.clip((level[:, None] - begin[:, :, 0]) / divisor, 0.0, 1.0) for level in (low, high)]
    enter = np.where(flat, 0.0, np.minimum(*at))
    leave = np.where(flat, 1.0, np.maximum(*at))
    heights = begin[:, :, 0], begin[:, :, 0] + rise
    there = (np.maximum(*heights) >= low[:, None]) & (np.minimum(*heights) <= high[:, None])
    ends = [begin + t[:, :, None] * step for t in (enter, leave)]
    return np.concatenate(ends, axis=1), np.concatenate([there, there], axis=1)


def _directions(corners: Floats, cut: Floats, counts: NDArray[np.bool_], sectors: Sectors) -> Floats:
    """Directions square to the axis in which triangles may lie beyond sectors: shape (n, 9)."""
    sides = corners[:, _NEXT] - corners
    normal = np.cross(sides[:, 0], sides[:, 1])
    middle = 0.5 * (sectors.first + sectors.last)
    inner = 0.5 * sectors.reach[:, None] * np.stack([np.cos(middle), np.sin(middle)], axis=1)
    outward = corners[:, :, 1:].mean(axis=1) - inner
    own = np.concatenate([np.stack([-sides[:, :, 2], sides[:, :, 1]], axis=2), normal[:, None, 1:]], axis=1)
    own = own * np.where(np.einsum("nij,nj->ni", own, outward) < 0.0, -1.0, 1.0)[:, :, None]
    found = [np.arctan2(own[:, :, 1], own[:, :, 0])]
    none = np.zeros((middle.size, 2))
    tips = [
        sectors.reach[:, None] * np.stack([np.cos(end), np.sin(end)], axis=1) for end in (sectors.first, sectors.last)
    ]
    for place in (none, *tips):
        near = _nearest(place, cut, counts) - place
        found.append(np.arctan2(near[:, 1], near[:, 0])[:, None])
    found.append(np.stack([sectors.last + 0.5 * np.pi, sectors.first - 0.5 * np.pi], axis=1))
    return np.concatenate(found, axis=1)


def _nearest(place: Floats, cut: Floats, counts: NDArray[np.bool_]) -> Floats:
    """Of what is left of triangles' sides the points nearest to places, seen along the axis: shape (n, 2)."""
    begin, step = cut[:, :3, 1:], cut[:, 3:, 1:] - cut[:, :3, 1:]
    off = place[:, None] - begin
    t = np.clip((off * step).sum(axis=2) / np.maximum((step * step).sum(axis=2), _TINY), 0.0, 1.0)
    points = begin + t[:, :, None] * step
    apart = np.where(counts[:, :3], ((points - place[:, None]) ** 2).sum(axis=2), np.inf)
    return np.asarray(points[np.arange(place.shape[0]), np.argmin(apart, axis=1)])
