"""Chains, damping and steppers: the check's frequencies against closed forms of the job's own numbers."""

from math import pi, sqrt

import numpy as np
import pytest

from fitcheck.checks.modes import Chain, Link, modes_of
from fitcheck.errors import JobError
from fitcheck.mechanics.bounds import exactly
from fitcheck.mechanics.dynamics import chain

PER_RAD = 0.005 / (2 * pi)
TWO_MASSES = (
    ("    inertia: 1.2e-5\n", "    inertia: 0\n"),
    ("    diameter: 12\n    length: 350\n", "    inertia: 2e-5\n"),
)
"""The demo drive without hub inertia and without the screw's give: rotor and load on one spring."""


def stub(diameter, length):
    return 79.3e9 * pi / 32 * (diameter / 1000) ** 4 / (length / 1000)


TRAIN = 1 / (1 / 400 + 1 / stub(8, 8 + 9 + 4) + 1 / stub(10, 10 + 9 + 4))
DRIVEN = 2e-5 + 6 * PER_RAD**2


def test_two_masses_are_the_closed_form(build):
    found = build.work(build.job(*TWO_MASSES))["resonance", "bandwidth"]
    assert found.value == pytest.approx(sqrt(TRAIN * (1 / DRIVEN + 1 / 4.8e-5)) / (2 * pi), rel=1e-9)
    assert f"(anti-resonances {sqrt(TRAIN / DRIVEN) / (2 * pi):.3g} Hz)" in found.message
    assert "as a chain of motor, screw with load" in found.message


def held_frequencies(rotor, driven, field, train):
    """Both frequencies of two masses, the first one held by a spring: roots of the quadratic in w²."""
    b = field / rotor + train * (1 / rotor + 1 / driven)
    c = field * train / (rotor * driven)
    return [sqrt(b / 2 - sqrt(b * b / 4 - c)) / (2 * pi), sqrt(b / 2 + sqrt(b * b / 4 - c)) / (2 * pi)]


STEPPER = ("peak_torque: 0.9, top_speed: 2400}", "peak_torque: 0.9, top_speed: 2400, holding_torque: 1.2}")


def test_a_bandwidth_over_the_anti_resonance_is_a_warning(build):
    # A turning load through a ratio: the motor held still, the load's inertia over the square of the ratio, with what
    # turns at the coupling, swings on the train: the closed form of one mass on a spring.
    head = build.text[: build.text.index("drive:\n")]
    drive = (
        "drive:\n  rotary: {inertia: 0.02, ratio: 5, turns: [{angle: 90, speed: 30, acceleration: 10}]}\n"
        "  motor: {inertia: 3e-5, peak_torque: 1}\n  asked: {bandwidth: 100, resonance_ratio: 2}\n"
    )
    found = build.work(build.job(text=head + drive))
    still, swings = found["resonance", "anti-resonance"], found["resonance", "bandwidth"]
    assert still.value == pytest.approx(sqrt(TRAIN / (0.02 / 25 + 0.6e-5)) / (2 * pi), rel=0.005)
    assert (still.status, still.limit, swings.status) == ("warn", 100, "pass")
    assert f"a bandwidth of at most {still.value:.3g} Hz" in still.remedy
    assert build.work(build.job())["resonance", "anti-resonance"].status == "pass"


def test_the_remedy_names_what_is_soft(build):
    # A nut on rubber: 60 N/mm under 6 kg swing with 15.9 Hz, whatever coupling there is.
    soft = ("    moving_mass: 6\n", "    moving_mass: 6\n    axial_stiffness: 60\n")
    found = build.work(build.job(soft))["resonance", "bandwidth"]
    assert found.status == "fail"
    assert found.remedy.startswith(
        "a stiffer screw, nut and bearings (the coupling is not what is soft), or a bandwidth"
    )
    weak = build.work(build.job(("torsional_stiffness: 400", "torsional_stiffness: 10")))["resonance", "bandwidth"]
    assert weak.remedy.startswith("a coupling of at least ")
    assert "not what is soft" not in weak.remedy


def test_a_stepper_without_a_peak_torque_gives_its_holding_torque(build):
    stepper = (", peak_torque: 0.9", ", holding_torque: 1.1")
    found = build.work(build.job(stepper))
    blocked = found["torque", "blocked carriage"]
    assert (blocked.status, blocked.value) == ("pass", pytest.approx(2 * 1.1))
    assert "the stepper's holding torque, as no peak torque is given, 1.1 N·m" in blocked.message
    given = build.work(build.job((", peak_torque: 0.9", ", holding_torque: 1.1, peak_torque: 1.1")))
    for key in (("torque", "emergency stop"), ("hub-grip", "motor hub"), ("key-stress", "motor shaft")):
        assert (found[key].status, found[key].limit) == (given[key].status, given[key].limit)
        assert found[key].value == pytest.approx(given[key].value)
    bare = build.work(build.job((", peak_torque: 0.9", "")))["torque", "blocked carriage"]
    assert bare.remedy == "give drive.motor.peak_torque, or a stepper's drive.motor.holding_torque"


def test_a_stepper_is_judged_by_its_field(build):
    band = ("kept_free: [40, 120]", "kept_free: [100, 150]")
    found = build.work(build.job(*TWO_MASSES, STEPPER, band))
    soft = held_frequencies(4.8e-5, DRIVEN, 0.7 * 60.0, TRAIN)
    hard = held_frequencies(4.8e-5, DRIVEN, 60.0, TRAIN)
    assert 120 < soft[0] < 150  # the field's own swing lies in the band, where the free drive has nothing
    nearest = found["resonance", "band"]
    assert nearest.status == "fail"
    assert f"{soft[0]:.3g} to {hard[0]:.3g}" in nearest.message
    assert "held in the stepper's field" in nearest.message
    assert build.work(build.job(*TWO_MASSES, band))["resonance", "band"].status == "pass"
    rate = found["resonance", "step rate"]
    assert rate.value == pytest.approx(150 / 5 * 200)  # 30 rev/s
    assert rate.limit == pytest.approx(hard[0] * sqrt(2), rel=1e-9)
    assert rate.status == "pass"
    assert f"{sqrt(60.0 / 4.8e-5) / (2 * pi):.3g} Hz alone" in rate.message
    assert f"{sqrt(60.0 / (4.8e-5 + DRIVEN)) / (2 * pi):.3g} Hz with all" in rate.message


def test_a_speed_in_the_swing_is_a_warning(build):
    slow = ("speed: 150, acc", "speed: 3.6, acc")  # 0.72 rev/s, 144 steps a second
    rate = build.work(build.job(*TWO_MASSES, STEPPER, slow))["resonance", "step rate"]
    assert rate.value == pytest.approx(144.0)
    assert rate.status == "warn"
    assert "microstepping" in rate.remedy
    slower = ("speed: 150, acc", "speed: 0.5, acc")
    rate = build.work(build.job(*TWO_MASSES, STEPPER, slower))["resonance", "step rate"]
    assert rate.status == "pass"
    assert rate.limit == pytest.approx(held_frequencies(4.8e-5, DRIVEN, 42.0, TRAIN)[0] / sqrt(2), rel=1e-9)


def test_without_motion_the_swing_is_still_told(build):
    no_moves = ("    moves: [{stroke: 250, speed: 150, acceleration: 1500, pause: 1}]\n", "")
    found = build.work(build.job(*TWO_MASSES, STEPPER, no_moves))["resonance", "step rate"]
    assert found.status == "not-checked"
    assert not found.required
    assert "which full steps meet at" in found.message


def test_steps_and_phases_must_make_teeth(build):
    with pytest.raises(JobError, match=r"found 200 full steps of 3 phases, which is no whole number of rotor teeth"):
        build.job(("top_speed: 2400}", "top_speed: 2400, holding_torque: 1.2, phases: 3}"))


def test_damping_of_a_spider_limits_the_amplification(build):
    jaw = (
        ("family: double slit", "family: jaw"),
        ("    axial: 0.4", "    axial: 0.4\n    backlash: 0\n    damping: 1.0"),
    )
    found = build.work(build.job(*TWO_MASSES, *jaw))["resonance", "bandwidth"]
    # The coupling's share of the train's give, and of its psi; sqrt(1 + (2 pi/psi)²) of a lossy spring.
    psi = 1.0 * TRAIN / 400
    assert f"amplified at most {sqrt(1 + (2 * pi / psi) ** 2):.3g} times" in found.message


def test_unknown_springs_make_one_inertia_of_their_ends(build):
    no_shaft = ("  shaft: {diameter: 8, tolerance: h6, length: 21}\n", "")
    found = build.work(build.job(no_shaft))["resonance", "bandwidth"]
    assert "as a chain of motor with motor hub, actuator hub with screw, load" in found.message


def test_a_chain_of_all_parts_against_numpy(build):
    found = build.work(build.job())["resonance", "bandwidth"]
    screw = pi / 32 * 7870 * 0.35 * 0.012**4
    inertias = [4.8e-5, 6e-6, 6e-6, screw, 6 * PER_RAD**2]
    springs = [stub(8, 21), 400.0, stub(10, 23), 79.3e9 * pi / 32 * (0.9 * 0.012) ** 4 / 0.35]
    stiff = np.zeros((5, 5))
    for n, k in enumerate(springs):
        stiff[n : n + 2, n : n + 2] += k * np.array([[1, -1], [-1, 1]])
    lowest = sqrt(sorted(np.linalg.eigvals(np.diag(1 / np.array(inertias)) @ stiff).real)[1]) / (2 * pi)
    assert found.value == pytest.approx(lowest, rel=1e-6)


def test_links_in_series_lose_by_their_share_of_the_energy():
    both = Link(stiffness=exactly(300.0), loss=0.9).behind(Link(stiffness=exactly(600.0)))
    assert both.stiffness.low == pytest.approx(200.0)
    assert both.loss == pytest.approx(0.6)
    split = Chain(names=("a", "b", "c"), inertias=(1e-5, 1e-11, 3e-5), links=(
        Link(stiffness=exactly(300.0), loss=0.9), Link(stiffness=exactly(600.0))))  # fmt: skip
    lumped = Chain(names=("a", "c"), inertias=(1e-5, 3e-5), links=(both,))
    one, other = modes_of(split), modes_of(lumped)
    assert one.ranges[0][1] == pytest.approx(other.ranges[0][1], rel=1e-4)
    # A damper beside one of both springs stiffens them a little.
    assert one.ranges[0][0] == pytest.approx(other.ranges[0][0], rel=5e-3)
    assert one.amplification == pytest.approx(other.amplification, rel=5e-3)
    assert chain([1e-5, 3e-5], [200.0])[0].frequency == pytest.approx(other.ranges[0][1])
