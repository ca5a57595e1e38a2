"""The free radius as a profile over the stations, and the pruning of segments that can never be nearest."""

from __future__ import annotations

import itertools

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.model import FreeRadius
from fitcheck.measurement.obstacles import Floats, Obstacles, least_radius

BINS = 512
"""Stations are cut into so many bins to find what is hidden."""

CHORD = 1e-4
"""mm; how far the profile, read linearly between its rows, may lie from the free radius."""

THIN = 5e-5
"""mm; how far a row may lie from the straight line that stands for it."""

SAME = 1e-7
"""mm; stations closer than this are one."""


def visible(segments: Floats, bound: Floats, body: NDArray[np.int32]) -> NDArray[np.bool_]:
    """Which segments can be nearest to the axis at some station, among those of their own body.

    A segment is hidden where, in every bin of stations that it touches, another segment of the same body runs through
    the whole bin and is nowhere farther from the axis than the hidden one's nearest point.

    Args:
        segments: shape (n, 2, 3), (s, x, y) mm.
        bound: shape (n,), mm.
        body: shape (n,).

    Returns:
        Shape (n,), True for those to keep.
    """
    keep = np.ones(len(segments), dtype=bool)
    if not len(segments):
        return keep
    low, high = segments[:, :, 0].min(axis=1), segments[:, :, 0].max(axis=1)
    start, stop = float(low.min()), float(high.max())
    width = max((stop - start) / BINS, 1e-9)
    first = np.clip(((low - start) / width).astype(int), 0, BINS - 1)
    last = np.clip(((high - start) / width).astype(int), 0, BINS - 1)
    radii = np.hypot(segments[:, :, 1], segments[:, :, 2])
    nearest = _nearest(segments) - bound
    most = radii.max(axis=1)
    # The bins that a segment runs all through; most segments are too short for any.
    whole = np.ceil((low - start) / width - 1e-12).astype(int)
    after = np.floor((high - start) / width + 1e-12).astype(int)
    for index in np.unique(body):
        mine = np.flatnonzero(body == index)
        cover = np.full(BINS, np.inf)
        for i in mine[after[mine] > whole[mine]]:
            bins = slice(whole[i], after[i])
            np.minimum(cover[bins], most[i], out=cover[bins])
        short = first[mine] == last[mine]
        keep[mine[short]] = nearest[mine[short]] <= cover[first[mine[short]]] + 1e-9
        for i in mine[~short]:
            keep[i] = bool((nearest[i] <= cover[first[i] : last[i] + 1] + 1e-9).any())
        _drop_flat(segments, bound, mine, nearest, keep)
    return keep


def _drop_flat(
    segments: Floats, bound: Floats, mine: NDArray[np.intp], nearest: Floats, keep: NDArray[np.bool_]
) -> None:
    """Of the segments that lie at one station keep the nearest, unless a running one is nearer there."""
    low, high = segments[:, :, 0].min(axis=1), segments[:, :, 0].max(axis=1)
    flat = mine[(high[mine] - low[mine] <= SAME) & keep[mine]]
    running = mine[high[mine] - low[mine] > SAME]
    order = flat[np.lexsort((nearest[flat], np.round(low[flat], 6)))]
    before = None
    for i in order:
        station = round(float(low[i]), 6)
        if station == before:
            keep[i] = False
            continue
        across = running[(low[running] <= low[i]) & (high[running] >= low[i])]
        hidden = across.size > 0 and float(_radii(segments[across], bound[across], low[i]).min()) < nearest[i] - 1e-9
        keep[i] = not hidden
        before = station


def _nearest(segments: Floats) -> Floats:
    a, step = segments[:, 0, 1:], segments[:, 1, 1:] - segments[:, 0, 1:]
    square = np.einsum("ij,ij->i", step, step)
    t = np.clip(-np.einsum("ij,ij->i", a, step) / np.where(square == 0.0, 1.0, square), 0.0, 1.0)
    point = a + t[:, None] * step
    return np.asarray(np.hypot(point[:, 0], point[:, 1]))


def free_radius(obstacles: Obstacles, span: tuple[float, float] = (-np.inf, np.inf)) -> FreeRadius | None:
    """The profile of the free radius, or None where there is no material.

    Args:
        obstacles: the measurement's obstacles.
        span: stations between which the profile is wanted, mm; faces that lie in an end of it do not count, so that
            the faces that close a chamber do not.

    Returns:
        Rows (s, r), linear within CHORD + THIN between them; a jump is two rows at one station, and a
        station where the material is nearer than on both sides has a row of its own; where there is no material r is
        inf.
    """
    segments, bound, body = _clipped(obstacles, *span)
    if not len(segments):
        return None
    a, step = segments[:, 0], segments[:, 1] - segments[:, 0]
    square = np.einsum("ij,ij->i", step[:, 1:], step[:, 1:])
    foot = np.clip(-np.einsum("ij,ij->i", a[:, 1:], step[:, 1:]) / np.where(square == 0.0, 1.0, square), 0.0, 1.0)
    knots = _distinct(np.concatenate([segments[:, 0, 0], segments[:, 1, 0], a[:, 0] + foot * step[:, 0]]))
    low, high = segments[:, :, 0].min(axis=1), segments[:, :, 0].max(axis=1)
    runs = np.flatnonzero(high - low > SAME)
    rows: list[tuple[float, float]] = []
    for left, right in itertools.pairwise(knots):
        spanning = runs[(low[runs] <= left + SAME) & (high[runs] >= right - SAME)]
        _append(rows, float(left), _at_point(segments, bound, low, high, float(left)))
        if not spanning.size:
            rows.extend([(float(left), float("inf")), (float(right), float("inf"))])
            continue
        for station, radius in _between(segments[spanning], bound[spanning], float(left), float(right)):
            _append(rows, station, radius)
    _append(rows, float(knots[-1]), _at_point(segments, bound, low, high, float(knots[-1])))
    chosen = Obstacles(
        segments=segments, segment_bound=bound, segment_body=body,
        triangles=obstacles.triangles[:0], triangle_bound=obstacles.triangle_bound[:0],
        triangle_body=obstacles.triangle_body[:0],
    )  # fmt: skip
    least = least_radius(chosen, float(knots[0]), float(knots[-1]))
    return FreeRadius(least=least.radius, station=least.station, profile=tuple(_thinned(rows)))


def _clipped(obstacles: Obstacles, start: float, stop: float) -> tuple[Floats, Floats, NDArray[np.int32]]:
    """Segments with their bounds and bodies, cut to the open range of stations."""
    a, b = obstacles.segments[:, 0], obstacles.segments[:, 1]
    rise = b[:, 0] - a[:, 0]
    inside = (np.maximum(a[:, 0], b[:, 0]) > start + SAME) & (np.minimum(a[:, 0], b[:, 0]) < stop - SAME)
    a, b, rise = a[inside], b[inside], rise[inside]
    safe = np.where(rise == 0.0, 1.0, rise)
    t0, t1 = (start - a[:, 0]) / safe, (stop - a[:, 0]) / safe
    low = np.where(rise == 0.0, 0.0, np.clip(np.minimum(t0, t1), 0.0, 1.0))
    high = np.where(rise == 0.0, 1.0, np.clip(np.maximum(t0, t1), 0.0, 1.0))
    step = b - a
    cut = np.stack([a + low[:, None] * step, a + high[:, None] * step], axis=1)
    return cut, obstacles.segment_bound[inside], obstacles.segment_body[inside]


def _distinct(values: Floats) -> Floats:
    ordered = np.unique(values)
    return np.asarray(ordered[np.concatenate([[True], np.diff(ordered) > SAME])])


def _radii(segments: Floats, bound: Floats, station: float) -> Floats:
    a, step = segments[:, 0], segments[:, 1] - segments[:, 0]
    t = np.clip((station - a[:, 0]) / step[:, 0], 0.0, 1.0)
    point = a[:, 1:] + t[:, None] * step[:, 1:]
    return np.asarray(np.maximum(np.hypot(point[:, 0], point[:, 1]) - bound, 0.0))


def _at_point(segments: Floats, bound: Floats, low: Floats, high: Floats, station: float) -> float:
    """The free radius at one station, faces that lie in it included."""
    inside = (low <= station + SAME) & (high >= station - SAME)
    flat = inside & (high - low <= SAME)
    found = [np.inf]
    if flat.any():
        found.append(float((_nearest(segments[flat]) - bound[flat]).min()))
    running = inside & ~flat
    if running.any():
        found.append(float(_radii(segments[running], bound[running], station).min()))
    return max(min(found), 0.0)


def _between(segments: Floats, bound: Floats, left: float, right: float) -> list[tuple[float, float]]:
    """Rows over an interval that all the segments run through, within CHORD."""

    def value(station: float) -> float:
        return float(_radii(segments, bound, station).min())

    rows = [(left, value(left)), (right, value(right))]
    index = 0
    while index < len(rows) - 1:
        (s0, r0), (s1, r1) = rows[index], rows[index + 1]
        middle = 0.5 * (s0 + s1)
        exact = value(middle)
        if abs(exact - 0.5 * (r0 + r1)) > CHORD and s1 - s0 > 1e-3:
            rows.insert(index + 1, (middle, exact))
        else:
            index += 1
    return rows


def _append(rows: list[tuple[float, float]], station: float, radius: float) -> None:
    if np.isfinite(radius) and not (rows and abs(rows[-1][0] - station) <= SAME and abs(rows[-1][1] - radius) <= 1e-9):
        rows.append((station, radius))


def _thinned(rows: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Rows without those that a straight run passes within THIN; jumps and gaps stay."""
    kept: list[tuple[float, float]] = []
    for start, stop in _runs(rows):
        kept.append(rows[start])
        index = start
        while index < stop:
            # The farthest row that a straight line reaches with all rows between within THIN of it.
            s0, r0 = rows[index]
            least, most, best = -np.inf, np.inf, index + 1
            for later in range(index + 1, stop + 1):
                run, rise = rows[later][0] - s0, rows[later][1] - r0
                if least <= rise / run <= most:
                    best = later
                least, most = max(least, (rise - THIN) / run), min(most, (rise + THIN) / run)
                if least > most:
                    break
            kept.append(rows[best])
            index = best
    return kept


def _runs(rows: list[tuple[float, float]]) -> list[tuple[int, int]]:
    """Stretches of rows, first and last index, within which stations grow and radii are finite."""
    runs: list[tuple[int, int]] = []
    start = 0
    for index in range(1, len(rows) + 1):
        joined = (
            index < len(rows)
            and rows[index][0] - rows[index - 1][0] > SAME
            and np.isfinite(rows[index][1])
            and np.isfinite(rows[index - 1][1])
        )
        if not joined:
            runs.append((start, index - 1))
            start = index
    return runs
