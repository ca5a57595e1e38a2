"""Where each body lies: its box, its distance from the drive axis, and which bodies it touches.

By edges, and by the bounds of round faces: exact for planes, cylinders and cones between their edges, never too small a
box for balls and tori. A free form counts by its edges.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fitcheck.measurement.extent import edge_extent, edge_radii
from fitcheck.measurement.model import Body, Vector
from fitcheck.measurement.patches import patch_bounds
from fitcheck.measurement.survey import Face, Survey
from fitcheck.measurement.vectors import Frame, dot, frame_on, line_angle

Floats = NDArray[np.float64]

TOUCHING = 0.02
"""mm; faces that lie on each other."""

AXES: tuple[Vector, ...] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))

PARALLEL = 1e-6
"""rad; axes that lean by less against the drive axis are parallel to it."""

ASKEW = np.array([[0.7561, 0.6545], [-0.6545, 0.7561]])
"""Turns what is looked at by an odd angle, so that no ray runs through a corner or a seam."""

ALIKE = 1e-3
"""Directions of planes that differ by less in each part may lie on each other."""


def with_extents(survey: Survey, bodies: Sequence[Body], frame: Frame | None) -> tuple[Body, ...]:
    """The bodies with box, distance and what they touch.

    Args:
        survey: the file.
        bodies: its bodies, in its order.
        frame: the axis frame; without one there is no distance.
    """
    faces: list[list[Face]] = [[] for _ in bodies]
    for face in survey.faces:
        faces[face.body].append(face)
    boxes = [_box(survey, mine) for mine in faces]
    touches = _touching(survey, len(bodies)) if len(bodies) > 1 else [set() for _ in bodies]
    return tuple(
        replace(
            body, box=boxes[index], touches=tuple(sorted(touches[index])),
            distance=None if frame is None else _distance(survey, faces[index], frame),
        )
        for index, body in enumerate(bodies)
    )  # fmt: skip


def _box(survey: Survey, faces: Sequence[Face]) -> tuple[Vector, Vector] | None:
    """The least and the greatest corner of a body's box in the file frame, mm."""
    edges = {index for face in faces for index in (*face.edges, *face.seams)}
    bulging = [face for face in faces if face.native and face.kind in ("sphere", "torus")]
    low, high = [], []
    for axis in AXES:
        spans = [edge_extent(survey.edges[index], (0.0, 0.0, 0.0), axis) for index in edges]
        least, most = min((a for a, _ in spans), default=math.inf), max((b for _, b in spans), default=-math.inf)
        if bulging:
            # Stations along a line through the file's origin are what is asked for here.
            first, last, _ = patch_bounds(bulging, frame_on((0.0, 0.0, 0.0), axis))
            least, most = min(least, float(first.min())), max(most, float(last.max()))
        if not least <= most:
            return None
        low.append(least)
        high.append(most)
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


def _distance(survey: Survey, faces: Sequence[Face], frame: Frame) -> float | None:
    """The least distance of a body from the drive axis, mm; 0 where the axis meets one of its planes."""
    edges = {index for face in faces for index in (*face.edges, *face.seams)}
    near = min((edge_radii(survey.edges[index], frame)[0] for index in edges), default=math.inf)
    # What turns about a parallel axis is nearest at its edges.
    round_ones = [
        face
        for face in faces
        if face.native
        and face.kind in ("cylinder", "cone", "sphere", "torus")
        and (face.kind not in ("cylinder", "cone") or line_angle(face.axis, frame.along) > PARALLEL)
    ]
    if round_ones:
        near = min(near, float(patch_bounds(round_ones, frame)[2].min()))
    if near > 0.0 and any(face.kind == "plane" and _meets(survey, face, frame) for face in faces):
        return 0.0
    return near if math.isfinite(near) else None


def _meets(survey: Survey, face: Face, frame: Frame) -> bool:
    """Whether the drive axis passes a plane within its outline: it winds round the axis, seen along it."""
    if abs(dot(face.axis, frame.along)) < ALIKE:
        return False
    inside = False
    for index in face.edges:
        points = np.array([frame.local(point)[1:] for point in survey.edges[index].samples(32)]) @ ASKEW
        a, b = points[:-1], points[1:]
        # Even and odd: each piece of the outline that crosses the ray to the right turns it over.
        crosses = (a[:, 1] > 0.0) != (b[:, 1] > 0.0)
        with np.errstate(divide="ignore", invalid="ignore"):
            at = a[:, 0] - a[:, 1] * (b[:, 0] - a[:, 0]) / (b[:, 1] - a[:, 1])
        inside ^= bool(np.count_nonzero(crosses & (at > 0.0)) % 2)
    return inside


def _touching(survey: Survey, count: int) -> list[set[int]]:
    """For each body the bodies that one of its planes lies on."""
    planes = [face for face in survey.faces if face.kind == "plane"]
    places: dict[tuple[int, int, int, int], list[Face]] = {}

    def keys(normal: Vector, offset: float) -> list[tuple[int, int, int, int]]:
        rounded = [round(part / ALIKE / 2.0) for part in normal]
        step = math.floor(offset / TOUCHING)
        return [(rounded[0], rounded[1], rounded[2], near) for near in (step, step - 1, step + 1)]

    for face in planes:
        normal = face.outward
        places.setdefault(keys(normal, dot(face.origin, normal))[0], []).append(face)
    found: list[set[int]] = [set() for _ in range(count)]
    boxes: dict[int, tuple[Vector, Vector] | None] = {}
    for face in planes:
        normal = face.outward
        facing: Vector = (-normal[0], -normal[1], -normal[2])
        for key in keys(facing, dot(face.origin, facing)):
            for other in places.get(key, ()):
                if other.body == face.body or other.body in found[face.body]:
                    continue
                if abs(dot(other.origin, facing) - dot(face.origin, facing)) > TOUCHING:
                    continue
                for one in (face, other):
                    if one.index not in boxes:
                        boxes[one.index] = _box(survey, [one])
                if _overlap(boxes[face.index], boxes[other.index]):
                    found[face.body].add(other.body)
                    found[other.body].add(face.body)
    return found


def _overlap(a: tuple[Vector, Vector] | None, b: tuple[Vector, Vector] | None) -> bool:
    if a is None or b is None:
        return False
    return all(a[0][i] <= b[1][i] + TOUCHING and b[0][i] <= a[1][i] + TOUCHING for i in range(3))
