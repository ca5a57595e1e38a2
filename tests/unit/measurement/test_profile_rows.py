"""The free radius' profile has a row at the very station where a slanting edge comes nearest to the axis."""

from __future__ import annotations

import numpy as np
import pytest

from fitcheck.measurement.obstacles import Obstacles
from fitcheck.measurement.profile import free_radius


@pytest.mark.parametrize("share", [0.2, 0.5, 0.83])
def test_an_edge_that_passes_the_axis_has_a_row_where_it_is_nearest(share):
    # A straight edge at x = 10 whose y rises by 20 over the stations 0 to 20: r = hypot(10, y), least 10 where y is 0.
    start = -20.0 * share
    segment = np.array([[[0.0, 10.0, start], [20.0, 10.0, start + 20.0]]])
    edge = Obstacles(
        segments=segment, segment_bound=np.zeros(1), segment_body=np.zeros(1, dtype=np.int32),
        triangles=np.zeros((0, 3, 3)), triangle_bound=np.zeros(0), triangle_body=np.zeros(0, dtype=np.int32),
    )  # fmt: skip
    found = free_radius(edge)
    assert found is not None
    assert (found.station, found.least) == (pytest.approx(20.0 * share), pytest.approx(10.0, abs=1e-12))
    # A row at the foot itself: chords between other stations would miss it by what a chord may be off.
    station, radius = min(found.profile, key=lambda row: abs(row[0] - 20.0 * share))
    assert (station, radius) == (pytest.approx(20.0 * share, abs=1e-9), pytest.approx(10.0, abs=1e-9))
