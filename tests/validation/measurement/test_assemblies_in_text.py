"""Files that no writer here makes, put together from text: several units, odd placements, parts in other files."""

from __future__ import annotations

import re

import pytest

from fitcheck.measurement.measure import measure_file
from fitcheck.measurement.options import MeasureOptions
from parametric_models.adapters import Holes
from parametric_models.faces import as_bsplines, split_cylinders
from parametric_models.machines import MachineBody, ShaftEnd, ShaftFlat, actuator, motor
from parametric_models.step_files import write_step

MOTOR = MachineBody(
    flange_size=(56.4, 56.4), flange_thickness=5.0, body_size=(54.0, 54.0), body_length=70.0, register_diameter=38.0,
    register_height=1.6, holes=(Holes(layout="square", size=(47.14,), diameter=5.0),),
    shaft=ShaftEnd(diameter=8.0, length=21.0, chamfer=0.5, flat=ShaftFlat(length=12.0, height=7.0)),
)  # fmt: skip
ACTUATOR = MachineBody(
    flange_size=(58.0, 58.0), flange_thickness=10.0, body_size=(58.0, 40.0), body_length=140.0, register_diameter=33.9,
    register_height=2.0, shaft=ShaftEnd(diameter=10.0, length=20.0),
)  # fmt: skip


def sections(text):
    begin, end = text.index("DATA;") + 5, text.rindex("ENDSEC;")
    return text[:begin], text[begin:end], text[end:]


@pytest.fixture
def joined(tmp_path):
    """One file of several, each part with the length unit that it was written in: `joined({name: (shape, unit)})`."""

    def join(parts):
        path = tmp_path / "joined.step"
        data = ""
        for index, (name, (shape, unit)) in enumerate(parts.items()):
            write_step(path, shape, unit=unit, name=name)
            head, own, tail = sections(path.read_text())
            data += re.sub(r"#(\d+)", lambda found, shift=200_000 * index: f"#{int(found[1]) + shift}", own)
        path.write_text(head + data + tail)
        return str(path)

    return join


def check(found, micron=1e-6):
    """The drive as it was built; all of it in closed form."""
    first, second = found.ends
    assert (first.role, second.role) == ("motor", "actuator")
    assert (first.pilot.diameter, second.pilot.diameter) == pytest.approx((38.1, 34.0), abs=micron)
    shaft = first.shaft
    assert (shaft.diameter, shaft.end, shaft.full_from, shaft.full_to) == pytest.approx(
        (8.0, 21.0, 1.6, 20.5), abs=micron
    )
    assert (shaft.flat.length, shaft.flat.height) == pytest.approx((12.0, 7.0), abs=micron)
    assert (first.machine_register.diameter, first.machine_register.height) == pytest.approx((38.0, 1.6), abs=micron)
    assert (second.seat, second.shaft.diameter, second.shaft.end) == pytest.approx((60.0, 10.0, 40.0), abs=micron)


UNITS = [("mm", "inch", "m"), ("inch", "mm", "cm"), ("m", "m", "inch"), ("cm", "inch", "inch")]


@pytest.mark.parametrize("units", UNITS, ids=" ".join)
def test_several_length_units_in_one_file(kernel, joined, bench, units):
    shapes = {"adapter": bench.housing(), "motor": motor(MOTOR), "actuator": actuator(ACTUATOR, 60.0)}
    path = joined({name: (shape, unit) for (name, shape), unit in zip(shapes.items(), units, strict=True)})
    found = measure_file(path, None, kernel)
    check(found)
    assert found.complete
    assert found.file_unit == units[0]
    (words,) = [text for text in found.warnings if "several length units" in text]
    assert f"({', '.join(dict.fromkeys(units))}); each part was read in its own" in words


def test_a_unit_of_the_job_scales_all_parts_alike_and_says_so(kernel, joined, bench):
    path = joined({"adapter": (bench.housing(), "inch"), "block": (motor(MOTOR), "mm")})
    found = measure_file(path, MeasureOptions(unit="cm"), kernel)
    # What was 38.1 mm as 1.5 inch is 1.5 cm.
    assert max(c.diameter for c in found.cylinders if c.body == "adapter") == pytest.approx(15.0, abs=1e-6)
    assert any("then all were scaled as if the inch were cm" in text for text in found.warnings)


SYSTEMS = {
    "analytic, mm, AP242": (lambda body: body, "mm", "AP242"),
    "halves, inch, AP203": (lambda body: split_cylinders(body, 2), "inch", "AP203"),
    "b-splines, m, AP214": (as_bsplines, "m", "AP214"),
    "b-splines in thirds, cm, AP203": (lambda body: as_bsplines(split_cylinders(body, 3)), "cm", "AP203"),
}


@pytest.mark.parametrize("name", SYSTEMS)
def test_the_same_motor_from_several_systems_gives_the_same_numbers(measured, bench, name):
    dress, unit, schema = SYSTEMS[name]
    bodies = {"adapter": bench.housing(), "motor": dress(motor(MOTOR)), "actuator": actuator(ACTUATOR, 60.0)}
    found = measured(bench.assembly(bodies), unit=unit, schema=schema)
    check(found, 5e-3)
    assert found.warnings == ()
    assert found.bodies[1].volume == pytest.approx(motor(MOTOR).Volume(), rel=2e-5)


def placed(text, operator):
    """The file with its only solid placed by an operator instead of by itself."""
    head, data, tail = sections(text)
    own = re.search(r"#(\d+) = ADVANCED_BREP_SHAPE_REPRESENTATION\('[^']*',\((#\d+),(#\d+)\),(#\d+)\)", data)
    assert own is not None
    rep, axis, solid, context = own.groups()
    data = data.replace(own[0], f"#{rep} = SHAPE_REPRESENTATION('',({axis},#90000906),{context})")
    more = (
        "#900=DIRECTION('',(1.,0.,0.));#901=DIRECTION('',(-1.,0.,0.));#902=DIRECTION('',(0.,1.,0.));"
        f"#903=DIRECTION('',(0.,0.,1.));#904=CARTESIAN_POINT('',(100.,20.,0.));#905={operator};"
        f"#906=MAPPED_ITEM('',#907,#905);#907=REPRESENTATION_MAP({axis},#908);"
        f"#908=SHAPE_REPRESENTATION('base',({axis},{solid}),{context});"
    )
    return head + data + re.sub(r"#(90\d)\b", r"#90000\1", more) + tail


TURNED = "AXIS2_PLACEMENT_3D('',#904,#903,#902)"
OPERATOR = "CARTESIAN_TRANSFORMATION_OPERATOR_3D"
PLACES = {
    "turned": (TURNED, None),
    "moved by an operator": (f"{OPERATOR}('','',$,#900,#902,#904,1.,#903)", None),
    "moved, no scale given": (f"{OPERATOR}('','',$,#900,#902,#904,$,#903)", None),
    "mirrored": (f"{OPERATOR}('','',$,#901,#902,#904,1.,#903)", "a part is placed mirrored, which the CAD kernel"),
    "scaled": (f"{OPERATOR}('','',$,#900,#902,#904,25.4,#903)", "a part is placed scaled, which the CAD kernel"),
    "too few attributes": (f"{OPERATOR}('',#900,#902,#904,1.,#903)", "placed in a way that is no valid STEP"),
}


@pytest.mark.parametrize("name", PLACES)
def test_parts_placed_as_mapped_items(kernel, tmp_path, bench, name):
    how, words = PLACES[name]
    path = tmp_path / "placed.step"
    write_step(path, bench.housing(), name="adapter")
    path.write_text(placed(path.read_text(), how))
    found = measure_file(str(path), None, kernel)
    if words is not None:
        assert not found.complete
        assert any(words in text for text in found.warnings)
        return
    assert found.complete, found.warnings
    assert found.drive_axis.origin == pytest.approx((100.0, 20.0, 0.0), abs=1e-6)
    assert found.ends[0].pilot.diameter == pytest.approx(38.1, abs=1e-6)
