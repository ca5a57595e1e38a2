from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from fitcheck.api import measure
from fitcheck.errors import MeasureError
from fitcheck.measurement.model import AxisLine, Body, End, Measurement, Opening, Shaft
from fitcheck.measurement.soundness import finite_only, sound, without_numbers
from fitcheck.measurement.survey import Edge, Survey

SAMPLES = Path(__file__).parents[3] / "sample_assemblies" / "passing"
SHAFT = Shaft(diameter=8.0, length=20.0, end=20.0, full_from=0.0, full_to=19.0)
GOOD = Measurement(
    file="a.step", sha256="0" * 64, file_unit="mm", bodies=(Body(name="a", role="adapter", volume=1.0),),
    drive_axis=AxisLine(origin=(0.0, 0.0, 0.0), direction=(0.0, 0.0, 1.0), across=(1.0, 0.0, 0.0)),
    ends=(End(role="motor", seat=0.0, shaft=SHAFT, opening=Opening(diameter=20.0, length=5.0)),), coaxiality=None,
    free_radius=None, cylinders=(),
)  # fmt: skip


def test_finite_numbers_stay_as_they_are():
    assert sound(GOOD) is GOOD


@pytest.mark.parametrize("value", [math.inf, -math.inf, math.nan])
def test_a_spoiled_shaft_goes_and_the_rest_stays(value):
    end = replace(GOOD.ends[0], shaft=replace(SHAFT, end=value))
    found = sound(replace(GOOD, ends=(end,)))
    assert found.ends == (replace(GOOD.ends[0], shaft=None),)
    assert not found.complete
    assert found.warnings == (
        "the shaft at station 0.000 is damaged in the file and was left out; export the file again",
    )


def test_a_spoiled_seat_or_axis_is_no_measurement():
    end = replace(GOOD.ends[0], seat=math.nan)
    with pytest.raises(MeasureError, match=r"a\.step: the geometry is damaged: the ends got no finite number"):
        sound(replace(GOOD, ends=(end,)))
    axis = replace(GOOD.drive_axis, origin=(math.inf, 0.0, 0.0))
    with pytest.raises(MeasureError, match="the drive axis got no finite number"):
        sound(replace(GOOD, drive_axis=axis))


def test_pieces_without_a_finite_place_are_counted_and_left_out():
    points = np.arange(18.0).reshape(3, 2, 3)
    points[1, 0, 2] = np.nan
    bound = np.array([0.0, 0.0, np.inf])
    (kept, widths, body), lost = finite_only((points, bound, np.array([4, 5, 6])))
    assert (kept.tolist(), widths.tolist(), body.tolist(), lost) == ([points[0].tolist()], [0.0], [4], 2)


def test_corners_beyond_what_numbers_resolve_go_and_the_farthest_sensible_ones_stay():
    points = np.zeros((4, 2, 3))
    points[1, 0, 2], points[2, 1, 0], points[3, 0, 1] = 1e8, -1.1e8, 1e200
    (kept, bound, body), lost = finite_only((points, np.arange(4.0), np.arange(4)))
    assert lost == 2
    assert kept.tolist() == points[:2].tolist()
    assert bound.tolist() == body.tolist() == [0, 1]


@pytest.mark.parametrize("value", [math.inf, -math.inf, math.nan])
def test_edges_with_a_number_that_is_none_are_counted(value):
    edges = [
        Edge(0, "line", b=(1.0, 0.0, 0.0)), Edge(1, "none"), Edge(2, "circle", radius=value),
        Edge(3, "circle", radius=1.0, span=(0.0, value)), Edge(4, "line", a=(0.0, value, 0.0)),
    ]  # fmt: skip
    assert without_numbers(Survey(units=("mm",), bodies=[], faces=[], edges=edges)) == 3


@pytest.mark.parametrize(("sample", "sound", "damaged"), [
    # A pole of the curve of the window, and the place of an outer side.
    ("z-flat-shaft", "(17.008955535633,5.890944945307,", "(17.008955535633,1.E999,"),
    ("z-passes", "#341 = CARTESIAN_POINT('',(-30.,30.,0.))", "#341 = CARTESIAN_POINT('',(-30.,30.,1.E999))"),
])  # fmt: skip
def test_a_file_with_an_infinite_number_is_incomplete_and_told(tmp_path, sample, sound, damaged):
    text = (SAMPLES / f"{sample}.step").read_text()
    assert sound in text
    path = tmp_path / "damaged.step"
    path.write_text(text.replace(sound, damaged, 1))
    found = measure(path, cache=False, time_limit=60.0)
    assert not found.complete
    assert any("edges or faces are damaged: a number of theirs is infinite or none" in said for said in found.warnings)
