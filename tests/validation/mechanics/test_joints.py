"""Universal joints and Oldham couplings: W8.1 to W8.4."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from fitcheck.mechanics.joints import (
    angle_for_fluctuation,
    joint_angle_error,
    joint_speed_range,
    joint_speed_ratio,
    joint_turn,
    oldham,
)


def test_w8_1_khurmi_two_joints_crossed() -> None:
    # Khurmi by its Scilab companion (id 16470142075, read): 20 deg, 500 rev/min, forks at right angles: intermediate
    # shaft 532.09 and 469.85, driven shaft 566.24 and 441.51 (printed as rad/s; they are rev/min).
    low, high = joint_speed_range(20.0)
    assert (500 * high, 500 * low) == pytest.approx((532.09, 469.85), abs=0.005)
    low, high = joint_speed_range(20.0, 20.0, crossed=True)
    assert (500 * high, 500 * low) == pytest.approx((566.24, 441.51), abs=0.006)
    assert joint_speed_range(20.0, 20.0) == pytest.approx((1.0, 1.0), abs=1e-12)


def test_w8_2_angle_for_a_fluctuation() -> None:
    # id 16954814422 (read): 1200 rev/min, 100 rev/min in all: 16.42 deg (the file rounds to 16.4), 1251.0 and 1151.0.
    angle = angle_for_fluctuation(100 / 1200)
    assert angle == pytest.approx(16.42, abs=0.01)
    low, high = joint_speed_range(angle)
    assert (1200 * high, 1200 * low) == pytest.approx((1251.0, 1151.0), abs=0.05)


def test_w8_3_askfilo() -> None:
    # askfilo (questions read, digits computed): 25 deg at 100 rad/s: 110.34 and 90.63; 12.5 % in all: 20.04 deg.
    low, high = joint_speed_range(25.0)
    assert (100 * high, 100 * low) == pytest.approx((110.34, 90.63), abs=0.005)
    assert angle_for_fluctuation(0.125) == pytest.approx(20.04, abs=0.01)


def test_w8_4_oldham_sliding_speed() -> None:
    # Scilab companion id 16689419911 (read): 160 rev/min, 18 mm: w 16.755 rad/s, v 0.3016 m/s.
    speed = 160 * 2 * pi / 60
    assert speed == pytest.approx(16.755, abs=5e-4)
    found = oldham(18.0, speed)
    assert found.sliding_speed == pytest.approx(0.3016, abs=5e-5)
    assert (found.orbit_mm, found.orbits_per_turn) == (18.0, 2)


@pytest.mark.parametrize("angle", [2.0, 15.0, 35.0])
def test_speed_ratio_is_the_slope_of_the_turn(angle: float) -> None:
    turns = np.linspace(0.0, 360.0, 73)
    step = 1e-4
    for turn in turns:
        slope = (joint_turn(angle, turn + step) - joint_turn(angle, turn - step)) / (2 * step)
        assert slope == pytest.approx(joint_speed_ratio(angle, turn), rel=1e-6)


@pytest.mark.parametrize("angle", [2.0, 15.0, 35.0])
def test_angle_error_is_the_extreme_of_the_difference(angle: float) -> None:
    differences = [joint_turn(angle, turn) - turn for turn in np.linspace(0.0, 360.0, 7201)]
    assert max(differences) == pytest.approx(joint_angle_error(angle), rel=1e-5)
    assert min(differences) == pytest.approx(-joint_angle_error(angle), rel=1e-5)


def test_oldham_sliding_speed_by_the_disc_motion() -> None:
    # Shaft centres at 0 and e; the disc's slots run at right angles to each other through the centres, so its centre is
    # on Thales' circle over them. The sliding along a slot is e cos(wt), its speed at most w e.
    offset, speed = 2e-3, 50.0
    time = np.linspace(0.0, 2 * pi / speed, 100001)
    slide = offset * np.cos(speed * time)
    assert np.abs(np.gradient(slide, time)).max() == pytest.approx(oldham(2.0, speed).sliding_speed, rel=1e-6)
    centre = np.stack([slide * np.cos(speed * time), slide * np.sin(speed * time)])
    radius = np.hypot(centre[0] - offset / 2, centre[1])
    assert radius == pytest.approx(oldham(2.0, speed).orbit_mm / 2000.0, rel=1e-9)
