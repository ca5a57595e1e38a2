"""Where the drive axis runs inside material: there the free radius is 0, whatever the nearest surface is.

Surfaces alone do not tell: a slab of stations that lies wholly inside a solid holds none near the axis, or only those
of something farther out. The stations at which a body's surface meets the axis part it into stretches that are wholly
inside or outside, and the solid itself is asked at the middle of each.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.obstacles import Floats
from fitcheck.measurement.survey import Asker
from fitcheck.measurement.vectors import Frame

MEETING = 5e-3
"""mm; a surface that comes nearer to the axis may meet it, as facets stray. One that does not only adds a question."""

SHORTEST = 1e-6
"""mm; shorter stretches are left out: the surfaces at both ends count there."""


def along_the_axis(
    frame: Frame,
    segments: Floats,
    body: NDArray[np.int32],
    bodies: Iterable[int],
    span: tuple[float, float],
    ask: Asker,
) -> tuple[Floats, NDArray[np.int32]]:
    """The stretches of the drive axis that lie inside bodies, as segments with their bodies.

    Args:
        frame: the axis frame.
        segments: shape (n, 2, 3), what was traced of the bodies' surfaces, mm.
        body: shape (n,).
        bodies: indices of the solids to ask.
        span: stations between which it matters, mm.
        ask: asks the kernel worker.

    Returns:
        Shapes (m, 2, 3) and (m,).
    """
    first, step = segments[:, 0], segments[:, 1] - segments[:, 0]
    square = np.einsum("ij,ij->i", step[:, 1:], step[:, 1:])
    foot = np.clip(-np.einsum("ij,ij->i", first[:, 1:], step[:, 1:]) / np.where(square == 0.0, 1.0, square), 0.0, 1.0)
    nearest = first + foot[:, None] * step
    meets = np.hypot(nearest[:, 1], nearest[:, 2]) <= MEETING
    stretches: list[tuple[int, float, float]] = []
    for index in bodies:
        mine = meets & (body == index)
        if not mine.any():
            continue
        knots = np.unique(np.concatenate([segments[mine, 0, 0], segments[mine, 1, 0], nearest[mine, 0]]))
        for low, high in itertools.pairwise(knots.tolist()):
            if high - low > SHORTEST and high > span[0] and low < span[1]:
                stretches.append((index, low, high))
    if not stretches:
        return np.zeros((0, 2, 3)), np.zeros(0, dtype=np.int32)
    points = [frame.at(0.5 * (low + high)) for _, low, high in stretches]
    request = {"do": "inside", "bodies": [index for index, _, _ in stretches], "points": points}
    answer, _ = ask("asking for the material's side", request)
    inside = [stretch for stretch, state in zip(stretches, answer["inside"], strict=True) if state]
    lines = np.array([[[low, 0.0, 0.0], [high, 0.0, 0.0]] for _, low, high in inside]).reshape(-1, 2, 3)
    return lines, np.array([index for index, _, _ in inside], dtype=np.int32)
