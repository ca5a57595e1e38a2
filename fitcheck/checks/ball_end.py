"""Where a ball end, tilted against the screw, drives it in.

A ball end comes in along its own tilted axis, and its arm swings about that. Tilted square to the drive axis it is an
upright tool on another screw, whose axis lies elsewhere beside the drive axis: those tilts (none, half of the greatest
and the greatest, to either side) are as exact as upright tools are. Where those leave an angle open, the greatest tilt
is tried in ten more directions about the screw, and half of it along the drive axis: whole cells of shaft angle are
proved free there, every point of the material being grown by its way through the cell. So what is told free is free; a
tilt between those tried may reach somewhat farther. On a screw along the drive axis all leans are tried in cells: the
greatest in twelve directions, half of it in four.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from copy import copy
from dataclasses import replace
from functools import lru_cache
from math import cos, pi, radians, sin
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fitcheck.checks.own_parts import Round
from fitcheck.checks.pocket import Pocket
from fitcheck.checks.screw_frame import ScrewFrame
from fitcheck.checks.tools import Tool
from fitcheck.measurement.arm_angles import Arm, BlockedAngles, Spread, arm_intervals, works
from fitcheck.measurement.intervals import Gap, gaps, united
from fitcheck.measurement.obstacles import Floats, Obstacles
from fitcheck.measurement.outlines import distances, least, most, outlines, over_origin

if TYPE_CHECKING:
    from fitcheck.checks.access import Asked

_FIRST_CELL = radians(4.0)
_FIRST_AXIAL_CELL = radians(1.0)
"""About a screw along the axis openings are round, as a rule: the room is the same all round, and often small."""
_FINEST = radians(0.1)
_DIRECTIONS = 12
_FAR = 400.0
_SIDES = 36
_WALLS = 200
"""So many of the triangles, the largest, are tried in all cells at once: a wall blocks most tilts by them alone."""


def leaning(asked: Asked, tool: Tool, tilt: float) -> tuple[Asked, Tool]:
    """A tool that leans by `tilt` degrees square to the drive axis, as an upright tool on a screw of its own.

    The tool's direction u becomes cos(tilt) u + sin(tilt) n, which is the shaft angle's direction `tilt` further on.
    The screw's outer end stays where it is; seen along and across the new direction it has another height and offset.
    """
    c, s = cos(radians(tilt)), sin(radians(tilt))
    start, offset = tool.parts[0].start, asked.offset
    height, aside = start * c + offset * s, offset * c - start * s
    turned = copy(asked)
    turned.offset, turned.key = aside, (*asked.key, "leaning", tilt)
    turned.heads = []
    for name, triangles in asked.heads:
        t, v, w = triangles[:, :, 0], triangles[:, :, 1] + offset, triangles[:, :, 2]
        turned.heads.append((name, np.stack([t * c + v * s, v * c - t * s - aside, w], axis=2)))
    arm = None if tool.arm is None else _raised(tool.arm, height - start)
    parts = tuple(replace(part, start=part.start + height - start) for part in tool.parts)
    upright = replace(tool, parts=parts, arm=arm, tilt=0.0)
    turned.tools = (upright,)
    return turned, upright


def _raised(arm: Arm, by: float) -> Arm:
    return replace(arm, bars=tuple(replace(bar, low=bar.low + by, high=bar.high + by) for bar in arm.bars))


def tilted_ranges(
    obstacles: Obstacles, about: Sequence[Round], screw: ScrewFrame, tool: Tool, *, leave_out: Iterable[int] = (),
    already: Sequence[Gap] = (), heads: Sequence[tuple[str, Floats]] = (), pocket: Pocket | None = None,
) -> tuple[Gap, ...]:  # fmt: skip
    """Shaft angles at which some tilt comes in free and the arm makes its swing, degrees (of the tool's direction).

    Args:
        obstacles: the measurement's obstacles.
        about: the round bodies of the drive.
        screw: where the screw sits; its outer end is where the tool's first part starts.
        tool: the ball end.
        leave_out: body indices that do not count.
        already: ranges where the tool is free upright or leaning square to the drive axis; they are part of the
            answer, and such tilts are then not tried again. Of a screw along the axis, where it is free upright.
        heads: the heads of the other screws, in the screw's frame (`own_parts.heads`).
        pocket: of the screw in its own hub, which the leaning tool has to clear as well.
    """
    skip = np.fromiter(leave_out, dtype=np.int64)
    keep = screw.highest(obstacles.triangles) >= min(_lowest(tool), 0.0) - obstacles.triangle_bound
    if skip.size:
        keep &= ~np.isin(obstacles.triangle_body, skip)
    triangles, bound = obstacles.triangles[keep], obstacles.triangle_bound[keep]
    area = np.linalg.norm(np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]), axis=1)
    order = np.argsort(-area, kind="stable")
    triangles, bound = triangles[order], bound[order]
    tilts = _tilts(tool.tilt, upright=not already, axial=bool(screw.sense))
    if pocket is not None:
        tilts = tilts[pocket.clears(tilts, tool.parts[0].radius)]
    tilts, fixed = _own_free(about, heads, screw, tool, tilts)
    free = [np.radians([gap.start, gap.stop]) for gap in already]
    known = np.array(free).reshape(-1, 2)
    rest = gaps(known[:, 0], known[:, 1], np.full(known.shape[0], -1, dtype=np.int64))
    widest = _FIRST_AXIAL_CELL if screw.sense else _FIRST_CELL
    cells = np.concatenate([np.empty((0, 2)), *(_cut(gap, widest) for gap in rest)])
    # Of each cell the triangles that may matter there: those that may in the cell which it was cut from.
    among: list[NDArray[np.int64]] = [np.arange(triangles.shape[0])] * cells.shape[0]
    while cells.shape[0] and tilts.shape[0]:
        proved = np.zeros(cells.shape[0], dtype=bool)
        blocked = _by_walls(triangles[:_WALLS], bound[:_WALLS], cells, tilts, screw, tool)
        for index in np.flatnonzero(~blocked.all(axis=1)):
            low, high = cells[index]
            middle, half = 0.5 * (low + high), 0.5 * (high - low)
            frames, origin = screw.frames(middle, tilts), screw.origin(middle)
            left, rows = np.flatnonzero(~blocked[index]), among[index]
            grow, in_cone, keep = _reached(triangles[rows], bound[rows], middle, half, screw, tool)
            among[index] = rows = rows[keep]
            near, grow, in_cone = triangles[rows], grow[keep], in_cone[keep]
            left = left[~_met(near[in_cone], grow[in_cone], origin, frames[left], tool.parts[0].radius)]
            proved[index] = any(
                _arm_works((near - origin) @ frames[tilt].T, grow, tool.arm, screw.start, fixed[tilt]) for tilt in left
            )
        free.extend(cells[proved])
        wide = cells[:, 1] - cells[:, 0] > _FINEST
        # Only next to what is free may a finer cell still be free.
        beside = np.zeros(cells.shape[0], dtype=bool)
        for low, high in free:
            for shift in (-2.0 * pi, 0.0, 2.0 * pi):
                beside |= (np.abs(cells[:, 0] + shift - high) < 1e-9) | (np.abs(cells[:, 1] + shift - low) < 1e-9)
        going_on = np.flatnonzero(~proved & wide & beside)
        cells, among = cells[going_on], [among[index] for index in going_on] * 2
        middle_of = cells.mean(axis=1)
        cells = np.concatenate([np.stack([cells[:, 0], middle_of], 1), np.stack([middle_of, cells[:, 1]], 1)])
    return united(
        Gap(start=float(np.degrees(low)), stop=float(np.degrees(high)), start_owner=-1, stop_owner=-1)
        for low, high in free
    )


def _cut(gap: Gap, widest: float) -> Floats:
    count = max(int(np.ceil(radians(gap.width) / widest)), 1)
    ends = np.radians(np.linspace(gap.start, gap.stop, count + 1))
    return np.stack([ends[:-1], ends[1:]], axis=1)


def _tilts(greatest: float, *, upright: bool, axial: bool) -> Floats:
    """Tilt and its direction about the screw as in `ScrewFrame.frames`, radians, those along the drive axis first.

    Without `upright` those that lean square to the drive axis, or not at all, are left out; of a screw along the axis
    those that do not lean at all.
    """
    around = 2.0 * pi * np.arange(_DIRECTIONS) / _DIRECTIONS
    sideways = np.abs(np.sin(around)) < 1e-9
    order = np.argsort(-np.abs(np.sin(around)), kind="stable")
    rows = [np.stack([np.full(_DIRECTIONS, radians(greatest)), around], axis=1)[order]]
    rows.append(np.array([[radians(greatest) * 0.5, turn] for turn in (0.5 * pi, 1.5 * pi)]))
    if axial:
        rows.append(np.array([[radians(greatest) * 0.5, turn] for turn in (0.0, pi)]))
        rows += [np.zeros((1, 2))] * upright
    elif upright:
        rows.append(np.array([[0.0, 0.0], [radians(greatest) * 0.5, 0.0], [radians(greatest) * 0.5, pi]]))
    else:
        rows[0] = rows[0][~sideways[order]]
    return np.concatenate(rows)


def _own_free(
    about: Sequence[Round], heads: Sequence[tuple[str, Floats]], screw: ScrewFrame, tool: Tool, tilts: Floats
) -> tuple[Floats, list[BlockedAngles]]:
    """The tilts at which the drive itself lets the tool in, and the tool angles that it blocks there.

    All of it is round about the drive axis or turns with the screw, so shaft angle 0 stands for all.
    """
    frames, origin = screw.frames(0.0, tilts), screw.origin(0.0)
    placed = [screw.placed(head) for _, head in heads]
    others, every = (
        _in_reach(tubes, np.zeros(tubes.shape[0]), 0.0, 0.0, screw, tool)
        for tubes in (
            np.concatenate([np.empty((0, 3, 3)), *placed, *(_tube(body) for body in about if not body.own_hub)]),
            np.concatenate([np.empty((0, 3, 3)), *placed, *(_tube(body) for body in about)]),
        )
    )
    free = ~_met(others[0][others[2]], others[1][others[2]], origin, frames, tool.parts[0].radius)
    blocked = []
    if tool.arm is not None:
        blocked = [
            _arm_blocked((every[0] - origin) @ frame.T, every[1], tool.arm, screw.start) for frame in frames[free]
        ]
    return tilts[free], blocked or [BlockedAngles()] * int(free.sum())


def _arm_blocked(seen: Floats, grow: Floats, arm: Arm, start: float) -> BlockedAngles:
    spread = Spread(up=grow, aside=grow, slide=np.zeros(grow.size))
    turning, coming = arm_intervals(seen, _raised(arm, -start), spread)
    return BlockedAngles(turning=turning[:2], coming=coming[:2])


def _arm_works(seen: Floats, grow: Floats, arm: Arm | None, start: float, fixed: BlockedAngles) -> bool:
    return arm is None or works(fixed | _arm_blocked(seen, grow, arm, start), arm)


def _in_reach(
    triangles: Floats, bound: Floats, theta: float, half: float, screw: ScrewFrame, tool: Tool
) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """The triangles that a tilted tool may meet in a cell of shaft angle, and by how much they are grown there.

    The last tells which of them its straight part may meet.
    """
    grow, in_cone, keep = _reached(triangles, bound, theta, half, screw, tool)
    return triangles[keep], grow[keep], in_cone[keep]


def _reached(
    triangles: Floats, bound: Floats, theta: float | Floats, half: float | Floats, screw: ScrewFrame, tool: Tool
) -> tuple[Floats, NDArray[np.bool_], NDArray[np.bool_]]:
    """By how much triangles are grown in cells, and which of them the straight part and all of the tool may meet."""
    height, left, along = screw.seen(theta, triangles)
    grow = bound + 2.0 * most(np.hypot(triangles[:, :, 1], triangles[:, :, 2])) * np.sin(0.5 * half)
    top = most(height) + grow
    reach = np.maximum(top, 0.0) * np.tan(radians(tool.tilt)) + tool.parts[0].radius / cos(radians(tool.tilt)) + grow

    def beside(wide: Floats) -> NDArray[np.bool_]:
        near = (least(left) <= wide) & (most(left) >= -wide) & (least(along) <= wide) & (most(along) >= -wide)
        return np.asarray(near)

    in_cone = (top >= 0.0) & beside(reach)
    keep = in_cone
    if tool.arm is not None:
        keep = in_cone | ((top >= _lowest(tool)) & beside(reach + tool.arm.length))
    return grow, in_cone, keep


def _lowest(tool: Tool) -> float:
    """How low above the screw's outer end the arm of a tool that leans comes, mm; 0 without an arm."""
    if tool.arm is None:
        return 0.0
    # An arm of length l at height h above the ball lies at h cos(tilt) - l sin(tilt) and above, seen upright.
    tilt = radians(tool.tilt)
    return (tool.arm.low - tool.parts[0].start) * cos(tilt) - tool.arm.length * sin(tilt)


def _by_walls(
    triangles: Floats, bound: Floats, cells: Floats, tilts: Floats, screw: ScrewFrame, tool: Tool
) -> NDArray[np.bool_]:
    """At which tilts, (k, 2), the straight part meets a triangle in which cells, shape (n, 2): (n, k)."""
    middle, half = cells.mean(axis=1), 0.5 * (cells[:, 1] - cells[:, 0])
    origins = np.stack([screw.origin(float(theta)) for theta in middle])
    frames = np.stack([screw.frames(float(theta), tilts) for theta in middle])
    met = _through(triangles, origins, frames[:, :, 0])
    grow, in_cone, _ = _reached(triangles, bound, middle[:, None, None], half[:, None], screw, tool)
    cell, tilt, which = np.nonzero(~met[:, :, None] & in_cone[:, None, :])
    seen = np.einsum("nij,nkj->nik", triangles[which] - origins[cell, None], frames[cell, tilt])
    hit = _triangles_met(seen, grow[cell, which], tool.parts[0].radius)
    met[cell[hit], tilt[hit]] = True
    return met


def _through(triangles: Floats, origins: Floats, axes: Floats) -> NDArray[np.bool_]:
    """Which half lines from origins (n, 3) along axes (n, k, 3) run through a triangle: (n, k)."""
    corner, first = triangles[:, 0], triangles[:, 1] - triangles[:, 0]
    second = triangles[:, 2] - corner
    normal = np.cross(first, second)
    away = origins[:, None] - corner
    facing = axes @ normal.T
    height = np.einsum("nmi,mi->nm", away, normal)
    # Weights of two corners, and how far along the axis, all times `facing`.
    of_first = np.einsum("nki,nmi->nkm", axes, np.cross(away, second))
    of_second = np.einsum("nki,nmi->nkm", axes, np.cross(first, away))
    sign = np.where(facing > 0.0, 1.0, -1.0)
    weights = [sign * of_first, sign * of_second]
    met = (weights[0] >= 0.0) & (weights[1] >= 0.0) & (weights[0] + weights[1] <= sign * facing)
    met &= (sign * -height[:, None] >= 0.0) & (np.abs(facing) > 1e-9)
    return np.asarray(met.any(axis=2))


def _met(triangles: Floats, grow: Floats, origin: Floats, frames: Floats, radius: float) -> NDArray[np.bool_]:
    """Which tilted tools meet any of the triangles, grown."""
    met, count = np.zeros(frames.shape[0], dtype=bool), triangles.shape[0]
    if count == 0 or met.size == 0:
        return met
    seen = np.einsum("nij,kaj->knia", triangles - origin, frames).reshape(-1, 3, 3)
    grown, whose = np.tile(grow, met.size), np.repeat(np.arange(met.size), count)
    met[whose[_triangles_met(seen, grown, radius)]] = True
    return met


def _triangles_met(seen: Floats, grow: Floats, radius: float) -> NDArray[np.bool_]:
    """Which triangles, in the frame of a tool and grown, its straight part meets on its way in."""
    # What lies beside the ball itself is the screw's own counterbore and the hub, which are not among the triangles.
    wide = radius + grow
    x, y = seen[:, :, 1], seen[:, :, 2]
    close = (least(x) <= wide) & (most(x) >= -wide) & (least(y) <= wide) & (most(y) >= -wide)
    close &= most(seen[:, :, 0]) >= -grow
    met, rows = np.zeros(grow.size, dtype=bool), np.flatnonzero(close)
    if rows.size:
        seen, grow, wide = seen[rows], grow[rows], wide[rows]
        first, second, owner = outlines(seen, -grow, np.full(grow.size, 1e6))
        met[rows] = over_origin(seen, -grow)
        met[rows[owner[distances(first, second) <= wide[owner]]]] = True
    return met


@lru_cache(maxsize=64)
def _tube(body: Round) -> Floats:
    """A round body as triangles about it, cut off far away; in (s, x, y)."""
    radius = min(body.radius, _FAR) / cos(pi / _SIDES)
    start, stop = max(body.start, -_FAR), min(body.stop, _FAR)
    angles = 2.0 * pi * np.arange(_SIDES + 1) / _SIDES

    def ring(station: float, away: float) -> Floats:
        return np.stack([np.full(angles.size, station), away * np.cos(angles), away * np.sin(angles)], axis=1)

    low, high = ring(start, radius), ring(stop, radius)
    middle_low, middle_high = ring(start, 0.0)[1:], ring(stop, 0.0)[1:]
    return np.concatenate(
        [
            np.stack([low[:-1], low[1:], high[1:]], axis=1),
            np.stack([low[:-1], high[1:], high[:-1]], axis=1),
            np.stack([middle_low, low[:-1], low[1:]], axis=1),
            np.stack([middle_high, high[1:], high[:-1]], axis=1),
        ]
    )
