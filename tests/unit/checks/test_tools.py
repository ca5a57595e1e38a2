"""Tools on screws; key sizes from ISO 2936:2014 as printed in the references, re-typed here."""

from math import sqrt

import pytest

from fitcheck.checks import wrench_access
from fitcheck.checks.tools import tools_for
from fitcheck.job import model as jobs


def tools(words, **more):
    return tools_for(jobs.Require(tools=words, **more), jobs.Screw(size="M4", station=5.0, offset=9.0), 10.0)


def test_a_key_goes_in_by_either_arm():
    # 3 mm key: arms 66 and 23 (2014), 63 and 20 (1983, from memory); socket of M4 2.0 deep; over corners 3.464.
    short_in, long_in = tools(("hex key",))
    wide = 2 * 3.0 / sqrt(3)
    bar = short_in.arm.bars[0]
    # Lowest: the shorter key, less its own width; highest: the longer one, lifted out of the socket.
    assert (bar.low, bar.high) == pytest.approx((10 - 2 + 20 - wide, 10 - 2 + 23 + 2))
    assert bar.length == pytest.approx(66 - wide / 2)
    bar = long_in.arm.bars[0]
    assert (bar.low, bar.high) == pytest.approx((10 - 2 + 63 - wide, 10 - 2 + 66 + 2))
    assert bar.length == pytest.approx(23 - wide / 2)
    assert [tool.name for tool in tools(("hex key short arm", "hex key long arm"))] == [short_in.name, long_in.name]


def test_the_bend_makes_the_key_wider_beside_its_leg():
    main, bend = tools(("hex key short arm",))[0].arm.bars
    assert bend.low == pytest.approx(main.low - 3.0)
    assert bend.length == pytest.approx(3.0 / sqrt(3) + 3.0)


def test_round_tools_are_stacks_of_cylinders():
    (driver,) = tools(("hex driver",))
    assert driver.arm is None
    assert [part.start for part in driver.parts] == pytest.approx([10.0, 10 - 2 + 75])
    (bit,) = tools(("bit in holder",))
    # C 6.3: 25 long, 13 seated, so 12 stand out, 2 of them in the socket; a handle begins 60 farther out.
    assert [part.start for part in bit.parts] == pytest.approx([10.0, 20.0, 80.0])
    assert bit.parts[2].radius == driver.parts[1].radius
    assert bit.parts[0].radius == pytest.approx(6.3 / sqrt(3))
    (torque,) = tools(("torque driver",))
    assert [part.radius for part in torque.parts] == sorted(part.radius for part in torque.parts)


def test_a_tool_of_ones_own():
    own = jobs.OwnTool(
        name="cranked driver",
        sections=(jobs.ToolSection(diameter=3.5, length=30.0), jobs.ToolSection(diameter=8.0, length=20.0)),
        arm=jobs.ToolArm(length=45.0, diameter=9.0, sides="both"),
    )
    found = tools(("hex driver",), own_tools=(own,), key_swing=40.0)[-1]
    assert [(part.start, part.radius) for part in found.parts] == [(10.0, 1.75), (38.0, 4.0)]
    (bar,) = found.arm.bars
    assert (bar.low, bar.high, bar.length, found.arm.both_sides, found.arm.swing) == (49.0, 60.0, 45.0, True, 40.0)


def windowed(build, start=18.0, stop=24.0, **more):
    return build.measurement(build.obstacles((), build.wall(20.0, 0.0, 60.0, window=(30.0, 90.0, start, stop))), **more)


def test_the_arm_that_stays_inside_the_wall_is_in_the_way(build):
    # M3, key 2.5: short arms 20.5 and 18, socket 1.3: the arm lies at 10 - 1.3 + 18 - 2.9 = 23.8 at the lowest. A wall
    # at 30 with a window 6 mm high leaves it no swing; the long arm in (56 at least) carries it outside.
    wall = build.wall(30.0, 0.0, 60.0, window=(30.0, 90.0, 18.0, 24.0))
    taken = build.measurement(build.obstacles((), wall))
    hub = {"screws": (build.screw(),)}
    only_short = build.job(motor_hub=hub, require={"tools": ("hex key short arm",)})
    found = build.one(wrench_access.check(build.drive(only_short, taken)))
    assert found.status == "fail"
    assert "adapter is in the way of the arm of a hex key, short arm in" in found.message
    either = build.one(wrench_access.check(build.drive(build.job(motor_hub=hub), taken)))
    assert either.status == "pass"
    assert either.message.startswith("a hex key, long arm in (2.887 mm across) reaches the M3 screw")


def test_a_cut_key_is_offered_and_works(build):
    # Walls of a U: to either side of the screw plates at stations 21 +- 14. The arm of 58 does not turn between them.
    def plate(station):
        a, b, c, d = (station, -60.0, -60.0), (station, 60.0, -60.0), (station, 60.0, 60.0), (station, -60.0, 60.0)
        return build.quad(a, b, c, d)

    taken = build.measurement(build.obstacles((), [*plate(7.0), *plate(35.0)]))
    job = build.job(
        motor_hub={"screws": (build.screw(),)}, require={"tools": ("hex key short arm",), "key_swing": 200.0}
    )
    found = build.one(wrench_access.check(build.drive(job, taken)))
    assert found.status == "fail"
    cut = float(found.remedy.split("a key whose arm is cut to ")[1].split(" mm")[0])
    # Between the plates everything within 14 turns right round; a little more does not reach them at all angles.
    assert 13.5 <= cut <= 15.5


def test_a_ball_end_alone_does_not_count(build):
    job = build.job(motor_hub={"screws": (build.screw(),)}, require={"tools": ("ball-end hex key",)})
    found = build.one(wrench_access.check(build.drive(job, windowed(build))))
    assert "a ball end, tilted up to 25.0°, drives it in at shaft angles" in found.message
    assert "ball-end hex key, short arm in" in found.message
    closed = build.measurement(build.obstacles((), build.wall(20.0, 0.0, 60.0)))
    found = build.one(wrench_access.check(build.drive(job, closed)))
    assert found.status == "fail"
    assert "a ball end does not reach it" in found.message


def test_a_tilted_ball_end_reaches_past_an_edge(build):
    # The window ends at the screw's station: straight nothing comes in, tilted the key passes beside the edge: the wall
    # lies 20 out, the ball at 14.5, flush with the hub, so 25 degrees lean 5.5 tan 25 = 2.6 mm at the wall.
    # (The motor's frame tells how wide it is: the tilted key leans over it.)
    hub, motor = {"screws": (build.screw(offset=0.0, head_end=14.5),)}, {"frame": "NEMA 23"}
    job = build.job(motor_hub=hub, motor=motor, require={"tools": ("ball-end hex key",)})
    found = build.one(wrench_access.check(build.drive(job, windowed(build, start=8.0, stop=21.0))))
    assert found.status == "fail"
    assert "a ball end, tilted up to 25.0°, drives it in" in found.message
    straight = build.job(
        motor_hub=hub, motor=motor, require={"tools": ("ball-end hex key",), "ball_end_tilt": 5.0}
    )  # fmt: skip
    found = build.one(wrench_access.check(build.drive(straight, windowed(build, start=8.0, stop=21.0))))
    assert "a ball end does not reach it" in found.message


def test_a_flange_screw_is_reached_along_the_axis_only_while_the_machine_is_away(build):
    flange = build.screw(direction="to outer face", offset=11.0, station=0.0, head_end=None)
    job = build.job(motor_hub={"screws": (flange,)}, family="disc")
    found = build.one(wrench_access.check(build.drive(job, build.measurement())))
    assert found.status == "fail"
    assert "the motor's seat" in found.message
    assert "(require.access: in order): assembly-order tightens it before" in found.remedy
