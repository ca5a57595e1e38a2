"""What of a file did not arrive: damaged copies of samples, each with a known loss, and the published files."""

from __future__ import annotations

import random
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck import api
from fitcheck.errors import StepFileError
from fitcheck.kernel.client import Kernel
from fitcheck.measurement.completeness import missing, promise
from fitcheck.measurement.measure import measure_file
from fitcheck.measurement.options import MeasureOptions

ROOT = Path(__file__).parents[3]
ADAPTER = ROOT / "sample_assemblies" / "passing" / "z-passes.step"
ASSEMBLY = ROOT / "sample_assemblies" / "passing" / "z-full-assembly.step"
NIST = ROOT.parent / "shared" / "step_files"
SAMPLES = sorted(ROOT.glob("sample_assemblies/*/*.step"))


@pytest.fixture(scope="module")
def kernel():
    with Kernel() as running:
        yield running


@pytest.fixture
def measured(kernel, tmp_path):
    def run(data: bytes, **options):
        path = tmp_path / "part.step"
        path.write_bytes(data)
        return measure_file(str(path), MeasureOptions(**options), kernel)

    return run


def statement(data: bytes, kind: bytes, number: int = 0) -> re.Match[bytes]:
    """The n-th instance of an entity kind, as a whole statement."""
    return list(re.finditer(rb"#(\d+)\s*=\s*" + kind + rb"\s*\([^;]*\);\s*", data))[number]


def without(data: bytes, kind: bytes, number: int = 0) -> bytes:
    found = statement(data, kind, number)
    return data[: found.start()] + data[found.end() :]


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_whole_file_is_complete(kernel, path):
    said = promise(path.read_bytes())
    answer, _ = kernel.ask(str(path), "reading", {"do": "read", "path": str(path), "unit": None})
    assert (said.solids, said.faces) == (answer["arrived"]["solids"], answer["arrived"]["faces"])
    assert said.faults == ()
    assert said.solids == path.read_bytes().count(b"MANIFOLD_SOLID_BREP(")


# Solids and faces of the NIST MBE PMI validation cases, counted with grep in the files (US government work).
PUBLISHED = {"nist_ctc_01_asme1_ap242-e1": (1, 117), "nist_ctc_03_asme1_ap242-e2": (1, 120),
             "nist_ftc_11_asme1_ap242-e2": (1, 42), "nist_ftc_08_asme1_ap242-e1-tg": (0, 0)}  # fmt: skip


@pytest.mark.parametrize("name", PUBLISHED)
def test_the_published_files_are_complete(kernel, name):
    path = NIST / f"{name}.stp"
    if not path.exists():
        pytest.skip(f"the published file {name}.stp is not beside the checkout")
    said = promise(path.read_bytes())
    assert (said.solids, said.faces, said.faults) == (*PUBLISHED[name], ())
    answer, _ = kernel.ask(str(path), "reading", {"do": "read", "path": str(path), "unit": None})
    assert missing(said, **answer["arrived"]) == ()


def test_a_face_that_is_gone_is_missed(measured):
    data = ADAPTER.read_bytes()
    face = statement(data, b"ADVANCED_FACE", 5)
    found = measured(without(data, b"ADVANCED_FACE", 5))
    assert not found.complete
    (words,) = [text for text in found.warnings if "incomplete" in text]
    assert f"1 reference leads nowhere (#{face[1].decode()})" in words
    assert "only 38 of 39 faces in the file could be read" in words


def test_a_solid_that_does_not_arrive_is_missed(measured):
    data = ASSEMBLY.read_bytes()
    found = measured(without(data, b"CLOSED_SHELL", 1))
    assert not found.complete
    assert any("only 4 of 5 solids in the file could be read" in text for text in found.warnings)


def test_a_statement_that_is_no_step_is_missed(measured):
    data = ADAPTER.read_bytes()
    hit = statement(data, b"ADVANCED_FACE", 3)
    broken = hit[0].replace(b"ADVANCED_FACE(", b"ADVANCED_FACE((", 1)
    found = measured(data[: hit.start()] + broken + data[hit.end() :])
    assert not found.complete
    assert any("1 statement is no valid STEP (the first: #" in text for text in found.warnings)


SHELL = b"DATA;\n#1=CLOSED_SHELL('',(#2));#2=ADVANCED_FACE('',(),#3,.T.);#3=PLANE('',#4);#4=X();\n"
TEXTS = [
    (b"#5=MANIFOLD_SOLID_BREP('',#1);", 1, 1, ()),
    (b"", 0, 0, ()),  # the shell is used by nothing
    (b"#5=BREP_WITH_VOIDS('',#1,(#6));#6=ORIENTED_CLOSED_SHELL('',*,#7,.T.);#7=CLOSED_SHELL('',(#8));"
     b"#8=ADVANCED_FACE('',(),#3,.T.);", 1, 2, ()),
    (b"#5=SHELL_BASED_SURFACE_MODEL('',(#1));", 0, 1, ()),
    (b"/* #99 = nothing('; */ #5=X('it''s #98; a string');", 0, 0, ()),
    (b"#5 = ( A(#1) B('') );", 0, 0, ()),
    (b"#5=X(#77,#78);", 0, 0, ("2 references lead nowhere (#77, #78)",)),
    (b"#5=X();#5=X();", 0, 0, ("1 entity is defined twice (#5)",)),
    (b"#5=CARTESIAN_POINT('',(0.,NaN,-inf));", 0, 0, ("2 values are no number (NaN)",)),
    (b"#5=X('') #4=X();", 0, 0,
     ("1 reference leads nowhere (#5)", "1 statement is no valid STEP (the first: #5=X('') #4=X())")),
    (b"#5=DOCUMENT_FILE('motor.stp','',$,#1,'',$);", 0, 0,
     ("parts lie in other files, which are not read (motor.stp); export the assembly as one file",)),
]  # fmt: skip


@pytest.mark.parametrize(("text", "solids", "faces", "faults"), TEXTS)
def test_the_scan_reads_the_exchange_structure(text, solids, faces, faults):
    said = promise(SHELL + text + b"ENDSEC;\n")
    assert (said.solids, said.faces, said.faults) == (solids, faces, faults)


def test_references_to_other_files_in_a_reference_section():
    # Edition 3 of ISO 10303-21: a REFERENCE section before the data.
    data = b"REFERENCE;\n#9=<bracket.stp#body>;\nENDSEC;\n" + SHELL + b"#5=X(#9);ENDSEC;"
    (words,) = promise(data).faults
    assert words.startswith("parts lie in other files, which are not read (bracket.stp)")


ODD = [b"", b"DATA;", b"\x00" * 99, b"DATA;#1=(((((;;;;;", b"'" * 101, b"DATA;" + b"(" * 9999]


@pytest.mark.parametrize("data", ODD)
def test_any_bytes_are_scanned(data):
    assert promise(data).solids == 0


def test_the_scan_is_linear():
    import time

    data = ADAPTER.read_bytes()
    body = data[data.index(b"DATA;") + 5 : data.rindex(b"ENDSEC;")]
    times = []
    for count in (4, 16):
        text = b"DATA;" + body * count + b"ENDSEC;"
        start = time.process_time()
        promise(text)
        times.append(time.process_time() - start)
    assert times[1] < 4 * 2.5 * times[0]


@pytest.mark.parametrize(("declared", "others"), [("m", "mm or cm"), ("cm", "mm"), ("inch", "mm or cm")])
def test_a_wrong_unit_is_flagged_with_its_remedy(measured, declared, others):
    right = measured(ADAPTER.read_bytes())
    assert right.complete
    assert not [text for text in right.warnings if "unlikely" in text]
    (words,) = [text for text in measured(ADAPTER.read_bytes(), unit=declared).warnings if "unlikely" in text]
    assert words.endswith(f"taken in {declared}; if they are really in {others}, put 'unit: mm' in the job")


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (b"3.E7", None),
        (b"-2.E9", "from the origin, where"),
        (b"1.E100", r"far too large \(1\.E100\); there are 1 solids with 39 faces"),
    ],
)
def test_a_coordinate_that_is_far_away_is_flagged(measured, value, words):
    data = ADAPTER.read_bytes()
    vertex = statement(data, b"VERTEX_POINT", 0)
    number = re.search(rb"#(\d+)", vertex[0][vertex[0].index(b"(") :])
    assert number is not None
    point = re.search(rb"#" + number[1] + rb"\s*=\s*CARTESIAN_POINT\s*\(''\s*,\s*\(([^,]*),", data)
    assert point is not None
    wrong = data[: point.start(1)] + value + data[point.end(1) :]
    if words is not None:
        with pytest.raises(StepFileError, match=words):
            measured(wrong)
        return
    found = measured(wrong)
    assert any("from the origin" in text for text in found.warnings)
    assert found.complete


@pytest.mark.parametrize(("value", "shown"), [(b"1.E-30", "1e-30"), (b"1.E15", "1e+15")])
def test_a_round_face_with_an_impossible_radius_is_refused(measured, value, shown):
    data = ADAPTER.read_bytes()
    radius = re.search(rb"=\s*CYLINDRICAL_SURFACE\s*\('',\s*#\d+,\s*([^)]*)\)", data)
    assert radius is not None
    wrong = data[: radius.start(1)] + value + data[radius.end(1) :]
    words = rf"a cylinder of body '.*' has the radius {re.escape(shown)} mm|could be read"
    try:
        found = measured(wrong)
    except StepFileError as error:
        found = error
    assert re.search(words, str(found) if isinstance(found, StepFileError) else " ".join(found.warnings))


def test_a_part_a_kilometre_away_is_flagged(measured, tmp_path):
    import cadquery as cq

    from parametric_models.faces import moved, write_step

    shape = cq.importers.importStep(str(ADAPTER)).val()
    write_step(tmp_path / "far.step", moved(shape, (2e6, 0.0, 0.0)))
    found = measured((tmp_path / "far.step").read_bytes())
    assert [text for text in found.warnings if text.startswith("the model reaches 2e+06 mm from the origin; ")]


def test_a_file_that_changes_while_it_is_measured_is_refused(tmp_path):
    path = tmp_path / "part.step"
    path.write_bytes(ADAPTER.read_bytes())

    class Changing(Kernel):
        def ask(self, file, phase, request):
            answer = super().ask(file, phase, request)
            path.write_bytes(ADAPTER.read_bytes() + b"\n")
            return answer

    with Changing() as kernel, pytest.raises(StepFileError, match=r"part\.step: the file was changed while it was"):
        measure_file(str(path), None, kernel)


def test_an_incomplete_file_decides_no_pass(tmp_path):
    data = ADAPTER.read_bytes()
    (tmp_path / "z-passes.step").write_bytes(without(data, b"ADVANCED_FACE", 5))
    job = ADAPTER.with_name("z-passes.fit.yaml")
    (tmp_path / job.name).write_text(job.read_text())
    assert api.check_many(tmp_path, cache=False).exit_code in (1, 3)


def _slowly(data: bytes):
    """What the scan says when every statement is looked at by itself."""
    from fitcheck.measurement import statements

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(statements, "numbers_of", lambda section: None)
        return promise(data)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_looking_at_arrays_says_the_same_as_looking_at_statements(path):
    data = path.read_bytes()
    assert promise(data) == _slowly(data)


@settings(max_examples=150, deadline=None, database=None, derandomize=True)
@given(seed=st.integers(0, 10**9), count=st.integers(1, 3))
def test_damage_is_told_alike_by_arrays_and_by_statements(seed, count):
    chance = random.Random(seed)
    data = bytearray(ADAPTER.read_bytes())
    begin = data.index(b"DATA;") + 5
    for _ in range(count):
        at = chance.randrange(begin, len(data) - 40)
        way = chance.randrange(4)
        if way == 0:
            data[at] = chance.choice(b"#=;()', \nA1.x/*")
        elif way == 1:
            del data[at : at + chance.randrange(1, 30)]
        elif way == 2:
            data[at:at] = chance.choice(
                [b"#", b"=", b";", b"(", b")", b"'", b"#1=A();", b" ", b"NaN", b"#12", b"*/", b"''"]
            )
        else:
            other = chance.randrange(begin, len(data) - 40)
            data[at:at] = data[other : other + 25]
    text = bytes(data)
    found, expected = promise(text), _slowly(text)
    assert found == expected


def test_small_letters_in_entity_names_are_told():
    said = promise(SHELL + b"#5=manifold_solid_brep('',#1);ENDSEC;")
    assert said.faults == ("1 entity name has small letters, which no reader takes (the first: manifold_solid_brep)",)


def test_a_file_in_small_letters_says_why_nothing_was_read(measured):
    text = re.sub(rb"= ([A-Z_]+)\(", lambda found: b"= " + found[1].lower() + b"(", ADAPTER.read_bytes())
    with pytest.raises(StepFileError, match=r"entity names have small letters, which no reader takes"):
        measured(text)
