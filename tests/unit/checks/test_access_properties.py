"""A larger window, a shorter or thinner tool, a smaller coupling never turn a pass into a fail."""

import itertools
from math import cos, radians, sin

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.checks import assembly_order, insertion
from fitcheck.checks.access import LEAST_ANGLE, reaches, screws_of

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
    """Of each screw the widest range of the tools that work, which `wrench-access` passes by; without its remedies."""
    drive = build.drive(loaded, taken, remedies=False)
    return {
        (side, position): max(
            (reach.widest for reach in reaches(drive, drive.placed, side, position) if reach.works), default=0.0
        )
        for side, position, _ in screws_of(drive)
    }


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
    before, after = (assembly_order.check(build.drive(loaded, taken, remedies=False))[0] for loaded in (large, small))
    assert not (before.status == "pass" and after.status != "pass")


every_tool = st.sampled_from(
    ("hex key short arm", "hex key long arm", "hex driver", "T-handle", "bit in holder", "torque driver")
)
kinds = st.sampled_from(("clamp", "two-piece cap", "set screw"))


def screws(build, kind):
    if kind == "set screw":
        return (build.screw(kind="set screw", offset=0.0, head_end=None),)
    return (build.screw(), build.screw(offset=-9.0)) if kind == "two-piece cap" else (build.screw(),)


def with_tool(build, word, kind, **coupling):
    hub = {"screws": screws(build, kind)}
    return build.job(motor_hub=hub, actuator_hub=hub, require={"tools": (word,)}, **coupling)


@settings(max_examples=40, deadline=None)
@given(
    word=every_tool, kind=kinds, window=windows, more=st.tuples(st.floats(0, 40), st.floats(0, 12), st.floats(0, 12))
)
def test_a_larger_window_with_the_tools_of_the_trade(build, word, kind, window, more):
    half, start, stop = window
    loaded = with_tool(build, word, kind)
    before = widths(build, loaded, windowed(build, half, start, stop))
    after = widths(build, loaded, windowed(build, half + more[0], start - more[1], stop + more[2]))
    no_worse(before, after)


@settings(max_examples=40, deadline=None)
@given(word=every_tool, window=windows, outside=st.floats(24.0, 38.0), less=st.floats(0.7, 1.0))
def test_a_smaller_coupling_with_the_tools_of_the_trade(build, word, window, outside, less):
    taken = windowed(build, *window)
    large, small = (with_tool(build, word, "clamp", outside_diameter=d) for d in (outside, max(outside * less, 24.0)))
    no_worse(widths(build, large, taken), widths(build, small, taken))


@settings(max_examples=30, deadline=None)
@given(word=every_tool, kind=kinds, window=windows, swings=st.tuples(st.floats(20.0, 180.0), st.floats(0.0, 1.0)))
def test_a_smaller_swing_between_re_seatings(build, word, kind, window, swings):
    taken, loaded = windowed(build, *window), with_tool(build, word, kind)
    wide, narrow = (
        build.replace(loaded, job=build.replace(loaded.job, require=build.replace(loaded.job.require, key_swing=swing)))
        for swing in (swings[0], max(swings[0] * swings[1], 10.0))
    )
    no_worse(widths(build, wide, taken), widths(build, narrow, taken))


@settings(max_examples=40, deadline=None)
@given(
    word=every_tool, kind=kinds, window=windows, less=st.tuples(shares, shares, shares),
    what=st.sampled_from(("radius of a part", "arm's reach", "arm's width", "all")),
)  # fmt: skip
def test_a_shorter_or_thinner_tool_of_the_trade(build, word, kind, window, less, what):
    # The standards' tools themselves, each part of them made smaller after it is looked up; what stays outside, and how
    # high, is left as it is: a shorter leg brings an arm nearer to the wall, and may well hinder.
    from fitcheck.checks import access

    def smaller(tool):
        parts, arm = tool.parts, tool.arm
        if what in ("radius of a part", "all"):
            parts = tuple(build.replace(part, radius=part.radius * less[0]) for part in parts)
        if arm is not None and what != "radius of a part":
            length, wide = (
                share if what in (name, "all") else 1.0 for share, name in zip(less[1:], NAMES, strict=True)
            )
            bars = tuple(
                build.replace(bar, length=bar.length * length, half_width=bar.half_width * wide) for bar in arm.bars
            )
            arm = build.replace(arm, bars=bars)
        return build.replace(tool, parts=parts, arm=arm)

    taken, loaded = windowed(build, *window), with_tool(build, word, kind)
    before, usual = widths(build, loaded, taken), access.tools_for
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(access, "tools_for", lambda *asked: tuple(smaller(tool) for tool in usual(*asked)))
        no_worse(before, widths(build, loaded, taken))


NAMES = ("arm's reach", "arm's width")
FLANGE_ANGLES = st.floats(0.0, 360.0)


@settings(max_examples=25, deadline=None)
@given(word=every_tool, angle=FLANGE_ANGLES, half=st.floats(5.0, 80.0), more=st.floats(0.0, 60.0))
def test_a_larger_opening_before_flange_screws(build, word, angle, half, more):
    # A plate before the motor's end with a sector cut out, the machines away.
    def width(half_angle):
        start, stop = angle + half_angle, angle + 360.0 - half_angle
        plate, corners = [], [start + (stop - start) * i / 24 for i in range(25)]
        for a, b in itertools.pairwise(corners):
            p, q, r, t = (
                (5.0, n * cos(radians(e)), n * sin(radians(e))) for n, e in ((5, a), (60, a), (60, b), (5, b))
            )
            plate += build.quad(p, q, r, t)
        flange = build.screw(direction="to outer face", offset=10.0, station=0.0, head_end=None)
        loaded = build.job(motor_hub={"screws": (flange,)}, family="disc", require={"tools": (word,)})
        drive = build.drive(loaded, build.measurement(build.obstacles((), plate)), remedies=False)
        (reach,) = reaches(drive, drive.placed, "motor", 1, ("motor", "actuator"))
        return reach.widest

    assert width(min(half + more, 150.0)) >= width(half) - SURE


def flanged(build, window, opening, far, radius):
    """The wall with its window, and a flange before each end with an opening in it."""
    half, start, stop = window
    segments, found = (
        [build.line(radius, 0.0, 60.0)],
        build.wall(radius, 0.0, 60.0, 24, (180 - half, 180 + half, start, stop)),
    )
    for station, inner in ((0.0, opening), (60.0, far)):
        segments.append(((station, inner, 0.0), (station, radius, 0.0)))
        found += build.ring(station, inner, radius + 15.0, 24)
    return build.measurement(build.obstacles(segments, found))


def statuses(build, loaded, taken):
    drive = build.drive(loaded, taken, remedies=False)
    found = [finding for check in (insertion, assembly_order) for finding in check.check(drive)]
    return {(finding.check, finding.subject): finding.status for finding in found}


@settings(max_examples=10, deadline=None)
@given(
    word=every_tool, window=windows, openings=st.tuples(st.floats(8.0, 20.0), st.floats(8.0, 20.0)),
    more=st.tuples(st.floats(0.0, 8.0), st.floats(0.0, 8.0), st.floats(0.0, 20.0)), outside=st.floats(24.0, 38.0),
    less=st.floats(0.7, 1.0), family=st.sampled_from(("jaw", "double slit", "oldham")),
)  # fmt: skip
def test_larger_openings_and_windows_and_a_thinner_coupling_go_in(
    build, word, window, openings, more, outside, less, family
):
    half, start, stop = window
    large, small = (
        with_tool(build, word, "clamp", outside_diameter=d, family=family) for d in (outside, max(outside * less, 24.0))
    )
    before = statuses(build, large, flanged(build, window, *openings, 20.0))
    wider = [min(opening + add, 20.0) for opening, add in zip(openings, more[:2], strict=True)]
    after = [
        statuses(build, large, flanged(build, window, *wider, 20.0)),
        statuses(build, large, flanged(build, (min(half + more[2], 85.0), start, stop), *openings, 20.0)),
        statuses(build, small, flanged(build, window, *openings, 20.0)),
    ]
    for subject, status in before.items():
        assert status != "pass" or all(found[subject] == "pass" for found in after), subject
