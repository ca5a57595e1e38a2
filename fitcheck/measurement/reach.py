"""Faces coaxial with the drive axis: exact, and the outer envelope that hides what lies behind them."""

from __future__ import annotations

import bisect
import itertools
import math

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.extent import face_extent
from fitcheck.measurement.model import Vector
from fitcheck.measurement.survey import Face, Survey
from fitcheck.measurement.vectors import Frame, add, dot, line_angle, scale

Floats = NDArray[np.float64]

CHORD = 2e-4
"""mm; how far a chord of a generating arc may stray from it."""

STRAY = 5e-4
"""mm; a face whose own axis strays no farther from the drive axis is coaxial; its bound says by how much it strays."""

STRAY_RECOGNISED = 2e-3
"""mm; the same for a B-spline face that was recognised as a cylinder or a cone."""

END = 1e-3
"""mm; what reaches beyond the last coaxial face by no more is still at its end: intersections are no more exact, and
stations are told to that."""


class Envelope:
    """Upper bound of the free radius by stations, from the coaxial faces alone."""

    def __init__(self, lines: list[list[Vector]]) -> None:
        self._knots = sorted({round(point[0], 9) for line in lines for point in line})
        self._most = [math.inf] * max(len(self._knots) - 1, 0)
        for line in lines:
            for a, b in itertools.pairwise(line):
                low, high = sorted((round(a[0], 9), round(b[0], 9)))
                radius = max(math.hypot(a[1], a[2]), math.hypot(b[1], b[2]))
                first, last = bisect.bisect_left(self._knots, low), bisect.bisect_left(self._knots, high)
                for index in range(first, last):
                    self._most[index] = min(self._most[index], radius)

    @property
    def span(self) -> tuple[float, float] | None:
        """The stations between which there are coaxial faces, mm; None where there is none."""
        return (self._knots[0], self._knots[-1]) if self._knots else None

    def hides(self, low: float, high: float, radius: float) -> bool:
        """Whether, at all stations from `low` to `high`, something lies nearer to the axis than `radius`, mm."""
        if not self._knots or low < self._knots[0] - END or high > self._knots[-1] + END:
            return False
        first = max(bisect.bisect_left(self._knots, low) - 1, 0)
        last = min(bisect.bisect_right(self._knots, high), len(self._most))
        return all(self._most[index] <= radius for index in range(first, last)) and last > first

    def hides_each(self, low: Floats, high: Floats, radius: Floats) -> NDArray[np.bool_]:
        """The same for many, all of shape (n,)."""
        if not self._most:
            return np.zeros(low.shape, dtype=bool)
        knots, most = np.array(self._knots), np.array([*self._most, -math.inf])
        first = np.maximum(np.searchsorted(knots, low, "left") - 1, 0)
        last = np.minimum(np.searchsorted(knots, high, "right"), len(self._most))
        inside = (low >= knots[0] - END) & (high <= knots[-1] + END) & (last > first)
        found = np.flatnonzero(inside)
        spans = np.stack([first[found], last[found]], axis=1).ravel()
        inside[found] = np.maximum.reduceat(most, spans)[::2] <= radius[found] if found.size else False
        return np.asarray(inside)


class CoaxialReach:
    """The generating lines of the coaxial faces.

    Args:
        survey: the file.
        frame: the axis frame.
    """

    def __init__(self, survey: Survey, frame: Frame) -> None:
        self.survey, self.frame = survey, frame
        self.faces: list[Face] = []
        self._lines: list[list[Vector]] = []

    def generator(self, face: Face) -> tuple[list[Vector], float] | None:
        """One generating line of a face as points (s, x, y) with its bound, or None where the face is not coaxial.

        A connected face has a point at every station between its ends, so its generating line stands for it whatever
        its outline is.
        """
        if face.kind not in ("cylinder", "cone", "torus", "sphere"):
            return None
        stray = self._stray(face)
        if stray > (STRAY if face.native else STRAY_RECOGNISED):
            return None
        centre = self.frame.local(face.origin)
        line = self._straight(face, centre) if face.kind in ("cylinder", "cone") else self._arc(face, centre)
        if line is None:
            return None
        self.faces.append(face)
        self._lines.append(line)
        return line, stray + face.gap

    def _stray(self, face: Face) -> float:
        """How far the face's own axis strays from the drive axis along the face, mm; at least so far if by much."""
        _, x, y = self.frame.local(face.origin)
        if math.hypot(x, y) > STRAY_RECOGNISED:
            return math.hypot(x, y)
        low, high = face_extent(self.survey, face, face.origin, face.axis)
        if high < low:
            low = high = 0.0
        ends = (self.frame.local(add(face.origin, scale(face.axis, t))) for t in (low, high, 0.0))
        tilt = 0.0 if face.kind == "sphere" else line_angle(face.axis, self.frame.along)
        size = face.radius + face.minor
        return max(math.hypot(x, y) for _, x, y in ends) + tilt * size

    def envelope(self) -> Envelope:
        """The upper bound of the free radius by the faces seen so far."""
        return Envelope(self._lines)

    def _across(self, face: Face) -> Vector:
        """A direction across the axis in which the face lies, as (0, x, y)."""
        if face.native:
            middle = 0.5 * (face.u[0] + face.u[1])
            turned = self.frame.turn(
                (
                    math.cos(middle) * face.x[0] + math.sin(middle) * face.y[0],
                    math.cos(middle) * face.x[1] + math.sin(middle) * face.y[1],
                    math.cos(middle) * face.x[2] + math.sin(middle) * face.y[2],
                )
            )
            size = math.hypot(turned[1], turned[2])
            if size > 0.5:
                return (0.0, turned[1] / size, turned[2] / size)
        for edge in self.survey.rim(face):
            for point in edge.samples(3)[1:2] or edge.samples(1):
                local = self.frame.local(point)
                size = math.hypot(local[1], local[2])
                if size > 1e-9:
                    return (0.0, local[1] / size, local[2] / size)
        return (0.0, 1.0, 0.0)

    def _straight(self, face: Face, centre: Vector) -> list[Vector] | None:
        low, high = face_extent(self.survey, face, self.frame.origin, self.frame.along)
        if high < low:
            return None
        across = self._across(face)
        slope = 0.0
        if face.kind == "cone":
            slope = math.tan(face.semi) * (1.0 if dot(face.axis, self.frame.along) > 0.0 else -1.0)
        points: list[Vector] = []
        for station in (low, high):
            radius = face.radius + slope * (station - centre[0])
            points.append((station, radius * across[1], radius * across[2]))
        if (
            face.kind == "cone"
            and (face.radius + slope * (low - centre[0])) * (face.radius + slope * (high - centre[0])) < 0.0
        ):
            return None
        return points

    def _arc(self, face: Face, centre: Vector) -> list[Vector] | None:
        """The generating arc of a torus or a sphere whose own parameters run about the drive axis."""
        if not face.native or line_angle(face.axis, self.frame.along) > 1e-6:
            return None
        radius, minor = (face.radius, face.minor) if face.kind == "torus" else (0.0, face.radius)
        sense = 1.0 if dot(face.axis, self.frame.along) > 0.0 else -1.0
        across = self._across(face)
        low, high = face.v
        step = 2.0 * math.acos(max(1.0 - CHORD / minor, -1.0))
        count = max(math.ceil((high - low) / step), 1)
        angles = {low + (high - low) * i / count for i in range(count + 1)}
        # The innermost point, exactly.
        angles |= {k * math.pi for k in range(-4, 5) if low < k * math.pi < high}
        points: list[Vector] = []
        for angle in sorted(angles):
            r = radius + minor * math.cos(angle)
            points.append((centre[0] + sense * minor * math.sin(angle), *scale(across, r)[1:]))
        return points
