"""What tools do at a screw along the drive axis: a flange screw of a disc coupling.

A tool comes in along the screw's axis, as on all screws. Where the head faces the other hub that is in the way of it;
then a key may be put in between the hubs: all of it above the head, it slides in along its own arm until it stands over
the socket, and goes down into it. So the key has to fit between the head and the other hub with the socket's depth to
spare. That way is looked at where none along the axis is free.
"""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from dataclasses import replace
from math import degrees, radians

import numpy as np

from fitcheck.checks.access import Asked, Reach, State, in_coupling
from fitcheck.checks.drive import Drive, Placed, PlacedHub
from fitcheck.checks.own_parts import Hindrance, Round, axial_blocked_tool_angles, axial_hindrance, axial_sense
from fitcheck.checks.screw_frame import ScrewFrame
from fitcheck.checks.swept import BODY, element_known
from fitcheck.checks.tools import Tool
from fitcheck.checks.wording import mm, other
from fitcheck.job.model import TO_OTHER_HUB
from fitcheck.measurement.arm_angles import FAR, Arm, Bar, BlockedAngles, works
from fitcheck.measurement.arm_pairs import NearArm, near_axial_arm
from fitcheck.measurement.arms import arm_blockers, swings, widest_swing, working_ranges
from fitcheck.measurement.axial import axial_corridor, axial_margin
from fitcheck.measurement.best_angle import Best, best_armed
from fitcheck.measurement.corridor import Corridor, ToolPart
from fitcheck.measurement.intervals import Gap
from fitcheck.measurement.obstacles import Floats
from fitcheck.measurement.toolgap import LARGEST

_ROOM = 0.002
"""mm; how closely the room is told that the drive itself leaves a key between the hubs."""
_SOME = 36
_EVERYWHERE = (Gap(start=0.0, stop=360.0, start_owner=-1, stop_owner=-1),)


class AxialAsked(Asked):
    """One screw along the drive axis in one state.

    Heights are `sense` times the station; the shaft angle is that at which the screw lies.
    """

    TOLERANCE = 0.005
    """Finer than across the axis: cells are judged by how far the farthest material moves in them, and near the drive
    axis, where such a screw lies, that is worth more degrees."""

    def __init__(self, drive: Drive, placed: Placed, side: str, position: int, state: State) -> None:
        super().__init__(drive, placed, side, position, state)
        self.placed = placed
        # To another flange screw their heads are what they are, not what they sweep.
        self.rounds = [body for body in self.rounds if not body.ring]
        inwards = self.screw.direction == TO_OTHER_HUB
        self.between = inwards and placed.motor.inner < placed.actuator.inner
        self.known = not self.between or element_known(drive.job.coupling) or BODY in state

    def reach(self, tool: Tool) -> Reach:
        """What a tool does, along the axis or else from between the hubs, without its best shaft angle."""
        found = super().reach(tool)
        if not found.works and self.between and tool.arm is not None and not tool.arm.both_sides and tool.tilt == 0.0:
            beside = self._from_between(tool, tool.arm)
            # A key that fits between the hubs nowhere is still told by what is in the way of it there.
            found = found if found.free and not beside.free else beside
        if found.free or self.known:
            return found
        bare = copy(self)
        bare.rounds = [body for body in self.rounds if not body.element]
        bare.key, bare.known = (*self.key, "nothing between the hubs"), True
        at_most = bare.reach(tool)
        # What is in the way with nothing there at all is known.
        return replace(found, unknown=True) if at_most.free else at_most

    def arm_between(self, tool: Tool, arm: Arm) -> Arm:
        """A tool's arm that comes in between the hubs, along itself, all of the tool above the own hub and the head."""
        face = self.sense * self.hub.inner
        lift = max(face - self.start, 0.0)
        top = max(bar.high for bar in arm.bars) + lift
        legs = [
            Bar(low=max(part.start, face), high=top, half_width=part.radius, length=FAR) for part in tool.parts
        ]  # fmt: skip
        bars = [replace(bar, high=bar.high + lift, length=FAR) for bar in arm.bars]
        return replace(arm, way=(*legs, *bars))

    def somewhere_between(self) -> bool:
        """Whether a tool works from between the hubs at one of some shaft angles: a quick look, for trying changes."""
        thetas = np.linspace(0.0, 2.0 * np.pi, _SOME, endpoint=False)
        for tool in self.tools:
            if tool.arm is None or tool.arm.both_sides or tool.tilt > 0.0:
                continue
            arm = self.arm_between(tool, tool.arm)
            own = self._fixed(arm)
            if works(own, arm) and swings(self._near(arm), arm, thetas, np.zeros(_SOME), [own] * _SOME).any():
                return True
        return False

    def _from_between(self, tool: Tool, arm: Arm) -> Reach:
        arm = self.arm_between(tool, arm)
        own = self._fixed(arm)
        if not works(own, arm):
            return Reach(tool=tool, free=(), hindered_by=self._tight_between(arm), by_arm=True, beside=True)
        near = self._near(arm)
        free = working_ranges(near, arm, _EVERYWHERE, own, tolerance=self.TOLERANCE)
        if free:
            turned = tuple(in_coupling(gap, self.screw.angle) for gap in free)
            return Reach(tool=tool, free=turned, by_arm=True, beside=True)
        blockers = arm_blockers(near, arm, 0.0)
        return Reach(tool=tool, free=(), blocker=blockers[0] if blockers else -1, by_arm=True, beside=True)

    def _tight_between(self, arm: Arm) -> str:
        """What of the drive itself leaves a key between the hubs no swing; where it is too long, by how much."""
        what = self._own_blocker(arm)
        needed, there = self._needed(arm), self._there
        if needed <= there or not what.endswith("hub"):
            return what
        return f"{what}, {mm(there)} from the head where {mm(needed)} are needed,"

    def lacking(self, tool: Tool) -> float:
        """How much longer it would have to be between the hubs for a tool to come in there, mm; 0 for no longer."""
        if not self.between or tool.arm is None or tool.arm.both_sides or tool.tilt > 0.0:
            return 0.0
        return max(self._needed(self.arm_between(tool, tool.arm)) - self._there, 0.0)

    def _needed(self, arm: Arm) -> float:
        """What a key that comes in between the hubs needs above the head, mm."""
        return max(bar.high for bar in arm.way) - self.start

    @property
    def _there(self) -> float:
        """What there is between the head and the other hub, mm."""
        return self.sense * self.placed.hub(other(str(self.key[0]))).inner - self.start

    def _with_best(self, reach: Reach) -> Reach:
        if not reach.beside:
            return super()._with_best(reach)
        assert reach.tool.arm is not None
        arm = self.arm_between(reach.tool, reach.tool.arm)
        free = tuple(in_coupling(gap, -self.screw.angle) for gap in reach.free)
        widest = max(free, key=lambda gap: gap.width)
        most = self._own_room(arm)
        middle = Best(theta=radians(widest.start + 0.5 * widest.width), room=most)
        found = best_armed(
            free, middle, lambda thetas: np.full(thetas.size, most), lambda more, ranges, tolerance: ranges,
            self._near(arm, most), arm, lambda growth: self._fixed(arm.grown(growth)),
        )  # fmt: skip
        swing = widest_swing(self._near(arm), arm, found.theta, self._fixed(arm))
        best = (degrees(found.theta) - self.screw.angle) % 360.0
        return replace(reach, best=best, margin=found.room, swing=swing)

    def _own_room(self, arm: Arm) -> float:
        """How much larger all round an arm that works could be for all that the drive itself is in its way, mm."""
        low, high = 0.0, LARGEST
        while high - low > _ROOM:
            middle = 0.5 * (low + high)
            low, high = (middle, high) if works(self._fixed(arm.grown(middle)), arm) else (low, middle)
        return low

    @property
    def radius(self) -> float:
        """Distance of the screw's axis from the drive axis, mm."""
        return abs(self.screw.offset)

    @property
    def sense(self) -> float:
        """+1 where the tool lies towards the actuator, -1 towards the motor."""
        return axial_sense(str(self.key[0]), self.screw)

    def _start(self, hub: PlacedHub) -> float:
        return self.sense * hub.inwards(self.screw.station)

    def _own(self, parts: Sequence[ToolPart]) -> Hindrance:
        return axial_hindrance(self.rounds, self.heads, self.radius, self.sense, parts)

    def _leaning(self, tool: Tool) -> list[tuple[float, Asked, Tool]]:
        # A lean is no upright tool on another screw along the axis; `ball_end.tilted_ranges` tries them all.
        return []

    def _corridors(
        self, every: Sequence[tuple[ToolPart, ...]], offsets: Sequence[float]
    ) -> tuple[Corridor, ...]:  # fmt: skip
        return tuple(
            axial_corridor(self.material, self.radius, self.sense, parts, leave_out=self.skip) for parts in every
        )

    def _free_within(self, parts: Sequence[ToolPart], ranges: Sequence[Gap], tolerance: float) -> tuple[Gap, ...]:
        return axial_corridor(self.material, self.radius, self.sense, parts, leave_out=self.skip).free

    def _straight_room(self, parts: Sequence[ToolPart], thetas: Floats, most: float) -> Floats:
        return axial_margin(
            self.material, self.radius, self.sense, parts, thetas, leave_out=self.skip, largest=most
        )  # fmt: skip

    def _near(self, arm: Arm, spare: float = 0.0) -> NearArm:
        return near_axial_arm(self.material, self.radius, self.sense, arm, self.skip, spare)

    def _fixed(self, arm: Arm, alone: Sequence[Round] | None = None) -> BlockedAngles:
        about, others = (self.rounds, self.heads) if alone is None else (alone, ())
        return axial_blocked_tool_angles(about, others, self.radius, self.sense, arm)

    @property
    def _frame(self) -> ScrewFrame:
        return ScrewFrame(station=0.0, offset=self.radius, start=self.start, sense=self.sense)
