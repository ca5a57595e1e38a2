"""Each order of assembly that there is: a drive in which it alone works, and one in which it does not.

The chamber has radius 20 and runs from 0 to 60; the coupling (radius 15, heads to 15.498) sits from 15 to 49, its
screws at stations 21 (motor) and 43 (actuator).
"""

import itertools
from math import hypot

import pytest

from fitcheck.checks import assembly_order, insertion, wrench_access
from fitcheck.checks.sequences import orders

SWEPT = hypot(9.0 + 5.68 / 2, 10.0)
"""The head's corner (ISO 4762: 5.68 over a knurled M3 head)."""


def tried(build, loaded, taken):
    drive = build.drive(loaded, taken, remedies=False)
    return {order.name: order for order in orders(drive, drive.placed)}


def working(found):
    return {name for name, order in found.items() if order.works}


def chamber(build, windows=(), motor=20.0, actuator=20.0, extra=(), extra_segments=(), ends=None):
    """Openings of two radii at the ends (5 mm long), windows (degrees from, to, stations from, to) in the wall.

    `extra` and `extra_segments` belong to a second body, the motor.
    """
    stations = sorted({0.0, 60.0, *(s for w in windows for s in w[2:])})
    wall = []
    for first, last in itertools.pairwise(stations):
        here = next((w for w in windows if w[2] <= first and last <= w[3]), None)
        wall += build.wall(20.0, first, last, window=None if here is None else (*here[:2], first, last))
    rings = []
    if motor < 20.0:
        rings += [*build.ring(0.0, motor, 20.0), *build.ring(5.0, motor, 20.0)]
    if actuator < 20.0:
        rings += [*build.ring(55.0, actuator, 20.0), *build.ring(60.0, actuator, 20.0)]
    lines = [build.line(motor, 0.0, 5.0), build.line(20.0, 5.0, 55.0), build.line(actuator, 55.0, 60.0)]
    triangles = [*wall, *rings]
    material = build.obstacles(
        [*lines, *extra_segments], [*triangles, *extra],
        segment_body=[0] * len(lines) + [1] * len(extra_segments),
        triangle_body=[0] * len(triangles) + [1] * len(extra),
    )  # fmt: skip
    return build.measurement(material, bodies=("adapter", "motor"), ends=ends)


def both(build, **given):
    hub = {"screws": (build.screw(),)}
    return build.job(**{"motor_hub": hub, "actuator_hub": hub, "family": "slit", **given})


AT_MOTOR_SCREW, AT_ACTUATOR_SCREW = (30.0, 90.0, 16.0, 26.0), (30.0, 90.0, 38.0, 48.0)


@pytest.mark.parametrize(
    ("side", "far", "window", "openings"),
    [
        ("motor", "actuator", AT_ACTUATOR_SCREW, {"motor": 16.0, "actuator": 14.0}),
        ("actuator", "motor", AT_MOTOR_SCREW, {"motor": 14.0, "actuator": 16.0}),
    ],
)
def test_on_a_shaft_first_and_in_through_that_sides_opening(build, side, far, window, openings):
    # One opening passes the coupling (16 - 15.498), the other does not; the window shows the far screw alone, which is
    # tightened last, the near one on the bench.
    found = tried(build, both(build), chamber(build, [window], **openings))
    assert working(found) == {f"coupling on the {side}'s shaft first"}
    order = found[f"coupling on the {side}'s shaft first"]
    assert order.clearance == pytest.approx(16.0 - SWEPT, abs=1e-3)
    assert (order.before, order.after) == (((side, 1),), ((far, 1),))
    assert order.steps[0] == f"Put the coupling on the {side}'s shaft, on the bench, and tighten {side} hub screw 1."
    assert order.steps[-1].startswith(f"Tighten {far} hub screw 1 with a hex key")
    # With the other window the far screw is out of reach once all is bolted on, and no order is left.
    other = AT_MOTOR_SCREW if window is AT_ACTUATOR_SCREW else AT_ACTUATOR_SCREW
    refused = tried(build, both(build), chamber(build, [other], **openings))
    assert f"coupling on the {side}'s shaft first" not in working(refused)
    what = [miss.what for miss in refused[f"coupling on the {side}'s shaft first"].misses]
    assert what == [f"{far} hub screw 1 is out of reach then (adapter is in the way)"]


def test_onto_the_far_shaft_inside_the_adapter(build):
    # The motor's own cover closes the window over the actuator's screw, so that one is tightened before the motor is
    # there; the motor's screw, at 21, is reached after it.
    cover = build.wall(24.0, 36.0, 50.0)
    taken = chamber(build, [(30.0, 90.0, 16.0, 48.0)], motor=16.0, actuator=14.0, extra=cover)
    found = tried(build, both(build), taken)
    assert working(found) == {"coupling on the actuator's shaft inside the adapter"}
    order = found["coupling on the actuator's shaft inside the adapter"]
    assert (order.before, order.after) == ((("actuator", 1),), (("motor", 1),))
    assert [step.split(" ")[0] for step in order.steps] == ["Bolt", "Put", "Tighten", "Bring", "Tighten"]
    # Were the cover the adapter's, nothing would reach that screw at any time.
    walls = [*build.wall(20.0, 0.0, 16.0), *build.wall(20.0, 48.0, 60.0), *cover,
             *build.wall(20.0, 16.0, 48.0, window=(30.0, 90.0, 16.0, 48.0))]  # fmt: skip
    lines = [build.line(16.0, 0.0, 5.0), build.line(20.0, 5.0, 55.0), build.line(14.0, 55.0, 60.0)]
    assert not working(tried(build, both(build), build.measurement(build.obstacles(lines, walls))))


def test_sideways_through_a_window_away_from_the_couplings_place(build):
    # Both ends are closed to 9 mm, so the coupling goes in through a window alone. It is 34 mm long, sits from 15 to 49
    # and has to be drawn back 9 mm to clear the actuator's shaft, to 6 to 40: 1 mm beside the window's edge at 5.
    def taken(first, stop, half=60.0):
        return chamber(build, [(180.0 - half, 180.0 + half, first, stop)], motor=9.0, actuator=9.0)

    # Set screws are flush, so that the swept radius is 15; they are reached through the same window.
    flush = {"screws": (build.screw(size="M4", kind="set screw", offset=0.0, head_end=14.9),)}
    loaded = build.job(motor_hub=flush, actuator_hub=flush, family="slit")
    found = tried(build, loaded, taken(5.0, 55.0))
    name = "coupling through the window onto the actuator's shaft"
    assert working(found) == {name}
    order = found[name]
    assert order.clearance == pytest.approx(1.0, abs=0.02)
    assert "9 mm nearer to the motor than its place" in order.steps[1]
    assert (order.before, order.after) == ((("actuator", 1),), (("motor", 1),))
    assert [step.split(" ")[0] for step in order.steps] == ["Bolt", "Put", "Tighten", "Bring", "Tighten"]
    # A window that ends at 43.5 lets it in as well, but then the actuator's screw at 43 is out of reach.
    refused = tried(build, loaded, taken(5.0, 43.5))[name]
    assert [miss.what for miss in refused.misses] == [
        "actuator hub screw 1 is out of reach then (adapter is in the way)"
    ]
    # One that is 30 degrees to either side passes 20 sin 30 = 10 mm, not the screw ends at hypot(14.9, 2).
    narrow = tried(build, loaded, taken(5.0, 55.0, 30.0))[name]
    assert narrow.clearance == pytest.approx(10.0 - hypot(14.9, 2.0), abs=0.02)
    assert not narrow.works


@pytest.mark.parametrize(("length", "missing"), [(24.0, None), (28.0, "1 mm beyond the bore that the cap opens")])
def test_with_its_caps_off_sideways_onto_both_shafts(build, length, missing):
    # Both ends are closed to 9 mm; the window, 60 degrees to either side from 14 to 50, holds the coupling (15 to 49)
    # in its place and nowhere else, so both shafts stay where they are: the motor's ends 9 deep in a bore of 12, or 13.
    taken = chamber(build, [(120.0, 240.0, 14.0, 50.0)], motor=9.0, actuator=9.0)
    caps = {"screws": (build.screw(head_end=None), build.screw(offset=-9.0, head_end=None))}
    caps["fastening"] = "clamp two-piece"
    given = {
        "motor_hub": caps, "family": "slit", "motor": {"shaft": build.jobs.Shaft(diameter=8.0, length=length)},
        "place": {"motor_hub_face": 15.0},
    }  # fmt: skip
    loaded = build.job(actuator_hub=caps, **given)
    found = tried(build, loaded, taken)
    name = "coupling through the window onto both shafts, its caps off"
    assert working(found) == ({name} if missing is None else set())
    order = found[name]
    # 20 sin(60) = 17.32 to either side at the mouth, the coupling takes 15; 1 mm along the axis is left.
    assert order.clearance == pytest.approx(1.0, abs=0.02)
    assert order.before == ()
    assert len(order.after) == 4
    steps = [step.split(" ")[0] for step in order.steps]
    assert steps == ["Bolt", "Take", "Turn"] + ["Tighten"] * 4
    if missing is not None:
        assert missing in order.misses[0].what
    # What goes in so is no fail of `insertion`, whose ways from the ends are closed.
    drive = build.drive(loaded, taken, remedies=False)
    assert build.one(insertion.check(drive)).status == ("pass" if missing is None else "fail")
    # A hub in one piece does not go over a shaft that way.
    plain = build.job(actuator_hub={**caps, "fastening": "clamp"}, **given)
    assert name not in tried(build, plain, taken)


def test_a_window_farther_off_is_found(build):
    # An adapter that reaches 40 mm to the motor's side: the window runs from -30 to 12, the coupling's place from 15 to
    # 49. Drawn back at least 37 and at most 45 mm it lies within the window.
    segments = [build.line(20.0, -40.0, 55.0), build.line(9.0, -45.0, -40.0), build.line(9.0, 55.0, 60.0)]
    walls = [*build.wall(20.0, -40.0, 13.0, window=(120.0, 240.0, -30.0, 12.0)), *build.wall(20.0, 13.0, 16.0),
             *build.wall(20.0, 16.0, 48.0, window=(30.0, 90.0, 16.0, 48.0)), *build.wall(20.0, 48.0, 55.0),
             *build.ring(-40.0, 9.0, 20.0), *build.ring(55.0, 9.0, 20.0)]  # fmt: skip
    taken = build.measurement(build.obstacles(segments, walls))
    flush = {"screws": (build.screw(size="M4", kind="set screw", offset=0.0, head_end=14.9),)}
    long = {"shaft": build.jobs.Shaft(diameter=8.0, tolerance="h6", length=24.0)}
    loaded = build.job(motor_hub=flush, actuator_hub=flush, motor=long, family="slit")
    order = tried(build, loaded, taken)["coupling through the window onto the actuator's shaft"]
    assert order.works, order.misses
    back = float(order.steps[1].split("), ")[1].split(" mm")[0])
    assert 37.0 <= back <= 45.0


@pytest.mark.parametrize("family", ["oldham", "jaw"])
@pytest.mark.parametrize("side", ["motor", "actuator"])
def test_hubs_separately_with_the_element_between(build, family, side):
    # No window: nothing is reached once it is in. The far hub (24 mm, heads to 13.5) goes through an opening of 14,
    # the near one with the element (30 mm) through 16.
    far = "actuator" if side == "motor" else "motor"
    small = {"outside_diameter": 24.0, "screws": (build.screw(offset=7.0, head_end=8.0),)}
    large = {"screws": (build.screw(),)}
    hubs = {f"{side}_hub": large, f"{far}_hub": small}
    openings = {side: 16.0, far: 14.0}
    found = tried(build, both(build, family=family, **hubs), chamber(build, **openings))
    name = f"hubs on their shafts first, the element between, on the {side} hub"
    assert working(found) == {name}
    order = found[name]
    # 16 - 15.498 for the near hub with the element, 14 - hypot(7 + 2.84, 8) = 1.318 for the far one.
    assert order.clearance == pytest.approx(16.0 - SWEPT, abs=1e-3)
    assert set(order.before) == {("motor", 1), ("actuator", 1)}
    assert order.after == ()
    assert order.steps[0].endswith(f"at its final place, and tighten {side} hub screw 1.")
    assert f"Bring the {far} with its hub into the adapter (1.318 mm clearance)" in order.steps[2]
    # Where the far opening is narrower than its hub, that is what is missing.
    refused = tried(build, both(build, family=family, **hubs), chamber(build, **{side: 16.0, far: 12.0}))
    assert not working(refused)
    assert [miss.what for miss in refused[name].misses] == [
        f"the {far} hub lacks 0.782 mm of clearance from the {far}'s side"
    ]
    # Another family in the same adapter cannot be put together.
    assert not working(tried(build, both(build, family="bellows", **hubs), chamber(build, **openings)))


def flanged(build, *, flange=("motor", "actuator"), **given):
    """Hubs of 20 mm whose flange screws, on a circle of radius 12, have their heads to the outer face."""
    hubs = {}
    for side in ("motor", "actuator"):
        screws = [build.screw(offset=7.0, head_end=8.0)]
        if side in flange:
            screws.append(build.screw(offset=12.0, angle=180.0, station=12.0, head_end=None, direction="to outer face"))
        hubs[f"{side}_hub"] = {"outside_diameter": 20.0, "screws": tuple(screws)}
    return build.job(family="disc", **hubs, **given)


def machines(build):
    """Machines in the file, so that what closes their sides is their own material, which is none here."""
    return build.end("motor", 0.0, face=0.0), build.end("actuator", 60.0, face=60.0)


def test_discs_with_the_spacer_through_the_window(build):
    # Hubs of 20 mm (heads to hypot(9.84, 8) = 12.68) through openings of 14; the spacer of 30 mm comes through a window
    # of 60 degrees to either side: 20 sin 60 - 15 = 2.32. Its flange screws are reached along the axis.
    window = (120.0, 240.0, 22.0, 42.0)
    taken = chamber(build, [window], motor=14.0, actuator=14.0, ends=machines(build))
    loaded = flanged(build)
    found = tried(build, loaded, taken)
    name = "hubs on their shafts first, the spacer through the window"
    assert working(found) == {name}
    order = found[name]
    assert order.before == (("motor", 1), ("actuator", 1))
    assert order.after == (("motor", 2), ("actuator", 2))
    # The hubs' heads pass their openings by 14 - hypot(7 + 2.84, 8) = 1.318, which is less than the window leaves.
    assert order.clearance == pytest.approx(14.0 - hypot(9.84, 8.0), abs=1e-3)
    steps = [step.split(" ")[:3] for step in order.steps]
    assert steps == [["Put", "the", "motor"], ["Put", "the", "actuator"], ["Bring", "the", "motor"],
                     ["Put", "the", "spacer"], ["Tighten", "motor", "hub"], ["Tighten", "actuator", "hub"]]  # fmt: skip
    assert "(2.3" in order.steps[3]
    # Half as wide a window passes 10 of 15 mm.
    narrow = chamber(build, [(150.0, 210.0, 22.0, 42.0)], motor=14.0, actuator=14.0, ends=machines(build))
    order = tried(build, loaded, narrow)[name]
    assert not order.works
    assert order.clearance == pytest.approx(10.0 - 15.0, abs=0.02)
    assert any(miss.what.startswith("the spacer lacks 5.1") for miss in order.misses)
    # A shaft that stands out of its hub is in the spacer's way.
    long = {"shaft": build.jobs.Shaft(diameter=8.0, tolerance="h6", length=29.0)}
    order = tried(build, flanged(build, motor=long, place={"motor_hub_face": 15.0}), taken)[name]
    assert "the motor's shaft stands 2 mm out of its hub, in the spacer's way" in [miss.what for miss in order.misses]
    # Without flange screws nothing tells that it is held.
    order = tried(build, flanged(build, flange=()), taken)[name]
    assert any("gives no flange screws" in miss.what for miss in order.misses)


def test_a_disc_coupling_that_goes_in_whole_is_screwed_together_before(build):
    # A window over the clamp screws; openings of 16 pass the spacer of 15. The flange screws are reached from the outer
    # faces while no shaft and no machine is there, and never once all is bolted on, with the seats before them.
    loaded = flanged(build)
    taken = chamber(build, [(30.0, 90.0, 16.0, 48.0)], motor=16.0, actuator=16.0)
    order = tried(build, loaded, taken)["coupling on the motor's shaft first"]
    assert order.works
    assert (
        order.steps[0] == "Screw the coupling together on the bench: tighten motor hub screw 2, actuator hub screw 2."
    )
    assert (order.before, order.after) == ((("motor", 2), ("actuator", 2), ("motor", 1)), (("actuator", 1),))
    for access, status in (("assembled", "fail"), ("in order", "warn")):
        asked = flanged(build, require={"access": access})
        found = {f.subject: f for f in wrench_access.check(build.drive(asked, taken))}
        assert found["motor hub screw 1"].status == "pass"
        assert found["motor hub screw 2"].status == status
        assert "outside diameter" not in found["motor hub screw 2"].message
        assert ("(require.access: in order)" in found["motor hub screw 2"].remedy) == (access == "assembled")
    # Heads towards the other hub are behind the spacer: whoever supplies it has tightened them.
    hubs = {side: getattr(loaded.job.coupling.hubs, side) for side in ("motor", "actuator")}
    inwards = {side: build.replace(hub.screws[1], direction="to other hub") for side, hub in hubs.items()}
    given = {
        f"{side}_hub": {"outside_diameter": 20.0, "screws": (hubs[side].screws[0], inwards[side])} for side in hubs
    }
    order = tried(build, build.job(family="disc", **given), taken)["coupling on the motor's shaft first"]
    assert order.works
    assert order.before == (("motor", 1),)


@pytest.mark.parametrize(("side", "far"), [("motor", "actuator"), ("actuator", "motor")])
def test_discs_with_the_spacer_on_one_hub(build, side, far):
    # No window. The spacer goes in with the hub on the side whose opening passes it, and the other hub's flange screw
    # is tightened last, along the axis; the clamp screws on the bench.
    taken = chamber(build, **{side: 16.0, far: 14.0}, ends=machines(build))
    found = tried(build, flanged(build), taken)
    name = f"hubs on their shafts first, the spacer on the {side} hub"
    assert working(found) == {name}
    order = found[name]
    assert order.clearance == pytest.approx(1.0, abs=1e-3)
    assert order.before == ((side, 1), (side, 2), (far, 1))
    assert order.after == ((far, 2),)
    assert order.steps[-1].startswith(f"Tighten {far} hub screw 2 with a hex key")
    # Without a flange screw on the far hub, with a narrower opening, or with a machine in the tool's way it fails.
    assert not working(tried(build, flanged(build, flange=(side,)), taken))
    narrow = chamber(build, **{side: 14.0, far: 14.0}, ends=machines(build))
    assert [miss.what for miss in tried(build, flanged(build), narrow)[name].misses] == [
        f"the {side} hub with the spacer lacks 1.1 mm of clearance from the {side}'s side"
    ]
    closed = tried(build, flanged(build), chamber(build, **{side: 16.0, far: 14.0}))[name]
    assert [miss.what for miss in closed.misses] == [
        f"{far} hub screw 2 is out of reach then (the {far}'s seat (register height not given) "
        f"(taken as endless: give {far}.flange or frame) is in the way)"
    ]


def test_the_ways_tried_are_told_with_what_each_lacks(build):
    taken = chamber(build, [AT_ACTUATOR_SCREW], motor=16.0, actuator=14.0)
    found = build.one(assembly_order.check(build.drive(both(build), taken)))
    assert found.status == "pass"
    assert "Does not: coupling on the actuator's shaft first: " in found.message
    told = {order["name"]: order for order in found.orders}
    usual = {f"coupling on the {side}'s shaft {how}" for side in ("motor", "actuator")
             for how in ("first", "inside the adapter")}  # fmt: skip
    sideways = {f"coupling through the window onto the {side}'s shaft" for side in ("motor", "actuator")}
    assert set(told) == usual | sideways
    first = told["coupling on the motor's shaft first"]
    assert (first["works"], first["tightened_before"], first["tightened_after"], first["missing"]) == (
        True, ["motor hub screw 1"], ["actuator hub screw 1"], [],
    )  # fmt: skip
    refused = told["coupling on the actuator's shaft first"]
    assert refused["clearance"] == pytest.approx(14.0 - SWEPT, abs=1e-3)
    assert len(refused["missing"]) == 2
    assert found.to_dict()["orders"] == list(found.orders)


def test_every_order_is_told_also_where_one_from_the_ends_works_and_that_one_first(build):
    # Openings of 16 pass the coupling (15.498); the window, 60 degrees to either side and long enough, does so too.
    flush = {"screws": (build.screw(size="M4", kind="set screw", offset=0.0, head_end=14.9),)}
    window = (120.0, 240.0, 5.0, 55.0)
    for family, more in (("slit", 0), ("jaw", 2)):
        loaded = build.job(motor_hub=flush, actuator_hub=flush, family=family)
        found = build.one(
            assembly_order.check(build.drive(loaded, chamber(build, [window], motor=16.0, actuator=14.0)))
        )
        told = [order["name"] for order in found.orders]
        assert told[0] == "coupling on the motor's shaft first"
        assert len(told) == 6 + more
        works = [order["works"] for order in found.orders]
        assert works == sorted(works, reverse=True)
        window_order = next(order for order in found.orders if "window onto the actuator" in order["name"])
        assert window_order["works"]
        # Drawn back 9 mm it sits from 6 to 40, 1 mm beside the window's edge.
        assert window_order["clearance"] == pytest.approx(1.0, abs=0.02)
        assert window_order["tightened_after"] == ["motor hub screw 1"]
        as_well = found.message.partition("Works as well: ")[2].partition(" Does not: ")[0]
        assert "coupling through the window onto the actuator's shaft (" in as_well
    # With a side to enter by given, that one alone counts.
    asked = build.job(motor_hub=flush, actuator_hub=flush, family="slit", require={"insertion_from": "motor"})
    found = build.one(assembly_order.check(build.drive(asked, chamber(build, [window], motor=16.0, actuator=14.0))))
    assert len(found.orders) == 2


def test_a_wall_without_a_window_is_told_as_such(build):
    found = tried(build, both(build), chamber(build, motor=9.0, actuator=9.0))
    what = [miss.what for miss in found["coupling through the window onto the actuator's shaft"].misses]
    assert what[0] == "no window lies beside the coupling's way"
    # Where no material lies beside the coupling's way, which is up to 39 mm to either side, there is no window.
    short = build.measurement(build.obstacles([build.line(20.0, 99.0, 110.0)], build.wall(20.0, 99.0, 110.0)))
    assert not any("window" in name for name in tried(build, both(build), short))


def test_none_is_a_warning_with_remedies_that_were_tried(build):
    # Closed all round: a slit coupling has no order, hubs that plug together have one.
    loaded = both(build)
    found = build.one(assembly_order.check(build.drive(loaded, chamber(build))))
    assert found.status == "warn"
    assert found.remedy == "what wrench-access says; or a coupling whose hubs go in one by one (oldham)"
    again = build.one(assembly_order.check(build.drive(both(build, family="oldham"), chamber(build))))
    assert again.status == "pass"
    # Openings of 14.5 and windows at both screws: at most 2 (14.5 - 0.1) = 28.8 mm goes in.
    tight = chamber(build, [AT_MOTOR_SCREW, AT_ACTUATOR_SCREW], motor=14.5, actuator=14.5)
    found = build.one(assembly_order.check(build.drive(loaded, tight)))
    assert "a coupling of at most 28.8 mm swept diameter" in found.remedy
    assert "the nearest is coupling on the motor's shaft first: the coupling lacks 1.098 mm" in found.message
