"""The file that an export goes to: written whole or not at all, and never over one that exists unless told to."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress

from fitcheck.errors import FitcheckError, UsageError

ENDINGS = {
    ".step": "step", ".stp": "step", ".stl": "stl", ".gltf": "gltf", ".glb": "glb", ".dxf": "dxf",
}  # fmt: skip


class TargetError(FitcheckError, OSError):
    """The file could not be written."""


def ending_of(path: str) -> str:
    """The kind of file that a path's ending names.

    Raises:
        UsageError: the ending is none of those that can be written.
    """
    ending = os.path.splitext(path)[1].lower()
    if ending not in ENDINGS:
        found = f"the ending {ending}" if ending else "no ending"
        raise UsageError(f"{path}: {found} names no kind of file that can be written; end it in {', '.join(ENDINGS)}")
    return ENDINGS[ending]


def refuse_existing(path: str, *, force: bool) -> None:
    """Say before the work is done that a file is in the way.

    Raises:
        UsageError: the file exists, and `force` is False.
    """
    if os.path.lexists(path) and not force:
        raise UsageError(f"{path}: exists already; name another file with --output, or overwrite it with --force")


@contextmanager
def whole(path: str, *, force: bool) -> Iterator[str]:
    """A path in the target's folder to write to; at the end the file there takes the target's place.

    Args:
        path: the target; a symbolic link is followed.
        force: whether it may exist.

    Yields:
        The path to write to. After an error nothing is left there, and the target is as it was.

    Raises:
        UsageError: the target came into being meanwhile.
        TargetError: the file system refused.
    """
    target = os.path.realpath(path)
    try:
        with tempfile.TemporaryDirectory(prefix=".fitcheck-", dir=os.path.dirname(target)) as folder:
            spare = os.path.join(folder, "part")
            yield spare
            if force:
                os.replace(spare, target)
            else:
                _linked(spare, target, path)
    except OSError as problem:
        if isinstance(problem, FitcheckError):
            raise
        raise TargetError(f"{path}: could not be written: {problem.strerror or problem}") from problem


def _linked(spare: str, target: str, path: str) -> None:
    """Give the file its name, in one step that fails where the name is taken."""
    try:
        os.link(spare, target)
    except FileExistsError:
        refuse_existing(path, force=False)
        raise
    except OSError:
        # Some file systems have no hard links.
        refuse_existing(path, force=False)
        os.replace(spare, target)
    with suppress(FileNotFoundError):
        os.unlink(spare)
