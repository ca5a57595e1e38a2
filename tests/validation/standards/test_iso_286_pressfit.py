"""ISO 286 limits against pressfit 0.1.0 (MIT), an independent package, and against worked fits in print.

The letters f, g, k, m, n, p and the standard tolerances were taken from pressfit's tables, so for these the comparison
shows that nothing was lost on the way and that the rules (edges, signs, k) agree; j6 and J7 have sources of their own.
"""

from __future__ import annotations

from math import sqrt

import pressfit
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.standards.fits import GRADES, limits, play
from fitcheck.standards.table import table

EDGES = (0.5, 1, 3, 3.01, 6, 6.01, 10, 10.01, 18, 18.01, 30, 30.01, 50, 50.01, 80, 80.01, 120, 120.01, 180, 180.01, 250)


SHAFTS = [
    (shaft, grade)
    for shaft in ("f", "g", "h", "js", "k", "m", "n", "p")
    for grade in GRADES
    if shaft != "k" or grade <= 7  # k above grade 7 is not in our tables
]


@pytest.mark.parametrize(("shaft", "grade"), SHAFTS)
def test_shafts_and_h_holes_at_every_edge(shaft: str, grade: int) -> None:
    for nominal in EDGES:
        theirs = pressfit.fit(f"H{grade}/{shaft}{grade}", nominal)
        hole, ours = limits(nominal, f"H{grade}"), limits(nominal, f"{shaft}{grade}")
        assert (ours.lower, ours.upper) == pytest.approx((theirs.shaft_ei_um / 1000, theirs.shaft_es_um / 1000))
        assert (hole.lower, hole.upper) == pytest.approx((theirs.hole_ei_um / 1000, theirs.hole_es_um / 1000))


@given(st.floats(0.0, 250.0, exclude_min=True), st.sampled_from(["f7", "g6", "h6", "js7", "k6", "m6", "n6", "p6"]))
def test_play_at_any_size(nominal: float, shaft: str) -> None:
    theirs = pressfit.fit(f"H7/{shaft}", nominal)
    ours = play(nominal, "H7", shaft)
    assert (ours.least * 1000, ours.greatest * 1000) == pytest.approx(theirs.clearance_um)


@pytest.mark.parametrize(
    ("nominal", "hole", "shaft", "least", "greatest", "source"),
    [
        (50, "H7", "g6", 9, 50, "rulesofthumb.info: 50 H7/g6 is +25/0, -9/-25, clearance 9 to 50 um"),
        (25, "H7", "g6", 7, 41, "pressfit 0.1.0, example in its documentation"),
    ],
)
def test_worked_fits(nominal: float, hole: str, shaft: str, least: float, greatest: float, source: str) -> None:
    fit = play(nominal, hole, shaft)
    assert (fit.least * 1000, fit.greatest * 1000) == pytest.approx((least, greatest)), source


@pytest.mark.parametrize(
    ("nominal", "name", "lower", "upper", "source"),
    [
        (50, "H7", 0, 25, "rulesofthumb.info"),
        (50, "g6", -25, -9, "rulesofthumb.info"),
        (14, "G7", 6, 24, "isofits 1.0"),
        (14, "F8", 16, 43, "isofits 1.0"),
        (150, "f6", -68, -43, "pressfit 0.1.0; isofits 1.0 has -48 here, which is an error"),
        (10, "j6", -2, 7, "isofits 1.0"),
        (40, "j6", -5, 11, "EASA AR100, table 2-10"),
        (70, "j6", -7, 12, "EASA AR100, table 2-10"),
        (110, "j6", -9, 13, "EASA AR100, table 2-10"),
        (130, "j6", -11, 14, "EASA AR100, table 2-10"),
        (230, "j6", -13, 16, "EASA AR100, table 2-10"),
        (2, "J7", -6, 4, "flippingbook.com 962121, p. 281"),
        (9, "J7", -7, 8, "flippingbook.com 962121, p. 281"),
        (100, "J7", -13, 22, "flippingbook.com 962121, p. 281"),
    ],
)
def test_limits_in_print(nominal: float, name: str, lower: float, upper: float, source: str) -> None:
    found = limits(nominal, name)
    assert (found.lower * 1000, found.upper * 1000) == pytest.approx((lower, upper)), source


# Shaft tolerances of NEMA ICS 16 metric shafts (engineersedge, table of metric shafts, read): 0/-x um. They are h6.
NEMA_METRIC_SHAFTS = {
    5: 8, 6: 8, 7: 9, 8: 9, 9: 9, 10: 9, 11: 11, 14: 11, 16: 11, 18: 11, 19: 13, 22: 13, 24: 13, 28: 13, 32: 16, 38: 16,
    42: 16, 48: 16,
}  # fmt: skip


@pytest.mark.parametrize(("diameter", "width"), NEMA_METRIC_SHAFTS.items())
def test_nema_metric_shafts_are_h6(diameter: float, width: float) -> None:
    assert (limits(diameter, "h6").lower * 1000, limits(diameter, "h6").upper) == pytest.approx((-width, 0.0))


FACTORS = {5: 7, 6: 10, 7: 16, 8: 25, 9: 40, 10: 64, 11: 100}


def test_standard_tolerances_against_the_formula() -> None:
    """ISO 286-1: i = 0.45*D^(1/3) + 0.001*D (formula and factors from memory), D the geometric mean of the range.

    The standard rounds its results by rules of its own, so the formula comes near and misses some values: the table
    decides. Above 3 mm every value is within 0.75 um or 3 % of the formula, in the first range (D = sqrt(1*3)) 16 %.
    """
    missed = {}
    for row in table("tolerance_grades").rows:
        over, to = row.number("over"), row.number("to")
        mean = sqrt(max(over, 1.0) * to)
        unit = 0.45 * mean ** (1.0 / 3.0) + 0.001 * mean
        for grade, factor in FACTORS.items():
            exact, listed = factor * unit, row.number(f"it{grade}")
            allowed = max(0.75, 0.03 * exact) if over else 0.16 * exact
            assert abs(listed - exact) <= allowed, (over, grade)
            if listed != round(exact):
                missed[over, grade] = exact
    # Named in our notes: 3 to 6 mm IT6 7.3 for 8, 10 to 18 mm IT7 17.3 for 18.
    assert missed[3.0, 6] == pytest.approx(7.3, abs=0.05)
    assert missed[10.0, 7] == pytest.approx(17.3, abs=0.05)
    assert len(missed) > 5
