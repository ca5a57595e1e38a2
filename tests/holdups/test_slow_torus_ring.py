"""A ring (torus) whose axis lies across the drive axis was meshed to 155,092 segments and took 45 s.

Cones and tori at any lean have closed-form ridge lines. A ring's tube is nearest to the axis at R - r from the ring's
centre where the ring's plane holds the drive axis.
"""

from __future__ import annotations

import math

import cadquery as cq
import pytest

from fitcheck.measurement.obstacles import least_radius
from parametric_models.adapters import Holes, Housing, Seat, housing

SEAT = Seat(
    pilot_diameter=38.0, pilot_depth=2.5, opening_diameter=30.0, opening_length=3.0,
    holes=(Holes(layout="square", size=(47.14,), diameter=4.5, depth=10.0),),
)  # fmt: skip


def in_housing(*shapes):
    body = housing(Housing(length=60.0, size=62.0, chamber_diameter=36.0, motor=SEAT, actuator=SEAT))
    return body.fuse(*shapes).clean().Solids()[0]


@pytest.mark.parametrize("lean", [(0.0, 1.0, 0.0), (0.2, 1.0, 0.1), (1.0, 0.0, 0.0), (0.3, 0.1, 1.0)])
def test_a_ring_at_any_lean_needs_few_segments(measured, exact_radius, lean):
    ring = cq.Solid.makeTorus(5.0, 2.0, cq.Vector(15, 3, 30), cq.Vector(*lean))
    part = in_housing(ring)
    found = measured(part)
    assert len(found.obstacles.segments) < 5000
    for slab in [(23.0, 37.0), (27.0, 29.0), (30.0, 30.5), (34.0, 35.0), (20.0, 24.2)]:
        exact = exact_radius(part, found.drive_axis, *slab)
        assert least_radius(found.obstacles, *slab).radius == pytest.approx(exact, abs=1e-3), slab


def test_a_ring_whose_plane_holds_the_axis(measured):
    # Ring about y: centre (18, 0, 30), R = 6, r = 3; its innermost point is at 18 - 6 - 3 = 9, its top at 30 + 9.
    ring = cq.Solid.makeTorus(6.0, 3.0, cq.Vector(18, 0, 30), cq.Vector(0, 1, 0))
    found = measured(in_housing(ring))
    assert least_radius(found.obstacles, 6.0, 50.0).radius == pytest.approx(9.0, abs=1e-3)
    # At station 30 + h it is 18 - sqrt(9^2 - h^2).
    for h in (2.0, 5.0, 8.0):
        at = least_radius(found.obstacles, 30.0 + h, 30.0 + h).radius
        assert at == pytest.approx(18.0 - math.sqrt(81.0 - h * h), abs=1e-3)


@pytest.mark.parametrize("direction", [(-1.0, 0.0, 0.1), (-1.0, 0.2, -0.4), (-1.0, 0.0, 0.0)])
def test_a_cone_reaching_in_needs_few_segments(measured, exact_radius, direction):
    cone = cq.Solid.makeCone(6.0, 1.0, 16.0, cq.Vector(19, 3, 25), cq.Vector(*direction))
    part = in_housing(cone)
    found = measured(part)
    assert len(found.obstacles.segments) < 5000
    for slab in [(10.0, 40.0), (24.0, 24.5), (27.0, 28.0), (20.0, 22.0), (29.0, 30.0)]:
        exact = exact_radius(part, found.drive_axis, *slab)
        assert least_radius(found.obstacles, *slab).radius == pytest.approx(exact, abs=1e-3), slab
