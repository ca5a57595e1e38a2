"""What crosses the kernel's boundary: files that are none, bodies' names, units; and the worker outliving its files."""

from __future__ import annotations

import gzip
import os
import re
import signal
import threading

import cadquery as cq
import pytest

from fitcheck.errors import StepFileError
from fitcheck.kernel.client import Kernel
from fitcheck.measurement.measure import measure_file
from fitcheck.measurement.options import MeasureOptions
from fitcheck.measurement.survey import survey_from
from parametric_models.adapters import Holes, Plate, Seat, plate
from parametric_models.adapters.features import cylinder
from parametric_models.step_files import write_step

SEAT = Seat(
    pilot_diameter=38.1, pilot_depth=2.5, opening_diameter=30.0,
    holes=(Holes(layout="square", size=(47.14,), diameter=4.5),),
)  # fmt: skip
PLATE = Plate(width=80.0, height=80.0, thickness=12.0, motor=SEAT)


@pytest.fixture(scope="module")
def good(tmp_path_factory):
    path = tmp_path_factory.mktemp("good") / "plate.step"
    write_step(path, plate(PLATE))
    return path


def _text(words):
    return lambda path, _: path.write_text(words)


POINTS = """\
ISO-10303-21;
HEADER;
FILE_DESCRIPTION((''),'2;1');
FILE_NAME('points','2026-01-01T00:00:00',(''),(''),'','','');
FILE_SCHEMA(('AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }'));
ENDSEC;
DATA;
#1=CARTESIAN_POINT('',(0.,0.,0.));
#2=CARTESIAN_POINT('',(1.,0.,0.));
ENDSEC;
END-ISO-10303-21;
"""

WRONG = {
    "prose": (_text("These are minutes of a meeting.\n"), "this is no STEP file: it does not begin with ISO-10303-21"),
    "empty": (_text(""), "the file is empty"),
    "blank": (_text(" \n\n"), "the file is empty"),
    "pointer": (
        _text("version https://git-lfs.github.com/spec/v1\noid sha256:0\nsize 1\n"), "Git LFS pointer.*git lfs pull",
    ),
    "truncated": (
        lambda path, good: path.write_bytes(good.read_bytes()[:-2000]), "cut off: END-ISO-10303-21 is missing",
    ),
    "wide letters": (
        lambda path, good: path.write_bytes(good.read_text().encode("utf-16")), "stored as UTF-16 text",
    ),
    "wide letters without a mark": (
        lambda path, good: path.write_bytes(good.read_text().encode("utf-16-le")), "stored as UTF-16 text",
    ),
    "byte order mark": (
        lambda path, good: path.write_bytes(b"\xef\xbb\xbf" + good.read_bytes()), "a byte order mark stands before",
    ),
    "packed by gzip": (
        lambda path, good: path.write_bytes(gzip.compress(good.read_bytes())), r"packed \(zip or gzip\); unpack it",
    ),
    "cut off in a signature": (
        lambda path, good: path.write_bytes(good.read_bytes() + SIGNATURE[:-9]), "cut off: END-ISO-10303-21 is missing",
    ),
    "folder": (lambda path, _: path.mkdir(), "is a folder; a STEP file is needed"),
    "missing": (lambda path, _: None, "there is no such file"),
    "points only": (_text(POINTS), "export"),
    "nonsense data": (_text(POINTS.replace("CARTESIAN_POINT", "?!").replace("ENDSEC", "ENDSEQ")), "export"),
}  # fmt: skip


def _schema(text, name):
    changed, count = re.subn(r"FILE_SCHEMA\s*\(\s*\(.*?\)\s*\)\s*;", f"FILE_SCHEMA(('{name}'));", text, flags=re.DOTALL)
    assert count == 1
    return changed


# As the editions name themselves in files (from memory): AP203 first and second, AP214 of the committee and the three
# of the standard, AP242 first to third.
EDITIONS = [
    "CONFIG_CONTROL_DESIGN",
    "AP203_CONFIGURATION_CONTROLLED_3D_DESIGN_OF_MECHANICAL_PARTS_AND_ASSEMBLIES_MIM_LF { 1 0 10303 403 2 1 2 }",
    "AUTOMOTIVE_DESIGN_CC2 { 1 2 10303 214 -1 1 5 4 }", "AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }",
    "AUTOMOTIVE_DESIGN { 1 0 10303 214 3 1 1 }",
    "AP242_MANAGED_MODEL_BASED_3D_ENGINEERING_MIM_LF { 1 0 10303 442 1 1 4 }",
    "AP242_MANAGED_MODEL_BASED_3D_ENGINEERING_MIM_LF { 1 0 10303 442 3 1 4 }",
    "AP242_MANAGED_MODEL_BASED_3D_ENGINEERING_MIM_LF { 1 0 10303 442 4 1 4 }",
]  # fmt: skip

SIGNATURE = (
    b"\nSIGNATURE;\n" + b"MIIBhwYJKoZIhvcNAQcCoIIBeDCCAXQCAQExDzANBglghkgBZQMEAgEFADALBgkq\n" * 120 + b"ENDSEC;\n"
)

WRITINGS = {
    "signed (edition 3)": lambda data: data + SIGNATURE,
    "anchors (edition 3)": lambda data: data.replace(b"DATA;", b"ANCHOR;\n<origin> = #10;\nENDSEC;\nDATA;", 1),
    "two line ends": lambda data: data.replace(b"\n", b"\r\n"),
    "old line ends": lambda data: data.replace(b"\n", b"\r"),
    "one line": lambda data: data.replace(b"\n", b""),
    "comments": lambda data: data.replace(b";\n#1", b"; /* #99 = ( ' */\n#1"),
}


@pytest.mark.parametrize("name", EDITIONS)
def test_each_edition_is_read(kernel, tmp_path, good, name):
    path = tmp_path / "plate.step"
    path.write_text(_schema(good.read_text(), name))
    found = measure_file(str(path), None, kernel)
    assert (found.complete, found.warnings) == (True, measure_file(str(good), None, kernel).warnings)
    assert found.ends[0].pilot.diameter == pytest.approx(38.1, abs=1e-9)


@pytest.mark.parametrize("name", WRITINGS)
def test_each_way_of_writing_is_read(kernel, tmp_path, good, name):
    path = tmp_path / "plate.step"
    path.write_bytes(WRITINGS[name](good.read_bytes()))
    assert path.read_bytes() != good.read_bytes()
    found = measure_file(str(path), None, kernel)
    assert found.complete, found.warnings
    assert found.ends[0].pilot.diameter == pytest.approx(38.1, abs=1e-9)


@pytest.mark.parametrize("name", WRONG)
def test_a_file_that_is_none(kernel, tmp_path, good, name):
    make, words = WRONG[name]
    path = tmp_path / "part.step"
    make(path, good)
    with pytest.raises(StepFileError, match=words) as caught:
        measure_file(str(path), None, kernel)
    assert str(caught.value).startswith(f"{path}: ")
    assert caught.value.exit_code == 3
    # One line for people, and nothing of the kernel's own words.
    assert "\n" not in str(caught.value)
    assert not re.search(r"Traceback|Standard_|0x", str(caught.value))
    # The next file is measured as if nothing had been.
    assert measure_file(str(good), None, kernel).ends[0].pilot.diameter == pytest.approx(38.1, abs=1e-6)


@pytest.mark.skipif(os.name != "posix", reason="kills the worker by a signal")
def test_a_killed_worker_is_told_with_file_and_phase_and_replaced(good):
    with Kernel() as client:
        client.start()
        pid = client.reader.popen.pid
        # It hears nothing any more, so the request waits; then it dies while reading.
        os.kill(pid, signal.SIGSTOP)
        killer = threading.Timer(0.3, os.kill, (pid, signal.SIGKILL))
        killer.start()
        with pytest.raises(StepFileError, match=r"plate\.step: the CAD kernel crashed while reading \(signal 9\)"):
            measure_file(str(good), None, client)
        killer.join()
        assert measure_file(str(good), None, client).drive_axis is not None


def test_a_file_that_takes_too_long_is_told_with_its_phase(good):
    with Kernel(time_limit=0.001) as client:
        with pytest.raises(StepFileError, match=r"plate\.step: reading took longer than 0\.001 s and was stopped"):
            measure_file(str(good), None, client)
        client.time_limit = 60.0
        assert measure_file(str(good), None, client).drive_axis is not None


class TestNames:
    def test_nested_names_instances_and_places(self, kernel, tmp_path):
        sub = cq.Assembly(name="spindle group")
        sub.add(cylinder(10.0, 0.0, 20.0), name="shaft", loc=cq.Location(cq.Vector(0, 0, 100)))
        pin = cylinder(3.0, 0.0, 9.0)
        sub.add(pin, name="pin", loc=cq.Location(cq.Vector(50, 0, 0)))
        top = cq.Assembly(name="gantry")
        top.add(plate(PLATE), name="motor plate")
        top.add(sub, name="left group", loc=cq.Location(cq.Vector(200, 0, 0)))
        path = tmp_path / "gantry.step"
        write_step(path, top)
        answer, arrays = kernel.ask(str(path), "reading", {"do": "read", "path": str(path)})
        names = [body["name"] for body in answer["bodies"]]
        assert len(names) == 3
        assert sum(name.endswith("shaft") for name in names) == 1
        shaft = next(body for body in answer["bodies"] if body["name"].endswith("shaft"))
        assert "shaft" in shaft["names"]
        # Both places count: 200 along x by the group, 100 along z by the shaft's own.
        index = answer["bodies"].index(shaft)
        volumes, _ = kernel.ask(str(path), "weighing", {"do": "volumes"})
        assert volumes["volumes"][index] == pytest.approx(3.141592653589793 * 25.0 * 20.0, rel=1e-9)
        survey = survey_from(answer, arrays)
        (round_face,) = [face for face in survey.faces if face.body == index and face.kind == "cylinder"]
        assert round_face.origin[:2] == pytest.approx((200.0, 0.0), abs=1e-9)
        heights = [point[2] for edge in survey.edges_of(round_face) for point in (edge.a, edge.b)]
        assert (min(heights), max(heights)) == pytest.approx((100.0, 120.0), abs=1e-9)

    def test_the_same_part_used_twice_has_two_names(self, kernel, tmp_path):
        pin = cylinder(3.0, 0.0, 9.0)
        top = cq.Assembly(name="pair")
        top.add(pin, name="pin", loc=cq.Location(cq.Vector(0, 0, 0)))
        top.add(pin, name="pin again", loc=cq.Location(cq.Vector(20, 0, 0), cq.Vector(1, 0, 0), 90.0))
        path = tmp_path / "pair.step"
        write_step(path, top)
        answer, arrays = kernel.ask(str(path), "reading", {"do": "read", "path": str(path)})
        assert len({body["name"] for body in answer["bodies"]}) == 2
        axes = [face.axis for face in survey_from(answer, arrays).faces if face.kind == "cylinder"]
        assert sorted(round(abs(axis[2])) for axis in axes) == [0, 1]

    def test_a_single_part_has_its_product_s_name(self, kernel, good):
        assert [body.name for body in measure_file(str(good), None, kernel).bodies] == ["plate"]


class TestUnits:
    def test_declared_units_are_converted(self, kernel, tmp_path):
        path = tmp_path / "plate.step"
        for unit in ("mm", "inch"):
            write_step(path, plate(PLATE), unit=unit)
            found = measure_file(str(path), None, kernel)
            assert found.file_unit == unit
            assert found.ends[0].pilot.diameter == pytest.approx(38.1, abs=1e-9)

    @pytest.mark.parametrize(
        ("prefix", "unit", "scale"), [("CENTI", "cm", 10.0), ("$", "m", 1000.0), ("DECI", None, 100.0)]
    )
    def test_other_metric_units(self, kernel, tmp_path, good, prefix, unit, scale):
        # The same numbers under another unit are as many times larger.
        text = good.read_text()
        word = prefix if prefix == "$" else f".{prefix}."
        changed, count = re.subn(r"SI_UNIT\(\.MILLI\.,\.METRE\.\)", f"SI_UNIT({word},.METRE.)", text)
        assert count == 1
        path = tmp_path / "plate.step"
        path.write_text(changed)
        found = measure_file(str(path), None, kernel)
        if unit is not None:
            assert found.file_unit == unit
        widest = max(cylinder.diameter for cylinder in found.cylinders)
        assert widest == pytest.approx(38.1 * scale, rel=1e-9)

    @pytest.mark.parametrize(("unit", "scale"), [("inch", 25.4), ("cm", 10.0), ("m", 1000.0), ("mm", 1.0)])
    def test_the_job_s_unit_overrides_the_file_s(self, kernel, good, unit, scale):
        found = measure_file(str(good), MeasureOptions(unit=unit), kernel)
        assert found.file_unit == unit
        widest = max(cylinder.diameter for cylinder in found.cylinders)
        assert widest == pytest.approx(38.1 * scale, rel=1e-9)

    @pytest.mark.parametrize("unit", ["mm", "cm", "inch"])
    def test_an_override_works_on_inches_too(self, kernel, tmp_path, unit):
        # Numbers of 1.5 under "inch" that are really 1.5 of another unit.
        path = tmp_path / "plate.step"
        write_step(path, plate(PLATE), unit="inch")
        found = measure_file(str(path), MeasureOptions(unit=unit), kernel)
        scale = {"mm": 1.0, "cm": 10.0, "inch": 25.4}[unit]
        widest = max(cylinder.diameter for cylinder in found.cylinders)
        assert widest == pytest.approx(38.1 / 25.4 * scale, rel=1e-9)


def test_surfaces_without_a_solid_are_measured_and_said(kernel, tmp_path):
    (shell,) = plate(PLATE).Shells()
    path = tmp_path / "shell.step"
    write_step(path, shell)
    found = measure_file(str(path), None, kernel)
    assert any("surfaces and no solid" in warning for warning in found.warnings)
    assert found.ends[0].pilot.diameter == pytest.approx(38.1, abs=1e-9)
