"""Work in the process itself is stopped at its limits, and leaves the process as it was."""

import os
import sys
import threading
import time

import psutil
import pytest

from fitcheck.limits import BrokenLimitError, bounded, resident

linux = pytest.mark.skipif(sys.platform != "linux", reason="reads procfs, sets limits of Linux")
MB = 1 << 20


def for_ever():
    while True:
        pass


def test_work_within_its_limits_gives_its_result_and_its_own_error():
    assert bounded(lambda: 42, 10.0, 100.0) == 42
    with pytest.raises(ValueError, match="of the work"):
        bounded(lambda: int("of the work"), 10.0, 100.0)


def test_work_without_end_is_stopped_at_the_time_limit():
    begin = time.monotonic()
    with pytest.raises(BrokenLimitError) as broken:
        bounded(for_ever, 0.2, 100.0)
    assert broken.value.limit == "time"
    assert 0.2 <= time.monotonic() - begin < 5.0


def test_work_that_takes_every_exception_for_its_own_is_stopped_too():
    def stubborn():
        while True:
            try:
                for_ever()
            except Exception:
                continue

    with pytest.raises(BrokenLimitError):
        bounded(stubborn, 0.1, 100.0)


def test_work_that_swallows_the_stop_is_stopped_a_second_later():
    def swallowing():
        try:
            for_ever()
        except BaseException:
            for_ever()

    begin = time.monotonic()
    with pytest.raises(BrokenLimitError):
        bounded(swallowing, 0.1, 100.0)
    assert time.monotonic() - begin >= 1.0


def test_nothing_is_raised_after_the_work():
    """Work that ends just as the time does: an error of the watch must not reach what follows."""
    stopped = 0
    for _ in range(40):
        try:
            bounded(lambda: time.sleep(0.02), 0.02, 100.0)
        except BrokenLimitError:
            stopped += 1
        for _ in range(1000):
            pass
    assert 0 <= stopped <= 40
    # A profiler stops where the interpreter still looks for an error that was taken back.
    import cProfile

    cProfile.Profile().runcall(sum, range(1000))
    time.sleep(0.05)
    assert not [thread for thread in threading.enumerate() if thread.name == "fitcheck limits"]


def test_memory_that_grows_is_stopped():
    kept = []

    def grow():
        while True:
            kept.append(b"\1" * (4 * MB))
            time.sleep(0.002)

    with pytest.raises(BrokenLimitError) as broken:
        bounded(grow, 30.0, 200.0)
    assert broken.value.limit == "memory"
    # Looked at every 0.05 s, or kept by the bound on the address space, half as much again.
    assert 200e6 - 4 * MB <= sum(map(len, kept)) < 1500e6


@linux
def test_one_allocation_that_is_far_too_large_is_never_made():
    import resource

    before = resource.getrlimit(resource.RLIMIT_AS)
    with pytest.raises(BrokenLimitError) as broken:
        bounded(lambda: bytearray(2_000 * MB), 30.0, 500.0)
    assert broken.value.limit == "memory"
    assert resource.getrlimit(resource.RLIMIT_AS) == before


@linux
@pytest.mark.parametrize("platform", ["darwin", "win32"])
def test_memory_is_read_by_a_library_where_there_is_no_procfs(platform, monkeypatch):
    assert psutil.WINDOWS is False  # loaded as it is here, before the platform is another
    here = resident(os.getpid())
    monkeypatch.setattr(sys, "platform", platform)
    assert resident(os.getpid()) == pytest.approx(here, rel=0.05)
    assert resident(2**22 + 1) is None
