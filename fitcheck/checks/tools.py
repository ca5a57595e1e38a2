"""The tools of the trade on a screw: cylinders in line with it, and an arm where the tool has one.

Hexagon keys are ISO 2936's. Between editions of the standard the arms differ, and keys of both are on sale: a key
stands here for both, its arm over the heights of the shorter and the longer one, and as long as the longer one.
Handles without a standard carry the mark "common practice, no source".
"""

from __future__ import annotations

from dataclasses import dataclass

from fitcheck.job.model import OwnTool, Require, Screw
from fitcheck.measurement.arm_angles import Arm, Bar
from fitcheck.measurement.corridor import ToolPart
from fitcheck.standards.keys import HexKey, bit_holder, hex_key
from fitcheck.standards.screws import cap_screw, set_screw

# Common practice, no source; mm. Where makers differ, the one that is more in the way.
T_BLADE, T_BAR_REACH, T_BAR_WIDTH = 100.0, 45.0, 14.0
DRIVER_BLADE, DRIVER_HANDLE = 75.0, 30.0
HOLDER_LENGTH = 60.0
TORQUE_CHUCK, TORQUE_CHUCK_LENGTH, TORQUE_BODY = 14.0, 25.0, 40.0


@dataclass(frozen=True, kw_only=True)
class Tool:
    """A tool put on a screw.

    Attributes:
        name: as a message names it.
        word: as the job names it.
        parts: its cylinders, nearest to the screw first; each sweeps outwards without end on the way in.
        arm: its arm; None for a tool that is round about the screw's axis, and so turns without end.
        tilt: greatest tilt in degrees of a ball end; such a tool drives a screw in, and does not tighten it.
    """

    name: str
    word: str
    parts: tuple[ToolPart, ...]
    arm: Arm | None = None
    tilt: float = 0.0

    @property
    def width(self) -> float:
        """Its greatest diameter, mm; arms are not counted."""
        return 2 * max(part.radius for part in self.parts)


def socket(screw: Screw) -> tuple[HexKey, float]:
    """The key of a screw, and how deep it sits in the socket (mm, the standard's least).

    Raises:
        TableError: the screw or its key is not in the tables.
    """
    standard = set_screw(screw.size) if screw.kind == "set screw" else cap_screw(screw.size)
    return hex_key(standard.key_size), standard.socket_depth


def tools_for(require: Require, screw: Screw, start: float) -> tuple[Tool, ...]:
    """Every allowed tool on a screw, a key once for each arm that may go in.

    Args:
        require: names the tools, the swing of keys and the tilt of ball ends.
        screw: the screw.
        start: distance of the screw's outer end along its direction, mm.

    Raises:
        TableError: the screw or its key is not in the tables.
    """
    key, depth = socket(screw)
    found: list[Tool] = []
    for word in dict.fromkeys(require.tools):
        found += _tools(word, key, depth, start, require)
    found += [_own(tool, depth, start, require.key_swing) for tool in require.own_tools]
    return tuple(found)


def _tools(word: str, key: HexKey, depth: float, start: float, require: Require) -> tuple[Tool, ...]:
    radius = key.across_corners / 2
    blade = ToolPart(start=start, radius=radius)
    short_in = Tool(
        name=f"{'ball-end hex key' if word.startswith('ball') else 'hex key'}, short arm in", word=word, parts=(blade,),
        arm=_key_arm(key, depth, start, require.key_swing, short_in=True),
    )  # fmt: skip
    long_in = Tool(
        name="hex key, long arm in", word=word, parts=(blade,),
        arm=_key_arm(key, depth, start, require.key_swing, short_in=False),
    )  # fmt: skip
    if word == "hex key":
        return short_in, long_in
    if word == "hex key short arm":
        return (short_in,)
    if word == "hex key long arm":
        return (long_in,)
    if word == "ball-end hex key":
        # The ball is on the long arm.
        ball = Tool(name="ball end", word=word, parts=(blade,), arm=long_in.arm, tilt=require.ball_end_tilt)
        return short_in, ball
    if word == "T-handle":
        low = start - depth + T_BLADE
        bar = Bar(low=low, high=low + T_BAR_WIDTH + depth, half_width=T_BAR_WIDTH / 2, length=T_BAR_REACH)
        return (Tool(name=word, word=word, parts=(blade,), arm=_armed(bar, require.key_swing, both=True)),)
    if word == "hex driver":
        handle = ToolPart(start=start - depth + DRIVER_BLADE, radius=DRIVER_HANDLE / 2)
        return (Tool(name=word, word=word, parts=(blade, handle)),)
    # A bit is taken at the width of its drive over its whole length, which is more than its blade has; the holder
    # begins where the bit, engaged by the socket's depth, leaves it, and ends in a driver's handle.
    bit = bit_holder()
    shank = ToolPart(start=start, radius=max(bit.across_corners, key.across_corners) / 2)
    end = start + max(bit.reach - depth, 0.0)
    if word == "bit in holder":
        holder = ToolPart(start=end, radius=bit.holder_diameter / 2)
        handle = ToolPart(start=end + HOLDER_LENGTH, radius=DRIVER_HANDLE / 2)
        return (Tool(name=word, word=word, parts=(shank, holder, handle)),)
    chuck = ToolPart(start=end, radius=TORQUE_CHUCK / 2)
    body = ToolPart(start=end + TORQUE_CHUCK_LENGTH, radius=TORQUE_BODY / 2)
    return (Tool(name=word, word=word, parts=(shank, chuck, body)),)


def _key_arm(key: HexKey, depth: float, start: float, swing: float, *, short_in: bool) -> Arm:
    """The arm that stays outside, of the keys of both editions; arm lengths are overall, to the far side of the other.

    Inside the bend the key is wider by the bend's radius, which is a short bar below the arm.
    """
    short = [arm for arm in (key.short_arm, key.old_short_arm) if arm is not None]
    long = [arm for arm in (key.long_arm, key.old_long_arm) if arm is not None]
    leg, reach = (short, max(long)) if short_in else (long, max(short))
    tip, width = start - depth, key.across_corners
    low, high = tip + min(leg) - width, tip + max(leg) + depth
    bar = Bar(low=low, high=high, half_width=width / 2, length=reach - width / 2)
    bend = Bar(low=low - key.bend_radius, high=high, half_width=width / 2, length=width / 2 + key.bend_radius)
    return Arm(bars=(bar, bend), swing=swing)


def _armed(bar: Bar, swing: float, *, both: bool) -> Arm:
    return Arm(bars=(bar,), swing=swing, both_sides=both)


def _own(tool: OwnTool, depth: float, start: float, swing: float) -> Tool:
    tip = start - depth
    parts, reached = [], tip
    for section in tool.sections:
        parts.append(ToolPart(start=max(reached, start), radius=section.diameter / 2))
        reached += section.length
    arm = None
    if tool.arm is not None:
        low = reached - tool.arm.diameter
        bar = Bar(low=low, high=reached + depth, half_width=tool.arm.diameter / 2, length=tool.arm.length)
        arm = _armed(bar, swing, both=tool.arm.sides == "both")
    return Tool(name=tool.name, word=tool.name, parts=tuple(parts), arm=arm)


def tool_parts(word: str, screw: Screw, start: float) -> tuple[ToolPart, ...]:
    """The cylinders, nearest first, of a tool that the job names, on a screw whose outer end lies `start` mm out.

    Arms are not among them; `tools_for` gives the whole tools.

    Raises:
        TableError: the screw or its key is not in the tables.
    """
    key, depth = socket(screw)
    return _tools(word, key, depth, start, Require())[0].parts
