"""Wind-up in travel, and the estimates of stiffness against independent models."""

from __future__ import annotations

from math import cos, pi, radians, sin

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.errors import UsageError
from fitcheck.mechanics.bounds import Bounds, exactly
from fitcheck.mechanics.dynamics import (
    band_distance,
    bandwidth_margin,
    chain,
    damping_ratio,
    stepper_resonance,
    two_inertia,
)
from fitcheck.mechanics.estimates import helical_slit_stiffness, radial_slit_stiffness, rigid_stiffness, ring_give
from fitcheck.mechanics.shafts import (
    flat_part,
    keyseat_part,
    keyseat_stress,
    round_part,
    shaft_stiffness,
    shaft_twist,
    torsional_stress,
    winding_length,
)
from fitcheck.mechanics.stiffness import (
    following_error_um,
    in_series,
    in_series_bounds,
    joint_error_um,
    lost_motion_um,
    settled_error_um,
    travel_um,
    turn_for_travel,
    twist_deg,
    wind_up_um,
)

POSITIVE = st.floats(1e-2, 1e5)


@given(parts=st.lists(POSITIVE, min_size=1, max_size=5))
def test_series_is_softer_than_its_softest_part(parts: list[float]) -> None:
    together = in_series(*parts)
    assert min(parts) / len(parts) <= together * (1 + 1e-12)
    assert together <= min(parts) * (1 + 1e-12)


def test_series_of_bounds_keeps_low_with_low() -> None:
    found = in_series_bounds(Bounds(low=100.0, nominal=200.0, high=400.0), exactly(200.0))
    assert (found.low, found.nominal, found.high) == pytest.approx((200 / 3, 100.0, 400 / 3))
    with pytest.raises(UsageError, match="needs at least one part; found none"):
        in_series()
    with pytest.raises(UsageError, match="stiffness_2 must be greater than 0; found 0"):
        in_series(5.0, 0.0)


def test_a_turn_is_a_lead() -> None:
    assert travel_um(2 * pi, 5.0) == pytest.approx(5000.0)
    assert turn_for_travel(5.0, 10.0) == pytest.approx(5e-6 / 0.010 * 2 * pi)


def test_wind_up_by_hand() -> None:
    # 1 N·m on 200 N·m/rad with a lead of 10 mm: 0.005 rad, 7.96 µm.
    assert wind_up_um(1.0, 200.0, 10.0) == pytest.approx(7.957747, rel=1e-6)
    assert twist_deg(1.0, 200.0) == pytest.approx(0.2864789, rel=1e-6)
    assert lost_motion_um(0.05, 200.0, 10.0) == pytest.approx(wind_up_um(0.1, 200.0, 10.0))
    assert lost_motion_um(0.0, 200.0, 10.0, radians(0.1)) == pytest.approx(10000 * 0.1 / 360)
    assert following_error_um(1e-4, 1000.0, 200.0, 10.0) == pytest.approx(wind_up_um(0.1, 200.0, 10.0))
    assert joint_error_um(0.36, 10.0) == pytest.approx(10.0)


def test_settled_error_closes_the_play_of_a_standing_axis() -> None:
    standing = settled_error_um(0.5, 0.05, 200.0, 10.0, backlash=0.002)
    level = settled_error_um(0.0, 0.05, 200.0, 10.0, backlash=0.002)
    assert standing.high - standing.low == pytest.approx(lost_motion_um(0.05, 200.0, 10.0))
    assert level.high - level.low == pytest.approx(lost_motion_um(0.05, 200.0, 10.0, 0.002))
    assert standing.nominal == pytest.approx(wind_up_um(0.5, 200.0, 10.0))


def test_flats_and_keyseats_soften_a_stub() -> None:
    plain = shaft_stiffness([round_part(20.0, 8.0)])
    flat = shaft_stiffness([round_part(5.0, 8.0), flat_part(15.0, 8.0, 7.2)])
    keyed = shaft_stiffness([round_part(5.0, 8.0), keyseat_part(15.0, 8.0, 2.0, 1.2)])
    assert keyed < flat < plain
    assert winding_length(10.0, 12.0) == pytest.approx(14.0)
    with pytest.raises(UsageError, match="a shaft needs at least one part"):
        shaft_twist(1.0, [])
    with pytest.raises(UsageError, match=r"flat_depth_over_diameter must be between .* found 0\.5"):
        flat_part(5.0, 8.0, 4.0)
    with pytest.raises(UsageError, match="a bore of 9 mm leaves nothing of a shaft of 8 mm"):
        round_part(5.0, 8.0, 9.0)
    assert keyseat_stress(2.0, 10.0) == pytest.approx(3 * 16 * 2 / (pi * 1e-6))
    assert torsional_stress(2.0, 10.0) == pytest.approx(16 * 2 / (pi * 1e-6))


def ring_frame(radius: float, depth: float, width: float, young: float, shear: float, count: int = 240) -> float:
    """Twist for a torque of a ring of straight beams with shear, loaded at 0 and 180 and held at 90 and 270 degrees."""
    area, inertia = depth * width, width * depth**3 / 12
    nodes = [(radius * cos(2 * pi * n / count), radius * sin(2 * pi * n / count)) for n in range(count)]
    whole = np.zeros((3 * count, 3 * count))
    for n in range(count):
        m = (n + 1) % count
        dx, dy = nodes[m][0] - nodes[n][0], nodes[m][1] - nodes[n][1]
        length = (dx**2 + dy**2) ** 0.5
        soft = 12 * young * inertia * 1.2 / (shear * area * length**2)
        bend = young * inertia / (length**3 * (1 + soft))
        a, b = 12 * bend, 6 * length * bend
        c, d = (4 + soft) * length**2 * bend, (2 - soft) * length**2 * bend
        e = young * area / length
        local = np.array(
            [
                [e, 0, 0, -e, 0, 0],
                [0, a, b, 0, -a, b],
                [0, b, c, 0, -b, d],
                [-e, 0, 0, e, 0, 0],
                [0, -a, -b, 0, a, -b],
                [0, b, d, 0, -b, c],
            ]
        )
        turn = np.array([[dx, dy, 0], [-dy, dx, 0], [0, 0, length]]) / length
        both = np.kron(np.eye(2), turn)
        places = [3 * n, 3 * n + 1, 3 * n + 2, 3 * m, 3 * m + 1, 3 * m + 2]
        whole[np.ix_(places, places)] += both.T @ local @ both
    force = 1 / (2 * radius)
    load = np.zeros(3 * count)
    quarter = count // 4
    load[1] = load[3 * quarter] = force  # +y at 0 degrees; +x at 90 degrees is against the turn
    load[3 * 2 * quarter + 1] = load[3 * 3 * quarter] = -force
    moved = np.linalg.lstsq(whole, load, rcond=None)[0]
    return float(load @ moved)


def test_ring_of_a_slit_coupling_against_a_frame() -> None:
    args = (0.010, 0.004, 0.003, 71e9, 26.5e9)
    assert ring_give(*args) == pytest.approx(ring_frame(*args), rel=1e-3)


def test_radial_slit_by_its_parts() -> None:
    one = radial_slit_stiffness(25.0, 12.0, 3.0, 0.5, 3.0, 1, 71e9, 26.5e9)
    three = radial_slit_stiffness(25.0, 12.0, 3.0, 0.5, 3.0, 3, 71e9, 26.5e9)
    ring = ring_give(37 / 4000, 13 / 2000, 0.003, 71e9, 26.5e9)
    assert 1 / three.nominal == pytest.approx(3 / one.nominal + 2 * ring)
    assert (three.low, three.high) == (pytest.approx(three.nominal / 3), pytest.approx(three.nominal * 3))


def test_helical_slit_is_a_torsion_spring() -> None:
    # One beam 2 x 6 mm, 3 turns on a mean diameter of 19 mm, by hand: E I/(pi D N) = 71e9 * 36e-12/(0.17907) N·m/rad.
    found = helical_slit_stiffness(25.0, 13.0, 2.0, 3.0, 1, 71e9)
    assert found.nominal == pytest.approx(71e9 * 2e-3 * 6e-3**3 / 12 / (pi * 0.019 * 3))
    assert helical_slit_stiffness(25.0, 13.0, 2.0, 3.0, 2, 71e9).nominal == pytest.approx(2 * found.nominal)


def test_rigid_sleeve_is_far_stiffer_than_its_shafts() -> None:
    found = rigid_stiffness(25.0, 10.0, 1.0, 15.0, 26.5e9)
    assert found.low > 3 * shaft_stiffness([round_part(11.0, 10.0)])
    # By hand: nominal over 1 + 2/3 * 15 = 11 mm, high over 1 + 1/3 * 15 = 6 mm, low half the nominal.
    nominal = 26.5e9 * pi / 32 * (0.025**4 - 0.010**4) / 0.011
    assert (found.low, found.nominal, found.high) == pytest.approx((nominal / 2, nominal, nominal * 11 / 6))
    with pytest.raises(UsageError, match="a bore of 30 mm leaves nothing"):
        rigid_stiffness(25.0, 30.0, 1.0, 15.0, 26.5e9)


def test_bands_and_margins() -> None:
    assert bandwidth_margin(300.0, 100.0) == 3.0
    assert band_distance(50.0, 100.0, 200.0) == 2.0
    assert band_distance(400.0, 100.0, 200.0) == 2.0
    assert band_distance(150.0, 100.0, 200.0) == pytest.approx(0.75)
    with pytest.raises(UsageError, match="a band from 200 to 100 Hz is the wrong way round"):
        band_distance(50.0, 200.0, 100.0)
    assert damping_ratio(0.8) == pytest.approx(0.8 / (4 * pi))


def test_stepper_oscillates_about_its_step() -> None:
    # T = T_h sin(50 x): slope 50 T_h; 1 N·m and 5e-5 kg·m²: sqrt(50/5e-5)/2 pi = 159.15 Hz.
    assert stepper_resonance(1.0, 50, 5e-5) == pytest.approx(159.155, rel=1e-5)


def test_two_inertia_limits() -> None:
    heavy = two_inertia(1e-5, 1e3, 100.0)
    assert heavy.resonance == pytest.approx((100.0 / 1e-5) ** 0.5 / (2 * pi), rel=1e-6)
    found = two_inertia(2e-5, 6e-5, 100.0)
    assert found.resonance / found.anti_resonance == pytest.approx((1 + 6 / 2) ** 0.5)


def test_chain_refuses_what_does_not_fit_together() -> None:
    with pytest.raises(UsageError, match="found 2 inertias and 2 springs"):
        chain([1.0, 1.0], [1.0, 1.0])
    with pytest.raises(UsageError, match="each spring needs its damping; found 2 for 1 springs"):
        chain([1.0, 1.0], [1.0], [0.1, 0.1])
    with pytest.raises(UsageError, match="inertia_2 must be greater than 0; found 0"):
        chain([1.0, 0.0], [1.0])
