"""Words and numbers that several checks share."""

import pytest

from fitcheck.checks.wording import shaft_angle


@pytest.mark.parametrize(
    ("value", "told"),
    [(0.0, "0.0°"), (359.94, "359.9°"), (359.96, "0.0°"), (360.0, "0.0°"), (372.34, "12.3°"), (-0.04, "0.0°")],
)
def test_a_direction_is_told_within_one_turn(value, told):
    assert shaft_angle(value) == told
