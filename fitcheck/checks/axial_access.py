"""What tools do at a screw along the drive axis: a flange screw of a disc coupling."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fitcheck.checks.access import Reach, State
from fitcheck.checks.drive import Drive, Placed
from fitcheck.checks.material import left_out
from fitcheck.checks.own_parts import Round, rounds
from fitcheck.checks.tools import Tool, tools_for
from fitcheck.measurement.axial import axial_corridor
from fitcheck.measurement.corridor import ToolPart


def axial_reaches(drive: Drive, placed: Placed, side: str, position: int, state: State) -> tuple[Reach, ...]:
    """What every allowed tool does there. An arm counts as if it swept its whole circle.

    Raises:
        TableError: the screw or its key is not in the tables.
    """
    hub = placed.hub(side)
    screw = hub.hub.screws[position - 1]
    outwards = -1.0 if side == "motor" else 1.0
    sense = outwards if screw.direction == "to outer face" else -outwards
    start = sense * hub.inwards(screw.station)
    about = rounds(drive, placed, side, state)
    found = []
    assert drive.measurement.obstacles is not None
    for tool in tools_for(drive.job.require, screw, start):
        if tool.tilt > 0.0:
            continue
        parts = _swept(tool)
        hindered = _hindrance(about, abs(screw.offset), sense, parts)
        if hindered is not None:
            found.append(Reach(tool=tool, free=(), hindered_by=hindered))
            continue
        way = axial_corridor(
            drive.measurement.obstacles, abs(screw.offset), sense, parts, leave_out=left_out(drive.measurement, state)
        )
        free = tuple(
            replace(gap, start=(gap.start - screw.angle) % 360.0, stop=(gap.start - screw.angle) % 360.0 + gap.width)
            for gap in way.free
        )
        widest = max(free, key=lambda gap: gap.width, default=None)
        best = None if widest is None else (widest.start + widest.width / 2) % 360.0
        blocker = way.blockers[0] if way.blockers else -1
        found.append(Reach(tool=tool, free=free, best=best, swing=360.0 if free else 0.0, blocker=blocker))
    return tuple(found)


def _swept(tool: Tool) -> tuple[ToolPart, ...]:
    if tool.arm is None:
        return tool.parts
    return (*tool.parts, *(ToolPart(start=bar.low, radius=bar.length + bar.half_width) for bar in tool.arm.bars))


def _hindrance(about: Sequence[Round], radius: float, sense: float, parts: Sequence[ToolPart]) -> str | None:
    """The round body beyond the tool's start that reaches into its way; the own hub leaves room for a counterbore."""
    for position, part in enumerate(parts):
        for body in about:
            beyond = max(sense * body.start, sense * body.stop) > part.start + 1e-9
            if beyond and body.radius > radius - part.radius and not (body.own_hub and position == 0):
                return body.what
    return None
