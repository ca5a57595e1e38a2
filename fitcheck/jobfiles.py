"""Which job files a command means, and whether they name STEP files: found without reading a job."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Iterator

from fitcheck.errors import FitcheckError

JOB_ENDING = ".fit.yaml"
STEP_ENDINGS = (".step", ".stp", ".p21")

_STEP_KEY = re.compile(r"""^step[ \t]*:[ \t]*(["']?)(.+?)\1[ \t]*(?:#.*)?$""", re.MULTILINE)
_GLANCE = 200_000


class NothingToCheckError(FitcheckError):
    """A folder holds no job file, or could not be searched."""

    def __init__(self, folder: str, message: str) -> None:
        self.folder = folder
        super().__init__(f"{folder}: {message}")


def find_jobs(paths: Iterable[str]) -> Iterator[str | FitcheckError]:
    """The job files of files and folders, each once; an error in the place of what holds no job.

    Files are passed on as they are; folders are searched for `*.fit.yaml`, sorted, hidden folders left out.
    """
    seen: set[str] = set()
    for path in paths:
        for item in _in_folder(path) if os.path.isdir(path) else (path,):
            if isinstance(item, str):
                full = os.path.abspath(item)
                if full in seen:
                    continue
                seen.add(full)
            yield item


def _in_folder(folder: str) -> Iterator[str | FitcheckError]:
    unread: list[OSError] = []
    count = 0
    for place, inner, files in os.walk(folder, onerror=unread.append):
        inner[:] = sorted(name for name in inner if not name.startswith("."))
        for name in sorted(files):
            if name.endswith(JOB_ENDING) and not name.startswith("."):
                count += 1
                yield os.path.normpath(os.path.join(place, name))
    for problem in unread:
        yield NothingToCheckError(str(problem.filename), f"the folder could not be searched: {problem.strerror}")
    if count == 0 and not unread:
        yield NothingToCheckError(folder, f"nothing to check: the folder holds no job file (*{JOB_ENDING})")


def glanced_step(path: str) -> str | None:
    """The STEP file that a job file names, where both exist, by a glance that needs no YAML; else None."""
    # A pipe would be emptied, or waited for, by looking at it.
    if not os.path.isfile(path):
        return None
    try:
        with open(path, encoding="utf-8", errors="replace") as stream:
            found = _STEP_KEY.search(stream.read(_GLANCE))
    except OSError:
        return None
    if found is None:
        return None
    step = os.path.join(os.path.dirname(path), found[2])
    return step if os.path.isfile(step) else None


def names_a_step(path: str) -> bool:
    """Whether a job file names a STEP file that exists, by a glance that needs no YAML."""
    return glanced_step(path) is not None
