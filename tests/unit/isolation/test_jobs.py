from __future__ import annotations

import re
from pathlib import Path

import pytest

from fitcheck import api
from fitcheck.kernel.client import Kernel


@pytest.mark.parametrize(("workers", "middle", "words"), [
    (1, "crash", "crash.step: the CAD kernel crashed while reading"),
    (2, "hang", "hang.step: reading was stopped, because the file took longer than 8 s"),
])  # fmt: skip
def test_the_other_jobs_finish_and_the_order_is_kept(rigged, jobs, workers, middle, words):
    rigged(real=True)
    paths = jobs("a-good", middle, "z-good")
    result = api.check_many(paths, cache=False, workers=workers, time_limit=8.0)
    assert [Path(job.name).name for job in result.jobs] == [Path(path).name for path in paths]
    assert [job.verdict for job in result.jobs] == ["pass", "error", "pass"]
    assert words in (result.jobs[1].error or "")
    assert result.exit_code == 3


def test_too_little_memory_for_the_kernel_itself_is_told(jobs):
    (path,) = jobs("small")
    (job,) = api.check_many([path], cache=False, memory_limit=60.0).jobs
    assert job.exit_code == 3
    # Which of the two steps it is in when the loading kernel is too large depends on how fast both start.
    assert re.search(r"small\.step: (reading|measuring) needed more than 60 MB of memory", job.error or "")


@pytest.mark.parametrize("workers", [1, 3])
def test_an_interrupt_leaves_no_worker(rigged, jobs, workers, monkeypatch):
    rigged(real=True)
    kernels: list[Kernel] = []
    real = api.Rooms.kernel

    class Rooms(api.Rooms):
        def kernel(self, time_limit, memory_limit):
            kernels.append(real(self, time_limit, memory_limit))
            return kernels[-1]

        def checks(self, loaded, measurement):
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        api.check_many(jobs("a", "hang", "hang2", "b"), cache=False, workers=workers, rooms=Rooms())
    assert kernels
    assert all(kernel.reader.popen is None and kernel.helper.popen is None for kernel in kernels)


def test_checks_that_do_not_end_are_stopped_and_the_other_jobs_finish(jobs):
    class Rooms(api.Rooms):
        def checks(self, loaded, measurement):
            while Path(loaded.file).name.startswith("b"):
                pass
            return super().checks(loaded, measurement)

    result = api.check_many(jobs("a", "b", "c"), cache=False, rooms=Rooms(), time_limit=6.0)
    assert [job.verdict for job in result.jobs] == ["pass", "error", "pass"]
    assert "checking took longer than 6 s and was stopped; simplify the file" in (result.jobs[1].error or "")
    assert result.jobs[1].exit_code == 3


def test_checks_that_need_too_much_memory_are_stopped_and_the_other_jobs_finish(jobs):
    class Rooms(api.Rooms):
        def checks(self, loaded, measurement):
            if Path(loaded.file).name.startswith("b"):
                bytearray(4_000_000_000)
            return super().checks(loaded, measurement)

    result = api.check_many(jobs("a", "b", "c"), cache=False, rooms=Rooms(), memory_limit=1000.0)
    assert [job.verdict for job in result.jobs] == ["pass", "error", "pass"]
    assert "checking needed more than 1000 MB of memory and was stopped" in (result.jobs[1].error or "")
