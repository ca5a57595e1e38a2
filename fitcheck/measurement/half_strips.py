"""The shaft angles at which lines and triangles meet a half-strip about a screw, in the plane square to the drive axis.

The half-strip |n.p - offset| <= half width, u.p >= start is what a tool's cylinder covers within a slab of stations on
its way in (`corridor`); u is the screw's direction and n lies left of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.intervals import TURN, apart
from fitcheck.measurement.obstacles import Floats
from fitcheck.measurement.outlines import least, length_of, most

_TINY = 1e-12
TURN_OFF = 1e-9
"""rad; slabs are taken wider by this at either side, so that rounding leaves out nothing."""


def least_radius(start: Floats, offset: float | Floats, half_width: Floats) -> Floats:
    """Distance of the half-strip's nearest point from the drive axis, mm."""
    return length_of(np.maximum(start, 0.0), np.maximum(np.abs(offset) - half_width, 0.0))


def holding_angles(triangles: Floats, radius: Floats, start: Floats, offset: Floats) -> tuple[Floats, Floats]:
    """Angles (radians) that hold all at which a cylinder meets each triangle.

    A point at polar (rho, phi) is met at most from phi - upper(rho) to phi - lower(rho) (`edge_intervals`). Of a
    triangle that is not about the drive axis phi lies between its corners' directions, delta apart, and rho is no less
    than the nearest corner's times cos(delta / 2).
    """
    x, y = triangles[:, :, 1], triangles[:, :, 2]
    rho, phi = length_of(x, y), np.arctan2(y, x)
    second, third = apart(phi[:, 1], phi[:, 0]), apart(phi[:, 2], phi[:, 0])
    below, above = np.minimum(np.minimum(second, third), 0.0), np.maximum(np.maximum(second, third), 0.0)
    delta, far = above - below, most(rho)
    about = delta >= np.pi - 1e-6
    near = least(rho) * np.cos(0.5 * np.minimum(delta, np.pi))
    nearest = least_radius(start, offset, radius)
    near, far = np.maximum(np.maximum(near, nearest), _TINY), np.maximum(far, _TINY)
    top, bottom = offset + radius, offset - radius
    side = np.arccos((start / far).clip(-1.0, 1.0))
    upper = np.minimum(np.arcsin(np.clip(top / np.where(top > 0.0, near, far), -1.0, 1.0)), side)
    lower = np.maximum(np.arcsin(np.clip(bottom / np.where(bottom < 0.0, near, far), -1.0, 1.0)), -side)
    low, high = phi[:, 0] + below - upper - TURN_OFF, phi[:, 0] + above - lower + TURN_OFF
    low, high = np.where(about, 0.0, low), np.where(about, TURN, high)
    return low, np.maximum(high, low)


def edge_intervals(
    first: Floats, second: Floats, start: Floats, offset: float | Floats, half_width: Floats
) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """Angles (radians) at which line segments meet the half-strip |n.p - offset| <= half_width, u.p >= start.

    A point at polar (rho, phi) meets it for theta in [phi - upper(rho), phi - lower(rho)], where
    upper = min(asin((offset + half_width) / rho), acos(start / rho)) and
    lower = max(asin((offset - half_width) / rho), -acos(start / rho)),
    if rho reaches the strip's nearest point. Along a segment rho falls to the foot of the perpendicular and rises after
    it; on each side the part that is far enough is one stretch, so its angles form one interval. On the stretch each
    branch of `phi - upper` and `phi - lower` is monotone (its derivative vanishes only for a segment that runs along
    the strip's side or start, where it is constant), so the extremes are at the stretch's ends or where the branch
    changes: at the strip's start corners, rho = hypot(start, offset +- half_width).

    Returns:
        Lower and upper ends, and the segment (index) of each interval; up to two intervals a segment.
    """
    return _met(_stretches(first, second), start, offset, half_width)


def intervals_of_widths(
    first: Floats, second: Floats, start: Floats, offset: float | Floats, half_widths: Sequence[Floats]
) -> list[tuple[Floats, Floats, NDArray[np.int64]]]:
    """`edge_intervals` for each of some half widths; what depends on the segments alone is worked out once."""
    stretches = _stretches(first, second)
    return [_met(stretches, start, offset, half_width) for half_width in half_widths]


@dataclass(frozen=True)
class _Stretches:
    """Segments cut at the foot of the perpendicular from the drive axis: up to two pieces each, all of shape (n,).

    Attributes:
        rows: the segment that a piece is of.
        near: distance of its nearer end from the drive axis.
        near_phi: direction of that end, radians.
        far: distance of its farther end.
        turn: by how much the direction changes from the nearer end to the farther, within half a turn.
        sign: which way the direction turns on the way out.
        distance: distance of the segment's line from the drive axis.
        normal: direction of that line's nearest point.
    """

    rows: NDArray[np.int64]
    near: Floats
    near_phi: Floats
    far: Floats
    turn: Floats
    sign: Floats
    distance: Floats
    normal: Floats

    def direction(self, which: NDArray[np.int64], rho: Floats) -> Floats:
        """Direction of the points of some pieces' lines at a distance from the drive axis, radians."""
        ratio = self.distance[which] / np.maximum(rho, _TINY)
        return np.asarray(self.normal[which] + self.sign[which] * np.arccos(ratio.clip(-1.0, 1.0)))


def _stretches(first: Floats, second: Floats) -> _Stretches:
    step = second - first
    length = length_of(step[:, 0], step[:, 1])
    degenerate = length < _TINY
    divisor = np.where(degenerate, 1.0, length)
    normal = np.stack([-step[:, 1] / divisor, step[:, 0] / divisor], axis=1)
    distance = np.einsum("ij,ij->i", normal, first)
    normal = np.where(distance[:, None] < 0.0, -normal, normal)
    distance = np.where(degenerate, 0.0, np.abs(distance))
    mu = np.arctan2(normal[:, 1], normal[:, 0])
    foot = np.where(degenerate, 0.0, -np.einsum("ij,ij->i", first, step) / divisor**2)
    # Turning from the foot towards `second` goes this way about the drive axis.
    sense = np.where(normal[:, 0] * step[:, 1] - normal[:, 1] * step[:, 0] >= 0.0, 1.0, -1.0)
    rho_a, rho_b = length_of(first[:, 0], first[:, 1]), length_of(second[:, 0], second[:, 1])
    phi_a, phi_b = np.arctan2(first[:, 1], first[:, 0]), np.arctan2(second[:, 1], second[:, 0])
    between = (foot > 0.0) & (foot < 1.0)
    # The stretch before the foot (towards `first`, or empty) and the one after it (towards `second`).
    before, after = np.flatnonzero(foot > 0.0), np.flatnonzero(foot < 1.0)
    rows = np.concatenate([before, after])
    near = np.where(between[rows], distance[rows], np.concatenate([rho_b[before], rho_a[after]]))
    near_phi = np.where(between[rows], mu[rows], np.concatenate([phi_b[before], phi_a[after]]))
    return _Stretches(
        rows=rows, near=near, near_phi=near_phi, far=np.concatenate([rho_a[before], rho_b[after]]),
        turn=apart(np.concatenate([phi_a[before], phi_b[after]]), near_phi),
        sign=np.concatenate([-sense[before], sense[after]]), distance=distance[rows], normal=mu[rows],
    )  # fmt: skip


def _met(
    stretches: _Stretches, start: Floats, offset: float | Floats, half_width: Floats
) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """`edge_intervals`; the strip's shapes are those of the segments."""
    rows = stretches.rows
    start, half_width = start[rows], half_width[rows]
    aside = np.full(rows.size, offset) if isinstance(offset, (int, float)) else offset[rows]
    nearest = least_radius(start, aside, half_width)
    hit = np.flatnonzero(stretches.far >= nearest)
    if hit.size < rows.size:
        start, half_width, aside, nearest = start[hit], half_width[hit], aside[hit], nearest[hit]
    near, far, near_phi, turn = stretches.near[hit], stretches.far[hit], stretches.near_phi[hit], stretches.turn[hit]
    # Of a piece that begins too near only what lies farther out counts. All angles are relative to the nearer end, so
    # that a stretch across the -x axis does not jump by a turn.
    cut = np.flatnonzero(near < nearest)
    begin = stretches.direction(hit[cut], nearest[cut])
    turn[cut] = apart(near_phi[cut] + turn[cut], begin)
    near_phi[cut], near = begin, np.maximum(near, nearest)
    top, bottom = aside + half_width, aside - half_width

    def sides(rho: Floats, which: NDArray[np.int64] | slice) -> tuple[Floats, Floats]:
        rho = np.maximum(rho, _TINY)
        side = np.arccos((start[which] / rho).clip(0.0, 1.0))
        upper = np.minimum(np.arcsin((top[which] / rho).clip(-1.0, 1.0)), side)
        return upper, np.maximum(np.arcsin((bottom[which] / rho).clip(-1.0, 1.0)), -side)

    (upper, lower), (far_upper, far_lower) = sides(near, slice(None)), sides(far, slice(None))
    low, high = np.minimum(-upper, turn - far_upper), np.maximum(-lower, turn - far_lower)
    for corner in (length_of(start, top), length_of(start, bottom)):
        within = np.flatnonzero((corner > near) & (corner < far))
        phi = apart(stretches.direction(hit[within], corner[within]), near_phi[within])
        upper, lower = sides(corner[within], within)
        low[within], high[within] = np.minimum(low[within], phi - upper), np.maximum(high[within], phi - lower)
    low, high = near_phi + low, near_phi + high
    return low, np.maximum(low, high), rows[hit]
