"""Clamp hubs, keys, set screws and service factors: limits, order and messages."""

from __future__ import annotations

from math import pi

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.errors import TableError, UsageError
from fitcheck.mechanics.bounds import Bounds, exactly
from fitcheck.mechanics.grip import HUB_FRICTION, arc_share, clamp_torque, closing_force, slip_torque
from fitcheck.mechanics.keys import (
    HUB_BEARING,
    KeySection,
    din_section,
    effective_length,
    key_stress,
    key_torque_limit,
    key_with_clamp,
)
from fitcheck.mechanics.preload import Thread, preload, preload_range, thread, tool_torque_limit, torque_per_preload
from fitcheck.mechanics.service import required_rating, service_factors, utilisation

POSITIVE = st.floats(0.01, 1e4)


def test_preload_range_is_the_worst_of_friction_tool_and_loss() -> None:
    found = preload_range(3.0, thread("M4"))
    assert found.low == pytest.approx(preload(2.7, thread("M4"), 0.16) * 0.9)
    assert found.high == pytest.approx(preload(3.3, thread("M4"), 0.08))


def test_frictionless_screw_turns_all_work_into_lift() -> None:
    # Energy: M 2 pi = F P without friction; VDI prints 1/(2 pi) as 0.16, 0.5 % off.
    assert preload(1.0, thread("M5"), 0.0) * 0.8e-3 == pytest.approx(2 * pi, rel=0.006)


def test_head_must_be_wider_than_its_hole() -> None:
    with pytest.raises(UsageError, match=r"bearing face \(5 mm\) must be wider than the hole under it \(5.5 mm\)"):
        Thread(diameter_mm=5, pitch_mm=0.8, bearing_mm=5, hole_mm=5.5)
    with pytest.raises(UsageError, match=r"thread_friction must be between 0 and 1; found 1\.2"):
        torque_per_preload(thread("M3"), 1.2, 0.1)


def test_tool_limit_is_the_key_s_yield_torque() -> None:
    assert tool_torque_limit(1.5) == 1.02  # practicalmaintenance.net, ASME B18.3.2M keys (read)
    with pytest.raises(TableError, match="there is no key size 7 mm; nearest: 6 and 8 mm"):
        tool_torque_limit(7.0)


@settings(max_examples=60, deadline=None)
@given(force=POSITIVE, bore=st.floats(1, 60), friction=st.floats(0.01, 1))
def test_pressure_laws_are_in_order(force: float, bore: float, friction: float) -> None:
    line, cosine, uniform = (clamp_torque(force, bore, friction, law) for law in ("two-line", "cosine", "uniform"))
    assert line < cosine < uniform == pytest.approx(pi / 2 * line)


def test_unknown_law_is_told() -> None:
    with pytest.raises(UsageError, match="no pressure law 'linear'; needed is one of two-line, cosine, uniform"):
        clamp_torque(1.0, 8.0, 0.1, "linear")


def test_play_takes_force_and_interference_does_not() -> None:
    args = (24.0, 8.0, 10.0, 8.5, 71e9)
    assert closing_force(0.0, *args) == closing_force(-0.01, *args) == 0.0
    assert closing_force(0.04, *args) == pytest.approx(2 * closing_force(0.02, *args))
    with pytest.raises(UsageError, match="the screw must pass beside the shaft"):
        closing_force(0.01, 24.0, 8.0, 10.0, 3.0, 71e9)


def test_flat_leaves_its_arc() -> None:
    # A flat at half the radius cuts 120 degrees off.
    assert arc_share(10.0, 7.5) == pytest.approx(2 / 3)
    assert arc_share(10.0, 10.0) == 1.0


def test_slip_torque_low_nominal_high() -> None:
    force = Bounds(low=2000.0, nominal=3000.0, high=4500.0)
    friction = HUB_FRICTION["aluminium"]
    found = slip_torque(force, 8.0, friction, -0.009, 0.015)
    assert found.low == pytest.approx(2000 * 0.10 * 0.008)
    assert found.nominal == pytest.approx(4 / pi * 3000 * 0.12 * 0.008)
    assert found.high == pytest.approx(pi / 2 * 4500 * 0.20 * 0.008)
    assert slip_torque(force, 8.0, friction, 0.005, 0.02).high == pytest.approx(4 / pi * 4500 * 0.20 * 0.008)
    half = slip_torque(force, 8.0, friction, interrupted_share=1.0, arc=0.8)
    assert half.low == pytest.approx(found.low / 2)
    assert half.nominal == pytest.approx(0.8 * found.nominal)
    with pytest.raises(UsageError, match=r"the least play 0.02 mm is greater than the greatest 0.01 mm"):
        slip_torque(force, 8.0, friction, 0.02, 0.01)


def test_key_sections_of_din_6885() -> None:
    section = din_section(14.0)
    assert (section.width_mm, section.height_mm, section.shaft_depth_mm, section.hub_height_mm) == (5.0, 5.0, 3.0, 2.0)
    with pytest.raises(TableError, match="shaft diameter 5 mm is outside the table"):
        din_section(5.0)


def test_key_length_and_its_limits() -> None:
    assert effective_length(20.0, 5.0, 14.0) == 15.0
    assert effective_length(20.0, 5.0, 14.0, "straight") == 20.0
    assert effective_length(40.0, 5.0, 14.0) == 21.0  # 1.5 d
    with pytest.raises(UsageError, match="a key 4 mm long with round ends 5 mm wide has no straight part"):
        effective_length(4.0, 5.0, 14.0)
    with pytest.raises(UsageError, match="ends are one of round, straight; found 'square'"):
        effective_length(20.0, 5.0, 14.0, "square")


def test_key_by_hand() -> None:
    # 10 N·m on 14 mm: F = 1428.6 N; 5 x 15 mm shear 19.05 MPa, 2 x 15 hub 47.6 MPa, 3 x 15 shaft 31.7 MPa.
    found = key_stress(10.0, din_section(14.0), 15.0)
    assert found.shear == pytest.approx(19.05e6, rel=1e-3)
    assert found.hub_bearing == pytest.approx(47.62e6, rel=1e-3)
    assert found.shaft_bearing == pytest.approx(31.75e6, rel=1e-3)
    assert key_stress(10.0, din_section(14.0), 15.0, count=2).shear == pytest.approx(found.shear / 1.5)
    with pytest.raises(UsageError, match="a hub has 1 or 2 keys; found 3"):
        key_stress(10.0, din_section(14.0), 15.0, count=3)


def test_softer_hubs_carry_less() -> None:
    limits = [key_torque_limit(din_section(14.0), 15.0, HUB_BEARING[name]).low for name in HUB_BEARING]
    assert limits == sorted(limits, reverse=True)
    # Aluminium decides by its bearing: 40 MPa x 2 x 15 mm² x 7 mm.
    assert limits[-1] == pytest.approx(40 * 30 * 7e-3)


def test_keyseat_must_not_swallow_the_key() -> None:
    with pytest.raises(UsageError, match="a keyseat of 5 mm swallows the key, which is 5 mm high"):
        KeySection(shaft_mm=14.0, width_mm=5.0, height_mm=5.0, shaft_depth_mm=5.0)


def test_key_and_clamp_do_not_add_up_on_the_low_side() -> None:
    found = key_with_clamp(exactly(8.0), Bounds(low=3.0, nominal=9.0, high=12.0))
    assert (found.low, found.nominal, found.high) == (8.0, 9.0, 20.0)


def test_service_factors_come_from_their_tables() -> None:
    plain = service_factors()
    assert (plain.load, plain.starts, plain.temperature, plain.confidence) == (1.5, 1.0, 1.0, "memory")
    warm = service_factors("moderate shock", reversing=False, elastomer=True, starts_per_hour=150, temperature=55)
    assert (warm.load, warm.starts, warm.temperature) == (1.5, 1.3, 1.4)
    assert "common practice, no source" in warm.source
    # Without an elastomer, starts and temperature do not count, however many.
    assert service_factors(starts_per_hour=1e6, temperature=200).starts == 1.0


def test_service_tables_are_not_extrapolated() -> None:
    with pytest.raises(TableError, match="temperature 95 degC is outside the table, which covers over -30 to 80 degC"):
        service_factors(elastomer=True, temperature=95)
    with pytest.raises(TableError, match="starts per hour 2000 1/h is outside the table"):
        service_factors(elastomer=True, starts_per_hour=2000)
    with pytest.raises(TableError, match="there is no load class 'gentle'"):
        service_factors("gentle")


def test_required_rating() -> None:
    factors = service_factors("uniform", elastomer=True, starts_per_hour=200, temperature=50)
    found = required_rating(2.0, 5.0, factors)
    assert (found.nominal, found.maximum) == (pytest.approx(2 * 1.5 * 1.4), pytest.approx(5 * 1.3 * 1.4))
    assert required_rating(5.0, 5.0, service_factors()).maximum == pytest.approx(7.5)
    assert utilisation(3.0, 4.0) == 0.75
    with pytest.raises(UsageError, match="rated must be greater than 0; found 0"):
        utilisation(1.0, 0.0)


def test_bounds_must_be_in_order() -> None:
    with pytest.raises(UsageError, match="low <= nominal <= high is needed; found 2, 1, 3"):
        Bounds(low=2.0, nominal=1.0, high=3.0)
    with pytest.raises(UsageError, match="must be finite"):
        Bounds(low=0.0, nominal=1.0, high=float("inf"))
