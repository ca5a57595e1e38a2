"""Student's t against scipy."""

from __future__ import annotations

import pytest
from scipy.stats import t as student

from fitcheck.errors import UsageError
from fitcheck.mechanics.student_t import t_probability, t_quantile


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 7, 20, 101, 400])
@pytest.mark.parametrize("confidence", [0.5, 0.9, 0.95, 0.99999])
def test_quantile_against_scipy(freedom: int, confidence: float) -> None:
    assert t_quantile(confidence, freedom) == pytest.approx(student.ppf(0.5 + confidence / 2, freedom), rel=1e-9)


@pytest.mark.parametrize("freedom", [1, 2, 5, 12])
def test_probability_against_scipy(freedom: int) -> None:
    for value in (0.0, 0.3, 2.0, 15.0):
        assert t_probability(value, freedom) == pytest.approx(1 - 2 * student.sf(value, freedom), abs=1e-12)


def test_wrong_inputs() -> None:
    with pytest.raises(UsageError, match="a confidence must lie between 0 and 1; found 1"):
        t_quantile(1.0, 5)
    with pytest.raises(UsageError, match=r"degrees of freedom at least 1; found 1\.0 and 0"):
        t_probability(1.0, 0)
