"""Where a run gets its measurements: from the cache, or from kernel workers that are started only when needed."""

from __future__ import annotations

import contextlib
import os
import warnings
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeVar

from fitcheck.errors import FitcheckError, StepFileError
from fitcheck.rooms import Rooms

if TYPE_CHECKING:
    from concurrent.futures import Future, ThreadPoolExecutor

    from fitcheck.kernel.client import Kernel
    from fitcheck.measurement.cache import Cache
    from fitcheck.measurement.model import Measurement
    from fitcheck.measurement.options import MeasureOptions

Notify = Callable[[str], None]

T = TypeVar("T")

_POLL = 0.5


@dataclass(frozen=True, kw_only=True)
class Settings:
    """How measurements are made.

    Attributes:
        cache: True for the user's cache (or the folder that FITCHECK_CACHE names), False for none, or a folder.
        workers: how many STEP files are measured at the same time.
        time_limit: seconds that a STEP file, or the checks of a job, may take; None for the default.
        memory_limit: MB that a worker, or the checks of a job, may hold; None for the default.
        notify: takes one line about a cache that cannot be used; a Python warning is given where None.
    """

    cache: str | os.PathLike[str] | bool = True
    workers: int = 1
    time_limit: float | None = None
    memory_limit: float | None = None
    notify: Notify | None = None

    @property
    def limits(self) -> tuple[float, float]:
        """Seconds and MB, the defaults where none are given."""
        from fitcheck.limits import DEFAULT_MEMORY_LIMIT, DEFAULT_TIME_LIMIT

        return self.time_limit or DEFAULT_TIME_LIMIT, self.memory_limit or DEFAULT_MEMORY_LIMIT


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """One measurement that is wanted: the STEP file, its content hash, and the options."""

    path: str
    sha256: str
    options: MeasureOptions


class Measurer:
    """Measures STEP files, each content once at a time; a context manager that leaves no worker behind.

    Args:
        rooms: what measures.
        settings: cache, workers and limits.
        kernel: a running kernel to use instead of own workers; it is left running.
    """

    def __init__(self, rooms: Rooms, settings: Settings, kernel: Kernel | None = None) -> None:
        self._rooms = rooms
        self._settings = settings
        self._cache = _cache(settings)
        self._given = kernel
        self._made: list[Kernel] = []
        self._free: deque[Kernel] = deque() if kernel is None else deque([kernel])
        self._pool: ThreadPoolExecutor | None = None
        self._digests: dict[str, str | FitcheckError] = {}
        self._closed = False

    def __enter__(self) -> Measurer:
        return self

    def __exit__(self, *_: object) -> None:
        self._closed = True
        for kernel in self._made:
            kernel.close()
        if self._pool is not None:
            self._pool.shutdown(wait=True, cancel_futures=True)
        trouble = None if self._cache is None else self._cache.trouble
        if trouble is not None:
            if self._settings.notify is not None:
                self._settings.notify(f"warning: {trouble}")
            else:
                warnings.warn(trouble, RuntimeWarning, stacklevel=3)

    def expect(self, paths: Iterable[str]) -> None:
        """Start workers for STEP files that the cache does not know, so that they load while jobs are parsed."""
        if self._given is not None:
            return
        unknown: set[str] = set()
        for path in paths:
            try:
                digest = self.digest(path)
            except FitcheckError:
                continue
            if digest in unknown or (self._cache is not None and self._cache.knows(digest)):
                continue
            unknown.add(digest)
            kernel = self._new()
            kernel.start()
            self._free.append(kernel)
            if len(unknown) >= self._settings.workers:
                return

    @property
    def waiting(self) -> bool:
        """Whether workers have been started and nothing was asked of them yet."""
        return bool(self._free) and self._given is None

    def digest(self, path: str) -> str:
        """The content hash of a STEP file, read once a run.

        Raises:
            StepFileError: the file cannot be read or is no STEP file.
        """
        found = self._digests.get(path)
        if found is None:
            try:
                found = self._rooms.digest(path)
            except FitcheckError as error:
                found = error
            self._digests[path] = found
        if isinstance(found, FitcheckError):
            raise found
        return found

    def obtain(self, wanted: Wanted, *, obstacles: bool = True) -> Measurement:
        """The measurement, from the cache where it is there.

        Raises:
            StepFileError: the file could not be read or measured, now or in an earlier run.
        """
        if self._cache is not None:
            kept = self._cache.get(wanted.sha256, wanted.options, obstacles=obstacles)
            if kept is not None:
                return replace(kept, file=wanted.path)
            refused = self._cache.refusal(wanted.sha256, wanted.options, wanted.path)
            if refused is not None:
                raise refused
        try:
            with self.workers() as kernel:
                found = self._rooms.measure(wanted.path, wanted.options, kernel)
        except StepFileError as error:
            if self._cache is not None and error.lasting and self._unchanged(wanted):
                self._cache.put_refusal(wanted.sha256, wanted.options, error)
            raise
        # The file may have been written anew since it was hashed; what was measured counts.
        if self._cache is not None:
            self._cache.put(found.sha256, wanted.options, found)
        return found

    def _obtain_last(self, wanted: Wanted) -> Measurement:
        """As `obtain`; own workers begin to end, which takes the system a while, before anything is done with it."""
        try:
            return self.obtain(wanted)
        finally:
            for kernel in self._made:
                kernel.dismiss()

    def _unchanged(self, wanted: Wanted) -> bool:
        try:
            return self._rooms.digest(wanted.path) == wanted.sha256
        except FitcheckError:
            return False

    @contextlib.contextmanager
    def workers(self) -> Iterator[Kernel]:
        """The workers for one file, free ones or new ones; for as long as the context lasts they are its alone."""
        try:
            kernel = self._free.pop()
        except IndexError:
            kernel = self._new()
        try:
            yield kernel
        finally:
            self._free.append(kernel)

    def in_turn(self, wanted: Sequence[Wanted]) -> Iterator[Callable[[], Measurement]]:
        """A function that obtains each measurement, in the given order.

        With several workers the next few are measured meanwhile: as many as there are workers, and one more that is
        ready, so that memory does not grow with their number.
        """
        missing = sum(self._cache is None or not self._cache.has(one.sha256, one.options) for one in wanted)
        if self._settings.workers == 1 or missing < 2 or self._given is not None:
            last = wanted[-1] if wanted else None
            for one in wanted:
                yield _later(self._obtain_last if one is last else self.obtain, one)
            return
        yield from self.in_parallel([_later(self.obtain, one) for one in wanted], missing)

    def in_parallel(self, tasks: Sequence[Callable[[], T]], most: int) -> Iterator[Callable[[], T]]:
        """A function that gives each task's result, in the given order, while the next few run in threads.

        Args:
            tasks: what to do.
            most: how many of them are worth a thread.
        """
        from concurrent.futures import ThreadPoolExecutor

        self._pool = ThreadPoolExecutor(min(self._settings.workers, most), thread_name_prefix="fitcheck")
        ahead: deque[Future[T]] = deque()
        for task in tasks:
            ahead.append(self._pool.submit(task))
            if len(ahead) > self._settings.workers:
                yield _waiting(ahead.popleft())
        while ahead:
            yield _waiting(ahead.popleft())

    def _new(self) -> Kernel:
        kernel = self._rooms.kernel(self._settings.time_limit, self._settings.memory_limit)
        self._made.append(kernel)
        if self._closed:
            kernel.close()
        return kernel


def _cache(settings: Settings) -> Cache | None:
    if settings.cache is False:
        return None
    from fitcheck.measurement.cache import Cache, default_folder

    return Cache(default_folder() if settings.cache is True else os.fspath(settings.cache))


def _later(obtain: Callable[[Wanted], Measurement], one: Wanted) -> Callable[[], Measurement]:
    return lambda: obtain(one)


def _waiting(future: Future[T]) -> Callable[[], T]:
    def result() -> T:
        # An endless wait could not be interrupted on Windows.
        while True:
            try:
                return future.result(timeout=_POLL)
            except TimeoutError:
                if future.done():
                    raise

    return result
