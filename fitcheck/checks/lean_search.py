"""The shaft angles at which some lean of a ball end works, out of all leans up to its greatest tilt.

Cells of shaft angle and lean are cut up until they are decided. The lean in a cell's middle proves the cell's shaft
angles free where the tool works there with all material grown by its way through these shaft angles; where the
material, shrunk by its way through all of the cell, still blocks, the cell is done with. Of many cells at one shaft
angle those with most room go on, and small cells that neither decides count as blocked: what is told free is free.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import radians

import numpy as np

from fitcheck.checks.lean_space import Cells, Flags, Indices, Look, Pairs, Space, near_pairs, with_arm
from fitcheck.measurement.intervals import TURN, covered, merged, unwrapped
from fitcheck.measurement.obstacles import Floats

_ACROSS = 6
"""So many cells across the circle of leans to begin with."""
_TO_BEGIN, _TO_GO_ON = 12, 16
"""So many cells at a shaft angle are kept of the first ones, and of later ones; a bound on time, on the safe side."""
_ROUGH = 0.02
"""Radians: leans looked at in the first place are held against what comes so near to them."""
_FINEST = radians(0.065)
"""Shaft angles are not cut finer."""
_SMALL = 0.02
"""mm; cells in which no lean moves anything more than that are not cut by lean."""
_ROUNDS = 40
_MOST_PAIRS = 300_000
"""So many pairs of a cell and a triangle near the arm are looked at, about 2 s; a bound on time, on the safe side."""
_NARROW, _WIDE = radians(0.25), radians(1.0)
"""So much is looked at beside a free range to begin with, and at a time where that is free."""
_BESIDE_HALF = radians(1.0)
_BESIDE = _BESIDE_HALF * np.array([-2.0, 0.0, 2.0])
"""Leans beside one that was free last."""
_ROUNDING = 1e-9


def beyond(space: Space, known: Floats, leans: Floats) -> Floats:
    """Free ranges of shaft angle with what some lean adds at their ends.

    Args:
        space: what may be in the way.
        known: ranges that are free, shape (n, 2), radians.
        leans: those that made them so, or others that are worth a look, shape (k, 2).

    Returns:
        These and more of the same kind.
    """
    low, high, _ = unwrapped(known[:, 0], known[:, 1], np.zeros(known.shape[0], dtype=np.int64))
    low, high = merged(low, high)

    def inside(at: float, way: float) -> bool:
        """Whether a place lies in a free range, or at the end of one that the way leads into."""
        just = (at + way * 3.0 * _ROUNDING) % TURN
        return bool(((low <= just + _ROUNDING) & (just <= high + _ROUNDING)).any())

    every = [(float(at), 1.0) for at in high] + [(float(at), -1.0) for at in low]
    ends = [_End(at, way) for at, way in every if not inside(at, way)]
    found = [known]
    left = _MOST_PAIRS
    while ends and left > 0:
        thetas, found_leans, looked_at = free_angles(space, _begun(space, ends, leans))
        found.append(thetas)
        left -= looked_at
        ends = [end for end in ends if end.moves(thetas, found_leans) and not inside(end.at, end.way)]
    return np.concatenate(found)


class _End:
    """An end of a free range that may lie farther on.

    Where one lean was free all the way, those beside it are looked at next; where that leads nowhere, all are.
    """

    def __init__(self, at: float, way: float) -> None:
        self.at, self.way = at, way
        self.lean: Floats | None = None
        self._width, self._begin = _NARROW, at

    @property
    def band(self) -> Floats:
        """The range of shaft angle to look at next, shape (1, 2), radians."""
        return np.array([sorted((self.at, self.at + self.way * self._width))])

    def moves(self, thetas: Floats, leans: Floats) -> bool:
        """Whether to look on, from where free ranges of shaft angle, (n, 2), each with its lean, have led to."""
        begin, stop = merged(thetas[:, 0], thetas[:, 1])
        inside = (begin <= self.at + _ROUNDING) & (stop >= self.at - _ROUNDING)
        at = stop[inside].max(initial=self.at) if self.way > 0.0 else begin[inside].min(initial=self.at)
        reached, beside = abs(at - self.at), self.lean is not None
        whole = reached >= self._width - _ROUNDING
        self.at, self.lean, self._width = float(at), None, _WIDE if whole else _NARROW
        if whole:
            self.lean = leans[np.argmin(np.abs(thetas[:, 1 if self.way > 0.0 else 0] - at))]
        return (beside or reached >= _FINEST) and abs(self.at - self._begin) < TURN


def _begun(space: Space, ends: Sequence[_End], leans: Floats) -> Cells:
    """The cells to begin with beyond ends."""
    anew = [end.band for end in ends if end.lean is None]
    made = [_first(space, np.concatenate(anew), leans)] if anew else []
    aside = np.stack(np.meshgrid(_BESIDE, _BESIDE), axis=-1).reshape(-1, 2)
    for end in ends:
        if end.lean is not None:
            count = len(aside)
            made.append(Cells(np.repeat(end.band, count, axis=0), end.lean + aside, np.full(count, _BESIDE_HALF)))
    return Cells(*(np.concatenate(column) for column in zip(*((c.thetas, c.leans, c.half) for c in made), strict=True)))


def free_at(space: Space, thetas: Floats, leans: Floats) -> tuple[Floats, Floats]:
    """Which of some ranges of shaft angle, (n, 2), are free each at a lean of its own, (n, 2); those, in radians."""
    cells = Cells(thetas, leans, np.zeros(leans.shape[0]))
    look = Look(space, cells, near_pairs(space, cells, np.zeros(cells.count)))
    works, _, _ = with_arm(space, cells, look.free)
    return thetas[works], leans[works]


def free_angles(space: Space, cells: Cells) -> tuple[Floats, Floats, int]:
    """Ranges of shaft angle, (n, 2), out of cells, that are free at some lean of theirs, each with it; radians.

    The last number is how many pairs of a cell and a triangle the arm took.
    """
    looked_at = 0
    proved: list[Floats] = [np.empty((0, 2))]
    leans: list[Floats] = [np.empty((0, 2))]
    pairs = near_pairs(space, cells, cells.change)
    for _ in range(_ROUNDS):
        if not cells.count:
            break
        look = Look(space, cells, pairs)
        works, done, more = with_arm(space, cells, look.free)
        looked_at += more
        proved.append(cells.thetas[works])
        leans.append(cells.leans[works])
        known = np.concatenate(proved)
        done |= look.dead | covered(
            cells.thetas[:, 0] + _ROUNDING, cells.thetas[:, 1] - _ROUNDING, *merged(known[:, 0], known[:, 1])
        )
        done |= (cells.turn <= 0.5 * _FINEST) & (cells.tilting <= _SMALL)
        left = np.flatnonzero(~done)
        keep = left[_with_most_room(cells.only(left), _TO_GO_ON)]
        cells, pairs = _cut(*_kept(cells, pairs, keep, look.needed), space.greatest)
    return np.concatenate(proved), np.concatenate(leans), looked_at


def _first(space: Space, ranges: Floats, more: Floats) -> Cells:
    """Cells over the circle of leans, and about some more leans; at each range those with most room."""
    half = space.greatest / _ACROSS
    at = np.linspace(half - space.greatest, space.greatest - half, _ACROSS)
    leans = np.stack(np.meshgrid(at, at), axis=-1).reshape(-1, 2)
    leans = np.concatenate([leans[_in_circle(leans, half, space.greatest)], more])
    count = ranges.shape[0]
    cells = Cells(np.repeat(ranges, len(leans), axis=0), np.tile(leans, (count, 1)), np.full(count * len(leans), half))
    look = Look(space, cells, near_pairs(space, cells, np.full(cells.count, _ROUGH)))
    with_arm(space, cells, look.free)
    return cells.only(_with_most_room(cells, _TO_BEGIN))


def _in_circle(leans: Floats, half: Floats | float, greatest: float) -> Flags:
    """Which cells of leans reach into the circle of all leans."""
    nearest = np.maximum(np.abs(leans) - np.reshape(half, (-1, 1)), 0.0)
    return np.asarray(np.hypot(nearest[:, 0], nearest[:, 1]) <= greatest)


def _with_most_room(cells: Cells, count: int) -> Indices:
    """At each range of shaft angle so many cells."""
    middle = cells.middle
    order = np.lexsort((-cells.room, middle))
    middle = middle[order]
    rank = np.arange(order.size) - np.searchsorted(middle, middle)
    return np.asarray(order[rank < count])


def _kept(cells: Cells, pairs: Pairs, keep: Indices, needed: Flags) -> tuple[Cells, Pairs]:
    number = np.full(cells.count, -1)
    number[keep] = np.arange(keep.size)
    left = pairs.only(np.flatnonzero((number[pairs.cell] >= 0) & needed))
    return cells.only(keep), Pairs(number[left.cell], left.which, left.first)


def _cut(cells: Cells, pairs: Pairs, greatest: float) -> tuple[Cells, Pairs]:
    """Cells cut in two by shaft angle or in four by lean, by what moves what hinders the tool more."""
    by_lean = cells.tilting > cells.turning
    parents, pieces = [np.flatnonzero(~by_lean)] * 2 + [np.flatnonzero(by_lean)] * 4, (0, 1, 0, 1, 2, 3)
    parent = np.concatenate(parents)
    piece = np.repeat(pieces, [rows.size for rows in parents])
    thetas, leans, half = cells.thetas[parent], cells.leans[parent], cells.half[parent]
    middle, leant = thetas.mean(axis=1), by_lean[parent]
    thetas[:, 1] = np.where(~leant & (piece == 0), middle, thetas[:, 1])
    thetas[:, 0] = np.where(~leant & (piece == 1), middle, thetas[:, 0])
    half = np.where(leant, 0.5 * half, half)
    aside = np.stack([piece % 2, piece // 2], axis=1) * 2.0 - 1.0
    leans = leans + np.where(leant, half, 0.0)[:, None] * aside
    keep = np.flatnonzero(_in_circle(leans, half, greatest))
    number = np.full((cells.count, 4), -1)
    number[parent[keep], piece[keep]] = np.arange(keep.size)
    children = number[pairs.cell]
    row, which = np.nonzero(children >= 0)
    return Cells(thetas[keep], leans[keep], half[keep]), Pairs(children[row, which], pairs.which[row], pairs.first[row])
