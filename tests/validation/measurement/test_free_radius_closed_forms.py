"""The free radius against closed forms; each answer is derived beside its check. Lengths mm."""

from __future__ import annotations

from itertools import pairwise
from math import cos, hypot, inf, pi, radians, sin, sqrt, tan

import cadquery as cq
import numpy as np
import pytest

from fitcheck.measurement.obstacles import least_radius
from parametric_models.adapters import Window
from parametric_models.adapters.features import cylinder, round_window
from parametric_models.faces import as_bsplines

V = cq.Vector
MICRON = 1e-3


def radius(found, start, stop=None):
    return least_radius(found.obstacles, start, start if stop is None else stop).radius


def profile_at(found, station):
    rows = np.array(found.free_radius.profile)
    return float(np.interp(station, rows[:, 0], rows[:, 1]))


def test_a_plain_housing(measured, bench):
    found = measured(bench.housing())
    # Half the diameters of pilots, openings and chamber, between their floors.
    stretches = [(0.0, 2.5, 19.05), (2.5, 5.5, 15.0), (5.5, 52.5, 18.0), (52.5, 56.5, 13.0), (56.5, 60.0, 17.0)]
    for start, stop, r in stretches:
        assert radius(found, start + 1e-6, stop - 1e-6) == pytest.approx(r, abs=1e-9)
        assert profile_at(found, 0.5 * (start + stop)) == pytest.approx(r, abs=1e-9)
    assert (found.free_radius.least, found.free_radius.station) == pytest.approx((13.0, 52.5), abs=1e-9)
    assert radius(found, -5.0, -0.001) == inf
    assert radius(found, 60.001, 70.0) == inf


@pytest.mark.parametrize(("offset", "azimuth"), [(0.3, 0.0), (1.5, 65.0), (4.0, 200.0)])
def test_an_eccentric_chamber(measured, bench, offset, azimuth):
    # A circle of radius R whose centre lies e beside the axis is nearest at R - e, opposite to the offset.
    a = radians(azimuth)
    centre = (offset * cos(a), offset * sin(a))
    wide = cylinder(40.0, 20.0, 40.0, *centre)
    found = measured(bench.without(wide, chamber_diameter=30.0))
    near = least_radius(found.obstacles, 21.0, 39.0)
    assert near.radius == pytest.approx(20.0 - offset, abs=1e-9)
    assert cos(radians(near.theta - azimuth - 180.0)) == pytest.approx(1.0, abs=1e-9)


def test_a_ball_in_the_chamber(measured, bench):
    # Centre (15, 5) beside the axis at station 30, radius 6: |e| - R at the station of the centre, and
    # |e| - sqrt(R^2 - h^2) at a distance h from it.
    away = hypot(15.0, 5.0)
    found = measured(bench.with_material(cq.Solid.makeSphere(6, V(15, 5, 30), V(0, 0, 1), -90, 90, 360)))
    assert found.free_radius.least == pytest.approx(away - 6.0, abs=1e-9)
    near = least_radius(found.obstacles, 10.0, 50.0)
    assert (near.radius, near.station) == pytest.approx((away - 6.0, 30.0), abs=1e-6)
    for h in (1.0, 3.3, 5.5):
        assert radius(found, 30.0 + h) == pytest.approx(away - sqrt(36.0 - h * h), abs=MICRON)
        assert radius(found, 30.0 - h) == pytest.approx(away - sqrt(36.0 - h * h), abs=MICRON)
    assert radius(found, 36.5, 50.0) == pytest.approx(18.0, abs=1e-9)


@pytest.mark.parametrize("bore", [5.0, 12.0])
def test_a_cross_hole_takes_nothing_away(measured, bench, bore):
    # Round about the hole the chamber's wall is still there at every station: the free radius stays 18.
    hole = cq.Solid.makeCylinder(bore / 2, 40, V(0, 2, 30), V(1, 0, 0))
    found = measured(bench.without(hole))
    assert radius(found, 6.0, 52.0) == pytest.approx(18.0, abs=MICRON)
    assert radius(found, 30.0) == pytest.approx(18.0, abs=MICRON)


def test_a_slot_all_round_is_free(measured, bench):
    # A groove of radius 22 from station 25 to 35: its wall is the free radius there.
    groove = cylinder(44.0, 25.0, 35.0)
    found = measured(bench.without(groove))
    assert radius(found, 25.001, 34.999) == pytest.approx(22.0, abs=1e-9)
    assert radius(found, 35.0) == pytest.approx(18.0, abs=1e-9)


@pytest.mark.parametrize("aside", [0.0, 2.0, 5.0])
def test_a_boss_reaching_in(measured, bench, aside):
    # A pin of radius 3 along -x, its flat end at x = 9: the end is nearest at y as near to 0 as the pin reaches.
    pin = cq.Solid.makeCylinder(3.0, 20.0, V(9, aside, 30), V(1, 0, 0))
    found = measured(bench.with_material(pin))
    nearest_y = max(aside - 3.0, 0.0)
    assert radius(found, 6.0, 52.0) == pytest.approx(hypot(9.0, nearest_y), abs=MICRON)
    # At a distance h along the axis the pin is a strip of half width sqrt(9 - h^2).
    for h in (1.0, 2.5):
        nearest_y = max(aside - sqrt(9.0 - h * h), 0.0)
        assert radius(found, 30.0 + h) == pytest.approx(hypot(9.0, nearest_y), abs=MICRON)


def test_a_rib_reaching_in(measured, bench):
    # A block with corners at x = 12 and y = -1 to 2: its face x = 12 holds the foot of the axis.
    found = measured(bench.with_material(cq.Solid.makeBox(10, 3, 20, V(12, -1, 20))))
    assert radius(found, 20.0, 40.0) == pytest.approx(12.0, abs=1e-9)
    assert radius(found, 40.001, 50.0) == pytest.approx(18.0, abs=1e-9)
    # Moved aside to y = 4 to 7, the edge (12, 4) is nearest.
    found = measured(bench.with_material(cq.Solid.makeBox(10, 3, 20, V(12, 4, 20))))
    assert radius(found, 21.0, 39.0) == pytest.approx(hypot(12.0, 4.0), abs=1e-9)


@pytest.mark.parametrize("tilt", [0.05, 0.5, 1.2])
def test_a_tilted_opening(measured, bench, tilt):
    # The opening, radius 13, is turned about x through the seat's centre (station 60). Its section across the drive
    # axis at station s is an ellipse with half axes 13 and 13 / cos(tilt), its centre (60 - s) tan(tilt) aside in y.
    found = measured(bench.housing(actuator_tilt=tilt))
    t = radians(tilt)
    turn = np.linspace(0.0, 2.0 * pi, 400001)
    for station in (53.5, 55.0, 56.0):
        aside = (60.0 - station) * tan(t)
        expected = np.hypot(13.0 * np.cos(turn), aside + 13.0 / cos(t) * np.sin(turn)).min()
        assert radius(found, station) == pytest.approx(expected, abs=MICRON)


def test_the_edge_of_a_window(measured, bench):
    # A window wider than the chamber leaves the opposite wall: the free radius stays 18. Two opposite windows, each
    # 36.2 wide, leave no wall between stations 22 and 38 but the corners outside |y| = 18.1.
    one = measured(bench.housing(windows=(Window(station=30.0, length=16.0, width=40.0),)))
    assert radius(one, 25.0, 35.0) == pytest.approx(18.0, abs=1e-9)
    windows = tuple(Window(station=30.0, length=16.0, width=36.2, angle=angle) for angle in (0.0, 180.0))
    both = measured(bench.housing(windows=windows))
    assert radius(both, 22.001, 37.999) == pytest.approx(18.1, abs=1e-9)
    assert radius(both, 38.001, 40.0) == pytest.approx(18.0, abs=1e-9)
    round_ones = measured(bench.housing(windows=tuple(round_window(30.0, 50.0, angle=a) for a in (0.0, 180.0))))
    # A round window of radius 25 has, at h from its middle, the half width sqrt(25^2 - h^2).
    for h in (1.0, 8.0, 15.0):
        assert radius(round_ones, 30.0 + h) == pytest.approx(sqrt(625.0 - h * h), abs=MICRON)


@pytest.mark.parametrize("fillet", [0.0, 4.0])
def test_a_rectangular_chamber(measured, bench, fillet):
    # Sides 34 and 30: the free radius is half the shorter side; with a side moved off by 2, half of it less 2.
    room = cq.Workplane("XY").rect(34, 30).extrude(40)
    room = (room.edges("|Z").fillet(fillet) if fillet else room).translate((0, 0, 8))
    found = measured(bench.without(room.val(), chamber_diameter=27.0))
    assert radius(found, 8.001, 47.999) == pytest.approx(15.0, abs=1e-9)
    found = measured(bench.without(room.translate((0, 1.4, 0)).val(), chamber_diameter=27.0))
    assert radius(found, 8.001, 47.999) == pytest.approx(13.6, abs=1e-9)


def test_the_corner_of_a_turned_square_pillar(measured, bench):
    # A pillar of square section, side 8, turned 45 degrees, centred 16 from the axis: its corner is at 16 - 8/sqrt(2).
    pillar = cq.Workplane("XY").rect(8, 8).extrude(47).rotate((0, 0, 0), (0, 0, 1), 45).translate((16, 0, 5.5)).val()
    found = measured(bench.with_material(pillar))
    assert radius(found, 6.0, 52.0) == pytest.approx(16.0 - 8.0 / sqrt(2.0), abs=1e-9)


def test_a_conical_chamber(measured, bench):
    # Radius 18 at station 10 to 21 at station 40: linear between.
    cone = cq.Solid.makeCone(18.0, 21.0, 30.0, V(0, 0, 10))
    found = measured(bench.without(cone))
    for station in (10.5, 23.0, 39.9):
        assert radius(found, station) == pytest.approx(18.0 + (station - 10.0) / 10.0, abs=1e-9)
        assert profile_at(found, station) == pytest.approx(18.0 + (station - 10.0) / 10.0, abs=2e-4)
    assert radius(found, 20.0, 30.0) == pytest.approx(19.0, abs=1e-9)


def test_a_toroidal_fillet(measured, bench):
    # A ring of tube radius 3 about the circle of radius 18: 18 - sqrt(9 - h^2) at h from its plane, 15 at the least.
    found = measured(bench.with_material(cq.Solid.makeTorus(18, 3, V(0, 0, 30), V(0, 0, 1))))
    assert radius(found, 20.0, 40.0) == pytest.approx(15.0, abs=1e-9)
    for h in (0.5, 1.7, 2.9):
        assert radius(found, 30.0 + h) == pytest.approx(18.0 - sqrt(9.0 - h * h), abs=MICRON)


@pytest.mark.parametrize("lean", [(0.1, 1.0, 0.4), (0.0, 1.0, 0.0), (0.2, 0.8, 1.0)])
def test_a_skew_rod(measured, bench, lean):
    # Common perpendicular of two skew lines: |p . (z x d)| / |z x d|, less the rod's radius.
    direction = np.array(lean) / np.linalg.norm(lean)
    middle = np.array([12.0, -3.0, 30.0])
    rod = cq.Solid.makeCylinder(2.0, 120.0, V(*(middle - 60.0 * direction)), V(*direction))
    rod = rod.intersect(cylinder(37.0, 5.5, 52.5))
    found = measured(bench.with_material(rod))
    z = np.array([0.0, 0.0, 1.0])
    normal = np.cross(z, direction)
    expected = abs(middle @ normal) / np.linalg.norm(normal) - 2.0
    # The foot on the rod must lie in the chamber for this to be the least.
    t = (middle @ z * (z @ direction) - middle @ direction) / (1.0 - (z @ direction) ** 2)
    assert 10.0 < middle[2] + t * direction[2] < 50.0
    assert radius(found, 6.0, 52.0) == pytest.approx(expected, abs=MICRON)


def test_the_profile_says_the_same_as_the_obstacles(measured, bench):
    ball = cq.Solid.makeSphere(6, V(15, 5, 30), V(0, 0, 1), -90, 90, 360)
    found = measured(bench.with_material(ball, cq.Solid.makeTorus(18, 2, V(0, 0, 12), V(0, 0, 1))))
    rows = found.free_radius.profile
    assert all(a[0] <= b[0] for a, b in pairwise(rows))
    for station in np.linspace(6.0, 52.0, 61):
        # 0.15 um is what the profile's own docstring allows; it stands for pictures, not for checks.
        assert profile_at(found, station) == pytest.approx(radius(found, station), abs=2e-4)


def test_a_wedge_between_two_angles(measured, bench):
    # A sector of a tube, inner radius 14, from -20 to 20 degrees: 14 at its inner face whatever the sector.
    tube = cq.Solid.makeCylinder(18.5, 10, V(0, 0, 20), V(0, 0, 1), 40).cut(cylinder(28.0, 19.0, 31.0))
    found = measured(bench.with_material(tube))
    assert radius(found, 20.0, 30.0) == pytest.approx(14.0, abs=1e-9)


class TestMaterialOnTheAxis:
    """Within material there is no surface to measure to: the free radius is 0 there, and only there."""

    def check(self, found, start, stop, outside):
        for a, b in ((start + 1e-4, stop - 1e-4), (start + 0.3, stop - 0.3), (0.5 * (start + stop),) * 2):
            assert radius(found, a, b) == 0.0
        assert profile_at(found, 0.5 * (start + stop)) == 0.0
        # Wholly outside, 1 µm off, the radius is what it is there.
        assert radius(found, start - 2.0, start - 1.0) == pytest.approx(outside, abs=MICRON)
        assert radius(found, stop + 1.0, stop + 2.0) == pytest.approx(outside, abs=MICRON)

    def test_a_wall(self, measured, bench):
        self.check(measured(bench.with_material(cylinder(37.0, 25.0, 32.0))), 25.0, 32.0, 18.0)

    def test_a_wall_that_leans(self, measured, bench):
        # Planes through (0, 0, 25) and (0, 0, 32), 20 degrees off square; beside them they take from the radius too.
        wall = cq.Solid.makeBox(100, 100, 7 * cos(radians(20.0)), V(-50, -50, 0))
        wall = wall.rotate(V(), V(1, 0, 0), 20.0).translate(V(0, 0, 25)).intersect(cylinder(36.5, 5.6, 52.4))
        found = measured(bench.with_material(wall))
        for a, b in ((25.001, 31.999), (27.0, 28.0)):
            assert radius(found, a, b) == 0.0
        # At a station d before the face the plane is d / tan(20) from the axis.
        assert radius(found, 24.0) == pytest.approx(1.0 / tan(radians(20.0)), abs=MICRON)

    def test_a_cross_pin(self, measured, bench):
        pin = cq.Solid.makeCylinder(3.0, 40.0, V(-20, 1, 30), V(1, 0, 0)).intersect(cylinder(37.0, 10.0, 50.0))
        found = measured(bench.with_material(pin))
        # The axis passes 1 beside the pin's: half a chord of sqrt(9 - 1).
        half = sqrt(8.0)
        for a, b in ((30.0 - half + 1e-3, 30.0 + half - 1e-3), (29.0, 30.5)):
            assert radius(found, a, b) == 0.0
        assert radius(found, 34.0, 36.0) == pytest.approx(18.0, abs=MICRON)

    def test_a_free_form_lump(self, measured, bench):
        ball = cq.Solid.makeSphere(8.0, V(1.5, 0.5, 30), V(0, 0, 1), -90, 90, 360)
        web = cq.Solid.makeBox(40, 4, 6, V(-20, -2, 27)).intersect(cylinder(37.0, 10.0, 50.0))
        found = measured(as_bsplines(bench.with_material(ball, web)))
        # The sphere ends at 30 -+ sqrt(64 - 2.5) on the axis.
        end = sqrt(61.5)
        for a, b in ((30.0 - end + 0.01, 30.0 + end - 0.01), (23.0, 25.0), (34.0, 36.0)):
            assert radius(found, a, b) == 0.0
        assert radius(found, 39.0, 45.0) == pytest.approx(18.0, abs=MICRON)

    def test_an_adapters_blind_end(self, measured, bench):
        part = bench.with_material(cylinder(27.0, 53.0, 55.0))
        found = measured(part)
        assert radius(found, 53.2, 54.9) == 0.0
        assert radius(found, 55.001, 56.4) == pytest.approx(13.0, abs=1e-9)

    def test_no_question_is_asked_where_nothing_lies_on_the_axis(self, measured, bench, kernel, monkeypatch):
        asked = []
        ask = type(kernel).ask
        monkeypatch.setattr(
            type(kernel),
            "ask",
            lambda self, path, phase, request: asked.append(request["do"]) or ask(self, path, phase, request),
        )
        measured(bench.housing())
        assert "read" in asked
        assert "inside" not in asked


class TestSteepRims:
    """Where an edge or a wall runs steeply to the axis, a chord's small error is a large one in the radius."""

    HEIGHTS = (0.0, 1.0, 2.5, 2.9, 2.99, 2.999, 2.9999, 2.99999)

    def test_a_pins_end(self, measured, bench):
        # The rim of a pin of radius 3 lies in the plane x = 9, its centre at y = 5: at a height h over the centre's
        # station the nearest point is at y = 5 - sqrt(9 - h^2).
        found = measured(bench.with_material(cq.Solid.makeCylinder(3.0, 20.0, V(9, 5, 30), V(1, 0, 0))))
        for h in self.HEIGHTS:
            exact = hypot(9.0, 5.0 - sqrt(9.0 - h * h))
            for station in (30.0 - h, 30.0 + h):
                assert radius(found, station) <= exact + MICRON
                assert radius(found, station) >= exact - MICRON

    @pytest.mark.parametrize("lean", [0.0, 1e-9])
    def test_a_ring(self, measured, bench, lean):
        # A ring of mean radius 6 and thickness 2 x 3 beside the axis, its inmost point at 17 - 9 = 8 where it stands
        # upright; at a height h over its middle it is 3 - sqrt(9 - h^2) farther out.
        ring = cq.Solid.makeTorus(6.0, 3.0, V(17, 0, 30), V(0, sin(lean), cos(lean)))
        found = measured(bench.with_material(ring))
        for h in self.HEIGHTS:
            exact = 11.0 - sqrt(9.0 - h * h)
            near = radius(found, 30.0 + h)
            assert near == pytest.approx(exact, abs=MICRON)


@pytest.mark.parametrize("turn", [360.0, 70.0])
def test_a_free_curve_turned_about_the_drive_axis(measured, bench, kernel, monkeypatch, turn):
    # An ellipse with half axes 4 across and 12 along, its centre 20 beside the axis at station 30, turned about the
    # axis: at a distance h from the centre's station it is nearest at 20 - 4 sqrt(1 - h^2 / 144).
    asked = []
    ask = type(kernel).ask

    def noted(self, path, phase, request):
        asked.append(request["do"])
        return ask(self, path, phase, request)

    monkeypatch.setattr(type(kernel), "ask", noted)
    ring = cq.Workplane("XZ").center(20.0, 30.0).ellipse(4.0, 12.0).revolve(turn, (-20, 0, 0), (-20, 1, 0)).val()
    found = measured(bench.with_material(ring))
    for h in (0.0, 1.0, 4.0, 7.0, 8.0, 9.0):
        for station in (30.0 - h, 30.0 + h):
            exact = min(20.0 - 4.0 * sqrt(1.0 - h * h / 144.0), 18.0)
            assert radius(found, station) == pytest.approx(exact, abs=0.2 * MICRON)
    assert found.free_radius.least == pytest.approx(13.0, abs=1e-9)
    assert "meridians" in asked
    assert "mesh" not in asked
