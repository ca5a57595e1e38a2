"""A larger window, a shorter or thinner tool, a smaller coupling never turn a pass into a fail."""

from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.checks import assembly_order, wrench_access
from fitcheck.checks.access import LEAST_ANGLE

SURE = 0.4
"""Degrees: ranges are told within 0.1 at either side, so a narrower one may come and go."""


def windowed(build, half_angle, start, stop, radius=20.0):
    window = (180.0 - half_angle, 180.0 + half_angle, start, stop)
    segments = [build.line(radius, 0.0, 60.0)]
    return build.measurement(build.obstacles(segments, build.wall(radius, 0.0, 60.0, 24, window=window)))


def own(build, blade, diameter, reach, thickness):
    sections = (build.jobs.ToolSection(diameter=diameter, length=blade),)
    arm = build.jobs.ToolArm(length=reach, diameter=thickness) if reach else None
    return build.jobs.OwnTool(name="own", sections=sections, arm=arm)


def asked(build, tool, swing=60.0, **coupling):
    hub = {"screws": (build.screw(),)}
    require = {"tools": ("torque driver",), "own_tools": (tool,), "key_swing": swing}
    return build.job(motor_hub=hub, actuator_hub=hub, require=require, **coupling)


def widths(build, loaded, taken):
    found = wrench_access.check(build.drive(loaded, taken))
    return {f.subject: f.value for f in found if f.subject != "both hubs"}


def no_worse(before, after):
    for subject, value in before.items():
        assert after[subject] >= value - SURE, subject
        if value > LEAST_ANGLE + SURE:
            assert after[subject] >= LEAST_ANGLE, subject


shares = st.floats(0.3, 1.0)
sizes = st.tuples(st.floats(8.0, 60.0), st.floats(2.0, 8.0), st.sampled_from((0.0, 25.0, 60.0)), st.floats(2.0, 10.0))
windows = st.tuples(st.floats(10.0, 60.0), st.floats(12.0, 20.0), st.floats(22.0, 50.0))


@settings(max_examples=25, deadline=None)
@given(window=windows, size=sizes, more=st.tuples(st.floats(0.0, 20.0), st.floats(0.0, 6.0), st.floats(0.0, 6.0)))
def test_a_larger_window(build, window, size, more):
    half, start, stop = window
    loaded = asked(build, own(build, *size))
    before = widths(build, loaded, windowed(build, half, start, stop))
    after = widths(build, loaded, windowed(build, half + more[0], start - more[1], stop + more[2]))
    no_worse(before, after)


@settings(max_examples=25, deadline=None)
@given(window=windows, size=sizes, less=st.tuples(shares, shares), swing=st.floats(20.0, 200.0))
def test_a_shorter_arm_and_a_thinner_tool(build, window, size, less, swing):
    blade, diameter, reach, thickness = size
    taken = windowed(build, *window)
    before = widths(build, asked(build, own(build, *size), swing), taken)
    thinner = own(build, blade, diameter * less[0], reach * less[1], thickness)
    no_worse(before, widths(build, asked(build, thinner, swing), taken))


@settings(max_examples=25, deadline=None)
@given(
    window=windows, size=sizes, outside=st.floats(24.0, 38.0), less=st.floats(0.7, 1.0), radius=st.floats(13.0, 20.0)
)
def test_a_smaller_coupling(build, window, size, outside, less, radius):
    taken = windowed(build, *window, radius)
    tool = own(build, *size)
    large, small = (asked(build, tool, outside_diameter=d) for d in (outside, max(outside * less, 24.0)))
    no_worse(widths(build, large, taken), widths(build, small, taken))
    before, after = (assembly_order.check(build.drive(loaded, taken))[0] for loaded in (large, small))
    assert not (before.status == "pass" and after.status != "pass")
