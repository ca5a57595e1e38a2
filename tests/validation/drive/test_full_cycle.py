"""A screw axis with every term that a job can give, integrated here in small steps of time from forces on the nut."""

from __future__ import annotations

from math import cos, pi, radians, sin, sqrt

import pytest

from fitcheck.checks.drive import drive_of
from fitcheck.checks.working import Working, working_of
from fitcheck.job.load import parse_job
from fitcheck.measurement.model import Measurement

G = 9.80665
STEP = 2e-4  # s
JOB = """\
step: z.step
coupling:
  family: bellows
  outside_diameter: 30
  length: 40
  ratings: {inertia: 8e-6}
  hubs: {motor: {bore: 8, bore_length: 12}, actuator: {bore: 8, bore_length: 12}}
drive:
  screw:
    lead: 8
    ratio: 1.5
    inertia: 3e-5
    driven_inertia: 5e-6
    efficiency: 0.88
    back_efficiency: BACK
    nut_preload: 250
    nut_friction: 0.2
    bearing_drag: 0.015
    moving_mass: 14
    guide_friction: 0.03
    seal_friction: 12
    external_force: FORCE
    incline: INCLINE
    counterbalance_mass: 4
    counterbalance_force: 25
    moves:
      - {stroke: 180, speed: 240, acceleration: 1600, deceleration: 2400, pause: 0.35}
      - {stroke: -12, speed: 240, acceleration: 900, pause: 0.2, then: stays}
    phases:
      - {duration: 0.3, end_speed: 90}
      - {duration: 0.5, end_speed: 90}
      - {duration: 0.4, end_speed: -60}
      - {duration: 0.25, end_speed: 0}
      - {duration: 0.6, end_speed: 0}
  motor: {inertia: 4e-5}
"""

TAKEN = Measurement(
    file="z.step", sha256="0" * 64, file_unit="mm", bodies=(), drive_axis=None, ends=(), coaxiality=None,
    free_radius=None, cylinders=(),
)  # fmt: skip


def at_work(incline: float, force: float, back: float) -> Working:
    text = JOB.replace("INCLINE", str(incline)).replace("FORCE", str(force)).replace("BACK", str(back))
    found = working_of(drive_of(parse_job(text, "z.fit.yaml", ""), TAKEN, remedies=False))
    assert isinstance(found, Working)
    return found


def ramp(parts: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Speed and acceleration of the carriage (m/s, m/s²) in the middle of each step, from durations and end speeds."""
    found, speed = [], 0.0
    for duration, end in parts:
        count = max(1, round(duration / STEP))
        slope = (end - speed) / duration
        found += [(speed + slope * duration * (i + 0.5) / count, slope) for i in range(count)]
        speed = end
    return found


def motion() -> list[tuple[float, float]]:
    """The cycle of the job, worked out by hand.

    180 mm at 240 mm/s: 0.15 s up, 0.1 s down, 18 + 12 mm of them, 150 mm in 0.625 s, and back. 12 mm at 900 mm/s²:
    a triangle of sqrt(12 x 900) = 103.9 mm/s in 0.1155 s each way.
    """
    top = sqrt(0.012 * 0.9)
    parts = []
    for sign in (1, -1):
        parts += [(0.15, sign * 0.24), (0.625, sign * 0.24), (0.1, 0.0), (0.35, 0.0)]
    parts += [(top / 0.9, -top), (top / 0.9, 0.0), (0.2, 0.0)]
    return ramp([*parts, (0.3, 0.09), (0.5, 0.09), (0.4, -0.06), (0.25, 0.0), (0.6, 0.0)])


@pytest.mark.parametrize(
    ("incline", "force", "back"), [(90, 0, 0.8), (35, 60, 0.86), (-20, -40, 0.7), (3, 0, 0.8), (90, -300, 0.8)]
)
def test_torque_over_the_cycle(incline: float, force: float, back: float) -> None:
    working = at_work(incline, force, back)
    found = working.demand
    assert found is not None
    arm = 0.008 / (2 * pi)  # m of travel in a radian of the screw
    # The counterweight and the spring pull uphill: with positive travel going uphill, against it going downhill.
    uphill = 1 if incline > 0 else -1
    standing = 14 * G * sin(radians(incline)) - uphill * (4 * G + 25) + force
    rubbing = 0.03 * 14 * G * cos(radians(incline)) + 12
    drag = 0.2 * 250 * arm + 0.015
    torques, works, motors = [], [], []
    for speed, slope in motion():
        way = (speed > 0) - (speed < 0)
        if way == 0:
            torques.append(standing * arm / 1.5)
            motors.append(torques[-1])
            works.append(0.0)
            continue
        nut = standing + way * rubbing + (14 + 4) * slope
        screw = nut * arm * (1 / 0.88 if nut * way >= 0 else back) + way * drag + 3e-5 * slope / arm
        turning = 1.5 * slope / arm  # rad/s² at the coupling
        torques.append(screw / 1.5 + (5e-6 + 4e-6) * turning)
        motors.append(torques[-1] + (4e-5 + 4e-6) * turning)
        works.append(torques[-1] * 1.5 * speed / arm * STEP)
    assert found.period == pytest.approx(len(torques) * STEP, rel=2e-3)
    assert found.peak == pytest.approx(max(abs(t) for t in torques), rel=1e-6)
    assert found.rms == pytest.approx(sqrt(sum(t * t for t in torques) / len(torques)), rel=2e-3)
    assert found.motor_peak == pytest.approx(max(abs(t) for t in motors), rel=1e-6)
    assert found.motor_rms == pytest.approx(sqrt(sum(t * t for t in motors) / len(motors)), rel=2e-3)
    assert found.work == pytest.approx(sum(works), rel=5e-3, abs=2e-3)
    assert found.holding == pytest.approx(abs(standing) * arm / 1.5)
    steady = []
    for way in (1, -1):
        nut = standing + way * rubbing
        steady.append((nut * arm * (1 / 0.88 if nut * way >= 0 else back) + way * drag) / 1.5)
    assert found.running == pytest.approx(max(abs(t) for t in steady))
    assert found.top_speed == pytest.approx(1.5 * 0.24 / arm)
    assert working.axis.inertia == pytest.approx(5e-6 + 4e-6 + 3e-5 / 1.5**2 + 18 * (arm / 1.5) ** 2)
    # Three moves, and a phase that turns round: it leaves rest at its change of direction as well.
    assert working.starts_per_hour == pytest.approx(5 * 3600 / found.period)


def test_rotary_load_back_driven_through_a_gear() -> None:
    # An arm of 6 N·m (at its worst place) on 1:20, gear 0.85, back 0.8: lifting 6/(20 x 0.85), lowering 6 x 0.8/20.
    text = JOB[: JOB.index("  screw:")] + (
        "  rotary: {inertia: 0.3, ratio: 20, efficiency: 0.85, back_efficiency: 0.8, torque: 6, friction_torque: 0.4,\n"
        "    bearing_drag: 0.01, turns: [{angle: 90, speed: 20, acceleration: 4, pause: 0.5}]}\n"
        "  motor: {inertia: 4e-5}\n"
    )
    found = working_of(drive_of(parse_job(text, "z.fit.yaml", ""), TAKEN, remedies=False))
    assert isinstance(found, Working)
    assert found.axis.torque(1) == pytest.approx((6 + 0.4) / 20 / 0.85 + 0.01)
    assert found.axis.torque(-1) == pytest.approx((6 - 0.4) / 20 * 0.8 - 0.01)
    assert found.demand is not None
    up = (6 + 0.4 + 0.3 * 4) / 20 / 0.85 + 0.01 + 4e-6 * 4 * 20
    assert found.demand.peak == pytest.approx(up)
    assert found.demand.top_speed == pytest.approx(20 * 20 * 2 * pi / 60)
    # Lifted and lowered by 90 degrees: the coupling pays for friction, drag and both losses of the gear.
    turned = radians(90)
    assert found.demand.work > 2 * turned * (0.4 + 20 * 0.01)
    assert found.demand.holding == pytest.approx(6 / 20)
