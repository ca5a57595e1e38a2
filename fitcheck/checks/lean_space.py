"""What is in the way of a ball end at shaft angles and leans, looked at in cells of both.

A lean is a vector in the plane: its length is the tilt in radians, its direction the one about the screw. Two leans
differ, as tools do, by no more than the distance of their vectors. Against the tool of a cell's middle a place moves,
in the whole cell, by no more than its distance from the screw's outer end times the lean's change and its distance from
the drive axis times the shaft angle's. So a place that lies that far inside the tool blocks all of the cell, and a
triangle that stays that far off has not to be looked at again in its pieces.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property
from math import cos, hypot, inf, radians, sin, sqrt, tan

import numpy as np
from numpy.typing import NDArray

from fitcheck.checks.pocket import Pocket
from fitcheck.checks.screw_frame import ScrewFrame
from fitcheck.checks.tools import Tool
from fitcheck.measurement.arm_angles import SLIVER, Arm, Spread, arm_intervals, widest_open
from fitcheck.measurement.obstacles import Floats
from fitcheck.measurement.outlines import least, most
from fitcheck.measurement.tilted_tool import in_tools, nearest_places, tool_axes

Indices = NDArray[np.int64]
Flags = NDArray[np.bool_]

_FAR = 10.0
"""mm from the screw's end where a tool is taken to be hindered while nothing of it is near."""
_SHORT = 1.0
"""mm of room that a radian of swing is worth."""
_FIRST = 0.3
"""Triangles that are nearer than the nearest one and such a part of their way through the cell are looked at first."""


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
    def end(self) -> float:
        """How far the screw's outer end lies from the drive axis, mm."""
        return abs(self.screw.offset) if self.screw.sense else hypot(self.screw.start, self.screw.offset)

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
    def spread(self) -> tuple[Floats, Floats, Floats]:
        """How far triangles reach at any shaft angle from the balls' middle: in height and to both sides, mm, (n,)."""
        away = self.triangles - self.balls[0][:, None]
        about, along = most(np.hypot(away[:, :, 1], away[:, :, 2])), most(np.abs(away[:, :, 0]))
        return (along, about, about) if self.screw.sense else (about, about, along)

    @cached_property
    def by_blade(self) -> Indices:
        """The triangles that may hinder the straight part."""
        return np.flatnonzero(~self.by_arm)

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

    def seen(self, theta: float | Floats, turns: Flags, points: Floats) -> tuple[Floats, Floats, Floats]:
        """Points (..., 3) as seen upright at shaft angles, with which they turn or not; shapes as `ScrewFrame.seen`."""
        return self.screw.seen(np.where(turns, 0.0, theta), points)


@dataclass(eq=False)
class Cells:
    """Cells: ranges of shaft angle (n, 2), the leans in their middle (n, 2) and half their width (n,), radians.

    `room` is what the tool of the middle keeps, mm, or less; `tilting` and `turning` are how much the lean's and the
    shaft angle's change move what hinders it, mm. They are known of cells that were looked at.
    """

    thetas: Floats
    leans: Floats
    half: Floats
    room: Floats = field(default_factory=lambda: np.empty(0))
    tilting: Floats = field(default_factory=lambda: np.empty(0))
    turning: Floats = field(default_factory=lambda: np.empty(0))

    @property
    def count(self) -> int:
        """How many there are."""
        return self.half.size

    @property
    def middle(self) -> Floats:
        """Shaft angle of the middle, radians."""
        return np.asarray(self.thetas.mean(axis=1))

    @property
    def turn(self) -> Floats:
        """How far any shaft angle of the cell is from the middle one, radians."""
        return 0.5 * (self.thetas[:, 1] - self.thetas[:, 0])

    @property
    def change(self) -> Floats:
        """How far any lean of the cell is from the middle one, radians."""
        return sqrt(2.0) * self.half

    def only(self, rows: Flags | Indices) -> Cells:
        """Some of the cells."""
        more = (column[rows] if column.size else column for column in (self.room, self.tilting, self.turning))
        return Cells(self.thetas[rows], self.leans[rows], self.half[rows], *more)


@dataclass(eq=False)
class Pairs:
    """Pairs of a cell and a triangle that its tools may meet; `first` are those that are looked at first."""

    cell: Indices
    which: Indices
    first: Flags

    def only(self, rows: Flags | Indices) -> Pairs:
        """Some of the pairs."""
        return Pairs(self.cell[rows], self.which[rows], self.first[rows])


def within(leans: Floats, greatest: float) -> Floats:
    """Leans, those beyond the greatest tilt brought to it; that brings no two of them farther apart."""
    tilt = np.hypot(leans[:, 0], leans[:, 1])
    return np.asarray(leans * np.minimum(1.0, greatest / np.maximum(tilt, 1e-12))[:, None])


def near_pairs(space: Space, cells: Cells, change: Floats) -> Pairs:
    """The pairs of cells and triangles that the straight part may meet, leans changing by up to `change` radians."""
    thetas, whose = np.unique(cells.middle, return_inverse=True)
    turn = np.zeros(thetas.size)
    np.maximum.at(turn, whose, cells.turn)
    leans, greatest = within(cells.leans, space.greatest), space.greatest
    steep = np.hypot(leans[:, 0], leans[:, 1])
    slope = leans * (np.tan(steep) / np.maximum(steep, 1e-12))[:, None]
    every = space.by_blade
    middles, turns, (high, left, right) = space.balls[0][every], space.turns[every], (k[every] for k in space.spread)
    found, which = [np.empty(0, dtype=np.int64)], [np.empty(0, dtype=np.int64)]
    for index, theta in enumerate(thetas):
        mine = np.flatnonzero(whose == index)
        # The tool's radius counts square to the screw's axis, as far as a lean brings it there.
        wide = space.bound[every] + space.away[every] * turn[index] + space.radius / cos(greatest)
        h, a, b = space.seen(theta, turns, middles)
        top = h + high + wide
        reach = np.maximum(top, 0.0) * tan(greatest) + wide
        some = np.flatnonzero((top >= 0.0) & (np.abs(a) <= reach + left) & (np.abs(b) <= reach + right))
        here, wide = every[some], wide[some]
        h, a, b = space.seen(theta, space.turns[here, None], space.triangles[here])
        top, low = most(h) + wide, np.maximum(least(h), 0.0) - wide
        sides = [(least(column) - wide, most(column) + wide) for column in (a, b)]
        loose = np.maximum(top, 0.0) * float(change[mine].max()) / cos(greatest) ** 2
        met = np.broadcast_to(top >= 0.0, (mine.size, top.size))
        for (begin, stop), slant in zip(sides, slope[mine].T, strict=True):
            one, two = slant[:, None] * low, slant[:, None] * top
            met = met & (np.minimum(one, two) <= stop + loose) & (np.maximum(one, two) >= begin - loose)
        cell, triangle = np.nonzero(met)
        found.append(mine[cell])
        which.append(here[triangle])
    cell = np.concatenate(found)
    return Pairs(cell, np.concatenate(which), np.ones(cell.size, dtype=bool))


class Look:
    """A look at cells.

    Attributes:
        free: where the straight part comes in at the middle lean, at every shaft angle of the cell; shape (cells,).
        dead: where it comes in nowhere in the cell.
        needed: which pairs matter in the cell's pieces.
    """

    def __init__(self, space: Space, cells: Cells, pairs: Pairs) -> None:
        """Looks, and enters in the cells what it finds, and in the pairs which come first in a next look."""
        self._space, self._cells, self._pairs = space, cells, pairs
        self._leans = within(cells.leans, space.greatest)
        self._axes = tool_axes(self._leans)
        self._room, self._nearest = np.full(cells.count, inf), np.full(cells.count, _FAR)
        self.dead = np.zeros(cells.count, dtype=bool)
        self.needed = np.ones(pairs.cell.size, dtype=bool)
        self._apart, self._moves = np.full((2, pairs.cell.size), inf)
        self._see(np.flatnonzero(pairs.first))
        clear = self._in_pocket()
        # What does not come in past some of the material need not be held against the rest.
        going_on = (self._room > 0.0) & ~self.dead
        self._see(np.flatnonzero(~pairs.first & going_on[pairs.cell]))
        self.free = (self._room > 0.0) & clear & ~self.dead
        cells.room = self._room
        cells.tilting, cells.turning = self._nearest * cells.change, (space.end + self._nearest) * cells.turn
        pairs.first = self._apart <= np.maximum(self._room, 0.0)[pairs.cell] + _FIRST * self._moves
        pairs.first &= np.isfinite(self._apart)

    def _see(self, rows: Indices) -> None:
        if not rows.size:
            return
        space, cell, which = self._space, self._pairs.cell[rows], self._pairs.which[rows]
        bound, turn, change = space.bound[which], self._cells.turn[cell], self._cells.change[cell]
        seen = space.seen(self._cells.middle[cell, None], space.turns[which, None], space.triangles[which])
        corners = in_tools(seen, self._axes[cell])
        swept = space.away[which] * turn
        wide = space.radius + bound + swept
        # A place that a tool of the cell meets beyond the screw's end lies at the middle lean no farther below it.
        found = nearest_places(corners, -bound - 2.0 * swept - wide * np.tan(change))
        reach = np.where(np.isfinite(found.distance), np.hypot(found.distance, found.height), 0.0)
        corner = np.sqrt(most(seen[0] ** 2 + seen[1] ** 2 + seen[2] ** 2))
        # And it lies within `wide` of that tool's axis, and no higher than the triangle.
        top = np.maximum(most(corners[0]), 0.0) + swept + wide * np.sin(change)
        moves = np.minimum(corner, top / np.cos(change) + wide) * change + swept
        here, whole = np.minimum(space.away[which], space.end + reach) * turn + reach * change, corner * change + swept
        blocked = (found.distance + here + bound < space.radius) & (found.height > here)
        blocked |= (found.inside + space.radius > whole + bound) & (found.inside > 0.0) & (found.lowest > whole)
        self.dead[cell[blocked]] = True
        apart = found.distance - wide
        self._apart[rows], self._moves[rows], self.needed[rows] = apart, moves, apart < moves
        np.minimum.at(self._room, cell, apart)
        nearest = apart <= self._room[cell]
        self._nearest[cell[nearest]] = reach[nearest]

    def _in_pocket(self) -> Flags:
        """Which of the tools clear the own hub."""
        pocket, radius = self._space.pocket, self._space.radius
        if pocket is None:
            return np.ones(self._room.size, dtype=bool)
        tilts = np.stack([np.hypot(*self._leans.T), np.arctan2(self._leans[:, 1], self._leans[:, 0])], axis=1)
        clear, (depth, apart) = pocket.clears(tilts, radius), pocket.depths(tilts, radius)
        self.dead |= (depth > apart * self._cells.change[:, None]).any(axis=1)
        self._room = np.where(clear, self._room, np.minimum(self._room, -depth.max(axis=1)))
        return clear


def with_arm(space: Space, cells: Cells, free: Flags) -> tuple[Flags, Flags, int]:
    """Of cells that the straight part is free in, in which the arm works as well, and in which it works nowhere.

    The last number is how many pairs of a cell and a triangle it took.
    """
    works, never = free.copy(), np.zeros(free.size, dtype=bool)
    arm, rows = space.arm, np.flatnonzero(free)
    if arm is None or not rows.size:
        return works, never, 0
    some, every = cells.only(rows), space.about_arm
    axes = tool_axes(within(some.leans, space.greatest))
    middle, ball = (part[every] for part in space.balls)
    h, a, b = space.seen(some.middle[:, None], space.turns[every], middle)
    wide = ball + space.bound[every] + space.away[every] * some.turn[:, None]
    along = axes[:, 0, :1] * h + axes[:, 0, 1:2] * a + axes[:, 0, 2:] * b
    near = (along + wide >= arm.low) & (h**2 + a**2 + b**2 - along**2 <= (arm.length + wide) ** 2)
    cell, which = np.nonzero(near)
    which = every[which]
    seen = space.seen(some.middle[cell, None], space.turns[which, None], space.triangles[which])
    local = np.stack(in_tools(seen, axes[cell]), axis=2)
    swept, enough = space.away[which] * some.turn[cell], radians(arm.swing) - SLIVER
    swing = _swing(local, cell, space.bound[which] + swept, arm, rows.size)
    works[rows] = swing >= enough
    if not works[rows].all():
        # An arm that turns less far than it should has less room than none; what hinders it lies far out.
        short, out = rows[~works[rows]], hypot(arm.low, arm.length)
        cells.room[short] = np.minimum(cells.room[short], _SHORT * (swing - enough)[~works[rows]])
        cells.tilting[short], cells.turning[short] = out * cells.change[short], (space.end + out) * cells.turn[short]
        far = np.sqrt(most((local**2).sum(axis=2)))
        shrunk = -(swept + far * some.change[cell] + space.bound[which])
        never[rows] = ~works[rows] & (_swing(local, cell, shrunk, arm, rows.size) < enough)
    return works, never, cell.size


def _swing(local: Floats, cell: Indices, grow: Floats, arm: Arm, count: int) -> Floats:
    """The widest swing in each cell, radians, the triangles, in the tools' frames, grown by so many mm."""
    both = arm_intervals(local, arm, Spread(up=grow, aside=grow, slide=np.zeros(grow.size)))
    turning, coming = ((low, high, cell[row]) for low, high, row in both)
    return widest_open(turning, coming, count, arm)
