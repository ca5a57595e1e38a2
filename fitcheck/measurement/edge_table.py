"""All edges of a file as arrays, for what is asked of each: the box round it, and whether its numbers are sound.

Of a file with thousands of edges most lie far from the drive axis, and are looked at in no other way.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fitcheck.kernel.features import EDGE

if TYPE_CHECKING:
    from fitcheck.measurement.model import Vector
    from fitcheck.measurement.survey import Edge, Face
    from fitcheck.measurement.vectors import Frame

Floats = NDArray[np.float64]

_TURN = 2.0 * np.pi

NEAR = 0.1
"""mm; more than a box is off round lines and arcs."""


@dataclass(frozen=True)
class EdgeTable:
    """Edges as arrays.

    Args:
        edges: the edges themselves, n of them.
        numbers: (n, 18), the numbers of each as `kernel.features.EDGE` has them; mm, rad, file frame.
    """

    edges: Sequence[Edge]
    numbers: Floats

    @classmethod
    def of(cls, edges: Sequence[Edge]) -> EdgeTable:
        """The table of edges that did not come as numbers."""
        rows = [(*e.a, *e.b, *e.centre, *e.normal, *e.x, e.radius, *e.span) for e in edges]
        return cls(edges, np.array(rows, dtype=np.float64).reshape(-1, EDGE))

    def damaged(self) -> int:
        """How many edges have a number that is infinite or none at all."""
        return int(np.count_nonzero(~np.isfinite(self.numbers).all(axis=1)))

    @cached_property
    def _kinds(self) -> NDArray[np.str_]:
        return np.array([edge.kind for edge in self.edges], dtype="U6")

    @property
    def spans(self) -> Floats:
        """The angles that circles span, (n, 2), rad; 0 for other edges."""
        return self.numbers[:, 16:18]

    @cached_property
    def boxes(self) -> tuple[Floats, Floats]:
        """The least and the greatest coordinates of each edge, (n, 3) each, mm; (inf, -inf) where it is degenerated.

        Exact for lines and arcs, for other curves over their coarse points.
        """
        kinds = self._kinds
        with np.errstate(invalid="ignore", over="ignore"):
            low = np.minimum(self.numbers[:, 0:3], self.numbers[:, 3:6])
            high = np.maximum(self.numbers[:, 0:3], self.numbers[:, 3:6])
            arcs = np.flatnonzero(kinds == "circle")
            for k, (least, most) in enumerate(self._arcs(arcs)):
                low[arcs, k] = np.minimum(low[arcs, k], least)
                high[arcs, k] = np.maximum(high[arcs, k], most)
        for index in np.flatnonzero(kinds == "other").tolist():
            points = np.array(self.edges[index].points).reshape(-1, 3)
            low[index], high[index] = points.min(axis=0), points.max(axis=0)
        low[kinds == "none"], high[kinds == "none"] = np.inf, -np.inf
        return low, high

    def reaches(self, rows: Sequence[int], point: Vector) -> bool:
        """Whether a point, mm, lies in the box round some edges, or near it; yes where that is not known."""
        low, high = (side[list(rows)] for side in self.boxes)
        low, high = low.min(axis=0), high.max(axis=0)
        # The coarse points of a curve may stop short of its extremes.
        margin = NEAR + (0.1 * float(np.linalg.norm(high - low)) if (self._kinds[list(rows)] == "other").any() else 0.0)
        return not bool(((low - margin > point) | (high + margin < point)).any())

    def ends_along(self, faces: Sequence[Face]) -> tuple[Floats, Floats]:
        """Where the edges of faces that do not run along the faces' own axes begin and end along them, (n,) each, mm.

        Exact for lines and circles, for other curves over their coarse points; (inf, -inf) where there is none.
        """
        low, high = np.full(len(faces), np.inf), np.full(len(faces), -np.inf)
        rows = np.array([index for face in faces for index in face.edges], dtype=np.int64)
        if not rows.size:
            return low, high
        owner = np.repeat(np.arange(len(faces)), [len(face.edges) for face in faces])
        origin, axis = (np.array(values)[owner] for values in ([f.origin for f in faces], [f.axis for f in faces]))
        row, kinds = self.numbers[rows], self._kinds[rows]

        def along(points: Floats) -> Floats:
            return np.asarray(((points - origin) * axis).sum(axis=1))

        a, b = along(row[:, 0:3]), along(row[:, 3:6])
        least, most = np.minimum(a, b), np.maximum(a, b)
        x = row[:, 15] * (row[:, 12:15] * axis).sum(axis=1)
        y = row[:, 15] * (np.cross(row[:, 9:12], row[:, 12:15]) * axis).sum(axis=1)
        size, top, middle, span = np.hypot(x, y), np.arctan2(y, x), along(row[:, 6:9]), row[:, 17] - row[:, 16]
        for turn, value in ((0.0, middle + size), (np.pi, middle - size)):
            met = (kinds == "circle") & (np.mod(top + turn - row[:, 16], _TURN) <= span)
            least, most = np.where(met, np.minimum(least, value), least), np.where(met, np.maximum(most, value), most)
        for index in np.flatnonzero(kinds == "other").tolist():
            values = (np.array(self.edges[rows[index]].points) - origin[index]) @ axis[index]
            least[index], most[index] = values.min(), values.max()
        length = np.linalg.norm(row[:, 3:6] - row[:, 0:3], axis=1)
        told = (kinds != "none") & ((kinds != "line") | (most - least < 0.9 * length))
        np.minimum.at(low, owner[told], least[told])
        np.maximum.at(high, owner[told], most[told])
        return low, high

    def circle_radii(self, rim: Sequence[int], frame: Frame) -> tuple[float, float, Sequence[int]]:
        """Least and greatest distance of whole circles square to the drive axis from it, mm, and the other edges.

        Args:
            rim: the edges' indices.
            frame: the axis frame.

        Returns:
            (inf, 0) for the distances where there is no such circle.
        """
        rows = self.numbers[list(rim)]
        along = np.array(frame.along)
        # Of other edges the radius and the span are 0.
        plain = (rows[:, 17] - rows[:, 16] >= _TURN - 1e-9) & (
            np.linalg.norm(np.cross(rows[:, 9:12], along), axis=1) < 1e-7
        )
        if not plain.any():
            return np.inf, 0.0, rim
        away = np.linalg.norm(np.cross(rows[plain, 6:9] - np.array(frame.origin), along), axis=1)
        radius = rows[plain, 15]
        rest = [index for index, told in zip(rim, plain.tolist(), strict=True) if not told]
        return float(np.abs(away - radius).min()), float((away + radius).max()), rest

    def _arcs(self, arcs: NDArray[np.int64]) -> list[tuple[Floats, Floats]]:
        """Along each coordinate the least and greatest value within arcs; (inf, -inf) where their ends decide."""
        row = self.numbers[arcs]
        centre, x, radius, first, last = row[:, 6:9], row[:, 12:15], row[:, 15], row[:, 16], row[:, 17]
        y = np.cross(row[:, 9:12], x)
        found = []
        for k in range(3):
            # c + r (x cos t + y sin t) is greatest where t = atan2(y, x), and least half a turn on.
            size, top = radius * np.hypot(x[:, k], y[:, k]), np.arctan2(y[:, k], x[:, k])
            within = [np.mod(top + turn - first, _TURN) <= last - first for turn in (0.0, np.pi)]
            found.append((
                np.where(within[1], centre[:, k] - size, np.inf), np.where(within[0], centre[:, k] + size, -np.inf),
            ))  # fmt: skip
        return found
