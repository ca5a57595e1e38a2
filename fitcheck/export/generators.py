"""The side of the generators' process that has no CAD kernel: starts it, asks it once, and outlives it."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from contextlib import suppress
from typing import Any

from fitcheck.errors import FitcheckError, UsageError

TIME_LIMIT = 300.0
"""Seconds that one export may take; a detailed coupling in a 2,000-face adapter takes about 15."""


class Generators:
    """A process with the generators; a context manager. It loads the CAD kernel while the caller works out what to ask.

    Args:
        time_limit: seconds that the answer may take.
    """

    def __init__(self, time_limit: float = TIME_LIMIT) -> None:
        self.time_limit = time_limit
        self._process: subprocess.Popen[bytes] | None = None

    def start(self, *, solids: bool) -> None:
        """Start the process and return at once.

        Args:
            solids: whether the CAD kernel will be needed.
        """
        load = "import parametric_models.export.solids; " if solids else ""
        self._process = subprocess.Popen(
            [sys.executable, "-P", "-c", f"{load}from parametric_models.export.worker import main; main()"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(path for path in sys.path if path)},
        )

    def ask(self, request: dict[str, Any]) -> dict[str, Any]:
        """Make the file of a request; the process ends with it.

        Args:
            request: the JSON object that `parametric_models.export.request` describes.

        Returns:
            The answer that `parametric_models.export.worker` describes.

        Raises:
            UsageError: the coupling cannot be built with these dimensions.
            FitcheckError: the file could not be made, or the process crashed or took too long.
        """
        assert self._process is not None
        try:
            out, chatter = self._process.communicate(json.dumps(request).encode(), self.time_limit)
        except subprocess.TimeoutExpired as late:
            raise FitcheckError(
                f"making {request['title']} took longer than {self.time_limit:g} s and was stopped; leave out what "
                "is not needed (--detail, --with-adapter)"
            ) from late
        if not out:
            code = self._process.returncode
            how = f"signal {-code}" if code < 0 else f"exit code {code}"
            last = chatter.decode(errors="replace").strip().splitlines()[-1:] or ["nothing was said"]
            raise FitcheckError(f"the CAD kernel's process ended while making {request['title']} ({how}): {last[0]}")
        answer: dict[str, Any] = json.loads(out)
        if "error" in answer:
            kind = UsageError if answer["exit_code"] == UsageError.exit_code else FitcheckError
            raise kind(answer["error"])
        return answer

    def __enter__(self) -> Generators:
        return self

    def __exit__(self, *_: object) -> None:
        process, self._process = self._process, None
        if process is not None:
            # Nothing that it holds needs saving.
            process.kill()
            for stream in (process.stdin, process.stdout, process.stderr):
                if stream is not None:
                    with suppress(OSError):
                        stream.close()
            process.wait()
