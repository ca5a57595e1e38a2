"""One worker process as its owner sees it: started, spoken to through pipes, and ended for good."""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import tempfile
from collections.abc import Mapping, Sequence
from typing import IO

from fitcheck.kernel.protocol import ClosedError, receive_parts, send_parts

DEBUG = "FITCHECK_DEBUG"

_ENDING = 2.0
"""Seconds that a process which has closed its pipes is given to end by itself."""


class Process:
    """A Python process that answers messages; started on demand, and anew once it has ended.

    It is a new program, never a copy of this process, so it needs no `fork`.

    Args:
        code: what it runs.
        environment: variables that it gets unless they are set already.
        loud: its messages go to this process's stderr where FITCHECK_DEBUG is set.
    """

    def __init__(self, code: str, environment: Mapping[str, str] | None = None, *, loud: bool = False) -> None:
        self.code = code
        self.popen: subprocess.Popen[bytes] | None = None
        self.chatter: IO[bytes] | None = None
        self._environment = environment or {}
        self._loud = loud

    @property
    def runs(self) -> bool:
        """Whether it has been started and has not ended."""
        return self.popen is not None and self.popen.poll() is None

    def start(self) -> None:
        """Start it, if it does not run."""
        if self.runs:
            return
        self.end()
        chatter = tempfile.TemporaryFile()  # noqa: SIM115 - lives as long as the process
        self.popen = subprocess.Popen(
            [sys.executable, "-P", "-c", self.code],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=None if self._loud and os.environ.get(DEBUG) else chatter,
            env={**self._environment, **os.environ, "PYTHONPATH": os.pathsep.join(path for path in sys.path if path)},
        )
        self.chatter = chatter

    def send(self, parts: Sequence[bytes]) -> None:
        """Send a message; raises `OSError` or `ValueError` where the process has gone."""
        if self.popen is None or self.popen.stdin is None:
            raise ClosedError
        send_parts(self.popen.stdin, parts)

    def receive(self) -> list[bytes]:
        """The parts of the next message; raises `ClosedError` where the process has gone."""
        if self.popen is None or self.popen.stdout is None:
            raise ClosedError
        return receive_parts(self.popen.stdout)

    def kill(self) -> None:
        """Kill it and return at once."""
        if self.popen is not None:
            self.popen.kill()

    def died(self) -> tuple[int, str]:
        """Its exit code (negative: a signal) and its last words, once it has gone; it is killed where it has not."""
        popen, chatter = self.popen, self.chatter
        if popen is None or chatter is None:
            return 0, ""
        try:
            # Its pipes close a moment before it has ended; killed in between, it would not tell why it did.
            code = popen.wait(timeout=_ENDING)
        except subprocess.TimeoutExpired:
            popen.kill()
            code = popen.wait()
        try:
            size = chatter.seek(0, os.SEEK_END)
            chatter.seek(max(size - 4000, 0))
            return code, chatter.read().decode("utf-8", "replace")
        except (OSError, ValueError):
            return code, ""

    def end(self) -> None:
        """Kill it, wait for its end, and close its pipes. Nothing that it holds needs saving."""
        popen, self.popen = self.popen, None
        chatter, self.chatter = self.chatter, None
        if popen is not None:
            popen.kill()
            popen.wait()
            for stream in (popen.stdin, popen.stdout):
                if stream is not None:
                    with contextlib.suppress(OSError, ValueError):
                        stream.close()
        if chatter is not None:
            chatter.close()
