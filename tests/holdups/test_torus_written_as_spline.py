"""A fillet that the exporter wrote as a B-spline was meshed, and one ring in the chamber took 163 s.

The kernel's canonical recognition knows no tori; now they are told by their circles, and have closed forms.
"""

from __future__ import annotations

from math import cos, radians, sin, sqrt

import cadquery as cq
import pytest

from fitcheck.kernel.torus import recognise_torus
from fitcheck.measurement.obstacles import least_radius
from parametric_models.adapters import Holes, Housing, Seat, housing
from parametric_models.faces import as_bsplines, moved, split_cylinders

SEAT = Seat(
    pilot_diameter=38.0, pilot_depth=2.5, opening_diameter=30.0, opening_length=3.0,
    holes=(Holes(layout="square", size=(47.14,), diameter=4.5, depth=10.0),),
)  # fmt: skip


@pytest.mark.parametrize("sectors", [0, 3])
@pytest.mark.parametrize("far", [False, True])
def test_a_ring_in_the_chamber(measured, sectors, far):
    body = housing(Housing(length=60.0, size=62.0, chamber_diameter=36.0, motor=SEAT, actuator=SEAT))
    ring = cq.Solid.makeTorus(18, 3, cq.Vector(0, 0, 30), cq.Vector(0, 0, 1))
    part = body.fuse(ring).clean().Solids()[0]
    part = as_bsplines(split_cylinders(part, sectors) if sectors else part)
    found = measured(moved(part, (5000.0, -3000.0, 800.0), (1.0, 1.0, 0.3), 70.0) if far else part)
    assert len(found.obstacles.segments) < 1000
    assert least_radius(found.obstacles, 20.0, 40.0).radius == pytest.approx(15.0, abs=1e-3)
    # At h from the ring's plane: 18 - sqrt(3^2 - h^2). Which end is the first does not matter here.
    for h in (0.5, 1.7, 2.9):
        for station in (30.0 + h, 30.0 - h):
            expected = 18.0 - sqrt(9.0 - h * h)
            assert least_radius(found.obstacles, station, station).radius == pytest.approx(expected, abs=1e-3)


def test_a_filleted_housing(measured, exact_radius):
    body = housing(Housing(length=60.0, size=62.0, chamber_diameter=36.0, motor=SEAT, actuator=SEAT))
    inside = cq.selectors.BoxSelector((-25, -25, 1), (25, 25, 59))
    part = cq.Workplane(obj=body).edges("%CIRCLE").edges(inside).fillet(0.5).val()
    found = measured(as_bsplines(part))
    assert len(found.obstacles.segments) < 2000
    assert found.ends[0].pilot.diameter == pytest.approx(38.0, abs=5e-3)
    for slab in [(1.5, 3.5), (2.4, 2.6), (5.0, 6.0), (53.0, 55.5), (57.0, 57.3)]:
        exact = exact_radius(part, found.drive_axis, *slab)
        assert least_radius(found.obstacles, *slab).radius == pytest.approx(exact, abs=1e-3), slab


def torus(turn, tube):
    """A torus of radii 10 and 3 about the y axis through (1, 2, 3), by its definition."""
    r = 10.0 + 3.0 * cos(tube)
    return [1.0 + r * cos(turn), 2.0 + 3.0 * sin(tube), 3.0 - r * sin(turn)]


@pytest.mark.parametrize("swapped", [False, True])
@pytest.mark.parametrize("spans", [((0.0, 6.283185307), (0.0, 6.283185307)), ((0.3, 1.4), (2.0, 3.1))])
def test_a_torus_is_known_by_its_points(swapped, spans):
    first, second = reversed(spans) if swapped else spans
    found = recognise_torus(lambda u, v: torus(v, u) if swapped else torus(u, v), first, second, 1e-3)
    assert found is not None
    assert (found["radius"], found["minor"]) == pytest.approx((10.0, 3.0), abs=1e-6)
    assert found["origin"] == pytest.approx([1.0, 2.0, 3.0], abs=1e-6)
    assert [abs(value) for value in found["axis"]] == pytest.approx([0.0, 1.0, 0.0], abs=1e-7)
    for name, span in zip(("u", "v"), spans, strict=True):
        assert found[name][1] - found[name][0] == pytest.approx(span[1] - span[0], abs=1e-6)
    assert found["gap"] < 1e-6


@pytest.mark.parametrize(
    "shape",
    [
        lambda u, v: [u, v, 0.0],
        lambda u, v: [5.0 * cos(u), 5.0 * sin(u), v],
        lambda u, v: [
            (10.0 + 3.0 * cos(v) + 0.01 * sin(4.0 * v)) * cos(u),
            (10.0 + 3.0 * cos(v)) * sin(u),
            3.0 * sin(v),
        ],
        lambda u, v: [(10.0 + 3.0 * cos(v)) * cos(u), (9.9 + 3.0 * cos(v)) * sin(u), 3.0 * sin(v)],
    ],
    ids=["plane", "cylinder", "wavy", "oval"],
)
def test_what_is_no_torus_is_not_taken_for_one(shape):
    assert recognise_torus(shape, (0.1, radians(250.0)), (0.2, 2.0), 1e-3) is None
