"""What each tool does at each screw: shaft angles, the best one with its margin, and what is in the way.

An answer holds for a state of the assembly: machines that are not there yet do not hinder. Answers are kept with the
drive, since `wrench-access` and `assembly-order` ask for the same ones.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Hashable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import inf
from typing import TYPE_CHECKING

import numpy as np

from fitcheck.checks.drive import Drive, Placed, PlacedHub
from fitcheck.checks.material import left_out
from fitcheck.checks.own_parts import Hindrance, Round, blocked_tool_angles, heads, hindrance, rounds
from fitcheck.checks.screw_frame import ScrewFrame
from fitcheck.checks.swept import head_radius, hub_radius, outer_end
from fitcheck.checks.tools import Tool, tools_for
from fitcheck.checks.wording import SIDES
from fitcheck.job.model import ACROSS, Screw
from fitcheck.measurement.arm_angles import Arm, BlockedAngles
from fitcheck.measurement.arm_pairs import NearArm, near_arm
from fitcheck.measurement.arms import (
    arm_blockers,
    swings,
    widest_swing,
    working_ranges,
)
from fitcheck.measurement.best_angle import TOLERANCE, Best, best_armed, best_straight
from fitcheck.measurement.corridor import Corridor, ToolPart, corridor, corridors
from fitcheck.measurement.intervals import Gap
from fitcheck.measurement.obstacles import Floats
from fitcheck.measurement.toolgap import LARGEST, straight_margin

if TYPE_CHECKING:
    from fitcheck.checks.pocket import Pocket

LEAST_ANGLE = 0.2
"""Degrees: a narrower free range is within the accuracy of the angles (0.1 at either side), and does not count."""

_ROUNDING = 1e-6
"""Degrees, or mm: ranges that differ by less are equally wide, tools have as much room."""

LEANS = (0.5, 1.0)
"""Of the greatest tilt to either side that clears the own hub: the leans square to the drive axis told exactly."""

State = tuple[str, ...]
"""Roles of bodies that are not there yet."""
ASSEMBLED: State = ()


@dataclass(frozen=True, kw_only=True)
class Reach:
    """What one tool does at one screw.

    Attributes:
        tool: the tool.
        free: free ranges of the coupling's shaft angle, degrees.
        best: the shaft angle with the largest margin, degrees; told of the tools with the widest range alone.
        margin: mm of room there, at most 10, and never more than there is (`best_angle.TOLERANCE`).
        swing: degrees that the arm can turn there; 360 for a tool that turns without end.
        blocker: index of the body that blocks most; -1 where none does.
        hindered_by: what of the drive itself is in the way at every shaft angle.
        by_arm: whether the straight part alone would come in.
        beside: whether the tool comes in between the hubs, along its own arm, and not along the screw's axis.
        unknown: whether it may reach the screw all the same, as the job does not tell what lies between the hubs.
    """

    tool: Tool
    free: tuple[Gap, ...]
    best: float | None = None
    margin: float = 0.0
    swing: float = 0.0
    blocker: int = -1
    hindered_by: str | None = None
    by_arm: bool = False
    beside: bool = False
    unknown: bool = False

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
        asking: Asked
        if placed.hub(side).hub.screws[position - 1].direction == ACROSS:
            asking = Asked(drive, placed, side, position, state)
        else:
            from fitcheck.checks.axial_access import AxialAsked

            asking = AxialAsked(drive, placed, side, position, state)
        drive.answers[asked] = _of_one_alike(asking) or _kept(asking)
    answer: tuple[Reach, ...] = drive.answers[asked]
    return answer


def _kept(asking: Asked) -> tuple[Reach, ...]:
    """What the tools do, kept for the screws of the hub that are alike."""
    found = asking.first_that_works() if asking.drive.trial else asking.every()
    asking.drive.answers.setdefault(asking.alike, (found, asking.screw.angle))
    return found


def _of_one_alike(asking: Asked) -> tuple[Reach, ...] | None:
    """What the tools do at another screw that has the same about it, turned to this one; None where there is none."""
    known: tuple[tuple[Reach, ...], float] | None = asking.drive.answers.get(asking.alike)
    # A head that is in the way is told by its own screw's number.
    if known is None or any("screw" in (reach.hindered_by or "") for reach in known[0]):
        return None
    turn = asking.screw.angle - known[1]
    return tuple(
        replace(
            reach, free=tuple(in_coupling(gap, turn) for gap in reach.free),
            best=None if reach.best is None else (reach.best - turn) % 360.0,
        )
        for reach in known[0]
    )  # fmt: skip


class Asked:
    """One screw across the drive axis in one state, with what all its tools share.

    Angles inside are those of the tool's direction, in the axis frame.
    """

    TOLERANCE = 0.02
    """Degrees, to which cells of shaft angle are cut up for tools with an arm; their ranges end within 0.1."""

    def __init__(self, drive: Drive, placed: Placed, side: str, position: int, state: State) -> None:
        self.drive, self.state = drive, state
        self.key: tuple[Hashable, ...] = (side, position, state)
        self.hub = placed.hub(side)
        self.screw = self.hub.hub.screws[position - 1]
        self.station, self.offset = self.hub.inwards(self.screw.station), self.screw.offset
        self.skip = left_out(drive.measurement, state)
        self.rounds = rounds(drive, placed, side, state)
        self.heads = list(heads(drive, placed, side, position, state))
        self.start = self._start(self.hub)
        self.tools = tools_for(drive.job.require, self.screw, self.start)
        assert drive.measurement.obstacles is not None
        self.material = drive.measurement.obstacles

    @property
    def alike(self) -> Hashable:
        """The same for screws of a hub that differ by their angle alone, heads about them and all."""
        about = sorted((np.round(head, 6) + 0.0).tobytes() for _, head in self.heads)
        side, _, *rest = self.key
        return ("alike", side, *rest, replace(self.screw, angle=0.0), *about)

    def _start(self, hub: PlacedHub) -> float:
        """Where the screw ends along its direction."""
        return outer_end(self.screw, hub_radius(self.drive.job.coupling, hub.hub))

    def every(self) -> tuple[Reach, ...]:
        """What each tool does; tools that differ by name alone are looked at once."""
        done: dict[object, Reach] = {}
        for tool in self.tools:
            if _shape(tool) not in done:
                done[_shape(tool)] = self.reach(tool)
        widest = max((reach.widest for reach in done.values() if reach.works), default=0.0)
        for shape, reach in done.items():
            if reach.works and reach.widest >= widest - _ROUNDING:
                done[shape] = self._with_best(reach)
        return tuple(replace(done[_shape(tool)], tool=tool) for tool in self.tools)

    def first_that_works(self) -> tuple[Reach, ...]:
        """One reach: the first that works, the simplest tools first, or else the last one tried."""
        found: Reach | None = None
        straight = [tool for tool in self.tools if tool.tilt == 0.0]
        order = sorted(straight, key=lambda tool: 0.0 if tool.arm is None else -tool.arm.low)
        for tool in order:
            one = self.reach(tool)
            if one.works or found is None or not found.unknown:
                found = one
            if one.works:
                break
        return () if found is None else (found,)

    def reach(self, tool: Tool) -> Reach:
        """What a tool does, without its best shaft angle."""
        if tool.tilt > 0.0:
            return self._ball_end(tool)
        own = self._own(tool.parts)
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
        turned = tuple(in_coupling(gap, self.screw.angle) for gap in free)
        return Reach(tool=tool, free=turned, blocker=blocker, by_arm=by_arm)

    def _with_best(self, reach: Reach) -> Reach:
        """A reach that works, with its best shaft angle, the margin and the swing there."""
        tool = reach.tool
        free = tuple(in_coupling(gap, -self.screw.angle) for gap in reach.free)
        found = self._best(tool, free, self._own(tool.parts).room)
        swing = 360.0
        if tool.arm is not None:
            swing = widest_swing(self._near(tool.arm), tool.arm, found.theta, self._fixed(tool.arm))
        best = (float(np.degrees(found.theta)) - self.screw.angle) % 360.0
        return replace(reach, best=best, margin=found.room, swing=swing)

    def _corridor(self, parts: tuple[ToolPart, ...]) -> Corridor:
        asked = ("corridor", *self.key, parts)
        if asked not in self.drive.answers:
            every = [parts] if self.drive.trial else self._stacks
            leans = [] if self.drive.trial else self._leans()
            stacks = [*every, *(upright.parts for _, upright in leans)]
            keys = [self.key] * len(every) + [turned.key for turned, _ in leans]
            offsets = [self.offset] * len(every) + [turned.offset for turned, _ in leans]
            for key, these, found in zip(keys, stacks, self._corridors(stacks, offsets), strict=True):
                self.drive.answers["corridor", *key, these] = found
        answer: Corridor = self.drive.answers[asked]
        return answer

    def _leans(self) -> list[tuple[Asked, Tool]]:
        """The ball ends that lean square to the drive axis, as upright tools on screws of their own."""
        every = (lean for tool in self.tools if tool.tilt > 0.0 for lean in self._leaning(tool))
        return [(turned, upright) for _, turned, upright in every if turned._own(upright.parts).what is None]

    def _leaning(self, tool: Tool) -> list[tuple[float, Asked, Tool]]:
        """The leans square to the drive axis that clear the own hub: degrees, and what each is as an upright tool."""
        from fitcheck.checks.ball_end import leaning

        found = []
        for side in (1.0, -1.0):
            most = self._pocket.greatest(tool.tilt, side, tool.parts[0].radius)
            found += [share * side * most for share in LEANS if most > 0.0]
        return [(tilt, *leaning(self, tool, tilt)) for tilt in found]

    @property
    def _frame(self) -> ScrewFrame:
        return ScrewFrame(station=self.station, offset=self.offset, start=self.start)

    @property
    def _pocket(self) -> Pocket:
        from fitcheck.checks.pocket import Pocket

        low, high = sorted((self.hub.outer, self.hub.inner))
        hub = hub_radius(self.drive.job.coupling, self.hub.hub)
        return Pocket(screw=self._frame, radius=head_radius(self.screw), hub=hub, low=low, high=high)

    def _corridors(
        self, every: Sequence[tuple[ToolPart, ...]], offsets: Sequence[float]
    ) -> tuple[Corridor, ...]:  # fmt: skip
        return corridors(self.material, self.station, offsets, every, leave_out=self.skip)

    def _free_within(self, parts: Sequence[ToolPart], ranges: Sequence[Gap], tolerance: float) -> tuple[Gap, ...]:
        """The free ranges of a straight part; those given alone matter."""
        return corridor(
            self.material, self.station, self.offset, parts, leave_out=self.skip, within=ranges, tolerance=tolerance
        ).free  # fmt: skip

    def _straight_room(self, parts: Sequence[ToolPart], thetas: Floats, most: float) -> Floats:
        """The room of a straight part at shaft angles, mm; cut off at `most`."""
        return straight_margin(
            self.material, self.station, self.offset, parts, thetas, leave_out=self.skip, largest=most
        )  # fmt: skip

    @property
    def _stacks(self) -> list[tuple[ToolPart, ...]]:
        """The straight parts of the tools that nothing of the drive itself hinders, each once."""
        stacks = dict.fromkeys(tool.parts for tool in self.tools if tool.tilt == 0.0)
        return [parts for parts in stacks if self._own(parts).what is None]

    def _own(self, parts: tuple[ToolPart, ...]) -> Hindrance:
        return hindrance(self.rounds, self.heads, self.station, self.offset, parts)

    def _near(self, arm: Arm, spare: float = 0.0) -> NearArm:
        return near_arm(self.material, self.station, self.offset, arm, self.skip, spare)

    def _fixed(self, arm: Arm, alone: Sequence[Round] | None = None) -> BlockedAngles:
        """The tool angles that the drive itself blocks, or some of its round bodies alone."""
        about, others = (self.rounds, self.heads) if alone is None else (alone, ())
        return blocked_tool_angles(about, others, self.station, self.offset, arm)

    def _own_blocker(self, arm: Arm) -> str:
        """What of the drive leaves no swing by itself; else all of it together."""
        for body in self.rounds:
            alone = self._fixed(arm, [body])
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
        free = working_ranges(near, arm, straight.free, self._fixed(arm), tolerance=self.TOLERANCE)
        if free:
            return free, straight.blockers[0] if straight.blockers else -1, True
        middle = np.radians(widest.start + widest.width / 2)
        blockers = arm_blockers(near, arm, float(middle)) if not near.none else ()
        return (), blockers[0] if blockers else -1, True

    def _best(self, tool: Tool, free: tuple[Gap, ...], own_room: float) -> Best:
        """The shaft angle (radians, of the tool) with the largest margin, and that margin in mm."""

        def room(thetas: Floats) -> Floats:
            return self._straight_room(tool.parts, thetas, most)

        def free_with(more: float, ranges: Sequence[Gap], tolerance: float) -> tuple[Gap, ...]:
            parts = [replace(part, radius=part.radius + more) for part in tool.parts]
            return self._free_within(parts, ranges, tolerance)

        most = min(max(own_room, 0.0), LARGEST)
        asked = ("straight", *self.key, tool.parts, free)
        if asked not in self.drive.answers:
            found = self._best_of_thinner(tool.parts, free, most, room) or best_straight(free, room, free_with, most)
            self.drive.answers[asked] = found
            self.drive.answers.setdefault(("thinner", *self.key), []).append((tool.parts, free, found, most))
        best: Best = self.drive.answers[asked]
        if tool.arm is None or best.room <= 0.0:
            return best
        arm = tool.arm

        def fixed(growth: float) -> BlockedAngles:
            return self._fixed(arm.grown(growth))

        return best_armed(free, best, room, free_with, self._near(arm, best.room), arm, fixed)

    def _best_of_thinner(
        self, parts: Sequence[ToolPart], free: Sequence[Gap], most: float, room: Callable[[Floats], Floats]
    ) -> Best | None:  # fmt: skip
        """The best shaft angle of a thinner tool, where this one has as much room there: nowhere has it more."""
        known: list[tuple[Sequence[ToolPart], Sequence[Gap], Best, float]]
        known = self.drive.answers.get(("thinner", *self.key), [])
        for thinner, ranges, best, limit in known:
            if not (_holds(parts, thinner) and _within(free, ranges) and _holds_angle(free, best.theta)):
                continue
            # A room that was cut off at its limit may be any.
            nowhere_more = most if best.room >= limit - TOLERANCE else min(most, best.room)
            there = float(room(np.array([best.theta]))[0])
            if there >= nowhere_more - _ROUNDING:
                return Best(theta=best.theta, room=min(max(there, 0.0), most))
        return None

    def _ball_end(self, tool: Tool) -> Reach:
        from fitcheck.checks.ball_end import tilted_ranges

        found = [(gap, 0.0) for gap in self.reach(replace(tool, tilt=0.0)).free]
        for tilt, turned, upright in self._leaning(tool):
            found += [(in_coupling(gap, tilt), tilt) for gap in turned.reach(upright).free]
        free = tilted_ranges(
            self.material, self.rounds, self._frame, tool, leave_out=self.skip, heads=self.heads, pocket=self._pocket,
            already=[(in_coupling(gap, -self.screw.angle), tilt) for gap, tilt in found],
        )  # fmt: skip
        return Reach(tool=tool, free=tuple(in_coupling(gap, self.screw.angle) for gap in free))


def _holds(parts: Sequence[ToolPart], thinner: Sequence[ToolPart]) -> bool:
    """Whether a tool's straight part holds all of a thinner one."""
    return all(any(part.start <= one.start and part.radius >= one.radius for part in parts) for one in thinner)


def _within(ranges: Sequence[Gap], wider: Sequence[Gap]) -> bool:
    """Whether each range lies in one of the wider ones."""
    return all(any(one.start <= gap.start and gap.stop <= one.stop for one in wider) for gap in ranges)


def _holds_angle(ranges: Sequence[Gap], theta: float) -> bool:
    """Whether one of some ranges holds an angle in radians."""
    return any((np.degrees(theta) - gap.start) % 360.0 <= gap.width for gap in ranges)


def _shape(tool: Tool) -> object:
    """What a tool is but for its name."""
    return tool.parts, tool.arm, tool.tilt


def in_coupling(gap: Gap, angle: float) -> Gap:
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
        # Of equally thin tools the one whose arm stays farthest outside; between the hubs, that takes least room.
        arm = reach.tool.arm
        high = 0.0 if arm is None else arm.low * (1.0 if reach.beside else -1.0)
        return reach.tool.width, not reach.by_arm, reach.hindered_by is not None, -inf if arm is None else high

    return min(fixed, key=distance)
