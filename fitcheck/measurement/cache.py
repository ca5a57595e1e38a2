"""Measurements kept from run to run, by the content of the STEP file, the code that measured and the options.

Several processes may share a cache: an entry is written to a new file that then takes the entry's place, and carries a
checksum. What is damaged or foreign counts as absent and is replaced. That a file cannot be measured is kept too, where
that lies in its content and not in time, memory or the machine. A cache that cannot be written, or that has no
room left, is no error: nothing is kept, and one warning says so.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import sys
from collections.abc import Callable
from dataclasses import asdict, replace
from typing import TYPE_CHECKING

from fitcheck.errors import MeasureError, StepFileError
from fitcheck.measurement.store import STORE, StoreError, from_bytes, to_bytes

if TYPE_CHECKING:
    from fitcheck.measurement.model import Measurement
    from fitcheck.measurement.options import MeasureOptions

VARIABLE = "FITCHECK_CACHE"
"""Environment variable that names the cache's folder."""

MOST_BYTES = 1 << 30
"""A cache larger than this loses the entries that were unused for longest, down to four fifths."""

_ENDING = ".measurement"
_REFUSAL = ".refusal"
_ROOMS = ("kernel", "measurement")


def default_folder() -> str:
    """The cache's folder: FITCHECK_CACHE, else the user's cache folder by the platform's convention."""
    given = os.environ.get(VARIABLE)
    if given:
        return given
    home = os.path.expanduser("~")
    if sys.platform == "win32":
        return os.path.join(os.environ.get("LOCALAPPDATA") or os.path.join(home, "AppData", "Local"), "fitcheck")
    if sys.platform == "darwin":
        return os.path.join(home, "Library", "Caches", "fitcheck")
    base = os.environ.get("XDG_CACHE_HOME") or ""
    # The XDG base directory specification: a relative path is invalid and is to be ignored.
    return os.path.join(base if os.path.isabs(base) else os.path.join(home, ".cache"), "fitcheck")


class Cache:
    """A folder of measurements.

    Args:
        folder: where it is or will be; made when the first measurement is kept.

    Attributes:
        trouble: why nothing could be kept, once that has happened.
    """

    def __init__(self, folder: str) -> None:
        self.folder = folder
        self.trouble: str | None = None
        self._here = os.path.join(folder, f"v{STORE}-{code_digest()[:16]}")
        self._pruned = False

    def knows(self, sha256: str) -> bool:
        """Whether there is an entry for a file, with whatever options: a guess that costs one look at a folder."""
        try:
            names = os.listdir(self._shelf(sha256))
            return any(name.startswith(sha256) and name.endswith((_ENDING, _REFUSAL)) for name in names)
        except OSError:
            return False

    def has(self, sha256: str, options: MeasureOptions) -> bool:
        """Whether there is an entry that would serve; it may still turn out to be damaged."""
        return any(os.path.isfile(path) for path in self._serving(sha256, options) + self._refusing(sha256, options))

    def get(self, sha256: str, options: MeasureOptions, *, obstacles: bool = True) -> Measurement | None:
        """The kept measurement, or None; one that was made with corridors also serves a request without.

        Args:
            sha256: content hash of the STEP file.
            options: what to measure.
            obstacles: also load the obstacles.
        """
        for path in self._serving(sha256, options):
            try:
                with open(path, "rb") as stream:
                    found = from_bytes(stream.read(), obstacles=obstacles)
            except (OSError, StoreError):
                continue
            if found.sha256 != sha256:
                continue
            # The time of last use, for pruning; a cache that is only read stays as it is.
            with contextlib.suppress(OSError):
                os.utime(path)
            return replace(found, from_cache=True)
        return None

    def put(self, sha256: str, options: MeasureOptions, measurement: Measurement) -> None:
        """Keep a measurement; where that cannot be done, `trouble` says why."""
        if self.trouble is None:
            self._keep(
                self._entry(sha256, options),
                to_bytes(measurement),
                lambda: self.get(sha256, options, obstacles=False) is not None,
            )

    def refusal(self, sha256: str, options: MeasureOptions, file: str) -> StepFileError | None:
        """Why an earlier run could not measure a file, or None; it names the file as it is called now.

        What could not be measured without corridors cannot be with them either.
        """
        for path in self._refusing(sha256, options):
            try:
                with open(path, "rb") as stream:
                    checksum, _, body = stream.read().partition(b"\n")
                if hashlib.sha256(body).hexdigest().encode() != checksum:
                    continue
                kept = json.loads(body)
                words = f"{kept['words']} (found by an earlier run and kept in the cache; --no-cache tries it again)"
                error = (MeasureError if kept["kind"] == "measure" else StepFileError)(words, file)
            except (OSError, ValueError, KeyError, TypeError):
                continue
            with contextlib.suppress(OSError):
                os.utime(path)
            error.lasting = error.from_cache = True
            return error
        return None

    def put_refusal(self, sha256: str, options: MeasureOptions, error: StepFileError) -> None:
        """Keep why a file cannot be measured, where that lies in its content."""
        if self.trouble is not None or not error.lasting:
            return
        kept = {"kind": "measure" if isinstance(error, MeasureError) else "step", "words": error.message}
        body = json.dumps(kept).encode()
        data = hashlib.sha256(body).hexdigest().encode() + b"\n" + body
        self._keep(
            self._entry(sha256, options, _REFUSAL),
            data,
            lambda: self.refusal(sha256, options, error.file) is not None,
        )

    def _keep(self, path: str, data: bytes, kept_by_another: Callable[[], bool]) -> None:
        """Write an entry whole or not at all."""
        spare = None
        try:
            import tempfile

            os.makedirs(os.path.dirname(path), exist_ok=True)
            handle, spare = tempfile.mkstemp(prefix=".", suffix=".part", dir=os.path.dirname(path))
            with os.fdopen(handle, "wb") as stream:
                stream.write(data)
            os.replace(spare, path)
            spare = None
            self._prune()
        except OSError as problem:
            # Where an open file cannot be replaced (Windows), another process has just kept the same measurement.
            if kept_by_another():
                return
            self.trouble = (
                f"the cache {self.folder} cannot be written ({problem.strerror or problem}), so nothing is kept; "
                "name another folder with --cache, or leave it out with --no-cache"
            )
        finally:
            if spare is not None:
                with contextlib.suppress(OSError):
                    os.unlink(spare)

    def _shelf(self, sha256: str) -> str:
        return os.path.join(self._here, sha256[:2])

    def _entry(self, sha256: str, options: MeasureOptions, ending: str = _ENDING) -> str:
        asked = asdict(replace(options, corridors=False))
        words = hashlib.sha256(json.dumps(asked, sort_keys=True).encode()).hexdigest()[:16]
        reach = "corridors" if options.corridors else "clearance"
        return os.path.join(self._shelf(sha256), f"{sha256}-{words}-{reach}{ending}")

    def _serving(self, sha256: str, options: MeasureOptions) -> list[str]:
        exact = self._entry(sha256, options)
        return [exact] if options.corridors else [exact, self._entry(sha256, replace(options, corridors=True))]

    def _refusing(self, sha256: str, options: MeasureOptions) -> list[str]:
        exact = self._entry(sha256, options, _REFUSAL)
        if not options.corridors:
            return [exact]
        return [exact, self._entry(sha256, replace(options, corridors=False), _REFUSAL)]

    def _prune(self) -> None:
        """Once a run: remove what other versions left, half-written files of processes that died, and old entries."""
        if self._pruned:
            return
        self._pruned = True
        found: list[tuple[float, int, str]] = []
        for place, _, names in os.walk(self.folder):
            for name in names:
                if not name.endswith((_ENDING, _REFUSAL, ".part")):
                    continue
                path = os.path.join(place, name)
                with contextlib.suppress(OSError):
                    state = os.stat(path)
                    found.append((state.st_mtime, state.st_size, path))
        if not found:
            return
        total, newest = sum(size for _, size, _ in found), max(found)[0]
        full = total > MOST_BYTES
        for used, size, path in sorted(found):
            stale = path.endswith(".part") and newest - used > 3600.0
            if stale or (full and total > MOST_BYTES * 4 // 5):
                with contextlib.suppress(OSError):
                    os.unlink(path)
                    total -= size


_digest: str | None = None


def code_digest() -> str:
    """A digest of the code that measures and of the CAD kernel's version: a changed tool measures again."""
    global _digest
    if _digest is None:
        base = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
        known = hashlib.sha256(_kernel_version().encode())
        for room in _ROOMS:
            folder = os.path.join(base, room)
            for name in sorted(os.listdir(folder)):
                if name.endswith(".py"):
                    with open(os.path.join(folder, name), "rb") as stream:
                        known.update(f"{room}/{name}\n".encode() + hashlib.sha256(stream.read()).digest())
        _digest = known.hexdigest()
    return _digest


def _kernel_version() -> str:
    """Names of the installed kernel's distributions, which hold their versions; found without loading anything."""
    for place in sys.path:
        try:
            names = os.listdir(place or ".")
        except OSError:
            continue
        found = sorted(n for n in names if n.lower().startswith("cadquery_ocp") and n.endswith(".dist-info"))
        if found:
            return " ".join(found)
    return "unknown"
