"""Couplings in CadQuery models: invoke, eachpoint, Assembly.add and mates; and the documented script as it stands."""

import math
import re
from pathlib import Path

import cadquery as cq
import pytest

from fitcheck.errors import UsageError
from parametric_models import cadquery_plugin as couplings

README = Path(__file__).resolve().parents[3] / "parametric_models" / "README.md"


@pytest.fixture(scope="module")
def jaw():
    return couplings.design("jaw", outside_diameter=30.0, bores=(8.0, 10.0))


def test_the_documented_script_runs(capsys):
    (script,) = re.findall(r"```python\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)
    exec(compile(script, README.name, "exec"), {})
    assert capsys.readouterr().out.splitlines() == [
        "length 35.4 mm, swept diameter 30.0 mm",
        "3 envelopes",
        "the motor hub's face lies at z = 5.000",
        "showing drive with {'axes': True}",
    ]


def test_a_chamber_is_what_the_coupling_sweeps_and_the_clearance(jaw):
    # by hand: chamfered ends of 0.4 mm lie within the clearance's square corners, so the cut is a plain cylinder
    # of radius 15 + 1, 35.4 + 2 long, but for the chamfers: rings of 0.4 mm, 0.4 mm lower
    block = cq.Workplane().box(60.0, 60.0, 60.0)
    cut = block.invoke(couplings.chamber(jaw, clearance=1.0, start=-17.7))
    removed = 60.0**3 - cut.val().Volume()
    chamfer = 0.4
    plain = math.pi * 16.0**2 * 37.4
    assert plain - 2 * math.pi * 32.0 * chamfer * chamfer <= removed <= plain
    coupling = couplings.assembly(jaw).toCompound().moved(cq.Location(cq.Vector(0, 0, -17.7)))
    assert cut.val().distance(coupling) == pytest.approx(1.0, abs=1e-6)


def test_an_envelope_with_clearance_keeps_it_everywhere():
    protruding = couplings.design("rigid", outside_diameter=30.0, bores=(8.0, 10.0), motor={"screw_head_end": 15.0})
    tight, wide = couplings.envelope(protruding), couplings.envelope(protruding, clearance=0.8)
    assert wide.isValid()
    assert tight.cut(wide).Volume() == pytest.approx(0.0, abs=1e-9)
    outer = wide.Faces()
    for vertex in tight.Vertices():
        assert min(vertex.distance(face) for face in outer) >= 0.8 - 1e-6
    box = wide.BoundingBox(1e-4)
    assert box.zmin == pytest.approx(-0.8, abs=1e-4)
    assert box.zlen == pytest.approx(protruding.length + 1.6, abs=1e-3)
    with pytest.raises(UsageError, match=r"the clearance -1 mm must not be less than 0 mm"):
        couplings.envelope(protruding, clearance=-1.0)


def test_each_point_gets_a_coupling_along_the_normal(jaw):
    for detail, solids in ((False, 1), (True, 5)):
        put = couplings.at_points(jaw, detail=detail)
        row = cq.Workplane("YZ").rarray(40.0, 1.0, 3, 1).eachpoint(put, useLocalCoordinates=True)
        assert row.solids().size() == 3 * solids
        box = row.vals()[0].BoundingBox(1e-4)
        assert box.xmin == pytest.approx(0.0, abs=1e-3)
        assert box.xlen == pytest.approx(jaw.length, abs=1e-3)


@pytest.mark.parametrize("detail", [True, False])
def test_mates_put_both_hubs_where_they_belong(jaw, detail):
    plate = cq.Workplane().box(50.0, 50.0, 4.0)
    plate.faces(">Z").tag("seat")
    made = couplings.assembly(jaw, name="coupling", detail=detail)
    drive = cq.Assembly(name="drive").add(plate, name="plate").add(made, loc=cq.Location((30, 5, 7), (1, 1, 0), 40))
    drive.constrain("plate", "Fixed")
    drive.constrain("plate?seat", couplings.mate(made, "actuator_face"), "Plane")
    drive.constrain("plate?seat", couplings.mate(made, "axis"), "Axis", param=180.0)
    drive.solve()
    box = drive.children[1].toCompound().BoundingBox(1e-4)
    # the other way round: the actuator's hub stands on the plate
    assert (box.zmin, box.zmax) == pytest.approx((2.0, 2.0 + jaw.length), abs=1e-3)
    assert (box.xmin + box.xmax, box.ymin + box.ymax) == pytest.approx((0.0, 0.0), abs=1e-2)


def test_an_unknown_mate_is_told(jaw):
    with pytest.raises(UsageError, match="mate 'bore' is unknown; there are: axis, motor_face, actuator_face"):
        couplings.mate(couplings.assembly(jaw, detail=False), "bore")


def test_a_viewer_gets_the_model_and_the_keywords(jaw):
    def viewer(model, **options):
        return model, options

    model = couplings.envelope(jaw)
    assert couplings.show(model, viewer=viewer, colour="red") == (model, {"colour": "red"})
