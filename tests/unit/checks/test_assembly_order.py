import re
from math import hypot, radians, sin

import pytest

from fitcheck.checks import assembly_order, wrench_access
from fitcheck.checks.sequences import orders
from fitcheck.checks.wrench_access import screw_name

SWEPT = hypot(9.0 + 5.68 / 2, 10.0)
"""Swept radius of the demo coupling: the M3 head's corner (ISO 4762: 5.68 over a knurled head), 15.498 mm."""


def windowed(build, first=30.0, last=90.0, start=10.0, stop=50.0, lines=(20.0, 20.0)):
    """A chamber of radius 20 with one window; `lines` are the free radii before station 10 and after 50."""
    near, far = lines
    segments = [build.line(near, 0.0, 10.0), build.line(20.0, 10.0, 50.0), build.line(far, 50.0, 60.0)]
    walls = [*build.wall(20.0, 0.0, 60.0, window=(first, last, start, stop))]
    return build.measurement(build.obstacles(segments, walls))


def both(build, **given):
    hub = {"screws": (build.screw(),)}
    return build.job(motor_hub=hub, actuator_hub=hub, **given)


def test_the_usual_order_is_told_as_numbered_steps(build):
    found = build.one(assembly_order.check(build.drive(both(build), windowed(build))))
    assert (found.status, found.value) == ("pass", pytest.approx(20.0 - SWEPT, abs=1e-3))
    steps = re.findall(r"(\d)\. ([A-Z][^.]*)", found.message)
    assert [number for number, _ in steps] == ["1", "2", "3", "4"]
    assert found.message.startswith("coupling on the motor's shaft first: 1. Put the coupling on the motor's shaft")
    assert "4. Tighten actuator hub screw 1 with a hex key, long arm in, at shaft angle" in found.message


def test_an_opening_that_is_too_small_leaves_the_other_side(build):
    # Before station 10 only 14 are free: the coupling of 15 goes in from the actuator's side alone.
    found = build.one(assembly_order.check(build.drive(both(build), windowed(build, lines=(14.0, 20.0)))))
    assert found.status == "pass"
    assert found.message.startswith("coupling on the actuator's shaft first")
    job = both(build, require={"insertion_from": "motor"})
    found = build.one(assembly_order.check(build.drive(job, windowed(build, lines=(14.0, 20.0)))))
    # The same cause is reported by insertion, so it is no second fail.
    assert found.status == "warn"
    lack = float(re.search(r"the coupling lacks ([\d.]+) mm of clearance from the motor's side", found.message)[1])
    assert lack == pytest.approx(0.1 - (14.0 - SWEPT), abs=1e-3)
    assert "the cause is reported by insertion" in found.message


def test_halves_that_plug_together_need_no_window(build):
    closed = build.measurement(build.obstacles([build.line(20.0, 0.0, 60.0)], build.wall(20.0, 0.0, 60.0)))
    jaw = build.one(assembly_order.check(build.drive(both(build), closed)))
    assert jaw.status == "pass"
    assert jaw.message.startswith("hubs on their shafts first, the element between")
    slit = build.one(assembly_order.check(build.drive(both(build, family="slit"), closed)))
    assert slit.status == "warn"
    assert "actuator hub screw 1 is out of reach then" in slit.message
    assert "the cause is reported by wrench-access" in slit.message


def test_through_the_window_sideways(build):
    # Both ends are closed to 9 mm, so the coupling goes in through the window only. One of 92 degrees in a chamber of
    # radius 20 passes 20 sin 46 = 14.39 to either side of its middle; the coupling needs 15 and 0.1 more.
    def taken(half):
        wall = build.wall(20.0, 5.0, 55.0, window=(180.0 - half, 180.0 + half, 5.0, 55.0))
        rings = [*build.ring(5.0, 9.0, 20.0), *build.ring(55.0, 9.0, 20.0)]
        segments = [build.line(9.0, 4.9, 5.0), build.line(20.0, 5.0, 55.0), build.line(9.0, 55.0, 55.1)]
        return build.measurement(build.obstacles(segments, [*wall, *rings]))

    def window(half):
        job = build.job(motor_hub={"screws": (build.screw(head_end=None),)}, family="slit")
        drive = build.drive(job, taken(half))
        tried = [order for order in orders(drive, drive.placed) if order.name.startswith("coupling through the window")]
        # Towards the motor first drawn back: it sits at 15 to 49 and is 9 deep on the actuator's shaft (40): 6 to 40.
        return next(order for order in tried if "nearer to the motor" in " ".join(order.steps))

    narrow, wide = window(46.0), window(60.0)
    assert not narrow.works
    assert narrow.clearance == pytest.approx(20.0 * sin(radians(46.0)) - 15.0, abs=0.02)
    # 20 sin 60 - 15 = 2.32; but only 1 mm is left between the drawn-back coupling's end (6) and the ring at 5.
    assert wide.works
    assert wide.clearance == pytest.approx(1.0, abs=0.02)


def test_what_is_tightened_before_may_be_out_of_reach_after_where_the_job_says_so(build):
    # The window shows only the actuator's screw, at station 43; the motor's lies at 21.
    taken = windowed(build, start=38.0, stop=48.0)
    strict = wrench_access.check(build.drive(both(build), taken))
    assert [f.status for f in strict] == ["fail", "pass"]
    relaxed = wrench_access.check(build.drive(both(build, require={"access": "in order"}), taken))
    assert [f.status for f in relaxed] == ["warn", "pass"]
    assert relaxed[0].subject == screw_name("motor", 1)
    assert "tightened before the second machine is bolted on" in relaxed[0].message
    assert build.one(assembly_order.check(build.drive(both(build, require={"access": "in order"}), taken))).status == (
        "pass"
    )


def test_a_wider_opening_never_takes_an_order_away(build):
    last = set()
    for near in (13.0, 14.0, 15.2, 18.0, 20.0):
        drive = build.drive(both(build), windowed(build, lines=(near, 15.2)))
        working = {order.name for order in orders(drive, drive.placed) if order.works}
        assert last & {"coupling on the motor's shaft first", "coupling on the actuator's shaft first"} <= working
        last = working
    assert "coupling on the motor's shaft first" in last


def test_not_placed_is_not_checked(build):
    found = build.one(assembly_order.check(build.drive(build.job(motor={"shaft": None}))))
    assert found.status == "not-checked"
    assert "place.motor_hub_face" in found.remedy
