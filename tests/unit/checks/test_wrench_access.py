import itertools
import re
from dataclasses import replace
from math import asin, atan2, degrees, hypot, sqrt

import pytest

from fitcheck.checks import wrench_access
from fitcheck.checks.access import reaches

KEY = 2.5 / (2 * sqrt(3) / 2)
"""Radius over the corners of a 2.5 mm hexagon (the key of an M3 cap screw, ISO 2936): 1.443 mm."""


def windowed(build, first=30.0, last=90.0, start=10.0, stop=32.0, **more):
    """A wall of radius 20 with one window, angles `first` to `last`, stations `start` to `stop`."""
    return build.measurement(
        build.obstacles((), build.wall(20.0, 0.0, 60.0, window=(first, last, start, stop)), **more)
    )


def both(build, actuator_angle=0.0, **given):
    """The demo coupling with one M3 screw a hub, at stations 21 and 43."""
    return {
        "motor_hub": {"screws": (build.screw(**given),)},
        "actuator_hub": {"screws": (build.screw(angle=actuator_angle, **given),)},
    }


def motor_only(build, **given):
    return {"motor_hub": {"screws": (build.screw(**given),)}}


def free_angles(radius, first, last, offset, half_width):
    """Closed form: the window's edges, corners of the wall at `radius`, touch the sides of the tool.

    A corner at polar angle p lies at n.p = radius sin(p - theta); the tool fits while the corner at the window's end
    is left of offset + half_width, and the one at its start right of offset - half_width.
    """
    return (
        first - degrees(asin((offset - half_width) / radius)),
        last - degrees(asin((offset + half_width) / radius)),
    )


@pytest.mark.parametrize("offset", [0.0, 9.0, -9.0])
def test_the_free_angles_through_a_window_are_the_closed_form(build, offset):
    loaded = build.job(**motor_only(build, offset=offset))
    found = build.one(wrench_access.check(build.drive(loaded, windowed(build))))
    start, stop = free_angles(20.0, 30.0, 90.0, offset, KEY)
    assert found.status == "pass"
    assert found.value == pytest.approx(stop - start, abs=0.04)
    assert found.value <= stop - start + 1e-9
    shown = [float(v) % 360 for v in re.search(r"angles ([\d.]+)° to ([\d.]+)°; best", found.message).groups()]
    assert shown == pytest.approx([start % 360, stop % 360], abs=0.1)


def test_the_screws_own_angle_turns_the_answer(build):
    plain = build.one(wrench_access.check(build.drive(build.job(**motor_only(build)), windowed(build))))
    turned = build.one(wrench_access.check(build.drive(build.job(**motor_only(build, angle=50.0)), windowed(build))))

    def best(finding):
        return float(re.search(r"best ([\d.]+)°", finding.message)[1])

    assert turned.value == pytest.approx(plain.value)
    assert (best(plain) - best(turned)) % 360 == pytest.approx(50.0, abs=0.11)


@pytest.mark.parametrize("window", [{}, {"first": 20.0, "last": 70.0}, {"stop": 26.0}, {"first": 10.0, "start": 16.0}])
def test_a_thinner_tools_best_angle_serves_a_thicker_one_no_worse_than_a_search_of_its_own(build, window, monkeypatch):
    tools = ("hex key", "hex driver", "T-handle", "bit in holder", "torque driver")
    rooms = []
    for search_all in (False, True):
        if search_all:
            monkeypatch.setattr("fitcheck.checks.access.Asked._best_of_thinner", lambda *_: None)
        drive = build.drive(build.job(**motor_only(build), require={"tools": tools}), windowed(build, **window))
        found = reaches(drive, drive.placed, "motor", 1)
        told = [(reach.best, gap) for reach in found for gap in reach.free if reach.best is not None]
        assert all(any((best - gap.start) % 360.0 <= gap.width for b, gap in told if b == best) for best, _ in told)
        rooms.append([reach.margin for reach in found])
    assert max(rooms[0]) > 0.0
    assert rooms[0] == pytest.approx(rooms[1], abs=0.01 + 1e-6)


def test_both_hubs_at_one_shaft_angle_or_at_two(build):
    wide = windowed(build, stop=50.0)
    together = wrench_access.check(build.drive(build.job(**both(build)), wide))
    assert [f.status for f in together] == ["pass", "pass", "pass"]
    assert together[2].subject == "both hubs"
    assert together[2].value == pytest.approx(together[0].value, abs=0.05)
    apart = wrench_access.check(build.drive(build.job(**both(build, actuator_angle=180.0)), wide))
    assert [f.status for f in apart] == ["pass", "pass", "warn"]
    assert apart[2].message.startswith("the screws of both hubs are reached at no common shaft angle")


def test_a_window_that_misses_the_screw_says_how_far_to_widen_it(build):
    # Station 21; the tool needs 1.443 to either side; the window ends at 20: 2.443 short, 2.5 in steps of 0.1.
    loaded = build.job(**motor_only(build))
    found = build.one(wrench_access.check(build.drive(loaded, windowed(build, stop=20.0))))
    assert (found.status, found.value, found.limit) == ("fail", 0.0, 0.2)
    assert found.at.station == 21.0
    assert found.at.body == "adapter"
    assert "adapter is in the way of a hex key" in found.message
    # A hole has to be 2.887 mm wide, and 0.15 degrees to both sides at some 25 mm are 0.13 mm more: told in tenths.
    told = r"widen the opening by 2.5 mm towards the actuator; or a round hole of (3|3.1) mm in line"
    assert re.match(told, found.remedy), found.remedy
    wider = windowed(build, stop=22.5)
    assert build.one(wrench_access.check(build.drive(loaded, wider))).status == "pass"
    # With hubs that allow it, moving the coupling is offered too, and holds.
    hubs = {"motor_hub": {"bore_length": 14.0, "screws": (build.screw(),)}, "actuator_hub": {"bore_length": 14.0}}
    require = {"engagement": 0.5}
    loaded = build.job(**hubs, require=require)
    found = build.one(wrench_access.check(build.drive(loaded, windowed(build, stop=20.0))))
    face = re.search(r"move the coupling 2.5 mm towards the motor \(place.motor_hub_face: ([\d.]+) mm\)", found.remedy)
    moved = build.job(**hubs, require=require, place={"motor_hub_face": float(face[1])})
    assert build.one(wrench_access.check(build.drive(moved, windowed(build, stop=20.0)))).status == "pass"


def test_a_closed_wall_blocks_and_the_opening_that_is_enough_is_told(build):
    loaded = build.job(**motor_only(build))
    closed = build.measurement(build.obstacles((), build.wall(20.0, 0.0, 60.0), bound=0.05))
    found = build.one(wrench_access.check(build.drive(loaded, closed)))
    assert found.status == "fail"
    # 2 * 1.443 + 2 * 0.05 = 2.987, and something for the least range of 0.2 degrees (0.07 mm at 20).
    diameter = re.fullmatch(
        r"a round hole of ([\d.]+) mm in line with the screw \(station 21 mm, 9 mm .*", found.remedy
    )
    assert 2.987 + 0.07 < float(diameter[1]) < 3.3


def test_an_open_bracket_leaves_every_angle(build):
    found = build.one(
        wrench_access.check(build.drive(build.job(**motor_only(build)), build.measurement(build.obstacles())))
    )
    assert (found.status, found.value) == ("pass", 360.0)
    assert "at every shaft angle" in found.message


def test_one_tool_that_works_is_enough(build):
    # A window 5 mm high about station 21 passes the key (2.9 mm), not the holder (over 9 mm).
    narrow = windowed(build, start=18.5, stop=23.5)
    only_bit = build.job(**motor_only(build), require={"tools": ("bit in holder",)})
    assert build.one(wrench_access.check(build.drive(only_bit, narrow))).status == "fail"
    either = build.job(**motor_only(build), require={"tools": ("bit in holder", "hex key")})
    found = build.one(wrench_access.check(build.drive(either, narrow)))
    assert found.status == "pass"
    assert "a bit in holder does not" in found.message


def test_the_blocking_body_is_named(build):
    triangles = [*build.wall(20.0, 0.0, 60.0, window=(30.0, 90.0, 10.0, 32.0)), *build.wall(40.0, -10.0, 70.0)]
    owner = [0] * (len(triangles) - 96) + [1] * 96
    taken = build.measurement(build.obstacles((), triangles, triangle_body=owner), bodies=("adapter", "other"))
    found = build.one(wrench_access.check(build.drive(build.job(**motor_only(build)), taken)))
    assert (found.status, found.at.body) == ("fail", "other")
    # The same body as the old coupling is none.
    taken = build.measurement(build.obstacles((), triangles, triangle_body=owner), bodies=("adapter", "coupling"))
    assert build.one(wrench_access.check(build.drive(build.job(**motor_only(build)), taken))).status == "pass"


def test_a_machine_that_is_not_in_the_file_is_in_the_way_too(build):
    # The motor's register, 20 mm high and 60 mm wide, reaches to station 20: the key about 21 starts at 19.6.
    register = build.jobs.Register(diameter=60.0, height=20.0)
    loaded = build.job(**motor_only(build), motor={"register": register})
    found = build.one(wrench_access.check(build.drive(loaded, windowed(build))))
    assert found.status == "fail"
    assert "the motor's register, 20 mm high is in the way" in found.message
    # A register of 20 mm diameter lies below the tool, which is nowhere nearer to the axis than hypot(10, 9 - 1.44).
    assert hypot(10.0, 9.0 - KEY) > 10.0
    small = build.job(**motor_only(build), motor={"register": replace(register, diameter=20.0)})
    assert build.one(wrench_access.check(build.drive(small, windowed(build)))).status == "pass"


def test_the_couplings_own_larger_body_is_in_the_way(build):
    hub = {"outside_diameter": 24.0, "screws": (build.screw(station=11.0, offset=0.0, head_end=12.0),)}
    found = build.one(wrench_access.check(build.drive(build.job(motor_hub=hub), windowed(build))))
    assert found.status == "fail"
    assert "the coupling's own body is in the way" in found.message


def test_set_screws_have_their_own_key(build):
    # ISO 4029 M3: 1.5 mm key, 0.866 mm over the corners' radius.
    loaded = build.job(**motor_only(build, kind="set screw", offset=0.0, head_end=None))
    found = build.one(wrench_access.check(build.drive(loaded, windowed(build))))
    start, stop = free_angles(20.0, 30.0, 90.0, 0.0, 1.5 / sqrt(3))
    assert found.value == pytest.approx(stop - start, abs=0.04)
    assert "taken to end at the hub's outside diameter" in found.message


def test_no_screws_given_is_not_checked_and_not_required(build):
    found = build.one(wrench_access.check(build.drive()))
    assert (found.status, found.required) == ("not-checked", False)
    assert "coupling.hubs.motor.screws" in found.remedy


def test_a_larger_window_never_makes_it_worse(build):
    loaded = build.job(**motor_only(build))
    widths = [
        build.one(
            wrench_access.check(build.drive(loaded, windowed(build, 60 - grow, 60 + grow, 21 - grow, 21 + grow)))
        ).value
        for grow in (0.5, 1.0, 1.4, 1.5, 3.0, 8.0, 20.0)
    ]
    assert widths[0] == 0.0
    assert widths[-1] > 15.0
    assert all(b >= a - 0.02 for a, b in itertools.pairwise(widths))


@pytest.mark.parametrize("offset", [0.0, 9.0, -9.0])
def test_two_windows_in_one_wall_are_two_closed_form_ranges(build, offset):
    # Each window's edges as above; the second one is cut out of the first one's wall, whose corners are 7.5 apart.
    windows = ((30.0, 90.0), (142.5, 172.5))

    def in_second(triangle):
        s, x, y = (sum(corner[i] for corner in triangle) / 3.0 for i in range(3))
        return windows[1][0] < degrees(atan2(y, x)) % 360.0 < windows[1][1] and 10.0 < s < 32.0

    wall = build.wall(20.0, 0.0, 60.0, window=(*windows[0], 10.0, 32.0))
    taken = build.measurement(build.obstacles((), [one for one in wall if not in_second(one)]))
    drive = build.drive(build.job(**motor_only(build, offset=offset), require={"tools": ("hex driver",)}), taken)
    (reach,) = reaches(drive, drive.placed, "motor", 1)
    expected = [free_angles(20.0, *window, offset, KEY) for window in windows]
    assert len(reach.free) == 2
    for start, stop in expected:
        # The range that begins nearest to where it should.
        gap = min(reach.free, key=lambda gap: abs((gap.start - start + 180.0) % 360.0 - 180.0))
        assert (gap.start - start + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=0.04)
        assert gap.width == pytest.approx(stop - start, abs=0.04)
        assert gap.width <= stop - start + 1e-9


def moved_to(build, given, taken, remedy):
    """The status at the place that a remedy tells, and 0.1 mm short of it; with the move in mm."""
    far, face = re.search(
        r"move the coupling ([\d.]+) mm towards the actuator \(place.motor_hub_face: ([\d.]+)", remedy
    ).groups()
    found = []
    for place in (float(face), float(face) - 0.1):
        drive = build.drive(build.job(**{**given, "place": {"motor_hub_face": place}}), taken, remedies=False)
        found.append(build.one([f for f in wrench_access.check(drive) if f.subject == "motor hub screw 1"]).status)
    return float(far), found


def test_a_move_away_from_the_machine_and_a_thinner_tool_are_offered(build):
    # No material but the motor's face, a plane at station 0. The screw is at station 7, a driver's handle 30 mm wide
    # asks for 15: 8 mm more, or one of 14.
    given = {
        "motor_hub": {"screws": (build.screw(station=3.0),)}, "place": {"motor_hub_face": 4.0},
        "motor": {"shaft": build.jobs.Shaft(diameter=8.0, length=20.0)}, "actuator": {"shaft": None},
        "require": {"tools": ("hex driver",)},
    }  # fmt: skip
    taken = build.measurement(build.obstacles())
    found = build.one(wrench_access.check(build.drive(build.job(**given), taken)))
    assert "the motor's seat" in found.message
    assert moved_to(build, given, taken, found.remedy) == (8.0, ["pass", "fail"])
    assert "a hex driver of at most 14 mm across (now 30 mm) reaches it" in found.remedy


def test_a_move_that_lets_the_arm_swing_is_found_beyond_the_first_millimetres(build):
    # An arm of 40, 4 thick, beside a plate at distance d: the plate's line meets the circle of 40 at acos(d / 40) from
    # the nearest direction, and the arm asin(2 / 40) before that: the swing is 360 - 2 (acos(d / 40) + asin(1 / 20)).
    # For 200 degrees d is 40 cos(80 - asin(1 / 20)) = 8.905. Now it is 21 - 17.4 = 3.6: 5.305 more, told as 5.4. The
    # machines are slim, so that the arm swings over them.
    plate = build.quad((17.4, -60.0, -60.0), (17.4, 60.0, -60.0), (17.4, 60.0, 60.0), (17.4, -60.0, 60.0))
    taken = build.measurement(build.obstacles((), plate))
    tool = build.jobs.OwnTool(
        name="bent rod", sections=(build.jobs.ToolSection(diameter=2.5, length=30.0),),
        arm=build.jobs.ToolArm(length=40.0, diameter=4.0),
    )  # fmt: skip
    hub, slim = {"insertion_limit": 20.0}, build.jobs.Flange(size=20.0, shape="round")
    given = {
        "motor_hub": {**hub, "screws": (build.screw(),)}, "actuator_hub": hub, "place": {"motor_hub_face": 15.0},
        "motor": {"shaft": build.jobs.Shaft(diameter=8.0, length=31.0), "flange": slim}, "actuator": {"flange": slim},
        "require": {"tools": ("torque driver",), "own_tools": (tool,), "key_swing": 200.0},
    }  # fmt: skip
    found = build.one(wrench_access.check(build.drive(build.job(**given), taken)))
    assert "the arm of a bent rod" in found.message
    assert moved_to(build, given, taken, found.remedy) == (5.4, ["pass", "fail"])


def test_the_data_hold_each_tools_ranges_and_what_blocks_it(build):
    # Wall of radius 20 with a window from 30 to 90 degrees: a screw 9 beside the axis sees an edge at phi where
    # 20 sin(phi - theta) = 9 +- r, r being half of 2.5 mm over corners. It is 6 high, less than a bit's 7.3.
    radius = 2.5 / sqrt(3.0)
    start = 30.0 - degrees(asin((9.0 - radius) / 20.0))
    stop = 90.0 - degrees(asin((9.0 + radius) / 20.0))
    motor = {"shaft": build.jobs.Shaft(diameter=8.0, length=24.0), "flange": build.jobs.Flange(size=40.0)}
    given = {
        "motor_hub": {"screws": (build.screw(),)}, "motor": motor,
        "require": {"tools": ("hex driver", "torque driver", "ball-end hex key")},
    }  # fmt: skip
    drive = build.drive(build.job(**given), windowed(build, start=18.0, stop=24.0))
    tools = {tool["tool"]: tool for tool in build.one(wrench_access.check(drive)).to_dict()["tools"]}
    assert list(tools) == ["hex driver", "torque driver", "ball-end hex key, short arm in", "ball end"]
    driver = tools["hex driver"]
    assert driver["free"] == [[pytest.approx(start, abs=1e-3), pytest.approx(stop, abs=1e-3)]]
    assert start < driver["best"] < stop
    assert (driver["tightens"], driver["blocked_by"], driver["swing"]) == (True, None, 360.0)
    assert driver["margin"] > 0.0
    assert (tools["torque driver"]["free"], tools["torque driver"]["blocked_by"]) == ([], "adapter")
    assert tools["torque driver"]["best"] is None
    assert not tools["ball end"]["tightens"]
    assert max(stop - start for start, stop in tools["ball end"]["free"]) > stop - start
