"""The loader: what a job comes to, and that everything wrong is told with its line and the nearest valid word."""

import os
import subprocess
import sys
from dataclasses import replace

import pytest

from fitcheck.errors import JobError
from fitcheck.job import load_job, loaded, parse_job
from fitcheck.job.model import Bodies, Coupling, Hub, Hubs, Job, LoadedJob, Machine, Screw, Shaft


def line_of(text: str, part: str) -> int:
    return next(number for number, row in enumerate(text.splitlines(), 1) if part in row)


def refused(text: str) -> list[str]:
    """The lines of the error's text."""
    with pytest.raises(JobError) as caught:
        parse_job(text, "z.fit.yaml", "jobs")
    assert caught.value.exit_code == 2
    return str(caught.value).splitlines()


def test_full_job(full):
    result = parse_job(full, "jobs/z.fit.yaml", "jobs")
    job = result.job
    assert job.bodies == Bodies(adapter=("bracket*",), ignore=("bolt*", "washer ?"))
    assert job.axis.near == (0.0, 0.0, 38.1)
    assert job.motor.shaft is not None
    assert job.motor.shaft.diameter == 6.35
    assert job.motor.frame == "NEMA 23"
    assert job.actuator.bolts is not None
    assert job.actuator.bolts.size == (40.0, 60.0)
    assert job.coupling.hubs.motor.screws[0].angle == pytest.approx(28.6478897565412, abs=1e-12)  # 0.5 * 180/pi
    assert job.coupling.hubs.actuator.screws[0] == Screw(size="M4", kind="set screw", station=6.0, angle=90.0)
    assert job.require.radial_clearance == 0.508
    assert job.require.tools == ("hex key", "bit in holder")
    assert result.file == "jobs/z.fit.yaml"
    assert result.step_path == os.path.join("jobs", "z-adapter.step")
    assert result.lines["coupling.hubs.motor.screws.0.size"] == line_of(full, "size: M3")


def test_minimal_job_and_its_defaults(minimal):
    result = parse_job(minimal, None, "")
    assert result.step_path == "z-adapter.step"
    assert result.job.motor == Machine()
    assert "require.radial_clearance = 0.5 mm" in result.defaults
    assert "require.angular_misalignment = 0.1 deg" in result.defaults
    assert "require.tools = hex key" in result.defaults
    assert "require.engagement = 1" in result.defaults
    assert "coupling.shaft_gap = 0.5 mm" in result.defaults
    # a default of a group that the job does not give is none of its assumptions
    assert not any(line.startswith(("motor.shaft", "actuator.shaft")) for line in result.defaults)


def test_a_given_value_is_no_default_even_where_it_equals_it(minimal):
    text = minimal + "require: {radial_clearance: 0.5, insertion_from: either}\n"
    defaults = parse_job(text, None, "").defaults
    assert not any("radial_clearance" in line or "insertion_from" in line for line in defaults)
    assert "require.orbit = 0.1 mm" in defaults


def test_shaft_default_is_noted_where_there_is_a_shaft(minimal):
    text = minimal + "motor: {shaft: {diameter: 8, length: 20}}\n"
    assert "motor.shaft.chamfer = 0 mm" in parse_job(text, None, "").defaults


def test_empty_keys_mean_their_default(minimal):
    job = parse_job(minimal + "motor:\ntitle: ~\nbodies: {adapter: }\nrequire:\n", None, "").job
    assert job == parse_job(minimal, None, "").job


def test_one_number_and_one_text_stand_for_lists(minimal):
    text = minimal + "motor: {bolts: {layout: square, size: 47.14}}\nrequire: {checks: insertion}\n"
    job = parse_job(text, None, "").job
    assert job.motor.bolts is not None
    assert job.motor.bolts.size == (47.14,)
    assert job.require.checks == ("insertion",)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("family: jaw", "famly: jaw", "unknown key 'famly' in coupling; did you mean 'family'?"),
        ("family: jaw", "family: jaws", "coupling.family: found 'jaws'; needed is one of: rigid, slit"),
        ("family: jaw", "family: jaws", "; did you mean 'jaw'?"),
        ("family: jaw", "family: JAW", "; did you mean 'jaw'?"),
        ("family: jaw", "family: 3", "coupling.family: found 3; needed is one of"),
        ("family: jaw", "family: [jaw]", "coupling.family: found a list; needed is one of"),
        ("family: jaw", "family:", "coupling.family: the key has no value; give one"),
        ("title:", "titel:", "unknown key 'titel' in the job; did you mean 'title'?"),
        ("  length: 42", "  length: 42\n  bore: 8", "'bore' belongs in coupling.hubs.motor or coupling.hubs.actuator"),
        ("title:", "qqq: 1\ntitle:", "unknown key 'qqq' in the job; known keys here: step, title, unit, bodies"),
        ("step: z-adapter.step", "# none", "the key 'step' is missing in the job: The STEP file of the adapter"),
        ("step: z-adapter.step", "step: 12", "step: found 12; needed is a text, such as z-adapter.step; put it in"),
        ("step: z-adapter.step", "step: ' '", "step: the text is empty; needed is a text, such as z-adapter.step"),
        ("step: z-adapter.step", "step: {a: b}", "step: found a group; needed is a text"),
        ("      bore: 6.35", "      bore: 6.35 N", "coupling.hubs.motor.bore: found '6.35 N', which has the unit of a"),
        ("      bore: 6.35", "      bore: yes", "coupling.hubs.motor.bore: found 'yes', which is no plain number"),
        ("      bore: 6.35", "      bore: true", "coupling.hubs.motor.bore: found true; needed is a length in mm"),
        ("      bore: 6.35", "      bore: [6]", "coupling.hubs.motor.bore: found a list; needed is a length in mm"),
        ("      bore: 6.35", "      bore: 0", "coupling.hubs.motor.bore: found 0; needed is greater than 0 mm"),
        ("      bore: 6.35", "      bore: -1 in", "coupling.hubs.motor.bore: found '-1 in'; needed is greater than 0"),
        ("station: 4.5", "station: -1", "screws.0.station: found -1; needed is at least 0 mm"),
        ("  radial_clearance: 0.02 in", "  engagement: 11", "require.engagement: found 11; needed is at most 10"),
        ("  radial_clearance: 0.02 in", "  orbit:", "require.orbit: the key has no value; give one, or remove the key"),
        ("  radial_clearance: 0.02 in", "  orbit:", "for the default 0.1 mm"),
        ("count: 4", "count: 4.5", "actuator.bolts.count: found 4.5; needed is a whole number"),
        ("count: 4", "count: 1", "actuator.bolts.count: found 1; needed is at least 2"),
        ("count: 4", "count: true", "actuator.bolts.count: found true; needed is a whole number"),
        ("near: [0, 0, 1.5 in]", "near: [0, 0]", "axis.near: found a list of 2; needed is a list of 3 numbers"),
        ("near: [0, 0, 1.5 in]", "near: 5", "axis.near: found 5; needed is a list"),
        ("near: [0, 0, 1.5 in]", "near: [0, 0, 1 N]", "axis.near.2: found '1 N', which has the unit of a force"),
        ("tools: [hex key, bit in holder]", "tools: []", "require.tools: the list is empty; needed is at least one"),
        ("tools: [hex key, bit in holder]", "tools: [hexkey]", "require.tools.0: found 'hexkey'; needed is one of"),
        ("tools: [hex key, bit in holder]", "tools: {a: 1}", "require.tools: found a group; needed is a list"),
        ("[insertion, shaft-gap]", "[insertion, shaft gap]", "found 'shaft gap'; needed is one of: pilot-alignment"),
        ("[insertion, shaft-gap]", "[insertion, shaft gap]", "did you mean 'shaft-gap'?"),
        ("  motor_hub_face: 8.5", "  - 8.5", "place: found a list; needed is a group of the keys motor_hub_face"),
        ("- {size: M3,", "{size: M3,", "found a single group; needed is a list, each entry of which begins with '- '"),
        ("- {size: M3,", "- M3 # ", "screws.0: found 'M3'; needed is a group of the keys size, kind, station"),
        ("length: 20.6", "length: 20.6\n    length: 3", "the key is given twice, first in line 13; keep one"),
        ("size: M3", "size: M3.5", "screws.0.size: found 'M3.5'; needed is one of: M1.6, M2"),
    ],
)
def test_refusals(full, old, new, message):
    assert full.count(old) == 1
    text = full.replace(old, new)
    errors = refused(text)
    matching = [error for error in errors if message in error]
    assert len(matching) == 1, errors
    # the line is that of the change, or of the key just above that holds it; a missing key has the line of its group
    start = text[: text.index(new)].count("\n") + 1
    line = int(matching[0].split(":")[1])
    assert "missing" in message or start - 1 <= line <= start + new.count("\n")


def test_all_problems_come_together_sorted_by_line(full):
    text = full.replace("family: jaw", "familiy: jaw").replace("      bore: 8", "      bore: 8 kg")
    text = text.replace("step: z-adapter.step", "stp: z-adapter.step")
    errors = refused(text)
    lines = [int(error.split(":")[1]) for error in errors]
    assert lines == sorted(lines)
    found = "\n".join(errors)
    for part in (
        f"z.fit.yaml:{line_of(text, 'stp:')}: unknown key 'stp' in the job; did you mean 'step'?",
        "the key 'step' is missing in the job",
        f"z.fit.yaml:{line_of(text, 'familiy')}: unknown key 'familiy' in coupling; did you mean 'family'?",
        f"z.fit.yaml:{line_of(text, 'coupling:')}: the key 'family' is missing in coupling: Coupling family.",
        f"z.fit.yaml:{line_of(text, '8 kg')}: coupling.hubs.actuator.bore: found '8 kg'",
    ):
        assert part in found
    assert len(errors) == 5


def test_geometry_of_sound_groups_is_told_beside_other_mistakes(full):
    text = full.replace("family: jaw", "family: jow").replace("height: 5.8", "height: 7")
    assert [error.split(": ")[1] for error in refused(text)] == ["motor.shaft.flat.height", "coupling.family"]


def test_many_problems_are_counted(minimal):
    text = minimal + "".join(f"key{index}: 1\n" for index in range(100))
    errors = refused(text)
    assert len(errors) == 41
    assert errors[-1] == "and 60 more problems"


def test_file_errors(tmp_path, full):
    for file, text in ((tmp_path / "none.fit.yaml", "there is no such job file"), (tmp_path, "this is a folder")):
        with pytest.raises(JobError, match=text) as caught:
            load_job(file)
        assert (caught.value.file, caught.value.line, caught.value.exit_code) == (str(file), None, 2)
    with pytest.raises(JobError, match="cannot be read: embedded null byte"):
        load_job("a\0b")
    bad = tmp_path / "latin.fit.yaml"
    bad.write_bytes(b"step: a.step\ntitle: \xfcber\n")
    with pytest.raises(JobError, match=r"latin\.fit\.yaml:2: byte 20 \(0xfc\) is not UTF-8") as caught:
        load_job(bad)
    assert caught.value.line == 2
    wide = tmp_path / "wide.fit.yaml"
    wide.write_bytes(full.encode("utf-16"))
    with pytest.raises(JobError, match=r"wide\.fit\.yaml:1: byte 0 \(0xff\) is not UTF-8"):
        load_job(wide)
    large = tmp_path / "large.fit.yaml"
    large.write_bytes(b"#" * ((1 << 20) + 1))
    with pytest.raises(JobError, match="larger than 1048576 bytes"):
        load_job(large)


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may read everything")
def test_no_permission(tmp_path, full):
    file = tmp_path / "z.fit.yaml"
    file.write_text(full, encoding="utf-8")
    file.chmod(0)
    with pytest.raises(JobError, match="no permission to read the job file"):
        load_job(file)


def test_no_permission_is_told_whoever_asks(monkeypatch):
    def deny(*args, **keywords):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("builtins.open", deny)
    with pytest.raises(JobError, match=r"^z\.fit\.yaml: no permission to read the job file$"):
        load_job("z.fit.yaml")


def test_load_job_resolves_step_against_the_job_file(tmp_path, full):
    file = tmp_path / "z.fit.yaml"
    file.write_bytes(b"\xef\xbb\xbf" + full.replace("\n", "\r\n").encode())  # byte order mark and CRLF, as editors do
    result = load_job(file)
    assert result.step_path == str(tmp_path / "z-adapter.step")
    assert result.job == parse_job(full, None, "").job
    assert result.lines == parse_job(full, None, "").lines


def test_absolute_step_stays(minimal, tmp_path):
    step = tmp_path / "a.step"
    text = minimal.replace("z-adapter.step", f'"{step}"')
    assert parse_job(text, None, "elsewhere").step_path == str(step)


def made() -> Job:
    hub = Hub(bore=8.0, bore_length=12.0)
    return Job(
        step="z.step",
        motor=Machine(shaft=Shaft(diameter=8.0, length=20.0)),
        coupling=Coupling(
            family="jaw", outside_diameter=30.0, length=42.0, hubs=Hubs(motor=hub, actuator=replace(hub, bore=10.0))
        ),
    )


def test_a_job_made_in_code():
    result = loaded(made(), "parts/z.step")
    assert result == LoadedJob(job=made(), file=None, step_path="parts/z.step", lines={}, defaults=result.defaults)
    assert "require.orbit = 0.1 mm" in result.defaults
    assert "motor.shaft.chamfer = 0 mm" in result.defaults


def test_a_job_made_in_code_equals_the_same_job_from_a_file(full):
    from_file = parse_job(full, None, "")
    again = loaded(from_file.job, from_file.step_path)
    assert again.job == from_file.job
    assert again.defaults == from_file.defaults


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"family": "gear"}, "coupling.family: found 'gear'; needed is one of"),
        ({"length": float("nan")}, "coupling.length: found nan; needed is a length"),
        ({"length": 10**400}, "coupling.length: found 1000.*needed is a length"),
        ({"length": None}, "coupling.length: the key has no value; give one"),
        ({"length": True}, "coupling.length: found true; needed is a length"),
        ({"outside_diameter": 9.0}, "coupling.hubs.actuator.bore: found a bore of 10 mm; needed is less than .* 9 mm"),
        ({"hubs": None}, "coupling.hubs: the key has no value"),
        ({"hubs": "two"}, "coupling.hubs: found 'two'; needed is a group of the keys motor, actuator"),
    ],
)
def test_a_job_made_in_code_is_checked_alike(change, message):
    job = replace(made(), coupling=replace(made().coupling, **change))
    with pytest.raises(JobError, match=f"^{message}"):
        loaded(job, "z.step")


def test_a_job_made_in_code_takes_units():
    job = replace(made(), coupling=replace(made().coupling, length="2 in"))
    assert loaded(job, "z.step").job.coupling.length == 50.8


def test_import_is_light():
    code = "import sys, fitcheck.job; print(sorted({'yaml', 'numpy', 'OCP', 'fractions'} & set(sys.modules)))"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"


def test_every_public_name_resolves():
    import fitcheck.job

    assert all(getattr(fitcheck.job, name) is not None for name in fitcheck.job.__all__)
    with pytest.raises(AttributeError, match="has no attribute 'nothing'"):
        fitcheck.job.nothing  # noqa: B018
