"""Where results go: standard output or a file, whole or not at all; colour; progress and messages on stderr."""

from __future__ import annotations

import contextlib
import os
import stat
import sys
from collections.abc import Iterable
from typing import TextIO

from fitcheck.errors import FitcheckError, UsageError


class OutputError(FitcheckError, OSError):
    """A result could not be written."""


def wants_colour(choice: str, stream: TextIO | None) -> bool:
    """Whether to colour: by the option, then NO_COLOR, then FORCE_COLOR, then whether a terminal shows the stream."""
    if choice != "auto":
        return choice == "always"
    if os.environ.get("NO_COLOR"):
        return False
    if os.environ.get("FORCE_COLOR"):
        return True
    return stream is not None and stream.isatty() and os.environ.get("TERM") != "dumb"


def say(message: str) -> None:
    """A message for people, on stderr; of several problems each stands on its own line."""
    from fitcheck.report.page import clean

    with contextlib.suppress(BrokenPipeError):
        for line in message.splitlines():
            print(f"fitcheck: {clean(line)}", file=sys.stderr, flush=True)


def show_progress(number: int, total: int, name: str) -> None:
    """One line on stderr that the next one overwrites; nothing where stderr is no terminal."""
    if sys.stderr.isatty():
        from fitcheck.report.page import clean

        sys.stderr.write(f"\r\x1b[K[{number}/{total}] {clean(name)[-60:]}")
        sys.stderr.flush()


def end_progress() -> None:
    """Take the progress line away."""
    if sys.stderr.isatty():
        sys.stderr.write("\r\x1b[K")
        sys.stderr.flush()


def refuse_bad_output(path: str | None, inputs: Iterable[str]) -> None:
    """Say before the work is done that its result could not be written.

    Raises:
        UsageError: the path is a folder, lies in none, is not writable, or is one of the inputs.
    """
    if path is None:
        return
    folder = os.path.dirname(os.path.realpath(path))
    if os.path.isdir(path):
        msg = f"{path}: the output is a folder; name a file"
        raise UsageError(msg)
    if not os.path.isdir(folder):
        msg = f"{path}: there is no folder {folder}; make it first"
        raise UsageError(msg)
    if not os.access(path if os.path.exists(path) else folder, os.W_OK):
        msg = f"{path}: no permission to write there"
        raise UsageError(msg)
    for given in inputs:
        if os.path.exists(path) and os.path.exists(given) and os.path.samefile(path, given):
            msg = f"{path}: the output would overwrite what is to be read; name another file"
            raise UsageError(msg)


def refuse_bad_report(path: str | None, inputs: Iterable[str] = ()) -> None:
    """As `refuse_bad_output`, for a result that may take the place of an older one, and of nothing else.

    Raises:
        UsageError: it could not be written, or a STEP file or a job file stands there: somebody's work, and perhaps
            what one of the jobs reads.
    """
    refuse_bad_output(path, inputs)
    if path is None or not os.path.isfile(path):
        return
    from fitcheck.jobfiles import JOB_ENDING, STEP_ENDINGS

    found = ""
    if path.lower().endswith(JOB_ENDING):
        found = "job file"
    elif path.lower().endswith(STEP_ENDINGS) or _begins_as_step(path):
        found = "STEP file"
    if found:
        msg = f"{path}: a {found} stands there, and the output would overwrite it; name another file"
        raise UsageError(msg)


def _begins_as_step(path: str) -> bool:
    try:
        with open(path, "rb") as stream:
            return b"ISO-10303-21" in stream.read(4096)
    except OSError:
        return False


def write_whole(path: str, text: str) -> None:
    """Write a file whole or not at all: to a new file beside it, which then takes its place.

    Args:
        path: the file; a symbolic link is followed, a device or pipe is written to as it is.
        text: written as UTF-8.

    Raises:
        OutputError: it could not be written; what was there before is still there.
    """
    data = text.encode("utf-8", "backslashreplace")
    target = os.path.realpath(path)
    spare = None
    try:
        mode = _mode(target)
        if mode is None:
            with open(target, "wb") as stream:
                stream.write(data)
            return
        import tempfile

        handle, spare = tempfile.mkstemp(prefix=".fitcheck-", suffix=".part", dir=os.path.dirname(target))
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
        os.chmod(spare, mode)
        os.replace(spare, target)
    except OSError as problem:
        msg = f"{path}: could not be written: {problem.strerror or problem}"
        raise OutputError(msg) from problem
    finally:
        if spare is not None and os.path.exists(spare):
            os.unlink(spare)


def _mode(target: str) -> int | None:
    """Permissions for the new file; None where the target is a device or a pipe, which no file may replace."""
    try:
        found = os.stat(target).st_mode
    except FileNotFoundError:
        mask = os.umask(0)
        os.umask(mask)
        return 0o666 & ~mask
    return stat.S_IMODE(found) if stat.S_ISREG(found) else None


def deliver(text: str, path: str | None, *, utf8: bool) -> None:
    """Write a result to the file, or to standard output where `path` is None.

    Args:
        text: the result, ending in a newline.
        path: the file.
        utf8: write UTF-8 to standard output whatever its encoding (documents that declare it).

    Raises:
        OutputError: it could not be written.
    """
    if path is not None:
        write_whole(path, text)
        return
    stream: TextIO | None = sys.stdout
    if stream is None:
        # Python sets it so where the shell closed it (>&-).
        msg = "standard output is closed, so the result went nowhere; name a file with --output"
        raise OutputError(msg)
    encoding = "utf-8" if utf8 else (getattr(stream, "encoding", None) or "utf-8")
    data = text.encode(encoding, "backslashreplace")
    try:
        binary = getattr(stream, "buffer", None)
        if binary is None:
            stream.write(data.decode(encoding))
        else:
            stream.flush()
            binary.write(data)
            binary.flush()
        stream.flush()
    except BrokenPipeError:
        # The reader has what it wanted (head, less). Python would complain again when it flushes at exit.
        silence(stream)
    except OSError as problem:
        msg = f"standard output: could not be written: {problem.strerror or problem}"
        raise OutputError(msg) from problem


def silence(stream: TextIO) -> None:
    """Point a stream whose reader has gone at nothing."""
    with contextlib.suppress(OSError, ValueError):
        nothing = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nothing, stream.fileno())
        os.close(nothing)
