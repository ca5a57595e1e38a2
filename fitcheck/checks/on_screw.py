"""A tool on one screw at single directions, quickly: for trying changes of the material or of the tool."""

from __future__ import annotations

from math import radians

import numpy as np
from numpy.typing import NDArray

from fitcheck.checks.drive import Drive, Placed
from fitcheck.checks.material import left_out
from fitcheck.checks.own_parts import blocked_tool_angles, heads, rounds
from fitcheck.checks.tools import Tool
from fitcheck.measurement.arm_angles import Arm, BlockedAngles
from fitcheck.measurement.arm_pairs import NearArm, near_arm
from fitcheck.measurement.arms import swings, working_ranges
from fitcheck.measurement.cutting import to_tool
from fitcheck.measurement.intervals import Gap
from fitcheck.measurement.obstacles import Floats, Obstacles
from fitcheck.measurement.outlines import least, most
from fitcheck.measurement.toolgap import straight_margin

APART = 0.15
"""Degrees to both sides of a direction at which a tool has to work as well, so that it has a free range there."""


_LOOK = 0.001
"""mm; so much room is looked for about a tool that works."""


class OnScrew:
    """A screw across the drive axis, once all is assembled, and what of the drive itself is about it."""

    def __init__(self, drive: Drive, placed: Placed, side: str, position: int) -> None:
        screw = placed.hub(side).hub.screws[position - 1]
        self.station, self.offset = placed.hub(side).inwards(screw.station), screw.offset
        self.skip = left_out(drive.measurement)
        self._rounds = rounds(drive, placed, side)
        self._heads = list(heads(drive, placed, side, position))
        self._known: dict[Arm, BlockedAngles] = {}
        assert drive.measurement.obstacles is not None
        self.material: Obstacles = drive.measurement.obstacles

    def _fixed(self, arm: Arm) -> BlockedAngles:
        if arm not in self._known:
            self._known[arm] = blocked_tool_angles(self._rounds, self._heads, self.station, self.offset, arm)
        return self._known[arm]

    def _near(self, arm: Arm, material: Obstacles | None = None) -> NearArm:
        return near_arm(self.material if material is None else material, self.station, self.offset, arm, self.skip)

    def arm_works(self, arm: Arm, thetas: Floats, material: Obstacles | None = None) -> list[bool]:
        """Whether an arm works at directions (radians), in other material where some is given."""
        near, count = self._near(arm, material), thetas.size
        return [bool(v) for v in swings(near, arm, thetas, np.zeros(count), [self._fixed(arm)] * count)]

    def works_about(self, tool: Tool, theta: float, material: Obstacles) -> bool:
        """Whether a whole tool works at a direction (radians) and a little to both sides of it."""
        thetas = theta + np.radians([-APART, 0.0, APART])
        room = straight_margin(
            material, self.station, self.offset, tool.parts, thetas, leave_out=self.skip, largest=_LOOK
        )  # fmt: skip
        if room.min() < 0.0:
            return False
        return tool.arm is None or all(self.arm_works(tool.arm, thetas, material))

    def in_reach(self, tool: Tool, theta: float, material: Obstacles) -> NDArray[np.bool_]:
        """Which triangles a tool could meet at a direction (radians) and a little to both sides of it."""
        arm = tool.arm
        shapes = [(part.start, part.radius + _LOOK) for part in tool.parts]
        shapes += [(bar.low, bar.length) for bar in arm.bars] if arm is not None else []
        # At a direction a little to the side a point lies elsewhere by no more than its distance from the drive axis.
        grown = material.triangle_bound + material.away * radians(APART) + _LOOK
        found = np.zeros(grown.size, dtype=bool)
        reach = max(aside for _, aside in shapes) + _LOOK
        rows = material.between(self.station - reach, self.station + reach)
        local, grown = to_tool(material.triangles[rows], self.station, self.offset, theta), grown[rows]
        top = most(local[:, :, 0])
        right, left = least(local[:, :, 1]), most(local[:, :, 1])
        first, last = least(local[:, :, 2]), most(local[:, :, 2])
        for low, aside in shapes:
            wide = aside + grown
            met = (top >= low - grown) & (right <= wide) & (left >= -wide) & (first <= wide) & (last >= -wide)
            found[rows[met]] = True
        return found

    def ranges(self, arm: Arm, within: tuple[Gap, ...]) -> tuple[Gap, ...]:
        """The directions at which an arm works, of those at which the straight part comes in."""
        return working_ranges(self._near(arm), arm, within, self._fixed(arm))
