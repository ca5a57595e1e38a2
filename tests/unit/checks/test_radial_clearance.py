import re
import time
from math import sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.checks import radial_clearance
from fitcheck.checks.material import least_gap
from fitcheck.checks.swept import Head, Step, Swept
from fitcheck.measurement.obstacles import least_radius


def test_a_round_chamber_leaves_bore_minus_coupling_minus_orbit(build):
    found = build.one(radial_clearance.check(build.drive()))
    # 20 - 15 - 0.1 orbit
    assert found.value == pytest.approx(4.9, abs=1e-4)
    assert found.value <= 4.9
    assert (found.status, found.limit, found.unit, found.at.body) == ("pass", 0.5, "mm", "adapter")
    assert found.path == "require.radial_clearance"


def test_a_screw_head_rubs_and_the_remedy_passes_when_applied(build):
    # Head corner of an M3 (5.68 mm) at hypot(13, 9 + 2.84) = 17.584; the chamber is 17.8 there: 0.116 after orbit.
    hub = {"screws": (build.screw(head_end=13.0),)}
    taken = build.measurement(build.obstacles([build.line(17.8, 0.0, 60.0, 30.0)]))
    found = build.one(radial_clearance.check(build.drive(build.job(motor_hub=hub), taken)))
    swept = sqrt(13.0**2 + (9.0 + 2.84) ** 2)
    assert found.value == pytest.approx(17.8 - swept - 0.1, abs=1e-4)
    assert found.status == "fail"
    assert found.at.station == pytest.approx(21.0, abs=0.05)
    assert "motor hub screw 1's head" in found.message
    assert found.at.point == pytest.approx((17.8 * np.cos(np.pi / 6), 17.8 * 0.5, found.at.station), abs=1e-9)
    diameter = float(re.search(r"largest swept diameter that fits and goes in: ([\d.]+) mm", found.remedy)[1])
    assert diameter == pytest.approx(2 * (17.8 - 0.5 - 0.1))
    again = build.one(radial_clearance.check(build.drive(build.job(outside_diameter=diameter), taken)))
    assert again.status == "pass"
    larger = build.one(radial_clearance.check(build.drive(build.job(outside_diameter=diameter + 0.02), taken)))
    assert larger.status == "fail"


def test_a_head_taken_as_flush_is_said_with_the_clearance(build):
    loaded = build.job(motor_hub={"screws": (build.screw(head_end=None),)})
    found = build.one(radial_clearance.check(build.drive(loaded)))
    assert found.value == pytest.approx(4.9, abs=1e-4)
    assert found.message.endswith("head taken as flush with the hub's outside diameter (head_end not given)")


def test_material_beside_the_coupling_does_not_count(build):
    segments = [build.line(20.0, 0.0, 60.0), build.line(5.0, 0.0, 14.9), build.line(5.0, 49.1, 60.0)]
    found = build.one(radial_clearance.check(build.drive(taken=build.measurement(build.obstacles(segments)))))
    assert found.value == pytest.approx(4.9, abs=1e-4)
    # With an axial float of 0.2 mm the coupling reaches the shoulders.
    floating = build.drive(build.job(axial_float=0.2), build.measurement(build.obstacles(segments)))
    assert build.one(radial_clearance.check(floating)).value == pytest.approx(5.0 - 15.0 - 0.1, abs=1e-4)


@pytest.mark.parametrize("shoulder", [(5.0, 14.9), (49.1, 60.0)], ids=["motor side", "actuator side"])
def test_the_axial_float_reaches_to_either_side(build, shoulder):
    segments = [build.line(20.0, 0.0, 60.0), build.line(5.0, *shoulder)]
    taken = build.measurement(build.obstacles(segments))
    for axial_float, value in ((0.05, 20.0 - 15.0 - 0.1), (0.2, 5.0 - 15.0 - 0.1)):
        found = build.one(radial_clearance.check(build.drive(build.job(axial_float=axial_float), taken)))
        assert found.value == pytest.approx(value, abs=1e-4)


@pytest.mark.parametrize("rib", [(16.5, 17.0), (25.0, 25.5)], ids=["towards the motor", "towards the actuator"])
def test_a_floating_screw_head_meets_a_rib_beside_it(build, rib):
    # The head of an M3 (5.68 mm) at station 21 takes 18.16 to 23.84; a rib at radius 16 clears the hub by 1 - 0.1. With
    # 2 mm of float the head comes over it: its corner lies beyond hypot(14, 9) = 16.64.
    hub = {"screws": (build.screw(head_end=14.0),)}
    taken = build.measurement(build.obstacles([build.line(20.0, 0.0, 60.0), build.line(16.0, *rib)]))
    still = build.one(radial_clearance.check(build.drive(build.job(motor_hub=hub), taken)))
    assert (still.status, still.value) == ("pass", pytest.approx(0.9, abs=1e-4))
    floating = build.one(radial_clearance.check(build.drive(build.job(motor_hub=hub, axial_float=2.0), taken)))
    assert floating.status == "fail"
    assert floating.value < 16.0 - 16.64 - 0.1
    assert rib[0] <= floating.at.station <= rib[1]
    assert "between the motor hub screw 1's head" in floating.message


def test_the_coupling_in_the_file_is_not_in_its_own_way(build):
    material = build.obstacles([build.line(20.0, 0.0, 60.0), build.line(15.0, 15.0, 49.0)], segment_body=[0, 1])
    taken = build.measurement(material, bodies=("adapter", "coupling"))
    assert build.one(radial_clearance.check(build.drive(taken=taken))).value == pytest.approx(4.9, abs=1e-4)


def test_without_shafts_the_place_is_unknown_and_the_job_line_is_named(build):
    loaded = build.job(motor={"shaft": None})
    found = build.one(radial_clearance.check(build.drive(loaded)))
    assert (found.status, found.required) == ("not-checked", True)
    assert "motor's shaft is neither in the file nor in the job" in found.message
    assert "motor.shaft" in found.remedy
    assert "place.motor_hub_face" in found.remedy


# A segment that is not quite flat but rises less than rounding is taken as flat, so the comb would tell another radius.
lengths = st.just(0.0) | st.floats(1e-3, 25.0)
lines = st.lists(
    st.tuples(st.floats(13.0, 30.0), st.floats(-20.0, 20.0), lengths, st.floats(13.0, 30.0)),
    min_size=1,
    max_size=8,
)


@settings(max_examples=60, deadline=None)
@given(rows=lines)
def test_branch_and_bound_never_exceeds_any_sampled_gap_and_is_as_close_as_promised(build, rows):
    # Independent: r(s) - R(s) on a fine comb of stations through each segment, from the definitions.
    swept = Swept(
        steps=(Step(start=-10.0, stop=10.0, radius=12.0, part="hub"),),
        heads=(Head(station=-4.0, radius=2.84, offset=9.0, height=10.0, part="head"),),
    )
    segments = [build.line(r, s, s + length, 0.0, to) for r, s, length, to in rows]
    material = build.obstacles(segments)
    gap = least_gap(material, swept.most, sorted({-10.0, 10.0, *swept.breaks}))
    sampled = []
    for radius, start, length, to in rows:
        for s in np.concatenate([np.linspace(start, start + length, 401), [-4.0, -6.84, -1.16, -10.0, 10.0]]):
            if -10.0 <= s <= 10.0 and start <= s <= start + length:
                r = radius if length == 0.0 else radius + (to - radius) * (s - start) / length
                sampled.append(r - swept.most(float(s), float(s)))
    if gap is None:
        assert not sampled
        return
    assert not sampled or gap.value <= min(sampled) + 1e-9
    # The reported place shows that the gap is real: the free radius there, less R there, is within 0.1 µm of it.
    near = gap.nearest
    there = least_radius(material, near.station, near.station).radius - swept.most(near.station, near.station)
    assert gap.value <= there + 1e-9
    assert there - gap.value <= 1e-4 + 1e-9


@settings(max_examples=30, deadline=None)
@given(slope=st.floats(-0.4, 0.4), radius=st.floats(16.0, 20.0))
def test_over_a_cone_and_a_head_the_gap_is_within_a_tenth_of_a_micrometre(build, slope, radius):
    # r = radius + slope (s + 4) over a head of 5.68 mm about -4, R = hypot(10, 9 + sqrt(2.84^2 - (s + 4)^2)): the least
    # of their difference on a comb of 2.84e-5 mm, whose own error is below 1e-8 mm.
    head = Head(station=-4.0, radius=2.84, offset=9.0, height=10.0, part="head")
    swept = Swept(steps=(), heads=(head,))
    x = np.linspace(-2.84, 2.84, 200_001)
    gaps = radius + slope * x - np.hypot(10.0, 9.0 + np.sqrt(np.maximum(2.84**2 - x**2, 0.0)))
    material = build.obstacles([build.line(radius - 6 * slope, -10.0, 10.0, 0.0, radius + 14 * slope)])
    gap = least_gap(material, swept.most, swept.breaks)
    assert gap.value <= gaps.min() + 1e-9
    assert gap.value >= gaps.min() - 1e-4 - 1e-7


@settings(max_examples=20, deadline=None)
@given(scale=st.floats(0.8, 1.6), grow=st.floats(0.0, 5.0), turn=st.floats(0.0, 360.0))
def test_more_room_never_turns_a_pass_into_a_fail_and_turning_changes_nothing(build, scale, grow, turn):
    def made(radius, angle):
        segments = [build.line(radius, 0.0, 60.0, angle), build.line(radius * 1.1, 10.0, 60.0, angle + 90.0)]
        taken = build.measurement(build.obstacles(segments))
        return build.one(radial_clearance.check(build.drive(taken=taken)))

    tight, wide = made(16.0 * scale, 0.0), made(16.0 * scale + grow, 0.0)
    assert not (tight.status == "pass" and wide.status == "fail")
    assert wide.value >= tight.value - 1e-4
    assert made(16.0 * scale, turn).value == pytest.approx(tight.value, abs=1e-6)


def test_two_thousand_segments_take_milliseconds(build):
    rng = np.random.default_rng(7)
    segments = [build.line(r, s, s + 0.5, a) for r, s, a in rng.uniform((18, 0, 0), (30, 60, 360), (2000, 3))]
    hub = {"screws": (build.screw(head_end=13.0),)}
    prepared = build.drive(build.job(motor_hub=hub), build.measurement(build.obstacles(segments)))
    best = float("inf")
    for _ in range(3):
        start = time.perf_counter()
        radial_clearance.check(prepared)
        best = min(best, time.perf_counter() - start)
    assert best < 0.02
