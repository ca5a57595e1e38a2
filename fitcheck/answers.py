"""Answers kept from run to run: an unchanged question is answered without arrays, YAML or the CAD kernel.

A check is a pure function of the program, the job files, the STEP files and the options, so its printed answer is kept
with the digests of all of them, and given again only while every one is unchanged. What could not be read is never
kept. A damaged, foreign or unwritable entry counts as absent.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

_MOST = 500
"""Answers that are kept; the ones unused for longest go first."""


@dataclass(frozen=True, kw_only=True)
class Answer:
    """What a command printed: its text, the lines for people on stderr, and its exit code."""

    text: str
    said: tuple[str, ...]
    exit_code: int


class Answers:
    """The kept answers in a cache folder.

    Args:
        folder: the cache's folder; the answers lie in a folder of their own inside it.
    """

    def __init__(self, folder: str) -> None:
        self._folder = os.path.join(folder, "answers")

    def get(self, question: Mapping[str, Any]) -> Answer | None:
        """The kept answer to a question, or None where there is none or an input has changed.

        Args:
            question: a JSON-able object: options, and the job files by name.
        """
        path = self._path(question)
        try:
            with open(path, "rb") as stream:
                checksum, _, body = stream.read().partition(b"\n")
            if hashlib.sha256(body).hexdigest().encode() != checksum:
                return None
            kept = json.loads(body)
            if any(_digest(name) != digest for name, digest in kept["inputs"].items()):
                return None
            with contextlib.suppress(OSError):
                os.utime(path)
            return Answer(text=kept["text"], said=tuple(kept["said"]), exit_code=kept["exit_code"])
        except (OSError, ValueError, KeyError, TypeError, AttributeError):
            return None

    def put(self, question: Mapping[str, Any], inputs: Sequence[tuple[str, str]], answer: Answer) -> None:
        """Keep an answer; where that cannot be done nothing is kept, and nothing is said.

        Args:
            question: as for `get`.
            inputs: the files that the answer rests on, with the SHA-256 of the content that was used.
            answer: what to print again.
        """
        import tempfile

        kept = {
            "inputs": {os.path.abspath(name): digest for name, digest in inputs},
            "text": answer.text, "said": answer.said, "exit_code": answer.exit_code,
        }  # fmt: skip
        body = json.dumps(kept).encode()
        spare = None
        with contextlib.suppress(OSError):
            try:
                os.makedirs(self._folder, exist_ok=True)
                handle, spare = tempfile.mkstemp(prefix=".", suffix=".part", dir=self._folder)
                with os.fdopen(handle, "wb") as stream:
                    stream.write(hashlib.sha256(body).hexdigest().encode() + b"\n" + body)
                os.replace(spare, self._path(question))
                spare = None
                self._prune()
            finally:
                if spare is not None:
                    with contextlib.suppress(OSError):
                        os.unlink(spare)

    def _path(self, question: Mapping[str, Any]) -> str:
        asked = {**question, "program": program_digest(), "python": sys.version, "folder": os.getcwd()}
        return os.path.join(self._folder, hashlib.sha256(json.dumps(asked, sort_keys=True).encode()).hexdigest())

    def _prune(self) -> None:
        entries = []
        with os.scandir(self._folder) as found:
            for entry in found:
                with contextlib.suppress(OSError):
                    entries.append((entry.stat().st_mtime, entry.path))
        for _, path in sorted(entries)[: max(len(entries) - _MOST, 0)]:
            with contextlib.suppress(OSError):
                os.unlink(path)


def program_digest() -> str:
    """A digest of fitcheck's own files by name, size and time of change: a changed program answers anew."""
    base = os.path.dirname(os.path.abspath(__file__))
    known = hashlib.sha256()
    for path, size, changed in sorted(_files(base)):
        known.update(f"{path}\0{size}\0{changed}\n".encode())
    return known.hexdigest()


def _files(folder: str) -> Iterator[tuple[str, int, int]]:
    with os.scandir(folder) as entries:
        for entry in entries:
            if entry.is_dir():
                if entry.name != "__pycache__":
                    yield from _files(entry.path)
            else:
                state = entry.stat()
                yield entry.path, state.st_size, state.st_mtime_ns


def _digest(path: str) -> str:
    with open(path, "rb") as stream:
        return hashlib.sha256(stream.read()).hexdigest()
