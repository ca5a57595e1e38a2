import re
from dataclasses import replace

import pytest

from fitcheck.checks import axial_room, engagement, shaft_gap


def values(findings):
    return {f.subject: (f.status, round(f.value, 6) if f.value is not None else None) for f in findings}


def test_room_to_the_registers_and_the_seats(build):
    # Coupling 15 to 49. Motor register 2 mm high ends at 2; the actuator's seat at 60 is taken as it is.
    register = build.jobs.Register(diameter=38.1, height=2.0)
    found = axial_room.check(build.drive(build.job(motor={"register": register})))
    assert values(found) == {"motor side": ("pass", 13.0), "actuator side": ("pass", 11.0)}
    assert "the motor's register, 2 mm high" in found[0].message
    assert "register height not given" in found[1].message


def test_float_is_taken_off_both_sides(build):
    found = axial_room.check(build.drive(build.job(axial_float=0.5)))
    assert values(found) == {"motor side": ("pass", 14.5), "actuator side": ("pass", 10.5)}


def test_a_measured_front_goes_before_the_jobs_register(build):
    ends = (build.end("motor", 0.0, face=3.0), build.end("actuator", 60.0))
    register = build.jobs.Register(diameter=38.1, height=2.0)
    found = axial_room.check(build.drive(build.job(motor={"register": register}), build.measurement(ends=ends)))
    assert found[0].value == pytest.approx(12.0)


def test_an_unknown_register_is_taken_as_high_as_its_pilot_is_deep(build):
    pilot = build.measured.Pilot(diameter=38.1, depth=4.0, origin=(0, 0, 0), direction=(0, 0, 1))
    ends = (build.end("motor", 0.0, pilot=pilot), build.end("actuator", 60.0))
    found = axial_room.check(build.drive(taken=build.measurement(ends=ends)))
    assert found[0].value == pytest.approx(11.0)
    assert "taken as high as the pilot is deep" in found[0].message


def test_a_shoulder_of_the_adapter_closes_the_chamber(build):
    # A cone falls from radius 20 at 4 to 10 at 14: in front of the hub (15 plus 0.1 orbit) up to station 14.
    segments = [build.line(20.0, 14.0, 60.0), build.line(20.0, 4.0, 14.0, 0.0, 10.0)]
    found = axial_room.check(build.drive(taken=build.measurement(build.obstacles(segments))))
    assert found[0].value == pytest.approx(15.0 - 14.0, abs=1e-5)
    assert found[0].message.startswith(
        "1 mm between the motor hub's end and adapter, which reaches in front of the hub"
    )
    # One that falls to 15.05 is in front of the hub by the orbit; at radius 15.1 and more it is no wall.
    segments = [build.line(20.0, 14.0, 60.0), build.line(20.0, 4.0, 14.0, 0.0, 15.05)]
    found = axial_room.check(build.drive(taken=build.measurement(build.obstacles(segments))))
    assert found[0].value == pytest.approx(1.0, abs=1e-5)
    segments = [build.line(20.0, 14.0, 60.0), build.line(20.0, 4.0, 14.0, 0.0, 15.2)]
    found = axial_room.check(build.drive(taken=build.measurement(build.obstacles(segments))))
    assert found[0].value == pytest.approx(15.0)


def test_a_remedy_to_move_holds_when_applied(build):
    face = build.job(place={"motor_hub_face": 0.1})
    found = axial_room.check(build.drive(face))
    assert (found[0].status, found[0].remedy) == (
        "fail",
        "move the coupling 0.2 mm towards the actuator (place.motor_hub_face: 0.3 mm)",
    )
    again = axial_room.check(build.drive(build.job(place={"motor_hub_face": 0.3})))
    assert [f.status for f in again] == ["pass", "pass"]


def test_a_remedy_to_shorten_holds_when_applied(build):
    found = axial_room.check(build.drive(build.job(length=64.0)))
    assert [f.status for f in found] == ["fail", "fail"]
    # 60 mm between the seats, 0.3 at either side.
    # With its bores 12 long, centred, and shafts to 24 and 40, each enters by (length - 16) / 2: at least 8 (one
    # diameter), at most 12 (no insertion limit given): lengths from 32 to 40.
    assert {f.remedy for f in found} == {"coupling lengths that fit: 32 mm to 40 mm (now 64 mm)"}
    for length in (32.0, 40.0):
        drive = build.drive(build.job(length=length))
        assert {f.status for f in (*axial_room.check(drive), *engagement.check(drive))} == {"pass"}
    for length in (31.9, 40.1):
        assert "fail" in {f.status for f in engagement.check(build.drive(build.job(length=length)))}
    # Where no length does for the engagement as well, the one between the faces is told with what it takes.
    short = {"bore_length": 12.0, "insertion_limit": 8.5}
    shaft = {"shaft": build.jobs.Shaft(diameter=8.0, tolerance="h6", length=26.0, chamfer=1.0)}
    loaded = build.job(length=64.0, motor_hub=short, actuator_hub=short, motor=shaft, actuator=shaft)
    remedy = axial_room.check(build.drive(loaded))[0].remedy
    assert remedy.startswith("largest coupling length that fits: 59.4 mm (now 64 mm; place.motor_hub_face: 0.3 mm)")
    again = axial_room.check(build.drive(build.job(length=59.4, place={"motor_hub_face": 0.3})))
    assert [f.status for f in again] == ["pass", "pass"]


def test_without_an_actuator_seat_only_that_side_is_open(build):
    taken = build.measurement(build.obstacles(), ends=(build.end("motor", 0.0),))
    found = axial_room.check(build.drive(build.job(place={"motor_hub_face": 15.0}), taken))
    assert [f.status for f in found] == ["pass", "not-checked"]
    assert found[1].remedy == "give actuator.seat"


def test_engagement_counts_full_diameter_shaft_in_the_bore(build):
    # Motor bore 15 to 27, shaft to 24: 9. Actuator bore 37 to 49, shaft from 40: 9. Least: 8 (one diameter).
    found = engagement.check(build.drive())
    assert values(found) == {
        "motor hub": ("pass", 9.0),
        "motor shaft depth": ("pass", 9.0),
        "actuator hub": ("pass", 9.0),
        "actuator shaft depth": ("pass", 9.0),
    }
    shaft = build.jobs.Shaft(diameter=8.0, tolerance="h6", length=24.0, chamfer=0.5, full_from=16.0)
    found = engagement.check(build.drive(build.job(motor={"shaft": shaft})))
    # 16 to 23.5
    assert (found[0].status, found[0].value) == ("fail", pytest.approx(7.5))
    assert "0.5 mm longer" in found[0].remedy


@pytest.mark.parametrize(
    ("fastening", "flat", "keyseat", "expected"),
    [
        # Bore 15 to 27, shaft to 24. A flat of 5 mm covers 19 to 24; a keyseat of 3 mm, 1 mm from the end, 20 to 23.
        ("clamp", 5.0, None, 4.0),
        ("clamp two-piece", 5.0, None, 4.0),
        ("set screw", 5.0, None, 9.0),
        ("key with set screw", 5.0, 3.0, 9.0),
        ("clamp", None, 3.0, 6.0),
        ("key with clamp", None, 3.0, 9.0),
        ("clamp", 5.0, 3.0, 4.0),
    ],
)
def test_flats_and_keyseats_do_not_grip_where_the_hub_needs_the_full_round(build, fastening, flat, keyseat, expected):
    shaft = build.jobs.Shaft(
        diameter=8.0,
        length=24.0,
        flat=build.jobs.ShaftFlat(length=flat, height=7.5) if flat else None,
        keyseat=build.jobs.Keyseat(width=2.0, depth=1.2, length=keyseat, from_end=1.0) if keyseat else None,
    )
    loaded = build.job(motor={"shaft": shaft}, motor_hub={"fastening": fastening})
    assert engagement.check(build.drive(loaded))[0].value == pytest.approx(expected)


@pytest.mark.parametrize(
    ("rule", "multiple", "limit"), [("diameters", 1.5, 12.0), ("bore length", 1.5, 14.0), ("lesser", 2.0, 14.0)]
)
def test_the_least_engagement_by_each_rule(build, rule, multiple, limit):
    loaded = build.job(motor_hub={"bore_length": 14.0}, require={"engagement_rule": rule, "engagement": multiple})
    assert engagement.check(build.drive(loaded))[0].limit == pytest.approx(limit)


def test_a_shaft_past_the_insertion_limit_fails_and_the_move_helps(build):
    loaded = build.job(motor_hub={"insertion_limit": 8.5})
    found = build.one(engagement.check(build.drive(loaded)), "motor shaft depth")
    assert (found.status, found.path) == ("fail", "coupling.hubs.motor.insertion_limit")
    assert found.remedy.startswith("move the coupling 0.5 mm towards the actuator")
    moved = build.job(motor_hub={"insertion_limit": 8.5}, place={"motor_hub_face": 15.5})
    assert build.one(engagement.check(build.drive(moved)), "motor shaft depth").status == "pass"


@pytest.mark.parametrize(("face", "side"), [(17.0, "motor"), (13.0, "actuator")])
def test_too_little_shaft_in_a_hub_is_cured_by_a_move_towards_its_machine(build, face, side):
    # Bores face to face + 12 and face + 22 to face + 34; shafts to 24 and from 40. At 17 the motor's has 24 - 17 = 7,
    # at 13 the actuator's 47 - 40 = 7; one diameter, 8, is asked for. The other side has 11, and spares 1.
    loaded = build.job(place={"motor_hub_face": face})
    found = build.one(engagement.check(build.drive(loaded)), f"{side} hub")
    assert (found.status, found.value) == ("fail", pytest.approx(7.0))
    assert found.remedy.startswith(f"move the coupling 1 mm towards the {side}")


@pytest.mark.parametrize(("length", "helps"), [(24.0, True), (22.0, False)])
def test_another_place_of_the_flat_is_named_only_where_that_is_enough(build, length, helps):
    # The bore begins at 15: without the flat 24 - 15 = 9 or 22 - 15 = 7 of the 8 asked for.
    flat = build.jobs.ShaftFlat(length=5.0, height=7.5)
    shaft = build.jobs.Shaft(diameter=8.0, length=length, flat=flat)
    loaded = build.job(motor={"shaft": shaft}, place={"motor_hub_face": 15.0})
    found = build.one(engagement.check(build.drive(loaded)), "motor hub")
    assert (found.status, found.value) == ("fail", pytest.approx(length - 15.0 - 5.0))
    assert ("a shaft on the motor's side whose flat or keyseat lies outside the bore" in found.remedy) is helps


def test_the_shaft_gap_loses_growth_and_tolerances(build):
    found = build.one(shaft_gap.check(build.drive()))
    # 40 - 24 - 0.2
    assert (found.status, found.value) == ("pass", pytest.approx(15.8))
    # in the middle between 24 and 40
    assert found.at.station == pytest.approx(32.0)
    touching = build.jobs.Shaft(diameter=8.0, length=39.5)
    found = build.one(shaft_gap.check(build.drive(build.job(motor={"shaft": touching}))))
    assert (found.status, found.value) == ("fail", pytest.approx(0.3))
    assert found.remedy.startswith("the motor shaft 0.2 mm shorter, or the actuator shaft 0.2 mm shorter, or each")


def test_a_missing_shaft_leaves_only_what_needs_it_unchecked(build):
    loaded = build.job(actuator={"shaft": None}, place={"motor_hub_face": 15.0})
    prepared = build.drive(loaded)
    found = {f.subject: f.status for f in engagement.check(prepared)}
    assert found == {"motor hub": "pass", "motor shaft depth": "pass", "actuator hub": "not-checked"}
    gap = build.one(shaft_gap.check(prepared))
    assert gap.status == "not-checked"
    assert gap.remedy == "give actuator.shaft (diameter, tolerance, length)"


def test_a_seat_from_the_job_places_the_shaft_of_a_plate(build):
    taken = build.measurement(ends=(build.end("motor", 0.0),))
    unknown = build.one(shaft_gap.check(build.drive(taken=taken)))
    assert re.search("actuator's seat is not in the file", unknown.message)
    assert unknown.remedy == "give actuator.seat"
    shaft = build.job().job.actuator.shaft
    loaded = build.job(actuator={"shaft": shaft, "seat": 55.0})
    assert build.one(shaft_gap.check(build.drive(loaded, taken))).value == pytest.approx(55 - 20 - 24 - 0.2)


def test_measured_shafts_serve_where_the_job_gives_none_and_differences_are_told(build):
    shaft = build.measured.Shaft(diameter=8.0, length=24.0, end=24.0, full_from=0.0, full_to=23.5)
    ends = (build.end("motor", 0.0, shaft=shaft), build.end("actuator", 60.0))
    taken = build.measurement(ends=ends)
    assert engagement.check(build.drive(build.job(motor={"shaft": None}), taken))[0].value == pytest.approx(8.5)
    assert build.drive(build.job(), taken).conflicts == ()
    shorter = replace(taken, ends=(build.end("motor", 0.0, shaft=replace(shaft, end=23.9, diameter=8.02)), ends[1]))
    conflicts = build.drive(build.job(), shorter).conflicts
    assert [(f.check, f.subject, f.status) for f in conflicts] == [
        ("bore-fit", "motor shaft", "fail"),
        ("engagement", "motor shaft", "fail"),
    ]
    assert conflicts[1].remedy.endswith("or say motor.prefer: job")
    preferred = build.job(motor={"prefer": "job"})
    assert [f.status for f in build.drive(preferred, shorter).conflicts] == ["warn", "warn"]
    assert conflicts[1].message == (
        "the shaft end's station: the job says 24 mm, the file measures 23.9 mm; the job's is used"
    )


@pytest.mark.parametrize("cut", ["flat", "keyseat"])
def test_what_the_body_shows_and_the_job_leaves_out_is_there_all_the_same(build, cut):
    # A flat (or keyseat) of 6 mm from the end at 24 to 18, under a clamp that needs the full round from 15 to 24.
    made = build.measured
    cuts = {
        "flat": made.Flat(length=6.0, height=7.0, start=24.0, stop=18.0),
        "keyseat": made.Keyseat(width=2.0, depth=1.2, length=6.0, start=24.0, stop=18.0),
    }
    shaft = made.Shaft(diameter=8.0, length=24.0, end=24.0, full_from=0.0, full_to=24.0, **{cut: cuts[cut]})
    taken = build.measurement(ends=(build.end("motor", 0.0, shaft=shaft), build.end("actuator", 60.0)))
    drive = build.drive(build.job(motor_hub={"fastening": "clamp"}), taken)
    assert build.one(engagement.check(drive), "motor hub").value == pytest.approx(3.0)
    plain = build.drive(build.job(motor_hub={"fastening": "clamp"}))
    assert build.one(engagement.check(plain), "motor hub").value == pytest.approx(9.0)
