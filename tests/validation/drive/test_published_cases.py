"""Published cases taken all the way through a job; each test names its source."""

from math import cos, pi, radians

import pytest

from fitcheck.checks.run import WORK, run_checks
from fitcheck.checks.shaft_section import Section, parts
from fitcheck.job.load import parse_job
from fitcheck.measurement.model import Coaxiality, Measurement
from fitcheck.mechanics.shafts import shaft_stiffness

TAKEN = Measurement(
    file="a.step", sha256="0" * 64, file_unit="mm", bodies=(), drive_axis=None, ends=(),
    coaxiality=Coaxiality(offset=0.0, tilt=0.0), free_radius=None, cylinders=(),
)  # fmt: skip


def findings(drive, ratings="", hub="", family="bellows", machines=""):
    text = (
        f"step: a.step\n{machines}coupling:\n  family: {family}\n  outside_diameter: 90\n  length: 120\n"
        f"  ratings: {{{ratings}}}\n  hubs:\n    motor: {{bore: 50, bore_length: 50{hub}}}\n"
        f"    actuator: {{bore: 50, bore_length: 50{hub}}}\ndrive:\n{drive}"
    )
    found = run_checks(parse_job(text, None, ""), TAKEN, remedies=False)
    return {(f.check, f.subject): f for f in found if f.check in WORK}


def test_w7_7_ball_screw_case():
    # W7.7 (computed from the formulas of three published drive manuals): W 10 kg, screw 20 x 500, lead 20, eta 0.9,
    # mu 0.1, motor 0.14e-4, coupling 10e-6 kg·m² (all on the load side), 0.3 m in 0.1 + 0.8 + 0.1 of 2 s:
    # ratio 12.38, 1000 r/min, T_f 0.0347 N·m.
    found = findings(
        "  screw:\n    {lead: 20, diameter: 20, length: 500, moving_mass: 10, efficiency: 0.9, guide_friction: 0.1, "
        "driven_inertia: 1e-5, "
        "moves: [{stroke: 300, speed: 333.33333, acceleration: 3333.3333, pause: 1, then: stays}]}\n"
        "  motor: {inertia: 0.14e-4}\n  service: {direction: one way}\n",
        "nominal_torque: 10, maximum_speed: 9000",
    )  # fmt: skip
    # The manuals print the steel's density as 7.9e3; with 7.87e3 the ratio moves by 0.3 %.
    assert found["inertia", "ratio"].value == pytest.approx(12.38, rel=4e-3)
    assert found["speed", "coupling"].value == pytest.approx(1000, rel=1e-6)
    assert "running 0.0347 N·m" in found["torque", "nominal"].message


def test_w7_4_two_inertia_of_an_open_torsion_package():
    # opentorsion 0.3.2, test_shaft: 211.4 and 8.3 kg·m² on 9.775e6 N·m/rad: 176.1 Hz.
    found = findings(
        "  rotary: {inertia: 8.3}\n  motor: {inertia: 211.4}\n  asked: {bandwidth: 10}\n",
        "torsional_stiffness: 9.775e6",
    )
    assert found["resonance", "bandwidth"].value == pytest.approx(176.1, abs=0.05)


def test_w7_1_shaft_of_the_brown_university_notes():
    # ENGN0310 SP1: 30 mm, 0.4 m, G 77 GPa: 250 N·m twist it by 0.935722 degrees; 15 308 N·m/rad.
    assert shaft_stiffness(parts(Section(diameter=30.0), 0.0, 400.0), 77e9) == pytest.approx(15308, abs=1)


def test_w5_2_square_key():
    # Textbook Q. 8.6: shaft of 50 mm, square key 12.5, length 37.5, 200 MPa: 2.344 kN·m (2343.75).
    found = findings(
        "  rotary: {inertia: 1, torque: 2343.75}\n",
        hub=", fastening: key with set screw, "
        "holding: {key: {width: 12.5, height: 12.5, length: 37.5, ends: straight}}",
        machines="motor:\n  shaft: {diameter: 50, length: 60}\n"
        "actuator:\n  seat: 300\n  shaft: {diameter: 50, length: 60}\n",
    )
    assert found["key-stress", "motor key shear"].value == pytest.approx(200.0, rel=1e-9)


def test_w8_4_oldham_sliding_speed():
    # Scilab companion 16689419911 (and askfilo): 160 rpm, 18 mm: 0.3016 m/s.
    found = findings(
        "  rotary: {inertia: 1}\n  motor: {top_speed: 160}\n  alignment: {parallel: 18, angular: 0}\n",
        "parallel: 20, angular: 1", family="oldham",
    )  # fmt: skip
    assert "slides with up to 302 mm/s" in found["misalignment", "parallel"].message
    assert 160 * 2 * pi / 60 * 18 == pytest.approx(301.6, abs=0.05)


def test_w8_1_hooke_joint_at_twenty_degrees():
    # Khurmi by a Scilab companion: one joint at 20 degrees makes 500 rpm of 469.85 to 532.09.
    found = findings(
        "  screw: {lead: 5, inertia: 1e-5, moving_mass: 1}\n  alignment: {parallel: 0, angular: 20}\n"
        "  asked: {repeatability: 5 mm}\n",
        "torsional_stiffness: 100, parallel: 1, angular: 45, backlash: 0", family="universal joint",
    )  # fmt: skip
    share = 100 * (532.09 - 469.85) / 500
    assert share == pytest.approx(100 * (1 / cos(radians(20)) - cos(radians(20))), abs=2e-3)
    assert f"{share:.3g} % of the speed" in found["wind-up", "joint ripple"].message


def test_common_practice_repeatability_of_ball_screw_actuators():
    # Common practice, no source: standard ball-screw actuators repeat to about 5 µm. A bellows of 2000 N·m/rad and
    # 0.05 N·m of friction on a lead of 5 mm loses 2 x 0.05/2000 x 5000/(2 pi) = 0.04 µm: two orders below.
    found = findings(
        "  screw: {lead: 5, inertia: 1e-5, moving_mass: 0, bearing_drag: 0.05}\n  asked: {repeatability: 5 um}\n",
        "torsional_stiffness: 2000",
    )
    assert found["wind-up", "reversal"].value == pytest.approx(2 * 0.05 / 2000 * 5000 / (2 * pi), rel=1e-9)
    assert found["wind-up", "reversal"].status == "warn"  # within it, but the job gives no shafts, which wind up too
