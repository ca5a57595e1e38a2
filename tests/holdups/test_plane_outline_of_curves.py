"""A plane face bounded by an ellipse was cut along 16 chords of it: the free radius was 0.11 mm off.

The foot line of a leaning plane now ends where the curve itself crosses it.
"""

from __future__ import annotations

import cadquery as cq
import pytest

from fitcheck.measurement.obstacles import least_radius
from parametric_models.adapters import Holes, Housing, Seat, housing

SEAT = Seat(
    pilot_diameter=38.0, pilot_depth=2.5, opening_diameter=30.0, opening_length=3.0,
    holes=(Holes(layout="square", size=(47.14,), diameter=4.5, depth=10.0),),
)  # fmt: skip


def test_a_pocket_with_a_leaning_end_wall(measured, exact_radius):
    # A rectangular pocket, leaning 3 degrees, widens a bore of 27: no material lies nearer than 13.5.
    body = housing(Housing(length=60.0, size=62.0, chamber_diameter=27.0, motor=SEAT, actuator=SEAT))
    pocket = cq.Workplane("XY").box(34, 30, 40, centered=(True, True, False))
    pocket = pocket.rotate((0, 0, 20), (0, 1, 20), 3).translate((1, 2, 8)).val()
    part = body.cut(pocket).clean().Solids()[0]
    found = measured(part)
    assert least_radius(found.obstacles, 6.0, 54.0).radius == pytest.approx(13.5, abs=1e-3)
    for slab in [(6.0, 54.0), (8.0, 9.0), (8.8, 8.9), (47.0, 48.0), (48.7, 48.9)]:
        exact = exact_radius(part, found.drive_axis, *slab)
        assert least_radius(found.obstacles, *slab).radius == pytest.approx(exact, abs=1e-3), slab


def test_an_elliptic_end_face(measured, exact_radius):
    # A post that leans by 6 degrees and ends in a face square to itself reaches into the chamber.
    body = housing(Housing(length=60.0, size=62.0, chamber_diameter=36.0, motor=SEAT, actuator=SEAT))
    post = cq.Solid.makeCylinder(6.0, 30.0, cq.Vector(14, 6, 22), cq.Vector(0.1, 0.05, 1))
    part = body.fuse(post).clean().Solids()[0]
    found = measured(part)
    for slab in [(6.0, 54.0), (21.0, 21.7), (21.3, 21.4), (21.6, 22.0), (22.0, 22.3), (51.0, 52.0)]:
        exact = exact_radius(part, found.drive_axis, *slab)
        assert least_radius(found.obstacles, *slab).radius == pytest.approx(exact, abs=1e-3), slab
