"""How much room the straight part of a ball end has where it stands, and how that changes with shaft angle and lean.

Nearest to the tool's axis a triangle has a place p, and from there on it lies beyond the plane square to the direction
n from the axis to p. So as long as no corner of the triangle comes nearer to the axis, seen along n, than the tool's
radius, the tool is free of it. As the shaft turns by d a corner at q from the drive axis, with f square to it, moves to
q cos(d) + f sin(d), and comes nearer by no more than -(n f) d + (n q) d^2 / 2: a bound of second order, that holds for
whole ranges of shaft angle even where material slides along the tool.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fitcheck.checks.lean_space import Indices, Poses, Space, near_pairs
from fitcheck.measurement.arm_planes import free_turn
from fitcheck.measurement.obstacles import Floats
from fitcheck.measurement.outlines import most
from fitcheck.measurement.tilted_tool import in_tools, nearest_places

_NEXT = [1, 2, 0]
_STEP = 1e-4
"""Radians by which leans are changed to see how the room in the pocket changes."""


@dataclass(frozen=True, eq=False)
class Rows:
    """What hinders, as linear as it is nearby: room, and by how much a turn and a lean change it.

    Attributes:
        pose: shape (n,), whose each is.
        room: shape (n,), mm (of an arm: radians).
        by_turn: shape (n,), per radian of shaft angle.
        by_lean: shape (n, 2), per radian of lean.
    """

    pose: Indices
    room: Floats
    by_turn: Floats
    by_lean: Floats

    def after(self, turn: Floats) -> Rows:
        """The rows when each pose's shaft angle has changed, (poses,) radians."""
        return Rows(self.pose, self.room + self.by_turn * turn[self.pose], self.by_turn, self.by_lean)


def joined(*parts: Rows) -> Rows:
    """Rows together."""
    names = ("pose", "room", "by_turn", "by_lean")
    return Rows(*(np.concatenate([getattr(rows, name) for rows in parts]) for name in names))


def look(space: Space, poses: Poses, way: Floats) -> tuple[Rows, Floats]:
    """What may hinder the straight part, and how far each pose may turn with nothing in the way.

    Args:
        space: what may be in the way.
        poses: where the tool stands.
        way: shape (n,), the sense in which it turns on: 1 or -1.

    Returns:
        The rows; and radians, shape (n,): at most `poses.turn`, negative where the tool is not free where it stands.
    """
    cell, which = near_pairs(space, poses, space.by_blade, 0.0, space.radius)
    seen = space.seen(poses.thetas[cell], which)
    axes, moves = poses.axes[cell], np.where(space.turns[which], 0.0, 1.0)
    corners = in_tools(seen, axes)
    swept, radius = space.away[which] * poses.turn[cell], space.radius + space.bound[which]
    # What comes above the screw's end within the turn counts from the start.
    found = nearest_places(corners, -space.bound[which] - swept)
    far = np.sqrt(most(seen[0] ** 2 + seen[1] ** 2 + seen[2] ** 2))
    kept = found.distance - radius <= swept + far * poses.change[cell]
    nx, ny = found.across / np.maximum(found.distance, 1e-9)
    normal = nx[:, None] * axes[:, 1] + ny[:, None] * axes[:, 2]
    first, second = space.screw.about_axis(seen)
    n1, n2 = (normal[:, 1:2], normal[:, 2:]) if space.screw.sense else (normal[:, :1], normal[:, 1:2])
    # Of each corner: distance along n, how that changes with the turn, how it bends, and its height along the tool.
    every = np.stack(
        [
            nx[:, None] * corners[1] + ny[:, None] * corners[2],
            (n1 * second - n2 * first) * moves[:, None],
            (n1 * first + n2 * second) * moves[:, None],
            corners[0],
        ]
    )
    split = np.zeros(cell.size, dtype=bool)
    split[found.split] = True
    whole = np.flatnonzero(kept & ~split)
    pairs, values = np.repeat(whole, 3), every[:, whole].reshape(4, -1)
    cut = np.flatnonzero(kept[found.split])
    if cut.size:
        rows = found.split[cut]
        sides = every[:, rows].transpose(0, 2, 1)
        ends = sides[:, None] + found.shares[None, :, :, cut] * (sides[:, _NEXT] - sides)[:, None]
        outside = np.broadcast_to(found.outside[:, cut], ends.shape[1:])
        pairs = np.concatenate([pairs, np.broadcast_to(rows, outside.shape)[outside]])
        values = np.concatenate([values, ends[:, outside]], axis=1)
    pose, (along, by_turn, bend, height) = cell[pairs], values
    room = along - radius[pairs]
    reach = poses.turn.copy()
    np.minimum.at(reach, pose, free_turn(room, way[pose] * by_turn, bend))
    tilt, around = np.hypot(*poses.leans.T), np.arctan2(poses.leans[:, 1], poses.leans[:, 0])
    c, s, aside = np.cos(around)[pose], np.sin(around)[pose], np.sinc(tilt / np.pi)[pose]
    ax, ay = -height * nx[pairs], -height * ny[pairs] * aside
    rows_ = Rows(pose, room, by_turn, np.stack([ax * c - ay * s, ax * s + ay * c], axis=1))
    if space.pocket is None:
        return rows_, reach
    own = _in_pocket(space, poses)
    reach[own.pose[own.room < -1e-9]] = -1.0
    return joined(rows_, own), reach


def rooms(space: Space, poses: Poses, most: float) -> Floats:
    """The room of the straight part where each pose stands, mm, shape (n,): no more than `most`, negative if not free.

    Where the tool's axis runs through material it is as negative as the tool is thick.
    """
    cell, which = near_pairs(space, poses, space.by_blade, 0.0, space.radius + most)
    found = nearest_places(in_tools(space.seen(poses.thetas[cell], which), poses.axes[cell]), -space.bound[which])
    room = np.full(poses.thetas.size, most)
    np.minimum.at(room, cell, found.distance - space.radius - space.bound[which])
    if space.pocket is not None:
        tilts = np.stack([np.hypot(*poses.leans.T), np.arctan2(poses.leans[:, 1], poses.leans[:, 0])], axis=1)
        room = np.minimum(room, space.pocket.rooms(tilts, space.radius).min(axis=1, initial=most))
    return room


def _in_pocket(space: Space, poses: Poses) -> Rows:
    """The room in the own hub, on the line along the lean where it is least."""
    assert space.pocket is not None
    count = poses.thetas.size
    about = np.array([(0.0, 0.0), (_STEP, 0.0), (0.0, _STEP)])
    leans = (poses.leans[None] + about[:, None]).reshape(-1, 2)
    tilts = np.stack([np.hypot(*leans.T), np.arctan2(leans[:, 1], leans[:, 0])], axis=1)
    rooms = space.pocket.rooms(tilts, space.radius).reshape(3, count, -1)
    line = np.argmin(rooms[0], axis=1)
    room, *beside = rooms[:, np.arange(count), line]
    pose = np.flatnonzero(np.isfinite(room))
    by_lean = np.stack([(np.where(np.isfinite(one), one, room) - room)[pose] / _STEP for one in beside], axis=1)
    return Rows(pose, room[pose], np.zeros(pose.size), by_lean)
