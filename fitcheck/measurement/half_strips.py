"""The shaft angles at which lines and triangles meet a half-strip about a screw, in the plane square to the drive axis.

The half-strip |n.p - offset| <= half width, u.p >= start is what a tool's cylinder covers within a slab of stations on
its way in (`corridor`); u is the screw's direction and n lies left of it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.intervals import TURN
from fitcheck.measurement.obstacles import Floats
from fitcheck.measurement.outlines import least, most

_TINY = 1e-12
TURN_OFF = 1e-9
"""rad; slabs are taken wider by this at either side, so that rounding leaves out nothing."""


def least_radius(start: Floats, offset: float | Floats, half_width: Floats) -> Floats:
    """Distance of the half-strip's nearest point from the drive axis, mm."""
    return np.hypot(np.maximum(start, 0.0), np.maximum(np.abs(offset) - half_width, 0.0))


def holding_angles(triangles: Floats, radius: Floats, start: Floats, offset: Floats) -> tuple[Floats, Floats]:
    """Angles (radians) that hold all at which a cylinder meets each triangle.

    A point at polar (rho, phi) is met at most from phi - upper(rho) to phi - lower(rho) (`edge_intervals`). Of a
    triangle that is not about the drive axis phi lies between its corners' directions, delta apart, and rho is no less
    than the nearest corner's times cos(delta / 2).
    """
    x, y = triangles[:, :, 1], triangles[:, :, 2]
    rho, phi = np.hypot(x, y), np.arctan2(y, x)
    apart = np.mod(phi[:, 1:] - phi[:, :1] + np.pi, TURN) - np.pi
    below, above = np.minimum(apart, 0.0).min(axis=1), np.maximum(apart, 0.0).max(axis=1)
    delta, far = above - below, most(rho)
    about = delta >= np.pi - 1e-6
    near = least(rho) * np.cos(0.5 * np.minimum(delta, np.pi))
    nearest = least_radius(start, offset, radius)
    near, far = np.maximum(np.maximum(near, nearest), _TINY), np.maximum(far, _TINY)
    top, bottom = offset + radius, offset - radius
    side = np.arccos(np.clip(start / far, -1.0, 1.0))
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
    step = second - first
    length = np.hypot(step[:, 0], step[:, 1])
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

    rho_a, rho_b = np.hypot(first[:, 0], first[:, 1]), np.hypot(second[:, 0], second[:, 1])
    phi_a, phi_b = np.arctan2(first[:, 1], first[:, 0]), np.arctan2(second[:, 1], second[:, 0])
    between = (foot > 0.0) & (foot < 1.0)
    # The stretch before the foot (towards `first`, or empty) and the one after it (towards `second`).
    before = foot > 0.0
    after = foot < 1.0
    near_before = np.where(between, distance, rho_b)
    near_after = np.where(between, distance, rho_a)
    rows = np.concatenate([np.flatnonzero(before), np.flatnonzero(after)])
    far = np.concatenate([rho_a[before], rho_b[after]])
    far_phi = np.concatenate([phi_a[before], phi_b[after]])
    near = np.concatenate([near_before[before], near_after[after]])
    near_phi = np.concatenate([np.where(between, mu, phi_b)[before], np.where(between, mu, phi_a)[after]])
    sign = np.concatenate([-sense[before], sense[after]])

    start, half_width, aside = (
        start[rows],
        half_width[rows],
        np.broadcast_to(np.asarray(offset, dtype=float), start.shape)[rows],
    )
    nearest = least_radius(start, aside, half_width)
    hit = far >= nearest
    if not hit.all():
        rows, far, far_phi, near, near_phi, sign = (v[hit] for v in (rows, far, far_phi, near, near_phi, sign))
        start, half_width, aside, nearest = start[hit], half_width[hit], aside[hit], nearest[hit]
    d, normal_angle = distance[rows], mu[rows]

    def turned(rho: Floats) -> Floats:
        return np.asarray(normal_angle + sign * np.arccos(np.clip(d / np.maximum(rho, _TINY), -1.0, 1.0)))

    top, bottom = aside + half_width, aside - half_width
    # All angles relative to the near end, so that a stretch across the -x axis does not jump by a turn.
    cut = near < nearest
    near_phi = np.where(cut, turned(nearest), near_phi)
    near = np.maximum(near, nearest)
    rhos = [near, far]
    phis = [np.zeros_like(near), _relative(far_phi, near_phi)]
    for corner in (np.hypot(start, top), np.hypot(start, bottom)):
        within = (corner > near) & (corner < far)
        rhos.append(np.where(within, corner, near))
        phis.append(np.where(within, _relative(turned(corner), near_phi), 0.0))
    rho, phi = np.maximum(np.stack(rhos), _TINY), np.stack(phis)
    side = np.arccos(np.clip(start / rho, 0.0, 1.0))
    upper = np.minimum(np.arcsin(np.clip(top / rho, -1.0, 1.0)), side)
    lower = np.maximum(np.arcsin(np.clip(bottom / rho, -1.0, 1.0)), -side)
    low, high = near_phi + (phi - upper).min(axis=0), near_phi + (phi - lower).max(axis=0)
    return low, np.maximum(low, high), rows


def _relative(angle: Floats, reference: Floats) -> Floats:
    """`angle - reference`, brought into [-pi, pi]; no stretch of a segment turns by more than a right angle."""
    return np.asarray(np.mod(angle - reference + np.pi, 2.0 * np.pi) - np.pi)
