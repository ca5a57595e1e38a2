"""The public functions: measure a STEP file, load a job, check one job or many.

The command line is a thin layer over them. Importing this module loads no arrays, no YAML and no CAD kernel; a call
starts the kernel's worker first and imports the rest while the worker loads.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from fitcheck.errors import FitcheckError, UsageError
from fitcheck.jobfiles import find_jobs
from fitcheck.measuring import Measurer, Notify, Settings, Wanted
from fitcheck.rooms import Rooms

if TYPE_CHECKING:
    from fitcheck.batch import Progress
    from fitcheck.checks.result import JobResult, Result
    from fitcheck.job.model import Job, LoadedJob
    from fitcheck.kernel.client import Kernel
    from fitcheck.measurement.model import Measurement

AnyPath = str | os.PathLike[str]


def measure(
    path: AnyPath, *, axis_near: tuple[float, float, float] | None = None, unit: str | None = None,
    kernel: Kernel | None = None, cache: AnyPath | bool = True, time_limit: float | None = None,
    memory_limit: float | None = None, notify: Notify | None = None, obstacles: bool = True,
) -> Measurement:  # fmt: skip
    """Measure a STEP file.

    Args:
        path: the STEP file.
        axis_near: a point in the file's frame, mm; settles which line is the drive axis where the file offers several.
        unit: length unit of the file's numbers (mm, cm, m or inch), where the file declares a wrong one.
        kernel: a running kernel to use; one is started for this call where None and the cache does not help.
        cache: True for the user's cache (or the folder that FITCHECK_CACHE names), False for none, or a folder.
        time_limit: seconds that one request to the kernel may take; the default is 300.
        memory_limit: MB that the kernel's worker may hold; the default is 4096.
        notify: takes one line about a cache that cannot be written; a Python warning is given where None.
        obstacles: also load what stands round the drive axis, which checks need and reports do not.

    Returns:
        The measurement; lengths mm, angles degrees.

    Raises:
        StepFileError: the file could not be read, or (as MeasureError) not measured.
    """
    file = os.fspath(path)
    settings = Settings(cache=cache, time_limit=time_limit, memory_limit=memory_limit, notify=notify)
    with Measurer(Rooms(), settings, kernel) as measurer:
        measurer.expect([file])
        from fitcheck.measurement.options import MeasureOptions

        options = MeasureOptions(axis_near=axis_near, unit=unit)
        wanted = Wanted(path=file, sha256=measurer.digest(file), options=options)
        return measurer.obtain(wanted, obstacles=obstacles)


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
    job: LoadedJob | Job | AnyPath, *, strict: bool = False, kernel: Kernel | None = None, rooms: Rooms | None = None,
    cache: AnyPath | bool = True, time_limit: float | None = None, memory_limit: float | None = None,
    notify: Notify | None = None,
) -> JobResult:  # fmt: skip
    """Check one job.

    Args:
        job: a loaded job, a job made in code (its STEP file relative to the current folder), or a job file.
        strict: count warnings as fails.
        kernel: a running kernel to use; one is started where None and the cache does not help.
        rooms: other functions to check with, for tests.
        cache: as in `measure`.
        time_limit: as in `measure`.
        memory_limit: as in `measure`.
        notify: as in `measure`.

    Returns:
        The findings. A job or STEP file that could not be read is the result's `error`, never an exception and never
        a pass.
    """
    from fitcheck.batch import run
    from fitcheck.outcome import failed

    if not isinstance(job, str | os.PathLike):
        from fitcheck.job.model import Job

        if isinstance(job, Job):
            from fitcheck.job.load import loaded

            made = job
            try:
                job = loaded(made, made.step)
            except FitcheckError as error:
                return failed(made.title or "job", error, strict)
    item = os.fspath(job) if isinstance(job, str | os.PathLike) else job
    settings = Settings(cache=cache, time_limit=time_limit, memory_limit=memory_limit, notify=notify)
    return run(
        [item], strict=strict, settings=settings, rooms=rooms or Rooms(), kernel=kernel, keep_obstacles=True
    )[0]  # fmt: skip


def check_many(
    paths: Iterable[AnyPath] | AnyPath, *, strict: bool = False, workers: int = 1, progress: Progress | None = None,
    rooms: Rooms | None = None, cache: AnyPath | bool = True, time_limit: float | None = None,
    memory_limit: float | None = None, notify: Notify | None = None,
) -> Result:  # fmt: skip
    """Check job files, and all `*.fit.yaml` in folders; every job is run even when another one fails.

    Each distinct STEP file is measured once, whichever and however many jobs name it.

    Args:
        paths: job files and folders; hidden folders inside a folder are left out.
        strict: count warnings as fails.
        workers: how many STEP files are measured at the same time, each in its own process.
        progress: called as each job begins, with its number from 1, the number of jobs, and its name.
        rooms: other functions to check with, for tests.
        cache: as in `measure`.
        time_limit: as in `measure`.
        memory_limit: as in `measure`, for each worker.
        notify: as in `measure`.

    Returns:
        One result a job, in the order given, folders sorted. What is no job, and a folder without jobs, is a result
        with an error. The results' measurements hold no obstacles, so that memory does not grow with the jobs.

    Raises:
        UsageError: `workers` is less than 1.
    """
    from fitcheck.batch import run

    if workers < 1:
        msg = f"the number of workers must be at least 1, not {workers}"
        raise UsageError(msg)
    given = [paths] if isinstance(paths, str | os.PathLike) else paths
    found = list(find_jobs(os.fspath(path) for path in given))
    settings = Settings(
        cache=cache, workers=workers, time_limit=time_limit, memory_limit=memory_limit, notify=notify
    )  # fmt: skip
    results = run(found, strict=strict, settings=settings, rooms=rooms or Rooms(), progress=progress)
    # Imported last: it brings the job's model, and the workers are to be started first.
    from fitcheck.checks.result import Result

    return Result(jobs=tuple(results))
