"""Limits of worker processes, kept from outside while a request runs: time, memory and messages.

A worker that hangs in the CAD kernel runs none of its own Python, so it cannot watch itself. The request runs in a
thread and the watch in the caller's, which therefore never waits in a pipe: an interrupt is heard at once, on Windows
too.
"""

from __future__ import annotations

import contextlib
import os
import sys
import threading
import time
from collections.abc import Callable, Sequence
from typing import Generic, TypeVar

from fitcheck.kernel.process import Process
from fitcheck.limits import resident

MOST_CHATTER = 16 << 20
"""Bytes of messages that the kernel may write in one worker's life."""

_EVERY = 0.05
_SLOW = 1.0
_PROMPT = 0.2
"""s; no wait is longer, so that an interrupt is heard where a wait itself cannot be interrupted."""

T = TypeVar("T")


class Watch(Generic[T]):
    """Runs one request, and stops it where a limit is broken.

    Args:
        processes: the processes that work for the request; their memory counts together.
        time_limit: seconds.
        memory_limit: MB (1e6 bytes) of resident memory.
        stop: ends the request; called with "time", "memory" or "messages" once that limit is broken, and again after
            `grace` seconds where the request goes on.
        grace: seconds.
    """

    def __init__(
        self, processes: Sequence[Process], time_limit: float, memory_limit: float, stop: Callable[[str], None],
        grace: float = 10.0,
    ) -> None:  # fmt: skip
        self._processes = processes
        self._time_limit, self._memory_limit = time_limit, memory_limit
        self._stop, self._grace = stop, grace
        self._done = threading.Event()
        self._outcome: list[T] = []
        self._error: BaseException | None = None

    def run(self, request: Callable[[], T]) -> T:
        """What the request returns or raises; it has ended when this returns, unless this is interrupted."""
        thread = threading.Thread(target=self._work, args=(request,), daemon=True, name="fitcheck request")
        thread.start()
        end = time.monotonic() + self._time_limit
        # procfs costs microseconds, reading memory on other systems an import.
        pause, look = (_EVERY if sys.platform == "linux" else _SLOW), 0.0
        while not self._done.wait(max(min(pause, _PROMPT, end - time.monotonic()), 0.0)):
            now = time.monotonic()
            limit = "time" if now >= end else None
            if limit is None and now >= look:
                look, limit = now + pause, self._broken()
            if limit is not None:
                self._stop(limit)
                end = now + self._grace
        thread.join()
        if self._error is not None:
            raise self._error
        return self._outcome[0]

    def _work(self, request: Callable[[], T]) -> None:
        try:
            self._outcome.append(request())
        except BaseException as error:
            self._error = error
        finally:
            self._done.set()

    def _broken(self) -> str | None:
        used = 0
        for process in self._processes:
            popen, chatter = process.popen, process.chatter
            if popen is None or chatter is None:
                continue
            used += resident(popen.pid) or 0
            with contextlib.suppress(OSError, ValueError):
                if os.fstat(chatter.fileno()).st_size > MOST_CHATTER:
                    return "messages"
        return "memory" if used > self._memory_limit * 1e6 else None
