"""Tolerance stacks against closed forms, enumeration of the corners, and known spreads of sums."""

import itertools
import re
from dataclasses import replace
from math import sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.checks import engagement, radial_clearance, shaft_gap
from fitcheck.checks.stack import Contribution, Stack, loss, plus_minus

parts = st.lists(
    st.tuples(st.floats(-1.0, 1.0), st.floats(0.0, 1.0)).map(
        lambda pair: Contribution(name="size", low=pair[0], high=pair[0] + pair[1])
    ),
    min_size=1, max_size=7,
)  # fmt: skip


@given(found=parts, nominal=st.floats(-5.0, 5.0))
def test_the_worst_case_is_the_least_over_all_corners(found, nominal):
    stack = Stack(nominal=nominal, contributions=tuple(found))
    corners = [nominal + sum(ends) for ends in itertools.product(*((part.low, part.high) for part in found))]
    assert stack.worst == pytest.approx(min(corners), abs=1e-12)
    assert stack.root_sum_square >= stack.worst - 1e-12
    assert max(found, key=lambda part: part.half).half == (stack.largest.half if stack.largest else 0.0)


def test_root_sum_square_of_equal_sizes_is_the_textbook_root():
    # n equal sizes of +- t: n t as worst case, sqrt(n) t as root sum square (independent normal sizes add variances).
    stack = Stack(nominal=10.0, contributions=tuple(plus_minus(f"size {i}", 0.1) for i in range(9)))
    assert stack.worst == pytest.approx(10.0 - 0.9)
    assert stack.root_sum_square == pytest.approx(10.0 - 0.3)
    one_sided = Stack(nominal=1.0, contributions=(loss("play", 0.2),))
    assert (one_sided.worst, one_sided.root_sum_square) == (0.8, 0.8)


def test_monte_carlo_of_two_uniform_sizes_is_the_triangular_distribution():
    # The sum of two uniform sizes of +- 1 is triangular on [-2, 2]: below -2 + d lies d^2 / 8.
    stack = Stack(nominal=0.0, contributions=(plus_minus("a", 1.0), plus_minus("b", 1.0)))
    share, low = stack.tried(-1.0, 200_000, 3)
    assert share == pytest.approx(1 / 8, abs=4 * sqrt(1 / 8 * 7 / 8 / 200_000))
    assert low == pytest.approx(-2 + sqrt(8 * 0.00135), abs=0.01)
    assert stack.tried(-1.0, 1000, 3) == stack.tried(-1.0, 1000, 3)
    assert stack.tried(-1.0, 1000, 3) != stack.tried(-1.0, 1000, 4)


def with_sizes(build, **sizes):
    loaded = build.job()
    return replace(loaded, job=replace(loaded.job, tolerances=build.jobs.SizeTolerances(**sizes)))


def test_the_shaft_gap_as_made(build):
    # Shaft ends at 24 and 40: 16. Adapter 0.1, shafts 0.2 and 0.3: worst 15.4; root of 0.01 + 0.04 + 0.09 = 0.3742.
    sizes = {"adapter_length": 0.1, "motor_shaft": 0.2, "actuator_shaft": 0.3}
    found = build.one(shaft_gap.check(build.drive(with_sizes(build, **sizes))))
    assert found.value == pytest.approx(15.8)
    assert "as made 16 mm nominal, 15.4 mm worst case, 15.626 mm root sum square" in found.message
    assert "the actuator shaft's length matters most (0.6 mm wide)" in found.message
    judged = build.one(shaft_gap.check(build.drive(with_sizes(build, **sizes, judge="worst case"))))
    assert (judged.status, judged.value) == ("pass", pytest.approx(15.4))


def test_the_job_may_judge_by_the_worst_case(build):
    # Motor shaft 9 in its hub, 8 needed: +- 0.8 and the setting of +- 0.4 leave 7.8 at worst, 9 - 0.894 by the root.
    sizes = {"motor_shaft": 0.8, "place": 0.4}
    worst = build.one(engagement.check(build.drive(with_sizes(build, **sizes, judge="worst case"))), "motor hub")
    assert (worst.status, worst.value, worst.margin) == ("fail", pytest.approx(7.8), pytest.approx(-0.2))
    assert worst.remedy == "0.2 mm more as drawn, or a closer tolerance of the motor shaft's length"
    likely = build.one(engagement.check(build.drive(with_sizes(build, **sizes, judge="root sum square"))), "motor hub")
    assert (likely.status, likely.value) == ("pass", pytest.approx(9 - sqrt(0.8)))


def test_the_shafts_depth_counts_at_its_deepest(build):
    # The motor's shaft ends 9 inside a hub that takes 12; +- 2.9 and the setting of +- 0.4: 12.3 at worst, and by the
    # root of 8.41 + 0.16 11.93.
    sizes = {"motor_shaft": 2.9, "place": 0.4}
    worst = build.one(
        engagement.check(build.drive(with_sizes(build, **sizes, judge="worst case"))), "motor shaft depth"
    )
    assert (worst.status, worst.value, worst.margin) == ("fail", pytest.approx(12.3), pytest.approx(-0.3))
    assert worst.remedy == "0.3 mm less as drawn, or a closer tolerance of the motor shaft's length"
    likely = with_sizes(build, **sizes, judge="root sum square", trials=100_000)
    found = build.one(engagement.check(build.drive(likely)), "motor shaft depth")
    assert (found.status, found.value) == ("pass", pytest.approx(9 + sqrt(8.57)))
    # Uniform sizes: over 12 lies where the sum passes 3, a triangle of 0.3 x 0.3 / 2 of the rectangle 5.8 x 0.8.
    share = float(re.search(r"([\d.]+) % lie above 12 mm", found.message)[1]) / 100
    expected = 0.5 * 0.3**2 / (5.8 * 0.8)
    assert share == pytest.approx(expected, abs=4 * sqrt(expected / 100_000))


def test_radial_clearance_counts_sizes_and_the_bores_play(build):
    # Chamber 20, coupling 15: 5. Diameters +- 0.1 and +- 0.2 count half: 0.05 and 0.1. Bore H7 on shaft h6 at 8 mm
    # (ISO 286-2: +0.015 and -0.009): 0.024 of play, half of it off the axis. The demo file has no pilots, so nothing
    # is known of their misalignment: the orbit of 0.1 that the job allows counts in its place.
    sizes = {"chamber_diameter": 0.1, "coupling_diameter": 0.2, "trials": 1000}
    found = build.one(radial_clearance.check(build.drive(with_sizes(build, **sizes))))
    worst, likely = re.search(r"nominal, ([\d.]+) mm worst case, ([\d.]+) mm root sum square", found.message).groups()
    assert float(worst) == pytest.approx(5 - 0.05 - 0.1 - 0.012 - 0.1, abs=1e-3)
    assert float(likely) == pytest.approx(5 - 0.006 - 0.05 - sqrt(0.05**2 + 0.1**2 + 0.006**2 + 0.05**2), abs=1e-3)
    assert "of 1000 random assemblies 0 % lie below 0.5 mm" in found.message


@pytest.mark.parametrize("orbit", [0.0, 0.1, 1.0])
def test_the_worst_case_never_tells_more_than_the_drawing_with_its_orbit(build, orbit):
    loaded = build.job(require={"orbit": orbit})
    plain = build.one(radial_clearance.check(build.drive(loaded)))
    sizes = build.jobs.SizeTolerances(chamber_diameter=0.1, judge="worst case")
    judged = replace(loaded, job=replace(loaded.job, tolerances=sizes))
    worst = build.one(radial_clearance.check(build.drive(judged)))
    # 5 as drawn, less the orbit; the chamber +- 0.1 counts half, and H7 on h6 at 8 mm has 0.024 of play (ISO 286-2).
    assert plain.value == pytest.approx(5.0 - orbit, abs=1e-3)
    assert worst.value == pytest.approx(5.0 - orbit - 0.05 - 0.012, abs=1e-3)


def test_the_root_sum_square_is_three_standard_deviations_of_normal_sizes():
    # Normal sizes of half widths t = 3 sigma add to sigma^2 = sum (t / 3)^2: 0.135 % lie below mean - 3 sigma.
    generator = np.random.default_rng(11)
    halves = (0.1, 0.25, 0.4)
    stack = Stack(nominal=2.0, contributions=tuple(plus_minus(f"size {i}", half) for i, half in enumerate(halves)))
    drawn = 2.0 + sum(generator.normal(0.0, half / 3.0, 400_000) for half in halves)
    share = float(np.mean(drawn < stack.root_sum_square))
    # Of a normal distribution, 0.00135 lie below -3 sigma; the count's own spread is sqrt(p / n).
    assert share == pytest.approx(0.00135, abs=4 * sqrt(0.00135 / 400_000))
