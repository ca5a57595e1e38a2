"""What blocked tool angles leave open: the same whether they are taken all at once or one after another."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.measurement.arm_angles import Arm, Bar, BlockedAngles, widest_open
from fitcheck.measurement.intervals import TURN
from fitcheck.measurement.open_angles import all_open, beside_fixed, has_open, touches, widest, without

CELLS = 4
seeds = st.integers(0, 100_000)


def arm(both_sides=False):
    return Arm(bars=(Bar(low=0.0, high=5.0, half_width=1.0, length=20.0),), swing=40.0, both_sides=both_sides)


def blocked(chance, count):
    """Intervals of random cells while turning; on the way in those and more."""
    low, cell = chance.uniform(-TURN, 2.0 * TURN, 2 * count), chance.integers(0, CELLS, 2 * count)
    high = low + chance.choice([0.0, 0.05, 0.4, 1.5, 7.0], 2 * count, p=[0.1, 0.4, 0.3, 0.19, 0.01])
    return (low[:count], high[:count], cell[:count]), (low, high, cell)


@given(seeds, st.integers(0, 25), st.booleans(), st.floats(0.01, 3.0))
@settings(max_examples=300, deadline=None)
def test_the_cells_left_are_those_whose_widest_range_is_wide_enough(seed, count, both_sides, least):
    found = blocked(np.random.default_rng(seed), count)
    expected = widest_open(*found, CELLS, arm(both_sides))
    left = without(all_open(CELLS), found, arm(both_sides), least)
    assert has_open(left, CELLS).tolist() == (expected >= least).tolist()
    for cell in np.flatnonzero(expected >= least):
        assert widest(tuple(column[left[0][2] == cell] for column in left[0])) == pytest.approx(expected[cell])


@given(seeds, st.integers(1, 25), st.booleans())
@settings(max_examples=200, deadline=None)
def test_one_after_another_is_all_at_once(seed, count, both_sides):
    (turning, coming), tool = blocked(np.random.default_rng(seed), count), arm(both_sides)
    at_once = without(all_open(CELLS), (turning, coming), tool, 0.5)
    left = all_open(CELLS)
    for at in range(2 * count):
        one = tuple(column[at : at + 1] for column in coming)
        left = without(left, (one if at < count else tuple(column[:0] for column in one), one), tool, 0.5)
    for found, expected in zip(left, at_once, strict=True):
        for column, wanted in zip(found, expected, strict=True):
            assert column == pytest.approx(wanted, abs=1e-9)


@given(seeds, st.integers(1, 12))
@settings(max_examples=200, deadline=None)
def test_what_touches_nothing_that_is_open_changes_nothing(seed, count):
    chance = np.random.default_rng(seed)
    left = without(all_open(CELLS), blocked(chance, count), arm(), 0.5)
    _, (low, high, cell) = blocked(chance, count)
    found = touches(low, high, cell, left[0])
    for at in range(low.size):
        one = low[at : at + 1], high[at : at + 1], cell[at : at + 1]
        after = without(left, (one, one), arm(), 1e-6)
        same = all(np.array_equal(a, b) for a, b in zip(after[0], left[0], strict=True))
        assert same or found[at]


def test_a_range_over_angle_0_is_one():
    one = np.array([2.0]), np.array([4.0]), np.array([1])
    turning, coming = without(all_open(2), (one, one), arm(), 4.0)
    assert turning[0].tolist() == [0.0, 0.0, 4.0]
    assert turning[1].tolist() == [TURN, 2.0, TURN]
    assert widest(tuple(column[1:] for column in turning)) == pytest.approx(TURN - 2.0)
    # Nothing is as wide as that once it is cut; and a range without a way in is of no use.
    assert has_open(without((turning, coming), (one, one), arm(), TURN - 1.9), 2).tolist() == [True, False]
    closed_way = np.array([4.0, 0.0]), np.array([TURN, 2.0]), np.array([1, 1])
    nothing = tuple(column[:0] for column in one)
    assert has_open(without((turning, coming), (nothing, closed_way), arm(), 1.0), 2).tolist() == [True, False]


def test_what_is_fixed_stands_in_its_own_cell():
    some = np.array([0.0]), np.array([6.0])
    left = beside_fixed([BlockedAngles(), BlockedAngles(turning=some, coming=some)], arm(), 0.5)
    assert has_open(left, 2).tolist() == [True, False]
