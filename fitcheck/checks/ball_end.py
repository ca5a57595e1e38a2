"""Where a ball end, tilted against the screw, drives it in.

A ball end comes in along its own tilted axis, and its arm swings about that. Tilted square to the drive axis it is an
upright tool on another screw, whose axis lies elsewhere beside the drive axis: those tilts (none, the greatest that
clears the own hub, to either side, and half of it) are as exact as upright tools are. Where those leave shaft angles
open, some tilts in all directions are tried amid them; from all that is free by then, the tool is followed on as far as
the shaft turns with some tilt (`lean_search`); and where that ends, tilts all over are looked at for one that leads on.
What is told free is free; tilts that are free in less than the steps they are looked at in may be missed, and with them
the rest of a range, or one of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from copy import copy
from dataclasses import replace
from functools import lru_cache
from math import cos, pi, radians, sin, tan
from typing import TYPE_CHECKING

import numpy as np

from fitcheck.checks.lean_arm import arm_works
from fitcheck.checks.lean_look import rooms
from fitcheck.checks.lean_search import followed
from fitcheck.checks.lean_space import Flags, Indices, Poses, Space, within
from fitcheck.checks.own_parts import Round
from fitcheck.checks.pocket import Pocket
from fitcheck.checks.screw_frame import ScrewFrame
from fitcheck.checks.tools import Tool
from fitcheck.measurement.arm_angles import Arm
from fitcheck.measurement.intervals import TURN, Gap, gaps, united
from fitcheck.measurement.obstacles import Floats, Obstacles
from fitcheck.measurement.outlines import least, most
from fitcheck.measurement.tilted_tool import tool_axes

if TYPE_CHECKING:
    from fitcheck.checks.access import Asked

_CELL = radians(5.0)
_AXIAL_CELL = radians(1.0)
"""About a screw along the axis openings are round, as a rule: the room is the same all round, and often small."""
_DIRECTIONS, _TILTS = 12, 3
_BACK = radians(0.02)
"""So far within a known range its own tilt is followed from: at its very end it is free but for rounding."""
_ROOM = 0.3
"""mm; leans with more room than that are worth the same."""
_BEYOND = radians(0.05)
"""So far beyond an end leans are looked at that may lead on."""
_DENSE = radians(3.0)
"""So far apart leans are looked at where ranges end in the end."""
_AGAIN = 5
"""So many times what is left is looked at."""
_LACKING, _LACKS_LATER = 0.9, 0.1
"""Leans at an end that lack so much of the tool's radius are tried as well; those all over it, so much."""
_SOME = 2
"""So many leans at a shaft angle are followed."""
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
    already: Sequence[tuple[Gap, float]] = (), heads: Sequence[tuple[str, Floats]] = (), pocket: Pocket | None = None,
) -> tuple[Gap, ...]:  # fmt: skip
    """Shaft angles at which some tilt comes in free and the arm makes its swing, degrees (of the tool's direction).

    Args:
        obstacles: the measurement's obstacles.
        about: the round bodies of the drive.
        screw: where the screw sits; its outer end is where the tool's first part starts.
        tool: the ball end.
        leave_out: body indices that do not count.
        already: ranges where the tool is free upright or leaning square to the drive axis, each with that tilt in
            degrees; they are part of the answer.
        heads: the heads of the other screws, in the screw's frame (`own_parts.heads`).
        pocket: of the screw in its own hub, which the leaning tool has to clear as well.
    """
    space = _space(obstacles, about, screw, tool, leave_out, heads, pocket)
    known = np.radians(np.array([(gap.start, gap.stop, tilt) for gap, tilt in already]).reshape(-1, 3))
    free = _more(space, known[:, :2], known[:, 2])
    return united(
        Gap(start=float(np.degrees(low)), stop=float(np.degrees(high)), start_owner=-1, stop_owner=-1)
        for low, high in free
    )


def _more(space: Space, known: Floats, tilts: Floats) -> Floats:
    """Free ranges of shaft angle, radians: those that are known, (n, 2), each at its tilt, and what leans add."""
    every, leans, cell, before = known, _leans(space), _AXIAL_CELL if space.screw.sense else _CELL, np.empty(0)
    for turn in range(_AGAIN):
        rest = _rest(every)
        if not leans.size or not rest:
            break
        at, way, width = _ends(rest)
        new = np.abs(at[:, None] - before).min(axis=1, initial=TURN) > _BACK
        at, way, width, before = at[new], way[new], width[new], at
        # Little gaps are looked at in their middle.
        thetas = at + np.minimum(_BEYOND, 0.5 * width) * way
        starts = []
        if turn == 0:
            starts.append(_leans_there(known, tilts, at, way))
            thetas = np.concatenate([thetas, *(_middles(gap, cell) for gap in rest)])
        if not thetas.size:
            break
        point, lean, works = _worth_a_look(space, thetas, leans, _LACKING if turn == 0 else _LACKS_LATER)
        # What is free there is followed both ways; what is nearly so, from the end, and from amid what is left.
        there, others = np.flatnonzero(works), np.flatnonzero(~works)
        starts += [(thetas[point[there]], leans[lean[there]], np.full(there.size, sense)) for sense in (1.0, -1.0)]
        of_end = others[point[others] < at.size]
        starts.append((at[point[of_end]], leans[lean[of_end]], way[point[of_end]]))
        begin, its_leans, its_way = (np.concatenate(column) for column in zip(*starts, strict=True))
        found = followed(space, begin, its_leans, its_way, every)[0]
        every = np.concatenate([every, found])
        if turn == 0:
            leans, before = _dense_leans(space), np.empty(0)
    return every


def _rest(ranges: Floats) -> tuple[Gap, ...]:
    """What ranges of shaft angle, (n, 2), radians, leave."""
    return gaps(ranges[:, 0], ranges[:, 1], np.full(ranges.shape[0], -1, dtype=np.int64))


def _ends(rest: Sequence[Gap]) -> tuple[Floats, Floats, Floats]:
    """The ends of free ranges that leave a rest, the way on from each into it, and how wide it is there, radians."""
    some = [gap for gap in rest if gap.width < 360.0]
    at = np.radians([*(gap.start for gap in some), *(gap.stop for gap in some)])
    return np.asarray(at), np.repeat([1.0, -1.0], len(some)), np.radians([gap.width for gap in some] * 2)


def _dense_leans(space: Space) -> Floats:
    """Leans all over the greatest tilt, (n, 2), those that the drive itself lets in."""
    count = int(np.ceil(2.0 * space.greatest / _DENSE)) + 1
    at = np.linspace(-space.greatest, space.greatest, count)
    leans = np.stack(np.meshgrid(at, at), axis=-1).reshape(-1, 2)
    leans = within(leans[np.hypot(*leans.T) <= space.greatest + 0.7 * _DENSE], space.greatest)
    tilts = np.stack([np.hypot(*leans.T), np.arctan2(leans[:, 1], leans[:, 0])], axis=1)
    return leans if space.pocket is None else leans[space.pocket.clears(tilts, space.radius)]


def _leans_there(known: Floats, tilts: Floats, at: Floats, way: Floats) -> tuple[Floats, Floats, Floats]:
    """The leans that are free at the ends of known ranges: shaft angles, leans (n, 2), and the ways on."""
    inside = np.mod(at[:, None] - known[None, :, 0] + 1e-6, TURN) <= (known[:, 1] - known[:, 0])[None] + 2e-6
    end, which = np.nonzero(inside)
    return (at - _BACK * way)[end], np.stack([tilts[which], np.zeros(which.size)], axis=1), way[end]


def _middles(gap: Gap, widest: float) -> Floats:
    """Shaft angles amid equal parts of a range, radians."""
    count = max(int(np.ceil(radians(gap.width) / widest)), 1)
    return np.asarray(np.radians(gap.start + gap.width * (np.arange(count) + 0.5) / count))


def _worth_a_look(space: Space, thetas: Floats, leans: Floats, lacking: float) -> tuple[Indices, Indices, Flags]:
    """Pairs of a shaft angle and a lean, and whether they are free: of each angle some that are, or else nearly."""
    point, lean = np.nonzero(~_by_walls(space, thetas, leans))
    none = np.zeros(point.size)
    room = rooms(space, Poses(thetas[point], leans[lean], none, none), _ROOM)
    works = room >= 0.0
    free = np.flatnonzero(works)
    if space.arm is not None and free.size:
        none = np.zeros(free.size)
        works[free] = arm_works(space, Poses(thetas[point[free]], leans[lean[free]], none, none))
    any_ = np.zeros(thetas.size, dtype=bool)
    any_[point[works]] = True
    keep = np.flatnonzero(works | (~any_[point] & (room > -lacking * space.radius)))
    order = keep[_first_of(point[keep], -room[keep] - 2.0 * works[keep], _SOME)]
    return point[order], lean[order], works[order]


def _first_of(number: Indices, value: Floats, some: int) -> Indices:
    """Rows of each number with the least values, so many of them."""
    order = np.lexsort((value, number))
    rank = np.arange(order.size) - np.searchsorted(number[order], number[order])
    return np.asarray(order[rank < some])


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


def _leans(space: Space) -> Floats:
    """Leans to begin with, (n, 2): none, and all round the greatest that the drive itself lets in, and half of it."""
    around = 2.0 * pi * np.arange(_DIRECTIONS) / _DIRECTIONS
    tilts = space.greatest * np.linspace(1.0, 0.0, _TILTS, endpoint=False)
    leans = (tilts[:, None, None] * np.stack([np.cos(around), np.sin(around)], axis=1)).reshape(-1, 2)
    free = _own_free(space, np.concatenate([leans, np.zeros((1, 2))]))
    most = tilts[np.argmax(free[:-1].reshape(_TILTS, -1), axis=0)]
    some = free[:-1].reshape(_TILTS, -1).any(axis=0)
    rows = [np.zeros((1, 2))] if free[-1] else [np.empty((0, 2))]
    edge = (most[:, None] * np.stack([np.cos(around), np.sin(around)], axis=1))[some]
    return np.concatenate([*rows, edge, 0.5 * edge])


def _own_free(space: Space, leans: Floats) -> Flags:
    """Which leans what turns with the screw, or is round about the drive axis, lets in: at any shaft angle."""
    own = np.flatnonzero(space.turns & ~space.by_arm)
    alone = replace(
        space, triangles=space.triangles[own], bound=space.bound[own], turns=space.turns[own], by_arm=space.by_arm[own]
    )
    none = np.zeros(leans.shape[0])
    return np.asarray(rooms(alone, Poses(none, leans, none, none), 0.1) >= 0.0)


def _by_walls(space: Space, thetas: Floats, leans: Floats) -> Flags:
    """At which shaft angles, (n,), the axis of which leans, (k, 2), runs through a large triangle: (n, k)."""
    found = np.zeros((thetas.size, leans.shape[0]), dtype=bool)
    walls = space.triangles[np.flatnonzero(~space.turns)[:_WALLS]]
    h, a, b = space.screw.seen(thetas[:, None, None], walls)
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
