"""Names of bodies as files have them: instances of one product, letters outside ASCII in several encodings."""

from __future__ import annotations

import re

import cadquery as cq
import pytest

from fitcheck.measurement.measure import measure_file
from fitcheck.measurement.options import MeasureOptions, matches
from parametric_models.step_files import write_step

INSTANCE = re.compile(r"(NEXT_ASSEMBLY_USAGE_OCCURRENCE\(\s*'[^']*',\s*)'([^']*)'")


@pytest.fixture
def written(kernel, tmp_path):
    def run(model, change, options=None, encoding="ascii"):
        path = tmp_path / "part.step"
        write_step(path, model)
        before = path.read_text()
        assert change(before) != before
        path.write_bytes(change(before).encode(encoding))
        return measure_file(str(path), options, kernel)

    return run


def test_the_names_of_instances_tell_two_uses_of_one_drive_apart(written, bench):
    drive = cq.Assembly(bench.housing(), name="Adapter")
    model = cq.Assembly(name="gantry")
    for name, y in (("one", 0.0), ("two", 300.0)):
        sub = cq.Assembly(name=name)
        sub.add(drive, name=f"{name} adapter")
        model.add(sub, loc=cq.Location((0.0, y, 0.0)))
    names = {"one": "left", "two": "right"}

    def change(text):
        # Products are called alike, only the uses of them differ.
        text = INSTANCE.sub(lambda use: f"{use[1]}'{names.get(use[2], use[2])}'", text)
        text = re.sub(r"PRODUCT\('(one|two)','(one|two)'", "PRODUCT('Drive','Drive'", text)
        return re.sub(r"PRODUCT\('(one|two) adapter','(one|two) adapter'", "PRODUCT('Adapter','Adapter'", text)

    both = written(model, change)
    assert both.drive_axis is None
    assert {body.name for body in both.bodies} == {"Drive/Adapter (1)", "Drive/Adapter (2)"}
    for ignored, y in (("left", 300.0), ("right", 0.0)):
        found = written(model, change, MeasureOptions(ignore=(ignored,)))
        assert found.drive_axis.origin[1] == pytest.approx(y, abs=1e-9)
        assert sorted(body.role for body in found.bodies) == ["adapter", "ignored"]


@pytest.mark.parametrize("pattern", ["Bracket [rev B]", "bracket [*", "*B]", "bracket ?rev b]"])
def test_brackets_in_a_name_stand_for_themselves(pattern):
    assert matches((pattern,), ("Bracket [rev B]",))
    assert not matches((pattern,), ("Bracket r", "Bracket B"))


@pytest.mark.parametrize(
    ("text", "encoding"),
    [("Gehäuse 7", "utf-8"), ("Корпус", "utf-8"), ("Gehäuse 7", "latin-1"), ("Boîtier €5", "cp1252")],
)
def test_letters_of_a_name(written, bench, text, encoding):
    found = written(bench.housing(), lambda step: step.replace("'part'", f"'{text}'"), encoding=encoding)
    assert [body.name for body in found.bodies] == [text]
    # The next file is read in its own way again.
    again = written(bench.housing(), lambda step: step.replace("'part'", "'Gehäuse'"), encoding="utf-8")
    assert [body.name for body in again.bodies] == ["Gehäuse"]
