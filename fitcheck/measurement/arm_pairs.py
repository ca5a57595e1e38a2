"""Pairs of a cell of shaft angle and a triangle: which may meet an arm, and which tool angles they block.

A screw lies across the drive axis, or along it. In the screw's frame (height t along the screw's direction, v and w
beside its axis, see `arm_angles`) the material moves while the shaft turns by d, a point of radius rho

    of a screw across the axis by at most |v| sin d + rho (1 - cos d) in height, and |t| sin d + rho (1 - cos d) aside,
    of a screw along the axis by at most 2 rho sin(d / 2) aside, and not in height.

Most triangles are small, or strips, and lie beside large ones that block more. So of each triangle a range of tool
angles is told first that holds all that it blocks; where those are blocked already, it need not be looked at closely.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.arm_angles import Arm, Found, Spread, arm_intervals
from fitcheck.measurement.intervals import apart
from fitcheck.measurement.obstacles import Floats, Obstacles
from fitcheck.measurement.open_angles import Open, has_open, touches
from fitcheck.measurement.outlines import least, length_of, most

Pairs = tuple[NDArray[np.int64], NDArray[np.int64]]
"""Cells and triangles, as indices."""

GROUP, _MANY_CELLS = 8, 16
"""So many triangles are looked at together first, in so many cells."""
_MANY = 300
"""Of more triangles than this the largest are looked at first."""
_LARGEST = 60


@dataclass(frozen=True, kw_only=True, eq=False)
class Cells:
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
class Balls:
    """Balls about triangles, mm: centres (n, 3) in the axis frame, sizes with the bound, reach from the drive axis."""

    centre: Floats
    size: Floats
    radius: Floats

    def only(self, some: NDArray[np.int64]) -> Balls:
        """Some of them."""
        return Balls(centre=self.centre[some], size=self.size[some], radius=self.radius[some])


def _squares(vectors: Floats) -> Floats:
    x, y, z = vectors[..., 0], vectors[..., 1], vectors[..., 2]
    return np.asarray(x * x + y * y + z * z)


@dataclass(frozen=True, kw_only=True, eq=False)
class NearArm:
    """The triangles that an arm could meet at some shaft angle, about one screw.

    `sense` is 0 of a screw across the drive axis at `station`, `offset` beside the axis. Of a screw along it, `offset`
    is the distance of its axis from the drive axis, and `sense` +1 where the tool lies towards the actuator, -1 towards
    the motor; heights are then `sense` times the station.
    """

    triangles: Floats
    bound: Floats
    body: NDArray[np.int64]
    radius: Floats
    station: float
    offset: float
    sense: float = 0.0

    @cached_property
    def balls(self) -> Balls:
        """About each triangle."""
        low, high = self._boxes
        centre = 0.5 * (low + high)
        size = np.sqrt(most(_squares(self.triangles - centre[:, None, :])))
        return Balls(centre=centre, size=size + self.bound, radius=self.radius)

    @cached_property
    def groups(self) -> Balls:
        """About each `GROUP` triangles that follow one another, as those of a face do."""
        count = self.bound.size
        every = np.minimum(np.arange(-(-count // GROUP) * GROUP), count - 1)
        (low, high), (bound, radius) = self._boxes, (self.bound[every], self.radius[every])
        low, high = (one[every].reshape(-1, GROUP, 3) for one in (low, high))
        centre = 0.5 * (low.min(axis=1) + high.max(axis=1))
        corners = self.triangles[every].reshape(-1, 3 * GROUP, 3) - centre[:, None, :]
        size = np.sqrt(_squares(corners).max(axis=1)) + bound.reshape(-1, GROUP).max(axis=1)
        return Balls(centre=centre, size=size, radius=radius.reshape(-1, GROUP).max(axis=1))

    @cached_property
    def _boxes(self) -> tuple[Floats, Floats]:
        one, two, three = self.triangles[:, 0], self.triangles[:, 1], self.triangles[:, 2]
        return np.minimum(np.minimum(one, two), three), np.maximum(np.maximum(one, two), three)

    @cached_property
    def large(self) -> NDArray[np.int64] | None:
        """The largest of many triangles."""
        if self.bound.size <= _MANY:
            return None
        one, two = self.triangles[:, 1] - self.triangles[:, 0], self.triangles[:, 2] - self.triangles[:, 0]
        a, b, c = (one[:, i] * two[:, i - 1] - one[:, i - 1] * two[:, i] for i in range(3))
        return np.argpartition(a * a + b * b + c * c, -_LARGEST)[-_LARGEST:]

    @property
    def none(self) -> bool:
        """Whether there are none."""
        return bool(self.bound.size == 0)

    def only(self, keep: NDArray[np.bool_] | slice) -> NearArm:
        """Some of the triangles."""
        return NearArm(
            triangles=self.triangles[keep], bound=self.bound[keep], body=self.body[keep], radius=self.radius[keep],
            station=self.station, offset=self.offset, sense=self.sense,
        )  # fmt: skip

    def seen(self, c: Floats, s: Floats, points: Floats) -> tuple[Floats, Floats, Floats]:
        """Points (..., 3) in the screw's frame at the shaft angle of cosine `c` and sine `s`: height, v, w."""
        along, x, y = points[..., 0], points[..., 1], points[..., 2]
        out, left = c * x + s * y, c * y - s * x
        if self.sense:
            return np.asarray(self.sense * along), np.asarray(out - self.offset), left
        return np.asarray(out), np.asarray(left - self.offset), np.asarray(along - self.station)


def near_arm(
    obstacles: Obstacles, station: float, offset: float, arm: Arm, leave_out: Iterable[int] = (), spare: float = 0.0
) -> NearArm:
    """What an arm about a screw across the drive axis could meet, grown by `spare` mm."""
    reach = arm.length + spare
    index = _counted(obstacles, obstacles.between(station - reach, station + reach), leave_out)
    radius = obstacles.away[index]
    index, radius = _where(radius >= arm.low - obstacles.triangle_bound[index] - spare, index, radius)
    return _near(obstacles, index, radius, station, offset, 0.0)


def near_axial_arm(
    obstacles: Obstacles, radius: float, sense: float, arm: Arm, leave_out: Iterable[int] = (), spare: float = 0.0
) -> NearArm:
    """What an arm about a screw along the drive axis, at `radius` from it, could meet, grown by `spare` mm."""
    more = obstacles.triangle_bound + spare
    heights = sense * obstacles.triangles[:, :, 0]
    keep = most(heights) >= arm.low - more
    if arm.way:
        keep &= least(heights) <= max(bar.high for bar in arm.every) + more
    index = _counted(obstacles, np.flatnonzero(keep), leave_out)
    return _near(obstacles, index, obstacles.away[index], 0.0, radius, sense)


def _counted(obstacles: Obstacles, rows: NDArray[np.int64], leave_out: Iterable[int]) -> NDArray[np.int64]:
    skip = np.fromiter(leave_out, dtype=np.int64)
    return rows[~np.isin(obstacles.triangle_body[rows], skip)] if skip.size else rows


def _where(keep: NDArray[np.bool_], index: NDArray[np.int64], radius: Floats) -> tuple[NDArray[np.int64], Floats]:
    return index[keep], radius[keep]


def _near(
    obstacles: Obstacles, index: NDArray[np.int64], radius: Floats, station: float, offset: float, sense: float
) -> NearArm:
    return NearArm(
        triangles=obstacles.triangles[index], bound=obstacles.triangle_bound[index],
        body=obstacles.triangle_body[index].astype(np.int64), radius=radius, station=station, offset=offset,
        sense=sense,
    )  # fmt: skip


def reachable(near: NearArm, arm: Arm, cells: Cells, some: NDArray[np.int64] | None = None) -> Pairs:
    """The pairs that may meet, of some triangles or all: the ball about the triangle comes within the arm's reach."""
    if some is None:
        return _reached(near, arm, cells, near.balls)[0]
    (cell, row), _ = _reached(near, arm, cells, near.balls.only(some))
    return cell, some[row]


def _reached(
    near: NearArm, arm: Arm, cells: Cells, balls: Balls, pairs: Pairs | None = None
) -> tuple[Pairs, tuple[Floats, Floats, Floats]]:
    """The pairs of a cell and a ball, of some or all, that may meet; v, w and size of each with all it moves."""
    c, s, turn = np.cos(cells.middle), np.sin(cells.middle), 2.0 * np.sin(0.5 * np.abs(cells.half))
    centre, size, radius, grown = balls.centre, balls.size, balls.radius, cells.grown
    if pairs is None:
        c, s, turn, grown = c[:, None], s[:, None], turn[:, None], grown[:, None]
    else:
        cell, row = pairs
        c, s, turn, grown = c[cell], s[cell], turn[cell], grown[cell]
        centre, size, radius = centre[row], size[row], radius[row]
    height, v, w = near.seen(c, s, centre)
    size = size + grown + turn * radius
    at = np.nonzero((height + size >= arm.low) & (v * v + w * w <= (arm.length + size) ** 2))
    v, w = (np.broadcast_to(one, size.shape)[at] for one in (v, w))
    found = (at[0], at[1]) if pairs is None else (cell[at[0]], row[at[0]])
    return found, (v, w, size[at])


def may_close(near: NearArm, arm: Arm, cells: Cells, still: Open, pairs: Pairs | None = None) -> Pairs:
    """The pairs, of some or all, that may close a tool angle that is still open.

    Without pairs, first only balls are looked at, about some triangles each and about single ones, in the cells that
    have anything open.

    Args:
        near: the triangles.
        arm: the arm.
        cells: the cells of shaft angle.
        still: the tool angles still open in each cell.
        pairs: the pairs in question; all without.
    """
    if pairs is None:
        index = np.flatnonzero(has_open(still, cells.middle.size))
        some = Cells(middle=cells.middle[index], half=cells.half[index], growth=cells.grown[index])
        if index.size >= _MANY_CELLS and near.large is not None:
            cell, group = _closing_balls(near, arm, some, near.groups, still, index)
            row = (group[:, None] * GROUP + np.arange(GROUP)).ravel()
            inside = row < near.bound.size
            pairs = np.repeat(cell, GROUP)[inside], row[inside]
        cell, row = _closing_balls(near, arm, some, near.balls, still, index, pairs)
        pairs = index[cell], row
    found = _may_block(near, arm, cells, pairs, still)
    return pairs[0][found], pairs[1][found]


def _closing_balls(
    near: NearArm, arm: Arm, cells: Cells, balls: Balls, still: Open, number: NDArray[np.int64],
    pairs: Pairs | None = None,
) -> Pairs:  # fmt: skip
    """The pairs of a cell and a ball, of some or all, of which the ball may close an angle that is still open.

    A ball at distance d blocks no more than asin((half width + size) / d) to both sides. `number` are the cells'
    numbers in `still`.
    """
    (cell, row), (v, w, size) = _reached(near, arm, cells, balls, pairs)
    wide, far = size + max(bar.half_width for bar in arm.every), length_of(v, w)
    found = wide >= far
    aside = np.flatnonzero(~found)
    half, phi = np.arcsin(wide[aside] / far[aside]), np.arctan2(w[aside], v[aside])
    found[aside] = touches(phi - half, phi + half, number[cell[aside]], still[0])
    return cell[found], row[found]


def _may_block(near: NearArm, arm: Arm, cells: Cells, pairs: Pairs, still: Open) -> NDArray[np.bool_]:
    """Which pairs may block a tool angle that is still open, going by the triangle's corners and its box.

    A triangle at distance d from the screw's axis lies between the directions of its corners and blocks no more than
    asin(half width / d) beside them; the distance of the box about it is no larger than d.
    """
    cell, _ = pairs
    height, v, w = _corners(near, cells, pairs)
    spread = _spread(near, arm, cells, pairs, most(np.abs(height)), most(np.abs(v + _aside(near))))
    box = length_of(np.maximum(least(v), -most(v)).clip(0.0), np.maximum(least(w), -most(w)).clip(0.0))
    wide = max(bar.half_width for bar in arm.every) + np.abs(spread.aside)
    met = (most(height) >= arm.low - np.abs(spread.up)) & (box <= arm.length + np.abs(spread.aside))
    found = met & ~(wide < box)
    rows = np.flatnonzero(met & (wide < box))
    above = least(height)[rows] > max(bar.high for bar in arm.every) + np.abs(spread.up[rows])
    phi = np.arctan2(w[rows], v[rows])
    second, third = apart(phi[:, 1], phi[:, 0]), apart(phi[:, 2], phi[:, 0])
    half = np.arcsin(wide[rows] / box[rows])
    low = phi[:, 0] + np.minimum(np.minimum(second, third), 0.0) - half
    high = phi[:, 0] + np.maximum(np.maximum(second, third), 0.0) + half
    for these, ranges in ((np.flatnonzero(~above), still[0]), (np.flatnonzero(above), still[1])):
        found[rows[these[touches(low[these], high[these], cell[rows[these]], ranges)]]] = True
    return np.asarray(found, dtype=np.bool_)


def _corners(near: NearArm, cells: Cells, pairs: Pairs) -> tuple[Floats, Floats, Floats]:
    """Height, v and w of the corners of each pair's triangle at its cell's middle; shapes (n, 3)."""
    cell, which = pairs
    return near.seen(np.cos(cells.middle)[cell, None], np.sin(cells.middle)[cell, None], near.triangles[which])


def _aside(near: NearArm) -> float:
    """How far a screw's axis across the drive axis lies beside it."""
    return 0.0 if near.sense else near.offset


def _spread(near: NearArm, arm: Arm, cells: Cells, pairs: Pairs, highest: Floats, farthest: Floats) -> Spread:
    """How far triangles move in their cells, with the tool's growth and their own bound.

    Only what the arm reaches counts: no farther aside of a screw across the drive axis than its length, no farther
    from the drive axis than that beyond a screw along it.
    """
    cell, which = pairs
    half, grown, radius = cells.half[cell], cells.grown[cell], near.radius[which]
    own, reach = near.bound[which] + grown, arm.length + abs(near.offset) + grown + near.bound[which]
    if near.sense:
        moved = 2.0 * np.sin(0.5 * half) * np.minimum(radius, reach)
        return Spread(up=own, aside=own + moved, slide=np.zeros(own.size))
    turn, second = np.sin(half), radius * np.sign(half) * (1.0 - np.cos(half))
    slide = highest * turn + second
    return Spread(up=own + np.minimum(farthest, reach) * turn + second, aside=own + slide, slide=slide)


def blocked_by(near: NearArm, arm: Arm, cells: Cells, pairs: Pairs) -> tuple[Found, Found]:
    """Blocked tool angles, turning and coming in, of pairs; rows are pairs."""
    height, v, w = _corners(near, cells, pairs)
    spread = _spread(near, arm, cells, pairs, most(np.abs(height)), most(np.abs(v + _aside(near))))
    widest = max(bar.half_width for bar in arm.every)
    wide = widest + spread.aside - np.minimum(spread.slide, 0.0)
    row = np.flatnonzero((most(height) >= arm.low - spread.up) & (wide > 0.0))
    local = np.stack([height[row], v[row], w[row]], axis=2)
    turning, coming = arm_intervals(local, arm, spread.only(row))
    return (turning[0], turning[1], row[turning[2]]), (coming[0], coming[1], row[coming[2]])


def in_cells(found: tuple[Found, Found], pairs: Pairs) -> tuple[Found, Found]:
    """Intervals of pairs, turning and coming in, as those of their cells."""
    turning, coming = ((low, high, pairs[0][row]) for low, high, row in found)
    return turning, coming
