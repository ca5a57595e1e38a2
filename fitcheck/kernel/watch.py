"""Limits of a worker process, kept from outside while a request runs: time, memory and messages.

A worker that hangs in the CAD kernel runs none of its own Python, so it cannot watch itself.
"""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import threading
import time
from typing import IO, Any

MOST_CHATTER = 16 << 20
"""Bytes of messages that the kernel may write in one worker's life."""

_EVERY = 0.05
_SLOW = 1.0


class Watch:
    """Kills a process that takes too long, too much memory, or writes too many messages; a context manager.

    Args:
        process: the worker.
        chatter: the file that its messages go to.
        time_limit: seconds.
        memory_limit: MB (1e6 bytes) of resident memory.

    Attributes:
        broken: "time", "memory" or "messages" once a limit was broken and the process killed, else None.
    """

    def __init__(
        self, process: subprocess.Popen[bytes], chatter: IO[bytes], time_limit: float, memory_limit: float
    ) -> None:
        self.broken: str | None = None
        self._process, self._chatter = process, chatter
        self._time_limit, self._memory_limit = time_limit, memory_limit
        self._done = threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True)

    def __enter__(self) -> Watch:
        self._thread.start()
        return self

    def __exit__(self, *_: Any) -> None:
        self._done.set()
        self._thread.join()

    def _run(self) -> None:
        # procfs costs microseconds, the command that stands in for it milliseconds.
        pause = _EVERY if sys.platform == "linux" else _SLOW
        end = time.monotonic() + self._time_limit
        while not self._done.wait(max(min(pause, end - time.monotonic()), 0.0)):
            if time.monotonic() >= end:
                self._stop("time")
                return
            used = resident(self._process.pid)
            if used is not None and used > self._memory_limit * 1e6:
                self._stop("memory")
                return
            with contextlib.suppress(OSError, ValueError):
                if os.fstat(self._chatter.fileno()).st_size > MOST_CHATTER:
                    self._stop("messages")
                    return

    def _stop(self, limit: str) -> None:
        if self._process.poll() is None:
            self.broken = limit
            self._process.kill()


def resident(pid: int) -> int | None:
    """Bytes of resident memory of a process; None where the platform does not say (Windows) or it has gone."""
    if sys.platform == "linux":
        try:
            with open(f"/proc/{pid}/statm", "rb") as stream:
                return int(stream.read().split()[1]) * os.sysconf("SC_PAGE_SIZE")
        except (OSError, IndexError, ValueError):
            return None
    if sys.platform == "win32":
        return None
    try:
        said = subprocess.run(["ps", "-o", "rss=", "-p", str(pid)], capture_output=True, timeout=5, check=False)
        return int(said.stdout) * 1024
    except (OSError, ValueError, subprocess.TimeoutExpired):
        return None
