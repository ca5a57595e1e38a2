import re

import pytest

from fitcheck.checks import insertion


def taken(build, *rows, bodies=("adapter",), owner=None):
    return build.measurement(build.obstacles(rows, segment_body=owner), bodies=bodies)


def test_a_tight_opening_on_the_motors_side_sends_the_coupling_in_from_the_other(build):
    # Chamber 20; a motor opening of 14 from 0 to 5 does not pass the 15 mm coupling, the actuator's side is open.
    material = taken(build, build.line(20.0, 5.0, 60.0), build.line(14.0, 0.0, 5.0))
    found = build.one(insertion.check(build.drive(taken=material)))
    assert found.status == "pass"
    assert found.value == pytest.approx(5.0, abs=1e-4)
    assert "from the actuator's side" in found.message
    assert "from the motor's side -1 mm" in found.message
    loaded = build.job(require={"insertion_from": "motor"})
    forced = build.one(insertion.check(build.drive(loaded, material)))
    assert forced.status == "fail"
    assert forced.value == pytest.approx(-1.0, abs=1e-4)
    assert forced.at.station <= 5.0
    diameter = float(re.search(r"largest swept diameter that fits and goes in: ([\d.]+) mm", forced.remedy)[1])
    assert diameter == pytest.approx(27.8)
    smaller = build.job(require={"insertion_from": "motor"}, outside_diameter=diameter)
    assert build.one(insertion.check(build.drive(smaller, material))).status == "pass"


def test_only_what_has_to_pass_a_station_must_fit_there(build):
    # Coupling 15 to 49; the motor hub (27 mm long here) is the wide part, the actuator hub (radius 8) leads the way in
    # from the motor's side. A step down to radius 9 from station 43 on is passed by the actuator hub alone, ...
    hubs = {"motor_hub": {"length": 26.0}, "actuator_hub": {"outside_diameter": 16.0, "length": 8.0}}
    material = taken(build, build.line(20.0, 0.0, 43.0), build.line(9.0, 43.0, 60.0))
    loaded = build.job(require={"insertion_from": "motor"}, **hubs)
    found = build.one(insertion.check(build.drive(loaded, material)))
    assert found.value == pytest.approx(1.0, abs=1e-4)
    # ... but from the actuator's side the wide part has to pass it.
    loaded = build.job(require={"insertion_from": "actuator"}, **hubs)
    assert build.one(insertion.check(build.drive(loaded, material))).value == pytest.approx(9.0 - 15.0, abs=1e-4)


def test_a_shoulder_beyond_the_coupling_is_not_on_its_way(build):
    material = taken(build, build.line(20.0, 0.0, 50.0), build.line(6.0, 50.0, 60.0))
    loaded = build.job(require={"insertion_from": "motor"})
    assert build.one(insertion.check(build.drive(loaded, material))).value == pytest.approx(5.0, abs=1e-4)


@pytest.mark.parametrize(("side", "status"), [("motor", "pass"), ("actuator", "fail")])
def test_the_machine_of_the_entering_side_is_not_there_yet(build, side, status):
    # The motor's own body closes the motor's side at radius 4 around station 0.
    rows = [build.line(20.0, 0.0, 60.0), build.line(4.0, -30.0, 1.6), build.line(4.0, 30.0, 49.0)]
    material = taken(build, *rows[:2], bodies=("adapter", "motor"), owner=[0, 1])
    loaded = build.job(require={"insertion_from": "motor"})
    assert build.one(insertion.check(build.drive(loaded, material))).status == "pass"
    material = taken(build, rows[0], rows[2], bodies=("adapter", side), owner=[0, 1])
    assert build.one(insertion.check(build.drive(loaded, material))).status == status


def test_material_far_outside_on_the_way_counts(build):
    material = taken(build, build.line(20.0, 0.0, 60.0), build.line(10.0, -80.0, -70.0))
    loaded = build.job(require={"insertion_from": "motor"})
    found = build.one(insertion.check(build.drive(loaded, material)))
    assert found.value == pytest.approx(-5.0, abs=1e-4)
    assert found.at.station == pytest.approx(-75.0, abs=5.0)


def test_no_material_at_all_is_free(build):
    found = build.one(insertion.check(build.drive(taken=taken(build))))
    assert (found.status, found.value) == ("pass", None)
