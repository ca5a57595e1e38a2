"""Free-form faces that need no fine mesh, as a coarse one shows that other material lies nearer to the drive axis.

The thread of a bolt hole beside the chamber is such a face: a mesh to micrometres takes 10 s or more, one to hundredths
of a millimetre takes a tenth of a second and tells as well that the chamber's wall is nearer.
"""

from __future__ import annotations

from array import array
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from fitcheck.measurement.meshed import reduced
from fitcheck.measurement.obstacles import Floats
from fitcheck.measurement.reach import Envelope
from fitcheck.measurement.survey import Face
from fitcheck.measurement.vectors import Frame

DEFLECTION = 0.05
"""mm; of the coarse mesh."""

BOUND = 0.25
"""mm; how far a face may lie from its coarse facets: the kernel does not promise to keep what it is asked for, so
five times of it is allowed (our judgement, no source)."""


def sorted_out(
    faces: Sequence[Face],
    frame: Frame,
    envelope: Envelope,
    ask: Callable[[str, dict[str, Any]], tuple[dict[str, Any], list[array[float]]]],
) -> tuple[list[Face], list[tuple[Floats, int]]]:
    """Tell faces that have to be meshed finely from those that coaxial material hides.

    Args:
        faces: what has no closed form.
        frame: the axis frame.
        envelope: how near to the axis the coaxial faces come.
        ask: asks the kernel worker.

    Returns:
        The faces that may come nearest to the axis somewhere; and of the others those that reach beyond the stations
        of the coaxial faces, as segments (n, 2, 3) in the axis frame with their body, each within BOUND of its face.
    """
    if not faces or envelope.span is None:
        return list(faces), []
    request = {"do": "mesh", "faces": [face.index for face in faces], "deflection": DEFLECTION, "angle": 0.5}
    answer, (flat,) = ask("meshing", request)
    points = np.frombuffer(flat, dtype=np.float64).reshape(-1, 3)
    local = ((points - np.array(frame.origin)) @ np.array([frame.along, frame.x, frame.y]).T).reshape(-1, 3, 3)
    near: list[Face] = []
    far: list[tuple[Floats, int]] = []
    low, high = envelope.span
    begin = 0
    for face, count in zip(faces, answer["counts"], strict=True):
        mine = local[begin : begin + max(count, 0)]
        begin += max(count, 0)
        if count < 1 or not np.isfinite(mine).all():
            near.append(face)
            continue
        first, last = float(mine[..., 0].min()) - BOUND, float(mine[..., 0].max()) + BOUND
        inside = max(first, low), min(last, high)
        if inside[0] >= inside[1] or not envelope.hides(*inside, _least_distance(mine) - BOUND):
            near.append(face)
        elif first < low or last > high:
            far.append((reduced(mine), face.body))
    return near, far


def _least_distance(triangles: Floats) -> float:
    """A distance from the axis that no triangle comes nearer than, mm; 0 where the axis may pierce one."""
    a = triangles[..., 1:]
    step = a[:, (1, 2, 0)] - a
    square = np.einsum("ijk,ijk->ij", step, step)
    foot = np.clip(-np.einsum("ijk,ijk->ij", a, step) / np.where(square == 0.0, 1.0, square), 0.0, 1.0)
    side = a[..., 0] * step[..., 1] - a[..., 1] * step[..., 0]
    if bool(((side >= 0.0).all(axis=1) | (side <= 0.0).all(axis=1)).any()):
        return 0.0
    return float(np.linalg.norm(a + foot[..., None] * step, axis=2).min())
