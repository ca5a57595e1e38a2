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
from dataclasses import dataclass, replace
from math import radians
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.arm_angles import APART, SLIVER, Arm, BlockedAngles, Found, open_swing, works
from fitcheck.measurement.arm_pairs import Cells, NearArm, Pairs, blocked_by, in_cells, may_close, reachable
from fitcheck.measurement.intervals import Gap, merged, unwrapped
from fitcheck.measurement.obstacles import Floats
from fitcheck.measurement.open_angles import Open, beside_fixed, has_open, touches, widest, without

_Any = TypeVar("_Any", bound=np.generic)

_FIRST_CELL = np.radians(5.0)
_ROUGH = np.radians(0.6)
"""Cells wider than this are looked at by the largest triangles first."""
_PIECES, _MORE_PIECES = 3, 9
"""Into so many pieces an undecided cell is cut; few rounds are quick, as their arrays are short."""
_FEW_PAIRS = 60
"""Of fewer pairs of a cell and a triangle than this cells are cut into the pieces of two rounds at once."""
_SOME_PAIRS = 400
"""Of more pairs than this some are looked at first even in narrow cells."""
_MANY_PAIRS, _EVERY = 4000, 24
"""Of more pairs than this one in so many is looked at first."""
_MOST_CELLS = 3000
"""Cells tried before the rest counts as blocked; a bound on time, on the safe side."""


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
    return has_open(_left(near, arm, fixed, cells, radians(arm.swing) - SLIVER), cells.middle.size)


def widest_swing(near: NearArm, arm: Arm, theta: float, fixed: BlockedAngles | None = None) -> float:
    """The widest swing in degrees that the arm can make at a shaft angle (radians) and can be put on in; 0 for none."""
    fixed = fixed or BlockedAngles()
    if near.none:
        return float(np.degrees(open_swing(fixed, arm)))
    cells = Cells(middle=np.array([theta]), half=np.zeros(1))
    return float(np.degrees(widest(_left(near, arm, [fixed], cells, SLIVER)[0])))


def arm_blockers(near: NearArm, arm: Arm, theta: float) -> tuple[int, ...]:
    """The bodies that block tool angles at a shaft angle (radians), those that block most first."""
    cells = Cells(middle=np.array([theta]), half=np.zeros(1))
    pairs = reachable(near, arm, cells)
    low, high, row = blocked_by(near, arm, cells, pairs)[1]
    low, high, body = unwrapped(low, high, near.body[pairs[1][row]])
    # All bodies on one line, each with a turn of its own.
    low, high = merged(low + body * APART, high + body * APART)
    body = np.floor((low + 0.5) / APART).astype(np.int64)
    shares, present = np.bincount(body, high - low), np.bincount(body) > 0
    return tuple(index for index in np.argsort(-shares, kind="stable").tolist() if present[index])


def _proved(
    near: NearArm, arm: Arm, fixed: BlockedAngles, cells: Floats, owner: NDArray[np.int64], tolerance: float
) -> tuple[Floats, NDArray[np.int64]]:
    """The cells of shaft angle (radians) that are proved to work, shape (n, 2), and the range that each came from.

    What is blocked everywhere in a cell is blocked in its pieces, and a triangle that closes nothing beside it needs no
    further look: so each cell carries on its own triangles and the tool angles that are still open in it.
    """
    enough = radians(arm.swing) - SLIVER
    still = beside_fixed([fixed] * cells.shape[0], arm, enough)
    pairs: Pairs | None = None
    done, whose, tried = [np.empty((0, 2))], [owner[:0]], 0
    while cells.shape[0] and tried < _MOST_CELLS:
        count = cells.shape[0]
        tried += count
        width = cells[:, 1] - cells[:, 0]
        look = _Look(near=near, arm=arm, cells=Cells(middle=cells.mean(axis=1), half=0.5 * width), enough=enough)
        if pairs is None:
            free, still, pairs = look.first(still)
        elif width.max() > _ROUGH and near.large is not None:
            free, still, pairs = look.roughly(still, pairs)
        else:
            free, still, pairs = look.closely(still, pairs)
        done.append(cells[free])
        whose.append(owner[free])
        rest = has_open(still, count) & ~free & (width > tolerance)
        pairs = _only(pairs, rest[pairs[0]])
        more = pairs[0].size < _FEW_PAIRS and width.max() > _PIECES * tolerance
        pieces = _MORE_PIECES if more else _PIECES
        ends = np.linspace(cells[rest, 0], cells[rest, 1], pieces + 1)
        cells, owner = np.stack([ends[:-1].ravel(), ends[1:].ravel()], axis=1), np.tile(owner[rest], pieces)
        pairs = _of_pieces(rest, pieces, pairs[0]), _tiled(rest, pieces, pairs[0], pairs[1])
        turning, coming = (
            (_tiled(rest, pieces, cell, low), _tiled(rest, pieces, cell, high), _of_pieces(rest, pieces, cell))
            for low, high, cell in still
        )
        still = turning, coming
    return np.concatenate(done), np.concatenate(whose)


def _of_pieces(rest: NDArray[np.bool_], pieces: int, cell: NDArray[np.int64]) -> NDArray[np.int64]:
    """The numbers of the pieces of the cells named that are left: all first pieces, then all second ones."""
    number, count = np.cumsum(rest) - 1, int(np.count_nonzero(rest))
    kept = number[cell[rest[cell]]]
    return np.concatenate([kept + count * piece for piece in range(pieces)])


def _tiled(rest: NDArray[np.bool_], pieces: int, cell: NDArray[np.int64], values: NDArray[_Any]) -> NDArray[_Any]:
    """The values of each of those cells, for each of the pieces."""
    return np.tile(values[rest[cell]], pieces)


_Seen = tuple[NDArray[np.bool_], Open, Pairs]
"""The cells that are proved to work, what is open somewhere in each of the others, and the pairs their pieces need."""


@dataclass(frozen=True, kw_only=True)
class _Look:
    """A look at cells: first at few triangles, then at those of the others that may close what these leave open."""

    near: NearArm
    arm: Arm
    cells: Cells
    enough: float

    def first(self, still: Open) -> _Seen:
        """Before any pairs are known; the small triangles are not even asked for in cells that the largest decide."""
        pairs = _in_open(reachable(self.near, self.arm, self.cells, self.near.large), still, self._count)
        still, most = self._both_ways(still, pairs)
        if self.near.large is None:
            return has_open(most, self._count), still, self._may_close(still, pairs)
        pairs = may_close(self.near, self.arm, self.cells, still)
        most = self._closed(most, self._may_close(most, pairs))
        return has_open(most, self._count), still, pairs

    def roughly(self, still: Open, pairs: Pairs) -> _Seen:
        """Of what is blocked everywhere in wide cells only the largest triangles, and some of many, tell anything."""
        first = self._first_ones(pairs)
        still, most = self._both_ways(still, _only(pairs, first))
        most = self._closed(most, self._may_close(most, _only(pairs, ~first)))
        free = has_open(most, self._count)
        left = has_open(still, self._count) & ~free
        return free, still, self._may_close(still, _only(pairs, left[pairs[0]]))

    def closely(self, still: Open, pairs: Pairs) -> _Seen:
        """At all that may close anything; what each triangle blocks somewhere tells whether it can."""
        first = self._first_ones(pairs) if pairs[0].size > _SOME_PAIRS else np.ones(pairs[0].size, dtype=bool)
        some = _only(pairs, first)
        outer, inner = self._blocked_both_ways(some)
        still = self._without(still, inner, some)
        most, looked_at = self._without(still, outer, some), [(some, outer)]
        if some[0].size < pairs[0].size:
            rest = self._may_close(still, _only(pairs, ~first))
            outer, inner = self._blocked_both_ways(rest)
            still, most = self._without(still, inner, rest), self._without(most, outer, rest)
            looked_at.append((rest, outer))
        needed = [_only(these, self._closes(still, blocked, these)) for these, blocked in looked_at]
        every = np.concatenate([one for one, _ in needed]), np.concatenate([two for _, two in needed])
        return has_open(most, self._count), still, every

    def _closes(self, still: Open, blocked: tuple[Found, Found], pairs: Pairs) -> NDArray[np.bool_]:
        """Which triangles block anything of what is open."""
        found = np.zeros(pairs[0].size, dtype=bool)
        for (low, high, row), ranges in zip(blocked, still, strict=True):
            found[row[touches(low, high, pairs[0][row], ranges)]] = True
        return found

    @property
    def _count(self) -> int:
        return int(self.cells.middle.size)

    def _may_close(self, still: Open, pairs: Pairs) -> Pairs:
        return may_close(self.near, self.arm, self.cells, still, pairs)

    def _closed(self, still: Open, pairs: Pairs) -> Open:
        """What triangles leave open everywhere in their cells."""
        return self._without(still, blocked_by(self.near, self.arm, self.cells, pairs), pairs)

    def _without(self, still: Open, blocked: tuple[Found, Found], pairs: Pairs) -> Open:
        return without(still, in_cells(blocked, pairs), self.arm, self.enough)

    def _both_ways(self, still: Open, pairs: Pairs) -> tuple[Open, Open]:
        """What triangles leave open somewhere in their cells, and what everywhere in them."""
        outer, inner = self._blocked_both_ways(pairs)
        still = self._without(still, inner, pairs)
        return still, self._without(still, outer, pairs)

    def _blocked_both_ways(self, pairs: Pairs) -> tuple[tuple[Found, Found], tuple[Found, Found]]:
        """What pairs block somewhere in their cells, and what they block everywhere in them; in one go."""
        size, cells = pairs[0].size, self.cells
        both = Cells(middle=np.tile(cells.middle, 2), half=np.concatenate([cells.half, -cells.half]))
        twice = np.concatenate([pairs[0], pairs[0] + self._count]), np.tile(pairs[1], 2)
        outer: list[Found] = []
        inner: list[Found] = []
        for low, high, row in blocked_by(self.near, self.arm, both, twice):
            first = row < size
            outer.append((low[first], high[first], row[first]))
            inner.append((low[~first], high[~first], row[~first] - size))
        return (outer[0], outer[1]), (inner[0], inner[1])

    def _first_ones(self, pairs: Pairs) -> NDArray[np.bool_]:
        """The largest triangles, and some of many: a round post is many strips, of which some block nearly all.

        Pairs of a cell follow one another, and so do the strips of a face.
        """
        first = np.zeros(pairs[0].size, dtype=bool)
        if self.near.large is not None:
            first = np.isin(pairs[1], self.near.large)
        if first.size > _MANY_PAIRS:
            first[::_EVERY] = True
        return first


def _left(near: NearArm, arm: Arm, fixed: Sequence[BlockedAngles], cells: Cells, enough: float) -> Open:
    """The ranges of tool angles, of at least so many radians, that are left open in cells."""
    still = beside_fixed(fixed, arm, enough)
    if near.large is not None:
        pairs = _in_open(reachable(near, arm, cells, near.large), still, cells.middle.size)
        still = without(still, in_cells(blocked_by(near, arm, cells, pairs), pairs), arm, enough)
    pairs = may_close(near, arm, cells, still)
    return without(still, in_cells(blocked_by(near, arm, cells, pairs), pairs), arm, enough)


def _in_open(pairs: Pairs, still: Open, count: int) -> Pairs:
    """The pairs of cells in which anything is open."""
    return _only(pairs, has_open(still, count)[pairs[0]])


def _only(pairs: Pairs, which: NDArray[np.bool_]) -> Pairs:
    return pairs[0][which], pairs[1][which]


def _rounded_about(found: list[Gap]) -> tuple[Gap, ...]:
    """Ranges with their start in [0, 360); two that meet at a full turn become one."""
    if len(found) > 1 and abs(found[-1].stop - 360.0 - found[0].start) < 1e-9:
        last = found.pop()
        found[0] = replace(last, stop=last.stop + found[0].width, stop_owner=found[0].stop_owner)
    moved = [replace(gap, start=gap.start % 360.0, stop=gap.start % 360.0 + gap.width) for gap in found]
    return tuple(sorted(moved, key=lambda gap: gap.start))
