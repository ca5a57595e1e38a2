"""Strength and run-out look-ups: where they end, and what they say of themselves."""

from __future__ import annotations

import re

import pytest

from fitcheck.errors import TableError
from fitcheck.standards.frames import frame
from fitcheck.standards.runout import flange_runout, machine_runout, nema_runout, shaft_runout
from fitcheck.standards.strength import key_torque, proof_load, property_class, set_screw_holding, ultimate_load
from fitcheck.standards.table import table


@pytest.mark.parametrize(
    ("look_up", "message"),
    [
        (lambda: proof_load("M2", "8.8"), "no proof load is listed for M2; the table lists 7, M3 to M12"),
        (lambda: ultimate_load("M2.5", "12.9"), "no ultimate load is listed for M2.5; the table lists 7, M3 to M12"),
        (lambda: proof_load("M3", "4.6"), "there is no property class '4.6'; nearest: 8.8 and 10.9"),
        (lambda: set_screw_holding("#7"), "there is no size '#7'; nearest: #6 and #8. The table has 16 entries"),
        (lambda: set_screw_holding("M16"), "there is no size 'M16'; nearest: M10 and M12"),
        (lambda: shaft_runout(120.5), "shaft diameter 120.5 mm is outside the table, which covers over 0 to 120 mm"),
        (lambda: flange_runout(451), "register diameter 451 mm is outside the table, which covers over 0 to 450 mm"),
        (lambda: shaft_runout(14, "fine"), "there is no grade 'fine'; there are 2: normal, reduced"),
        (lambda: machine_runout(frame("NEMA 17"), 5, "N"), "NEMA ICS 16: there is no grade 'N'"),
        (lambda: nema_runout("spindle", 5), "there is no item 'spindle'; the table has 6: shaft; type P face"),
        (lambda: nema_runout("shaft", 4.0), "diameter 4 mm is outside the table, which covers over 4.762 to 165.1 mm"),
    ],
)
def test_outside_the_tables(look_up: object, message: str) -> None:
    with pytest.raises(TableError, match=re.escape(message)):
        look_up()  # type: ignore[operator]


def test_property_classes_are_in_order() -> None:
    series = [property_class(name) for name in ("8.8", "10.9", "12.9")]
    for found in series:
        assert found.proof_stress < found.yield_strength < found.tensile_strength
    assert [found.yield_strength for found in series] == sorted(found.yield_strength for found in series)


@pytest.mark.parametrize(
    ("metric", "inch"),
    [("M1.6", "#0"), ("M2", "#1"), ("M2.5", "#2"), ("M3", "#4"), ("M4", "#6"), ("M5", "#10"), ("M6", "#10"),
     ("M8", "5/16"), ("M10", "3/8"), ("M12", "7/16")],
)  # fmt: skip
def test_metric_set_screw_takes_the_next_thinner_inch_screw(metric: str, inch: str) -> None:
    found = set_screw_holding(metric)
    assert found.size == inch
    assert found.diameter <= float(metric[1:])
    assert found == set_screw_holding(inch)


def test_set_screw_holding_grows_and_is_marked() -> None:
    rows = table("set_screw_holding").rows
    forces = [row.number("holding_force") for row in rows]
    torques = [row.number("seating_torque") for row in rows]
    assert forces == sorted(forces)
    assert torques == sorted(torques)
    assert set_screw_holding("#1").confidence == "read"
    assert set_screw_holding("1/4").confidence == "memory"
    # 1000 lbf = 4448.22 N, 87 lbf.in = 9.8297 N.m (1 lbf = 4.4482216152605 N, 1 in = 25.4 mm, both exact).
    assert set_screw_holding("1/4").holding_force == pytest.approx(4448.2216, abs=1e-3)
    assert set_screw_holding("1/4").seating_torque == pytest.approx(9.8297, abs=1e-3)


def test_keys_yield_before_they_shear() -> None:
    for row in table("hex_key_torque").rows:
        found = key_torque(row.number("key_size"))
        assert found.yielding < found.shearing
    assert key_torque(1.5).confidence == "read"
    assert key_torque(2.5).confidence == "memory"


@pytest.mark.parametrize("name", ["shaft_runout", "flange_runout"])
def test_reduced_grade_is_half_the_normal_one(name: str) -> None:
    # DIN 42955 grade R is half of N, rounded up to the micrometre.
    for row in table(name).rows:
        assert row.number("reduced") == pytest.approx(row.number("normal") / 2.0, abs=0.00101)


def test_inches_of_nema_run_outs() -> None:
    for row in table("nema_runout").rows:
        assert row.number("value") == pytest.approx(row.number("inch") * 25.4, abs=1e-9)


def test_grade_and_frame_decide_the_machine() -> None:
    normal = machine_runout(frame("FF130"), 14)
    reduced = machine_runout(frame("FF130"), 14, "reduced")
    assert reduced.offset < normal.offset
    assert reduced.tilt < normal.tilt
    assert normal.confidence == "read"
    nema = machine_runout(frame("NEMA 34"), 14)
    assert nema.confidence == "memory"
    assert nema == machine_runout(frame("NEMA 34"), 14, "reduced")
    assert nema.offset == pytest.approx((0.003 + 0.002) * 25.4 / 2.0)
