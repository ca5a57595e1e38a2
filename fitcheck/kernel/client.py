"""The side of the process boundary without a CAD kernel: starts the worker, asks it, and outlives it.

The worker takes most of a second to load the kernel, so it is started first and asked later.
"""

from __future__ import annotations

import contextlib
import os
import struct
import subprocess
import sys
import tempfile
import threading
from array import array
from types import TracebackType
from typing import IO, Any

from fitcheck.errors import StepFileError
from fitcheck.kernel.protocol import ClosedError, receive, send
from fitcheck.kernel.watch import MOST_CHATTER, Watch

DEFAULT_TIME_LIMIT = 300.0
"""Seconds that one request may take; a 2,000-face adapter takes about 5."""

DEFAULT_MEMORY_LIMIT = 4096.0
"""MB that a worker may hold; the loaded kernel takes 300, a 2,000-face adapter about 150 more."""

_ENDING = "{phase} was stopped, because fitcheck is ending"

_WORKER = "from fitcheck.kernel.worker import main; main()"


class Kernel:
    """A worker process that has the CAD kernel loaded; a context manager.

    A request that crashes the worker or breaks a limit ends that worker only: the request raises `StepFileError`, and
    the next request starts a new one. `close` ends it for good.

    Args:
        time_limit: seconds that one request may take.
        memory_limit: MB of memory that the worker may hold; kept on Linux and macOS, not on Windows.
    """

    def __init__(self, time_limit: float = DEFAULT_TIME_LIMIT, memory_limit: float = DEFAULT_MEMORY_LIMIT) -> None:
        self.time_limit = time_limit
        self.memory_limit = memory_limit
        self._process: subprocess.Popen[bytes] | None = None
        self._chatter: IO[bytes] | None = None
        self._closed = False
        self._lock = threading.Lock()

    def start(self) -> None:
        """Start the worker, if none runs, and return at once; it loads the kernel meanwhile."""
        with self._lock:
            if self._closed or (self._process is not None and self._process.poll() is None):
                return
            self._launch()

    def _launch(self) -> None:
        self._end()
        chatter = tempfile.TemporaryFile()  # noqa: SIM115 - lives as long as the worker
        self._process = subprocess.Popen(
            [sys.executable, "-P", "-c", _WORKER],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=chatter,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(path for path in sys.path if path)},
        )
        self._chatter = chatter

    def ask(self, file: str, phase: str, request: dict[str, Any]) -> tuple[dict[str, Any], list[array[float]]]:
        """One request and its answer.

        Args:
            file: the STEP file's name, for messages.
            phase: what is being done, for messages ("reading").
            request: a JSON-able object with the key "do".

        Returns:
            The worker's answer and its float arrays.

        Raises:
            StepFileError: the worker said that the file is wrong, crashed, or broke a limit; names file and phase.
        """
        self.start()
        process, chatter = self._process, self._chatter
        if self._closed or process is None or chatter is None:
            raise StepFileError(_ENDING.format(phase=phase), file)
        assert process.stdin is not None
        assert process.stdout is not None
        watch = Watch(process, chatter, self.time_limit, self.memory_limit)
        limits = {"time": self.time_limit, "memory": self.memory_limit}
        try:
            with watch:
                send(process.stdin, {**request, "limits": limits})
                answer, arrays = receive(process.stdout)
        except (ClosedError, OSError, ValueError, struct.error, MemoryError) as gone:
            process.kill()
            code = process.wait()
            words = self._words(phase, watch.broken, code, _tail(chatter))
            self._end()
            raise StepFileError(words, file) from gone
        except BaseException:
            process.kill()
            raise
        if "error" in answer:
            raise StepFileError(str(answer["error"]), file)
        return answer, arrays

    def _words(self, phase: str, broken: str | None, code: int, said: str) -> str:
        if self._closed:
            return _ENDING.format(phase=phase)
        if broken == "time":
            return (
                f"{phase} took longer than {self.time_limit:g} s and was stopped; simplify the file, or allow more "
                "time with --time-limit"
            )
        if broken == "memory" or "bad_alloc" in said or "MemoryError" in said:
            return (
                f"{phase} needed more than {self.memory_limit:g} MB of memory and was stopped; simplify the file, or "
                "allow more with --memory-limit"
            )
        if broken == "messages":
            return (
                f"the CAD kernel wrote more than {MOST_CHATTER >> 20} MB of messages while {phase} and was stopped; "
                "the file is damaged, export it again"
            )
        if code == 1 and ("ImportError" in said or "ModuleNotFoundError" in said):
            return (
                f"the CAD kernel could not be loaded ({said.strip().splitlines()[-1]}); install it again with: "
                "pip install --force-reinstall cadquery-ocp"
            )
        how = f"signal {-code}" if code < 0 else f"exit code {code}"
        return (
            f"the CAD kernel crashed while {phase} ({how}); the file is damaged or holds what the kernel cannot take: "
            "export it again, with exact geometry only"
        )

    def close(self) -> None:
        """End the worker for good; a request that runs in another thread fails."""
        with self._lock:
            self._closed = True
            self._end()

    def _end(self) -> None:
        process, self._process = self._process, None
        chatter, self._chatter = self._chatter, None
        if process is not None:
            # Nothing that the worker holds needs saving, so it is killed rather than asked.
            process.kill()
            process.wait()
            for stream in (process.stdin, process.stdout):
                if stream is not None:
                    with contextlib.suppress(OSError, ValueError):
                        stream.close()
        if chatter is not None:
            chatter.close()

    def __enter__(self) -> Kernel:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, value: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def _tail(chatter: IO[bytes]) -> str:
    """The last words of a worker that has ended."""
    try:
        size = chatter.seek(0, os.SEEK_END)
        chatter.seek(max(size - 4000, 0))
        return chatter.read().decode("utf-8", "replace")
    except (OSError, ValueError):
        return ""
