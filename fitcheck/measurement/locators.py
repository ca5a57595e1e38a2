"""What locates a machine on a face of the adapter: a recess or a spigot, on the drive axis or beside it by mistake."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from fitcheck.measurement.bore_table import BoreTable
from fitcheck.measurement.cylinders import Bore, offset_between
from fitcheck.measurement.extent import radial_extent
from fitcheck.measurement.machines import HOLLOW
from fitcheck.measurement.mouths import (
    CHAMFER,
    COAXIAL,
    SAME_STATION,
    beyond_neck,
    ends_of,
    find_depth,
    find_mouth,
    station_on_axis,
    top_of,
)
from fitcheck.measurement.survey import Face, Survey
from fitcheck.measurement.vectors import Frame, dot

SQUARE = math.radians(1.5)
"""rad; a seat may lean by no more against the drive axis, nor a bore that belongs to it."""

DEEPEST = 1.0
"""A pilot is no deeper than this many times its radius: a longer bore is a chamber that ends in a wall, or a passage.
Registers are short: the tallest of the standard frames has 0.14 (NEMA 11: 2.0 mm high on a diameter of 22; computed),
a bearing seat 0.7 or so; common practice, no source."""

BESIDE = 4.0
"""mm; a pilot or a spigot lies no farther beside the axis: one so far off is a mistake, which has to be told."""

WITHIN = 0.25
"""Nor by more than this many times its radius: lightening holes and bearing seats do not hold the axis so well inside
(common practice, no source)."""


def near_the_axis(bores: Iterable[Bore], frame: Frame) -> list[Bore]:
    """Bores and bosses that lie beside an axis and hold it well inside, the widest first: a pilot in a wrong place."""
    table = BoreTable.of(bores)
    offset = table.offset(frame)
    # An opening beside it may break through a pilot's wall.
    near = (table.turn > math.radians(150.0)) & (table.lean(frame) < SQUARE) & (offset >= COAXIAL)
    near &= (offset < BESIDE) & (offset < WITHIN * table.radius)
    return sorted((bore.towards(frame.along) for bore in table.where(near)), key=lambda bore: -bore.radius)


@dataclass(frozen=True, kw_only=True)
class FoundBeside:
    """What lies beside the axis and locates all the same: a pilot with its depth, or a spigot with its height, mm."""

    mouth: Bore | None = None
    floor: float | None = None
    depth: float | None = None
    boss: Bore | None = None
    rise: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Place:
    """A face that may be a seat, looked at about an axis; `own` are the faces in it, `floors` those of pilots."""

    survey: Survey
    frame: Frame
    station: float
    sign: int
    planes: Sequence[Face]
    floors: Sequence[Face]
    own: Sequence[Face]

    def recess(self, coaxial: Sequence[Bore], plane: Face) -> tuple[Bore | None, float | None, float | None]:
        """The bore that opens there, its depth where it has a floor, and the same where it is a pilot."""
        mouth, room = find_mouth(self.survey, self.frame, self.station, self.sign, coaxial, self.planes, plane)
        if mouth is None:
            return None, None, None
        floor = find_depth(self.survey, self.frame, self.station, self.sign, mouth, coaxial, self.floors)
        floor = room if room < math.inf and (floor is None or room < floor) else floor
        return mouth, floor, floor if floor is not None and floor <= DEEPEST * mouth.radius else None

    def spigot(self, coaxial: Sequence[Bore]) -> tuple[Bore | None, float]:
        """The boss that stands on the face, and how high."""
        frame, sign, station = self.frame, self.sign, self.station
        found, rise = None, 0.0
        for bore in coaxial:
            if bore.concave:
                continue
            inner, outer = ends_of(bore, frame, sign)
            if abs(sign * (inner - station)) < CHAMFER and sign * (outer - station) > 0.3:
                foot = bore.radius + CHAMFER + COAXIAL
                extents = [radial_extent(self.survey, face, frame) for face in self.own]
                if not any(near < foot for near, _ in extents):
                    # It stands somewhere else, level with this face by chance: a shaft behind a window.
                    continue
                boss = beyond_neck(bore, frame, sign, coaxial)
                if boss is None:
                    boss = bore
                elif not any(far > boss.radius for _, far in extents):
                    # The face is the wall of a ring groove, and the boss on it the groove's floor.
                    continue
                found, rise = boss, sign * (top_of(boss, frame, sign, coaxial) - station)
                for face in self.planes:
                    top = sign * (station_on_axis(face, frame) - station)
                    if rise - 1e-6 <= top <= rise + CHAMFER and dot(face.outward, frame.along) * sign > 0.0:
                        rise = top
        return found, rise

    def opens_on_a_step(self, boss: Bore, coaxial: Sequence[Bore], plane: Face) -> bool:
        """Whether a bore opens on a step or behind a waist, where a spigot goes on beyond its end.

        A shaft with a centre hole is no such step: solid at the axis, it is a machine's.
        """
        frame, sign = self.frame, self.sign
        steps = [
            other
            for other in coaxial
            if not other.concave and other.body == boss.body and other.radius < boss.radius + SAME_STATION
        ]
        top = top_of(boss, frame, sign, coaxial)
        while True:
            higher = [
                step
                for step in steps
                if abs(ends_of(step, frame, sign)[0] - top) < CHAMFER
                and sign * (ends_of(step, frame, sign)[1] - top) > SAME_STATION
            ]
            if not higher:
                return False
            step = max(higher, key=lambda step: step.radius)
            top = ends_of(step, frame, sign)[1]
            mouth, _ = find_mouth(self.survey, frame, top, sign, coaxial, self.planes, plane)
            if mouth is not None and mouth.radius > HOLLOW * step.radius:
                return True

    def beside(self, coaxial: Sequence[Bore], near: Sequence[Bore], plane: Face) -> FoundBeside | None:
        """A pilot or a hollow spigot that lies beside the axis: it locates the machine all the same, and wrongly."""
        along = self.frame.along
        for bore in near:
            local = self.frame.local(bore.point(0.5 * (bore.start + bore.stop)))
            centre = self.frame.globally((0.0, local[1], local[2]))
            own = replace(self, frame=replace(self.frame, origin=centre))
            round_it = [other for other in (*near, *coaxial) if offset_between(other, centre, along) < COAXIAL]
            if bore.concave:
                mouth, floor, depth = own.recess(round_it, plane)
                if mouth is bore and depth is not None:
                    return FoundBeside(mouth=mouth, floor=floor, depth=depth)
                continue
            boss, rise = own.spigot(round_it)
            hollow = any(
                other.concave and other.radius < bore.radius and offset_between(other, centre, along) < BESIDE
                for other in (*near, *coaxial)
            )
            if boss is bore and hollow:
                return FoundBeside(boss=boss, rise=rise)
        return None
