"""Bolt patterns: holes that open on a seat, and how they lie about an axis."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from fitcheck.measurement.cylinders import Bore
from fitcheck.measurement.model import BoltPattern, Vector
from fitcheck.measurement.vectors import Frame, add, cross, dot, line_angle, norm, scale, sub

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

SHORTEST_THREAD = 0.6
"""Core diameters that a thread is long at least; a groove for a ring is shorter (common practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class Hole:
    """A bolt hole that opens on a seat: its centre (x, y) in the seat's plane and its radius at the mouth, mm.

    `threaded` where a thread is modelled in it; `radius` is then that of its core.
    """

    x: float
    y: float
    radius: float
    bore: Bore
    threaded: bool = False


def _one_place(a: tuple[Vector, Vector, Bore], b: tuple[Vector, Vector, Bore]) -> bool:
    """Whether two bores are parts of one hole."""
    return abs(a[2].radius - b[2].radius) < 0.02 and math.dist(a[0], b[0]) < 0.1 and math.dist(a[1], b[1]) < 0.1


def _on_seat(low: Vector, high: Vector, seat: float, lean: Vector) -> tuple[float, float]:
    """Where the axis of a hole (from `low` to `high`) passes a seat, in the seat's own plane, from the drive axis."""
    step = sub(high, low)
    centre = (seat, 0.0, 0.0)
    point = sub(add(low, scale(step, dot(sub(centre, low), lean) / dot(step, lean))), centre)
    across = sub((0.0, 1.0, 0.0), scale(lean, lean[1]))
    x = scale(across, 1.0 / norm(across))
    y = cross(lean, x) if lean[0] > 0.0 else cross(x, lean)
    return dot(point, x), dot(point, y)


class HoleField:
    """The holes of an adapter that lie along an axis, ready to be asked for every seat on it.

    Args:
        bores: the adapter's bores.
        frame: the axis frame.
    """

    def __init__(self, bores: Iterable[Bore], frame: Frame) -> None:
        self.ends: list[tuple[Vector, Vector, Bore]] = []
        parts: list[tuple[Vector, Vector, Bore]] = []
        for bore in bores:
            if not bore.concave or bore.radius > LARGEST_HOLE or line_angle(bore.axis, frame.along) >= PARALLEL:
                continue
            low, high = sorted((frame.local(bore.point(bore.start)), frame.local(bore.point(bore.stop))))
            (self.ends if bore.turn >= FULL else parts).append((low, high, bore))
        # Holes on the joint of two half shells lie half in each.
        while parts:
            low, high, bore = parts.pop()
            others = [part for part in parts if _one_place(part, (low, high, bore))]
            if bore.turn + sum(other.turn for _, _, other in others) >= FULL:
                self.ends.append((low, high, bore))
            parts = [part for part in parts if part not in others]
        self.cores: set[int] = set()
        self._sort_threads()

    def _sort_threads(self) -> None:
        """Leave out the roots of modelled threads, which run beside their cores, and note the cores."""
        roots: set[int] = set()
        places: dict[tuple[int, int], list[tuple[Vector, Vector, Bore]]] = {}
        for part in self.ends:
            places.setdefault((round(part[0][1] / 0.2), round(part[0][2] / 0.2)), []).append(part)
        for together in places.values():
            for low, high, core in together:
                for bottom, top, root in together:
                    wider = 1.02 * core.radius < root.radius <= LARGEST_ROOT * core.radius
                    shared = min(high[0], top[0]) - max(low[0], bottom[0])
                    if wider and shared >= SHORTEST_THREAD * 2.0 * core.radius:
                        self.cores.add(id(core))
                        roots.add(id(root))
        self.ends = [part for part in self.ends if id(part[2]) not in roots]

    def opening_on(self, seat: float, sign: int, lean: Vector) -> list[Hole]:
        """The holes that open on a seat.

        Args:
            seat: station of the seat, mm.
            sign: +1 where the seat looks along the axis, -1 where it looks against it.
            lean: the seat's normal (s, x, y); a seat that is not quite square has other stations at its holes.

        Returns:
            One hole for each place; of stepped holes the part that opens on the seat.
        """
        found: dict[tuple[int, int], tuple[float, Hole]] = {}
        tilt = (lean[1] / lean[0], lean[2] / lean[0])
        for low, high, bore in self.ends:
            mouth = high if sign > 0 else low
            # A countersink or a chamfer may lie between the hole and the seat.
            short = sign * (seat - tilt[0] * mouth[1] - tilt[1] * mouth[2] - mouth[0])
            # The rim of a hole that leans against its seat stands out beyond it on one side.
            run = high[0] - low[0]
            rim = bore.radius * math.hypot((high[1] - low[1]) / run - tilt[0], (high[2] - low[2]) / run - tilt[1])
            if not -0.02 - rim <= short <= 0.6 * bore.radius + 0.05:
                continue
            if math.hypot(mouth[1], mouth[2]) < 2.0 * bore.radius:
                continue
            place = (round(mouth[1] / 0.2), round(mouth[2] / 0.2))
            if place not in found or short < found[place][0]:
                x, y = _on_seat(low, high, seat, lean)
                found[place] = (short, Hole(x=x, y=y, radius=bore.radius, bore=bore, threaded=id(bore) in self.cores))
        return [hole for _, hole in found.values()]


def patterns_of(holes: Sequence[Hole]) -> list[tuple[BoltPattern, list[Hole]]]:
    """The patterns that holes form about the axis, nearest to it first, each with its holes.

    Holes belong together when diameter and distance from the axis are alike; the middle of a pattern lies on the axis
    within OFF_CENTRE.
    """
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
