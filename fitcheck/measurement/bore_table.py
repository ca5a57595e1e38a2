"""Bores as a sequence and as arrays: a file may have thousands of holes, and most questions are about a few of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import cached_property
from typing import TYPE_CHECKING, overload

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.cylinders import Bore

if TYPE_CHECKING:
    from fitcheck.measurement.vectors import Frame

Floats = NDArray[np.float64]


class BoreTable(Sequence[Bore]):
    """Bores, and the numbers of all of them; bores are not changed while they are in it.

    Args:
        bores: the bores.
    """

    def __init__(self, bores: Iterable[Bore]) -> None:
        self._bores = list(bores)

    @classmethod
    def of(cls, bores: Iterable[Bore]) -> BoreTable:
        """The bores as a table, which they may be already."""
        return bores if isinstance(bores, BoreTable) else cls(bores)

    @overload
    def __getitem__(self, index: int) -> Bore: ...
    @overload
    def __getitem__(self, index: slice) -> list[Bore]: ...
    def __getitem__(self, index: int | slice) -> Bore | list[Bore]:
        return self._bores[index]

    def __len__(self) -> int:
        return len(self._bores)

    def __iter__(self) -> Iterator[Bore]:
        return iter(self._bores)

    @cached_property
    def _numbers(self) -> Floats:
        rows = [(*b.origin, *b.axis, b.start, b.stop, b.radius, b.turn) for b in self._bores]
        return np.array(rows, dtype=np.float64).reshape(-1, 10)

    @cached_property
    def concave(self) -> NDArray[np.bool_]:
        """Which are bores, not bosses, (n,)."""
        return np.array([bore.concave for bore in self._bores], dtype=bool)

    @property
    def radius(self) -> Floats:
        """(n,), mm."""
        return self._numbers[:, 8]

    @property
    def turn(self) -> Floats:
        """(n,), rad."""
        return self._numbers[:, 9]

    def ends(self, frame: Frame) -> tuple[Floats, Floats]:
        """Both ends of each axis as (s, x, y), (n, 3) each, mm; the one with the lesser station first."""
        rows = self._numbers
        turn = np.array([frame.along, frame.x, frame.y]).T
        away = rows[:, 0:3] - np.array(frame.origin)
        a, b = ((away + rows[:, 3:6] * rows[:, k : k + 1]) @ turn for k in (6, 7))
        swapped = (a[:, 0] > b[:, 0])[:, None]
        return np.where(swapped, b, a), np.where(swapped, a, b)

    def lean(self, frame: Frame) -> Floats:
        """The angle of each axis to the drive axis, undirected, (n,), rad; accurate near 0 too."""
        axis, along = self._numbers[:, 3:6], np.array(frame.along)
        return np.asarray(np.arctan2(np.linalg.norm(np.cross(axis, along), axis=1), np.abs(axis @ along)))

    def offset(self, frame: Frame) -> Floats:
        """The distance of the middle of each axis from the drive axis, (n,), mm."""
        rows = self._numbers
        middle = rows[:, 0:3] + rows[:, 3:6] * (0.5 * (rows[:, 6:7] + rows[:, 7:8])) - np.array(frame.origin)
        return np.asarray(np.linalg.norm(np.cross(middle, np.array(frame.along)), axis=1))

    def where(self, rows: NDArray[np.bool_]) -> list[Bore]:
        """The bores of which that is true, in their order."""
        return [self._bores[index] for index in np.flatnonzero(rows).tolist()]
