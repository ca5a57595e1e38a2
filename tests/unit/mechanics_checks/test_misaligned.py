"""What misalignment does, by family, and what it puts on the bearings; each figure by hand."""

from math import pi

import pytest

from fitcheck.checks import shaft_gap

ALIGNED = ("  motor: {inertia", "  alignment: {parallel: 0.1, angular: 0.5}\n  motor: {inertia")
AXIAL = "    axial: 0.4\n"


def misaligned(build, ratings="", *changes):
    return build.work(build.job(ALIGNED, (AXIAL, AXIAL + ratings), *changes))


def test_restoring_force_and_moment_load_the_shaft_end(build):
    # 120 N/mm x 0.1 mm; 30 N·m/rad x 0.5°, which loads the bearing as a force at the shaft end does that has the arm
    # of overhang and span: 8 + 21 + 50 at the motor, 10 + 21 + 40 at the actuator.
    found = misaligned(build, "    lateral_stiffness: 120\n    bending_stiffness: 30\n")
    moment = 30 * 0.5 * pi / 180 * 1000  # N·mm
    assert found["misalignment", "motor bearing radial"].value == pytest.approx(12 + moment / 79)
    assert found["misalignment", "actuator bearing radial"].value == pytest.approx(12 + moment / 71)
    assert found["misalignment", "motor bearing radial"].limit == 75
    # By balance about the far bearing: the near one takes F (a + S)/S of a force and M/S of a moment.
    near = 12 * 79 / 50 + moment / 50
    assert found["misalignment", "motor bearing radial"].value * 79 / 50 == pytest.approx(near)


def test_growth_pushes_along_the_axis(build):
    # (21 + 8 + 21 + 10) mm of steel by 40 K: 0.0276 mm, times 500 N/mm.
    warm = ("  alignment:", "  service: {warming: 40}\n  alignment:")
    load = ("radial_load: 75", "radial_load: 75, axial_load: 12")
    found = misaligned(build, "    axial_stiffness: 500\n", warm, load)["misalignment", "motor bearing axial"]
    assert found.value == pytest.approx(500 * 60 * 11.5e-6 * 40)
    assert found.status == "fail"


def grown(build, service, *changes):
    return build.work(build.job(("  motor: {inertia", f"  service: {{{service}}}\n  motor: {{inertia"), *changes))[
        "misalignment", "axial"
    ]


def test_a_screw_held_at_its_far_bearing_grows_over_its_whole_length(build):
    # 21 + 8 mm of the motor's shaft; 21 + 10 + 40 mm of the screw, whose far bearing is 40 behind the near one.
    far = grown(build, "warming: 40", ("span: 40,", "span: 40, fixed: far,"))
    assert far.value == pytest.approx((29 + 71) * 11.5e-6 * 40)
    assert "71 mm of the actuator's from its far bearing" in far.message
    # Without a bearing two diameters behind the seat are counted: 16 and 20 mm.
    without = grown(
        build, "warming: 40",
        ("  bearings: {distance: 8, span: 50, radial_load: 75}\n", ""),
        ("  bearings: {distance: 10, span: 40, radial_load: 90}\n", ""),
    )  # fmt: skip
    assert without.value == pytest.approx((21 + 16 + 21 + 20) * 11.5e-6 * 40)
    assert "2 diameters behind the seat, no bearing given" in without.message


@pytest.mark.parametrize(
    ("service", "growth"),
    [
        # 60 mm of shafts, 58 mm of adapter between the seats: aluminium grows twice as much (23.5e-6 against 11.5e-6).
        ("adapter_warming: 30", 58 * 23.5e-6 * 30 - 60 * 11.5e-6 * 30),
        ("adapter_warming: 30, adapter_material: steel", 2 * 11.5e-6 * 30),
        # The shafts 20 K ahead of it: before the adapter follows, their growth alone is the greater one.
        ("warming: 20, adapter_warming: 30", 60 * 11.5e-6 * 20),
        ("adapter_warming: -40", 58 * 23.5e-6 * 40 - 60 * 11.5e-6 * 40),
    ],
)
def test_the_adapter_grows_too(build, service, growth):
    assert grown(build, service).value == pytest.approx(growth)


def test_a_rigid_coupling_leaves_growth_to_the_bearings(build):
    rigid = ("family: double slit", "family: rigid")
    # 60 mm of steel, 40 K: 0.0276 mm, and no play for it.
    tight = grown(build, "warming: 40", rigid)
    assert (tight.status, tight.limit) == ("fail", 0)
    assert tight.value == pytest.approx(60 * 11.5e-6 * 40)
    loose = grown(build, "warming: 40, axial_play: 0.05", rigid)
    assert (loose.status, loose.limit, loose.value) == ("pass", 0.05, pytest.approx(tight.value))
    assert ("misalignment", "axial") not in build.work(build.job(rigid))


def test_growth_beyond_the_gap_s_allowance_closes_the_gap(build):
    # Seat to seat 58 mm, shafts of 21: 16 mm between their ends. 0.2 mm are taken off by custom; a screw of 400 mm that
    # is held at its far end takes (29 + 431) x 11.5e-6 x 50, and its bearings' play.
    def gap(*changes):
        service = ("  motor: {inertia", "  service: {warming: 50, axial_play: 0.02}\n  motor: {inertia")
        (found,) = shaft_gap.check(build.context(build.job(service, *changes)))
        return found

    assert gap().value == pytest.approx(16 - 0.2)
    far = gap(("span: 40,", "span: 400, fixed: far,"))
    assert far.value == pytest.approx(16 - (460 * 11.5e-6 * 50 + 0.02))
    assert "more than require.gap_loss" in far.message


def test_a_load_that_is_not_known_is_told_with_its_force_and_stops_nothing(build):
    found = misaligned(
        build, "    lateral_stiffness: 120\n", ("  bearings: {distance: 8, span: 50, radial_load: 75}\n", "")
    )
    asked = found["misalignment", "motor bearing radial"]
    assert (asked.status, asked.required) == ("not-checked", False)
    assert "with 12 N" in asked.message
    assert asked.remedy == "give motor.bearings.radial_load"
    assert found["misalignment", "actuator bearing radial"].status == "pass"
    assert not any("bearing" in subject for _, subject in misaligned(build))


@pytest.mark.parametrize(
    ("family", "words"),
    [
        ("slit", "breaks by fatigue: its ligaments bend once in every turn"),
        ("double disc", "breaks by fatigue: its metal bends once in every turn"),
        ("oldham", "wears fast"),
        ("jaw", "heats and wears"),
    ],
)
def test_over_its_limit_each_family_is_told_by_what_it_does(build, family, words):
    changes = (("family: double slit", f"family: {family}"), ("    parallel: 0.3", "    parallel: 0.09"))
    found = misaligned(build, "", *changes)["misalignment", "parallel"]
    assert found.status == "fail"
    assert words in found.message
    fine = misaligned(build, "", changes[0])["misalignment", "parallel"]
    assert fine.status == "pass"
    assert words not in fine.message


def test_single_limits_hold_and_the_sum_does_not(build):
    # 0.1/0.15 + 0.5/1 = 1.167: each alone within, together not.
    found = misaligned(build, "", ("    parallel: 0.3", "    parallel: 0.15"), ("    angular: 3", "    angular: 1"))
    assert found["misalignment", "parallel"].status == found["misalignment", "angular"].status == "pass"
    combined = found["misalignment", "combined"]
    assert (combined.status, combined.value) == ("fail", pytest.approx(0.1 / 0.15 + 0.5))
    assert "assumption" in combined.message
    assert "breaks by fatigue" in combined.message


def test_oldham_slides_by_speed_times_offset(build):
    # w e at 2400 rpm and 0.1 mm, as W8.4 of the references has it: 251.3 rad/s x 0.1 mm = 25.1 mm/s.
    found = misaligned(build, "", ("family: double slit", "family: oldham"))["misalignment", "parallel"]
    assert f"slides with up to {2400 * pi / 30 * 0.1:.3g} mm/s" in found.message


def test_rigid_shafts_bend_and_load_their_bearings(build):
    # Stubs from the bearing to the hub: 8 + 9 of 8 mm, 10 + 9 of 10 mm, the coupling of 40 between them not bending.
    # Integrals of a cantilever with end force F and moment M: u and phi solved for 0.1 mm and 0.
    found = build.work(
        build.job(
            ("  motor: {inertia", "  alignment: {parallel: 0.1, angular: 0}\n  motor: {inertia"),
            ("double slit", "rigid"),
        )
    )
    near, far, whole = 0.019, 0.059, 0.076
    soft = [206e9 * pi / 64 * d**4 for d in (0.010, 0.008)]
    a = near**3 / 3 / soft[0] + (whole**3 - far**3) / 3 / soft[1]
    b = near**2 / 2 / soft[0] + (whole**2 - far**2) / 2 / soft[1]
    c = near / soft[0] + (whole - far) / soft[1]
    force, moment = 1e-4 * c / (a * c - b * b), -1e-4 * b / (a * c - b * b)
    motor = abs(force) + abs(moment + force * whole) / 0.050
    actuator = abs(force) + abs(moment) / 0.040
    assert found["misalignment", "motor bearing"].value == pytest.approx(motor, rel=1e-9)
    assert found["misalignment", "actuator bearing"].value == pytest.approx(actuator, rel=1e-9)
    assert "once a turn" in found["misalignment", "motor bearing"].message
