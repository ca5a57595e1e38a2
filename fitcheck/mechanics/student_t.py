"""Quantiles of Student's t distribution, for confidence intervals without a statistics library at run time."""

from __future__ import annotations

from math import atan, cos, pi, sin, sqrt

from fitcheck.errors import UsageError


def t_probability(t: float, freedom: int) -> float:
    """Probability that a t variable lies between -t and t, in closed form for whole degrees of freedom.

    Args:
        t: at least 0.
        freedom: degrees of freedom, 1 or more.

    Returns:
        A share, 0 to 1.

    Raises:
        UsageError: an input is out of its range.

    Source: Abramowitz and Stegun, 26.7.3 and 26.7.4 (memory); checked against scipy in the tests.
    """
    if freedom < 1 or not t >= 0.0:
        raise UsageError(f"t must be at least 0 and the degrees of freedom at least 1; found {t} and {freedom}")
    angle = atan(t / sqrt(freedom))
    square = cos(angle) ** 2
    odd = freedom % 2 == 1
    total, term = 0.0, cos(angle) if odd else 1.0
    for step in range(1 if odd else 0, freedom - 1, 2):
        total += term
        term *= square * (step + 1) / (step + 2)
    return 2.0 / pi * (angle + sin(angle) * total) if odd else sin(angle) * total


def t_quantile(confidence: float, freedom: int) -> float:
    """The t for which a t variable lies between -t and t with this probability (two-sided).

    Args:
        confidence: over 0 and below 1, as 0.95.
        freedom: degrees of freedom, 1 or more.

    Returns:
        t, to a relative 1e-12.

    Raises:
        UsageError: an input is out of its range.

    Source: bisection of `t_probability` (computed).
    """
    if not 0.0 < confidence < 1.0:
        raise UsageError(f"a confidence must lie between 0 and 1; found {confidence}")
    low, high = 0.0, 1.0
    while t_probability(high, freedom) < confidence:
        low, high = high, 2.0 * high
    while high - low > 1e-12 * high:
        middle = 0.5 * (low + high)
        if t_probability(middle, freedom) < confidence:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)
