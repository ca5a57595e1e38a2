"""The side of the process boundary without a CAD kernel: starts the worker, asks it, and outlives it.

The worker takes most of a second to load the kernel, so it is started first and asked later.
"""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import tempfile
import threading
from array import array
from types import TracebackType
from typing import IO, Any

from fitcheck.errors import StepFileError
from fitcheck.kernel.protocol import ClosedError, receive, send

DEFAULT_TIME_LIMIT = 300.0
"""Seconds that one request may take; a 2,000-face adapter takes about 5."""


class Kernel:
    """A worker process that has the CAD kernel loaded; a context manager.

    A request that crashes the worker, or takes longer than `time_limit`, ends that worker only: the request raises
    `StepFileError`, and the next request starts a new one.

    Args:
        time_limit: seconds that one request may take.
    """

    def __init__(self, time_limit: float = DEFAULT_TIME_LIMIT) -> None:
        self.time_limit = time_limit
        self._process: subprocess.Popen[bytes] | None = None
        self._chatter: IO[bytes] | None = None

    def start(self) -> None:
        """Start the worker, if none runs, and return at once; it loads the kernel meanwhile."""
        if self._process is not None and self._process.poll() is None:
            return
        self.close()
        self._chatter = tempfile.TemporaryFile()  # noqa: SIM115 - lives as long as the worker
        self._process = subprocess.Popen(
            [sys.executable, "-P", "-c", "from fitcheck.kernel.worker import main; main()"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=self._chatter,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(path for path in sys.path if path)},
        )

    def ask(self, file: str, phase: str, request: dict[str, Any]) -> tuple[dict[str, Any], list[array[float]]]:
        """One request and its answer.

        Args:
            file: the STEP file's name, for messages.
            phase: what is being done, for messages ("reading").
            request: a JSON-able object with the key "do".

        Returns:
            The worker's answer and its float arrays.

        Raises:
            StepFileError: the worker said that the file is wrong, crashed, or took too long.
        """
        self.start()
        process = self._process
        assert process is not None
        assert process.stdin is not None
        assert process.stdout is not None
        late = threading.Event()

        def stop() -> None:
            late.set()
            process.kill()

        clock = threading.Timer(self.time_limit, stop)
        clock.daemon = True
        clock.start()
        try:
            send(process.stdin, request)
            answer, arrays = receive(process.stdout)
        except (ClosedError, OSError) as gone:
            code = process.wait()
            self.close()
            if late.is_set():
                msg = (
                    f"{phase} took longer than {self.time_limit:g} s and was stopped; "
                    "simplify the file or allow more time"
                )
                raise StepFileError(msg, file) from gone
            how = f"signal {-code}" if code < 0 else f"exit code {code}"
            msg = (
                f"the CAD kernel crashed while {phase} ({how}); the file is damaged or holds what the kernel can't take"
            )
            raise StepFileError(msg, file) from gone
        except BaseException:
            process.kill()
            raise
        finally:
            clock.cancel()
        if "error" in answer:
            raise StepFileError(str(answer["error"]), file)
        return answer, arrays

    def close(self) -> None:
        """End the worker."""
        process, self._process = self._process, None
        chatter, self._chatter = self._chatter, None
        if process is not None:
            # Nothing that the worker holds needs saving, so it is killed rather than asked.
            process.kill()
            for stream in (process.stdin, process.stdout):
                if stream is not None:
                    with contextlib.suppress(OSError):
                        stream.close()
            process.wait()
        if chatter is not None:
            chatter.close()

    def __enter__(self) -> Kernel:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, value: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()
