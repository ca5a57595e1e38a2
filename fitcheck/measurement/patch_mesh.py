"""Triangles of cones, spheres and tori that end along their own parameter lines, as fillets and countersinks do.

The kernel's mesher takes a millisecond and more for each, and does not promise to keep the deflection that it is asked
for; a grid along the parameters strays by no more than its chords do, across and along together.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.obstacles import Floats
from fitcheck.measurement.survey import Face, Survey

KINDS = ("cone", "sphere", "torus")

ON_EDGE = 1e-5
"""mm; how far an edge may run from the parameter line that it is taken for."""

SAMPLES = 4
"""Intervals of an edge at whose ends that is asked."""

MOST = 200_000
"""Triangles of one face at the most; what needs more is left to the kernel."""

_TURN = 2.0 * math.pi


def patch_triangles(survey: Survey, face: Face, stray: float) -> Floats | None:
    """Triangles (n, 3, 3) of a face, mm, file frame; None where it is no such patch.

    Args:
        survey: the file.
        face: the face.
        stray: mm that no point of a triangle may lie from the face by more than.
    """
    if not face.native or face.kind not in KINDS:
        return None
    numbers = (face.radius, face.minor, face.semi, *face.u, *face.v)
    if not all(map(math.isfinite, numbers)) or not _ends_along_its_parameters(survey, face):
        return None
    v = np.array(face.v)
    rho, _ = _section(face, v)
    tube = {"cone": 0.0, "sphere": face.radius, "torus": face.minor}[face.kind]
    widest = float(np.abs(rho).max())
    if tube > 0.0:
        widest = (0.0 if face.kind == "sphere" else face.radius) + tube
    across, along = chords(widest, face.u[1] - face.u[0], 0.5 * stray), 1
    if tube > 0.0:
        along = chords(tube, face.v[1] - face.v[0], 0.5 * stray)
    if 2 * across * along > MOST:
        return None
    u, v = np.linspace(*face.u, across + 1), np.linspace(*face.v, along + 1)
    rho, z = _section(face, v)
    out = np.cos(u)[:, None] * np.array(face.x) + np.sin(u)[:, None] * np.array(face.y)
    points = np.array(face.origin) + rho[None, :, None] * out[:, None] + z[None, :, None] * np.array(face.axis)
    a, b, c, d = points[:-1, :-1], points[1:, :-1], points[1:, 1:], points[:-1, 1:]
    found = np.concatenate([np.stack(three, axis=2).reshape(-1, 3, 3) for three in ((a, b, c), (a, c, d))])
    # At a pole or an apex one of the two has no area.
    area = np.linalg.norm(np.cross(found[:, 1] - found[:, 0], found[:, 2] - found[:, 0]), axis=1)
    return np.asarray(found[area > 1e-12])


def _section(face: Face, v: Floats) -> tuple[Floats, Floats]:
    """Distance from the face's own axis and height along it, at its second parameter (ISO 10303-42), mm."""
    if face.kind == "cone":
        return face.radius + v * math.sin(face.semi), v * math.cos(face.semi)
    if face.kind == "sphere":
        return face.radius * np.cos(v), face.radius * np.sin(v)
    return face.radius + face.minor * np.cos(v), face.minor * np.sin(v)


def chords(radius: float, span: float, stray: float) -> int:
    """Into so many chords an arc of `span` rad is cut, so that none strays from it by more than `stray` mm."""
    step = 2.0 * math.acos(max(1.0 - stray / max(radius, 1e-9), -1.0))
    return max(math.ceil(span / min(step, 1.0)), 1)


def _ends_along_its_parameters(survey: Survey, face: Face) -> bool:
    """Whether every edge runs along one of the face's four bounds: then the face is all that lies between them."""
    points = [np.array(edge.samples(SAMPLES)) for edge in survey.edges_of(face) if edge.kind != "none"]
    if not points or not (face.u[1] > face.u[0] and face.v[1] > face.v[0]):
        return False
    return all(_on_a_bound(face, some) for some in points)


def _on_a_bound(face: Face, points: Floats) -> bool:
    away = points - np.array(face.origin)
    a, b, z = (away @ np.array(direction) for direction in (face.x, face.y, face.axis))
    rho, u = np.hypot(a, b), np.arctan2(b, a)
    if not np.isfinite(rho).all():
        return False
    for angle in face.u:
        if (rho * np.abs(_wrapped(u - angle)) < ON_EDGE).all():
            return True
    for bound in face.v:
        there, height = _section(face, np.array([bound]))
        if (np.hypot(rho - there, z - height) < ON_EDGE).all():
            return True
    return False


def _wrapped(angle: Floats) -> NDArray[np.float64]:
    return np.asarray((angle + math.pi) % _TURN - math.pi)
