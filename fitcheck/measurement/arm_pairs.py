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
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.arm_angles import APART, Arm, Found, Spread, arm_intervals
from fitcheck.measurement.intervals import covered, unwrapped
from fitcheck.measurement.obstacles import Floats, Obstacles
from fitcheck.measurement.outlines import least, most

Pairs = tuple[NDArray[np.int64], NDArray[np.int64]]
"""Cells and triangles, as indices."""

NOTHING: Found = (np.empty(0), np.empty(0), np.empty(0, dtype=np.int64))

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
class NearArm:
    """The triangles that an arm could meet at some shaft angle, about one screw.

    `sense` is 0 of a screw across the drive axis at `station`, `offset` beside the axis. Of a screw along it, `offset`
    is the distance of its axis from the drive axis, and `sense` +1 where the tool lies towards the actuator, -1 towards
    the motor; heights are then `sense` times the station. `centre` and `size` are of the balls about the triangles; of
    many, `large` tells the largest.
    """

    triangles: Floats
    bound: Floats
    body: NDArray[np.int64]
    radius: Floats
    station: float
    offset: float
    sense: float = 0.0
    centre: Floats = field(init=False)
    size: Floats = field(init=False)
    large: NDArray[np.bool_] | None = field(init=False)

    def __post_init__(self) -> None:
        low, high = self.triangles.min(axis=1), self.triangles.max(axis=1)
        centre = 0.5 * (low + high)
        corners = self.triangles - centre[:, None, :]
        object.__setattr__(self, "centre", centre)
        size = np.sqrt(most(np.einsum("ijk,ijk->ij", corners, corners)))
        object.__setattr__(self, "size", size)
        area = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1)
        large = None if size.size <= _MANY else area >= np.partition(area, -_LARGEST)[-_LARGEST]
        object.__setattr__(self, "large", large)

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


def reachable(near: NearArm, arm: Arm, cells: Cells) -> Pairs:
    """The pairs that may meet: the ball about the triangle comes within the arm's reach."""
    c, s = np.cos(cells.middle)[:, None], np.sin(cells.middle)[:, None]
    height, v, w = near.seen(c, s, near.centre[None])
    moved = near.size + near.bound + 2.0 * np.sin(0.5 * np.abs(cells.half))[:, None] * near.radius
    moved += cells.grown[:, None]
    cell, which = np.nonzero((height + moved >= arm.low) & (v * v + w * w <= (arm.length + moved) ** 2))
    return cell.astype(np.int64), which.astype(np.int64)


def uncovered(near: NearArm, arm: Arm, cells: Cells, pairs: Pairs, turning: Found, coming: Found) -> NDArray[np.bool_]:
    """Which pairs may block a tool angle that is not blocked already, going by the triangle's corners and its box.

    A triangle at distance d from the screw's axis lies between the directions of its corners and blocks no more than
    asin(half width / d) beside them; the distance of the box about it is no larger than d.

    Args:
        near: the triangles.
        arm: the arm.
        cells: the cells of shaft angle.
        pairs: the pairs in question.
        turning: what is blocked already while turning: a disjoint ascending union in each cell.
        coming: the same, on the way in.
    """
    cell, _ = pairs
    height, v, w = _corners(near, cells, pairs)
    spread = _spread(near, arm, cells, pairs, most(np.abs(height)), most(np.abs(v + _aside(near))))
    box = np.hypot(np.maximum(least(v), -most(v)).clip(0.0), np.maximum(least(w), -most(w)).clip(0.0))
    wide = max(bar.half_width for bar in arm.every) + np.abs(spread.aside)
    met = (most(height) >= arm.low - np.abs(spread.up)) & (box <= arm.length + np.abs(spread.aside))
    found = met & ~(wide < box)
    rows = np.flatnonzero(met & (wide < box))
    above = least(height)[rows] > max(bar.high for bar in arm.every) + np.abs(spread.up[rows])
    phi = np.arctan2(w[rows], v[rows])
    apart = np.mod(phi[:, 1:] - phi[:, :1] + np.pi, 2.0 * np.pi) - np.pi
    half = np.arcsin(wide[rows] / box[rows])
    low = phi[:, 0] + np.minimum(apart, 0.0).min(axis=1) - half
    high = phi[:, 0] + np.maximum(apart, 0.0).max(axis=1) + half
    low, high, row = unwrapped(low, high, np.arange(rows.size))
    shift = cell[rows[row]] * APART
    for these, union in ((~above[row], turning), (above[row], coming)):
        own = union[2] * APART
        inside = covered(low[these] + shift[these], high[these] + shift[these], union[0] + own, union[1] + own)
        found[rows[row[these][~inside]]] = True
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


def in_cells(found: Found, cell: NDArray[np.int64]) -> Found:
    """Intervals of pairs as those of their cells."""
    return found[0], found[1], cell[found[2]]
