"""What tools do at a screw along the drive axis: a flange screw of a disc coupling."""

from __future__ import annotations

from collections.abc import Sequence

from fitcheck.checks.access import Asked
from fitcheck.checks.drive import PlacedHub
from fitcheck.checks.own_parts import Hindrance, Round, axial_blocked_tool_angles, axial_hindrance, axial_sense
from fitcheck.checks.screw_frame import ScrewFrame
from fitcheck.checks.tools import Tool
from fitcheck.measurement.arm_angles import Arm, BlockedAngles
from fitcheck.measurement.arm_pairs import NearArm, near_axial_arm
from fitcheck.measurement.axial import axial_corridor, axial_margin
from fitcheck.measurement.corridor import Corridor, ToolPart
from fitcheck.measurement.intervals import Gap
from fitcheck.measurement.obstacles import Floats


class AxialAsked(Asked):
    """One screw along the drive axis in one state.

    Heights are `sense` times the station; the shaft angle is that at which the screw lies.
    """

    TOLERANCE = 0.005
    """Finer than across the axis: cells are judged by how far the farthest material moves in them, and near the drive
    axis, where such a screw lies, that is worth more degrees."""

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
