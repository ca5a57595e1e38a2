"""The public functions: measure a STEP file, load a job, check one job or many.

The command line is a thin layer over them. Importing this module loads no arrays, no YAML and no CAD kernel; a call
starts the kernel's worker first and imports the rest while the worker loads.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Hashable, Iterable, Sequence
from contextlib import ExitStack
from typing import TYPE_CHECKING, Any

from fitcheck.errors import FitcheckError, JobError
from fitcheck.jobfiles import NothingToCheckError, find_jobs, names_a_step

if TYPE_CHECKING:
    from fitcheck.checks.finding import Finding
    from fitcheck.checks.result import JobResult, Result
    from fitcheck.job.model import Job, LoadedJob
    from fitcheck.kernel.client import Kernel
    from fitcheck.measurement.model import Measurement

STEP_ENDINGS = (".step", ".stp", ".p21")
DEBUG = "FITCHECK_DEBUG"

AnyPath = str | os.PathLike[str]
Progress = Callable[[int, int, str], None]


class Rooms:
    """The functions that a check is made of; tests put others in their place."""

    def kernel(self) -> Kernel:
        """A kernel client; its worker is not started yet."""
        from fitcheck.kernel.client import Kernel

        return Kernel()

    def load(self, path: str) -> LoadedJob:
        """The job of a file."""
        from fitcheck.job.load import load_job

        return load_job(path)

    def options(self, job: Job) -> Hashable:
        """What of the job decides the measurement."""
        from fitcheck.measurement.options import options_for

        return options_for(job)

    def measure(self, path: str, options: Any, kernel: Kernel) -> Measurement:
        """The plain measurement of a STEP file."""
        from fitcheck.measurement.measure import measure_file

        return measure_file(path, options, kernel)

    def orient(self, measurement: Measurement, job: Job) -> Measurement:
        """The measurement with the motor's end first."""
        from fitcheck.measurement.roles import orient

        return orient(measurement, job)

    def checks(self, loaded: LoadedJob, measurement: Measurement) -> tuple[Finding, ...]:
        """All findings of a job."""
        from fitcheck.checks.run import run_checks

        return run_checks(loaded, measurement)


def measure(
    path: AnyPath, *, axis_near: tuple[float, float, float] | None = None, unit: str | None = None,
    kernel: Kernel | None = None,
) -> Measurement:  # fmt: skip
    """Measure a STEP file.

    Args:
        path: the STEP file.
        axis_near: a point in the file's frame, mm; settles which line is the drive axis where the file offers several.
        unit: length unit of the file's numbers (mm, cm, m or inch), where the file declares a wrong one.
        kernel: a running kernel to use; one is started for this call where None.

    Returns:
        The measurement; lengths mm, angles degrees.

    Raises:
        StepFileError: the file could not be read, or (as MeasureError) not measured.
    """
    with ExitStack() as stack:
        if kernel is None:
            kernel = stack.enter_context(Rooms().kernel())
            if os.path.isfile(path):
                kernel.start()
        from fitcheck.measurement.measure import measure_file
        from fitcheck.measurement.options import MeasureOptions

        return measure_file(os.fspath(path), MeasureOptions(axis_near=axis_near, unit=unit), kernel)


def load_job(path: AnyPath) -> LoadedJob:
    """Read a job file.

    Raises:
        JobError: the file could not be read or is no valid job; says where, what was found and what was needed.
    """
    return Rooms().load(os.fspath(path))


def job_schema() -> dict[str, Any]:
    """The JSON Schema of job files, for editors."""
    from fitcheck.job.schema import job_schema as schema

    return schema()


def starting_job(measurement: Measurement, step_name: str) -> str:
    """The text of a commented job file, prefilled with what was measured.

    Args:
        measurement: the measured STEP file.
        step_name: the STEP file's path as the job file names it, relative to the job file.
    """
    from fitcheck.job.template import job_template

    return job_template(measurement, step_name)


def check(
    job: LoadedJob | Job | AnyPath, *, strict: bool = False, kernel: Kernel | None = None, rooms: Rooms | None = None
) -> JobResult:
    """Check one job.

    Args:
        job: a loaded job, a job made in code (its STEP file relative to the current folder), or a job file.
        strict: count warnings as fails.
        kernel: a running kernel to use; one is started where None.
        rooms: other functions to check with, for tests.

    Returns:
        The findings. A job or STEP file that could not be read is the result's `error`, never an exception and never
        a pass.
    """
    from fitcheck.job.model import Job

    if isinstance(job, str | os.PathLike):
        return _run([os.fspath(job)], strict=strict, kernel=kernel, rooms=rooms or Rooms(), progress=None)[0]
    rooms = rooms or Rooms()
    if isinstance(job, Job):
        from fitcheck.job.load import loaded

        made = job
        try:
            job = loaded(made, made.step)
        except FitcheckError as error:
            return _failed(made.title or "job", error, strict)
    asked, name = job, job.file or job.job.title or "job"
    with ExitStack() as stack:
        running = kernel or stack.enter_context(rooms.kernel())
        return _guarded(name, strict, lambda: _check_loaded(asked, name, strict, running, rooms, {}))


def check_many(
    paths: Iterable[AnyPath] | AnyPath,
    *,
    strict: bool = False,
    progress: Progress | None = None,
    rooms: Rooms | None = None,
) -> Result:
    """Check job files, and all `*.fit.yaml` in folders; every job is run even when another one fails.

    Args:
        paths: job files and folders; hidden folders inside a folder are left out.
        strict: count warnings as fails.
        progress: called before each job with its number from 1, the number of jobs, and its name.
        rooms: other functions to check with, for tests.

    Returns:
        One result a job, in the order given, folders sorted. What is no job, and a folder without jobs, is a result
        with an error.
    """
    from fitcheck.checks.result import Result

    given = [paths] if isinstance(paths, str | os.PathLike) else paths
    found = list(find_jobs(os.fspath(path) for path in given))
    return Result(jobs=tuple(_run(found, strict=strict, kernel=None, rooms=rooms or Rooms(), progress=progress)))


def _run(
    items: Sequence[str | FitcheckError], *, strict: bool, kernel: Kernel | None, rooms: Rooms,
    progress: Progress | None,
) -> list[JobResult]:  # fmt: skip
    with ExitStack() as stack:
        if kernel is None:
            kernel = stack.enter_context(rooms.kernel())
            # The worker loads the kernel for a second or so; what follows is imported and parsed meanwhile.
            if any(names_a_step(item) for item in items if isinstance(item, str)):
                kernel.start()
        measured: dict[Hashable, Measurement | FitcheckError] = {}
        results = []
        for index, item in enumerate(items, 1):
            name = item.folder if isinstance(item, NothingToCheckError) else str(item)
            if progress is not None:
                progress(index, len(items), name)
            results.append(_guarded(name, strict, _one(item, name, strict, kernel, rooms, measured)))
        return results


def _one(
    item: str | FitcheckError, name: str, strict: bool, kernel: Kernel, rooms: Rooms,
    measured: dict[Hashable, Measurement | FitcheckError],
) -> Callable[[], JobResult]:  # fmt: skip
    def run() -> JobResult:
        if isinstance(item, FitcheckError):
            raise item
        return _check_loaded(_load(item, rooms), name, strict, kernel, rooms, measured)

    return run


def _load(path: str, rooms: Rooms) -> LoadedJob:
    if not os.path.exists(path):
        msg = "there is no such file or folder; name a job file (*.fit.yaml) or a folder that holds some"
        raise JobError(msg, path)
    if path.lower().endswith(STEP_ENDINGS):
        msg = f"this is a STEP file, not a job; write its job file with: fitcheck init {path}"
        raise JobError(msg, path)
    try:
        return rooms.load(path)
    except OSError as problem:
        if isinstance(problem, FitcheckError):
            raise
        msg = f"the job file could not be read: {problem.strerror or problem}"
        raise JobError(msg, path) from problem


def _check_loaded(
    loaded: LoadedJob, name: str, strict: bool, kernel: Kernel, rooms: Rooms,
    measured: dict[Hashable, Measurement | FitcheckError],
) -> JobResult:  # fmt: skip
    from fitcheck.checks.result import JobResult

    measurement = None
    try:
        measurement = _measured(loaded, kernel, rooms, measured)
        measurement = rooms.orient(measurement, loaded.job)
        findings = rooms.checks(loaded, measurement)
    except FitcheckError as error:
        return _failed(name, error, strict, loaded, measurement)
    return JobResult(name=name, findings=tuple(findings), loaded=loaded, measurement=measurement, strict=strict)


def _measured(
    loaded: LoadedJob, kernel: Kernel, rooms: Rooms, measured: dict[Hashable, Measurement | FitcheckError]
) -> Measurement:
    """The measurement of the job's STEP file; one that failed before fails again without being tried."""
    options = rooms.options(loaded.job)
    key = (os.path.realpath(loaded.step_path), options)
    found = measured.get(key)
    if found is None:
        try:
            found = rooms.measure(loaded.step_path, options, kernel)
        except FitcheckError as error:
            found = error
        measured[key] = found
    if isinstance(found, FitcheckError):
        raise found
    return found


def _failed(
    name: str, error: FitcheckError, strict: bool, loaded: LoadedJob | None = None,
    measurement: Measurement | None = None,
) -> JobResult:  # fmt: skip
    from fitcheck.checks.result import JobResult

    return JobResult(
        name=name, error=str(error), error_code=error.exit_code, loaded=loaded, measurement=measurement, strict=strict,
        error_line=error.line if isinstance(error, JobError) else None,
    )  # fmt: skip


def _guarded(name: str, strict: bool, run: Callable[[], JobResult]) -> JobResult:
    """What `run` returns; an error becomes a result, so that the other jobs are still run."""
    try:
        return run()
    except FitcheckError as error:
        return _failed(name, error, strict)
    except Exception as error:
        return _failed(name, FitcheckError(unexpected(error)), strict)


def unexpected(error: Exception) -> str:
    """The words for a fault of fitcheck itself; the traceback goes to stderr only where FITCHECK_DEBUG is set."""
    if os.environ.get(DEBUG):
        import traceback

        traceback.print_exception(error, file=sys.stderr)
    return (
        f"fitcheck itself failed ({type(error).__name__}: {error}), so nothing was decided; please report it with the "
        f"job file and the STEP file, and with what is printed when {DEBUG}=1 is set"
    )
