"""Lines clipped to faces: a face of known bounds, and lines that damaged geometry gives."""

from __future__ import annotations

import math

import cadquery as cq
import pytest

from fitcheck.kernel.clip import clip_line


@pytest.fixture(scope="module")
def wall():
    """The round face of a cylinder of radius 5 from height 0 to 20."""
    (face,) = (face for face in cq.Solid.makeCylinder(5.0, 20.0).Faces() if face.geomType() == "CYLINDER")
    return face.wrapped


def test_a_line_that_runs_past_both_ends(wall):
    (line,) = clip_line(wall, [(5.0, 0.0, -7.0), (5.0, 0.0, 31.0)])
    assert (line[2], line[-1]) == pytest.approx((0.0, 20.0), abs=1e-6)


@pytest.mark.parametrize("wrong", [math.nan, math.inf])
def test_a_line_without_a_place_comes_back_as_it_is(wall, wrong):
    (line,) = clip_line(wall, [(5.0, 0.0, 1.0), (5.0, wrong, 2.0)])
    assert list(line[:4]) == [5.0, 0.0, 1.0, 5.0]
    assert not math.isfinite(line[4])
