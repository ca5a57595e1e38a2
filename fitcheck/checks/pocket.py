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
from math import inf, pi, radians

import numpy as np
from numpy.typing import NDArray

from fitcheck.checks.screw_frame import ScrewFrame
from fitcheck.measurement.obstacles import Floats

_LINES = 21
"""Lines along the lean, over the tool's width, on which the pocket's edge is looked at."""
_GROWN = 0.01
"""mm; the tool is taken thicker by that, which is more than what lies between two lines."""
_TILTS, _CLOSE = 41, 0.01
"""So many tilts are tried at once; and degrees, how closely the greatest is found."""
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
        return np.asarray((self._standing(tilts, blade + _GROWN)[0] <= _ROUNDING).all(axis=1))

    def greatest(self, most: float, side: float, blade: float) -> float:
        """The greatest tilt square to the drive axis that clears the hub with all below it.

        Args:
            most: degrees that it is at the most.
            side: 1 to the left, -1 to the right.
            blade: as in `clears`.

        Returns:
            Degrees, at most 0.01 too few.
        """
        low, high = 0.0, most
        while high - low > _CLOSE:
            tilts = np.linspace(low, high, _TILTS)
            clear = self.clears(square([side * tilt for tilt in tilts.tolist()]), blade)
            if clear.all():
                return high
            first = max(int(np.argmin(clear)), 1)
            low, high = float(tilts[first - 1]), float(tilts[first])
        return low

    def rooms(self, tilts: Floats, blade: float) -> Floats:
        """How much room leaning tools have on lines along their lean, mm, shape (n, lines); inf where no hub is.

        Negative where a tool does not clear the hub; `tilts` and `blade` are as in `clears`.
        """
        standing = self._standing(tilts, blade + _GROWN)[0]
        return np.where(np.isinf(standing), inf, -np.where(np.isinf(standing), 0.0, standing) * np.sin(tilts[:, :1]))

    def _lines(self, blade: float) -> Floats:
        return np.linspace(-blade, blade, _LINES)

    def _standing(self, tilts: Floats, blade: float) -> tuple[Floats, Floats]:
        """By how much the hub stands above the tool's lower side on lines along the lean beyond the pocket, mm.

        Returns:
            The most on each line, and how far along it that is; shapes (n, lines). -inf where no hub is on a line.
        """
        tilt, around, y = tilts[:, :1], tilts[:, 1:], self._lines(blade)
        upright = tilt == 0.0
        tilt = np.where(upright, 1.0, tilt)
        edge = np.sqrt(np.maximum(self.radius**2 - y**2, 0.0)) + 0.0 * tilt
        least = np.sqrt(np.maximum(blade**2 - y**2, 0.0)) / np.sin(tilt)
        c, s = np.cos(around), np.sin(around)
        if self.screw.sense:
            inside = np.hypot(self.screw.offset + edge * c - y * s, edge * s + y * c) < self.hub
            top = max(self.screw.sense * self.low, self.screw.sense * self.high) - self.screw.start
            return np.where(inside & ~upright, top + least - edge / np.tan(tilt), -inf), edge
        first, last = self._within(edge, y, c, s)
        # Where the surface falls as steeply as the tool rises; v + offset is `beside` there.
        steep, beside = 1.0 / np.tan(tilt), self.screw.offset - y * s
        level = np.abs(c) <= _ROUNDING
        best = (-np.sign(c) * steep * self.hub / np.hypot(c, steep) - beside) / np.where(level, 1.0, c)
        best = np.clip(np.where(level, first, best), first, np.maximum(first, last))
        height = np.sqrt(np.maximum(self.hub**2 - (beside + best * c) ** 2, 0.0)) - self.screw.start
        return np.where((first <= last) & ~upright, height + least - best * steep, -inf), best

    def _within(self, edge: Floats, y: Floats, c: Floats, s: Floats) -> tuple[Floats, Floats]:
        """The stretch of each line beyond the pocket that lies over the hub; none where it ends before it begins."""
        beside = self.screw.offset - y * s
        along = _between(self.low - self.screw.station - y * c, self.high - self.screw.station - y * c, s)
        across = _between(-self.hub - beside, self.hub - beside, c)
        first = np.maximum(np.maximum(edge, along[0]), across[0])
        return first, np.minimum(np.minimum(4.0 * self.hub, along[1]), across[1])


def _between(low: Floats, high: Floats, slope: Floats) -> tuple[Floats, Floats]:
    """From where to where x * slope lies between two values; without a slope everywhere or nowhere."""
    flat = np.abs(slope) <= _ROUNDING
    one, two = (np.where(flat, 0.0, end / np.where(flat, 1.0, slope)) for end in (low, high))
    inside = (low <= 0.0) & (high >= 0.0)
    first, last = np.where(inside, -inf, inf), np.where(inside, inf, -inf)
    return np.where(flat, first, np.minimum(one, two)), np.where(flat, last, np.maximum(one, two))


def square(tilts: Sequence[float]) -> Floats:
    """Leans square to the drive axis by so many degrees, to the left where positive, as rows of tilts."""
    return np.array([[abs(radians(tilt)), 0.0 if tilt >= 0.0 else pi] for tilt in tilts])
