"""At which shaft angles a straight tool comes to a screw from outside without touching anything.

A tool is a stack of cylinders on the screw's axis; each that slides in from outside sweeps a cylinder of its own radius
from its start to infinity, so a position is free exactly when none of these half-infinite cylinders meets material.

Turned into the plane: at station s the cylinder of radius R about station k is the half-strip |n.p - h| <= a(s),
u.p >= start, with a(s) = sqrt(R^2 - (s - k)^2). Within a slab of stations the half-strip with the slab's greatest `a`
contains the tool and the one with its least `a` lies in it, so the slab's material, projected on (x, y), gives an outer
and an inner set of blocked angles. Both are closed-form; slabs are halved (in the angle whose sine is (s - k) / R) only
where the two sets differ by more than the tolerance. What is returned is the outer set.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.intervals import Gap, covered, gaps, merged, unwrapped
from fitcheck.measurement.obstacles import Floats, Obstacles
from fitcheck.measurement.outlines import least, most, outlines

_MOST_ROUNDS = 18
_TINY = 1e-12


@dataclass(frozen=True, kw_only=True)
class ToolPart:
    """One cylinder of a tool: it starts at distance `start` along the screw's direction and has `radius`, both mm."""

    start: float
    radius: float


@dataclass(frozen=True, kw_only=True)
class Corridor:
    """Free shaft angles of a tool, and the bodies (indices) that block the others, most blocking first."""

    free: tuple[Gap, ...]
    blockers: tuple[int, ...]

    @property
    def widest(self) -> Gap | None:
        """The widest free range, or None where the tool fits at no angle."""
        return max(self.free, key=lambda gap: gap.width, default=None)


def corridor(
    obstacles: Obstacles,
    station: float,
    offset: float,
    parts: Sequence[ToolPart],
    *,
    leave_out: Iterable[int] = (),
    tolerance: float = 0.01,
) -> Corridor:
    """The shaft angles at which a straight tool reaches a screw across the drive axis.

    Args:
        obstacles: the measurement's obstacles; triangles are used, grown by their bound.
        station: station of the screw's axis, mm.
        offset: distance of the screw's axis from the drive axis along n, mm.
        parts: the tool's cylinders.
        leave_out: body indices that do not count.
        tolerance: degrees by which a reported free range may be too narrow at either side; it is never too wide.

    Returns:
        Free ranges of the direction from screw to tool, in degrees of shaft angle.
    """
    lows, highs, owners = [], [], []
    skip = np.fromiter(leave_out, dtype=np.int64)
    for part in parts:
        triangles, bound, body = _in_reach(obstacles, station, offset, part, skip)
        if body.size:
            low, high, owner = _blocked(triangles, bound, body, station, offset, part, np.radians(tolerance))
            lows.append(low)
            highs.append(high)
            owners.append(owner)
    if not lows:
        return Corridor(free=gaps(np.empty(0), np.empty(0), np.empty(0, dtype=np.int64)), blockers=())
    low, high, owner = np.concatenate(lows), np.concatenate(highs), np.concatenate(owners)
    shares = {}
    for index in np.unique(owner):
        mine = owner == index
        first, last = merged(*unwrapped(low[mine], high[mine], owner[mine])[:2])
        shares[int(index)] = float(np.sum(last - first))
    return Corridor(free=gaps(low, high, owner), blockers=tuple(sorted(shares, key=lambda i: -shares[i])))


def _in_reach(
    obstacles: Obstacles, station: float, offset: float, part: ToolPart, skip: NDArray[np.int64]
) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """The triangles that the tool part could meet at some angle: (triangles, bounds, bodies)."""
    along = obstacles.triangles[:, :, 0]
    reach = part.radius + obstacles.triangle_bound
    keep = (least(along) <= station + reach) & (most(along) >= station - reach)
    if skip.size:
        keep &= ~np.isin(obstacles.triangle_body, skip)
    near = np.flatnonzero(keep)
    triangles, bound = obstacles.triangles[near], obstacles.triangle_bound[near]
    radius = most(np.hypot(triangles[:, :, 1], triangles[:, :, 2]))
    far = radius >= _least_radius(part.start - bound, offset, part.radius + bound) - 1e-9
    near = near[far]
    return triangles[far], bound[far], obstacles.triangle_body[near].astype(np.int64)


def _least_radius(start: Floats, offset: float, half_width: Floats) -> Floats:
    """Distance of the half-strip's nearest point from the drive axis, mm."""
    return np.hypot(np.maximum(start, 0.0), np.maximum(abs(offset) - half_width, 0.0))


def _blocked(
    triangles: Floats, bound: Floats, body: NDArray[np.int64], station: float, offset: float, part: ToolPart, tol: float
) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """Outer blocked intervals in radians with their bodies, within `tol` of the true union at either side."""
    radius, start = part.radius + bound, np.maximum(part.start - bound, 0.0)
    index = np.arange(body.size)
    low_phi, high_phi = np.full(body.size, -np.pi / 2), np.full(body.size, np.pi / 2)
    sure_low, sure_high = np.empty(0), np.empty(0)
    done: list[tuple[Floats, Floats, NDArray[np.int64]]] = []
    for turn in range(_MOST_ROUNDS):
        r = radius[index]
        first, second, owner = outlines(triangles[index], station + r * np.sin(low_phi), station + r * np.sin(high_phi))
        cosines = np.cos(low_phi), np.cos(high_phi)
        widest = r * np.where(low_phi * high_phi <= 0.0, 1.0, np.maximum(*cosines))
        narrowest = np.maximum(r * np.minimum(*cosines), 0.0)
        at_start = start[index][owner]
        low, high, which = edge_intervals(first, second, at_start, offset, widest[owner])
        inner_low, inner_high, inner = edge_intervals(first, second, at_start, offset, narrowest[owner])
        inner_low, inner_high, _ = unwrapped(inner_low, inner_high, inner)
        sure_low, sure_high = merged(
            np.concatenate([sure_low, inner_low - tol]), np.concatenate([sure_high, inner_high + tol])
        )
        low, high, which = unwrapped(low, high, owner[which])
        settled = covered(low, high, sure_low, sure_high)
        if turn == _MOST_ROUNDS - 1:
            settled[:] = True
        open_pieces = np.zeros(index.size, dtype=bool)
        open_pieces[which[~settled]] = True
        accept = ~open_pieces[which]
        done.append((low[accept], high[accept], body[index[which[accept]]]))
        if not open_pieces.any():
            break
        index, low_phi, high_phi = index[open_pieces], low_phi[open_pieces], high_phi[open_pieces]
        middle = 0.5 * (low_phi + high_phi)
        index = np.concatenate([index, index])
        low_phi, high_phi = np.concatenate([low_phi, middle]), np.concatenate([middle, high_phi])
    return tuple(np.concatenate(column) for column in zip(*done, strict=True))  # type: ignore[return-value]


def edge_intervals(
    first: Floats, second: Floats, start: Floats, offset: float, half_width: Floats
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

    start, half_width = start[rows], half_width[rows]
    nearest = _least_radius(start, offset, half_width)
    hit = far >= nearest
    if not hit.all():
        rows, far, far_phi, near, near_phi, sign = (v[hit] for v in (rows, far, far_phi, near, near_phi, sign))
        start, half_width, nearest = start[hit], half_width[hit], nearest[hit]
    d, normal_angle = distance[rows], mu[rows]

    def turned(rho: Floats) -> Floats:
        return np.asarray(normal_angle + sign * np.arccos(np.clip(d / np.maximum(rho, _TINY), -1.0, 1.0)))

    top, bottom = offset + half_width, offset - half_width
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
