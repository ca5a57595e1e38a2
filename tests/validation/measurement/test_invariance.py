"""A rigid motion, a mirror, inches, sectors or B-splines change nothing but the frame."""

from __future__ import annotations

import math

import cadquery as cq
import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from fitcheck.measurement.obstacles import least_radius
from parametric_models.adapters import Window
from parametric_models.faces import as_bsplines, mirrored, moved, split_cylinders

MICRON = 1e-3
QUICK = settings(
    max_examples=8, deadline=None, database=None, derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow], phases=[Phase.generate],
)  # fmt: skip
SLABS = [(0.5, 2.0), (5.6, 52.4), (20.0, 26.0), (23.1, 23.2), (38.0, 41.0), (53.0, 59.5), (30.0, 30.0)]
V = cq.Vector


@pytest.fixture(scope="session")
def part(bench):
    """A housing with an actuator end that is shifted and leans, windows, a ball and a skew pin."""
    ball = cq.Solid.makeSphere(5, V(15, 5, 23), V(0, 0, 1), -90, 90, 360)
    pin = cq.Solid.makeCylinder(2.5, 30, V(-13, 4, 38), V(-1, 0.1, 0.2))
    windows = (Window(station=30.0, length=12.0, width=10.0, angle=90.0, offset=2.0, corner_radius=2.0),)
    pin = pin.intersect(cq.Solid.makeCylinder(18.5, 47.0, V(0, 0, 5.5)))
    return bench.with_material(
        ball, pin, windows=windows, actuator_offset=(0.03, 0.04), actuator_tilt=0.15, tilt_direction=20.0
    )


@pytest.fixture(scope="session")
def truth(part, measured):
    found = measured(part, name="as-built")
    # What the model was built with; offset hypot(0.03, 0.04), all else as in the bench's housing.
    assert found.coaxiality.offset == pytest.approx(0.05, abs=1e-6)
    assert found.coaxiality.tilt == pytest.approx(0.15, abs=1e-6)
    return found


def same(found, truth, length=MICRON, free=MICRON):
    assert found.drive_axis is not None, found.warnings
    assert [end.seat for end in found.ends] == pytest.approx([end.seat for end in truth.ends], abs=length)
    for end, true in zip(found.ends, truth.ends, strict=True):
        assert end.pilot is not None
        assert end.pilot.diameter == pytest.approx(true.pilot.diameter, abs=length)
        assert end.pilot.depth == pytest.approx(true.pilot.depth, abs=length)
        assert len(end.bolts) == len(true.bolts)
        for bolts, expected in zip(end.bolts, true.bolts, strict=True):
            assert (bolts.layout, bolts.count) == (expected.layout, expected.count)
            assert bolts.size == pytest.approx(expected.size, abs=length)
            assert bolts.hole == pytest.approx(expected.hole, abs=length)
    assert found.coaxiality.offset == pytest.approx(truth.coaxiality.offset, abs=length)
    assert found.coaxiality.tilt == pytest.approx(truth.coaxiality.tilt, abs=1e-3)
    assert found.free_radius.least == pytest.approx(truth.free_radius.least, abs=free)
    for slab in SLABS:
        here, there = least_radius(found.obstacles, *slab).radius, least_radius(truth.obstacles, *slab).radius
        assert here == pytest.approx(there, abs=free), slab


far = st.floats(-10_000.0, 10_000.0)


@QUICK
@given(place=st.tuples(far, far, far), axis=st.tuples(*[st.floats(-1.0, 1.0)] * 3), angle=st.floats(-180.0, 180.0))
def test_a_rigid_motion(measured, part, truth, place, axis, angle):
    if math.hypot(*axis) < 0.1:
        axis = (0.0, 0.0, 1.0)
    turned = moved(part, place, axis, angle)
    found = measured(turned)
    same(found, truth)
    # The frame moves along: seats and axis are where the motion puts them.
    e = np.array(axis) / np.linalg.norm(axis)
    a = math.radians(angle)

    def turn(p):
        return p * math.cos(a) + np.cross(e, p) * math.sin(a) + e * (e @ p) * (1.0 - math.cos(a))

    assert np.array(found.drive_axis.origin) == pytest.approx(turn(np.zeros(3)) + place, abs=MICRON)
    assert np.array(found.drive_axis.direction) == pytest.approx(turn(np.array([0.0, 0.0, 1.0])), abs=1e-7)


@pytest.mark.parametrize("axis", [(1, 0, 0), (0, 1, 0), (0, 0, 1), (1, 1, 0)])
@pytest.mark.parametrize("angle", [90.0, 180.0, -90.0])
def test_quarter_turns(measured, part, truth, axis, angle):
    same(measured(moved(part, axis=axis, angle=angle)), truth)


@pytest.mark.parametrize("plane", ["XY", "YZ", "XZ"])
def test_a_mirror(measured, part, truth, plane):
    same(measured(mirrored(part, plane)), truth)


@pytest.mark.parametrize("schema", ["AP203", "AP214", "AP242"])
@pytest.mark.parametrize("unit", ["mm", "inch"])
def test_units_and_schemas(measured, part, truth, unit, schema):
    found = measured(part, unit=unit, schema=schema)
    assert found.file_unit == unit
    same(found, truth, 1e-6, 1e-6)


@pytest.mark.parametrize("parts", [2, 3, 5, 12])
def test_faces_in_sectors(measured, part, truth, parts):
    same(measured(split_cylinders(part, parts)), truth)


def test_b_splines(measured, part, truth):
    same(measured(as_bsplines(part)), truth, 5e-3, 5e-3)


def test_b_splines_in_sectors_far_away_in_inches(measured, part, truth):
    dressed = moved(as_bsplines(split_cylinders(part, 3)), (9000.0, -4000.0, 2000.0), (1.0, 2.0, -1.0), 50.0)
    same(measured(dressed, unit="inch"), truth, 5e-3, 5e-3)
