from __future__ import annotations

import threading
import time
from dataclasses import replace
from pathlib import Path

import pytest

from fitcheck import api
from fitcheck.checks.finding import Finding
from fitcheck.errors import StepFileError, UsageError

from .conftest import made

JOBS, FILES = 60, 12

JOB = """\
step: {step}
motor: {{shaft: {{diameter: 8, length: 24}}}}
actuator: {{seat: 52, shaft: {{diameter: 8, length: 20}}}}
coupling:
  {{family: jaw, outside_diameter: 30, length: 42,
    hubs: {{motor: {{bore: 8, bore_length: 12}}, actuator: {{bore: 8, bore_length: 12}}}}}}
"""


class Rooms(api.Rooms):
    """Measuring takes a moment and remembers how many measurements exist at the same time."""

    def __init__(self) -> None:
        self.lock = threading.Lock()
        self.running = self.most_running = 0
        self.measured: list[str] = []
        self.checked: list[str] = []
        self.ahead: list[int] = []

    def kernel(self, time_limit, memory_limit):
        class Kernel:
            def start(self) -> None: ...
            def close(self) -> None: ...

            dismiss = close

        return Kernel()

    def measure(self, path, options, kernel):
        with self.lock:
            self.running += 1
            self.most_running = max(self.most_running, self.running)
            self.measured.append(Path(path).name)
        time.sleep(0.01)
        with self.lock:
            self.running -= 1
        if Path(path).stem == "f07":
            raise StepFileError("is damaged", path)
        return replace(made(), file=path)

    def orient(self, measurement, job):
        return measurement

    def checks(self, loaded, measurement):
        assert measurement.file == loaded.step_path
        self.checked.append(Path(loaded.step_path).name)
        self.ahead.append(len(self.measured) - len(set(self.checked)))
        return (Finding(check="insertion", subject="coupling", status="pass", message="goes in"),)


@pytest.fixture
def folder(tmp_path):
    for number in range(FILES):
        (tmp_path / f"f{number:02}.step").write_text(f"ISO-10303-21;/*{number}*/END-ISO-10303-21;")
    for number in range(JOBS):
        (tmp_path / f"job{number:03}.fit.yaml").write_text(JOB.format(step=f"f{number % FILES:02}.step"))
    return tmp_path


@pytest.mark.parametrize("workers", [1, 2, 5])
def test_each_file_once_order_stable_and_memory_bounded_by_the_workers(folder, workers):
    rooms, seen = Rooms(), []
    result = api.check_many(
        folder, workers=workers, rooms=rooms, cache=False, progress=lambda *told: seen.append(told)
    )  # fmt: skip
    assert [Path(job.name).name for job in result.jobs] == [f"job{number:03}.fit.yaml" for number in range(JOBS)]
    for number, job in enumerate(result.jobs):
        assert job.verdict == ("error" if number % FILES == 7 else "pass")
        assert (job.loaded.step_path if job.error is None else job.error).find(f"f{number % FILES:02}.step") >= 0
    assert sorted(rooms.measured) == [f"f{number:02}.step" for number in range(FILES)]
    assert rooms.most_running == workers
    assert max(rooms.ahead) <= workers + 2  # and one failed file, which is never checked
    assert [told[0] for told in seen] == list(range(1, JOBS + 1))
    assert {told[1] for told in seen} == {JOBS}


def test_files_with_one_content_are_measured_once_and_an_error_names_each_file(folder):
    text = (folder / "f07.step").read_text()
    (folder / "copy.step").write_text(text)
    (folder / "job900.fit.yaml").write_text(JOB.format(step="copy.step"))
    rooms = Rooms()
    jobs = api.check_many([folder / "job007.fit.yaml", folder / "job900.fit.yaml"], rooms=rooms, cache=False).jobs
    assert rooms.measured == ["f07.step"]
    assert [job.error for job in jobs] == [f"{folder / name}: is damaged" for name in ("f07.step", "copy.step")]


def test_fewer_than_one_worker_is_wrong_usage(folder):
    with pytest.raises(UsageError, match="the number of workers must be at least 1, not 0"):
        api.check_many(folder, workers=0)
