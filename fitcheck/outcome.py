"""One job's result: checked on its measurement, or the error that stands in its place."""

from __future__ import annotations

import os
import sys
from dataclasses import replace
from typing import TYPE_CHECKING

from fitcheck.errors import FaultError, FitcheckError, JobError, StepFileError
from fitcheck.rooms import Rooms

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from fitcheck.checks.finding import Finding
    from fitcheck.checks.result import JobResult
    from fitcheck.job.model import LoadedJob
    from fitcheck.measurement.model import Measurement

    Work = tuple[Measurement, LoadedJob, Sequence[Finding]]

DEBUG = "FITCHECK_DEBUG"


def checked(
    loaded: LoadedJob, name: str, strict: bool, rooms: Rooms, measured: Measurement | FitcheckError,
    keep_obstacles: bool, *, limits: tuple[float, float] | None = None,
) -> JobResult:  # fmt: skip
    """The result of a job on a measurement, or on the error that stands in its place.

    Args:
        loaded: the job.
        name: what the job is called in messages.
        strict: count warnings as fails.
        rooms: the functions to check with.
        measured: the measurement, possibly of another file with the same content, or why there is none.
        keep_obstacles: leave the obstacles, which are large, in the result's measurement.
        limits: seconds and MB that the checks may take; None where this process is held to them from outside.
    """
    from fitcheck.checks.result import JobResult

    if isinstance(measured, FitcheckError):
        return failed(name, named(measured, loaded.step_path), strict, loaded)
    measurement = measured if measured.file == loaded.step_path else replace(measured, file=loaded.step_path)

    def work() -> Work:
        oriented = rooms.orient(measurement, loaded.job)
        whole = rooms.complete(loaded, oriented)
        return oriented, whole, rooms.checks(whole, oriented)

    try:
        measurement, loaded, findings = work() if limits is None else _held(work, limits, loaded.step_path)
    except Exception as error:
        return failed(name, known(error), strict, loaded, replace(measurement, obstacles=None))
    if not keep_obstacles:
        measurement = replace(measurement, obstacles=None)
    return JobResult(name=name, findings=tuple(findings), loaded=loaded, measurement=measurement, strict=strict)


def _held(work: Callable[[], Work], limits: tuple[float, float], file: str) -> Work:
    from fitcheck.limits import BrokenLimitError, bounded

    try:
        return bounded(work, *limits)
    except BrokenLimitError as broken:
        if broken.limit == "time":
            text = f"checking took longer than {limits[0]:g} s and was stopped; simplify the file, or allow more time "
            raise StepFileError(text + "with --time-limit", file) from None
        text = f"checking needed more than {limits[1]:g} MB of memory and was stopped; simplify the file, or allow "
        raise StepFileError(text + "more with --memory-limit", file) from None


def failed(
    name: str, error: FitcheckError, strict: bool, loaded: LoadedJob | None = None,
    measurement: Measurement | None = None,
) -> JobResult:  # fmt: skip
    """The result of a job that could not be read, measured or checked."""
    from fitcheck.checks.result import JobResult

    return JobResult(
        name=name, error=str(error) + _named_by(error, loaded), error_code=error.exit_code, loaded=loaded,
        measurement=measurement, strict=strict,
        error_line=error.line if isinstance(error, JobError) else None,
        error_from_cache=isinstance(error, StepFileError) and error.from_cache,
    )  # fmt: skip


def _named_by(error: FitcheckError, loaded: LoadedJob | None) -> str:
    """Where the job names a STEP file that is not there: a slip of the pen in the job, more often than not."""
    if loaded is None or loaded.file is None or not isinstance(error, StepFileError):
        return ""
    if os.path.exists(loaded.step_path):
        return ""
    line = loaded.lines.get("step")
    place = loaded.file if line is None else f"{loaded.file}:{line}"
    return f"; {place} names it with 'step: {loaded.job.step}', relative to the job file's folder"


def known(error: Exception) -> FitcheckError:
    """The error itself where it is one for the user, else one that asks for a report."""
    return error if isinstance(error, FitcheckError) else FitcheckError(unexpected(error))


def unexpected(error: Exception) -> str:
    """The words for a fault of fitcheck itself; the traceback goes to stderr only where FITCHECK_DEBUG is set."""
    if os.environ.get(DEBUG):
        import traceback

        traceback.print_exception(error, file=sys.stderr)
    what = str(error) if isinstance(error, FaultError) else f"{type(error).__name__}: {error}"
    return (
        f"fitcheck itself failed ({what}), so nothing was decided; please report it with the "
        f"job file and the STEP file, and with what is printed when {DEBUG}=1 is set"
    )


def named(error: FitcheckError, path: str) -> FitcheckError:
    """The same error about another path with the same content."""
    if not isinstance(error, StepFileError) or error.file == path:
        return error
    same = type(error)(error.message, path)
    same.lasting, same.from_cache = error.lasting, error.from_cache
    return same
