"""Lines that run close to each other, found without comparing all with all: by cells of the points nearest the middle.

Lines that are nearly the same have feet in the same cell or in cells beside it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product
from math import floor
from typing import TYPE_CHECKING, Protocol

from fitcheck.measurement.model import Vector
from fitcheck.measurement.vectors import dot, norm, scale, sub

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

MOST_PAIRS = 100_000
"""Pairs that are told at once: a thousand rings on one line are half a million."""

CELL = 2.0
"""mm; more than the lines that are looked for are apart."""


class Line(Protocol):
    """Something with a line: a point of it and its direction."""

    @property
    def origin(self) -> Vector:
        """A point of the line, mm."""

    @property
    def axis(self) -> Vector:
        """Its direction, of length 1."""


class LineGrid:
    """Finds lines that run close to a given one without comparing all with all.

    A line's key is the cell of its point nearest to the middle of all; lines that are nearly the same have keys that
    are the same or neighbours.

    Args:
        lines: the lines that are looked up, by index.
        cell: size of a cell, mm; more than the lines looked for are apart.
        lean: rad by which lines that are looked for may lean against each other; cells grow with the file's size.
        enter: whether the lines themselves are entered, or only tell where the middle of all is.
    """

    def __init__(self, lines: Sequence[Line], cell: float = CELL, lean: float = 0.0, enter: bool = True) -> None:
        self._cell = cell
        count = max(len(lines), 1)
        sums = [sum(line.origin[k] for line in lines) / count for k in range(3)]
        self._middle: Vector = (sums[0], sums[1], sums[2])
        # Lines that lean against each other and meet far from the middle of all have feet that lie apart.
        self._cell += lean * max((norm(sub(line.origin, self._middle)) for line in lines), default=0.0)
        self._cells: dict[tuple[int, int, int], list[int]] = {}
        for index, line in enumerate(lines if enter else ()):
            self.add(index, line.origin, line.axis)

    def add(self, index: int, origin: Vector, axis: Vector) -> None:
        """Enter a line under an index."""
        self._cells.setdefault(self._key(origin, axis), []).append(index)

    def near(self, origin: Vector, axis: Vector) -> Iterator[int]:
        """Indices of the lines that may run within a cell's size of a line."""
        a, b, c = self._key(origin, axis)
        for key in product((a - 1, a, a + 1), (b - 1, b, b + 1), (c - 1, c, c + 1)):
            yield from self._cells.get(key, ())

    def _key(self, origin: Vector, axis: Vector) -> tuple[int, int, int]:
        away = sub(origin, self._middle)
        foot = sub(away, scale(axis, dot(away, axis)))
        return (floor(foot[0] / self._cell), floor(foot[1] / self._cell), floor(foot[2] / self._cell))


def near_pairs(
    origins: NDArray[np.float64], axes: NDArray[np.float64], cell: float = CELL
) -> Iterator[tuple[NDArray[np.int64], NDArray[np.int64]]]:
    """Pairs of lines that may run within a cell's size of each other, and others; in portions.

    Args:
        origins: a point of each line, (n, 3), mm.
        axes: their directions, of length 1, (n, 3); sign does not matter.
        cell: size of a cell, mm.

    Returns:
        Indices i and j of the pairs, i < j, each pair once.
    """
    import numpy as np

    if len(origins) < 2:
        return
    away = origins - origins.mean(axis=0)
    cells = np.floor((away - axes * (away * axes).sum(axis=1)[:, None]) / cell).astype(np.int64)
    # A number for each cell that changes by a fixed amount from cell to cell. It may run over, and two cells far apart
    # may share one: that costs a comparison, and loses no pair.
    step = np.array([1, 1_000_003, 998_244_353_777], dtype=np.int64)
    code = (cells * step).sum(axis=1)
    order = np.argsort(code, kind="stable")
    ranked = code[order]
    # Half of the 27 cells around, and the cell itself: every pair is met from one side.
    half = [offset for offset in product((-1, 0, 1), repeat=3) if offset >= (0, 0, 0)]
    for offset in half:
        wanted = ranked + int((np.array(offset) * step).sum())
        first, after = np.searchsorted(ranked, wanted, "left"), np.searchsorted(ranked, wanted, "right")
        if offset == (0, 0, 0):
            first = np.arange(1, len(ranked) + 1)
        count = np.maximum(after - first, 0)
        total = np.cumsum(count)
        start = 0
        while start < len(ranked):
            done = total[start - 1] if start else 0
            stop = max(int(np.searchsorted(total, done + MOST_PAIRS, "right")), start + 1)
            many = count[start:stop]
            mine = np.repeat(np.arange(start, stop), many)
            within = np.arange(int(many.sum())) - np.repeat(np.cumsum(many) - many, many)
            a, b = order[mine], order[first[mine] + within]
            if a.size:
                yield np.minimum(a, b), np.maximum(a, b)
            start = stop
