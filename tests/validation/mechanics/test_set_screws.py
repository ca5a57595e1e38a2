"""Cup point set screws: the torsional columns of the printed table, and the table's limits."""

from __future__ import annotations

import pytest

from fitcheck.errors import TableError
from fitcheck.mechanics.set_screws import cup_point, holding_torque, second_share
from fitcheck.standards.strength import set_screw_holding

LBF, INCH = 4.4482216152605, 0.0254


@pytest.mark.parametrize(("size", "torque"), [("#0", 1.5), ("#1", 2.0), ("#2", 2.6)])
def test_studylib_18241577_torsional_columns(size: str, torque: float) -> None:
    # studylib.net/doc/18241577 (read): torsional holding of one cup point screw on a 1/16 in shaft, lbf·in. The holding
    # forces of the table are rounded to 5 lbf: 5 %.
    force = set_screw_holding(size).holding_force
    assert force * INCH / 16 / 2 / LBF / INCH == pytest.approx(torque, rel=0.05)


def test_metric_screws_lie_between_their_inch_neighbours() -> None:
    # M4 (3.94 to 4.166: #8 4.166, #6 3.505 mm): 250 and 385 lbf (memory), linear by diameter.
    point = cup_point("M4")
    assert point.force.low == pytest.approx(250 * LBF)
    assert point.force.high == pytest.approx(385 * LBF)
    part = (4.0 - 0.138 * 25.4) / ((0.164 - 0.138) * 25.4)
    assert point.force.nominal == pytest.approx((250 + part * 135) * LBF)
    assert point.confidence == "memory"


def test_holding_torque_is_force_times_radius() -> None:
    found = holding_torque("M4", 8.0, count=2, hard_point=True)
    assert found.nominal == pytest.approx(2 * cup_point("M4").force.nominal * 0.004)
    assert holding_torque("M4", 8.0, count=2).low == pytest.approx(0.85 * found.low)


def test_holding_falls_with_the_torque_and_never_rises_over_the_table() -> None:
    seat = cup_point("M5").seating_torque
    whole = holding_torque("M5", 10.0).nominal
    assert holding_torque("M5", 10.0, torque=seat / 2).nominal == pytest.approx(whole / 2)
    assert holding_torque("M5", 10.0, torque=3 * seat).nominal == pytest.approx(whole)


def test_a_second_screw_adds_less_the_further_round_it_sits() -> None:
    # From memory: two in a row hold 2 times as much as one, at 60 degrees 1.75, opposite each other 1.3; at 90 between.
    assert [second_share(angle) for angle in (0, 60, 180)] == pytest.approx([1.0, 0.75, 0.3])
    assert second_share(90) == pytest.approx(0.75 - 0.45 / 4)
    assert second_share(-90) == second_share(270) == second_share(450) == pytest.approx(second_share(90))


def test_nothing_outside_the_table() -> None:
    with pytest.raises(TableError, match="there is no size 'M20'; nearest: M10 and M12"):
        cup_point("M20")
