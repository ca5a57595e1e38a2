"""Whether a ball end that leans clears its own hub, in which the screw's outer end lies recessed.

The hub is solid but for a pocket round about the screw, outwards of its end: as wide as the head of a cap screw, or as
the thread of a set screw, which are the narrowest that there are. A tool of radius r that leans by tilt, seen in the
direction of its lean, covers the place (x, y) beside the screw's axis from the height

    h(x, y) = (x cos(tilt) - sqrt(r^2 - y^2)) / sin(tilt)

above the screw's end upwards. It clears the hub where that is no lower than the hub's surface, everywhere beyond the
pocket. About a screw across the drive axis that surface is sqrt(R^2 - (offset + v)^2) high, v being the distance to the
left: along x a concave curve, so that less h(x, y) it has one highest place, in closed form.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, inf, pi, radians, sin, sqrt, tan

import numpy as np
from numpy.typing import NDArray

from fitcheck.checks.screw_frame import ScrewFrame
from fitcheck.measurement.obstacles import Floats

_LINES = 21
"""Lines along the lean, over the tool's width, on which the pocket's edge is looked at."""
_GROWN = 0.01
"""mm; the tool is taken thicker by that, which is more than what lies between two lines."""
_ROUNDING = 1e-9


@dataclass(frozen=True, kw_only=True)
class Pocket:
    """The pocket of one screw in its own hub.

    Attributes:
        screw: the screw's frame.
        radius: of the pocket, mm.
        hub: outside radius of the hub, mm.
        low: station of the hub's end nearer to the motor.
        high: station of its other end.
    """

    screw: ScrewFrame
    radius: float
    hub: float
    low: float
    high: float

    def clears(self, tilts: Floats, blade: float) -> NDArray[np.bool_]:
        """Which leaning tools of radius `blade` mm clear the hub.

        Args:
            tilts: shape (n, 2), as in `ScrewFrame.frames`.
            blade: radius of the tool's straight part, mm.
        """
        return np.array([self._clear(float(tilt), float(around), blade + _GROWN) for tilt, around in tilts], dtype=bool)

    def _clear(self, tilt: float, around: float, blade: float) -> bool:
        return tilt == 0.0 or all(
            self._highest(tilt, around, y, blade) <= _ROUNDING for y in np.linspace(-blade, blade, _LINES)
        )

    def _highest(self, tilt: float, around: float, y: float, blade: float) -> float:
        """By how much the hub stands above the tool's lower side on one line beyond the pocket, at most, mm."""
        edge = sqrt(max(self.radius**2 - y**2, 0.0))
        least = sqrt(max(blade**2 - y**2, 0.0)) / sin(tilt)
        c, s = cos(around), sin(around)
        if self.screw.sense:
            inside = np.hypot(self.screw.offset + edge * c - y * s, edge * s + y * c) < self.hub
            top = max(self.screw.sense * self.low, self.screw.sense * self.high) - self.screw.start
            return top + least - edge / tan(tilt) if inside else -inf
        first, last = self._within(edge, y, c, s)
        if first > last:
            return -inf
        # Where the surface falls as steeply as the tool rises; v + offset is `beside` there.
        steep, beside = 1.0 / tan(tilt), self.screw.offset - y * s
        best = first
        if abs(c) > _ROUNDING:
            best = (-np.sign(c) * steep * self.hub / np.hypot(c, steep) - beside) / c
        best = min(max(best, first), last)
        height = sqrt(max(self.hub**2 - (beside + best * c) ** 2, 0.0)) - self.screw.start
        return height + least - best * steep

    def _within(self, edge: float, y: float, c: float, s: float) -> tuple[float, float]:
        """The stretch of a line beyond the pocket that lies over the hub."""
        first, last = edge, 4.0 * self.hub
        low, high = self.low - self.screw.station - y * c, self.high - self.screw.station - y * c
        if abs(s) > _ROUNDING:
            ends = sorted((low / s, high / s))
            first, last = max(first, ends[0]), min(last, ends[1])
        elif low > 0.0 or high < 0.0:
            return 1.0, 0.0
        beside = self.screw.offset - y * s
        if abs(c) > _ROUNDING:
            ends = sorted(((-self.hub - beside) / c, (self.hub - beside) / c))
            first, last = max(first, ends[0]), min(last, ends[1])
        return first, last


def square(tilts: Sequence[float]) -> Floats:
    """Leans square to the drive axis by so many degrees, to the left where positive, as rows of tilts."""
    return np.array([[abs(radians(tilt)), 0.0 if tilt >= 0.0 else pi] for tilt in tilts])
