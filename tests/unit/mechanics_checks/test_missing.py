"""What is missing is asked for by its job line, and stops nothing else; a job about geometry is left alone."""

import re
import subprocess
import sys

import pytest

from fitcheck.checks.finding import verdict_of
from fitcheck.checks.run import WORK
from fitcheck.errors import JobError

MOVES = "    moves: [{stroke: 250, speed: 150, acceleration: 1500, pause: 1}]\n"


def test_all_checks_of_the_mechanics_pass_for_the_demo(build):
    found = build.work(build.job())
    assert {check for check, _ in found} == set(WORK)
    assert {f.status for f in found.values()} == {"pass"}, [k for k, f in found.items() if f.status != "pass"]


def test_a_job_without_a_drive_gets_no_finding_of_the_mechanics(build):
    text = build.text[: build.text.index("drive:\n")].replace("      holding: {hinge: 13.5}\n", "")
    start, stop = text.index("  ratings:\n"), text.index("  hubs:\n")
    assert build.work(build.job(text=text[:start] + text[stop:])) == {}


def test_geometry_does_not_load_the_mechanics():
    code = "import sys, fitcheck.checks.run; print([m for m in sys.modules if m.endswith(('.working', '.work'))])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_ratings_without_a_drive_are_one_note(build):
    (note,) = build.work(build.job(text=build.text[: build.text.index("drive:\n")])).values()
    assert (note.status, note.required) == ("not-checked", False)
    assert "drive.screw" in note.remedy


@pytest.mark.parametrize(
    ("removed", "check", "subject", "supply"),
    [
        ("    nominal_torque: 5\n    maximum_torque: 10\n", "torque", "coupling", "coupling.ratings.nominal_torque"),
        ("    maximum_speed: 6000\n", "speed", "coupling", "coupling.ratings.maximum_speed"),
        ("    torsional_stiffness: 400\n", "wind-up", "coupling", "torsional_stiffness.*helical_cut"),
        ("    torsional_stiffness: 400\n", "resonance", "drive", "torsional_stiffness"),
        ("    angular: 3\n", "misalignment", "angular", "coupling.ratings.angular"),
        ("inertia: 4.8e-5, ", "inertia", "ratio", "drive.motor.inertia"),
        ("inertia: 4.8e-5, ", "torque", "emergency stop", "drive.motor.inertia"),
        (" peak_torque: 0.9,", "torque", "blocked carriage", "drive.motor.peak_torque"),
        (MOVES, "torque", "nominal", "drive.screw.moves"),
        (", tightening_torque: 1.8", "hub-grip", "motor hub", "screws.0.tightening_torque"),
    ],
)  # fmt: skip
def test_each_missing_value_is_asked_for_and_stops_nothing(build, removed, check, subject, supply):
    found = build.work(build.job((removed, "")))
    assert found[check, subject].status == "not-checked"
    assert found[check, subject].required
    assert re.search(supply, found[check, subject].remedy)
    assert {name for name, _ in found} == set(WORK)
    assert any(f.status == "pass" for f in found.values())


@pytest.mark.parametrize(
    ("removed", "supply"),
    [
        (" peak_torque: 0.9,", "drive.motor.peak_torque or drive.motor.brake_torque"),
        ("inertia: 4.8e-5, ", "drive.motor.inertia"),
        (MOVES, None),  # the motor's peak torque bounds what a cycle can ask
    ],
)
def test_strength_is_no_pass_while_a_bad_case_is_not_known(build, removed, supply):
    found = build.work(build.job((removed, "")))
    for key in (("hub-grip", "motor hub"), ("key-stress", "actuator shaft")):
        if supply is None:
            assert found[key].status == "pass"
            continue
        assert (found[key].status, found[key].required) == ("not-checked", True)
        assert "is not known; by the torques that are known it would pass" in found[key].message
        assert supply in found[key].remedy
    # What fails by the known torques fails all the same.
    weak = build.work(build.job((removed, ""), ("tightening_torque: 1.8", "tightening_torque: 0.01")))
    assert weak["hub-grip", "motor hub"].status == "fail"


def test_each_rating_of_torque_judges_on_its_own(build):
    short = build.work(build.job(("    nominal_torque: 5\n", "")))
    assert (short["torque", "nominal"].status, short["torque", "nominal"].required) == ("not-checked", True)
    assert short["torque", "blocked carriage"].limit == 10
    lasting = build.work(build.job(("    maximum_torque: 10\n", "")))
    assert lasting["torque", "nominal"].status == "pass"
    assert lasting["torque", "blocked carriage"].limit == 5
    assert "no maximum torque is given" in lasting["torque", "blocked carriage"].message


@pytest.mark.parametrize(
    ("removed", "check", "subject"),
    [
        ("repeatability: 20 um, ", "wind-up", "reversal"),
        (", bandwidth: 60, kept_free: [40, 120]", "resonance", "bandwidth"),
    ],
)  # fmt: skip
def test_what_is_not_asked_is_told_and_not_required(build, removed, check, subject):
    loaded = build.job((removed, ""))
    found = build.work(loaded)
    assert (found[check, subject].status, found[check, subject].required) == ("not-checked", False)
    assert any(character.isdigit() for character in found[check, subject].message)
    assert verdict_of(found.values()) == "pass"


def test_a_listed_check_is_required(build):
    listed = build.text.replace("repeatability: 20 um, ", "") + "require: {checks: [wind-up]}\n"
    found = build.work(build.job(text=listed))
    assert verdict_of(found.values()) == "incomplete"
    only = build.text[: build.text.index("drive:\n")] + "require: {checks: [torque, speed]}\n"
    named = build.work(build.job(text=only))
    assert {check for check, _ in named} == {"torque", "speed"}
    assert all(f.required and f.status == "not-checked" for f in named.values())


def test_the_mechanics_need_no_drive_axis_in_the_file(build):
    found = build.work(build.job(), build.measurement(drive_axis=None, ends=(), coaxiality=None))
    assert found["torque", "nominal"].status == "pass"
    assert found["misalignment", "coupling"].status == "not-checked"
    assert "drive.alignment" in found["misalignment", "coupling"].remedy


def test_one_seat_takes_the_alignment_as_measured(build):
    given = build.job(("  motor: {inertia", "  alignment: {parallel: 0.05, angular: 0.2}\n  motor: {inertia"))
    found = build.work(given, build.measurement(coaxiality=None))
    assert found["misalignment", "parallel"].value == pytest.approx(0.05)


def test_defaults_are_printed_with_the_drive_and_only_then(build):
    loaded = build.job()
    assert any(text.startswith("drive.asked.slip_safety = ") for text in loaded.defaults)
    bare = build.job(text=build.text[: build.text.index("drive:\n")])
    assert not any(text.startswith("drive.") for text in bare.defaults)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("    diameter: 12\n    length: 350\n", "", r"z.fit.yaml:\d+: .*neither the screw's inertia nor both"),
        ("stroke: 250", "stroke: 0", "found 0; needed is a distance"),
        ("maximum_torque: 10", "maximum_torque: 3", "needed is at least the nominal torque, 5"),
        ("peak_torque: 0.9", "peak_torque: 0.9, rated_torque: 2", "needed is at least the rated torque, 2"),
        ("kept_free: [40, 120]", "kept_free: [120, 40]", "needed is the lower end first"),
        ("holding: {hinge: 13.5}", "holding: {friction: [0.2, 0.1, 0.3]}", "needed is low, nominal, high"),
        ("repeatability: 20 um", "repeatability: 20", "needed is at most 5 mm"),
        ("moving_mass: 6", "moving_mass: 6 mm", "needed is a mass in kg"),
        ("speed: 150,", "speed: 150 rpm,", "unit of a speed; needed is a velocity in mm/s"),
        ("  screw:\n", "  kind: rotary\n  screw:\n", "needed is the group 'rotary'"),
    ],
)  # fmt: skip
def test_a_wrong_drive_is_refused_with_its_line(build, old, new, message):
    with pytest.raises(JobError, match=message):
        build.job((old, new))


def test_every_finding_says_its_numbers_and_its_path(build):
    for finding in build.work(build.job()).values():
        assert any(character.isdigit() for character in finding.message), finding
        assert finding.path, finding
        assert finding.margin == pytest.approx(abs(finding.value - finding.limit)), finding


def test_lost_motion_without_a_known_backlash_is_no_pass(build):
    found = build.work(build.job(("family: double slit", "family: jaw")))
    for subject in ("reversal", "reversal with screw"):
        assert found["wind-up", subject].status == "not-checked"
        assert "coupling.ratings.backlash" in found["wind-up", subject].remedy
    # Hanging, the play stays closed, so the band after settling does not depend on it.
    assert found["wind-up", "settled"].status == "pass"
    assert "the standing torque keeps any play closed" in found["wind-up", "settled"].message
    assert "not counted" not in found["wind-up", "settled"].message
    # A band that is too wide by friction alone is no matter of the play.
    loose = ("    inertia: 1.2e-5", "    inertia: 1.2e-5\n    backlash: 1")
    narrow = build.work(
        build.job(("family: double slit", "family: jaw"), loose, ("repeatability: 20 um", "repeatability: 0.12 um"))
    )
    assert narrow["wind-up", "settled"].remedy.startswith("a coupling of at least")
    assert narrow["wind-up", "reversal"].remedy.startswith("a coupling without backlash")
    level = build.work(build.job(("family: double slit", "family: jaw"), ("incline: 90", "incline: 0")))
    assert level["wind-up", "settled"].status == "not-checked"
    tight = build.work(
        build.job(("family: double slit", "family: jaw"), ("repeatability: 20 um", "repeatability: 0.1 um"))
    )
    assert tight["wind-up", "reversal"].status == "fail"  # even without any play


def test_a_shaft_end_that_is_not_known_leaves_a_warning(build):
    found = build.work(build.job(("  shaft: {diameter: 8, tolerance: h6, length: 21}\n", "")))
    for key in (("wind-up", "reversal"), ("wind-up", "settled"), ("resonance", "bandwidth")):
        assert found[key].status == "warn", key
        assert "motor.shaft" in found[key].remedy
        assert found[key].value is not None
