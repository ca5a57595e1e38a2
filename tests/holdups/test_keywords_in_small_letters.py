"""A file that ends with End-ISO-10303-21 was told to be cut off; one with Data; was read without a look at its text.

The kernel reads such keywords, and what it reads has the same faces as the file they were changed in.
"""

from __future__ import annotations

import pytest

from fitcheck.errors import StepFileError
from fitcheck.measurement.completeness import promise
from fitcheck.measurement.measure import measure_file
from fitcheck.measurement.precheck import content_hash
from parametric_models.adapters import Holes, Housing, Seat, housing
from parametric_models.step_files import write_step

SEAT = Seat(
    pilot_diameter=38.0, pilot_depth=2.5, opening_diameter=30.0, opening_length=3.0,
    holes=(Holes(layout="square", size=(47.14,), diameter=4.5, depth=10.0),),
)  # fmt: skip


@pytest.fixture(scope="module")
def plain(tmp_path_factory):
    path = tmp_path_factory.mktemp("keywords") / "plain.step"
    write_step(path, housing(Housing(length=60.0, size=62.0, chamber_diameter=36.0, motor=SEAT, actuator=SEAT)))
    return path


CHANGES = {
    "mixed end": [(b"END-ISO-10303-21", b"End-ISO-10303-21")],
    "small end": [(b"END-ISO-10303-21", b"end-iso-10303-21")],
    "head": [(b"ISO-10303-21;", b"iso-10303-21;")],
    "sections": [(b"DATA;", b"Data;"), (b"HEADER;", b"header;"), (b"ENDSEC;", b"EndSec;")],
}


@pytest.mark.parametrize("change", CHANGES)
def test_small_letters_change_nothing(plain, kernel, tmp_path, change):
    data = plain.read_bytes()
    for old, new in CHANGES[change]:
        assert old in data
        data = data.replace(old, new)
    path = tmp_path / "small.step"
    path.write_bytes(data)
    found, expected = (measure_file(str(one), None, kernel) for one in (path, plain))
    assert found.complete
    assert found.warnings == expected.warnings
    assert found.ends == expected.ends


@pytest.mark.parametrize("change", CHANGES)
def test_a_file_that_is_cut_off_is_still_told(plain, tmp_path, change):
    data = plain.read_bytes()
    for old, new in CHANGES[change]:
        data = data.replace(old, new)
    path = tmp_path / "cut.step"
    path.write_bytes(data[:-2000])
    with pytest.raises(StepFileError, match="cut off: END-ISO-10303-21 is missing"):
        content_hash(str(path))


def test_faults_in_a_section_of_small_letters_are_found(plain):
    data = plain.read_bytes()
    start = data.index(b"ADVANCED_FACE")
    broken = data[:start] + b"ADVANCED_FACE(((" + data[start + 16 :]
    assert promise(data).faults == ()
    for text in (broken, broken.replace(b"DATA;", b"data;").replace(b"ENDSEC;", b"endsec;")):
        assert promise(text).faults != ()
        assert promise(text).faults == promise(broken).faults
