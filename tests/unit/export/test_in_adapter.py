"""`fitcheck envelope JOB`: the coupling where the job puts it, read back by other readers than its writer."""

import math
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from fitcheck.api import measure
from fitcheck.cli import main
from parametric_models.export.request import request_from
from parametric_models.export.worker import export

SAMPLES = Path(__file__).resolve().parents[3] / "sample_assemblies"
HEAD = math.hypot(13.1, 9.0 + 5.68 / 2)
"""Swept radius of the sample's screw heads by hand: M3 head 5.68 across (ISO 4762, knurled), corner (13.1, 11.84)."""


def radius_at(rows, station):
    return max(
        max(r0, r1) if s1 == s0 else r0 + (r1 - r0) * (station - s0) / (s1 - s0)
        for (s0, r0), (s1, r1) in pairwise(rows)
        if s0 <= station <= s1
    )


def test_read_back_the_envelope_measures_what_the_job_says(job_file, tmp_path, products):
    job, out = job_file("failing/z-screw-head-rubs"), tmp_path / "z-drive.step"
    assert main(["envelope", str(job), "-o", str(out), "--with-adapter"]) == 0
    assert list(products(out)) == [
        "z-drive/z-screw-head-rubs", "z-drive/coupling double slit 32 x 40 envelope",
    ]  # fmt: skip
    found = measure(out, cache=False)
    coupling = found.coupling
    # shaft ends at 21 and 37, so that a coupling of 40 mm begins at 9
    assert (coupling.start, coupling.stop) == pytest.approx((9.0, 49.0), abs=1e-6)
    assert coupling.radius == pytest.approx(HEAD, abs=1e-3)
    assert coupling.radius >= HEAD
    assert radius_at(coupling.profile, 29.0) == pytest.approx(16.0, abs=1e-6)
    for station in np.linspace(14.0 - 2.8, 14.0 + 2.8, 57):
        half = math.sqrt((5.68 / 2) ** 2 - (station - 14.0) ** 2)
        assert radius_at(coupling.profile, station) == pytest.approx(math.hypot(13.1, 9.0 + half), abs=0.0035)
    alone = measure(tmp_path / "z-screw-head-rubs.step", cache=False)
    assert found.free_radius.least == pytest.approx(alone.free_radius.least, abs=1e-6)
    assert [end.pilot.diameter for end in found.ends] == [end.pilot.diameter for end in alone.ends]


def test_with_the_adapter_its_bodies_names_and_colours_are_kept(job_file, tmp_path, products):
    job, out = job_file("passing/z-full-assembly"), tmp_path / "all.step"
    assert main(["envelope", str(job), "-o", str(out), "--detail", "--with-adapter"]) == 0
    before, after = products(tmp_path / "z-full-assembly.step"), products(out)
    assert before["z-drive/adapter"][1] is not None
    for name, (shape, colour) in before.items():
        same, tint = after.pop(name)
        assert tint == colour
        assert len(same.Faces()) == len(shape.Faces())
        assert same.Volume() == pytest.approx(shape.Volume(), rel=1e-12)
        corners = [np.array([vertex.toTuple() for vertex in body.Vertices()]) for body in (same, shape)]
        assert np.abs(corners[0] - corners[1]).max() < 1e-9
    home = "z-drive/coupling double slit 32 x 40"
    assert sorted(after) == [
        f"{home}/actuator hub/actuator hub cap screw 1", f"{home}/body", f"{home}/motor hub/motor hub cap screw 1",
    ]  # fmt: skip
    assert all(colour is not None and shape.isValid() for shape, colour in after.values())
    roles = {body.name: body.role for body in measure(out, cache=False).bodies}
    assert [roles[name.removeprefix("z-drive/")] for name in after] == ["coupling"] * 3


def test_a_detailed_coupling_measures_as_the_job_says(job_file, tmp_path):
    job, out = job_file("failing/z-screw-head-rubs"), tmp_path / "z-drive.step"
    assert main(["envelope", str(job), "-o", str(out), "--detail", "--with-adapter"]) == 0
    coupling = measure(out, cache=False).coupling
    assert (coupling.start, coupling.stop) == pytest.approx((9.0, 49.0), abs=1e-6)
    assert coupling.radius == pytest.approx(HEAD, abs=1e-3)
    assert coupling.outside_diameter == pytest.approx(32.0, abs=1e-6)
    assert [bore.diameter for bore in coupling.bores] == pytest.approx([8.0, 10.0], abs=1e-6)
    assert [bore.stop - bore.start for bore in coupling.bores] == pytest.approx([13.0, 13.0], abs=1e-6)


def test_an_inch_file_stays_one(job_file, tmp_path, products):
    job, out = job_file("passing/x-in-inches"), tmp_path / "x.step"
    assert main(["envelope", str(job), "-o", str(out), "--with-adapter"]) == 0
    assert b"CONVERSION_BASED_UNIT('INCH'" in out.read_bytes()
    found = measure(out, cache=False)
    assert found.file_unit == "inch"
    assert (found.coupling.start, found.coupling.stop) == pytest.approx((0.3625 * 25.4, 1.8625 * 25.4), abs=1e-6)
    assert found.coupling.radius == pytest.approx(0.625 * 25.4, abs=1e-6)
    before = products(tmp_path / "x-in-inches.step")["x-in-inches"][0]
    after = next(shape for name, (shape, _) in products(out).items() if name.endswith("x-in-inches"))
    assert after.Volume() == pytest.approx(before.Volume(), rel=1e-12)


def test_the_coupling_alone_lies_in_the_files_own_frame(job_file, tmp_path, products):
    # this adapter lies along the file's x direction
    job, out = job_file("passing/x-passes"), tmp_path / "x.step"
    assert main(["envelope", str(job), "-o", str(out)]) == 0
    ((shape, _),) = products(out).values()
    box, measured = shape.BoundingBox(1e-5), measure(tmp_path / "x-passes.step", cache=False)
    start = measured.point(10.0)
    assert (box.xmin, box.xmax) == pytest.approx((start[0], start[0] + 42.0), abs=1e-3)
    assert (box.ymin, box.ymax, box.zmin, box.zmax) == pytest.approx((-17.0, 17.0, -17.0, 17.0), abs=1e-3)


def test_a_wrongly_declared_unit_keeps_the_files_numbers(tmp_path, products):
    # the file declares mm and means cm, says the job: a coupling 400 mm long has the length 40 in the file
    out = tmp_path / "z.step"
    step = SAMPLES / "passing" / "z-passes.step"
    place = {"origin": [0, 0, 0], "direction": [0, 0, 1], "across": [1, 0, 0], "start": 90.0, "angle": 0.0}
    request = {
        "target": str(out), "ending": "step", "title": "z.step", "time": "2026-01-01T00:00:00", "view": "envelope",
        "unit": "cm", "name": "coupling", "asked": None, "family": "slit",
        "dimensions": {"outside_diameter": 320.0, "bores": [80.0, 80.0], "length": 400.0}, "place": place,
        "adapter": {"path": str(step), "unit": "cm", "include": True}, "tools": [],
    }  # fmt: skip
    assert export(request_from(request))["unit"] == "mm"
    found = products(out)
    box = found["z/coupling envelope"][0].BoundingBox(1e-5)
    assert (box.zmin, box.zmax, box.xmax) == pytest.approx((9.0, 49.0, 16.0), abs=1e-3)
    adapter = found["z/z-passes"][0].BoundingBox()
    assert (adapter.zmin, adapter.zmax) == pytest.approx((0.0, 58.0), abs=1e-6)


def test_tool_corridors_stand_on_the_screws_in_a_signal_colour(job_file, tmp_path, products):
    job, out = job_file("passing/z-passes"), tmp_path / "z.step"
    assert main(["envelope", str(job), "-o", str(out), "--detail", "--with-adapter", "--tool-corridors"]) == 0
    found = products(out)
    tools = {name: pair for name, pair in found.items() if "tool corridor, " in name}
    assert len(tools) == 2
    adapter = found["z/z-passes"][0]
    heads = [shape for name, (shape, _) in found.items() if "cap screw" in name]
    for tool, colour in tools.values():
        assert colour == (1.0, 0.4, 0.0)
        # where it is drawn it comes in: the kernel finds nothing of the adapter in its way
        assert tool.intersect(adapter).Volume() == pytest.approx(0.0, abs=1e-9)
        assert min(tool.distance(head) for head in heads) < 1e-6
    again = measure(out, cache=False)
    assert [body.role for body in again.bodies if "tool corridor" in body.name] == ["ignored"] * 2
    assert again.coupling.radius == pytest.approx(16.0, abs=1e-6)
    assert min(tool.BoundingBox().DiagonalLength for tool, _ in tools.values()) > 20.0
