"""A hole along the drive axis that breaks into a slot lost its wall for tools: a key in the slot went on through it.

Holes that run along the axis are filled for tools, as nothing comes into them sideways; one that is open to the side is
none of them. Told by where the triangles lie: the hole's far wall is at a radius that the test builds. Straight-edged
planes carry no allowance, as their triangles are the planes themselves.
"""

from __future__ import annotations

import cadquery as cq
import numpy as np
import pytest

from fitcheck.measurement.options import MeasureOptions
from parametric_models.adapters import Holes, Housing, Seat, housing
from parametric_models.faces import moved

SEAT = Seat(
    pilot_diameter=38.0, pilot_depth=2.5, opening_diameter=30.0, opening_length=3.0,
    holes=(Holes(layout="square", size=(47.14,), diameter=4.5, depth=10.0),),
)  # fmt: skip
BODY = Housing(length=60.0, size=62.0, chamber_diameter=36.0, motor=SEAT, actuator=SEAT)

WITH_TRIANGLES = MeasureOptions(corridors=True)


def with_slot(angle, width):
    """A hole of 6, 25 beside the axis, and a slot of that width from the chamber into it between stations 20 and 40."""
    hole = cq.Solid.makeCylinder(3.0, 60.0, cq.Vector(25.0, 0, 0))
    slot = cq.Workplane("XY").box(25.0, width, 20.0, centered=(False, True, False)).val().translate(cq.Vector(0, 0, 20))
    cutter = hole.fuse(slot).rotate(cq.Vector(0, 0, 0), cq.Vector(0, 0, 1), angle)
    return housing(BODY).cut(cutter).clean().Solids()[0]


def wall_of(found, angle, station):
    """How far out the material begins at a station in a direction, by the triangles."""
    triangles = found.obstacles.triangles
    way = np.array([0.0, np.cos(np.radians(angle)), np.sin(np.radians(angle))])
    start = np.array([station, 0.0, 0.0])
    a, b, c = (triangles[:, i] - start for i in range(3))

    # Ray and triangle by signed volumes.
    def volume(p, q):
        return np.einsum("ij,j->i", np.cross(p, q), way)

    u, v, w = volume(b, c), volume(c, a), volume(a, b)
    total = u + v + w
    hit = (np.minimum(np.minimum(u, v), w) >= -1e-12) | (np.maximum(np.maximum(u, v), w) <= 1e-12)
    hit &= np.abs(total) > 1e-12
    with np.errstate(invalid="ignore", divide="ignore"):
        points = (u[:, None] * a + v[:, None] * b + w[:, None] * c) / total[:, None]
    far = points[hit] @ way
    return float(far[far > 0.0].min())


@pytest.mark.parametrize("angle", [0.0, 137.0])
@pytest.mark.parametrize("width", [4.0, 5.9])
def test_a_tool_in_the_slot_meets_the_holes_far_wall(measured, angle, width):
    found = measured(with_slot(angle, width), name="slot", options=WITH_TRIANGLES)
    assert wall_of(found, angle, 30.0) == pytest.approx(28.0, abs=0.02)
    # Beside the slot's stations the chamber's wall comes first.
    assert wall_of(found, angle, 12.0) == pytest.approx(18.0, abs=0.02)


def test_a_hole_that_nothing_opens_is_filled_still(measured):
    found = measured(housing(BODY), name="plain", options=WITH_TRIANGLES)
    middle = found.obstacles.triangles.mean(axis=1)
    away = np.hypot(np.abs(middle[:, 1]) - 23.57, np.abs(middle[:, 2]) - 23.57)
    assert not (away < 2.0).any()


def test_straight_edged_planes_carry_no_allowance(measured):
    box = cq.Workplane("XY").box(8, 8, 20, centered=(True, True, False)).val().translate(cq.Vector(22, 0, 70))
    stand = cq.Workplane("XY").box(10, 30, 12, centered=(True, True, False)).val().translate(cq.Vector(26, 0, 58))
    model = moved(housing(BODY).fuse(stand).fuse(box).clean().Solids()[0], axis=(1.0, 1.0, 0.3), angle=30.0)
    found = measured(model, name="box", options=WITH_TRIANGLES)
    bound = found.obstacles.triangle_bound
    flat = np.ptp(found.obstacles.triangles[:, :, 0], axis=1) > 15.0
    assert (bound[flat] == 0.0).any()
    assert bound.max() > 0.0
