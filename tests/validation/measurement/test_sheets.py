"""Surfaces without thickness beside solids: they count, are told, and can be left out by name. Lengths mm."""

from __future__ import annotations

import cadquery as cq
import pytest

from fitcheck.measurement.options import MeasureOptions


def plane(station):
    return cq.Face.makePlane(100.0, 100.0, (0.0, 0.0, station), (0.0, 0.0, 1.0))


def test_a_plane_across_the_chamber_counts_and_is_told(measured, bench):
    model = bench.assembly({"adapter": bench.housing(), "Datum A": plane(30.0)})
    found = measured(model)
    assert (found.free_radius.least, found.free_radius.station) == pytest.approx((0.0, 30.0), abs=1e-9)
    assert (
        "'Datum A' is a surface without a solid, and counts as an obstacle all the same; where nobody builds it, "
        "'bodies: {ignore: ['Datum A']}' in the job leaves it out"
    ) in found.warnings
    left_out = measured(model, options=MeasureOptions(ignore=("Datum A",)))
    assert left_out.free_radius.least == pytest.approx(13.0, abs=1e-6)
    assert not [text for text in left_out.warnings if "surface" in text]


def test_several_planes_are_told_in_one(measured, bench):
    planes = {f"D{index}": plane(20.0 + index) for index in range(7)}
    (words,) = [
        text for text in measured(bench.assembly({"adapter": bench.housing(), **planes})).warnings if "surf" in text
    ]
    assert words.startswith("'D0', 'D1', 'D2', 'D3', 'D4' and 2 more are surfaces without a solid, and count as")
