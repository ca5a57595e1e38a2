"""The coupling in the STEP file in the place of the job's numbers, and where the two differ."""

from pathlib import Path

import pytest

from fitcheck.api import check
from fitcheck.errors import JobError
from fitcheck.job import load_job, loaded, parse_job
from fitcheck.job.load import UNMEASURED
from fitcheck.job.model import Coupling, Hub, Hubs, Job
from parametric_models.export.request import request_from
from parametric_models.export.worker import export

SAMPLES = Path(__file__).resolve().parents[3] / "sample_assemblies"
SAMPLE = SAMPLES / "failing" / "z-screw-head-rubs"
OPEN = """
coupling:
  family: double slit
  numbers_from: step file
"""
ALL = f"{OPEN}  hubs: {{motor: {{bore_tolerance: H7}}, actuator: {{bore_tolerance: H7}}}}\n"
"""Nothing but what no body shows."""


@pytest.fixture(scope="module")
def drive(tmp_path_factory):
    """The sample's adapter with its coupling in place, as bodies, at stations 9 to 49."""
    from dataclasses import asdict

    job = load_job(f"{SAMPLE}.fit.yaml").job
    target = tmp_path_factory.mktemp("drive") / "drive.step"
    request = {
        "target": str(target), "ending": "step", "title": "drive.step", "time": "2026-01-01T00:00:00",
        "view": "detail", "unit": "mm", "name": "coupling", "asked": asdict(job.coupling), "family": "",
        "dimensions": {}, "adapter": {"path": f"{SAMPLE}.step", "unit": None, "include": True}, "tools": [],
        "place": {"origin": [0, 0, 0], "direction": [0, 0, 1], "across": [1, 0, 0], "start": 9.0, "angle": 0.0},
    }  # fmt: skip
    export(request_from(request))
    return target


def job_text(step, coupling):
    """The sample's job with another STEP file and another coupling group."""
    text = (
        Path(f"{SAMPLE}.fit.yaml").read_text(encoding="utf-8").replace("step: z-screw-head-rubs.step", f"step: {step}")
    )
    before, after = text.split("coupling:\n", 1)
    return before + coupling + "\nrequire:" + after.split("\nrequire:", 1)[1]


def warnings(result):
    """By the job line to blame; without tolerances of the bores, warnings about their fit are beside the point."""
    found = {finding.path: finding for finding in result.findings if finding.status == "warn"}
    return {path: finding for path, finding in found.items() if path != "require.bore_play"}


def checked(step, coupling):
    result = check(parse_job(job_text(step, coupling), "job.fit.yaml", step.parent), cache=False)
    return result, {(finding.check, finding.subject): finding for finding in result.findings}


def test_the_checks_run_on_what_was_measured(drive):
    result, found = checked(drive, ALL)
    assert result.error is None
    by_numbers = {
        (finding.check, finding.subject): finding for finding in check(f"{SAMPLE}.fit.yaml", cache=False).findings
    }
    for name in ("insertion", "radial-clearance", "axial-room", "engagement", "shaft-gap", "bore-fit"):
        mine = {key: finding for key, finding in found.items() if key[0] == name}
        assert mine
        for key, finding in mine.items():
            assert finding.status == by_numbers[key].status, key
            if finding.value is not None:
                # swept heads are stated at most 0.5 µm too large
                assert finding.value == pytest.approx(by_numbers[key].value, abs=0.001), key
    clearance = found["radial-clearance", "coupling"]
    assert clearance.status == "fail"
    assert clearance.at.station == pytest.approx(14.0, abs=3.0)
    assert not any(finding.status == "warn" for finding in result.findings)
    coupling = result.loaded.job.coupling
    assert (coupling.outside_diameter, coupling.length) == pytest.approx((32.0, 40.0), abs=1e-6)
    assert (coupling.hubs.motor.bore, coupling.hubs.actuator.bore_length) == pytest.approx((8.0, 13.0), abs=1e-6)
    assert "coupling.length = 40 mm (measured in the STEP file)" in result.loaded.defaults


def test_numbers_that_the_job_gives_count_and_differences_are_told(drive):
    given = OPEN + "  length: 40.5\n  hubs:\n    motor: {bore: 8.4, bore_length: 13}\n    actuator: {}\n"
    result, _ = checked(drive, given)
    warned = warnings(result)
    assert set(warned) == {"coupling.length", "coupling.hubs.motor.bore"}
    assert warned["coupling.length"].check == "axial-room"
    assert warned["coupling.length"].message == (
        "the coupling's length is 40.5 mm by the job, and 40 mm of the coupling in the STEP file"
    )
    assert "correct coupling.length" in warned["coupling.length"].remedy
    assert warned["coupling.hubs.motor.bore"].margin == pytest.approx(-0.4, abs=1e-6)
    assert result.loaded.job.coupling.length == 40.5


def test_a_job_with_all_numbers_is_told_of_another_coupling_in_the_file(drive):
    numbers = load_job(f"{SAMPLE}.fit.yaml").job.coupling
    coupling = (
        f"coupling: {{family: double slit, outside_diameter: 30, length: {numbers.length:g}, "
        "hubs: {motor: {bore: 8, bore_length: 13}, actuator: {bore: 10, bore_length: 13}}}\n"
    )
    result, _ = checked(drive, coupling)
    warned = warnings(result)
    assert set(warned) == {"coupling.outside_diameter", "coupling"}
    # by hand: the heads' corners sweep hypot(13.1, 9 + 5.68 / 2)
    assert warned["coupling"].limit == pytest.approx(17.6574, abs=0.001)
    assert warned["coupling"].value == 15.0


def test_a_place_that_the_job_gives_moves_the_measured_profile(drive):
    text = job_text(drive, ALL) + "\nplace: {motor_hub_face: 9.5}\n"
    result = check(parse_job(text, "job.fit.yaml", drive.parent), cache=False)
    warned = warnings(result)
    assert "place.motor_hub_face" in warned
    clearance = next(f for f in result.findings if f.check == "radial-clearance" and f.status == "fail")
    # the head's largest radius is at its middle, 5 mm from the face
    assert clearance.at.station == pytest.approx(14.5, abs=3.0)


def test_a_file_without_a_coupling_leaves_the_job_undecided():
    step = Path(f"{SAMPLE}.step")
    result, _ = checked(step, ALL)
    assert result.exit_code == 3
    assert f"{step}: the job takes the coupling from this file, and none was found in it" in result.error
    assert "bodies.coupling" in result.error


def test_what_cannot_be_with_the_measured_numbers_is_a_wrong_job(drive):
    result, _ = checked(drive, OPEN + "  hubs:\n    motor: {bore: 33, bore_length: 13}\n    actuator: {}\n")
    assert result.exit_code == 2
    assert "coupling.hubs.motor.bore" in result.error
    assert "the coupling in the STEP file was measured" in result.error


def test_without_the_word_the_numbers_are_needed_as_ever():
    text = job_text(Path(f"{SAMPLE}.step"), "coupling:\n  family: jaw\n")
    with pytest.raises(JobError, match="the key 'outside_diameter' is missing in coupling"):
        parse_job(text, "job.fit.yaml", "")


def test_a_job_in_code_leaves_numbers_open_too():
    hub = Hub(bore=UNMEASURED, bore_length=UNMEASURED)
    coupling = Coupling(
        family="jaw", numbers_from="step file", outside_diameter=UNMEASURED, length=30.0,
        hubs=Hubs(motor=hub, actuator=Hub(bore=8.0, bore_length=UNMEASURED)),
    )  # fmt: skip
    made = loaded(Job(step="a.step", coupling=coupling), "a.step")
    assert made.to_measure == (
        "coupling.outside_diameter", "coupling.hubs.motor.bore", "coupling.hubs.motor.bore_length",
        "coupling.hubs.actuator.bore_length",
    )  # fmt: skip
    with pytest.raises(JobError, match="greater than 0"):
        loaded(
            Job(step="a.step", coupling=Coupling(family="jaw", outside_diameter=0.0, length=30.0, hubs=coupling.hubs)),
            "a",
        )
