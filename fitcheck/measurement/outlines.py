"""Triangles cut to slabs and projected: the outlines that tool corridors and handles are held against."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.obstacles import Floats

_TINY = 1e-12


def outlines(triangles: Floats, low: Floats, high: Floats) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """The outlines of triangles cut to slabs of their first coordinate, projected on the other two.

    Args:
        triangles: shape (n, 3, 3); first coordinate the one to cut by (a station, or a height above a screw).
        low: shape (n,), where each triangle's slab begins.
        high: shape (n,), where it ends; large finite numbers for a slab without an end.

    Returns:
        First ends (m, 2), second ends (m, 2) and the triangle (m,) of each line. The outline is enough for what is
        unbounded, or begins where no material is: it meets a bounded convex piece only across its outline.
    """
    whole = (least(triangles[:, :, 0]) >= low) & (most(triangles[:, :, 0]) <= high)
    uncut, cut = np.flatnonzero(whole), np.flatnonzero(~whole)
    first, second, owner = _cut_outlines(triangles[cut], low[cut], high[cut])
    corners = triangles[uncut, :, 1:]
    return (
        np.concatenate([first, corners[:, 0], corners[:, 1], corners[:, 2]]),
        np.concatenate([second, corners[:, 1], corners[:, 2], corners[:, 0]]),
        np.concatenate([cut[owner], uncut, uncut, uncut]),
    )


def _cut_outlines(triangles: Floats, low: Floats, high: Floats) -> tuple[Floats, Floats, NDArray[np.int64]]:
    a = triangles
    b = triangles[:, (1, 2, 0), :]
    rise = b[:, :, 0] - a[:, :, 0]
    flat = np.abs(rise) < _TINY
    divisor = np.where(flat, 1.0, rise)
    t_low, t_high = (low[:, None] - a[:, :, 0]) / divisor, (high[:, None] - a[:, :, 0]) / divisor
    enter = np.where(flat, 0.0, np.clip(np.minimum(t_low, t_high), 0.0, 1.0))
    leave = np.where(flat, 1.0, np.clip(np.maximum(t_low, t_high), 0.0, 1.0))
    inside = np.maximum(a[:, :, 0], b[:, :, 0]) >= low[:, None]
    inside &= np.minimum(a[:, :, 0], b[:, :, 0]) <= high[:, None]
    across = b[:, :, 1:] - a[:, :, 1:]
    starts, ends = a[:, :, 1:] + enter[..., None] * across, a[:, :, 1:] + leave[..., None] * across
    row, side = np.nonzero(inside)
    firsts, seconds, owners = [starts[row, side]], [ends[row, side]], [row]
    for t in (t_low, t_high):
        crossing = (t >= 0.0) & (t <= 1.0) & ~flat
        one, two, three = crossing.T
        rows = np.flatnonzero((one & two) | (one & three) | (two & three))
        if rows.size == 0:
            continue
        points = a[rows][:, :, 1:] + t[rows][..., None] * across[rows]
        one = points[np.arange(rows.size), np.argmax(crossing[rows], axis=1)]
        distance = np.where(crossing[rows], ((points - one[:, None, :]) ** 2).sum(axis=2), -1.0)
        other = points[np.arange(rows.size), np.argmax(distance, axis=1)]
        firsts.append(one)
        seconds.append(other)
        owners.append(rows)
    return np.concatenate(firsts), np.concatenate(seconds), np.concatenate(owners)


def distances(first: Floats, second: Floats) -> Floats:
    """Distances of the origin from line segments in the plane; shapes (n, 2), (n, 2) to (n,)."""
    step = second - first
    square = np.einsum("ij,ij->i", step, step)
    t = np.clip(-np.einsum("ij,ij->i", first, step) / np.where(square < _TINY**2, 1.0, square), 0.0, 1.0)
    foot = first + t[:, None] * step
    return np.asarray(np.hypot(foot[:, 0], foot[:, 1]))


def most(corners: Floats) -> Floats:
    """The greatest of three along the last axis; much quicker than a reduction over so short an axis."""
    return np.asarray(np.maximum(np.maximum(corners[..., 0], corners[..., 1]), corners[..., 2]))


def least(corners: Floats) -> Floats:
    """The least of three along the last axis."""
    return np.asarray(np.minimum(np.minimum(corners[..., 0], corners[..., 1]), corners[..., 2]))


def over_origin(triangles: Floats, low: Floats) -> NDArray[np.bool_]:
    """Which triangles, seen along their first coordinate, lie over the origin at `low` or above.

    Args:
        triangles: shape (n, 3, 3), as in `outlines`.
        low: shape (n,).
    """
    x, y = triangles[:, :, 1], triangles[:, :, 2]
    twice = [x[:, i] * y[:, (i + 1) % 3] - x[:, (i + 1) % 3] * y[:, i] for i in range(3)]
    area = twice[0] + twice[1] + twice[2]
    inside = ((twice[0] >= 0) & (twice[1] >= 0) & (twice[2] >= 0)) | (
        (twice[0] <= 0) & (twice[1] <= 0) & (twice[2] <= 0)
    )
    inside &= np.abs(area) > _TINY
    divisor = np.where(np.abs(area) > _TINY, area, 1.0)
    # The weight of a corner is the area opposite to it.
    height = sum(triangles[:, (i + 2) % 3, 0] * twice[i] for i in range(3)) / divisor
    return np.asarray(inside & (height >= low))
