"""Many jobs in one run: loaded, grouped by what they measure, measured once each, checked, in a stable order."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from fitcheck.errors import FitcheckError, JobError
from fitcheck.jobfiles import STEP_ENDINGS, NothingToCheckError, glanced_step
from fitcheck.measuring import Measurer, Settings, Wanted
from fitcheck.outcome import checked, failed, known
from fitcheck.rooms import Rooms

if TYPE_CHECKING:
    from fitcheck.checks.result import JobResult
    from fitcheck.job.model import LoadedJob
    from fitcheck.kernel.client import Kernel
    from fitcheck.measurement.model import Measurement
    from fitcheck.measurement.options import MeasureOptions


WORTH_HELPERS = 4
"""Jobs from which several workers also check: starting their helpers takes as long as checking a few."""

Progress = Callable[[int, int, str], None]


@dataclass
class _Group:
    """Jobs that share a measurement."""

    path: str
    sha256: str
    options: MeasureOptions
    jobs: list[int] = field(default_factory=list)


def run(
    items: Sequence[str | FitcheckError | LoadedJob], *, strict: bool, settings: Settings, rooms: Rooms,
    kernel: Kernel | None = None, progress: Progress | None = None, keep_obstacles: bool = False,
) -> list[JobResult]:  # fmt: skip
    """Check jobs; every one is run even when another one fails.

    Args:
        items: job files, loaded jobs, and errors that stand in the place of jobs.
        strict: count warnings as fails.
        settings: cache, workers and limits.
        rooms: the functions to check with.
        kernel: a running kernel to use.
        progress: called as each job begins, with its number from 1, the number of jobs, and its name.
        keep_obstacles: leave the obstacles, which are large, in the results' measurements.

    Returns:
        One result an item, in their order.
    """
    results: dict[int, JobResult] = {}
    names = [_name(item) for item in items]
    shown: set[int] = set()

    def show(index: int) -> None:
        if progress is not None and index not in shown:
            shown.add(index)
            progress(len(shown), len(items), names[index])

    with Measurer(rooms, settings, kernel) as measurer:
        measurer.expect(step for item in items if isinstance(item, str) and (step := glanced_step(item)))
        loaded: dict[int, LoadedJob] = {}
        groups: dict[tuple[str, MeasureOptions], _Group] = {}
        for index, item in enumerate(items):
            try:
                job = _load(item, rooms)
                loaded[index] = job
                _join(groups, job, index, measurer, rooms)
            except Exception as error:
                show(index)
                results[index] = failed(names[index], known(error), strict, loaded.get(index))
        order = list(groups.values())
        wanted = [Wanted(path=group.path, sha256=group.sha256, options=group.options) for group in order]
        apart = settings.workers > 1 and len(loaded) >= WORTH_HELPERS and kernel is None and not keep_obstacles
        # Functions of the caller's own cannot be taken to other processes.
        if apart and type(rooms) is Rooms:
            from fitcheck.parallel import in_helpers

            pieces = [(one, group.jobs) for one, group in zip(wanted, order, strict=True)]
            for indices, made in in_helpers(measurer, pieces, loaded, names, strict, settings.workers):
                for index, result in zip(indices, made, strict=True):
                    show(index)
                    results[index] = result
            return [results[index] for index in range(len(items))]
        rooms.prepare(waiting=measurer.waiting)
        for group, obtain in zip(order, measurer.in_turn(wanted), strict=True):
            show(group.jobs[0])
            measured = _attempt(obtain)
            for index in group.jobs:
                show(index)
                results[index] = checked(
                    loaded[index], names[index], strict, rooms, measured, keep_obstacles, limits=settings.limits
                )  # fmt: skip
            del measured
    return [results[index] for index in range(len(items))]


def _name(item: str | FitcheckError | LoadedJob) -> str:
    if isinstance(item, NothingToCheckError):
        return item.folder
    if isinstance(item, str | FitcheckError):
        return str(item)
    return item.file or item.job.title or "job"


def _load(item: str | FitcheckError | LoadedJob, rooms: Rooms) -> LoadedJob:
    if isinstance(item, FitcheckError):
        raise item
    if not isinstance(item, str):
        return item
    if not os.path.exists(item):
        msg = "there is no such file or folder; name a job file (*.fit.yaml) or a folder that holds some"
        raise JobError(msg, item)
    if item.lower().endswith(STEP_ENDINGS):
        msg = f"this is a STEP file, not a job; write its job file with: fitcheck init {item}"
        raise JobError(msg, item)
    try:
        return rooms.load(item)
    except OSError as problem:
        if isinstance(problem, FitcheckError):
            raise
        msg = f"the job file could not be read: {problem.strerror or problem}"
        raise JobError(msg, item) from problem


def _join(
    groups: dict[tuple[str, MeasureOptions], _Group], job: LoadedJob, index: int, measurer: Measurer, rooms: Rooms
) -> None:
    """Add a job to the group that measures the same content with the same options; corridors if any job needs them."""
    options = rooms.options(job.job)
    digest = measurer.digest(job.step_path)
    group = groups.setdefault(
        (digest, replace(options, corridors=False)), _Group(path=job.step_path, sha256=digest, options=options)
    )
    if options.corridors:
        group.options = options
    group.jobs.append(index)


def _attempt(obtain: Callable[[], Measurement]) -> Measurement | FitcheckError:
    try:
        return obtain()
    except Exception as error:
        return known(error)
