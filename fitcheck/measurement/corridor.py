"""At which shaft angles a straight tool comes to a screw from outside without touching anything.

A tool is a stack of cylinders on the screw's axis; each that slides in from outside sweeps a cylinder of its own radius
from its start to infinity, so a position is free exactly when none of these half-infinite cylinders meets material.

Turned into the plane: at station s the cylinder of radius R about station k is the half-strip |n.p - h| <= a(s),
u.p >= start, with a(s) = sqrt(R^2 - (s - k)^2). Within a slab of stations the half-strip with the slab's greatest `a`
contains the tool and the one with its least `a` lies in it, so the slab's material, projected on (x, y), gives an outer
and an inner set of blocked angles. Both are closed-form; slabs are cut (in the angle whose sine is (s - k) / R) only
where the two sets differ by more than the tolerance. What is returned is the outer set.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.intervals import TURN, Gap, covered, gaps, merged, unwrapped
from fitcheck.measurement.obstacles import Floats, Obstacles
from fitcheck.measurement.outlines import least, most, outlines

_MOST_ROUNDS = 9
_PIECES = 4
"""Into so many slabs an open one is cut; rounds are many and arrays short, so few rounds are quick."""
_APART = TURN + 1.0
"""How far apart the turns of two parts lie on the line that they are merged on."""
_TINY = 1e-12
_TURN_OFF = 1e-9
"""rad; slabs are taken wider by this at either side, so that rounding leaves out nothing."""


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
    within: Sequence[Gap] = (),
) -> Corridor:
    """The shaft angles at which a straight tool reaches a screw across the drive axis.

    Args:
        obstacles: the measurement's obstacles; triangles are used, grown by their bound.
        station: station of the screw's axis, mm.
        offset: distance of the screw's axis from the drive axis along n, mm.
        parts: the tool's cylinders.
        leave_out: body indices that do not count.
        tolerance: degrees by which a reported free range may be too narrow at either side; it is never too wide.
        within: ranges outside which the answer does not matter, and may be too narrow; all matter without any.

    Returns:
        Free ranges of the direction from screw to tool, in degrees of shaft angle.
    """
    return corridors(
        obstacles, station, offset, [parts], leave_out=leave_out, tolerance=tolerance, within=within
    )[0]  # fmt: skip


def corridors(
    obstacles: Obstacles,
    station: float,
    offset: float,
    tools: Sequence[Sequence[ToolPart]],
    *,
    leave_out: Iterable[int] = (),
    tolerance: float = 0.01,
    within: Sequence[Gap] = (),
) -> tuple[Corridor, ...]:
    """`corridor` of several tools on one screw; a part that several have is looked at once, and all in one go."""
    every = list(dict.fromkeys(part for parts in tools for part in parts))
    low, high, owner, whose = _blocked_angles(obstacles, station, offset, every, leave_out, tolerance, within)
    found: list[Corridor] = []
    for parts in tools:
        mine = np.isin(whose, [every.index(part) for part in parts])
        found.append(_left_free(low[mine], high[mine], owner[mine]))
    return tuple(found)


def _left_free(low: Floats, high: Floats, owner: NDArray[np.int64]) -> Corridor:
    shares = {}
    for index in np.unique(owner):
        mine = owner == index
        first, last = merged(*unwrapped(low[mine], high[mine], owner[mine])[:2])
        shares[int(index)] = float(np.sum(last - first))
    return Corridor(free=gaps(low, high, owner), blockers=tuple(sorted(shares, key=lambda i: -shares[i])))


def _blocked_angles(
    obstacles: Obstacles,
    station: float,
    offset: float,
    parts: Sequence[ToolPart],
    leave_out: Iterable[int],
    tolerance: float,
    within: Sequence[Gap],
) -> tuple[Floats, Floats, NDArray[np.int64], NDArray[np.int64]]:
    """The shaft angles that parts of tools block: lower and upper ends (radians), and the body and the part of each."""
    skip = np.fromiter(leave_out, dtype=np.int64)
    reach = max((part.radius for part in parts), default=0.0) + obstacles.triangle_bound
    along = obstacles.triangles[:, :, 0]
    keep = (least(along) <= station + reach) & (most(along) >= station - reach)
    if skip.size:
        keep &= ~np.isin(obstacles.triangle_body, skip)
    triangles, bound = obstacles.triangles[keep], obstacles.triangle_bound[keep]
    body = obstacles.triangle_body[keep].astype(np.int64)
    low, high = least(triangles[:, :, 0]) - station, most(triangles[:, :, 0]) - station
    away = most(np.hypot(triangles[:, :, 1], triangles[:, :, 2]))
    rows: list[NDArray[np.int64]] = [np.empty(0, dtype=np.int64)]
    numbers: list[NDArray[np.int64]] = [np.empty(0, dtype=np.int64)]
    for index, part in enumerate(parts):
        wide = part.radius + bound
        near = (low <= wide) & (high >= -wide) & (away >= _least_radius(part.start - bound, offset, wide) - 1e-9)
        rows.append(np.flatnonzero(near))
        numbers.append(np.full(rows[-1].size, index, dtype=np.int64))
    row, number = np.concatenate(rows), np.concatenate(numbers)
    if row.size == 0:
        return np.empty(0), np.empty(0), row, number
    radius = np.array([part.radius for part in parts])[number] + bound[row]
    start = np.maximum(np.array([part.start for part in parts])[number] - bound[row], 0.0)
    tol, asked = np.radians(tolerance), _asked(within)
    first, last, which = _blocked(triangles[row], radius, start, number, station, offset, tol, asked)
    return first, last, body[row[which]], number[which]


def _least_radius(start: Floats, offset: float, half_width: Floats) -> Floats:
    """Distance of the half-strip's nearest point from the drive axis, mm."""
    return np.hypot(np.maximum(start, 0.0), np.maximum(abs(offset) - half_width, 0.0))


def _blocked(
    triangles: Floats, radius: Floats, start: Floats, number: NDArray[np.int64], station: float, offset: float,
    tol: float, asked: tuple[Floats, Floats],
) -> tuple[Floats, Floats, NDArray[np.int64]]:  # fmt: skip
    """Outer blocked intervals in radians and their triangles, within `tol` of the true union where it is asked for.

    Each triangle is met by a cylinder of its own `radius` and `start`; `number` tells which belong together.
    """
    index = np.arange(number.size)
    # Within the tool, triangles are cut no farther than they reach: what lies square to the axis is exact at once.
    along = triangles[:, :, 0] - station
    low_phi = np.arcsin(np.clip(least(along) / radius, -1.0, 1.0)) - _TURN_OFF
    high_phi = np.arcsin(np.clip(most(along) / radius, -1.0, 1.0)) + _TURN_OFF
    sure_low, sure_high = np.empty(0), np.empty(0)
    done: list[tuple[Floats, Floats, NDArray[np.int64]]] = []
    for turn in range(_MOST_ROUNDS):
        r = radius[index]
        first, second, owner = outlines(triangles[index], station + r * np.sin(low_phi), station + r * np.sin(high_phi))
        cosines = np.maximum(np.cos(low_phi), 0.0), np.maximum(np.cos(high_phi), 0.0)
        widest = r * np.where(low_phi * high_phi <= 0.0, 1.0, np.maximum(*cosines))
        narrowest = r * np.minimum(*cosines)
        low, high, which, inner_low, inner_high, inner = _both_widths(
            first, second, start[index][owner], offset, widest[owner], narrowest[owner]
        )
        shift = number[index[owner]] * _APART
        inner_low, inner_high, inner = unwrapped(inner_low - tol, inner_high + tol, inner)
        sure_low, sure_high = merged(
            np.concatenate([sure_low, inner_low + shift[inner]]), np.concatenate([sure_high, inner_high + shift[inner]])
        )
        low, high, which = unwrapped(low, high, which)
        settled = covered(low + shift[which], high + shift[which], sure_low, sure_high)
        settled |= ~_touch(low, high, *asked)
        which = owner[which]
        if turn == _MOST_ROUNDS - 1:
            settled[:] = True
        open_pieces = np.zeros(index.size, dtype=bool)
        open_pieces[which[~settled]] = True
        accept = ~open_pieces[which]
        done.append((low[accept], high[accept], index[which[accept]]))
        if not open_pieces.any():
            break
        ends = np.linspace(low_phi[open_pieces], high_phi[open_pieces], _PIECES + 1)
        index = np.tile(index[open_pieces], _PIECES)
        low_phi, high_phi = ends[:-1].ravel(), ends[1:].ravel()
    return tuple(np.concatenate(column) for column in zip(*done, strict=True))  # type: ignore[return-value]


def _asked(within: Sequence[Gap]) -> tuple[Floats, Floats]:
    """The angles (radians, disjoint and ascending) that are asked for."""
    if not within or any(gap.width >= 360.0 for gap in within):
        return np.zeros(1), np.full(1, TURN)
    low, high = (np.radians([getattr(gap, end) for gap in within]) for end in ("start", "stop"))
    return merged(*unwrapped(low, high, np.zeros(low.size, dtype=np.int64))[:2])


def _touch(low: Floats, high: Floats, first: Floats, last: Floats) -> NDArray[np.bool_]:
    """Which intervals touch one of a disjoint ascending union."""
    at = np.searchsorted(last, low - _TURN_OFF, side="left")
    return np.asarray((at < first.size) & (first[np.minimum(at, first.size - 1)] <= high + _TURN_OFF))


def _both_widths(
    first: Floats, second: Floats, start: Floats, offset: float, widest: Floats, narrowest: Floats
) -> tuple[Floats, Floats, NDArray[np.int64], Floats, Floats, NDArray[np.int64]]:
    """`edge_intervals` for the greatest and for the least half width, in one go."""
    count = start.size
    low, high, which = edge_intervals(
        np.concatenate([first, first]), np.concatenate([second, second]), np.concatenate([start, start]), offset,
        np.concatenate([widest, narrowest]),
    )  # fmt: skip
    outer = which < count
    return low[outer], high[outer], which[outer], low[~outer], high[~outer], which[~outer] - count


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
