"""The NIST MBE PMI validation project's test cases (US government work, public domain), kept beside the checkout.

Diameters as published in the test case drawings: CTC 01 20, 25 and 35 mm; CTC 03 0.438, 0.625, 1.065, 1.500 and 2.000
inch; FTC 11 63 and 32 mm. FTC 08 in its tessellation-only form has no exact faces.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from fitcheck.errors import MeasureError
from fitcheck.measurement.measure import measure_file

FOLDER = Path(__file__).resolve().parents[4] / "shared" / "step_files"
INCH = 25.4


def published(name):
    path = FOLDER / name
    if not path.is_file():
        pytest.skip(f"the published file {name} is not in {FOLDER.parent.name}/{FOLDER.name} beside the checkout")
    return str(path)


@pytest.mark.parametrize(
    ("name", "diameters"),
    [
        ("nist_ctc_01_asme1_ap242-e1.stp", (20.0, 25.0, 35.0)),
        ("nist_ctc_03_asme1_ap242-e2.stp", tuple(INCH * d for d in (0.438, 0.625, 1.065, 1.5, 2.0))),
        ("nist_ftc_11_asme1_ap242-e2.stp", (63.0, 32.0)),
    ],
)
def test_published_diameters(kernel, name, diameters):
    found = measure_file(published(name), None, kernel)
    measured = sorted(cylinder.diameter for cylinder in found.cylinders)
    for diameter in diameters:
        assert min(measured, key=lambda d: abs(d - diameter)) == pytest.approx(diameter, abs=1e-3)
    assert found.complete
    # None of them is a motor adapter, and none is called one in silence.
    assert found.drive_axis is None
    assert any("drive axis" in warning for warning in found.warnings)


def test_a_tessellated_file_is_told_as_such(kernel):
    path = published("nist_ftc_08_asme1_ap242-e1-tg.stp")
    with pytest.raises(MeasureError, match="the model is tessellated and has no exact faces; export it as exact"):
        measure_file(path, None, kernel)
    # The worker lives on.
    assert kernel.ask(path, "reading", {"do": "read", "path": path})[0]["kinds"]


def test_a_hybrid_of_a_solid_and_open_shells_is_read(kernel):
    # CTC 02 holds parts without a name; asking for one that is not there once ended the reader. 637 faces as published.
    path = published("nist_ctc_02_asme1_ap242-e2.stp")
    answer, _ = kernel.ask(path, "reading", {"do": "read", "path": path})
    assert len(answer["kinds"]) == 637
    assert [body["solid"] for body in answer["bodies"]].count(True) == 1
