"""Errors at the carriage against simulations: a spring with play and dry friction, and a two-mass drive in time."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from fitcheck.mechanics.dynamics import two_inertia
from fitcheck.mechanics.stiffness import following_error_um, lost_motion_um, settled_error_um, travel_um

LEAD = 5.0


class Rubbing:
    """A load on dry friction and a standing torque, behind a spring with play; moved slowly by the motor's angle."""

    def __init__(self, stiffness: float, play: float, friction: float, standing: float) -> None:
        self.stiffness, self.play, self.friction, self.standing = stiffness, play, friction, standing
        self.load = self.twist_at(standing) * -1.0

    def twist_at(self, torque: float) -> float:
        """Motor less load that gives this torque; in the middle of the play for none."""
        return torque / self.stiffness + np.sign(torque) * self.play / 2.0

    def to(self, motor: float) -> float:
        """The load's angle after the motor has gone to an angle: it moves only as far as friction makes it."""
        ahead = motor - self.load
        most, least = self.twist_at(self.standing + self.friction), self.twist_at(self.standing - self.friction)
        self.load = motor - min(max(ahead, least), most)
        return self.load


@given(stiffness=st.floats(50, 5000), play=st.floats(0, 0.02), friction=st.floats(0.001, 1), standing=st.floats(-1, 1))
@settings(max_examples=60, deadline=None)
def test_lost_motion_is_what_the_motor_turns_back_before_the_load_does(stiffness, play, friction, standing):
    drive = Rubbing(stiffness, play, friction, standing)
    stays = drive.to(1.0)
    steps = np.linspace(1.0, 0.0, 20001)
    moved = next(motor for motor in steps if drive.to(motor) < stays - 1e-12)
    lost = travel_um(1.0 - moved, LEAD)
    told = lost_motion_um(friction, stiffness, LEAD, play)
    one_step = travel_um(steps[0] - steps[1], LEAD)
    assert lost <= told + 2 * one_step
    if abs(standing) < friction * 0.999:  # the torque changes sign, so the play is gone through as well
        assert lost == pytest.approx(told, abs=2 * one_step)
    elif abs(standing) > friction * 1.001:
        assert lost == pytest.approx(lost_motion_um(friction, stiffness, LEAD), abs=2 * one_step)


@given(stiffness=st.floats(50, 5000), play=st.floats(0, 0.02), friction=st.floats(0.001, 1), standing=st.floats(-1, 1))
@settings(max_examples=60, deadline=None)
def test_settled_band_holds_where_the_load_stands_from_both_sides(stiffness, play, friction, standing):
    found = []
    for start in (-1.0, 1.0):
        drive = Rubbing(stiffness, play, friction, standing)
        drive.to(start)
        found.append(drive.to(0.0))
    # The load stands behind the motor by the twist; seen from the motor's zero, against the twist's sign.
    band = settled_error_um(standing, friction, stiffness, LEAD, play)
    width = travel_um(abs(found[1] - found[0]), LEAD)
    assert width <= band.high - band.low + 1e-9
    if abs(abs(standing) - friction) > 1e-3 * friction:
        assert width == pytest.approx(band.high - band.low, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("ratio", [0.3, 3.0])
def test_following_error_is_the_mean_lag_and_half_its_peak(ratio):
    # The motor follows its ramp exactly; the load on the spring swings about J alpha/k, up to twice that.
    stiffness, driven, acceleration = 300.0, 4e-5 * ratio, 2000.0
    run = solve_ivp(
        lambda t, y: [y[1], stiffness * (0.5 * acceleration * t * t - y[0]) / driven], (0, 0.05), [0.0, 0.0],
        rtol=1e-10, atol=1e-14, dense_output=True,
    )  # fmt: skip
    period = 2 * pi * (driven / stiffness) ** 0.5
    times = np.linspace(0, int(0.05 / period) * period, 200001)
    lag = 0.5 * acceleration * times**2 - run.sol(times)[0]
    told = following_error_um(driven, acceleration, stiffness, LEAD)
    assert travel_um(float(lag.mean()), LEAD) == pytest.approx(told, rel=1e-3)
    assert travel_um(float(lag.max()), LEAD) == pytest.approx(2 * told, rel=1e-3)


def test_a_struck_drive_rings_at_its_resonance_and_keeps_momentum_and_energy():
    motor, driven, stiffness = 5e-5, 9e-5, 300.0
    run = solve_ivp(
        lambda _t, y: [y[2], y[3], -stiffness * (y[0] - y[1]) / motor, stiffness * (y[0] - y[1]) / driven],
        (0, 0.05), [0.0, 0.0, 10.0, 0.0], rtol=1e-10, atol=1e-13, dense_output=True,
    )  # fmt: skip
    times = np.linspace(0, 0.05, 50001)
    one, two, speed_one, speed_two = run.sol(times)
    assert motor * speed_one + driven * speed_two == pytest.approx(np.full(times.size, motor * 10.0), rel=1e-6)
    energy = 0.5 * (motor * speed_one**2 + driven * speed_two**2 + stiffness * (one - two) ** 2)
    assert energy == pytest.approx(np.full(times.size, energy[0]), rel=1e-6)
    twist = one - two
    ups = times[1:][(twist[:-1] < 0) & (twist[1:] >= 0)]
    assert (len(ups) - 1) / (ups[-1] - ups[0]) == pytest.approx(
        two_inertia(motor, driven, stiffness).resonance, rel=1e-3
    )
