"""Arcs that lean against the drive axis as polylines: as `leaning.followed`, all chords of a circle at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.leaning import ASIDE, DEEPEST, FIRST, TURNING
from fitcheck.measurement.model import Vector

Floats = NDArray[np.float64]


def followed_arc(centre: Vector, x: Vector, y: Vector, stops: list[float], chord: float) -> list[list[Vector]]:
    """An arc `centre + x cos u + y sin u` in the axis frame as one polyline a stretch between two stops.

    Args:
        centre: the centre (s, x, y), mm.
        x: radius times the direction of angle 0, mm.
        y: radius times the direction of angle 90 degrees, mm.
        stops: ascending angles, rad; between two of them the arc does not turn back along the drive axis.
        chord: mm by which the distance from the axis, read along a chord, may be off.
    """
    middle, cosine, sine = np.array(centre), np.array(x), np.array(y)

    def at(u: Floats) -> Floats:
        return np.asarray(middle + np.cos(u)[:, None] * cosine + np.sin(u)[:, None] * sine)

    ends = np.array(stops)
    share = np.linspace(0.0, 1.0, FIRST + 1)
    steps = ends[:-1, None] + np.diff(ends)[:, None] * share
    steps[:, -1] = ends[1:]
    low, high = steps[:, :-1].ravel(), steps[:, 1:].ravel()
    p, q = at(low), at(high)
    settled: list[tuple[Floats, Floats]] = []
    for depth in range(DEEPEST + 1):
        half = 0.5 * (low + high)
        m = at(half)
        straight = _straight(p, m, q, chord) | (depth == DEEPEST)
        settled.append((high[straight], q[straight]))
        rest = ~straight
        if not rest.any():
            break
        low, high = np.concatenate([low[rest], half[rest]]), np.concatenate([half[rest], high[rest]])
        p, q = np.concatenate([p[rest], m[rest]]), np.concatenate([m[rest], q[rest]])
    angles, points = (np.concatenate(column) for column in zip(*settled, strict=True))
    order = np.argsort(angles)
    angles, points = angles[order], points[order]
    first = at(ends[:-1])
    cuts = np.searchsorted(angles, ends, side="right")
    return [
        [tuple(point) for point in np.concatenate([first[i : i + 1], points[cuts[i] : cuts[i + 1]]]).tolist()]
        for i in range(len(stops) - 1)
    ]


def _straight(p: Floats, m: Floats, q: Floats, chord: float) -> NDArray[np.bool_]:
    """`leaning._straight` for rows of points."""
    step, to = q - p, m - p
    square = (step * step).sum(axis=1)
    point = square == 0.0
    share = np.clip((step * to).sum(axis=1) / np.where(point, 1.0, square), 0.0, 1.0)
    off = m - p - share[:, None] * step
    good = np.sqrt((off * off).sum(axis=1)) <= ASIDE
    rise = np.abs(step[:, 0])
    steep = rise > TURNING
    along = np.where(steep, to[:, 0] / np.where(steep, step[:, 0], 1.0), share)
    good &= np.where(
        steep,
        (along * rise >= -TURNING) & (along * rise <= rise + TURNING),
        np.minimum(np.abs(to[:, 0]), np.abs(m[:, 0] - q[:, 0])) <= TURNING,
    )
    on = p + np.clip(along, 0.0, 1.0)[:, None] * step
    reach = np.hypot(on[:, 1], on[:, 2]) - np.hypot(m[:, 1], m[:, 2])
    good &= np.abs(reach) <= 0.5 * chord
    return np.asarray(np.where(point, np.sqrt((to * to).sum(axis=1)) < TURNING, good))
