"""Where curved faces lie, by the bounds of their own parameters alone: quick, for thousands of fillets and holes.

A point of such a face is `C + rho e(u) + z Z` with the axis Z through C and e(u) = X cos u + Y sin u across it: rho and
z depend on v alone. Cylinder: rho = R, z = v. Cone: rho = R + v sin a, z = v cos a. Sphere: rho = R cos v, z = R sin v.
Torus: rho = R + r cos v, z = r sin v. Along any direction the point therefore lies within what the ranges of rho, cos
and z give when each is taken by itself; that is no less than the face spans.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.obstacles import Floats
from fitcheck.measurement.survey import Face
from fitcheck.measurement.vectors import Frame

KINDS = ("cylinder", "cone", "sphere", "torus")

Bounds = tuple[Floats, Floats, Floats]
"""First and last station, and a distance from the drive axis that nothing comes nearer than; each of shape (n,)."""

Range = tuple[Floats, Floats]

ANGLE, LENGTH = 0.2, 0.5
"""rad and mm; parts of a line that run farther than this outside a face's bounds are left out. Far more than bounds are
ever off, and than most chords of a line span."""

_TURN = 2.0 * math.pi


def patch_bounds(faces: Sequence[Face], frame: Frame) -> Bounds:
    """How near to the axis faces may come, at the most.

    Args:
        faces: native ones of `KINDS`.
        frame: the axis frame.
    """
    if not faces:
        return np.zeros(0), np.zeros(0), np.zeros(0)
    turn = np.array([frame.along, frame.x, frame.y]).T
    centre = (np.array([face.origin for face in faces]) - np.array(frame.origin)) @ turn
    x, y, axis = (
        np.array(rows) @ turn for rows in ([f.x for f in faces], [f.y for f in faces], [f.axis for f in faces])
    )
    u = np.array([face.u for face in faces]).T
    rho, z = _rho_and_z(faces)

    def reach(direction: Floats) -> Range:
        """The range of the component along directions (n, 3)."""
        a, b, c = ((rows * direction).sum(axis=1) for rows in (x, y, axis))
        size, top = np.hypot(a, b), np.arctan2(b, a)
        least, most = _product(rho, _cosines(u[0] - top, u[1] - top))
        rise = np.sort(np.stack([z[0] * c, z[1] * c]), axis=0)
        middle = (centre * direction).sum(axis=1)
        return middle + size * least + rise[0], middle + size * most + rise[1]

    low, high = reach(np.broadcast_to(np.array([1.0, 0.0, 0.0]), centre.shape))
    near = np.zeros(len(faces))
    for direction in (axis[:, 1:], centre[:, 1:]):
        away = []
        for side in squared(direction):
            least, most = reach(np.concatenate([np.zeros((len(faces), 1)), side], axis=1))
            away.append(np.where(least * most <= 0.0, 0.0, np.minimum(np.abs(least), np.abs(most))))
        near = np.maximum(near, np.hypot(*away))
    return low, high, near


def _rho_and_z(faces: Sequence[Face]) -> tuple[Range, Range]:
    kinds = np.array([face.kind for face in faces])
    radius, minor, semi = (
        np.array(values) for values in ([f.radius for f in faces], [f.minor for f in faces], [f.semi for f in faces])
    )
    v = np.array([face.v for face in faces]).T
    # A sphere is a torus whose ring has no size; a cylinder a cone that does not open.
    round_ = (kinds == "sphere") | (kinds == "torus")
    ring, tube = np.where(kinds == "sphere", 0.0, radius), np.where(kinds == "sphere", radius, minor)
    slope = np.where(kinds == "cone", semi, 0.0)
    cosine, sine = _cosines(v[0], v[1]), _cosines(v[0] - 0.5 * math.pi, v[1] - 0.5 * math.pi)
    slant = np.sort(radius + v * np.sin(slope), axis=0)
    rise = np.sort(v * np.cos(slope), axis=0)
    rho = tuple(np.where(round_, ring + tube * cosine[k], slant[k]) for k in (0, 1))
    z = tuple(np.where(round_, tube * sine[k], rise[k]) for k in (0, 1))
    return (rho[0], rho[1]), (z[0], z[1])


def _cosines(first: Floats, last: Floats) -> Range:
    """The range of the cosine over angles from `first` to `last`, rad."""
    ends = np.sort(np.stack([np.cos(first), np.cos(last)]), axis=0)
    with np.errstate(invalid="ignore"):
        top = np.mod(-first, _TURN) <= last - first
        bottom = np.mod(math.pi - first, _TURN) <= last - first
    return np.where(bottom, -1.0, ends[0]), np.where(top, 1.0, ends[1])


def _product(a: Range, b: Range) -> Range:
    corners = np.stack([a[0] * b[0], a[0] * b[1], a[1] * b[0], a[1] * b[1]])
    return corners.min(axis=0), corners.max(axis=0)


def squared(direction: Floats) -> tuple[Floats, Floats]:
    """A direction (n, 2) at length 1 and the one square to it; any where it has no length."""
    size = np.hypot(direction[:, 0], direction[:, 1])
    flat = size < 1e-9
    one = np.where(flat[:, None], np.array([1.0, 0.0]), direction / np.where(flat, 1.0, size)[:, None])
    return one, np.stack([-one[:, 1], one[:, 0]], axis=1)


def within(face: Face, line: Floats) -> list[Floats]:
    """The parts of a polyline that run inside a face's bounds, or not far outside; all of it where that is not known.

    Args:
        face: a face; the line lies on its surface.
        line: corners (n, 3), mm, file frame.
    """
    if not face.native or face.kind not in KINDS or len(line) < 3 or not np.isfinite(line).all():
        return [line]
    away = line - np.array(face.origin)
    a, b, z = (away @ np.array(direction) for direction in (face.x, face.y, face.axis))
    rho = np.hypot(a, b)
    u, v, margin = np.arctan2(b, a), z, LENGTH
    if face.kind == "cone":
        v = z / math.cos(face.semi)
    elif face.kind in ("sphere", "torus"):
        v, margin = np.arctan2(z, rho if face.kind == "sphere" else rho - face.radius), ANGLE
    inside = _between(u, face.u, ANGLE) | (rho < 1e-6)
    inside &= (
        _between(v, face.v, margin)
        if face.kind == "torus"
        else np.abs(2.0 * v - sum(face.v)) <= (face.v[1] - face.v[0] + 2.0 * margin)
    )
    # A long chord may run through the bounds though both its ends lie outside.
    steps = np.abs((np.diff(u) + math.pi) % _TURN - math.pi), np.abs(np.diff(v))
    kept = inside[:-1] | inside[1:] | (steps[0] > ANGLE) | (steps[1] > margin)
    starts = np.flatnonzero(kept & ~np.concatenate([[False], kept[:-1]]))
    stops = np.flatnonzero(kept & ~np.concatenate([kept[1:], [False]])) + 2
    return [line[start:stop] for start, stop in zip(starts.tolist(), stops.tolist(), strict=True)]


def _between(angle: Floats, bounds: tuple[float, float], margin: float) -> NDArray[np.bool_]:
    return np.asarray(np.mod(angle - bounds[0] + margin, _TURN) <= bounds[1] - bounds[0] + 2.0 * margin)
