"""At which shaft angles a tool with an arm (L-shaped key, T-handle) is put on and turned far enough.

While it works, the arm lies between `low` and `high`; on its way in it sweeps all heights above `low`. A shaft angle
works when some open range of tool angles is at least the swing wide and holds a tool angle at which the way in is free.

Exactness over the shaft angle: a turn by d moves a point by a bounded way (`arm_pairs`). With each triangle grown by
that, "works" at a cell's middle proves the whole cell; with each shrunk by it, "works not" proves that no angle of the
cell works. Cells that neither decides are cut up, down to the tolerance, and then count as blocked.

What blocks which tool angle at one shaft angle is in `arm_angles`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import radians

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.arm_angles import (
    APART,
    SLIVER,
    Arm,
    BlockedAngles,
    Found,
    Intervals,
    added,
    open_swing,
    unwrapped_angles,
    widest_open,
    works,
)
from fitcheck.measurement.arm_pairs import (
    NOTHING,
    Cells,
    NearArm,
    Pairs,
    blocked_by,
    in_cells,
    reachable,
    uncovered,
)
from fitcheck.measurement.intervals import Gap, covered, merged, unwrapped
from fitcheck.measurement.obstacles import Floats

_FIRST_CELL = np.radians(5.0)
_ROUGH = np.radians(0.6)
"""Cells wider than this are looked at by the largest triangles first."""
_PIECES = 3
"""Into so many pieces an undecided cell is cut; few rounds are quick, as their arrays are short."""
_MANY_PAIRS, _EVERY = 4000, 24
"""Of more pairs of a cell and a triangle than this one in so many is looked at first."""
_MOST_CELLS = 3000
"""Cells tried before the rest counts as blocked; a bound on time, on the safe side."""

Both = tuple[Found, Found]
"""Blocked tool angles, turning and coming in."""


def working_ranges(
    near: NearArm, arm: Arm, ranges: Sequence[Gap], fixed: BlockedAngles | None = None, *, tolerance: float = 0.02
) -> tuple[Gap, ...]:
    """The shaft angles at which the arm works, out of those at which the tool's straight part comes in.

    Args:
        near: what may be in the way.
        arm: the arm.
        ranges: free ranges of the straight part, degrees of shaft angle; it has to reach out of the arm's bars.
        fixed: tool angles that are blocked at every shaft angle.
        tolerance: degrees; cells of shaft angle are halved down to this. A reported range is never too wide.

    Returns:
        Free ranges in degrees, within the given ones.
    """
    fixed = fixed or BlockedAngles()
    if near.none:
        return tuple(ranges) if works(fixed, arm) else ()
    cells, owner = cut_to_cells(ranges, _FIRST_CELL)
    if not cells.shape[0]:
        return ()
    proved, whose = _proved(near, arm, fixed, cells, owner, np.radians(tolerance))
    found: list[Gap] = []
    for number, gap in enumerate(ranges):
        mine = whose == number
        for low, high in zip(*merged(proved[mine, 0], proved[mine, 1]), strict=True):
            start, stop = np.degrees(low), np.degrees(high)
            whole_start, whole_stop = start - gap.start < 1e-9, gap.stop - stop < 1e-9
            found.append(
                Gap(
                    start=gap.start if whole_start else float(start), stop=gap.stop if whole_stop else float(stop),
                    start_owner=gap.start_owner if whole_start else -1,
                    stop_owner=gap.stop_owner if whole_stop else -1,
                )
            )  # fmt: skip
    return _rounded_about(found)


def cut_to_cells(ranges: Sequence[Gap], widest: float) -> tuple[Floats, NDArray[np.int64]]:
    """Ranges (degrees) cut into cells (radians) of at most so many radians: shape (n, 2), and each cell's range."""
    cells, owner = [np.empty((0, 2))], [np.empty(0, dtype=np.int64)]
    for number, gap in enumerate(ranges):
        count = max(int(np.ceil(np.radians(gap.width) / widest)), 1)
        ends = np.radians(np.linspace(gap.start, gap.stop, count + 1))
        cells.append(np.stack([ends[:-1], ends[1:]], axis=1))
        owner.append(np.full(count, number, dtype=np.int64))
    return np.concatenate(cells), np.concatenate(owner)


def swings(
    near: NearArm, arm: Arm, thetas: Floats, growth: Floats, fixed: Sequence[BlockedAngles] | None = None
) -> NDArray[np.bool_]:
    """Whether the arm, grown by `growth` mm, works at single shaft angles (radians); all shapes (n,).

    `fixed` are the tool angles blocked at every shaft angle, one for each growth.
    """
    fixed = fixed or [BlockedAngles()] * thetas.size
    if near.none:
        return np.array([works(one, arm) for one in fixed])
    return may_work(near, arm, fixed, Cells(middle=thetas, half=np.zeros(thetas.size), growth=growth))


def may_work(near: NearArm, arm: Arm, fixed: Sequence[BlockedAngles], cells: Cells) -> NDArray[np.bool_]:
    """Whether the arm works in cells: anywhere in them where `half` is negative, everywhere where it is positive.

    "Not" is certain where `half` is negative, "yes" where it is positive; both are where it is 0.
    """
    return _opening(_blocked(near, arm, fixed, cells), cells.middle.size, arm) >= radians(arm.swing) - SLIVER


def widest_swing(near: NearArm, arm: Arm, theta: float, fixed: BlockedAngles | None = None) -> float:
    """The widest swing in degrees that the arm can make at a shaft angle (radians) and can be put on in; 0 for none."""
    fixed = fixed or BlockedAngles()
    if near.none:
        return float(np.degrees(open_swing(fixed, arm)))
    cells = Cells(middle=np.array([theta]), half=np.zeros(1))
    return float(np.degrees(_opening(_blocked(near, arm, [fixed], cells), 1, arm)[0]))


def arm_blockers(near: NearArm, arm: Arm, theta: float) -> tuple[int, ...]:
    """The bodies that block tool angles at a shaft angle (radians), those that block most first."""
    shares = {}
    cells = Cells(middle=np.array([theta]), half=np.zeros(1))
    for index in np.unique(near.body):
        mine = near.only(near.body == index)
        pairs = reachable(mine, arm, cells)
        low, high = merged(*unwrapped_angles(blocked_by(mine, arm, cells, pairs)[1][:2]))
        if low.size:
            shares[int(index)] = float(np.sum(high - low))
    return tuple(sorted(shares, key=lambda index: -shares[index]))


def _proved(
    near: NearArm, arm: Arm, fixed: BlockedAngles, cells: Floats, owner: NDArray[np.int64], tolerance: float
) -> tuple[Floats, NDArray[np.int64]]:
    """The cells of shaft angle (radians) that are proved to work, shape (n, 2), and the range that each came from.

    What is blocked everywhere in a cell is blocked in its pieces, and a triangle that blocks nothing beside it needs no
    further look: so each cell carries on its own triangles and its own blocked tool angles.
    """
    enough = radians(arm.swing) - SLIVER
    count = cells.shape[0]
    known = _fixed_in([fixed] * count)
    pairs = reachable(near, arm, Cells(middle=cells.mean(axis=1), half=0.5 * (cells[:, 1] - cells[:, 0])))
    done, whose, tried = [np.empty((0, 2))], [owner[:0]], 0
    while cells.shape[0] and tried < _MOST_CELLS:
        count = cells.shape[0]
        tried += count
        width = cells[:, 1] - cells[:, 0]
        here = Cells(middle=cells.mean(axis=1), half=0.5 * width)
        look = _look_roughly if width.max() > _ROUGH and near.large is not None else _look_closely
        outer, known, needed = look(near, arm, here, pairs, known)
        swing = _opening(outer, count, arm)
        done.append(cells[swing >= enough])
        whose.append(owner[swing >= enough])
        rest = (swing < enough) & (width > tolerance)
        rest &= _opening(known, count, arm) >= enough
        known, pairs = _kept(known, (pairs[0][needed], pairs[1][needed]), rest)
        cells, owner = cells[rest], owner[rest]
        ends = np.linspace(cells[:, 0], cells[:, 1], _PIECES + 1)
        whole = cells.shape[0]
        cells = np.stack([ends[:-1].ravel(), ends[1:].ravel()], axis=1)
        owner = np.tile(owner, _PIECES)
        pairs = _of_pieces(pairs[0], whole), np.tile(pairs[1], _PIECES)
        known = _pieces_of(known[0], whole), _pieces_of(known[1], whole)
    return np.concatenate(done), np.concatenate(whose)


def _look_roughly(
    near: NearArm, arm: Arm, cells: Cells, pairs: Pairs, known: Both
) -> tuple[Both, Both, NDArray[np.bool_]]:
    """As `_look_closely`; of what is blocked everywhere in wide cells only the largest triangles, and some of many
    strips side by side, tell anything.
    """
    assert near.large is not None
    first = near.large[pairs[1]] | _some_of_many(pairs)
    those = _only(pairs, first)
    outer, inner = _both_ways(near, arm, cells, those)
    known = _united_both(_with(known, inner, those[0]))
    most = _united_both(_with(known, outer, those[0]))
    needed = uncovered(near, arm, cells, pairs, *known)
    rest = _only(pairs, needed & ~first)
    rest = _only(rest, uncovered(near, arm, cells, rest, *most))
    return _with(most, blocked_by(near, arm, cells, rest), rest[0]), known, needed


def _look_closely(
    near: NearArm, arm: Arm, cells: Cells, pairs: Pairs, known: Both
) -> tuple[Both, Both, NDArray[np.bool_]]:
    """What is blocked somewhere in cells, what everywhere in them, and which pairs their pieces need."""
    first = _some_of_many(pairs)
    if not first.any():
        return _look_at_all(near, arm, cells, pairs, known)
    some, known, needed = _look_at_all(near, arm, cells, _only(pairs, first), known)
    rest = np.flatnonzero(~first)
    rest = rest[uncovered(near, arm, cells, (pairs[0][rest], pairs[1][rest]), *known)]
    more, known, needed_too = _look_at_all(near, arm, cells, (pairs[0][rest], pairs[1][rest]), known)
    every = np.zeros(pairs[0].size, dtype=bool)
    every[np.flatnonzero(first)[needed]], every[rest[needed_too]] = True, True
    return (added(some[0], more[0]), added(some[1], more[1])), known, every


def _look_at_all(
    near: NearArm, arm: Arm, cells: Cells, pairs: Pairs, known: Both
) -> tuple[Both, Both, NDArray[np.bool_]]:
    """As `_look_closely`, at every pair."""
    outer, inner = _both_ways(near, arm, cells, pairs)
    some = _with(known, outer, pairs[0])
    known = _united_both(_with(known, inner, pairs[0]))
    needed = np.zeros(pairs[0].size, dtype=bool)
    for found, union in zip(outer, known, strict=True):
        needed |= _sticks_out(found, pairs[0], union)
    return some, known, needed


def _some_of_many(pairs: Pairs) -> NDArray[np.bool_]:
    """Some of many pairs, none of few: a round post is many strips, and some of them block nearly all it does.

    Pairs of a cell follow one another, and so do the strips of a face.
    """
    first = np.zeros(pairs[0].size, dtype=bool)
    if first.size > _MANY_PAIRS:
        first[::_EVERY] = True
    return first


def _only(pairs: Pairs, which: NDArray[np.bool_]) -> Pairs:
    return pairs[0][which], pairs[1][which]


def _both_ways(near: NearArm, arm: Arm, cells: Cells, pairs: Pairs) -> tuple[Both, Both]:
    """What pairs block somewhere in their cells, and what they block everywhere in them; in one go."""
    count, size = cells.middle.size, pairs[0].size
    both = Cells(middle=np.tile(cells.middle, 2), half=np.concatenate([cells.half, -cells.half]))
    every = blocked_by(near, arm, both, (np.concatenate([pairs[0], pairs[0] + count]), np.tile(pairs[1], 2)))
    outer: list[Found] = []
    inner: list[Found] = []
    for low, high, row in every:
        first = row < size
        outer.append((low[first], high[first], row[first]))
        inner.append((low[~first], high[~first], row[~first] - size))
    return (outer[0], outer[1]), (inner[0], inner[1])


def _by_the_largest(near: NearArm, arm: Arm, fixed: Sequence[BlockedAngles], cells: Cells) -> tuple[Both, Pairs]:
    """What the largest triangles block, with what is fixed, and the pairs that may block more than that."""
    known = _fixed_in(fixed)
    pairs = reachable(near, arm, cells)
    large = near.large
    if large is None:
        return known, pairs
    first = large[pairs[1]]
    largest = pairs[0][first], pairs[1][first]
    known = _united_both(_with(known, blocked_by(near, arm, cells, largest), largest[0]))
    more = uncovered(near, arm, cells, pairs, *known)
    return known, (pairs[0][more], pairs[1][more])


def _blocked(near: NearArm, arm: Arm, fixed: Sequence[BlockedAngles], cells: Cells) -> Both:
    """Blocked tool angles, turning and coming in, of each cell."""
    known, pairs = _by_the_largest(near, arm, fixed, cells)
    return _with(known, blocked_by(near, arm, cells, pairs), pairs[0])


def _opening(blocked: Both, count: int, arm: Arm) -> Floats:
    return widest_open(*blocked, count, arm)


def _with(known: Both, new: Both, cell: NDArray[np.int64]) -> Both:
    """What is known of cells, turning and coming in, with what pairs add."""
    return added(known[0], in_cells(new[0], cell)), added(known[1], in_cells(new[1], cell))


def _united_both(blocked: Both) -> Both:
    return _united(blocked[0]), _united(blocked[1])


def _united(found: Found) -> Found:
    """Blocked tool angles as a disjoint union in each cell, in ascending order, cut at angle 0."""
    low, high, cell = unwrapped(*found)
    low, high = merged(low + cell * APART, high + cell * APART)
    owner = np.floor((low + 0.5) / APART).astype(np.int64)
    return low - owner * APART, high - owner * APART, owner


def _sticks_out(found: Found, cell: NDArray[np.int64], union: Found) -> NDArray[np.bool_]:
    """Which rows have an interval that is not within one of its cell's union."""
    low, high, row = unwrapped(*found)
    shift, own = cell[row] * APART, union[2] * APART
    inside = covered(low + shift, high + shift, union[0] + own, union[1] + own)
    out = np.zeros(cell.size, dtype=bool)
    out[row[~inside]] = True
    return out


def _kept(known: Both, pairs: Pairs, keep: NDArray[np.bool_]) -> tuple[Both, Pairs]:
    """What is known of some of the cells, and their pairs, by the cells' new numbers."""
    number = np.cumsum(keep) - 1
    rows = keep[pairs[0]]

    def only(found: Found) -> Found:
        mine = keep[found[2]]
        return found[0][mine], found[1][mine], number[found[2][mine]]

    return (only(known[0]), only(known[1])), (number[pairs[0][rows]], pairs[1][rows])


def _pieces_of(found: Found, count: int) -> Found:
    low, high, cell = found
    return np.tile(low, _PIECES), np.tile(high, _PIECES), _of_pieces(cell, count)


def _of_pieces(cell: NDArray[np.int64], count: int) -> NDArray[np.int64]:
    """The numbers of the pieces of cells, those of a first, then of a second piece."""
    return np.concatenate([cell + count * piece for piece in range(_PIECES)])


def _fixed_in(fixed: Sequence[BlockedAngles]) -> Both:
    """What is blocked in each cell whatever the shaft angle."""
    turning = _listed([one.turning for one in fixed])
    return turning, _listed([one.coming for one in fixed])


def _listed(fixed: Sequence[Intervals]) -> Found:
    counts = [low.size for low, _ in fixed]
    if not any(counts):
        return NOTHING
    cells = np.repeat(np.arange(len(fixed)), counts)
    return np.concatenate([low for low, _ in fixed]), np.concatenate([high for _, high in fixed]), cells


def _rounded_about(found: list[Gap]) -> tuple[Gap, ...]:
    """Ranges with their start in [0, 360); two that meet at a full turn become one."""
    if len(found) > 1 and abs(found[-1].stop - 360.0 - found[0].start) < 1e-9:
        last = found.pop()
        found[0] = replace(last, stop=last.stop + found[0].width, stop_owner=found[0].stop_owner)
    moved = [replace(gap, start=gap.start % 360.0, stop=gap.start % 360.0 + gap.width) for gap in found]
    return tuple(sorted(moved, key=lambda gap: gap.start))
