"""At which shaft angles a straight tool comes to a screw from outside without touching anything.

A tool is a stack of cylinders on the screw's axis; each that slides in from outside sweeps a cylinder of its own radius
from its start to infinity, so a position is free exactly when none of these half-infinite cylinders meets material.

Turned into the plane: at station s the cylinder of radius R about station k is the half-strip |n.p - h| <= a(s),
u.p >= start, with a(s) = sqrt(R^2 - (s - k)^2). Within a slab of stations the half-strip with the slab's greatest `a`
contains the tool and the one with its least `a` lies in it, so the slab's material, projected on (x, y), gives an outer
and an inner set of blocked angles. Both are closed-form; slabs are cut (in the angle whose sine is (s - k) / R) only
where the two sets differ by more than the tolerance. What is returned is the outer set.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.half_strips import TURN_OFF, holding_angles, intervals_of_widths, least_radius
from fitcheck.measurement.intervals import TURN, Gap, covered, gaps, merged, unwrapped
from fitcheck.measurement.obstacles import Floats, Obstacles
from fitcheck.measurement.outlines import least, most, outlines

_MOST_ROUNDS = 9
_PIECES = 4
"""Into so many slabs an open one is cut; rounds are many and arrays short, so few rounds are quick."""
_APART = TURN + 1.0
"""How far apart the turns of two parts lie on the line that they are merged on."""
_MANY = 20_000
"""Triangles, counted with each part, that are worth a look at the largest ones alone."""
_FIRST_ROUNDS, _LARGEST = 2, 40
"""So many rounds are for the largest triangles alone, so many of each part."""


@dataclass(frozen=True, kw_only=True)
class ToolPart:
    """One cylinder of a tool: it starts at distance `start` along the screw's direction and has `radius`, both mm."""

    start: float
    radius: float


@dataclass(frozen=True, kw_only=True)
class Corridor:
    """Free shaft angles of a tool, and the bodies (indices) that block the others, most blocking first."""

    free: tuple[Gap, ...]
    blockers: tuple[int, ...]

    @property
    def widest(self) -> Gap | None:
        """The widest free range, or None where the tool fits at no angle."""
        return max(self.free, key=lambda gap: gap.width, default=None)


def corridor(
    obstacles: Obstacles,
    station: float,
    offset: float,
    parts: Sequence[ToolPart],
    *,
    leave_out: Iterable[int] = (),
    tolerance: float = 0.01,
    within: Sequence[Gap] = (),
) -> Corridor:
    """The shaft angles at which a straight tool reaches a screw across the drive axis.

    Args:
        obstacles: the measurement's obstacles; triangles are used, grown by their bound.
        station: station of the screw's axis, mm.
        offset: distance of the screw's axis from the drive axis along n, mm.
        parts: the tool's cylinders.
        leave_out: body indices that do not count.
        tolerance: degrees by which a reported free range may be too narrow at either side; it is never too wide.
        within: ranges outside which the answer does not matter, and may be too narrow; all matter without any.

    Returns:
        Free ranges of the direction from screw to tool, in degrees of shaft angle.
    """
    return corridors(
        obstacles, station, offset, [parts], leave_out=leave_out, tolerance=tolerance, within=within
    )[0]  # fmt: skip


def corridors(
    obstacles: Obstacles,
    station: float | Sequence[float],
    offset: float | Sequence[float],
    tools: Sequence[Sequence[ToolPart]],
    *,
    leave_out: Iterable[int] = (),
    tolerance: float = 0.01,
    within: Sequence[Gap] = (),
    all_blockers: bool = True,
) -> tuple[Corridor, ...]:
    """`corridor` of several tools, each with a station and an offset of its own or all with the same.

    A part that several have at one place is looked at once, and all in one go. Without `all_blockers` the smaller
    triangles are not looked at where the largest ones leave nothing free: some bodies that block may then be missing.
    """
    stations, offsets = ([v] * len(tools) if isinstance(v, (int, float)) else v for v in (station, offset))
    named = [
        [(part, aside, along) for part in parts] for parts, aside, along in zip(tools, offsets, stations, strict=True)
    ]
    every = list(dict.fromkeys(one for parts in named for one in parts))
    place = {one: index for index, one in enumerate(every)}
    tools_parts = [[place[one] for one in parts] for parts in named]
    low, high, owner, whose = _blocked_angles(
        obstacles, every, leave_out, tolerance, within, () if all_blockers else tools_parts
    )
    found: list[Corridor] = []
    at = list(_each(whose, len(every)))
    for indices in tools_parts:
        mine = np.sort(np.concatenate([at[k] for k in set(indices)]))
        found.append(_left_free(low[mine], high[mine], owner[mine]))
    return tuple(found)


def _left_free(low: Floats, high: Floats, owner: NDArray[np.int64]) -> Corridor:
    # All bodies on one line, each on a stretch of its own.
    first, last, whose = unwrapped(low, high, owner)
    first, last = merged(first + whose * _APART, last + whose * _APART)
    body = np.floor((first + 0.5) / _APART).astype(np.int64)
    shares, present = np.bincount(body, last - first), np.bincount(body) > 0
    blockers = [index for index in np.argsort(-shares, kind="stable").tolist() if present[index]]
    return Corridor(free=gaps(low, high, owner), blockers=tuple(blockers))


def _blocked_angles(
    obstacles: Obstacles,
    every: Sequence[tuple[ToolPart, float, float]],
    leave_out: Iterable[int],
    tolerance: float,
    within: Sequence[Gap],
    tools: Sequence[Sequence[int]] = (),
) -> tuple[Floats, Floats, NDArray[np.int64], NDArray[np.int64]]:
    """The shaft angles that parts of tools, each with its offset and station, block.

    Where `tools` are given, each the indices of its parts, those that the largest triangles leave nothing free are not
    looked at further.

    Returns:
        Lower and upper ends (radians), and the body and the part of each.
    """
    skip = np.fromiter(leave_out, dtype=np.int64)
    rows: list[NDArray[np.int64]] = [np.empty(0, dtype=np.int64)]
    numbers: list[NDArray[np.int64]] = [np.empty(0, dtype=np.int64)]
    for index, (part, offset, station) in enumerate(every):
        near = obstacles.between(station - part.radius, station + part.radius)
        wide = part.radius + obstacles.triangle_bound[near]
        near = near[obstacles.away[near] >= least_radius(part.start + part.radius - wide, offset, wide) - 1e-9]
        if skip.size:
            near = near[~np.isin(obstacles.triangle_body[near], skip)]
        rows.append(near)
        numbers.append(np.full(near.size, index, dtype=np.int64))
    row, number = np.concatenate(rows), np.concatenate(numbers)
    if row.size == 0:
        return np.empty(0), np.empty(0), row, number
    given = np.array([(part.radius, part.start, offset, station) for part, offset, station in every])
    tol, asked = np.radians(tolerance), _asked(within)

    def blocked(some: NDArray[np.int64], each: NDArray[np.int64]) -> tuple[Floats, Floats, NDArray[np.int64]]:
        radius, start, aside, along = given.T[:, each]
        bound = obstacles.triangle_bound[some]
        radius, start = radius + bound, np.maximum(start - bound, 0.0)
        return _blocked(obstacles.triangles[some], radius, start, each, along, aside, tol, asked)

    if tools and row.size > _MANY:
        few = [_few_largest(obstacles.areas, near) for near in rows[1:]]
        some, each = np.concatenate(few), np.repeat(np.arange(len(few)), [near.size for near in few])
        first, last, which = blocked(some, each)
        closed = [not gaps(first[mine], last[mine], some[which[mine]]) for mine in _each(each[which], len(few))]
        # Where one part of a tool is closed out, the others are of no matter to it.
        open_ = {index for tool in tools if not any(closed[index] for index in tool) for index in tool}
        whole = np.array([index in open_ for index in range(len(few))])
        row = np.concatenate([row[whole[number]], some[~whole[each]]])
        number = np.concatenate([number[whole[number]], each[~whole[each]]])
    first, last, which = blocked(row, number)
    return first, last, obstacles.triangle_body[row[which]].astype(np.int64), number[which]


def _few_largest(areas: Floats, rows: NDArray[np.int64]) -> NDArray[np.int64]:
    if rows.size <= _LARGEST:
        return rows
    return np.asarray(rows[np.argpartition(areas[rows], -_LARGEST)[-_LARGEST:]])


def _each(number: NDArray[np.int64], count: int) -> Iterator[NDArray[np.int64]]:
    """Where each of the numbers from 0 up to `count` stands."""
    order = np.argsort(number, kind="stable")
    ends = np.searchsorted(number[order], np.arange(count + 1))
    for first, after in itertools.pairwise(ends.tolist()):
        yield order[first:after]


def _largest(triangles: Floats, number: NDArray[np.int64], among: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Of each number the largest triangles."""
    area = np.linalg.norm(np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]), axis=1)
    found = np.zeros(number.size, dtype=bool)
    # Counted, as `np.unique` would load numpy's masked arrays.
    for one in np.flatnonzero(np.bincount(number[among])):
        mine = np.flatnonzero(among & (number == one))
        found[mine if mine.size <= _LARGEST else mine[np.argpartition(area[mine], -_LARGEST)[-_LARGEST:]]] = True
    return found


def _blocked(
    triangles: Floats, radius: Floats, start: Floats, number: NDArray[np.int64], station: Floats, offset: Floats,
    tol: float, asked: tuple[Floats, Floats],
) -> tuple[Floats, Floats, NDArray[np.int64]]:  # fmt: skip
    """Outer blocked intervals in radians and their triangles, within `tol` of the true union where it is asked for.

    Each triangle is met by a cylinder of its own `radius`, `start`, `station` and `offset`; `number` tells which belong
    together. Most triangles are small, or strips, and lie beside large ones that block more. So the largest are looked
    at first; of the others, those that block only what is surely blocked stand in the answer with the angles that hold
    it all.
    """
    from_angle, to_angle = holding_angles(triangles, radius, start, offset)
    needed = _touching(from_angle, to_angle, asked)
    done = [(from_angle[~needed], to_angle[~needed], np.flatnonzero(~needed))]
    first_ones = _largest(triangles, number, needed)
    index, waiting = np.flatnonzero(first_ones), np.flatnonzero(needed & ~first_ones)
    # Within the tool, triangles are cut no farther than they reach: what lies square to the axis is exact at once.
    along = triangles[:, :, 0] - station[:, None]
    from_phi = np.arcsin(np.clip(least(along) / radius, -1.0, 1.0)) - TURN_OFF
    to_phi = np.arcsin(np.clip(most(along) / radius, -1.0, 1.0)) + TURN_OFF
    low_phi, high_phi = from_phi[index], to_phi[index]
    sure_low, sure_high = np.empty(0), np.empty(0)
    for turn in range(_MOST_ROUNDS):
        r = radius[index]
        slab = station[index] + r * np.sin(low_phi), station[index] + r * np.sin(high_phi)
        first, second, owner = outlines(triangles[index], *slab)
        cosines = np.maximum(np.cos(low_phi), 0.0), np.maximum(np.cos(high_phi), 0.0)
        widest = r * np.where(low_phi * high_phi <= 0.0, 1.0, np.maximum(*cosines))
        narrowest = r * np.minimum(*cosines)
        (low, high, which), (inner_low, inner_high, inner) = intervals_of_widths(
            first, second, start[index][owner], offset[index][owner], [widest[owner], narrowest[owner]]
        )  # fmt: skip
        shift = number[index[owner]] * _APART
        inner_low, inner_high, inner = unwrapped(inner_low - tol, inner_high + tol, inner)
        sure_low, sure_high = merged(
            np.concatenate([sure_low, inner_low + shift[inner]]), np.concatenate([sure_high, inner_high + shift[inner]])
        )
        low, high, which = unwrapped(low, high, which)
        settled = covered(low + shift[which], high + shift[which], sure_low, sure_high)
        settled |= ~_touch(low, high, *asked)
        which = owner[which]
        if turn == _MOST_ROUNDS - 1:
            settled[:] = True
        open_pieces = np.zeros(index.size, dtype=bool)
        open_pieces[which[~settled]] = True
        accept = ~open_pieces[which]
        done.append((low[accept], high[accept], index[which[accept]]))
        ends = np.linspace(low_phi[open_pieces], high_phi[open_pieces], _PIECES + 1)
        index = np.tile(index[open_pieces], _PIECES)
        low_phi, high_phi = ends[:-1].ravel(), ends[1:].ravel()
        if turn == _FIRST_ROUNDS - 1 and waiting.size:
            low, high, which = unwrapped(from_angle[waiting], to_angle[waiting], waiting)
            shift = number[which] * _APART
            inside = covered(low + shift, high + shift, sure_low, sure_high)
            done.append((low[inside], high[inside], which[inside]))
            still = np.zeros(number.size, dtype=bool)
            still[which[~inside]] = True
            waiting = np.flatnonzero(still)
            index = np.concatenate([index, waiting])
            low_phi = np.concatenate([low_phi, from_phi[waiting]])
            high_phi = np.concatenate([high_phi, to_phi[waiting]])
        if index.size == 0 and turn >= _FIRST_ROUNDS - 1:
            break
    return tuple(np.concatenate(column) for column in zip(*done, strict=True))  # type: ignore[return-value]


def _touching(low: Floats, high: Floats, asked: tuple[Floats, Floats]) -> NDArray[np.bool_]:
    """Which angles, not within one turn, touch those that are asked for."""
    found = np.zeros(low.size, dtype=bool)
    low, high, row = unwrapped(low, high, np.arange(low.size))
    found[row[_touch(low, high, *asked)]] = True
    return found


def _asked(within: Sequence[Gap]) -> tuple[Floats, Floats]:
    """The angles (radians, disjoint and ascending) that are asked for."""
    if not within or any(gap.width >= 360.0 for gap in within):
        return np.zeros(1), np.full(1, TURN)
    low, high = (np.radians([getattr(gap, end) for gap in within]) for end in ("start", "stop"))
    return merged(*unwrapped(low, high, np.zeros(low.size, dtype=np.int64))[:2])


def _touch(low: Floats, high: Floats, first: Floats, last: Floats) -> NDArray[np.bool_]:
    """Which intervals touch one of a disjoint ascending union."""
    at = np.searchsorted(last, low - TURN_OFF, side="left")
    return np.asarray((at < first.size) & (first[np.minimum(at, first.size - 1)] <= high + TURN_OFF))
