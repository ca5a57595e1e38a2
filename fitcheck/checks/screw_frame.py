"""Where a screw sits and which way it points while the shaft turns: across the drive axis, or along it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fitcheck.measurement.obstacles import Floats


@dataclass(frozen=True, kw_only=True)
class ScrewFrame:
    """A screw's place, for points given as (s, x, y) about the drive axis.

    Attributes:
        station: of the axis of a screw across the drive axis, mm; of one along it, 0.
        offset: how far the screw's axis lies beside the drive axis, mm; of a screw along it, its distance from it.
        start: height of the screw's outer end: along its direction from the plane through the drive axis across it, or,
            of a screw along the axis, `sense` times the station, mm.
        sense: 0 of a screw across the drive axis; of one along it, +1 where the tool lies towards the actuator, -1
            where it lies towards the motor.
    """

    station: float
    offset: float
    start: float
    sense: float = 0.0

    def frames(self, theta: float, tilts: Floats) -> Floats:
        """The axes of tools that lean, along them and two across: shape (n, 3, 3).

        Args:
            theta: shaft angle of the screw, radians.
            tilts: shape (n, 2): tilt against the screw and its direction about the screw, radians. Direction 0 is
                square to the drive axis, to the left; of a screw along the axis it is away from the drive axis.
        """
        c, s = np.cos(theta), np.sin(theta)
        out, left, axis = np.array([0.0, c, s]), np.array([0.0, -s, c]), np.eye(3)[0]
        u, first, second = (self.sense * axis, out, left) if self.sense else (out, left, axis)
        tilt, direction = tilts[:, :1], tilts[:, 1:]
        side = np.cos(direction) * first + np.sin(direction) * second
        other = np.cos(direction) * second - np.sin(direction) * first
        along, across = np.cos(tilt) * u + np.sin(tilt) * side, np.cos(tilt) * side - np.sin(tilt) * u
        return np.stack([along, across, other], axis=1)

    def origin(self, theta: float) -> Floats:
        """The screw's outer end at a shaft angle in radians."""
        c, s = np.cos(theta), np.sin(theta)
        if self.sense:
            return np.array([self.sense * self.start, self.offset * c, self.offset * s])
        return np.array([self.station, self.start * c - self.offset * s, self.start * s + self.offset * c])

    def seen(self, theta: float | Floats, points: Floats) -> tuple[Floats, Floats, Floats]:
        """Points (..., 3) at shaft angles: height above the screw's outer end, and both distances beside its axis."""
        c, s = np.cos(theta), np.sin(theta)
        along, x, y = points[..., 0], points[..., 1], points[..., 2]
        out, left = c * x + s * y, c * y - s * x
        if self.sense:
            return self.sense * along - self.start + 0.0 * out, out - self.offset, left
        return out - self.start, left - self.offset, along - self.station + 0.0 * out

    def about_axis(self, seen: tuple[Floats, Floats, Floats]) -> tuple[Floats, Floats]:
        """Of places as `seen` the two coordinates that change as the shaft turns, from the drive axis, mm.

        A turn by d takes them to p cos(d) + q sin(d) and q cos(d) - p sin(d).
        """
        h, a, b = seen
        return (a + self.offset, b) if self.sense else (h + self.start, a + self.offset)

    def placed(self, local: Floats) -> Floats:
        """Points (..., 3) in the screw's own frame (`own_parts.heads`) as (s, x, y) at shaft angle 0."""
        height, v, w = local[..., 0], local[..., 1], local[..., 2]
        if self.sense:
            return np.stack([self.sense * height, v + self.offset, w], axis=-1)
        return np.stack([w + self.station, height, v + self.offset], axis=-1)

    def highest(self, triangles: Floats) -> Floats:
        """The greatest height above the screw's outer end that triangles, (n, 3, 3), come to in a full turn, mm."""
        if self.sense:
            return np.asarray((self.sense * triangles[:, :, 0]).max(axis=1) - self.start)
        return np.asarray(np.hypot(triangles[:, :, 1], triangles[:, :, 2]).max(axis=1) - self.start)
