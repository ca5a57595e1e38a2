from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from fitcheck.checks.finding import Finding, Place, compare, not_checked
from fitcheck.checks.result import JobResult, Result
from fitcheck.job.model import Coupling, Hub, Hubs, Job, LoadedJob, Machine, Shaft
from fitcheck.job.model import Place as CouplingPlace
from fitcheck.measurement.model import (
    AxisLine,
    Body,
    BoltPattern,
    Coaxiality,
    Cylinder,
    End,
    Flat,
    FreeRadius,
    Measurement,
    Opening,
    Pilot,
    Vector,
)
from fitcheck.measurement.model import Shaft as MeasuredShaft

ROOT = Path(__file__).parents[3]
SAMPLE_JOB = ROOT / "sample_assemblies" / "passing" / "z-passes.fit.yaml"
NASTY = 'bracket\x1b[31m\x07\n"<b>&\u202ex\x00'
"""A body's name as a hostile file might hold it: an escape, a bell, a line break, mark-up, an override, a nought."""


@dataclass(frozen=True)
class Samples:
    job: Job
    loaded: LoadedJob
    measurement: Measurement
    findings: tuple[Finding, ...]
    result: Result


def _job() -> Job:
    hub = Hub(bore=8.0, bore_length=12.0)
    coupling = Coupling(
        name="Kestrel 30", family="jaw", outside_diameter=30.0, length=42.0, hubs=Hubs(motor=hub, actuator=hub)
    )
    return Job(
        step="z-adapter.step",
        title="Z drive of the soil-core gantry",
        motor=Machine(shaft=Shaft(diameter=8.0, length=24.0)),
        actuator=Machine(seat=52.0, shaft=Shaft(diameter=8.0, length=20.0)),
        coupling=coupling,
        place=CouplingPlace(motor_hub_face=6.0),
    )


def _bore(diameter: float, origin: Vector, direction: Vector, length: float) -> Cylinder:
    return Cylinder(
        kind="bore", diameter=diameter, origin=origin, direction=direction, start=0.0, stop=length, turn=360.0,
        body=NASTY,
    )  # fmt: skip


def _measurement() -> Measurement:
    axis = (0.0, 0.0, 1.0)
    return Measurement(
        file="z-adapter.step",
        sha256="0" * 64,
        file_unit="mm",
        bodies=(Body(name=NASTY, role="adapter", volume=123456.789),),
        drive_axis=AxisLine(origin=(0.0, 0.0, 0.0), direction=axis, across=(1.0, 0.0, 0.0)),
        ends=(
            End(
                role="motor",
                seat=0.0,
                pilot=Pilot(diameter=38.12, depth=2.0, origin=(0.0, 0.0, 0.0), direction=axis),
                opening=Opening(diameter=33.0, length=5.0),
                bolts=(BoltPattern(layout="square", size=(47.14,), count=4, hole=5.5, bolt_circle=66.67),),
                shaft=MeasuredShaft(
                    diameter=8.0, length=24.0, end=24.0, full_from=0.0, full_to=23.5,
                    flat=Flat(length=15.0, height=7.5, start=9.0, stop=24.0),
                ),
            ),
            End(role="actuator", seat=52.0),
        ),
        coaxiality=Coaxiality(offset=0.0123, tilt=0.004),
        free_radius=FreeRadius(
            least=16.5, station=2.0,
            profile=((0.0, 19.06), (2.0, 19.06), (2.0, 16.5), (7.0, 16.5), (7.0, 21.0), (52.0, 21.0)),
        ),
        cylinders=(
            _bore(38.12, (0.0, 0.0, 0.0), axis, 2.0),
            *(_bore(5.5, (x, y, 10.0), (0.0, 0.0, -1.0), 10.0) for x in (23.57, -23.57) for y in (23.57, -23.57)),
        ),
        warnings=(f"body {NASTY} has no name",),
    )  # fmt: skip


def _findings() -> tuple[Finding, ...]:
    return (
        compare(
            check="radial-clearance", subject="coupling", value=0.31, limit=0.5, unit="mm", at_least=True,
            message="a screw head comes too near to the wall", remedy="widen the chamber by 0.2 mm",
            at=Place(station=12.3, point=(0.0, 16.0, 12.3), body=NASTY), path="require.radial_clearance",
        ),
        Finding(check="pilot-fit", subject="motor", status="warn", message="no tolerance was given"),
        not_checked("wrench-access", "motor hub", "no screws were given", "give coupling.hubs.motor.screws"),
        not_checked("torque", "coupling", "no torque was given", "give the torque", required=False),
        compare(
            check="pilot-alignment", subject="offset", value=0.0123, limit=0.05, unit="mm", at_least=False,
            message="the pilots are aligned", remedy=None, path="require.parallel_misalignment",
        ),
        compare(
            check="insertion", subject="from the motor", value=1.5, limit=0.1, unit="mm", at_least=True,
            message="it goes in", remedy=None, at=Place(station=2.0),
        ),
    )  # fmt: skip


@pytest.fixture
def samples() -> Samples:
    job, measurement, findings = _job(), _measurement(), _findings()
    loaded = LoadedJob(
        job=job, file="jobs/z drive.fit.yaml", step_path="jobs/z-adapter.step",
        lines={"step": 1, "coupling": 4, "require": 20, "require.radial_clearance": 21},
        defaults=("coupling.shaft_gap = 0.5 mm", "require.orbit = 0.1 mm"),
    )  # fmt: skip
    passing = tuple(finding for finding in findings if finding.status == "pass")
    incomplete = JobResult(name="jobs/z drive.fit.yaml", findings=findings, loaded=loaded, measurement=measurement)
    failing = JobResult(
        name="jobs/b.fit.yaml", findings=(findings[0], *passing), loaded=loaded, measurement=measurement
    )
    passed = JobResult(name="jobs/c.fit.yaml", findings=passing)
    broken = JobResult(name="jobs/d.fit.yaml", error="jobs/d.fit.yaml:3: 'bor' is no key", error_code=2, error_line=3)
    return Samples(job, loaded, measurement, findings, Result(jobs=(incomplete, failing, passed, broken)))


@pytest.fixture(scope="session")
def refused(tmp_path_factory, _no_cache_of_the_user) -> Result:
    """What really comes of a wrong key, of YAML that is none, of a job and a STEP file that are not there, of prose in
    the place of a STEP file, and of an empty folder."""
    from fitcheck.api import check_many

    folder = tmp_path_factory.mktemp("a folder & more")
    whole = SAMPLE_JOB.read_text(encoding="utf-8")
    texts = {
        "key": f"{whole}\nbor: 1\n",
        "no-yaml": "step: [\n",
        "absent": whole,
        "prose": whole.replace("z-passes", "prose"),
    }
    for name, text in texts.items():
        (folder / f"{name}.fit.yaml").write_text(text, encoding="utf-8")
    (folder / "prose.step").write_text("These are the minutes of a meeting.\n" * 20, encoding="utf-8")
    (folder / "empty").mkdir()
    return check_many([folder, folder / "no-job.fit.yaml", folder / "empty"])


@pytest.fixture
def every_kind(samples, checked_samples, refused) -> dict[str, Result]:
    """Results of all kinds: the sample jobs, refused ones, hostile names, a strict run, jobs made in code, none."""
    jobs = samples.result.jobs
    nasty = [replace(finding, subject=NASTY, message=NASTY, remedy=NASTY, unit=NASTY) for finding in samples.findings]
    named = replace(
        jobs[0], name=NASTY, findings=tuple(nasty), loaded=replace(samples.loaded, file=NASTY, step_path=f"a:b/{NASTY}")
    )
    lost = JobResult(name=NASTY, error=f"{NASTY}:1: wrong", error_code=2, error_line=1)
    in_code = [replace(job, loaded=job.loaded and replace(job.loaded, file=None)) for job in jobs[:2]]
    return {
        "samples": checked_samples,
        "refused": refused,
        "hostile": Result(jobs=(*jobs, named, lost)),
        "strict": Result(jobs=tuple(replace(job, strict=True) for job in (*jobs, *checked_samples.jobs))),
        "in code": Result(jobs=tuple(in_code)),
        "no findings": Result(jobs=(JobResult(name="a"),)),
        "no jobs": Result(jobs=()),
    }
