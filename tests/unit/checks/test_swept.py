from math import cos, hypot, pi, sin, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.checks.swept import Head, Step, Swept, swept_of


def test_a_round_coupling_sweeps_its_hubs_and_its_body(build):
    coupling = build.job(motor_hub={"outside_diameter": 20.0, "length": 10.0}).job.coupling
    swept = swept_of(coupling, 5.0)
    assert [(s.start, s.stop, s.radius, s.part) for s in swept.steps] == [
        (5.0, 15.0, 10.0, "motor hub"),
        (15.0, 27.0, 15.0, "coupling body"),
        (27.0, 39.0, 15.0, "actuator hub"),
    ]
    assert swept.most(5.0, 14.9) == 10.0
    assert swept.most(5.0, 15.0) == 15.0, "closed at both ends"
    assert swept.most(40.0, 50.0) == 0.0


@settings(max_examples=60, deadline=None)
@given(
    radius=st.floats(1.0, 6.0),
    offset=st.floats(0.0, 12.0),
    height=st.floats(1.0, 15.0),
    station=st.floats(-5.0, 5.0),
)
def test_a_head_sweeps_the_outermost_of_its_own_points(radius, offset, height, station):
    # The head is a cylinder across the axis: its points at station s are (aside, out) with |aside - offset| <= w and
    # out <= height. Their greatest distance from the drive axis is at a rim point; the rim is sampled here.
    head = Head(station=station, radius=radius, offset=offset, height=height, part="head")
    for turn in np.linspace(0.0, 2 * pi, 49):
        s, aside = station + radius * sin(turn), offset + radius * cos(turn)
        assert hypot(height, aside) <= head.swept(s) + 1e-9
    assert head.swept(station) == pytest.approx(hypot(height, offset + radius))
    assert head.swept(station + radius) == pytest.approx(hypot(height, offset), abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(a=st.floats(-8.0, 8.0), width=st.floats(0.0, 6.0))
def test_most_is_the_greatest_of_many_stations(a, width):
    head = Head(station=1.0, radius=2.75, offset=9.0, height=10.0, part="head")
    swept = Swept(steps=(Step(start=-5.0, stop=5.0, radius=13.0, part="hub"),), heads=(head,))
    sampled = max(swept.most(float(s), float(s)) for s in np.linspace(a, a + width, 201))
    exact = swept.most(a, a + width)
    assert exact >= sampled - 1e-12
    assert exact <= sampled + 0.2, "the arc is steepest at the head's rim, where a step of 0.03 mm may miss 0.2 mm"


def test_a_cap_screw_head_has_the_greatest_knurled_diameter(build):
    # ISO 4762: M3 knurled head 5.68 mm at most. Station 6 from the motor hub's face at 15; head to 10, offset 9.
    swept = swept_of(build.job(motor_hub={"screws": (build.screw(),)}).job.coupling, 15.0)
    assert swept.most(21.0, 21.0) == pytest.approx(sqrt(10.0**2 + (9.0 + 5.68 / 2) ** 2), abs=1e-9)
    assert swept.part(21.0, 21.0) == "motor hub screw 1's head"


def test_the_actuator_hubs_stations_count_from_its_own_face(build):
    swept = swept_of(build.job(actuator_hub={"screws": (build.screw(head_end=14.0),)}).job.coupling, 15.0)
    assert swept.heads[0].station == 49.0 - 6.0


def test_without_a_head_end_the_head_is_flush_and_that_is_said(build):
    swept = swept_of(build.job(motor_hub={"screws": (build.screw(head_end=None),)}).job.coupling, 15.0)
    assert swept.heads == ()
    assert swept.assumptions == (
        "motor hub screw 1: head taken as flush with the hub's outside diameter (head_end not given)",
    )
