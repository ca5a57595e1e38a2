"""On the steep side of a ball the free radius was 2.7 um optimistic: the chords were equal, however steep they ran."""

from __future__ import annotations

from math import hypot, sqrt

import cadquery as cq
import pytest

from fitcheck.measurement.obstacles import least_radius
from parametric_models.adapters import Holes, Housing, Seat, housing

SEAT = Seat(
    pilot_diameter=38.0, pilot_depth=2.5, opening_diameter=30.0, opening_length=3.0,
    holes=(Holes(layout="square", size=(47.14,), diameter=4.5, depth=10.0),),
)  # fmt: skip


@pytest.mark.parametrize("below", [0.4, 0.05, 0.01, 0.003])
def test_just_below_the_top_of_a_ball(measured, below):
    body = housing(Housing(length=60.0, size=62.0, chamber_diameter=36.0, motor=SEAT, actuator=SEAT))
    ball = cq.Solid.makeSphere(6, cq.Vector(15, 5, 30), cq.Vector(0, 0, 1), -90, 90, 360)
    found = measured(body.fuse(ball).clean().Solids()[0], name="ball")
    # At h from its centre the ball of radius 6 has the section radius sqrt(36 - h^2).
    h = 6.0 - below
    expected = hypot(15.0, 5.0) - sqrt(36.0 - h * h)
    for station in (30.0 + h, 30.0 - h):
        assert least_radius(found.obstacles, station, station).radius == pytest.approx(expected, abs=1e-3)
