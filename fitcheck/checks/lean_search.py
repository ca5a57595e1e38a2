"""How far the shaft may turn on beyond a free range, the ball end leaning as it must.

A tool that is free is turned on with the shaft as far as that is proved free; then it leans to where, by all that is
near it as linear as it is there, the shaft may turn farthest on; and so forth, until that leads no farther. So each
stretch is proved for the one lean that it is told with, and a range ends at an angle from which no small change leads
on. Several tools are followed at once, since the arrays are short.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import radians, sqrt

import numpy as np

from fitcheck.checks.lean_arm import look_at_arm
from fitcheck.checks.lean_look import Rows, joined, look
from fitcheck.checks.lean_space import Flags, Poses, Space, within
from fitcheck.measurement.arm_planes import LONGEST
from fitcheck.measurement.intervals import TURN
from fitcheck.measurement.obstacles import Floats

_MOST = 60
"""So many steps at the most; a bound on time, on the safe side."""
_FIRST_CHANGE, _MOST_CHANGE, _LEAST_CHANGE = radians(3.0), radians(4.0), radians(0.1)
"""How much a lean changes in a step."""
_FIRST_TURN, _MOST_TURN, _LEAST_TURN = radians(2.0), radians(8.0), radians(0.1)
assert _MOST_TURN <= LONGEST
_GAIN = radians(0.005)
"""A step that leads on by less counts as none."""
_MARGIN = 0.002
"""mm (of swing: radians) that are kept from what hinders: a tool that touches it gets nowhere."""
_BEHIND = radians(0.3)
"""A way ends where others have led on by that much from there."""
_IDLE, _MENDED, _TRIED = 6, 3.0, 6.0
"""So many steps without gain end the way."""
_SLOW = 0.05
"""What nears by less than so many mm, or radians of swing, per radian of shaft angle counts as so quick."""
_GRID = np.stack(np.meshgrid(np.linspace(-1.0, 1.0, 5), np.linspace(-1.0, 1.0, 5)), axis=-1).reshape(-1, 2)
_ZOOMS, _ZOOM = 7, 0.5


@dataclass(eq=False)
class _Ways:
    """The ways of n tools: where each is, and how it fares.

    Attributes:
        thetas: shape (n,), how far it is led on, radians.
        leans: shape (n, 2), how it leans there.
        way: shape (n,), 1 or -1, the sense in which the shaft turns on.
        turn: shape (n,), how far the next step goes at the most, radians.
        change: shape (n,), how much the next lean may differ in either coordinate, radians.
        ahead: shape (n,), how far the step was to lead on by what was known before it.
        good: shape (n, 2), the last lean that was free.
        idle: shape (n,), steps since it last got on.
        fails: shape (n,), steps since it was last free.
        gone: shape (n,), how far it has come, radians.
        stuck: shape (n,), whether no small change of the lean leads on.
        was_free: shape (n,), whether it ever was.
    """

    thetas: Floats
    leans: Floats
    way: Floats
    turn: Floats
    change: Floats
    ahead: Floats
    good: Floats
    idle: Floats
    fails: Floats
    gone: Floats
    stuck: Flags
    was_free: Flags

    @classmethod
    def begun(cls, thetas: Floats, leans: Floats, way: Floats) -> _Ways:
        """Ways that begin."""
        full, none, no = np.ones(thetas.size), np.zeros(thetas.size), np.zeros(thetas.size, dtype=bool)
        return cls(
            thetas=thetas.copy(), leans=leans.copy(), way=way, turn=_FIRST_TURN * full, change=_FIRST_CHANGE * full,
            ahead=none.copy(), good=leans.copy(), idle=none.copy(), fails=none.copy(), gone=none.copy(), stuck=no,
            was_free=no.copy(),
        )  # fmt: skip

    @property
    def ended(self) -> Flags:
        """Which have come to an end."""
        # What never was free is given up earlier where nothing near by looks free.
        hopeless = ~self.was_free & (self.fails >= np.where(self.ahead < 0.0, _MENDED, _TRIED))
        return self.stuck | hopeless | (self.idle >= _IDLE) | (self.change < _LEAST_CHANGE) | (self.gone >= TURN)

    def only(self, rows: Flags) -> _Ways:
        return _Ways(*(getattr(self, name)[rows] for name in self.__dataclass_fields__))


def followed(space: Space, thetas: Floats, leans: Floats, way: Floats, known: Floats) -> tuple[Floats, Floats]:
    """Ranges of shaft angle that are free on from where tools stand.

    Args:
        space: what may be in the way.
        thetas: shape (n,), where they stand, radians.
        leans: shape (n, 2), how; they need not be free.
        way: shape (n,), 1 or -1: the sense in which the shaft turns on.
        known: free ranges, shape (k, 2); a way ends where others have led on from already.

    Returns:
        Ranges, shape (m, 2), and the lean of each, shape (m, 2).
    """
    ways = _Ways.begun(thetas, leans, way)
    found, with_leans = [np.empty((0, 2))], [np.empty((0, 2))]
    for _ in range(_MOST):
        if not ways.thetas.size:
            break
        begin = ways.thetas.copy()
        rows, gain = _step(space, ways)
        on = gain > 0.0
        found.append(np.sort(np.stack([begin, ways.thetas], axis=1)[on], axis=1))
        with_leans.append(ways.leans[on])
        _lean_on(space, ways, rows, gain)
        ends = ways.ended
        # Where another has led on from here, not beyond a gap.
        others = np.concatenate([known, *found])
        ends |= _inside(ways.thetas + ways.way * 1e-6, others) & _inside(ways.thetas + ways.way * _BEHIND, others)
        ways = ways.only(~ends)
    return np.concatenate(found), np.concatenate(with_leans)


def _inside(thetas: Floats, ranges: Floats) -> Flags:
    """Which angles lie in one of some ranges, (k, 2), a turn more or less not counted."""
    from_start = np.mod(thetas[:, None] - ranges[None, :, 0], TURN)
    return np.asarray((from_start < (ranges[:, 1] - ranges[:, 0])[None]).any(axis=1))


def _step(space: Space, ways: _Ways) -> tuple[Rows, Floats]:
    """Turns each tool on as far as that is proved free; what hinders it there, and how far that was, or negative."""
    poses = Poses(ways.thetas, ways.leans, ways.turn, ways.change)
    rows, reach = look(space, poses, ways.way)
    if space.arm is not None and space.about_arm.size:
        more, reach = _with_arm(space, poses, ways.way, reach)
        rows = joined(rows, more)
    gain = np.maximum(reach, 0.0)
    ways.thetas = ways.thetas + ways.way * gain
    ways.gone = ways.gone + gain
    rows = rows.after(ways.way * gain)
    margin = _MARGIN * 3.0 ** np.minimum(np.where(reach < 0.0, ways.fails + 1.0, 0.0), 3.0)
    return Rows(rows.pose, rows.room - margin[rows.pose], rows.by_turn, rows.by_lean), reach


def _with_arm(space: Space, poses: Poses, way: Floats, reach: Floats) -> tuple[Rows, Floats]:
    """What limits the arm where the straight part is free, and how far tools turn on with both free."""
    free = np.flatnonzero(reach >= 0.0)
    if not free.size:
        return Rows(free, reach[:0], reach[:0], np.empty((0, 2))), reach
    some = Poses(poses.thetas[free], poses.leans[free], np.maximum(reach, _GAIN)[free], poses.change[free])
    rows, by_arm = look_at_arm(space, some, way[free])
    reach = reach.copy()
    reach[free] = np.minimum(reach[free], by_arm)
    return Rows(free[rows.pose], rows.room, rows.by_turn, rows.by_lean), reach


def _lean_on(space: Space, ways: _Ways, rows: Rows, reach: Floats) -> None:
    """Leans each tool to where the shaft may turn farthest on, and sees how it fared with the last change."""
    free, gained = reach >= 0.0, reach > _GAIN
    # Free where it stands, and not proved to be for any turn: too much comes into question in so long a turn.
    unproved = free & (reach <= 0.0)
    ways.idle = np.where(gained, 0.0, ways.idle + 1.0)
    ways.good[free] = ways.leans[free]
    ways.fails = np.where(free, 0.0, ways.fails + 1.0)
    poor = ~free | (reach < 0.3 * ways.ahead)
    ways.change = np.where(unproved, 1.0, np.where(poor, 0.6, 1.4)) * ways.change
    ways.change = np.minimum(ways.change, _MOST_CHANGE)
    leans, ahead = best_leans(space, rows, ways.leans, ways.change, ways.way)
    # A lean that is not free is mended from where it stands a few times, and given up after that.
    ways.leans = np.where(unproved[:, None], ways.leans, np.where((ways.fails == _MENDED)[:, None], ways.good, leans))
    ways.ahead = np.where(unproved, 0.0, ahead)
    ways.was_free |= free
    # Where by all that is near no small change of the lean leads on, that is the end of it.
    ways.stuck = free & ~gained & ~unproved & (ahead <= _GAIN)
    # Where it is free and does not get on, what lies near comes into question by the length of the turn alone.
    turn = np.where(free & ~gained, 0.15 * ways.turn, np.maximum(1.2 * ahead, _LEAST_TURN))
    ways.turn = np.clip(turn, 4.0 * _GAIN, _MOST_TURN)


def best_leans(space: Space, rows: Rows, leans: Floats, change: Floats, way: Floats) -> tuple[Floats, Floats]:
    """Of leans near by those from which the shaft may turn farthest on, as far as rows tell; and how far, radians.

    Args:
        space: holds the greatest tilt.
        rows: what hinders.
        leans: shape (n, 2), where to begin.
        change: shape (n,), how far to go at the most, in either coordinate.
        way: shape (n,), 1 or -1.
    """
    count = leans.shape[0]
    each, best, span = np.arange(count), np.zeros(leans.shape), change
    ahead = np.full(count, _MOST_TURN)
    for _ in range(_ZOOMS):
        rows = _that_matter(rows, count, span, way)
        nearing = np.maximum(-way[rows.pose] * rows.by_turn, _SLOW)
        starts = np.flatnonzero(np.diff(rows.pose, prepend=-1))
        steps = within((leans + best)[:, None] + span[:, None, None] * _GRID, space.greatest) - (leans + best)[:, None]
        value = np.full(steps.shape[:2], _MOST_TURN)
        if starts.size:
            moved = steps[rows.pose]
            left = rows.room[:, None] + rows.by_lean[:, :1] * moved[:, :, 0] + rows.by_lean[:, 1:] * moved[:, :, 1]
            some = rows.pose[starts]
            value[some] = np.minimum(value[some], np.minimum.reduceat(left / nearing[:, None], starts, axis=0))
        # Of leans that lead as far the one that changes least.
        off = best[:, None] + steps
        at = np.argmax(value - 1e-3 * np.hypot(off[:, :, 0], off[:, :, 1]), axis=1)
        step = steps[each, at]
        best, ahead, span = best + step, value[each, at], _ZOOM * span
        rows = Rows(
            rows.pose, rows.room + (rows.by_lean * step[rows.pose]).sum(axis=1), rows.by_turn, rows.by_lean
        )  # fmt: skip
    return leans + best, ahead


def _that_matter(rows: Rows, count: int, change: Floats, way: Floats) -> Rows:
    """The rows that may be the nearest within a change of lean, in ascending order of poses."""
    nearing = np.maximum(-way[rows.pose] * rows.by_turn, _SLOW)
    loose = sqrt(2.0) * np.hypot(rows.by_lean[:, 0], rows.by_lean[:, 1]) * change[rows.pose]
    at_most = np.full(count, _MOST_TURN)
    np.minimum.at(at_most, rows.pose, (rows.room + loose) / nearing)
    keep = np.flatnonzero((rows.room - loose) / nearing <= at_most[rows.pose])
    keep = keep[np.argsort(rows.pose[keep], kind="stable")]
    return Rows(rows.pose[keep], rows.room[keep], rows.by_turn[keep], rows.by_lean[keep])
