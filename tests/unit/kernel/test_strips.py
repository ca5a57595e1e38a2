"""Strips that wind about an axis: cylinders are known by points and normals of their closed form, others are not."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.kernel.strips import recognise_strip


def helix(radius, pitch, taper=0.0, centre=(0.0, 0.0)):
    """A strip of a cylinder (or of a cone of slope `taper`) about z: first parameter the turn, second the width."""

    def sample(a, b):
        height = pitch * a / (2.0 * math.pi) + b
        r = radius + taper * height
        size = math.hypot(1.0, taper)
        point = (centre[0] + r * math.cos(a), centre[1] + r * math.sin(a), height)
        return point, (math.cos(a) / size, math.sin(a) / size, -taper / size)

    return sample


@pytest.mark.parametrize("turns", [*(half / 2.0 for half in range(1, 41)), 32.0, 64.0, 16.0 / 3.0])
def test_a_strip_of_whole_and_half_turns(turns):
    # Normals one or half a turn apart are parallel and give no axis, and points a turn apart no circle.
    found = recognise_strip(helix(3.3, 0.7, 0.0, (40.0, -20.0)), (0.0, 2.0 * math.pi * turns), (0.0, 0.1), 1e-3)
    assert found is not None
    assert found["radius"] == pytest.approx(3.3, abs=1e-5)


@settings(max_examples=60, deadline=None, database=None, derandomize=True)
@given(
    radius=st.floats(0.5, 50.0), pitch=st.floats(0.2, 6.0), turns=st.floats(0.2, 12.0), width=st.floats(0.05, 2.0),
    x=st.floats(-500.0, 500.0), y=st.floats(-500.0, 500.0),
)  # fmt: skip
def test_a_strip_of_a_cylinder(radius, pitch, turns, width, x, y):
    found = recognise_strip(helix(radius, pitch, 0.0, (x, y)), (0.0, 2.0 * math.pi * turns), (0.0, width), 1e-3)
    assert found is not None
    assert found["radius"] == pytest.approx(radius, abs=1e-5)
    assert (found["origin"][0], found["origin"][1]) == pytest.approx((x, y), abs=1e-5)
    assert abs(found["axis"][2]) == pytest.approx(1.0, abs=1e-9)
    assert found["gap"] < 1e-5


@pytest.mark.parametrize("taper", [0.01, 0.1, 1.0])
def test_a_strip_of_a_cone_is_none(taper):
    # Over eight turns of 0.7 the radius grows by 5.6 times the slope, which is more than a micrometre.
    assert recognise_strip(helix(2.0, 0.7, taper), (0.0, 16.0 * math.pi), (0.0, 0.1), 1e-3) is None


def test_a_plane_and_a_surface_without_normals_are_none():
    assert recognise_strip(lambda a, b: ((a, b, 0.0), (0.0, 0.0, 1.0)), (0.0, 1.0), (0.0, 1.0), 1e-3) is None
    assert recognise_strip(lambda a, b: ((a, b, 0.0), (0.0, 0.0, 0.0)), (0.0, 1.0), (0.0, 1.0), 1e-3) is None
