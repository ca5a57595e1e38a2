"""ISO 286 classes: which there are, where they end, and how they belong together."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.errors import TableError
from fitcheck.standards.fits import GRADES, limits, play, tolerance_classes
from fitcheck.standards.table import table

SIZES = st.floats(min_value=0.0, max_value=250.0, exclude_min=True)
CLASSES = st.sampled_from(tolerance_classes())


def test_classes() -> None:
    classes = tolerance_classes()
    assert len(classes) == len(set(classes)) == 82
    asked = ("H7", "h6", "g6", "f8", "js6", "JS7", "j6", "J7", "G7", "F8", "k6", "m6", "n6", "p6")
    assert set(asked) <= set(classes)


@given(SIZES, CLASSES)
def test_tolerance_is_the_standard_tolerance_of_the_grade(nominal: float, name: str) -> None:
    found = limits(nominal, name)
    width = table("tolerance_grades").containing(nominal, "size").number(f"it{name.lstrip('FGHJSfghjkmnps')}")
    assert found.tolerance == pytest.approx(width / 1000.0, abs=1e-12)
    assert found.lower < found.upper


@given(SIZES, st.sampled_from(GRADES))
def test_hole_mirrors_shaft(nominal: float, grade: int) -> None:
    for hole, shaft in (("F", "f"), ("G", "g"), ("H", "h"), ("JS", "js")):
        one, other = limits(nominal, f"{hole}{grade}"), limits(nominal, f"{shaft}{grade}")
        assert (one.lower, one.upper) == (-other.upper, -other.lower)


@given(SIZES, st.sampled_from((5, 6, 7)))
def test_shafts_grow_from_f_to_p(nominal: float, grade: int) -> None:
    series = [limits(nominal, f"{letter}{grade}") for letter in ("f", "g", "h", "js", "k", "m", "n", "p")]
    assert [found.upper for found in series] == sorted(found.upper for found in series)


@given(SIZES, st.sampled_from((6, 7, 8)))
def test_clearance_fits_have_play_and_interference_fits_none(nominal: float, grade: int) -> None:
    for shaft in ("f", "g", "h"):
        assert play(nominal, f"H{grade}", f"{shaft}{grade}").least >= 0.0
    # p is made for interference: at H7/p6 the least play is negative and the greatest at most 0 (3 mm and below: 4 um).
    fit = play(nominal, "H7", "p6")
    assert fit.least < 0.0
    assert fit.greatest <= (0.004 if nominal <= 3 else 0.0)


def test_play_is_of_the_greatest_and_the_least_hole() -> None:
    hole, shaft = limits(20, "G7"), limits(20, "k6")
    fit = play(20, "G7", "k6")
    assert fit.least == hole.lower - shaft.upper
    assert fit.greatest == hole.upper - shaft.lower


def test_edges_are_over_and_to() -> None:
    assert limits(18, "H7").upper == 0.018
    assert limits(math.nextafter(18, 19), "H7").upper == 0.021
    assert limits(250, "h6").lower == -0.029


@pytest.mark.parametrize("nominal", [0.0, -5.0, 250.1, math.inf, math.nan])
def test_sizes_outside(nominal: float) -> None:
    with pytest.raises(TableError, match=r"nominal size .* mm is outside the table, which covers over 0 to 250 mm"):
        limits(nominal, "H7")


@pytest.mark.parametrize(
    ("name", "near"),
    [
        ("k8", "; nearest: k5, k6, k7. "),
        ("j7", "; nearest: j6. "),
        ("J6", "; nearest: J7. "),
        ("H12", "; nearest: H5, H6, H7, H8, H9, H10, H11. "),
        ("K7", " is not in the tables. They have 82 classes"),
        ("", " is not in the tables. They have 82 classes"),
        ("7H", " is not in the tables. They have 82 classes"),
        ("h06", "; nearest: h5, h6"),
    ],
)
def test_classes_outside(name: str, near: str) -> None:
    with pytest.raises(TableError, match=f"tolerance class {name!r} is not in the tables") as caught:
        limits(20, name)
    assert near in str(caught.value)
    assert re.search(r"capital letters are holes$", str(caught.value))


def test_weakest_mark_is_reported() -> None:
    assert limits(2, "j6").confidence == "memory"
    assert limits(20, "j6").confidence == "package"
    assert "EASA" in limits(60, "j6").source
    assert limits(20, "H7").confidence == "package"


def test_rows_with_both_deviations_are_as_wide_as_their_grade() -> None:
    rows = [row for row in table("deviations").rows if row.text("symbol") in ("j", "J")]
    assert len(rows) == 20
    for row in rows:
        (grade,) = row.numbers("grades")
        width = table("tolerance_grades").containing(row.number("to"), "size").number(f"it{grade:g}")
        assert row.number("upper") - row.number("lower") == width, row.place
