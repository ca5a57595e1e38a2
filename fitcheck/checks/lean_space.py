"""What may be in the way of a ball end, and where its tool stands at a shaft angle and a lean.

A lean is a vector in the plane: its length is the tilt in radians, its direction the one about the screw. Two leans
differ, as tools do, by no more than the distance of their vectors.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from math import cos, radians, sin, tan

import numpy as np
from numpy.typing import NDArray

from fitcheck.checks.pocket import Pocket
from fitcheck.checks.screw_frame import ScrewFrame
from fitcheck.checks.tools import Tool
from fitcheck.measurement.arm_angles import Arm
from fitcheck.measurement.obstacles import Floats
from fitcheck.measurement.outlines import least, most
from fitcheck.measurement.tilted_tool import tool_axes

Indices = NDArray[np.int64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True, eq=False)
class Space:
    """What may be in the way of a ball end on one screw; n triangles.

    Attributes:
        screw: the screw's frame; its outer end is where the tool's straight part starts.
        tool: the ball end.
        pocket: of the screw in its own hub; None where that is among the triangles, or does not count.
        triangles: shape (n, 3, 3), (s, x, y); what turns with the screw as at shaft angle 0.
        bound: shape (n,), how far the true surface may lie off, mm.
        turns: shape (n,), which turn with the screw.
        by_arm: shape (n,), which hinder the arm alone, and not the straight part.
    """

    screw: ScrewFrame
    tool: Tool
    pocket: Pocket | None
    triangles: Floats
    bound: Floats
    turns: Flags
    by_arm: Flags

    @property
    def radius(self) -> float:
        """Of the tool's straight part, mm."""
        return self.tool.parts[0].radius

    @cached_property
    def greatest(self) -> float:
        """The greatest tilt, radians."""
        return radians(self.tool.tilt)

    @cached_property
    def away(self) -> Floats:
        """How far triangles reach from the drive axis, mm; 0 of what turns with the screw, and so never moves."""
        away = most(np.hypot(self.triangles[:, :, 1], self.triangles[:, :, 2]))
        return np.where(self.turns, 0.0, away)

    @cached_property
    def balls(self) -> tuple[Floats, Floats]:
        """Middle, shape (n, 3), and radius, shape (n,), of balls about the triangles."""
        middle = 0.5 * (self.triangles.min(axis=1) + self.triangles.max(axis=1))
        return middle, most(np.linalg.norm(self.triangles - middle[:, None], axis=2))

    @cached_property
    def by_blade(self) -> Indices:
        """The triangles that may hinder the straight part at some shaft angle and lean."""
        found = ~self.by_arm
        if not self.screw.sense:
            # Beside a screw across the drive axis a lean comes along it no farther than this.
            top = np.maximum(self.screw.highest(self.triangles) + self.bound, 0.0)
            along = self.triangles[:, :, 0] - self.screw.station
            beside = np.maximum(np.maximum(least(along), -most(along)), 0.0)
            found &= beside <= top * tan(self.greatest) + (self.radius + self.bound) / cos(self.greatest)
        return np.flatnonzero(found)

    @cached_property
    def arm(self) -> Arm | None:
        """The tool's arm, its heights from the screw's outer end."""
        if self.tool.arm is None:
            return None
        start = self.tool.parts[0].start
        bars = (replace(bar, low=bar.low - start, high=bar.high - start) for bar in self.tool.arm.bars)
        return replace(self.tool.arm, bars=tuple(bars))

    @cached_property
    def about_arm(self) -> Indices:
        """The triangles that may hinder the arm at some shaft angle and lean."""
        if self.arm is None:
            return np.empty(0, dtype=np.int64)
        # An arm of length l at height h above the ball lies at h cos(tilt) - l sin(tilt) and above, seen upright.
        lowest = min(self.arm.low, self.arm.low * cos(self.greatest)) - self.arm.length * sin(self.greatest)
        return np.flatnonzero(self.screw.highest(self.triangles) + self.bound >= lowest)

    def seen(self, thetas: Floats, which: Indices) -> tuple[Floats, Floats, Floats]:
        """The corners of triangles, each at a shaft angle of its own, as seen upright; shapes (n, 3)."""
        return self.screw.seen(np.where(self.turns[which], 0.0, thetas)[:, None], self.triangles[which])

    def middles(self, thetas: Floats, which: Indices) -> tuple[Floats, Floats, Floats]:
        """The middles of the balls about triangles, all at each of some shaft angles, as seen upright; (thetas, n)."""
        return self.screw.seen(np.where(self.turns[which], 0.0, thetas[:, None]), self.balls[0][which])


@dataclass(frozen=True, eq=False)
class Poses:
    """Where a tool stands: shaft angles (n,) and leans (n, 2), radians; and how far either may change, (n,) radians.

    A shaft angle changes one way or the other by up to `turn`, a lean any way by up to `change`.
    """

    thetas: Floats
    leans: Floats
    turn: Floats
    change: Floats

    @cached_property
    def axes(self) -> Floats:
        """The tools' frames, shape (n, 3, 3)."""
        return tool_axes(self.leans)


def within(leans: Floats, greatest: float) -> Floats:
    """Leans (..., 2), those beyond the greatest tilt brought to it."""
    tilt = np.hypot(leans[..., 0], leans[..., 1])
    return np.asarray(leans * np.minimum(1.0, greatest / np.maximum(tilt, 1e-12))[..., None])


def near_pairs(space: Space, poses: Poses, which: Indices, low: float, wide: float) -> tuple[Indices, Indices]:
    """Pairs of a pose and a triangle whose ball comes to what lies about the tool's axis, all it changes included.

    Args:
        space: the triangles.
        poses: where the tool stands.
        which: the triangles in question.
        low: height above the screw's outer end where what counts begins, mm.
        wide: how far from the axis it reaches, mm.
    """
    thetas, whose = np.unique(poses.thetas, return_inverse=True)
    h, a, b = space.middles(thetas, which)
    far, size, bound, away = h * h + a * a + b * b, space.balls[1][which], space.bound[which], space.away[which]
    # First what comes to the cone of all leans.
    steep, most_change = space.greatest + 1e-9, float(poses.change.max(initial=0.0))
    loose = size + bound + away * poses.turn.max(initial=0.0) + (np.sqrt(far) + size) * most_change
    beside = np.sqrt(a * a + b * b) - (wide + loose) / cos(steep)
    high = h + 1.5 * loose + wide * sin(steep) >= min(low, low * cos(steep))
    place, number = np.nonzero(high & (beside <= np.maximum(h, 0.0) * tan(steep)))
    order = np.argsort(whose, kind="stable")
    many = np.bincount(whose, minlength=thetas.size)[place]
    first = np.searchsorted(whose[order], place)
    pair = np.repeat(np.arange(place.size), many)
    cell = order[np.repeat(first, many) + np.arange(pair.size) - np.repeat(np.cumsum(many) - many, many)]
    place, number = place[pair], number[pair]
    h, a, b, far = (column[place, number] for column in (h, a, b, far))
    u = poses.axes[cell, 0]
    along = u[:, 0] * h + u[:, 1] * a + u[:, 2] * b
    loose = size[number] + bound[number] + away[number] * poses.turn[cell]
    if most_change > 0.0:
        loose = loose + (np.sqrt(far) + size[number]) * poses.change[cell]
    met = np.flatnonzero((along + loose >= low) & (far - along * along <= (wide + loose) ** 2))
    return cell[met], which[number[met]]
