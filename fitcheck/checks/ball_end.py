"""Where a ball end, tilted against the screw, drives it in.

A ball end comes in along its own tilted axis, and its arm swings about that. Tilted square to the drive axis it is an
upright tool on another screw, whose axis lies elsewhere beside the drive axis: those tilts (none, the greatest that
clears the own hub, to either side, and half of it) are as exact as upright tools are. Where those leave shaft angles
open, whole cells of them are tried with some tilts in all directions; and at the ends of what is free by then, all
tilts are searched through (`lean_search`), so that a range ends where no tilt leads on. What is told free is free;
where the arm finds its swing in a few odd tilts alone, the search may miss them, and so may a range of its own be.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from copy import copy
from dataclasses import replace
from functools import lru_cache
from math import cos, pi, radians, sin, tan
from typing import TYPE_CHECKING

import numpy as np

from fitcheck.checks.lean_search import beyond, free_at
from fitcheck.checks.lean_space import Cells, Flags, Look, Space, near_pairs
from fitcheck.checks.own_parts import Round
from fitcheck.checks.pocket import Pocket
from fitcheck.checks.screw_frame import ScrewFrame
from fitcheck.checks.tools import Tool
from fitcheck.measurement.arm_angles import Arm
from fitcheck.measurement.intervals import Gap, gaps, united
from fitcheck.measurement.obstacles import Floats, Obstacles
from fitcheck.measurement.outlines import least, most
from fitcheck.measurement.tilted_tool import tool_axes

if TYPE_CHECKING:
    from fitcheck.checks.access import Asked

_CELL = radians(4.0)
_AXIAL_CELL = radians(1.0)
"""About a screw along the axis openings are round, as a rule: the room is the same all round, and often small."""
_DIRECTIONS = 12
_FAR = 400.0
_SIDES = 36
_WALLS = 500
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
    space = _space(obstacles, about, screw, tool, leave_out, heads, pocket)
    known = np.radians(np.array([(gap.start, gap.stop) for gap in already]).reshape(-1, 2))
    rest = gaps(known[:, 0], known[:, 1], np.full(known.shape[0], -1, dtype=np.int64))
    cells = np.concatenate([np.empty((0, 2)), *(_cut(gap, _AXIAL_CELL if screw.sense else _CELL) for gap in rest)])
    leans = _own_free(space, _leans(space))
    cell, lean = np.nonzero(~_by_walls(space, cells, leans))
    free = beyond(space, np.concatenate([known, free_at(space, cells[cell], leans[lean])[0]]), leans)
    return united(
        Gap(start=float(np.degrees(low)), stop=float(np.degrees(high)), start_owner=-1, stop_owner=-1)
        for low, high in free
    )


def _space(
    obstacles: Obstacles, about: Sequence[Round], screw: ScrewFrame, tool: Tool, leave_out: Iterable[int],
    heads: Sequence[tuple[str, Floats]], pocket: Pocket | None,
) -> Space:  # fmt: skip
    """What may be in the way, the largest triangles first."""
    own = [(screw.placed(head), False) for _, head in heads] + [(_tube(body), body.own_hub) for body in about]
    turning = np.concatenate([np.empty((0, 3, 3)), *(triangles for triangles, _ in own)])
    by_arm = np.concatenate([np.empty(0, dtype=bool), *(np.full(len(part), hub) for part, hub in own)])
    skip = np.fromiter(leave_out, dtype=np.int64)
    lowest = 0.0
    if tool.arm is not None:
        lowest = min((tool.arm.low - tool.parts[0].start) * cos(radians(tool.tilt)), 0.0) - tool.arm.length
    keep = screw.highest(obstacles.triangles) >= lowest - obstacles.triangle_bound
    if skip.size:
        keep &= ~np.isin(obstacles.triangle_body, skip)
    count, rows = turning.shape[0], np.flatnonzero(keep)
    area = np.concatenate([np.zeros(count), obstacles.areas[rows]])
    order = np.argsort(-area, kind="stable")
    return Space(
        screw=screw, tool=tool, pocket=pocket,
        triangles=np.concatenate([turning, obstacles.triangles[rows]])[order],
        bound=np.concatenate([np.zeros(count), obstacles.triangle_bound[rows]])[order],
        turns=(np.arange(area.size) < count)[order],
        by_arm=np.concatenate([by_arm, np.zeros(rows.size, dtype=bool)])[order],
    )  # fmt: skip


def _cut(gap: Gap, widest: float) -> Floats:
    count = max(int(np.ceil(radians(gap.width) / widest)), 1)
    ends = np.radians(np.linspace(gap.start, gap.stop, count + 1))
    return np.stack([ends[:-1], ends[1:]], axis=1)


def _leans(space: Space) -> Floats:
    """Some leans, (n, 2): none, the greatest tilt in twelve directions, half of it in four, and those told exactly."""
    around, half = (2.0 * pi * np.arange(count) / count for count in (_DIRECTIONS, 4))
    rows = [np.zeros((1, 2)), space.greatest * np.stack([np.cos(around), np.sin(around)], 1)]
    rows.append(0.5 * space.greatest * np.stack([np.cos(half), np.sin(half)], 1))
    if space.pocket is not None and not space.screw.sense:
        ends = [side * radians(space.pocket.greatest(space.tool.tilt, side, space.radius)) for side in (1.0, -1.0)]
        rows.append(np.array([(share * end, 0.0) for end in ends for share in (0.5, 1.0)]))
    return np.concatenate(rows)


def _own_free(space: Space, leans: Floats) -> Floats:
    """The leans that what turns with the screw, or is round about the drive axis, lets in: at any shaft angle."""
    own = np.flatnonzero(space.turns & ~space.by_arm)
    alone = replace(
        space, triangles=space.triangles[own], bound=space.bound[own], turns=space.turns[own], by_arm=space.by_arm[own]
    )
    cells = Cells(np.zeros(leans.shape), leans, np.zeros(leans.shape[0]))
    return np.asarray(leans[Look(alone, cells, near_pairs(alone, cells, np.zeros(cells.count))).free])


def _by_walls(space: Space, cells: Floats, leans: Floats) -> Flags:
    """In which cells of shaft angle, (n, 2), the axis of which leans, (k, 2), runs through a large triangle: (n, k)."""
    found = np.zeros((cells.shape[0], leans.shape[0]), dtype=bool)
    walls = space.triangles[np.flatnonzero(~space.turns)[:_WALLS]]
    h, a, b = space.screw.seen(cells.mean(axis=1)[:, None, None], walls)
    # Only what reaches into the cone of all leans is run through.
    top = most(h)
    reach = np.maximum(top, 0.0) * tan(space.greatest)
    near = (top > 0.0) & (least(a) <= reach) & (most(a) >= -reach) & (least(b) <= reach) & (most(b) >= -reach)
    cell, which = np.nonzero(near)
    through = _through(np.stack([h[cell, which], a[cell, which], b[cell, which]], axis=2), tool_axes(leans)[:, 0])
    met, lean = np.nonzero(through)
    found[cell[met], lean] = True
    return found


def _through(triangles: Floats, axes: Floats) -> Flags:
    """Which half lines from the origin along axes (k, 3) run through which triangles (n, 3, 3): (n, k)."""
    corner, first = triangles[:, 0], triangles[:, 1] - triangles[:, 0]
    second = triangles[:, 2] - corner
    normal = np.cross(first, second)
    height = np.einsum("ni,ni->n", corner, normal)[:, None]
    # How far along the axis, and the weights of two corners, all times `facing`.
    facing = normal @ axes.T
    sign = np.where(facing > 0.0, 1.0, -1.0)
    one, two = sign * (np.cross(second, corner) @ axes.T), sign * (np.cross(corner, first) @ axes.T)
    met = (one >= 0.0) & (two >= 0.0) & (one + two <= sign * facing)
    return np.asarray(met & (sign * height >= 0.0) & (np.abs(facing) > 1e-9))


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
