"""Ball-screw and belt drives: W7.7 to W7.10, with the published formulas."""

from __future__ import annotations

from math import pi

import pytest

from fitcheck.mechanics.axis import RotaryAxis, ScrewAxis, solid_cylinder_inertia
from fitcheck.mechanics.demand import demand, inertia_ratio
from fitcheck.mechanics.motion import trapezoid

MOTOR = 0.14e-4


def w7_7(published: bool) -> ScrewAxis:
    return ScrewAxis(
        lead_mm=20.0, moving_mass=10.0, screw_inertia=solid_cylinder_inertia(20.0, 500.0, 7900.0), efficiency=0.9,
        guide_friction=0.1, driven_inertia=10e-6, efficiency_on_inertia=not published,
    )  # fmt: skip


def test_w7_7_ball_screw_axis() -> None:
    # Computed case with the formulas of three drive manuals (read): 10 kg, screw 20 x 500 mm, lead 20, eta 0.9, mu 0.1,
    # coupling 10e-6 kg·m², 0.3 m in 0.1 + 0.8 + 0.1 s, cycle 2 s: J_L 1.7337e-4, ratio 12.38, v 0.333 m/s, 1000
    # rev/min, T_f 0.0347, T_a 0.231, T_d 0.162, T_rms 0.0667 N·m (the motor's torques).
    axis = w7_7(published=True)
    assert axis.inertia == pytest.approx(1.7337e-4, abs=5e-9)
    assert inertia_ratio(axis.inertia, MOTOR) == pytest.approx(12.38, abs=0.005)
    speed = 0.3 / 0.9
    found = demand(axis, trapezoid(0.3, speed, speed / 0.1, pause=1.0), MOTOR)
    assert found.period == pytest.approx(2.0)
    assert found.top_speed * 60 / (2 * pi) == pytest.approx(1000.0)
    accelerate, run, brake, rest = (part.motor_torque for part in found.segments)
    assert run == pytest.approx(0.0347, abs=5e-5)
    assert accelerate == pytest.approx(0.231, abs=5e-4)
    assert -brake == pytest.approx(0.162, abs=5e-4)
    assert rest == 0.0
    assert found.motor_rms == pytest.approx(0.0667, abs=5e-5)
    # What passes the coupling is less by the rotor's share.
    assert found.peak == pytest.approx(accelerate - MOTOR * found.top_acceleration)


def test_w7_7_with_the_screw_s_loss_on_the_inertia_too() -> None:
    # The manuals leave the efficiency off the accelerating force; with it the peak rises by m a P/(2 pi) (1/eta - 1).
    speed = 0.3 / 0.9
    phases = trapezoid(0.3, speed, speed / 0.1)
    peaks = [demand(w7_7(published), phases).peak for published in (True, False)]
    assert peaks[1] - peaks[0] == pytest.approx(10 * 10 * speed * 0.020 / (2 * pi) * (1 / 0.9 - 1))


def test_w7_8_ball_screw_axis() -> None:
    # Computed case: 40 kg, mu 0.05, screw 15 x 600 mm, lead 15, eta 0.9, mu0 0.3, F0 = F/3: F 19.6 N, T_L 0.0567 N·m,
    # J_screw 2.36e-5, J_table 2.28e-4, J_L 2.52e-4 kg·m².
    force = 0.05 * 40 * 9.80665
    axis = ScrewAxis(
        lead_mm=15.0, moving_mass=40.0, screw_inertia=solid_cylinder_inertia(15.0, 600.0, 7900.0), efficiency=0.9,
        guide_friction=0.05, nut_preload=force / 3, nut_friction=0.3,
    )  # fmt: skip
    assert axis.friction_force == pytest.approx(19.6, abs=0.05)
    assert axis.torque(1) == pytest.approx(0.0567, abs=2e-4)
    assert axis.screw_inertia == pytest.approx(2.36e-5, rel=3e-3)
    assert 40 * axis.travel_per_radian**2 == pytest.approx(2.28e-4, abs=5e-7)
    assert axis.inertia == pytest.approx(2.52e-4, abs=5e-7)


def test_w7_9_lead_screw_force() -> None:
    # industrialmonitordirect.com (read): 100 kg, mu 0.02, seals 28 N: "48 N"; recomputed 47.6. The page's formula has a
    # stray factor 1000, which is not taken over.
    axis = ScrewAxis(lead_mm=5.0, moving_mass=100.0, guide_friction=0.02, seal_friction=28.0)
    assert axis.friction_force == pytest.approx(47.6, abs=0.05)


def test_w7_10_belt_drive() -> None:
    # machinemfg.com sizing case two (read): 50 kg, mu 0.6, pulley 120 mm, two reductions 10 and 2: T_f = 0.882 N·m at
    # the motor, T_a 0.375 N·m for 30 m/min in 0.2 s.
    radius, ratio = 0.06, 20.0
    friction = 0.6 * 50 * 9.8 * radius
    axis = RotaryAxis(load_inertia=50 * radius**2, ratio=ratio, friction_torque=friction)
    assert axis.torque(1) == pytest.approx(0.882, abs=5e-4)
    acceleration = 0.5 / 0.2 / radius
    assert axis.torque(1, acceleration) - axis.torque(1) == pytest.approx(0.375, abs=5e-4)


def test_vertical_axis_replaces_friction_by_the_weight_difference() -> None:
    # Drive manuals (read): vertical: g (W - Wc) P/(2 pi eta) in place of mu g W P/(2 pi eta).
    axis = ScrewAxis(lead_mm=10.0, moving_mass=12.0, counterbalance_mass=5.0, incline_deg=90.0, guide_friction=0.1)
    assert axis.torque(1) == pytest.approx(9.80665 * 7 * 0.010 / (2 * pi * 0.9))
    assert axis.holding_torque == pytest.approx(9.80665 * 7 * 0.010 / (2 * pi))
