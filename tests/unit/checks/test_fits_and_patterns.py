from math import cos, hypot, pi, radians, sin, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.checks import bolt_pattern, bore_fit, pilot_alignment, pilot_fit
from fitcheck.checks.bolt_pattern import best_fit


def pilot(build, diameter, depth=3.0):
    return build.measured.Pilot(diameter=diameter, depth=depth, origin=(0, 0, 0), direction=(0, 0, 1))


def with_motor_end(build, **given):
    return build.measurement(ends=(build.end("motor", 0.0, **given), build.end("actuator", 60.0)))


def test_pilot_alignment_gives_offset_and_tilt(build):
    taken = build.measurement(coaxiality=build.measured.Coaxiality(offset=0.1, tilt=0.05))
    offset, tilt = pilot_alignment.check(build.drive(taken=taken))
    assert (offset.status, offset.value, offset.limit) == ("fail", 0.1, 0.05)
    assert (tilt.status, tilt.value, tilt.limit, tilt.unit) == ("pass", 0.05, 0.1, "deg")
    assert offset.at.point == (0.0, 0.0, 60.0)
    assert offset.remedy == "move the actuator's pilot 0.1 mm onto the motor's axis"


def test_one_seat_has_no_alignment_and_does_not_hold_the_job_up(build):
    taken = build.measurement(ends=(build.end("motor", 0.0),), coaxiality=None)
    found = build.one(pilot_alignment.check(build.drive(taken=taken)))
    assert (found.status, found.required) == ("not-checked", False)
    assert "one seat only" in found.message


def test_the_play_of_a_register_by_its_class(build):
    # 38.1 h7: 0/-0.025 (ISO 286-2, over 30 to 50). Bore 38.15: play 0.05 to 0.075.
    register = build.jobs.Register(diameter=38.1, height=1.6, tolerance="h7")
    taken = with_motor_end(build, pilot=pilot(build, 38.15))
    play, depth, unknown = pilot_fit.check(build.drive(build.job(motor={"register": register}), taken))
    assert (play.subject, play.status, play.value) == ("motor", "pass", pytest.approx(0.075))
    assert "play 0.05 mm to 0.075 mm" in play.message
    assert (depth.subject, depth.status, depth.margin) == ("motor depth", "pass", pytest.approx(1.4))
    assert (unknown.subject, unknown.status, unknown.required) == ("actuator", "not-checked", False)


@pytest.mark.parametrize(
    ("bore", "depth", "failing", "value", "remedy"),
    [
        # 38.1 +0/-0.025, 0.1 of play allowed: a bore from 38.1 to 38.1 - 0.025 + 0.1.
        (38.09, 3.0, "motor", -0.01, "a pilot bore of at least 38.1 mm"),
        (38.3, 3.0, "motor", 0.225, "a pilot bore of 38.1 mm to 38.175 mm"),
        (38.15, 1.0, "motor depth", 1.6, "make the pilot 0.6 mm deeper"),
    ],
)
def test_a_register_that_does_not_enter_rattles_or_stands_off(build, bore, depth, failing, value, remedy):
    register = build.jobs.Register(diameter=38.1, height=1.6, tolerance="h7")
    taken = with_motor_end(build, pilot=pilot(build, bore, depth))
    found = pilot_fit.check(build.drive(build.job(motor={"register": register}), taken))
    failed = [f for f in found if f.status == "fail"]
    assert [(f.subject, f.value) for f in failed] == [(failing, pytest.approx(value))]
    assert failed[0].remedy.startswith(remedy)


def test_a_register_that_spreads_by_more_than_the_play_allowed_has_no_bore(build):
    # 38.1 h11: 0/-0.16 (ISO 286-2, over 30 to 50). In a bore of 38.1 the play is up to 0.16, and 0.1 is allowed.
    register = build.jobs.Register(diameter=38.1, height=1.6, tolerance="h11")
    taken = with_motor_end(build, pilot=pilot(build, 38.15))
    play = pilot_fit.check(build.drive(build.job(motor={"register": register}), taken))[0]
    assert (play.status, play.value) == ("fail", pytest.approx(0.21))
    assert play.remedy.startswith("a closer tolerance of the motor's register, which spreads by 0.06 mm more")


def test_a_frames_register_counts_where_the_job_gives_none(build):
    # NEMA 23: 38.1 mm register, 1.6 mm high, +0/-0.002 in; square of 47.14 mm (tables in `standards`).
    taken = with_motor_end(build, pilot=pilot(build, 38.15))
    found = pilot_fit.check(build.drive(build.job(motor={"frame": "NEMA 23"}), taken))
    assert found[0].value == pytest.approx(0.05 + 0.002 * 25.4, abs=2e-3)
    assert "from NEMA 23" in found[0].message


def test_an_unknown_frame_is_not_a_pass(build):
    found = pilot_fit.check(build.drive(build.job(motor={"frame": "NEMA 99"}), with_motor_end(build)))
    assert (found[0].status, found[0].required) == ("not-checked", True)
    assert "there is no frame 'NEMA 99'" in found[0].message


def test_a_measured_register_serves_too(build):
    taken = with_motor_end(
        build, pilot=pilot(build, 38.15), machine_register=build.measured.Register(diameter=38.1, height=2.0)
    )
    found = pilot_fit.check(build.drive(taken=taken))
    assert found[0].value == pytest.approx(0.05)
    assert "from the file" in found[0].message


def test_the_play_of_shafts_in_their_bores(build):
    # 8 H7 +0.015/0, 8 h6 0/-0.009 (ISO 286-2): play 0 to 0.024.
    motor, actuator = bore_fit.check(build.drive())
    assert (motor.status, motor.value) == ("pass", pytest.approx(0.024))
    assert "play 0 mm to 0.024 mm" in motor.message
    assert actuator.subject == "actuator hub"


@pytest.mark.parametrize(
    ("bore", "fastening", "tolerance", "status", "value"),
    [
        (8.0, "clamp", "k6", "fail", -0.010),  # 8 k6 +0.010/+0.001
        (8.0, "key with set screw", "k6", "warn", -0.010),
        (7.9, "clamp", "h6", "fail", -0.1),
        (8.1, "clamp", "h6", "fail", 0.124),
        (8.0, "clamp", None, "warn", 0.015),
    ],
)
def test_shafts_that_are_too_large_too_loose_or_of_unknown_tolerance(build, bore, fastening, tolerance, status, value):
    shaft = build.jobs.Shaft(diameter=8.0, tolerance=tolerance, length=24.0)
    loaded = build.job(motor={"shaft": shaft}, motor_hub={"bore": bore, "fastening": fastening})
    found = bore_fit.check(build.drive(loaded))[0]
    assert (found.status, found.value) == (status, pytest.approx(value))
    if tolerance is None:
        assert found.remedy == "give motor.shaft.tolerance"
        assert "nominal sizes" in found.message


def test_an_unknown_class_is_not_checked_and_says_which_there_are(build):
    shaft = build.jobs.Shaft(diameter=8.0, tolerance="q6", length=24.0)
    found = bore_fit.check(build.drive(build.job(motor={"shaft": shaft})))[0]
    assert found.status == "not-checked"
    assert "tolerance class 'q6' is not in the tables" in found.message


def square(side, turn=0.0, shift=(0.0, 0.0), holes=(0, 1, 2, 3)):
    r = side / sqrt(2)
    angles = [radians(turn + 45 + 90 * i) for i in holes]
    return tuple((r * cos(a) + shift[0], r * sin(a) + shift[1]) for a in angles)


def pattern(build, holes, hole=5.5, **given):
    return build.measured.BoltPattern(
        layout="square", size=(47.14,), count=len(holes), hole=hole, holes=tuple(holes), **given
    )


BOLTS = {"layout": "square", "size": (47.14,), "screw": "M5"}


def test_a_turned_square_fits(build):
    loaded = build.job(motor={"bolts": build.jobs.Bolts(**BOLTS)})
    taken = with_motor_end(build, bolts=(pattern(build, square(47.14, 17.0)),))
    position, through, actuator = bolt_pattern.check(build.drive(loaded, taken))
    assert (position.status, position.value) == ("pass", pytest.approx(0.0, abs=1e-9))
    assert (through.subject, through.status, through.limit) == ("motor holes", "pass", pytest.approx(5.0))
    assert (actuator.status, actuator.required) == ("not-checked", False)


def test_a_turned_rectangle_fits_though_no_hole_lies_at_angle_0():
    # Its corners lie at 21.8 degrees to either side of the axes, so turning by the double of that is another rectangle.
    wanted = ((25.0, 10.0), (-25.0, 10.0), (-25.0, -10.0), (25.0, -10.0))
    c, s = cos(radians(17.0)), sin(radians(17.0))
    fit = best_fit([(c * x - s * y, s * x + c * y) for x, y in wanted], wanted)
    assert fit.deviation == pytest.approx(0.0, abs=1e-9)


def test_a_shifted_square_is_off_by_its_shift(build):
    # All four holes shifted alike: turning helps none of them all, so the best that is left is the shift itself.
    loaded = build.job(motor={"bolts": build.jobs.Bolts(**BOLTS)})
    taken = with_motor_end(build, bolts=(pattern(build, square(47.14, 0.0, (0.3, 0.0))),))
    found = bolt_pattern.check(build.drive(loaded, taken))[0]
    assert (found.status, found.value) == ("fail", pytest.approx(0.3, abs=1e-6))


def test_too_few_holes_and_spare_holes(build):
    loaded = build.job(motor={"bolts": build.jobs.Bolts(**BOLTS)})
    few = with_motor_end(build, bolts=(pattern(build, square(47.14)[:3]),))
    found = bolt_pattern.check(build.drive(loaded, few))[0]
    assert (found.status, found.value, found.limit, found.unit) == ("fail", 3.0, 4.0, "holes")
    eight = with_motor_end(build, bolts=(pattern(build, square(47.14) + square(47.14, 45.0)),))
    found = bolt_pattern.check(build.drive(loaded, eight))[0]
    assert found.status == "pass"
    assert "4 further holes are not used" in found.message


@pytest.mark.parametrize(("hole", "status"), [(4.2, "fail"), (5.0, "pass"), (5.5, "pass")])
def test_the_screw_must_pass_the_hole(build, hole, status):
    loaded = build.job(motor={"bolts": build.jobs.Bolts(**BOLTS)})
    taken = with_motor_end(build, bolts=(pattern(build, square(47.14), hole),))
    found = build.one(bolt_pattern.check(build.drive(loaded, taken)), "motor holes")
    assert found.status == status
    if status == "fail":
        # ISO 273 medium for M5
        assert found.remedy == "drill 5.5 mm (ISO 273 medium)"


def test_a_frames_pattern_counts_where_the_job_gives_none(build):
    taken = with_motor_end(build, bolts=(pattern(build, square(47.14)),))
    found = bolt_pattern.check(build.drive(build.job(motor={"frame": "NEMA 23"}), taken))[0]
    assert found.status == "pass"
    assert "pattern of NEMA 23" in found.message


@pytest.mark.parametrize("order", [1, -1])
def test_of_two_patterns_on_a_seat_the_one_that_fits_counts(build, order):
    taken = with_motor_end(build, bolts=(pattern(build, square(47.14)), pattern(build, square(40.0)))[::order])
    loaded = build.job(motor={"bolts": build.jobs.Bolts(**BOLTS)})
    found = bolt_pattern.check(build.drive(loaded, taken))[0]
    assert (found.status, found.value) == ("pass", pytest.approx(0.0, abs=1e-9))


def test_holes_below_the_screw_may_be_tapped_only_where_the_frames_own_are_plain(build):
    # NEMA 23 has plain holes for 5 mm screws (ICS 16, by the table in `standards`); 4.2 is the tapping drill of M5.
    taken = with_motor_end(build, bolts=(pattern(build, square(47.14), 4.2),))
    found = build.one(bolt_pattern.check(build.drive(build.job(motor={"frame": "NEMA 23"}), taken)), "motor holes")
    assert (found.status, found.remedy) == ("warn", "give motor.bolts with the screw that passes")
    loaded = build.job(motor={"frame": "NEMA 23", "bolts": build.jobs.Bolts(**BOLTS)})
    assert build.one(bolt_pattern.check(build.drive(loaded, taken)), "motor holes").status == "fail"


@settings(max_examples=80, deadline=None)
@given(
    count=st.integers(2, 8),
    turn=st.floats(0.0, 360.0),
    noise=st.lists(st.tuples(st.floats(-0.4, 0.4), st.floats(-0.4, 0.4)), min_size=8, max_size=8),
)
def test_the_best_rotation_is_no_worse_than_any_sampled_one(count, turn, noise):
    wanted = tuple((20 * cos(2 * pi * i / count), 20 * sin(2 * pi * i / count)) for i in range(count))
    angle = radians(turn)
    holes = tuple(
        (cos(angle) * x - sin(angle) * y + dx, sin(angle) * x + cos(angle) * y + dy)
        for (x, y), (dx, dy) in zip(wanted, noise, strict=False)
    )
    fit = best_fit(holes, wanted)
    for extra in np.linspace(-0.03, 0.03, 121):
        c, s = cos(angle + extra), sin(angle + extra)
        left = max(
            hypot(c * x - s * y - hx, s * x + c * y - hy) for (x, y), (hx, hy) in zip(wanted, holes, strict=True)
        )
        assert fit.deviation <= left + 1e-9
