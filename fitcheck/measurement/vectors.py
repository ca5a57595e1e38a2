"""Small vector algebra on tuples; quicker than arrays for single vectors."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from fitcheck.measurement.model import Vector


def vector(values: Sequence[float]) -> Vector:
    """Three floats as a tuple."""
    return (float(values[0]), float(values[1]), float(values[2]))


def add(a: Vector, b: Vector) -> Vector:
    """A + b."""
    return (a[0] + b[0], a[1] + b[1], a[2] + b[2])


def sub(a: Vector, b: Vector) -> Vector:
    """A - b."""
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def scale(a: Vector, factor: float) -> Vector:
    """Factor * a."""
    return (a[0] * factor, a[1] * factor, a[2] * factor)


def dot(a: Vector, b: Vector) -> float:
    """Scalar product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Vector, b: Vector) -> Vector:
    """Vector product."""
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def norm(a: Vector) -> float:
    """Length."""
    return math.sqrt(dot(a, a))


def unit(a: Vector) -> Vector:
    """The direction of a vector.

    Raises:
        ZeroDivisionError: its length is 0.
    """
    return scale(a, 1.0 / norm(a))


def line_angle(a: Vector, b: Vector) -> float:
    """Angle between two undirected lines in rad, 0 to pi/2; accurate near 0 too."""
    return math.atan2(norm(cross(a, b)), abs(dot(a, b)))


@dataclass(frozen=True)
class Frame:
    """An axis frame: station 0, the drive direction and the two directions across it (right-handed, file frame)."""

    origin: Vector
    along: Vector
    x: Vector
    y: Vector

    def local(self, point: Sequence[float]) -> Vector:
        """A file-frame point as (s, x, y)."""
        d = (point[0] - self.origin[0], point[1] - self.origin[1], point[2] - self.origin[2])
        return (dot(d, self.along), dot(d, self.x), dot(d, self.y))

    def turn(self, direction: Vector) -> Vector:
        """A file-frame direction as (s, x, y)."""
        return (dot(direction, self.along), dot(direction, self.x), dot(direction, self.y))

    def globally(self, point: Vector) -> Vector:
        """An axis-frame point (s, x, y) in the file frame."""
        return add(self.origin, add(scale(self.along, point[0]), add(scale(self.x, point[1]), scale(self.y, point[2]))))

    def at(self, station: float) -> Vector:
        """The point of the axis at a station, in the file frame."""
        return add(self.origin, scale(self.along, station))


def frame_on(origin: Vector, along: Vector) -> Frame:
    """The axis frame of a line. Shaft angle 0 is the file's X direction projected across the axis.

    Where the axis itself runs along X (within 1 degree or so), the file's Y takes its place.
    """
    along = unit(along)
    reference: Vector = (1.0, 0.0, 0.0) if abs(along[0]) < 0.9998 else (0.0, 1.0, 0.0)
    x = unit(sub(reference, scale(along, dot(reference, along))))
    return Frame(origin=origin, along=along, x=x, y=cross(along, x))
