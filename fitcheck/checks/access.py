"""What each tool does at each screw: shaft angles, the best one with its margin, and what is in the way.

An answer holds for a state of the assembly: machines that are not there yet do not hinder. Answers are kept with the
drive, since `wrench-access` and `assembly-order` ask for the same ones.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from math import inf

import numpy as np
from numpy.typing import NDArray

from fitcheck.checks.drive import Drive, Placed
from fitcheck.checks.material import left_out
from fitcheck.checks.own_parts import blocked_tool_angles, heads, hindrance, rounds
from fitcheck.checks.swept import hub_radius, outer_end
from fitcheck.checks.tools import Tool, tools_for
from fitcheck.checks.wording import SIDES
from fitcheck.job.model import ACROSS, Screw
from fitcheck.measurement.arm_angles import Arm, BlockedAngles
from fitcheck.measurement.arms import (
    NearArm,
    arm_blockers,
    near_arm,
    swings,
    widest_swing,
    working_ranges,
)
from fitcheck.measurement.corridor import Corridor, ToolPart, corridor
from fitcheck.measurement.intervals import Gap
from fitcheck.measurement.obstacles import Floats
from fitcheck.measurement.toolgap import straight_margin

LEAST_ANGLE = 0.2
"""Degrees: a narrower free range is within the accuracy of the angles (0.1 at either side), and does not count."""

State = tuple[str, ...]
"""Roles of bodies that are not there yet."""
ASSEMBLED: State = ()

_SAMPLES = np.array([0.5, 0.25, 0.75, 0.1, 0.9])
"""Where in a free range the best shaft angle is looked for; the middle first, which wins a tie."""
_HALVINGS = 6
"""Halvings to find an arm's margin: it is told at most 0.16 mm too small (10 mm / 2^6), never too large."""


@dataclass(frozen=True, kw_only=True)
class Reach:
    """What one tool does at one screw.

    Attributes:
        tool: the tool.
        free: free ranges of the coupling's shaft angle, degrees.
        best: the shaft angle with the largest margin among those looked at, degrees; None where there is none.
        margin: mm of room there, at most 10.
        swing: degrees that the arm can turn there; 360 for a tool that turns without end.
        blocker: index of the body that blocks most; -1 where none does.
        hindered_by: what of the drive itself is in the way at every shaft angle.
        by_arm: whether the straight part alone would come in.
    """

    tool: Tool
    free: tuple[Gap, ...]
    best: float | None = None
    margin: float = 0.0
    swing: float = 0.0
    blocker: int = -1
    hindered_by: str | None = None
    by_arm: bool = False

    @property
    def widest(self) -> float:
        """Degrees of the widest free range."""
        return max((gap.width for gap in self.free), default=0.0)

    @property
    def works(self) -> bool:
        """Whether the tool reaches the screw and turns it; a ball end alone does not tighten."""
        return self.widest >= LEAST_ANGLE and self.tool.tilt == 0.0


def screws_of(drive: Drive) -> Iterator[tuple[str, int, Screw]]:
    """Every screw of the coupling with its side and its number from 1."""
    hubs = drive.job.coupling.hubs
    for side in SIDES:
        for position, screw in enumerate((hubs.motor if side == "motor" else hubs.actuator).screws, start=1):
            yield side, position, screw


def reaches(drive: Drive, placed: Placed, side: str, position: int, state: State = ASSEMBLED) -> tuple[Reach, ...]:
    """What every allowed tool does at a screw.

    Args:
        drive: the drive; its measurement holds obstacles.
        placed: where the coupling sits.
        side: the hub's side.
        position: the screw's number on its hub, from 1.
        state: roles of bodies that are not there yet.

    Raises:
        TableError: the screw or its key is not in the tables.
    """
    asked = ("reaches", side, position, state)
    if asked not in drive.answers:
        hub = placed.hub(side)
        screw = hub.hub.screws[position - 1]
        if screw.direction == ACROSS:
            start = outer_end(screw, hub_radius(drive.job.coupling, hub.hub))
            tools = tools_for(drive.job.require, screw, start)
            asking = _Asked(drive, placed, side, position, state)
            found = asking.first_that_works(tools) if drive.trial else tuple(asking.reach(tool) for tool in tools)
        else:
            from fitcheck.checks.axial_access import axial_reaches

            found = axial_reaches(drive, placed, side, position, state)
        drive.answers[asked] = found
    answer: tuple[Reach, ...] = drive.answers[asked]
    return answer


class _Asked:
    """One screw in one state, with what all its tools share."""

    def __init__(self, drive: Drive, placed: Placed, side: str, position: int, state: State) -> None:
        self.drive, self.state, self.key = drive, state, (side, position, state)
        self.screw = placed.hub(side).hub.screws[position - 1]
        self.station, self.offset = placed.hub(side).inwards(self.screw.station), self.screw.offset
        self.skip = left_out(drive.measurement, state)
        self.rounds = rounds(drive, placed, side, state)
        self.heads = list(heads(drive, placed, side, position))

    def first_that_works(self, tools: tuple[Tool, ...]) -> tuple[Reach, ...]:
        """One reach: the first that works, the simplest tools first, or else the last one tried."""
        found: Reach | None = None
        order = sorted(tools, key=lambda tool: (tool.tilt > 0.0, 0.0 if tool.arm is None else -tool.arm.low))
        for tool in order:
            found = self.reach(tool)
            if found.works:
                break
        return () if found is None else (found,)

    def reach(self, tool: Tool) -> Reach:
        if tool.tilt > 0.0:
            return self._ball_end(tool)
        own = hindrance(self.rounds, self.heads, self.station, self.offset, tool.parts)
        if own.what is not None:
            return Reach(tool=tool, free=(), hindered_by=own.what)
        straight = self._corridor(tool.parts)
        if tool.arm is None:
            free, blocker, by_arm = straight.free, straight.blockers[0] if straight.blockers else -1, False
        else:
            free, blocker, by_arm = self._with_arm(tool.arm, straight)
            if not free and by_arm and blocker < 0:
                return Reach(tool=tool, free=(), hindered_by=self._own_blocker(tool.arm), by_arm=True)
        if not free:
            return Reach(tool=tool, free=(), blocker=blocker, by_arm=by_arm)
        if self.drive.trial:
            return Reach(tool=tool, free=free, best=0.0)
        theta, margin = self._best(tool, free, own.room)
        swing = 360.0
        if tool.arm is not None:
            swing = widest_swing(self._near(tool.arm), tool.arm, theta, self._fixed(tool.arm))
        turned = tuple(_in_coupling(gap, self.screw.angle) for gap in free)
        best = (float(np.degrees(theta)) - self.screw.angle) % 360.0
        return Reach(tool=tool, free=turned, best=best, margin=margin, swing=swing, blocker=blocker, by_arm=by_arm)

    def _corridor(self, parts: tuple[ToolPart, ...]) -> Corridor:
        asked = ("corridor", *self.key, parts)
        if asked not in self.drive.answers:
            assert self.drive.measurement.obstacles is not None
            self.drive.answers[asked] = corridor(
                self.drive.measurement.obstacles, self.station, self.offset, parts, leave_out=self.skip
            )
        found: Corridor = self.drive.answers[asked]
        return found

    def _near(self, arm: Arm, spare: float = 0.0) -> NearArm:
        assert self.drive.measurement.obstacles is not None
        return near_arm(self.drive.measurement.obstacles, self.station, self.offset, arm, self.skip, spare)

    def _fixed(self, arm: Arm) -> BlockedAngles:
        return blocked_tool_angles(self.rounds, self.heads, self.station, self.offset, arm)

    def _own_blocker(self, arm: Arm) -> str:
        """What of the drive leaves no swing by itself; else all of it together."""
        for body in self.rounds:
            alone = blocked_tool_angles([body], [], self.station, self.offset, arm)
            nothing = self._near(arm).only(slice(0))
            if not swings(nothing, arm, np.zeros(1), np.zeros(1), [alone])[0]:
                return body.what
        return "the drive itself"

    def _with_arm(self, arm: Arm, straight: Corridor) -> tuple[tuple[Gap, ...], int, bool]:
        """Free ranges, the body that blocks most, and whether the straight part comes in at all."""
        widest = straight.widest
        if widest is None:
            return (), straight.blockers[0] if straight.blockers else -1, False
        near = self._near(arm)
        free = working_ranges(near, arm, straight.free, self._fixed(arm))
        if free:
            return free, straight.blockers[0] if straight.blockers else -1, True
        middle = np.radians(widest.start + widest.width / 2)
        blockers = arm_blockers(near, arm, float(middle)) if not near.none else ()
        return (), blockers[0] if blockers else -1, True

    def _best(self, tool: Tool, free: tuple[Gap, ...], own_room: float) -> tuple[float, float]:
        """The shaft angle (radians, of the tool) with the largest margin of those looked at, and its margin in mm."""
        widest = sorted(free, key=lambda gap: -gap.width)[:2]
        thetas = np.radians(np.concatenate([gap.start + gap.width * _SAMPLES for gap in widest]))
        assert self.drive.measurement.obstacles is not None
        margins = straight_margin(
            self.drive.measurement.obstacles, self.station, self.offset, tool.parts, thetas, leave_out=self.skip
        )
        margins = np.minimum(margins, max(own_room, 0.0))
        if tool.arm is not None:
            # The arm is looked at only where the straight part has most room.
            order = np.argsort(-margins, kind="stable")[:2]
            thetas, margins = thetas[order], margins[order]
            margins = self._arm_margins(tool.arm, thetas, margins)
        at = int(np.argmax(margins > margins.max() - 1e-3))
        return float(thetas[at]), max(float(margins[at]), 0.0)

    def _arm_margins(self, arm: Arm, thetas: Floats, most: Floats) -> Floats:
        """The arm's margins in mm, no larger than `most`, those of the straight part."""
        near = self._near(arm, float(most.max()))

        def works(growth: Floats, at: Floats) -> NDArray[np.bool_]:
            return swings(near, arm, at, growth, [self._fixed(arm.grown(float(by))) for by in growth])

        low, high = np.zeros(thetas.size), most.copy()
        done = works(high, thetas)
        low[done] = high[done]
        for _ in range(_HALVINGS):
            rest = np.flatnonzero(~done)
            if rest.size == 0:
                break
            middle = 0.5 * (low[rest] + high[rest])
            good = works(middle, thetas[rest])
            low[rest[good]], high[rest[~good]] = middle[good], middle[~good]
        return low

    def _ball_end(self, tool: Tool) -> Reach:
        from fitcheck.checks.ball_end import tilted_ranges

        assert self.drive.measurement.obstacles is not None
        free = tilted_ranges(
            self.drive.measurement.obstacles, self.rounds, self.station, self.offset, tool, leave_out=self.skip
        )
        return Reach(tool=tool, free=tuple(_in_coupling(gap, self.screw.angle) for gap in free))


def _in_coupling(gap: Gap, angle: float) -> Gap:
    """A range of the tool's direction, as the coupling's shaft angle."""
    start = (gap.start - angle) % 360.0 if gap.width < 360.0 else 0.0
    return replace(gap, start=start, stop=start + gap.width)


def best_of(found: Collection[Reach]) -> Reach:
    """The reach that works with the widest range, or else the one that comes nearest to it: the thinnest tool."""
    working = [reach for reach in found if reach.works]
    if working:
        return max(working, key=lambda reach: (reach.widest, reach.margin))
    fixed = [reach for reach in found if reach.tool.tilt == 0.0]

    def distance(reach: Reach) -> tuple[float, bool, bool, float]:
        # Of equally thin tools the one whose arm stays farthest outside.
        arm = reach.tool.arm
        return reach.tool.width, not reach.by_arm, reach.hindered_by is not None, -inf if arm is None else -arm.low

    return min(fixed, key=distance)
