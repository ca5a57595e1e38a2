"""STL, glTF and DXF files against readers of other makers, and STEP files of couplings without a job."""

import json
import math
from itertools import pairwise

import ezdxf
import pytest
import trimesh

from fitcheck.cli import main
from fitcheck.export.asking import Wanted, request_for_family
from fitcheck.job.model import FAMILIES
from parametric_models.couplings import build
from parametric_models.export.dxf import profile_dxf
from parametric_models.export.request import request_from
from parametric_models.export.worker import export

DISC = ["envelope", "--family", "disc", "--outside-diameter", "34", "--bores", "8", "12"]


def volume(profile, tolerance=1e-4):
    """Volume of the swept body from its outline, ring by ring (frustums), mm³."""
    knots = profile.outline(tolerance)
    return sum(math.pi / 3 * (b - a) * (r * r + r * q + q * q) for (a, r), (b, q) in pairwise(knots))


def test_stl_is_a_closed_mesh_of_the_swept_body(tmp_path):
    out = tmp_path / "disc.stl"
    assert main([*DISC, "-o", str(out)]) == 0
    mesh = trimesh.load(out)
    design = build.coupling("disc", outside_diameter=34.0, bores=(8.0, 12.0))
    assert mesh.is_watertight
    # facets lie within 0.02 mm of the faces, inside the round ones
    assert mesh.volume == pytest.approx(volume(design.profile()), rel=0.005)
    assert mesh.extents == pytest.approx([34.0, 34.0, design.length], abs=0.04)
    assert mesh.bounds[0][2] == pytest.approx(0.0, abs=1e-6)


def test_stl_in_inches(tmp_path):
    out = tmp_path / "disc.stl"
    assert main([*DISC, "-o", str(out), "--unit", "inch"]) == 0
    assert trimesh.load(out).extents[:2] == pytest.approx([34.0 / 25.4] * 2, abs=0.002)


@pytest.mark.parametrize("ending", ["glb", "gltf"])
def test_gltf_is_one_file_in_metres_with_y_up(tmp_path, ending):
    out = tmp_path / f"disc.{ending}"
    assert main([*DISC, "--detail", "-o", str(out)]) == 0
    assert [path.name for path in tmp_path.iterdir()] == [out.name]
    scene = trimesh.load(out)
    design = build.coupling("disc", outside_diameter=34.0, bores=(8.0, 12.0))
    assert scene.extents == pytest.approx([0.034, design.length / 1e3, 0.034], abs=4e-5)
    assert len(scene.geometry) == len(build.detailed(design))
    if ending == "gltf":
        names = [node.get("name") for node in json.loads(out.read_text(encoding="utf-8"))["nodes"]]
        assert {"disc coupling", "motor hub", "disc pack 1", "motor hub cap screw 1"} <= set(names)


def test_dxf_shows_the_profile_to_an_independent_reader(tmp_path):
    out = tmp_path / "z.dxf"
    assert main([*DISC, "--set", "motor.screw_head_end=15", "-o", str(out)]) == 0
    drawing = ezdxf.readfile(out)
    assert drawing.dxfversion == "AC1009"
    assert not drawing.audit().has_errors
    design = build.coupling("disc", outside_diameter=34.0, bores=(8.0, 12.0), motor={"screw_head_end": 15.0})
    profile = design.profile()
    lines = drawing.modelspace().query('LINE[layer=="PROFILE"]')
    most = max(max(line.dxf.start.y, line.dxf.end.y) for line in lines)
    assert profile.largest()[0] - 1e-8 <= most <= profile.largest()[0] + 0.001
    assert most == -min(min(line.dxf.start.y, line.dxf.end.y) for line in lines)
    for line in lines:
        middle = line.dxf.start.lerp(line.dxf.end)
        if abs(line.dxf.start.x - line.dxf.end.x) > 1e-9:
            # outside the profile, and close to it: square to it, which is more along y where it is steep
            over = abs(middle.y) - profile.radius(middle.x)
            slope = abs((line.dxf.end.y - line.dxf.start.y) / (line.dxf.end.x - line.dxf.start.x))
            assert -1e-6 <= over <= 0.0011 * math.hypot(1.0, slope)
    (note,) = drawing.modelspace().query("TEXT")
    assert "unit mm" in note.dxf.text
    (axis,) = drawing.modelspace().query('LINE[layer=="AXIS"]')
    assert axis.dxf.start.y == axis.dxf.end.y == 0.0


def test_dxf_holds_any_title():
    text = profile_dxf([(0.0, 5.0), (10.0, 5.0)], "Kupplung \u00d8 10\nEOF", "mm")
    assert text.isascii()
    assert "Kupplung \\U+00D8 10 EOF" in text


@pytest.mark.parametrize("family", FAMILIES)
def test_detailed_step_of_each_family_has_its_bodies_and_structure(tmp_path, products, family):
    out = tmp_path / "x.step"
    dimensions = {"outside_diameter": 30.0, "bores": [8.0, 10.0]}
    wanted = Wanted(path=str(out), ending="step", detail=True)
    # in this process, as the command's own takes seconds to load the kernel
    export(request_from(request_for_family(family, dimensions, wanted, "mm") | {"target": str(out)}))
    bodies = build.detailed(build.coupling(family, outside_diameter=30.0, bores=(8.0, 10.0)))
    name = family if "joint" in family else f"{family} coupling"
    found = products(out)
    expected = {
        f"{name}/{body.name}" if body.group is None else f"{name}/{body.group}/{body.group} {body.name}": body
        for body in bodies
    }
    assert set(found) == set(expected)
    for path, body in expected.items():
        shape, colour = found[path]
        assert shape.Volume() == pytest.approx(body.shape.Volume(), rel=1e-5)
        assert colour == pytest.approx(body.colour, abs=2e-3)
        box, own = shape.BoundingBox(), body.shape.BoundingBox()
        assert (box.zmin, box.zmax) == pytest.approx((own.zmin, own.zmax), abs=1e-4)
