"""Units as files declare them: under any name, differently in each part of an assembly, or not at all. Lengths mm.

What a unit measures is fixed: 25.4 mm an inch, 304.8 mm a foot (NIST SP 811, from memory).
"""

from __future__ import annotations

import re

import cadquery as cq
import pytest

from fitcheck.measurement.declared_units import length_units, mm_per
from fitcheck.measurement.measure import measure_file
from fitcheck.measurement.options import MeasureOptions
from parametric_models.adapters import Holes, Housing, Seat, housing
from parametric_models.step_files import write_step

MM = re.compile(r"#(\d+) = \( LENGTH_UNIT\(\) NAMED_UNIT\(\*\) SI_UNIT\(\.MILLI\.,\.METRE\.\) \);")


def declared(text, name, size, base="SI_UNIT(.MILLI.,.METRE.)", which=0):
    """The text with the unit of one of its contexts (the first one written) called `name`, of `size` times `base`."""
    found = list(MM.finditer(text))[which]
    new = (
        f"#{found[1]}=(CONVERSION_BASED_UNIT('{name}',#900001)LENGTH_UNIT()NAMED_UNIT(\n #900002));"
        f"#900001=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE({size}),#900003);"
        f"#900002=DIMENSIONAL_EXPONENTS(1.,0.,0.,0.,0.,0.,0.);#900003=(LENGTH_UNIT()NAMED_UNIT(*){base});"
    )
    return text[: found.start()] + new + text[found.end() :]


@pytest.fixture
def written(kernel, tmp_path):
    def run(shape, change, unit=None):
        path = tmp_path / "adapter.step"
        write_step(path, shape)
        path.write_text(change(path.read_text()))
        return measure_file(str(path), MeasureOptions(unit=unit), kernel)

    return run


# Name in the file, its size, what that is of, the name told, and mm of one.
NAMES = [
    ("INCH", "25.4", "SI_UNIT(.MILLI.,.METRE.)", "inch", 25.4),
    ("POUCE", "2.54", "SI_UNIT(.CENTI.,.METRE.)", "inch", 25.4),
    ("", "0.3048", "SI_UNIT($,.METRE.)", "ft", 304.8),
    ("LINE", "2.2558", "SI_UNIT(.MILLI.,.METRE.)", "2.2558 mm", 2.2558),
]


@pytest.mark.parametrize(("name", "size", "base", "told", "mm"), NAMES)
@pytest.mark.parametrize("unit", [None, "mm", "inch"])
def test_a_unit_is_what_it_measures_whatever_it_is_called(written, bench, name, size, base, told, mm, unit):
    found = written(bench.housing(), lambda text: declared(text, name, size, base), unit)
    assert found.file_unit == (unit or told)
    # The file's numbers are those of the housing, whose pilot has 38.1, in the unit declared or the one that is told.
    widest = max(cylinder.diameter for cylinder in found.cylinders if cylinder.kind == "bore")
    assert widest == pytest.approx(38.1 * {None: mm, "mm": 1.0, "inch": 25.4}[unit], rel=1e-9)


def test_a_part_of_an_assembly_with_a_unit_of_its_own(written, bench):
    model = bench.assembly(
        {"adapter": bench.housing(), "block": cq.Solid.makeBox(4.0, 4.0, 4.0, cq.Vector(200.0, 0.0, 0.0))}
    )
    found = written(model, lambda text: declared(text, "INCH", "25.4", which=-1))
    by_name = {body.name: body.volume for body in found.bodies}
    assert by_name["adapter"] == pytest.approx(bench.housing().Volume(), rel=1e-6)
    assert by_name["block"] == pytest.approx((4.0 * 25.4) ** 3, rel=1e-6)
    assert found.file_unit == "mm"
    assert "the file declares several length units (mm, inch); each part was read in its own" in found.warnings
    assert found.ends[0].pilot.diameter == pytest.approx(38.1, abs=1e-6)


def test_a_unit_that_no_shape_has_is_not_told():
    other = (
        "#1=(CONVERSION_BASED_UNIT('',#2)LENGTH_UNIT()NAMED_UNIT(#9));"
        "#2=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),#3);#3=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.));"
        "#4=(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNIT_ASSIGNED_CONTEXT((#3))REPRESENTATION_CONTEXT('',''));"
        "#5=(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNIT_ASSIGNED_CONTEXT((#1))REPRESENTATION_CONTEXT('',''));"
        "#6=ADVANCED_BREP_SHAPE_REPRESENTATION('',(#8),#4);#7=REPRESENTATION('',(#8),#5);"
    )
    assert length_units(other.encode()) == ("mm",)
    assert length_units(other.replace("#7=REP", "#7=SHAPE_REP").encode()) == ("mm", "inch")


@pytest.mark.parametrize(
    "text", [b"", b"GLOBAL_UNIT_ASSIGNED_CONTEXT((#1", b"#1=(GLOBAL_UNIT_ASSIGNED_CONTEXT((#1)));"]
)
def test_a_text_without_a_unit(text):
    assert length_units(text) == ()


def test_units_that_lead_to_each_other_are_none():
    text = (
        b"#1=(CONVERSION_BASED_UNIT('',#2)LENGTH_UNIT());#2=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(2.),#1);"
        b"#3=(GLOBAL_UNIT_ASSIGNED_CONTEXT((#1)));"
    )
    assert length_units(text) == ()


@pytest.mark.parametrize(("name", "mm"), [("inch", 25.4), ("2.5 mm", 2.5), ("elbow", None)])
def test_the_size_of_a_name(name, mm):
    assert mm_per(name) == mm


def test_a_file_without_units_is_taken_in_mm_and_says_so(written, bench):
    found = written(bench.housing(), lambda text: re.sub(r"GLOBAL_UNIT_ASSIGNED_CONTEXT\s*\(\([^)]*\)\)", "", text))
    assert found.ends[0].pilot.diameter == pytest.approx(38.1, abs=1e-6)
    assert found.file_unit == "unknown"
    assert [text for text in found.warnings if text.startswith("the file declares no length unit, so its numbers")]


SMALL = Housing(
    length=38.0, size=42.3, chamber_diameter=21.0,
    motor=Seat(pilot_diameter=22.05, pilot_depth=2.2, opening_diameter=20.0, opening_length=2.5,
               holes=(Holes(layout="square", size=(31.0,), diameter=3.4, depth=None),)),
    actuator=Seat(pilot_diameter=20.02, pilot_depth=2.3, opening_diameter=17.0, opening_length=2.7,
                  holes=(Holes(layout="square", size=(26.0,), diameter=2.5, depth=8.0),)),
)  # fmt: skip


@pytest.mark.parametrize(("name", "size", "hole"), [("INCH", 25.4, "63.5"), ("CM", 10.0, "25")])
def test_a_small_adapter_in_a_wrong_unit_is_told_by_its_holes(written, name, size, hole):
    # Ten times or an inch times as large it is still no larger than 2 m, but no bolt is as wide as its holes.
    found = written(housing(SMALL), lambda text: declared(text, name, size))
    (words,) = [text for text in found.warnings if "unlikely" in text]
    assert words.startswith(f"no hole beside the drive axis is narrower than {hole} mm, which is unlikely for bolts; ")
    assert words.endswith("if they are really in mm, put 'unit: mm' in the job")
    settled = written(housing(SMALL), lambda text: declared(text, name, size), "mm")
    assert not [text for text in settled.warnings if "unlikely" in text]
    assert settled.ends[0].pilot.diameter == pytest.approx(22.05, abs=1e-6)
