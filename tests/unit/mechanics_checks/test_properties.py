"""Balances and monotone verdicts: more load never turns a fail into a pass, a remedy does what it says."""

import re
from dataclasses import replace
from math import cos, radians

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.checks.working import working_of

WORSE = {
    "peak_torque": lambda drive, by: replace(drive, motor=replace(drive.motor, peak_torque=0.9 * by)),
    "mass": lambda drive, by: replace(drive, screw=replace(drive.screw, moving_mass=6 * by)),
    "acceleration": lambda drive, by: replace(
        drive, screw=replace(drive.screw, moves=(replace(drive.screw.moves[0], acceleration=1500 * by),))
    ),
    "preload": lambda drive, by: replace(drive, screw=replace(drive.screw, nut_preload=100 * by)),
    "repeatability": lambda drive, by: replace(drive, asked=replace(drive.asked, repeatability=0.02 / by)),
    "top_speed": lambda drive, by: replace(drive, motor=replace(drive.motor, top_speed=2400 * by)),
}


@pytest.mark.parametrize("what", WORSE)
@given(first=st.floats(1.0, 1000.0), second=st.floats(1.0, 50.0))
@settings(max_examples=15, deadline=None)
def test_more_never_turns_a_fail_into_a_pass(build, what, first, second):
    loaded = build.job()
    assert loaded.job.drive is not None

    def at(by):
        drive = WORSE[what](loaded.job.drive, by)
        return build.work(replace(loaded, job=replace(loaded.job, drive=drive)))

    less, more = at(first), at(first * second)
    watched = ("torque", "hub-grip", "key-stress", "speed", "wind-up", "backlash")
    order = ("pass", "warn", "fail")
    for key, finding in less.items():
        if key[0] in watched and finding.status in order and more[key].status in order:
            assert order.index(more[key].status) >= order.index(finding.status), key


@given(
    mass=st.floats(0.1, 50), lead=st.floats(1, 40), friction=st.floats(0, 0.3), stroke=st.floats(1, 900),
    speed=st.floats(1, 800), acceleration=st.floats(10, 20000), efficiency=st.floats(0.55, 1.0),
    incline=st.floats(-90, 90),
)  # fmt: skip
@settings(max_examples=40, deadline=None)
def test_work_through_the_coupling_pays_for_friction_and_loss(
    build, mass, lead, friction, stroke, speed, acceleration, efficiency, incline
):
    loaded = build.job()
    screw = replace(
        loaded.job.drive.screw, moving_mass=mass, lead=lead, guide_friction=friction, nut_preload=0.0, incline=incline,
        efficiency=efficiency,
        moves=(replace(loaded.job.drive.screw.moves[0], stroke=stroke, speed=speed, acceleration=acceleration),),
    )  # fmt: skip
    job = replace(loaded.job, drive=replace(loaded.job.drive, screw=screw))
    demand = working_of(build.context(replace(loaded, job=job))).demand
    # There and back: weight and inertia give back what they took but for the screw's loss; the guide's friction stays.
    guide = 2 * stroke / 1000 * friction * mass * 9.80665 * cos(radians(incline))
    assert demand.work >= guide * (1 - 1e-9) - 1e-9
    if efficiency == 1.0:
        assert demand.work == pytest.approx(guide, rel=1e-6, abs=1e-9)


def test_without_loss_the_work_is_the_friction_alone(build):
    loaded = build.job(("incline: 90", "incline: 0\n    efficiency: 1\n    guide_friction: 0.1\n    seal_friction: 5"))
    job = replace(loaded.job, drive=replace(loaded.job.drive, screw=replace(loaded.job.drive.screw, nut_preload=0.0)))
    demand = working_of(build.context(replace(loaded, job=job))).demand
    assert demand.work == pytest.approx(2 * 0.25 * (0.1 * 6 * 9.80665 + 5), rel=1e-9)


def test_remedies_do_what_they_say(build):
    tight = ("repeatability: 20 um", "repeatability: 0.1 um")
    failed = build.work(build.job(tight))["wind-up", "reversal"]
    assert failed.status == "fail"
    needed = float(re.search(r"at least ([\d.]+) N", failed.remedy)[1])
    better = build.work(build.job(tight, ("torsional_stiffness: 400", f"torsional_stiffness: {needed * 1.01}")))
    assert better["wind-up", "reversal"].status == "pass"
    worse = build.work(build.job(tight, ("torsional_stiffness: 400", f"torsional_stiffness: {needed * 0.98}")))
    assert worse["wind-up", "reversal"].status == "fail"
    weak = ("nominal_torque: 5\n    maximum_torque: 10", "nominal_torque: 0.05\n    maximum_torque: 0.06")
    torques = build.work(build.job(weak))
    for subject in ("nominal", "peak", "blocked carriage", "emergency stop"):
        assert torques["torque", subject].status == "fail"
        assert re.search(r"at least [\d.]+ N·m", torques["torque", subject].remedy)


def test_slit_over_its_limit_is_told_as_fatigue(build):
    found = build.work(build.job(("    parallel: 0.3", "    parallel: 0.05")))
    assert found["misalignment", "parallel"].status == "fail"
    assert "breaks by fatigue" in found["misalignment", "combined"].message


def test_rigid_is_judged_by_the_bearings(build):
    found = build.work(build.job(("family: double slit", "family: rigid")))
    fails = [f for key, f in found.items() if key[0] == "misalignment"]
    assert [f.subject for f in fails] == ["motor bearing", "actuator bearing"]
    assert all(f.status == "fail" and f.unit == "N" for f in fails)
    fine = float(re.search(r"aligned to ([\d.]+) mm", fails[0].remedy)[1])
    aligned = ("  motor: {inertia", f"  alignment: {{parallel: {0.99 * fine}, angular: 0}}\n  motor: {{inertia")
    again = build.work(build.job(("family: double slit", "family: rigid"), aligned))
    assert again["misalignment", "motor bearing"].status == "pass"


def test_a_scale_at_the_carriage_makes_lost_motion_a_warning(build):
    scale = ("repeatability: 20 um", "repeatability: 0.01 um, feedback: carriage")
    assert build.work(build.job(scale))["wind-up", "reversal"].status == "warn"


def test_a_resonance_in_the_band_fails_and_says_so(build):
    found = build.work(build.job(("kept_free: [40, 120]", "kept_free: [500, 2000]")))["resonance", "band"]
    assert found.status == "fail"
    assert found.margin < 0
    assert "inside" in found.message
