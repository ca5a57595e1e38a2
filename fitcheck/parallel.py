"""Jobs of a run checked in the helper processes of several workers, in a stable order."""

from __future__ import annotations

import json
import math
import pickle
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from fitcheck.errors import FitcheckError
from fitcheck.measurement.apart import error_of
from fitcheck.measurement.store import to_bytes
from fitcheck.outcome import failed, known, named

if TYPE_CHECKING:
    from fitcheck.checks.result import JobResult
    from fitcheck.job.model import LoadedJob
    from fitcheck.measuring import Measurer, Wanted

MOST_AT_ONCE = 16
"""Jobs that one request to a helper holds: enough that sending the measurement does not count."""


class _Shared:
    """A measurement as bytes for the pieces of its jobs: made by the first that asks, let go with the last."""

    def __init__(self, obtain: Callable[[], bytes], pieces: int) -> None:
        self._obtain, self._left = obtain, pieces
        self._found: bytes | FitcheckError | None = None
        self._lock = threading.Lock()

    def take(self) -> bytes | FitcheckError:
        """The measurement, or why there is none; called once a piece."""
        with self._lock:
            found = self._found
            if found is None:
                try:
                    found = self._obtain()
                except Exception as error:
                    found = known(error)
            self._left -= 1
            self._found = found if self._left else None
            return found


def in_helpers(
    measurer: Measurer, groups: Sequence[tuple[Wanted, Sequence[int]]], loaded: Mapping[int, LoadedJob],
    names: Sequence[str], strict: bool, workers: int,
) -> Iterator[tuple[Sequence[int], list[JobResult]]]:  # fmt: skip
    """Measure each group's file once, and check its jobs, in as many processes as there are workers.

    Args:
        measurer: where measurements and helpers come from.
        groups: what to measure, and the jobs that it is measured for, by number.
        loaded: the jobs by number.
        names: what each job is called in messages.
        strict: count warnings as fails.
        workers: how many processes check at the same time.

    Yields:
        Numbers of jobs and their results, in the order of the groups; each as soon as it is there.
    """
    pieces: list[Sequence[int]] = []
    tasks: list[Callable[[], list[JobResult]]] = []
    for wanted, jobs in groups:
        size = min(MOST_AT_ONCE, math.ceil(len(jobs) / workers))
        parts = [jobs[at : at + size] for at in range(0, len(jobs), size)]
        shared = _Shared(_obtaining(measurer, wanted), len(parts))
        pieces += parts
        tasks += [_checking(measurer, shared, [(names[i], loaded[i]) for i in part], strict) for part in parts]
    for part, result in zip(pieces, measurer.in_parallel(tasks, len(tasks)), strict=True):
        yield part, result()


def _obtaining(measurer: Measurer, wanted: Wanted) -> Callable[[], bytes]:
    return lambda: to_bytes(measurer.obtain(wanted))


def _checking(
    measurer: Measurer, shared: _Shared, jobs: Sequence[tuple[str, LoadedJob]], strict: bool
) -> Callable[[], list[JobResult]]:
    def checked() -> list[JobResult]:
        found = shared.take()
        if isinstance(found, FitcheckError):
            return [failed(name, named(found, job.step_path), strict, job) for name, job in jobs]
        request = json.dumps({"do": "check", "jobs": len(jobs)}).encode()
        try:
            with measurer.workers() as kernel:
                parts = [request, pickle.dumps((jobs, strict)), found]
                answer, rest = kernel.call(jobs[0][1].step_path, "checking", parts, reader=False, times=len(jobs))
            if not rest:
                raise error_of(answer, jobs[0][1].step_path)
            results: list[JobResult] = pickle.loads(rest[0])
            return results
        except Exception as error:
            return [failed(name, named(known(error), job.step_path), strict, job) for name, job in jobs]

    return checked
