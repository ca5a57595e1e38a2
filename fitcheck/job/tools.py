"""The tools at hand: words for those of the trade, and tools of one's own."""

from __future__ import annotations

from dataclasses import dataclass

from fitcheck.job.fields import above_zero, described

TOOLS = (
    "hex key", "hex key short arm", "hex key long arm", "ball-end hex key", "hex driver", "T-handle", "bit in holder",
    "torque driver",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class ToolSection:
    """One cylinder of a tool of your own."""

    diameter: float = above_zero("Diameter; over the corners of a hexagon.", example="3.5")
    length: float = above_zero("Length along the screw's axis.", example="60")


@dataclass(frozen=True, kw_only=True)
class ToolArm:
    """The handle across a tool of your own, at the end of its last section."""

    length: float = above_zero("Reach of the handle from the screw's axis.", example="40")
    diameter: float = above_zero("Thickness of the handle.", example="12")
    sides: str = described(
        "Whether the handle lies to one side of the tool or to both.", default="one", choices=("one", "both")
    )


@dataclass(frozen=True, kw_only=True)
class OwnTool:
    """A tool of your own: cylinders in line with the screw, and a handle where it has one."""

    name: str = described("A name for the report.", example="slim driver")
    sections: tuple[ToolSection, ...] = described(
        "The tool's cylinders, from the end that enters the screw outwards. The last one goes on without end, "
        "unless the tool has an arm."
    )
    arm: ToolArm | None = described("The handle across the tool.", default=None)
