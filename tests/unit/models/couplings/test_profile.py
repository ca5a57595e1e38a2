"""The profile against points on the parts that it is made of, and its outline against the profile."""

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.errors import UsageError
from parametric_models.couplings.profile import Arc, Crossing, Profile, Straight


def cylinder(start, end, radius):
    return Straight(start=start, end=end, start_radius=radius, end_radius=radius)


crossings = st.builds(
    Crossing,
    station=st.floats(3, 17),
    offset=st.floats(-12, 12),
    across=st.floats(0.5, 3),
    reach=st.floats(0, 20),
)


@given(crossings)
@settings(max_examples=40, deadline=None)
def test_crossing_is_the_farthest_point_of_a_cylinder_across_the_axis(piece):
    # independent: the distance from the axis of points all over the cylinder's end face, slice by slice
    for part in (0.0, 0.3, 0.9):
        station = piece.station + part * piece.across
        half = math.sqrt(piece.across**2 - (station - piece.station) ** 2)
        farthest = max(math.hypot(piece.reach, piece.offset + half * share / 50) for share in range(-50, 51))
        assert piece.radius(station) == pytest.approx(farthest, abs=1e-9)


@given(st.lists(crossings, min_size=1, max_size=3), st.floats(5, 20), st.floats(0.002, 0.1))
@settings(max_examples=60, deadline=None)
def test_outline_is_never_inside_the_profile_and_touches_its_largest_radius(heads, radius, tolerance):
    profile = Profile(pieces=(cylinder(0, 20, radius), *heads))
    knots = profile.outline(tolerance)
    assert [z for z, _ in knots] == sorted(z for z, _ in knots)
    assert knots[0][0] == pytest.approx(profile.start, abs=1e-8)
    for step in range(401):
        station = profile.start + (profile.end - profile.start) * step / 400
        # A step of the outline may lie on the station itself but for rounding.
        beside = (min(max(station + off, knots[0][0]), knots[-1][0]) for off in (-1e-9, 0.0, 1e-9))
        assert max(outline_radius(knots, place) for place in beside) >= profile.radius(station) - 1e-9
    assert max(r for _, r in knots) == pytest.approx(profile.largest()[0], abs=1e-9)


def outline_radius(knots, station):
    found = [
        r0 + (r1 - r0) * (station - z0) / (z1 - z0)
        for (z0, r0), (z1, r1) in itertools.pairwise(knots)
        if z0 <= station <= z1 and z1 > z0
    ]
    return max(found)


@pytest.mark.parametrize("ridge", [True, False])
def test_outline_of_an_arc_stays_within_the_tolerance(ridge):
    arc = Arc(station=0.0, centre_radius=10.0, curve=1.0, ridge=ridge, start=-0.8, end=0.8)
    knots = Profile(pieces=(arc,)).outline(0.004)
    worst = 0.0
    for step in range(1001):
        z = -0.8 + 1.6 * step / 1000
        height = outline_radius(knots, z) - 10.0
        # distance to the circle, square to it
        away = math.hypot(z, height) - 1.0
        outside = away if ridge else -away
        assert outside >= -1e-12
        worst = max(worst, outside)
    assert worst <= 0.004 + 1e-12


def test_largest_finds_the_station_within_limits():
    head = Crossing(station=8.0, offset=3.0, across=2.0, reach=9.0)
    profile = Profile(pieces=(cylinder(0, 20, 10.0), head))
    radius, station = profile.largest()
    # by hand: sqrt(9^2 + (3 + 2)^2)
    assert radius == pytest.approx(math.sqrt(106.0), abs=1e-12)
    assert station == 8.0
    assert profile.largest(0.0, 5.0)[0] == 10.0
    assert profile.largest(9.0, 20.0)[0] == pytest.approx(math.hypot(9.0, 3.0 + math.sqrt(3.0)), abs=1e-12)
    assert profile.largest(21.0, 25.0)[0] == 0.0


def test_two_cones_meet_where_they_cross():
    rising = Straight(start=0, end=10, start_radius=1, end_radius=11)
    falling = Straight(start=0, end=10, start_radius=11, end_radius=1)
    assert Profile(pieces=(rising, falling)).outline() == ((0, 11), (5.0, 6.0), (10, 11))


def test_gap_and_tolerance_are_refused():
    with pytest.raises(UsageError, match=r"between the stations 2 and 3 mm"):
        Profile(pieces=(cylinder(0, 2, 5.0), cylinder(3, 4, 5.0))).outline()
    with pytest.raises(UsageError, match=r"tolerance 0 mm must be above 0"):
        Profile(pieces=(cylinder(0, 2, 5.0),)).outline(0.0)
