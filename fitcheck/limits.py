"""Limits of time and memory: their defaults, how memory is read, and work of this process that is held to them.

Workers are watched from outside (`fitcheck.kernel.watch`). What runs in this process cannot be killed without ending
the command, so an exception is raised in its thread; the interpreter delivers it between two steps of Python.
"""

from __future__ import annotations

import contextlib
import ctypes
import os
import sys
import threading
import time
from collections.abc import Callable, Iterator
from typing import TypeVar

DEFAULT_TIME_LIMIT = 300.0
"""Seconds that a STEP file, or a job on it, may take; a 2,000-face adapter takes about 5."""

DEFAULT_MEMORY_LIMIT = 4096.0
"""MB that the workers of a STEP file may hold; the loaded kernel takes 300, a 2,000-face adapter about 150 more."""

_HEADROOM = 1.5
_EVERY = 0.05
_SLOW = 1.0

T = TypeVar("T")


class BrokenLimitError(Exception):
    """Work in this process broke a limit and was stopped.

    Args:
        limit: "time" or "memory".
    """

    def __init__(self, limit: str) -> None:
        self.limit = limit
        super().__init__(f"the {limit} limit was broken")


class _StopError(BaseException):
    """What is raised in the thread that works; no `except Exception` holds it up."""


def bounded(work: Callable[[], T], time_limit: float, memory_limit: float) -> T:
    """What the work returns or raises.

    Args:
        work: runs in the calling thread.
        time_limit: seconds.
        memory_limit: MB (1e6 bytes) of resident memory beyond what the process holds when the work begins. On Linux an
            allocation that is far larger fails before it is made.

    Raises:
        BrokenLimitError: the work was stopped.
    """
    watch = _Watch(time_limit, memory_limit)
    try:
        try:
            with _address_space(memory_limit):
                watch.start()
                return work()
        finally:
            watch.end()
    except _StopError:
        # It may have come while the watch was being ended.
        watch.end()
        raise BrokenLimitError(watch.broken or "time") from None
    except MemoryError:
        raise BrokenLimitError("memory") from None


class _Watch:
    """A thread that raises `_StopError` in the one that made it; again each second, where that was caught."""

    def __init__(self, time_limit: float, memory_limit: float) -> None:
        self.broken: str | None = None
        self._end = time.monotonic() + time_limit
        self._most = (resident(os.getpid()) or 0) + memory_limit * 1e6
        self._worker = threading.get_ident()
        self._over = threading.Event()
        self._lock = threading.Lock()

    def start(self) -> None:
        threading.Thread(target=self._look, daemon=True, name="fitcheck limits").start()

    def end(self) -> None:
        """End the watch; in the thread that works."""
        with self._lock:
            self._over.set()
        if self.broken is None:
            return
        # One that was raised too late must not hit what comes after the work. Taken back, it would leave the
        # interpreter looking for it for ever; so it is raised here, whether or not it is still due.
        with contextlib.suppress(_StopError):
            _raise_in(self._worker, _StopError)
            while True:
                pass

    def _look(self) -> None:
        # procfs costs microseconds, reading memory on other systems an import.
        pause = _EVERY if sys.platform == "linux" else _SLOW
        while not self._over.wait(max(min(pause, self._end - time.monotonic()), 0.0)):
            if self.broken is None and time.monotonic() >= self._end:
                self.broken = "time"
            elif self.broken is None and (resident(os.getpid()) or 0) > self._most:
                self.broken = "memory"
            if self.broken is not None:
                with self._lock:
                    if not self._over.is_set():
                        _raise_in(self._worker, _StopError)
                pause, self._end = _SLOW, time.monotonic() + _SLOW


def _raise_in(thread: int, error: type[BaseException]) -> None:
    """Raise an error in a thread as soon as it runs Python."""
    ctypes.pythonapi.PyThreadState_SetAsyncExc(ctypes.c_ulong(thread), ctypes.py_object(error))


@contextlib.contextmanager
def _address_space(megabytes: float) -> Iterator[None]:
    """As `limit_address_space`, and as it was afterwards."""
    if sys.platform != "linux":
        yield
        return
    import resource

    before = resource.getrlimit(resource.RLIMIT_AS)
    limit_address_space(megabytes)
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_AS, before)


def limit_address_space(megabytes: float) -> None:
    """Bound this process's address space on Linux: an allocation that is far too large fails before it is made.

    Resident memory is watched as well; this stops what grows faster than anybody looks. Address space is more than
    memory in use, so the bound lies half as much again above what the process has already.
    """
    if sys.platform != "linux":
        return
    import resource

    with open("/proc/self/statm", "rb") as stream:
        mapped = int(stream.read().split()[0]) * os.sysconf("SC_PAGE_SIZE")
    wanted = mapped + int(megabytes * 1e6 * _HEADROOM)
    soft, hard = resource.getrlimit(resource.RLIMIT_AS)
    if all(limit == resource.RLIM_INFINITY or wanted < limit for limit in (soft, hard)):
        resource.setrlimit(resource.RLIMIT_AS, (wanted, hard))


def resident(pid: int) -> int | None:
    """Bytes of resident memory of a process; None where it has gone."""
    if sys.platform == "linux":
        try:
            with open(f"/proc/{pid}/statm", "rb") as stream:
                return int(stream.read().split()[1]) * os.sysconf("SC_PAGE_SIZE")
        except (OSError, IndexError, ValueError):
            return None
    import psutil

    try:
        return int(psutil.Process(pid).memory_info().rss)
    except psutil.Error:
        return None
