"""What would let a tool reach a screw that none reaches: another place, a larger opening, a shorter tool.

Every offer is tried before it is made: a move by making the checks again at the new place, an opening by putting the
tool on through it with all other material where it is, a shorter arm by sweeping it.
"""

from __future__ import annotations

from dataclasses import replace
from math import ceil, floor

import numpy as np

from fitcheck.checks.access import LEAST_ANGLE, Reach
from fitcheck.checks.drive import Drive, Placed
from fitcheck.checks.material import left_out
from fitcheck.checks.own_parts import blocked_tool_angles, heads, rounds
from fitcheck.checks.wording import degrees, mm
from fitcheck.job.model import ACROSS
from fitcheck.measurement.arm_angles import Arm
from fitcheck.measurement.arm_pairs import near_arm
from fitcheck.measurement.arms import swings
from fitcheck.measurement.corridor import ToolPart, corridor
from fitcheck.measurement.obstacles import Floats, Obstacles, triangles_between

_FARTHEST_MOVE = 15
"""mm; how far a shift of the coupling or of a window's edge is looked for."""
_SHORTEST_ARM = 8.0
"""mm; a key with a shorter arm cannot be held."""


def access_remedy(drive: Drive, placed: Placed, side: str, position: int, reach: Reach) -> str:
    """The remedies that hold, the smallest change first."""
    screw = placed.hub(side).hub.screws[position - 1]
    station = placed.hub(side).inwards(screw.station)
    if screw.direction != ACROSS:
        return "tighten it before the coupling goes in (see assembly-order), or leave the way along the axis open"
    arm = _Arm(drive, placed, side, position)
    offers: list[str] = []
    if reach.by_arm and reach.tool.arm is not None:
        shorter = arm.shorter(reach)
        if shorter is not None:
            offers.append(f"a key whose arm is cut to {mm(shorter)} turns there")
    if reach.hindered_by is not None:
        other = f"a longer distance between the screw and {reach.hindered_by}, or a tool that is thinner there"
        return "; ".join([*offers, other])
    obstacles = drive.measurement.obstacles
    assert obstacles is not None
    if reach.by_arm:
        return "; ".join([*offers, "an adapter that leaves the arm room to swing, or a tool without an arm"])
    move = _least_move(drive, screw.offset, reach.tool.parts, station) if drive.remedies else None
    if move is not None and arm.works(reach, np.radians([move[1]])):
        from fitcheck.checks.moving import move_remedy

        moved = move_remedy(drive, move[0], "wrench-access", f"{side} hub screw {position}")
        text = f"widen the opening by {mm(abs(move[0]))} towards the {'motor' if move[0] > 0 else 'actuator'}"
        offers.append(text if moved is None else f"{moved}, or {text}")
    bound = float(obstacles.triangle_bound.max(initial=0.0))
    width = ceil((reach.tool.width + 2 * bound) * 10 - 1e-6) / 10
    text = (
        f"an opening at least {mm(width)} wide at stations {mm(station - width / 2)} to {mm(station + width / 2)}, "
        f"in line with the screw ({mm(abs(screw.offset))} beside the drive axis), is enough"
    )
    if drive.remedies:
        theta = arm.first_that_works(reach, None if move is None else move[1])
        if theta is None:
            text += ", for a tool without an arm"
        else:
            text += f"; a round hole of {mm(width)} at shaft angle {degrees(theta % 360.0)} is one"
    return "; ".join([*offers, text])


class _Arm:
    """The arms of tools on one screw, with all material where it is."""

    def __init__(self, drive: Drive, placed: Placed, side: str, position: int) -> None:
        screw = placed.hub(side).hub.screws[position - 1]
        self.drive, self.offset = drive, screw.offset
        self.station = placed.hub(side).inwards(screw.station)
        self.about = rounds(drive, placed, side)
        self.heads = list(heads(drive, placed, side, position))

    def _works(self, arm: Arm, thetas: Floats) -> list[bool]:
        obstacles = self.drive.measurement.obstacles
        assert obstacles is not None
        near = near_arm(obstacles, self.station, self.offset, arm, left_out(self.drive.measurement))
        fixed = blocked_tool_angles(self.about, self.heads, self.station, self.offset, arm)
        return [bool(v) for v in swings(near, arm, thetas, np.zeros(thetas.size), [fixed] * thetas.size)]

    def works(self, reach: Reach, thetas: Floats) -> bool:
        """Whether the arm works at one of the tool's directions (radians)."""
        return reach.tool.arm is None or any(self._works(reach.tool.arm, thetas))

    def first_that_works(self, reach: Reach, near: float | None) -> float | None:
        """The tool's direction (degrees) nearest to `near` at which the arm works, on a grid of 15 degrees."""
        grid = np.arange(0.0, 360.0, 15.0) + (near or 0.0)
        if reach.tool.arm is None:
            return float(grid[0])
        good = self._works(reach.tool.arm, np.radians(grid))
        away = [min(turn, 360.0 - turn) if ok else 999.0 for turn, ok in zip(grid - grid[0], good, strict=True)]
        at = int(np.argmin(away))
        return float(grid[at]) if good[at] else None

    def shorter(self, reach: Reach) -> float | None:
        """The longest arm (mm, from the screw's axis) that works at some direction where the straight part comes in."""
        obstacles, arm = self.drive.measurement.obstacles, reach.tool.arm
        assert obstacles is not None
        assert arm is not None
        straight = corridor(
            obstacles, self.station, self.offset, reach.tool.parts, leave_out=left_out(self.drive.measurement)
        )
        if straight.widest is None:
            return None
        thetas = np.radians(np.concatenate([np.linspace(g.start, g.stop, 7)[1:-1] for g in straight.free]))

        def cut(length: float) -> bool:
            bars = tuple(replace(bar, length=min(bar.length, length)) for bar in arm.bars)
            return any(self._works(replace(arm, bars=bars), thetas))

        low, high = _SHORTEST_ARM, arm.length
        if not cut(low):
            return None
        while high - low > 0.25:
            middle = 0.5 * (low + high)
            low, high = (middle, high) if cut(middle) else (low, middle)
        return floor(low * 10.0) / 10.0


def _least_move(drive: Drive, offset: float, parts: tuple[ToolPart, ...], station: float) -> tuple[float, float] | None:
    """The least shift of the screw along the axis, in steps of 0.1 mm, at which the tool's cylinders reach it.

    Returns:
        The shift, and the middle of the widest free range there, degrees.
    """
    obstacles = drive.measurement.obstacles
    assert obstacles is not None
    radius = max(part.radius for part in parts)
    about: Obstacles = triangles_between(
        obstacles, station - _FARTHEST_MOVE - radius, station + _FARTHEST_MOVE + radius
    )
    skip = left_out(drive.measurement)

    def reached(move: float) -> float | None:
        found = corridor(about, station + move, offset, parts, leave_out=skip, tolerance=0.05).widest
        return found.start + found.width / 2 if found is not None and found.width >= LEAST_ANGLE else None

    for distance in range(1, _FARTHEST_MOVE + 1):
        if reached(distance) is not None or reached(-distance) is not None:
            for tenths in range(10 * distance - 9, 10 * distance + 1):
                for move in (tenths / 10, -tenths / 10):
                    theta = reached(move)
                    if theta is not None:
                        return move, theta
    return None
