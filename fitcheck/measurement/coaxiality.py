"""The axes of what locates the machines, and how they lie to each other."""

from __future__ import annotations

import math
from collections.abc import Sequence

from fitcheck.measurement.cylinders import Bore
from fitcheck.measurement.model import Coaxiality, End, Vector
from fitcheck.measurement.vectors import Frame, add, dot, line_angle, norm, scale, sub


def axis_at(bore: Bore, frame: Frame, station: float) -> tuple[Vector, Vector]:
    """A bore's axis as the drive axis points, and its point level with the drive axis' at a station (file frame)."""
    turned = bore.towards(frame.along)
    return turned.point(dot(sub(frame.at(station), turned.origin), turned.axis)), turned.axis


def coaxiality(frame: Frame, ends: Sequence[End]) -> Coaxiality | None:
    """Offset and tilt of what locates the second end against what locates the first, at the second's seat."""
    if len(ends) < 2:
        return None
    first, second = ends[0].locator, ends[1].locator
    if first is None or second is None:
        return None
    # The first end's own axis is the drive axis where anything locates it; asked all the same.
    at = frame.at(ends[1].seat)
    way = dot(sub(at, first.origin), first.direction)
    apart = sub(second.origin, add(first.origin, scale(first.direction, way)))
    apart = sub(apart, scale(first.direction, dot(apart, first.direction)))
    tilt = math.degrees(line_angle(second.direction, first.direction))
    return Coaxiality(offset=norm(apart), tilt=tilt, features=(first.what, second.what))
