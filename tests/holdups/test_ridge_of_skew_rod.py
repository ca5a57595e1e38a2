"""The ridge line of a rod that leans against the drive axis was lost near the rod's ends: 0.36 mm optimistic.

It was followed by the angle about the rod alone, and near the rod's own direction one step of the angle is many
millimetres of rod. Found against the CAD kernel's exact distance.
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
SLABS = [(36.76371151396507, 52.3388), (20.0, 24.0), (24.0, 30.0), (30.0, 36.0), (35.0, 35.001), (36.8, 37.5)]


@pytest.fixture(scope="module")
def rod_across():
    """A rod of radius 2 across the chamber, along (0.1, 1, 0.4)."""
    body = housing(Housing(length=60.0, size=62.0, chamber_diameter=36.0, motor=SEAT, actuator=SEAT))
    rod = cq.Solid.makeCylinder(2.0, 60.0, cq.Vector(10, -25, 20), cq.Vector(0.1, 1, 0.4))
    return body.fuse(rod).clean().Solids()[0]


@pytest.mark.parametrize("slab", SLABS)
def test_a_skew_rod_is_followed_to_the_wall(rod_across, measured, exact_radius, slab):
    found = measured(rod_across, name="skew-rod")
    exact = exact_radius(rod_across, found.drive_axis, *slab)
    assert least_radius(found.obstacles, *slab).radius == pytest.approx(exact, abs=1e-3)


def test_the_rod_s_nearest_point_by_the_common_perpendicular(rod_across, measured):
    # Distance of two skew lines |d . (a x b)| / |a x b|, less the rod's radius: a the drive axis, b the rod's.
    found = measured(rod_across, name="skew-rod")
    expected = abs(10 * 1 - -25 * 0.1) / math.hypot(0.1, 1.0) - 2.0
    assert least_radius(found.obstacles, 8.0, 50.0).radius == pytest.approx(expected, abs=1e-3)
