from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import pytest

from fitcheck import api
from fitcheck.checks.finding import Finding, not_checked
from fitcheck.errors import MeasureError, StepFileError
from fitcheck.measurement.model import AxisLine, Body, End, FreeRadius, Measurement

JOB = """\
step: {step}
motor: {{shaft: {{diameter: 8, length: 24}}}}
actuator: {{seat: 52, shaft: {{diameter: 8, length: 20}}}}
coupling:
  family: jaw
  outside_diameter: 30
  length: 42
  hubs:
    motor: {{bore: 8, bore_length: 12}}
    actuator: {{bore: 8, bore_length: 12}}
"""

FINDINGS = {
    "passes": (Finding(check="insertion", subject="coupling", status="pass", value=2.0, limit=0.1, margin=1.9,
                       unit="mm", message="it goes in"),),
    "warns": (Finding(check="pilot-fit", subject="motor", status="warn", message="no tolerance was given"),),
    "fails": (Finding(check="shaft-gap", subject="shafts", status="fail", value=-1.0, limit=0.5, margin=-1.5,
                      unit="mm", message="the shafts touch", remedy="shorten a shaft by 1.5 mm"),),
    "lacks": (not_checked("wrench-access", "motor hub", "no screws were given", "give the screws"),),
    "may-lack": (Finding(check="insertion", subject="coupling", status="pass", message="it goes in"),
                 not_checked("torque", "coupling", "no torque was given", "give it", required=False)),
    "empty": (),
}  # fmt: skip


REAL_ROOMS = api.Rooms


def measurement(file: str, **changes: object) -> Measurement:
    parts: dict[str, object] = {
        "file": file, "sha256": "0" * 64, "file_unit": "mm",
        "bodies": (Body(name="adapter", role="adapter", volume=1.0),),
        "drive_axis": AxisLine(origin=(0.0, 0.0, 0.0), direction=(0.0, 0.0, 1.0), across=(1.0, 0.0, 0.0)),
        "ends": (End(role="motor", seat=0.0), End(role="actuator", seat=52.0)), "coaxiality": None,
        "free_radius": FreeRadius(least=16.5, station=2.0, profile=((0.0, 16.5), (52.0, 16.5))), "cylinders": (),
        "warnings": ("a warning of the measurement",),
    }  # fmt: skip
    return Measurement(**(parts | changes))  # type: ignore[arg-type]


@dataclass
class Log:
    started: int = 0
    closed: int = 0
    measured: list[str] = field(default_factory=list)
    events: list[str] = field(default_factory=list)


class FakeKernel:
    def __init__(self, log: Log) -> None:
        self.log = log

    def start(self) -> None:
        self.log.started += 1
        self.log.events.append("start")

    def dismiss(self) -> None:
        self.log.events.append("dismiss")

    def close(self) -> None:
        self.log.closed += 1


def fake_rooms(log: Log) -> type[api.Rooms]:
    """Rooms whose STEP file's name decides what is found; the loader is the real one."""

    class Fake(REAL_ROOMS):
        def kernel(self, time_limit, memory_limit):
            return FakeKernel(log)

        def load(self, path):
            log.events.append("load")
            return super().load(path)

        def measure(self, path, options, kernel):
            log.measured.append(Path(path).name)
            stem = Path(path).stem
            if stem == "unreadable":
                raise StepFileError("is no STEP file; export it again", path)
            if stem == "no-adapter":
                raise MeasureError("no seat was found; name the adapter's body", path)
            if stem == "interrupted":
                raise KeyboardInterrupt
            return measurement(path)

        def orient(self, found, job):
            return found

        def checks(self, loaded, found):
            stem = Path(loaded.step_path).stem
            if stem == "trips":
                raise ZeroDivisionError("float division by zero")
            return FINDINGS[stem]

    return Fake


@pytest.fixture
def log() -> Log:
    return Log()


@pytest.fixture
def rooms(log) -> api.Rooms:
    return fake_rooms(log)()


@pytest.fixture
def bench(tmp_path, monkeypatch, log):
    """A folder to work in, with the fake rooms behind the command; returns a maker of job files."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(api, "Rooms", fake_rooms(log))
    monkeypatch.setenv("FITCHECK_CACHE", str(tmp_path / ".cache"))
    for name in ("NO_COLOR", "FORCE_COLOR", "FITCHECK_DEBUG"):
        monkeypatch.delenv(name, raising=False)

    def make(step: str, name: str | None = None, text: str | None = None) -> str:
        path = Path(name or f"{step}.fit.yaml")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(JOB.format(step=f"{step}.step") if text is None else text)
        (path.parent / f"{step}.step").write_text(f"ISO-10303-21;/*{step}*/END-ISO-10303-21;")
        return str(path)

    return make


@pytest.fixture
def measuring(monkeypatch):
    """Puts a maker of measurements in the place of `fitcheck.measure`; returns it and the list of what was asked."""

    def put(**changes):
        asked = []

        def measure(path, **options):
            asked.append((path, options))
            return measurement(path, **changes)

        monkeypatch.setattr(api, "measure", measure)
        return asked

    return put
