"""The shaft angle at which a tool has the most room, and how much: the greatest growth with which it still works.

Over the shaft angle the room rises and falls in pieces, and is often level. So it is not climbed: a room is tried, and
the shaft angles at which the tool, grown by it, cannot work are ruled out, by the same bounds that tell the free ranges
(`corridor`, `arms`). When nothing is left of the ranges, no shaft angle has more room than the best one found, but for
the tolerance.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.arm_angles import Arm, BlockedAngles
from fitcheck.measurement.arm_pairs import Cells, NearArm
from fitcheck.measurement.arms import cut_to_cells, may_work
from fitcheck.measurement.intervals import Gap, common
from fitcheck.measurement.obstacles import Floats

TOLERANCE = 0.01
"""mm; how much more room than the one told some shaft angle may have. Of a tool with an arm that has nearly as much
room over a wide range, the search ends early (`_ROUND_TOP`): a round top is found that far as well, but not proved."""
_FINEST = np.radians(0.01)
"""Cells of shaft angle are cut down to this; within one the room changes by less than the tolerance."""
_FIRST = np.radians(3.0)
_FIRST_CELLS = 24
_MANY, _ROUND_TOP = 36, np.radians(1.0)
"""So many cells, each narrower than this, that are not ruled out lie about round tops, not peaks: over half of one the
room of a tool of 50 mm changes there by 50 mm (0.5 degrees)^2 / 2, which is 0.002 mm."""
_PIECES = 3
_SAMPLES = np.array([0.5, 0.25, 0.75, 0.1, 0.9])

Straight = Callable[[Floats], Floats]
"""The room in mm of a tool's straight part at shaft angles (radians)."""
FreeWith = Callable[[float, Sequence[Gap], float], Sequence[Gap]]
"""Free ranges, degrees, of a tool's straight part that is thicker by so many mm all round, out of those given; they may
be too narrow by so many degrees at either side."""
_COARSE, _FINE = 0.1, 0.01
"""Degrees: where more room is likely it is quicker to look roughly; only the finer answer rules a shaft angle out."""
_BESIDE = np.radians(0.02)
"""So far to both sides it is tried whether the room rises."""


@dataclass(frozen=True, kw_only=True)
class Best:
    """The best shaft angle (radians) and the room there, mm: no more than there is."""

    theta: float
    room: float


def best_straight(ranges: Sequence[Gap], room: Straight, free_with: FreeWith, most: float) -> Best:
    """The best shaft angle of a tool without an arm, or of a tool's straight part.

    Args:
        ranges: the free ranges, degrees; at least one. The middle of the widest wins a tie.
        room: tells the room at single shaft angles.
        free_with: tells the free ranges of a thicker tool.
        most: mm; more room than this is not looked for.
    """
    widest = max(ranges, key=lambda gap: gap.width)
    theta = np.radians(widest.start + 0.5 * widest.width)
    rooms = room(theta + np.array([0.0, -_BESIDE, _BESIDE]))
    best = Best(theta=float(theta), room=float(rooms[0]))
    left: Sequence[Gap] = ranges
    # On a peak or a level top most likely nothing is left, which only the finer answer tells.
    closely = rooms[0] > rooms.max() - 1e-6
    while best.room < most - TOLERANCE:
        found = within(left, free_with(best.room + TOLERANCE, left, _FINE if closely else _COARSE))
        if closely:
            left = found
        if not found:
            if closely:
                break
            closely = True
            continue
        chosen = sorted(found, key=lambda gap: -gap.width)[:4]
        thetas = np.radians(np.concatenate([gap.start + gap.width * _SAMPLES for gap in chosen]))
        rooms = room(thetas)
        at = int(np.argmax(rooms > rooms.max() - 1e-6))
        if rooms[at] <= best.room:
            break
        best, closely = Best(theta=float(thetas[at]), room=float(rooms[at])), True
    return replace(best, room=min(max(best.room, 0.0), most))


def best_armed(
    ranges: Sequence[Gap], straight: Best, room: Straight, free_with: FreeWith, near: NearArm, arm: Arm,
    fixed: Callable[[float], BlockedAngles],
) -> Best:  # fmt: skip
    """The best shaft angle of a tool with an arm.

    Args:
        ranges: where the tool works, degrees.
        straight: the best of its straight part in these ranges; no tool has more room.
        room: tells the room of the straight part.
        free_with: tells the free ranges of a thicker straight part.
        near: what the arm, grown by the straight part's best room, may meet.
        arm: the arm.
        fixed: tells the tool angles that are blocked at every shaft angle, for a growth in mm.
    """
    search = _Search(room=room, near=near, arm=arm, fixed=fixed, most=straight.room)
    if search.survivors(np.array([straight.theta]), straight.room).size:
        return straight
    whole = np.radians(sum(gap.width for gap in ranges))
    cells, _ = cut_to_cells(ranges, max(float(whole) / _FIRST_CELLS, _FIRST))
    best = search.raised(cells.mean(axis=1), Best(theta=float(cells[0].mean()), room=0.0))
    while cells.shape[0]:
        asked = best.room + TOLERANCE
        if asked >= straight.room:
            break
        cells = _overlapping(cells, free_with(asked, ranges, _FINE))
        cells = cells[search.possible(cells, asked)] if cells.shape[0] else cells
        cells = cells[cells[:, 1] - cells[:, 0] > _FINEST]
        if not cells.shape[0] or (cells.shape[0] > _MANY and np.ptp(cells, axis=1).max() < _ROUND_TOP):
            break
        ends = np.linspace(cells[:, 0], cells[:, 1], _PIECES + 1)
        cells = np.stack([ends[:-1].ravel(), ends[1:].ravel()], axis=1)
        best = search.raised(search.survivors(cells.mean(axis=1), asked), best)
    return best


def within(ranges: Sequence[Gap], others: Sequence[Gap]) -> list[Gap]:
    """What two sets of ranges share, degrees; without slivers."""
    shared = common(tuple(ranges), tuple(others))
    return [Gap(start=a, stop=b, start_owner=-1, stop_owner=-1) for a, b in shared if b - a > 1e-9]


def _overlapping(cells: Floats, ranges: Iterable[Gap]) -> Floats:
    """The cells (radians) that reach into one of the ranges (degrees)."""
    keep = np.zeros(cells.shape[0], dtype=bool)
    middle, half = cells.mean(axis=1), 0.5 * (cells[:, 1] - cells[:, 0])
    for gap in ranges:
        centre, wide = np.radians(gap.start + 0.5 * gap.width), np.radians(0.5 * gap.width)
        keep |= np.abs(np.mod(middle - centre + np.pi, 2.0 * np.pi) - np.pi) <= half + wide
    return cells[keep]


@dataclass(frozen=True, kw_only=True)
class _Search:
    """What a tool with an arm is tried against."""

    room: Straight
    near: NearArm
    arm: Arm
    fixed: Callable[[float], BlockedAngles]
    most: float

    def survivors(self, thetas: Floats, growth: float) -> Floats:
        """The shaft angles at which the tool, grown, works."""
        good = thetas[self._works(thetas, np.zeros(thetas.size), growth)] if thetas.size else thetas
        return good[self.room(good) >= growth - 1e-9] if good.size else good

    def possible(self, cells: Floats, growth: float) -> NDArray[np.bool_]:
        """The cells in which the grown arm is not proved to fail everywhere."""
        return self._works(cells.mean(axis=1), -0.5 * (cells[:, 1] - cells[:, 0]), growth)

    def _works(self, middle: Floats, half: Floats, growth: float) -> NDArray[np.bool_]:
        fixed = [self.fixed(growth)] * middle.size
        return may_work(
            self.near, self.arm, fixed, Cells(middle=middle, half=half, growth=np.full(middle.size, growth))
        )

    def raised(self, thetas: Floats, best: Best) -> Best:
        """The best of shaft angles that all have at least the room asked of them so far."""
        if not thetas.size:
            return best
        low, high = best.room, self.most
        while high - low > 0.25 * TOLERANCE:
            middle = 0.5 * (low + high)
            good = self.survivors(thetas, middle)
            if good.size:
                low, thetas = middle, good
            else:
                high = middle
        return Best(theta=float(thetas[0]), room=low) if low > best.room else best
