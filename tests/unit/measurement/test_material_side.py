"""On which side of a face the material lies: asked of the solid, not believed of a flag."""

import re
from pathlib import Path

from fitcheck.kernel.client import Kernel
from fitcheck.measurement.measure import measure_file

SAMPLE = Path(__file__).parents[3] / "sample_assemblies" / "passing" / "z-passes.step"


def test_turned_orientation_flags_change_nothing(tmp_path):
    text = SAMPLE.read_text(encoding="utf-8")
    cylinders = set(re.findall(r"#(\d+) = CYLINDRICAL_SURFACE", text))
    turned = {".T.": ".F.", ".F.": ".T."}
    pattern = re.compile(r"(ADVANCED_FACE\([^;]*?,)#(\d+),(\.[TF]\.)\)")
    changed = pattern.sub(
        lambda m: f"{m[1]}#{m[2]},{turned[m[3]]})" if m[2] in cylinders else m[0],
        text,
    )
    assert changed != text
    path = tmp_path / "turned.step"
    path.write_text(changed, encoding="utf-8")
    with Kernel() as kernel:
        there, here = measure_file(str(path), kernel=kernel), measure_file(str(SAMPLE), kernel=kernel)
    assert there.complete
    assert {c.diameter for c in there.cylinders if c.kind == "bore"} == {
        c.diameter for c in here.cylinders if c.kind == "bore"
    }
    assert [end.pilot.diameter for end in there.ends] == [end.pilot.diameter for end in here.ends]


class Contradicting(Kernel):
    """A kernel whose solids say that the material lies on the other side."""

    def ask(self, file, phase, request):
        answer, arrays = super().ask(file, phase, dict(request))
        if request["do"] == "side":
            answer = {"agrees": [False for _ in answer["agrees"]]}
        return answer, arrays


def test_a_contradiction_leaves_the_measurement_incomplete():
    with Contradicting() as kernel:
        found = measure_file(str(SAMPLE), kernel=kernel)
    assert not found.complete
    assert any("z-passes: the faces' orientation contradicts where the material lies" in w for w in found.warnings)


class InsideOut(Kernel):
    """A kernel that reads every shell inside out, as some files have them."""

    def ask(self, file, phase, request):
        answer, arrays = super().ask(file, phase, dict(request))
        if request["do"] == "read":
            answer["out"] = [-out for out in answer["out"]]
        if request["do"] == "volumes":
            answer = {"volumes": [-volume for volume in answer["volumes"]]}
        return answer, arrays


def test_a_shell_that_is_inside_out_is_turned():
    with InsideOut() as kernel, Kernel() as right:
        assert measure_file(str(SAMPLE), kernel=kernel) == measure_file(str(SAMPLE), kernel=right)
