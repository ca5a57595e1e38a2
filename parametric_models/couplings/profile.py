"""The profile of a coupling: its swept radius R(s) as exact pieces, and a polygon around it that is never inside.

Plain data; needs no CAD kernel. Stations and radii in mm.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from fitcheck.errors import UsageError

Knots = list[tuple[float, float]]
Segment = tuple[float, float, float, float]

_ALIKE = 1e-8
"""Stations closer than this are one, mm: sums of lengths differ by rounding."""


@dataclass(frozen=True, kw_only=True)
class Straight:
    """A cylinder or a cone about the drive axis.

    Attributes:
        start: station where it begins, mm.
        end: station where it ends, mm.
        start_radius: radius at `start`, mm.
        end_radius: radius at `end`, mm.
    """

    start: float
    end: float
    start_radius: float
    end_radius: float

    def radius(self, station: float) -> float:
        """Swept radius at a station within the piece, mm."""
        if self.end == self.start:
            return max(self.start_radius, self.end_radius)
        part = (station - self.start) / (self.end - self.start)
        return self.start_radius + part * (self.end_radius - self.start_radius)

    def largest(self, start: float, end: float) -> tuple[float, float]:
        """Largest swept radius between two stations within the piece, and where: (radius, station), mm."""
        return max((self.radius(start), start), (self.radius(end), end))

    def outline(self, tolerance: float) -> Knots:
        """Knots (station, radius) of the piece, mm; exact."""
        return [(self.start, self.start_radius), (self.end, self.end_radius)]


@dataclass(frozen=True, kw_only=True)
class Crossing:
    """A round cylinder that lies across the drive axis and turns with it: a screw head, a screw tip, a pin.

    At a distance x from its own axis' station, its farthest point from the drive axis is
    R = sqrt(reach^2 + (|offset| + sqrt(radius^2 - x^2))^2).

    Attributes:
        station: station of its axis, mm.
        offset: distance of its axis from the drive axis, mm; the sign does not matter.
        across: its own radius, mm.
        reach: distance of its farther end face from the plane through the drive axis that it is square to, mm.
    """

    station: float
    offset: float
    across: float
    reach: float

    @property
    def start(self) -> float:
        """Station where it begins, mm."""
        return self.station - self.across

    @property
    def end(self) -> float:
        """Station where it ends, mm."""
        return self.station + self.across

    def radius(self, station: float) -> float:
        """Swept radius at a station within the piece, mm."""
        half = math.sqrt(max(0.0, self.across**2 - (station - self.station) ** 2))
        return math.hypot(self.reach, abs(self.offset) + half)

    def largest(self, start: float, end: float) -> tuple[float, float]:
        """Largest swept radius between two stations within the piece, and where: (radius, station), mm."""
        station = min(max(self.station, start), end)
        return self.radius(station), station

    def outline(self, tolerance: float) -> Knots:
        """Knots (station, radius) of a polygon around the piece, at most `tolerance` outside it, mm."""
        # R is a concave function of the station, so its tangents lie outside it
        tangents = []
        for angle in _tangent_angles(self.across, tolerance):
            along, half = self.across * math.sin(angle), self.across * math.cos(angle)
            radius = math.hypot(self.reach, abs(self.offset) + half)
            slope = -(abs(self.offset) + half) * math.tan(angle) / radius
            tangents.append((self.station + along, radius, slope))
        return _hull_of_tangents(tangents, self.start, self.end)


@dataclass(frozen=True, kw_only=True)
class Arc:
    """A round ridge or root of a bellows: a circular arc in the plane of the drive axis.

    Attributes:
        station: station of the circle's centre, mm.
        centre_radius: distance of the circle's centre from the drive axis, mm.
        curve: the circle's radius, mm.
        ridge: whether the outer half of the circle is meant (a crown), or the inner half (a root).
        start: station where it begins, mm.
        end: station where it ends, mm.
    """

    station: float
    centre_radius: float
    curve: float
    ridge: bool
    start: float
    end: float

    def radius(self, station: float) -> float:
        """Swept radius at a station within the piece, mm."""
        half = math.sqrt(max(0.0, self.curve**2 - (station - self.station) ** 2))
        return self.centre_radius + half if self.ridge else self.centre_radius - half

    def largest(self, start: float, end: float) -> tuple[float, float]:
        """Largest swept radius between two stations within the piece, and where: (radius, station), mm."""
        if self.ridge:
            station = min(max(self.station, start), end)
            return self.radius(station), station
        return max((self.radius(start), start), (self.radius(end), end))

    def outline(self, tolerance: float) -> Knots:
        """Knots (station, radius) of a polygon around the piece, at most `tolerance` outside it, mm."""
        if self.ridge:
            tangents = []
            for angle in _tangent_angles(self.curve, tolerance):
                along, half = self.curve * math.sin(angle), self.curve * math.cos(angle)
                if self.start <= self.station + along <= self.end:
                    tangents.append((self.station + along, self.centre_radius + half, -math.tan(angle)))
            return _hull_of_tangents(tangents, self.start, self.end)
        # a root is a convex function of the station, so its chords lie outside it
        first = math.asin(max(-1.0, (self.start - self.station) / self.curve))
        last = math.asin(min(1.0, (self.end - self.station) / self.curve))
        step = 2.0 * math.acos(max(0.0, 1.0 - tolerance / self.curve))
        count = max(1, math.ceil((last - first) / step))
        knots = []
        for index in range(count + 1):
            angle = first + (last - first) * index / count
            knots.append(
                (self.station + self.curve * math.sin(angle), self.centre_radius - self.curve * math.cos(angle))
            )
        return [(self.start, knots[0][1]), *knots[1:-1], (self.end, knots[-1][1])]


Piece = Straight | Crossing | Arc


def _tangent_angles(curve: float, tolerance: float) -> list[float]:
    """Angles from -90 to 90 degrees, both left out, 0 among them, whose tangents stay within the tolerance."""
    step = 2.0 * math.acos(curve / (curve + tolerance))
    half = max(1, math.ceil(math.pi / 2 / step) - 1)
    return [math.pi / 2 * index / (half + 1) for index in range(-half, half + 1)]


def _hull_of_tangents(tangents: Sequence[tuple[float, float, float]], start: float, end: float) -> Knots:
    """The polygon under given tangents (station, radius, slope) of a concave curve, from start to end."""
    station, radius, slope = tangents[0]
    knots = [(start, radius + slope * (start - station))]
    for (z0, r0, m0), (z1, r1, m1) in itertools.pairwise(tangents):
        z = (r1 - r0 + m0 * z0 - m1 * z1) / (m0 - m1)
        knots.append((z, r0 + m0 * (z - z0)))
    station, radius, slope = tangents[-1]
    knots.append((end, radius + slope * (end - station)))
    return knots


@dataclass(frozen=True, kw_only=True)
class Profile:
    """The swept radius of a coupling along its own axis: the greatest of its pieces at every station.

    Attributes:
        pieces: the pieces, in any order; they may overlap, and leave no gap.
    """

    pieces: tuple[Piece, ...]

    @property
    def start(self) -> float:
        """Station where the coupling begins, mm."""
        return min(piece.start for piece in self.pieces)

    @property
    def end(self) -> float:
        """Station where the coupling ends, mm."""
        return max(piece.end for piece in self.pieces)

    def radius(self, station: float) -> float:
        """Swept radius at a station in the coupling's frame, mm; 0 outside the coupling."""
        found = [
            piece.radius(min(max(station, piece.start), piece.end))
            for piece in self.pieces
            if piece.start - _ALIKE <= station <= piece.end + _ALIKE
        ]
        return max(found, default=0.0)

    def largest(self, start: float | None = None, end: float | None = None) -> tuple[float, float]:
        """Largest swept radius between two stations, and where.

        Args:
            start: first station, mm; None for the coupling's beginning.
            end: last station, mm; None for the coupling's end.

        Returns:
            Radius and station, mm; radius 0 where no part of the coupling lies between the stations.
        """
        first = self.start if start is None else start
        last = self.end if end is None else end
        found = [
            piece.largest(max(first, piece.start), min(last, piece.end))
            for piece in self.pieces
            if piece.start <= last and piece.end >= first
        ]
        return max(found, key=lambda pair: pair[0], default=(0.0, first))

    def outline(self, tolerance: float = 0.01) -> tuple[tuple[float, float], ...]:
        """Knots (station, radius) of a polygon that holds the profile and stays close to it.

        Args:
            tolerance: greatest distance of the polygon outside the profile, square to it, mm. Cylinders and cones
                are met exactly, whatever the tolerance.

        Returns:
            Knots in order of station; two knots of one station make a step.

        Raises:
            UsageError: the tolerance is not above 0, or the pieces leave a gap.
        """
        if not tolerance > 0:
            raise UsageError(f"profile: the tolerance {tolerance:g} mm must be above 0 mm")
        segments = []
        for piece in self.pieces:
            knots = piece.outline(tolerance)
            segments += [(z0, r0, z1, r1) for (z0, r0), (z1, r1) in itertools.pairwise(knots)]
        return tuple(_upper_polygon(_with_common_stations(segments)))

    def as_dict(self) -> dict[str, Any]:
        """The pieces as plain data, each with its kind."""
        return {"pieces": [{"kind": type(piece).__name__.lower(), **asdict(piece)} for piece in self.pieces]}


def _with_common_stations(segments: list[Segment]) -> list[Segment]:
    """The segments (z0, r0, z1, r1) with stations that differ by rounding made equal; those of no length left out."""
    common: dict[float, float] = {}
    last = -math.inf
    for station in sorted({z for z0, _, z1, _ in segments for z in (z0, z1)}):
        last = last if station - last <= _ALIKE else station
        common[station] = last
    return [(common[z0], r0, common[z1], r1) for z0, r0, z1, r1 in segments if common[z1] > common[z0]]


def _upper_polygon(segments: list[Segment]) -> Knots:
    """The upper border of straight segments (z0, r0, z1, r1), as knots."""
    segments = sorted(segments)
    stations = sorted({z for z0, _, z1, _ in segments for z in (z0, z1)})
    knots: Knots = []
    active: list[Segment] = []
    following = 0
    for za, zb in itertools.pairwise(stations):
        active = [segment for segment in active if segment[2] >= zb]
        while following < len(segments) and segments[following][0] <= za:
            if segments[following][2] >= zb:
                active.append(segments[following])
            following += 1
        if not active:
            raise UsageError(f"profile: nothing of the coupling lies between the stations {za:g} and {zb:g} mm")
        lines = {(_height(segment, za), _height(segment, zb)) for segment in active}
        for knot in _upper_of_lines(za, zb, lines):
            _append(knots, knot)
    return knots


def _height(segment: Segment, z: float) -> float:
    z0, r0, z1, r1 = segment
    if z == z0:
        return r0
    if z == z1:
        return r1
    return r0 + (r1 - r0) * (z - z0) / (z1 - z0)


def _upper_of_lines(za: float, zb: float, lines: set[tuple[float, float]]) -> Knots:
    """The upper border between two stations of lines given by their heights at both."""
    at, top = za, max(lines)
    knots = [(za, top[0])]
    while True:
        best_at, best = zb, top
        for line in lines:
            gain = (line[1] - line[0]) - (top[1] - top[0])
            if gain <= 0:
                continue
            crossing = za + (zb - za) * (top[0] - line[0]) / gain
            if at < crossing < best_at or (crossing == best_at < zb and line[1] > best[1]):
                best_at, best = crossing, line
        if best is top:
            return [*knots, (zb, top[1])]
        knots.append((best_at, best[0] + (best[1] - best[0]) * (best_at - za) / (zb - za)))
        at, top = best_at, best


def _append(knots: Knots, knot: tuple[float, float]) -> None:
    """Adds a knot, leaving out doubles and the middle one of three on one line."""
    if knots and abs(knots[-1][0] - knot[0]) < 1e-9 and abs(knots[-1][1] - knot[1]) < 1e-9:
        return
    if len(knots) >= 2:
        (z0, r0), (z1, r1) = knots[-2], knots[-1]
        if abs((z1 - z0) * (knot[1] - r0) - (knot[0] - z0) * (r1 - r0)) < 1e-12 and z0 <= z1 <= knot[0]:
            knots[-1] = knot
            return
    knots.append(knot)
