"""Bolt patterns: holes that open on a seat, and how they lie about an axis."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.bore_table import BoreTable
from fitcheck.measurement.cylinders import Bore
from fitcheck.measurement.model import BoltPattern, Vector
from fitcheck.measurement.slots import find_slots
from fitcheck.measurement.survey import Survey
from fitcheck.measurement.vectors import Frame, cross, norm, scale, sub

Floats = NDArray[np.float64]

LARGEST_HOLE = 10.0
"""mm radius; a larger hole is no bolt hole (M12 passes 14.5 mm at most)."""

PARALLEL = math.radians(1.5)
"""rad; a bolt hole may lean by no more against the drive axis: as much as its seat."""

OFF_CENTRE = 0.6
"""mm; the middle of a pattern may lie no farther from the axis (a pilot may be off its pattern)."""

FULL = math.radians(300.0)
"""rad; what covers less of a turn is no hole."""

ONE_CIRCLE = 0.05
"""mm; holes of one circle differ by no more in their distance from its middle."""

EVEN = math.radians(1.0)
"""rad; how far the angles of evenly spaced holes may stray."""


LARGEST_ROOT = 1.35
"""The root of a thread is at most this many times as wide as its core (M1.6: 1.28; ISO 724, from memory)."""

PLACE = 0.2
"""mm; mouths of holes that round to the same multiple of it are one place."""

SHORTEST_THREAD = 0.6
"""Core diameters that a thread is long at least; a groove for a ring is shorter (common practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class Hole:
    """A bolt hole that opens on a seat: its centre (x, y) in the seat's plane and its radius at the mouth, mm.

    `threaded` where a thread is modelled in it; `radius` is then that of its core. `reach` is the way (file frame) from
    the middle of a slot to the centre of one end, None of a round hole.
    """

    x: float
    y: float
    radius: float
    bore: Bore
    threaded: bool = False
    reach: Vector | None = None


def _halves(table: BoreTable, low: Floats, high: Floats, parts: NDArray[np.int64]) -> list[int]:
    """Of bores that are no full turn by themselves one of each hole: holes on the joint of two shells lie half in each.

    Args:
        table: all bores.
        low: their ends (s, x, y) with the lesser station, mm.
        high: their other ends.
        parts: indices of those that are looked at.
    """
    found: list[int] = []
    while parts.size:
        row, parts = int(parts[-1]), parts[:-1]
        # One place: nearly the same radius and ends.
        same = np.abs(table.radius[parts] - table.radius[row]) < 0.02
        for ends in (low, high):
            same &= np.linalg.norm(ends[parts] - ends[row], axis=1) < 0.1
        if table.turn[row] + table.turn[parts[same]].sum() >= FULL:
            found.append(row)
        parts = parts[~same]
    return found


def _on_seat(low: Floats, high: Floats, seat: float, lean: Vector) -> Floats:
    """Where the axes of holes (from `low` to `high`) pass a seat, in the seat's own plane, from the drive axis: (n, 2).

    Args:
        low: ends of the axes as (s, x, y), (n, 3), mm.
        high: their other ends.
        seat: station of the seat, mm.
        lean: the seat's normal.
    """
    step, normal, from_centre = high - low, np.array(lean), low - np.array((seat, 0.0, 0.0))
    point = from_centre - step * ((from_centre @ normal) / (step @ normal))[:, None]
    across = sub((0.0, 1.0, 0.0), scale(lean, lean[1]))
    x = scale(across, 1.0 / norm(across))
    y = cross(lean, x) if lean[0] > 0.0 else cross(x, lean)
    return np.asarray(point @ np.array((x, y)).T)


class HoleField:
    """The holes of an adapter that lie along an axis, ready to be asked for every seat on it.

    Args:
        survey: the file.
        bores: the adapter's bores.
        frame: the axis frame.
    """

    def __init__(self, survey: Survey, bores: Iterable[Bore], frame: Frame) -> None:
        table = BoreTable.of(bores)
        low, high = table.ends(frame)
        along = table.concave & (table.radius <= LARGEST_HOLE) & (table.lean(frame) < PARALLEL)
        rows = np.flatnonzero(along & (table.turn >= FULL)).tolist()
        parts = np.flatnonzero(along & (table.turn < FULL))
        whole = _halves(table, low, high, parts)
        slots = find_slots(survey, [table[row] for row in parts.tolist()])
        self._bores = [*(table[row] for row in rows + whole), *(bore for bore, _ in slots)]
        self._reach = {id(bore): reach for bore, reach in slots}
        mine = BoreTable(self._bores)
        self._low, self._high = mine.ends(frame)
        self._radius = mine.radius
        self._cores: set[int] = set()
        self._sort_threads()

    def _sort_threads(self) -> None:
        """Leave out the roots of modelled threads, which run beside their cores, and note the cores."""
        places: dict[tuple[float, ...], list[int]] = {}
        for index, place in enumerate(np.round(self._low[:, 1:] / PLACE).tolist()):
            places.setdefault(tuple(place), []).append(index)
        roots: set[int] = set()
        for together in places.values():
            for core, root in product(together, together) if len(together) > 1 else ():
                narrow, wide = self._bores[core].radius, self._bores[root].radius
                shared = min(self._high[core, 0], self._high[root, 0]) - max(self._low[core, 0], self._low[root, 0])
                if 1.02 * narrow < wide <= LARGEST_ROOT * narrow and shared >= SHORTEST_THREAD * 2.0 * narrow:
                    self._cores.add(id(self._bores[core]))
                    roots.add(root)
        if roots:
            kept = [index for index in range(len(self._bores)) if index not in roots]
            self._bores = [self._bores[index] for index in kept]
            self._low, self._high, self._radius = self._low[kept], self._high[kept], self._radius[kept]

    def opening_on(self, seat: float, sign: int, lean: Vector) -> list[Hole]:
        """The holes that open on a seat.

        Args:
            seat: station of the seat, mm.
            sign: +1 where the seat looks along the axis, -1 where it looks against it.
            lean: the seat's normal (s, x, y); a seat that is not quite square has other stations at its holes.

        Returns:
            One hole for each place; of stepped holes the part that opens on the seat.
        """
        found: dict[tuple[float, ...], tuple[float, float, float, int]] = {}
        tilt = np.array([lean[1] / lean[0], lean[2] / lean[0]])
        low, high, radius = self._low, self._high, self._radius
        mouth = high if sign > 0 else low
        # A countersink or a chamfer may lie between the hole and the seat.
        short = sign * (seat - mouth[:, 1:] @ tilt - mouth[:, 0])
        # The rim of a hole that leans against its seat stands out beyond it on one side.
        rim = radius * np.hypot(*((high[:, 1:] - low[:, 1:]) / (high[:, :1] - low[:, :1]) - tilt).T)
        opens = (-0.02 - rim <= short) & (short <= 0.6 * radius + 0.05)
        opens &= np.hypot(mouth[:, 1], mouth[:, 2]) >= 2.0 * radius
        rows = np.flatnonzero(opens)
        places = np.round(mouth[rows, 1:] / PLACE).tolist()
        on_seat = _on_seat(low[rows], high[rows], seat, lean).tolist()
        for index, place, (x, y), gap in zip(rows.tolist(), places, on_seat, short[rows].tolist(), strict=True):
            known = found.get(tuple(place))
            if known is None or gap < known[0]:
                found[tuple(place)] = (gap, x, y, index)
        return [
            Hole(
                x=x,
                y=y,
                radius=(bore := self._bores[index]).radius,
                bore=bore,
                threaded=id(bore) in self._cores,
                reach=self._reach.get(id(bore)),
            )
            for _, x, y, index in found.values()
        ]


def patterns_of(
    holes: Sequence[Hole], centres: Sequence[tuple[float, float]] = ((0.0, 0.0),)
) -> list[tuple[BoltPattern, list[Hole]]]:
    """The patterns that holes form about one of the centres, nearest to it first, each with its holes.

    Holes belong together when diameter and distance from the centre are alike; the middle of a pattern lies on it
    within OFF_CENTRE. Of several centres that counts which has the most holes in regular patterns, the first of equals.
    """
    tried = [_about(holes, centre) for centre in centres]
    return max(tried, key=lambda found: sum(p.count for p, _ in found if p.layout != "irregular"))


def _about(holes: Sequence[Hole], centre: tuple[float, float]) -> list[tuple[BoltPattern, list[Hole]]]:
    x, y = centre
    holes = [replace(hole, x=hole.x - x, y=hole.y - y) for hole in holes] if x or y else list(holes)
    groups: list[list[Hole]] = []
    for hole in sorted(holes, key=lambda h: (round(h.radius, 2), math.hypot(h.x, h.y))):
        last = groups[-1][-1] if groups else None
        if (
            last is not None
            and abs(last.radius - hole.radius) < 0.03
            and math.hypot(hole.x, hole.y) - math.hypot(last.x, last.y) < OFF_CENTRE
        ):
            groups[-1].append(hole)
        else:
            groups.append([hole])
    found = []
    for group in (ring for wide in groups for ring in _rings(wide)):
        pattern = _pattern(group)
        if pattern is not None:
            found.append((pattern, group))
    found.sort(key=lambda item: (item[0].bolt_circle is None, item[0].bolt_circle or 0.0, -item[0].count))
    return found


def _rings(group: list[Hole]) -> list[list[Hole]]:
    """Holes whose distances from the axis are alike as patterns of their own, where each is regular by itself.

    A pattern beside the axis has holes at several distances too, but those of one distance are no pattern.
    """
    rings: list[list[Hole]] = []
    for hole in group:
        away = math.hypot(hole.x, hole.y)
        if rings and away - math.hypot(rings[-1][-1].x, rings[-1][-1].y) < ONE_CIRCLE:
            rings[-1].append(hole)
        else:
            rings.append([hole])
    patterns = [_pattern(ring) for ring in rings]
    regular = all(pattern is not None and pattern.layout != "irregular" for pattern in patterns)
    return rings if len(rings) > 1 and regular else [group]


def _pattern(holes: list[Hole]) -> BoltPattern | None:
    count = len(holes)
    if count < 2:
        return None
    cx, cy = sum(h.x for h in holes) / count, sum(h.y for h in holes) / count
    if math.hypot(cx, cy) > OFF_CENTRE:
        return None
    placed = sorted((math.atan2(h.y - cy, h.x - cx), math.hypot(h.x - cx, h.y - cy)) for h in holes)
    radius = sum(r for _, r in placed) / count
    if radius < 1e-6:
        return None
    steps = [(placed[(i + 1) % count][0] - placed[i][0]) % (2.0 * math.pi) for i in range(count)]
    even = all(abs(step - 2.0 * math.pi / count) < EVEN for step in steps)
    round_ = all(abs(r - radius) < ONE_CIRCLE for _, r in placed)
    layout = "irregular"
    size: tuple[float, ...] = ()
    if round_ and even:
        layout, size = ("square", (radius * math.sqrt(2.0),)) if count == 4 else ("circle", (2.0 * radius,))
    elif round_ and count == 4 and abs(steps[0] - steps[2]) < EVEN and abs(steps[1] - steps[3]) < EVEN:
        sides = sorted((2.0 * radius * math.sin(0.5 * steps[0]), 2.0 * radius * math.sin(0.5 * steps[1])))
        layout, size = "rectangle", (sides[1], sides[0])
    elif count == 2:
        return None
    return BoltPattern(
        layout=layout,
        size=size,
        count=count,
        hole=2.0 * sum(h.radius for h in holes) / count,
        threaded=True if all(h.threaded for h in holes) else None,
        bolt_circle=2.0 * radius if round_ else None,
        holes=tuple((h.x, h.y) for h in holes),
    )
