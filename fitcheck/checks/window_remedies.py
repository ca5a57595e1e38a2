"""Openings that would let a tool reach a screw: a window's edge elsewhere, or a round hole; each is cut and tried.

The material is taken away from the adapter's triangles and the tool put on anew, with everything else where it is.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cached_property
from math import pi, radians, tan

import numpy as np

from fitcheck.checks.access import Reach, best_of, reaches
from fitcheck.checks.drive import Drive, Placed
from fitcheck.checks.on_screw import APART, OnScrew
from fitcheck.checks.tools import Tool
from fitcheck.checks.wording import degrees, mm, rounded_up
from fitcheck.measurement.cutting import Prism, cut, notch, round_hole, touched
from fitcheck.measurement.obstacles import Floats, Obstacles, triangles_between
from fitcheck.measurement.openings import FARTHEST, FIRST, LAST, LEFT, RIGHT, Widening, widenings

_GRID = 3.0
"""Degrees between the directions first looked at; narrower openings may be missed."""
_FINE = 0.25
_WIDEST_HOLE = 6.0
"""mm that a round hole may be wider than the tool, so that its arm goes in too."""
_MOST_TRIED = 6
_MOST_MORE = 3.0
_MORE = (0.1, 0.2, 0.3, 0.5, 0.7, 1.0, 1.5, 2.0, 2.5, _MOST_MORE)
"""mm that an edge is moved more than the tool's straight part asks for, where its arm needs it."""
_TOUCH = 0.01
"""mm that an opening is longer than the tool along its edge, so that rounding does not decide."""
_STEP = 0.1
"""mm; to this, sizes of openings are rounded up."""
_FINE_STEP = 0.05
_LITTLE = 0.3
"""mm; of less than this, edges are told in fine steps."""
_SPARE = 0.01
"""mm that a smaller amount has to be more than enough, as directions are told to 0.1 degrees and walls are curved."""
_CUT_ROLES = ("adapter",)


class Openings:
    """The openings for one tool on one screw."""

    def __init__(self, drive: Drive, placed: Placed, side: str, position: int, reach: Reach) -> None:
        self.drive, self.placed, self.side, self.position = drive, placed, side, position
        self.tool: Tool = reach.tool
        self.screw = OnScrew(drive, placed, side, position)
        self.station, self.offset = self.screw.station, self.screw.offset
        bodies = drive.measurement.bodies
        self.cuttable = [i for i, body in enumerate(bodies) if body.role in _CUT_ROLES]
        self.material = self.screw.material
        reached = max(self.tool.width / 2, 0.0 if self.tool.arm is None else self.tool.arm.length) + FARTHEST
        # What lies farther off along the drive axis hinders neither the tool nor its arm.
        self.near = triangles_between(self.material, self.station - reached, self.station + reached)

    def widened(self) -> str | None:
        """The window edge that has to move least, and by how much; None where none was found that is enough."""
        best: tuple[Widening, float, float] | None = None
        for widening in self._candidates:
            # An opening that lacks more for the straight part alone than another does for the whole tool is no better.
            if best is not None and widening.total >= best[1] + best[2]:
                break
            amounts = self._least(widening)
            if amounts is not None and (best is None or sum(amounts) < best[1] + best[2]):
                best = (widening, *amounts)
        return None if best is None else _edges_text(best[0], *self._shrunk(*best))

    def _shrunk(self, widening: Widening, low: float, high: float) -> tuple[float, float]:
        """The least of amounts that are enough: the edges one after the other, the one that moves farther first."""
        amounts = [low, high]
        for step in (_STEP, _FINE_STEP):
            for edge in (0, 1) if amounts[0] > amounts[1] else (1, 0):
                steps = round(amounts[edge] / step)
                if sum(amounts) > _LITTLE and step == _FINE_STEP:
                    continue

                def enough(count: int, edge: int = edge, step: float = step) -> bool:
                    tried = [count * step - _SPARE if place == edge else each for place, each in enumerate(amounts)]
                    tried = [max(amount, 0.0) for amount in tried]
                    return any(tried) and self._confirmed(self._notches(widening, *tried), widening.theta)

                amounts[edge] = round(_first(enough, steps) * step, 6)
        return amounts[0], amounts[1]

    def hole(self) -> str | None:
        """The round hole about the screw's axis that is enough; None where none was found."""
        # A handle may stay outside: the thinnest part is the least that has to go in.
        least = 2.0 * min(part.radius for part in self.tool.parts)
        sizes = np.arange(rounded_up(least, 1), self.tool.width + _WIDEST_HOLE + _STEP, _STEP)
        widest = [self._hole(sizes[-1] / 2)]
        around = self._square(*widest)
        for theta in self._directions():
            about = self._about(widest, theta)
            # A square about the hole is cut far more quickly, and where that is not enough, the hole is not.
            if not (self._works(about, [around], theta) and self._works(about, widest, theta)):
                continue

            def enough(size: int, about: Obstacles = about, theta: float = theta) -> bool:
                return self._works(about, [self._hole(sizes[size] / 2)], theta)

            for diameter in sizes[_first(enough, sizes.size - 1) :]:
                if self._confirmed([self._hole(diameter / 2)], theta):
                    hand = f" towards {'greater' if self.offset > 0.0 else 'lower'} shaft angles" if self.offset else ""
                    where = f"station {mm(self.station)}, {mm(abs(self.offset))} beside the drive axis{hand}"
                    towards = f"in the direction {degrees(np.degrees(theta) % 360.0)}"
                    return f"a round hole of {mm(diameter)} in line with the screw ({where}, {towards})"
        return None

    @cached_property
    def _candidates(self) -> list[Widening]:
        """Widenings worth trying, the least first."""

        def lacking(thetas: Floats) -> list[Widening]:
            return widenings(
                self.near, self.station, self.offset, self.tool.parts, thetas, leave_out=self.screw.skip
            )  # fmt: skip

        rough = lacking(np.radians(np.arange(0.0, 360.0, _GRID)))
        fine = np.radians(np.arange(-_GRID, _GRID + _FINE, _FINE))
        best = lacking(np.concatenate([widening.theta + fine for widening in rough[:2]])) if rough else []
        return sorted(rough + best, key=lambda one: one.total)[:_MOST_TRIED]

    def _least(self, widening: Widening) -> tuple[float, float] | None:
        """How far each edge has to move, mm; more than the straight part asks where its arm needs it."""
        low, high = rounded_up(widening.low, 1), rounded_up(widening.high, 1)

        def enough(more: float) -> bool:
            return self._works(about, self._notches(widening, *amounts(more)), widening.theta)

        def amounts(more: float) -> tuple[float, float]:
            return low + more if low else 0.0, high + more if high else 0.0

        most = self._notches(widening, *amounts(_MOST_MORE))
        about, more = self._about(most, widening.theta), 0.0
        if self._hopeless(about, most, widening.theta):
            return None
        if not enough(0.0):
            if not enough(_MOST_MORE):
                return None
            more = next(step for step in _MORE if enough(step))
        told = amounts(more)
        return told if self._confirmed(self._notches(widening, *told), widening.theta) else None

    def _notches(self, widening: Widening, low: float, high: float) -> list[Prism]:
        """What moving the edges takes away in line with the tool, one piece for each edge and part."""
        found = []
        for part in self.tool.parts:
            spare = self._farthest * tan(radians(APART)) if widening.along else _TOUCH
            across = (-part.radius - spare, part.radius + spare)
            for amount, edge, wall in (
                (low, (widening.low_edge - low, widening.low_edge), FIRST if widening.along else RIGHT),
                (high, (widening.high_edge, widening.high_edge + high), LAST if widening.along else LEFT),
            ):
                if amount:
                    left, along = (across, edge) if widening.along else (edge, across)
                    found.append(notch(left, along, part.start - _STEP, wall))
        return found

    @cached_property
    def _farthest(self) -> float:
        """How far from the drive axis the material reaches there, mm."""
        corners = self.near.triangles[np.isin(self.near.triangle_body, self.cuttable)]
        return float(np.hypot(corners[..., 1], corners[..., 2]).max(initial=0.0))

    def _hole(self, radius: float) -> Prism:
        return round_hole(float(radius), min(part.start for part in self.tool.parts) - _STEP)

    def _square(self, hole: Prism) -> Prism:
        """What surrounds a round hole, with no walls of its own."""
        reach = (-float(hole.corners.max()), float(hole.corners.max()))
        return notch(reach, reach, hole.low, None)

    def _directions(self) -> list[float]:
        """Directions to drill in, radians: first where an opening is near, then all round."""
        near = [widening.theta for widening in self._candidates][:2]
        begin = near[0] if near else 0.0
        return near + [begin + turn * pi / 12 for turn in range(24)]

    def _about(self, prisms: Sequence[Prism], theta: float) -> Obstacles:
        """What decides at a direction: the material that the tool could meet, and what prisms or less of them cut."""
        cuttable = touched(self.near, prisms, self.station, self.offset, theta, self.cuttable)
        return self.near.picked(cuttable | self.screw.in_reach(self.tool, theta, self.near))

    def _hopeless(self, about: Obstacles, prisms: Sequence[Prism], theta: float) -> bool:
        """Whether what none of the prisms touches is in the way of the arm, however much is cut."""
        if self.tool.arm is None:
            return False
        left = about.picked(~touched(about, prisms, self.station, self.offset, theta, self.cuttable))
        return not self.screw.arm_works(self.tool.arm, np.array([theta]), left)[0]

    def _cut(self, material: Obstacles, prisms: Sequence[Prism], theta: float) -> Obstacles:
        return cut(material, prisms, self.station, self.offset, theta, self.cuttable)

    def _works(self, about: Obstacles, prisms: Sequence[Prism], theta: float) -> bool:
        return self.screw.works_about(self.tool, theta, self._cut(about, prisms, theta))

    def _confirmed(self, prisms: Sequence[Prism], theta: float) -> bool:
        """Whether the check passes for the screw once the material is gone: all tools, all directions."""
        material = self._cut(self.material, prisms, theta)
        measurement = replace(self.drive.measurement, obstacles=material)
        tried = replace(self.drive, measurement=measurement, remedies=False, trial=True, answers={})
        return best_of(reaches(tried, self.placed, self.side, self.position)).works


def _first(works: Callable[[int], bool], last: int) -> int:
    """The first number that works, where the later ones do too and the last one is known to; near 0 soon found."""
    low, high, step = -1, last, 1
    while low + step < high:
        if works(low + step):
            high = low + step
            break
        low, step = low + step, 2 * step
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if works(middle) else (middle, high)
    return high


def _edges_text(widening: Widening, low: float, high: float) -> str:
    names = ("the motor", "the actuator") if widening.along else ("lower shaft angles", "greater shaft angles")
    edges = [f"by {mm(amount)} towards {name}" for amount, name in zip((low, high), names, strict=True) if amount]
    text = f"widen the opening {' and '.join(edges)}"
    if widening.along:
        return text
    hand = ["left" if name.startswith("lower") else "right" for a, name in zip((low, high), names, strict=True) if a]
    # The edges are moved square to the tool, which is less than along a wall that it passes aslant.
    where = f"in line with the tool, direction {degrees(np.degrees(widening.theta) % 360.0)}"
    return f"{text} ({' and '.join(hand)} as seen from outside, the actuator above, {where})"
