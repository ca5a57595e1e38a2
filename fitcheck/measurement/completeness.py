"""What a STEP file's own text promises, to compare with what the CAD kernel delivers of it.

The kernel's reader says "done" of a file of which it left out what it could not take. So the text is scanned: entities
defined and referred to, statements that are no STEP, solids and the faces of their shells, other files named. Only the
exchange structure of ISO 10303-21 is looked at, with regular expressions over bytes: about 4 ms for 100 kB.
"""

from __future__ import annotations

import re
import threading
from collections.abc import Callable
from dataclasses import dataclass

_COMMENT = re.compile(rb"/\*.*?\*/", re.DOTALL)
_STRING = re.compile(rb"'[^']*'")
_DATA = re.compile(rb"\bDATA\s*(?:\([^;]*\)\s*)?;")
_END = re.compile(rb"\bENDSEC\s*;")
_REFERENCE = re.compile(rb"#(\d+)")
_STATEMENT = re.compile(rb"\s*#(\d+)\s*=\s*(!?[A-Za-z][A-Za-z0-9_]*|)\s*(\([^=;]*\))\s*\Z")
_NO_NUMBER = re.compile(rb"(?i)[(,]\s*([-+]?(?:nan|inf(?:inity)?|1\.#\w+)(?:\([^)]*\))?)\s*(?=[,)])")
_HUGE = re.compile(rb"[-+]?\d[\d.]*[Ee]\+?(?:1[2-9]|[2-9]\d|[1-9]\d\d+)(?=[,)\s])")
_SHELL = re.compile(rb"(?i)\A(?:CLOSED|OPEN)_SHELL\Z|\ACONNECTED_FACE_SET\Z")
_FACE_KINDS = frozenset({b"ADVANCED_FACE", b"FACE_SURFACE"})
_SOLID_KINDS = frozenset({b"MANIFOLD_SOLID_BREP", b"BREP_WITH_VOIDS", b"FACETED_BREP"})
_ORIENTED_SHELLS = frozenset({b"ORIENTED_CLOSED_SHELL", b"ORIENTED_OPEN_SHELL"})
_SHELL_USERS = _SOLID_KINDS | {b"SHELL_BASED_SURFACE_MODEL", b"FACE_BASED_SURFACE_MODEL"}
_OTHER_FILE = re.compile(rb"(?i)\bDOCUMENT_FILE\s*\(\s*'([^']*\.(?:stpx?z?|step|p21|prt|asm|sldprt|sldasm|ipt|iam))'")
_ANCHORED = re.compile(rb"#\d+\s*=\s*<([^>#]*)#?[^>]*>")
_MOST_NAMED = 5


@dataclass(frozen=True, kw_only=True)
class Promise:
    """What a file's text says that it holds.

    Attributes:
        solids: solids defined (each once, however often it is used).
        faces: faces of the shells that something uses (each once).
        faults: what is wrong in the text, in words for the user; each may cost parts of the model.
        huge: the first value of 1e12 or more; some systems write such values for "unbounded", so it is no fault.
    """

    solids: int
    faces: int
    faults: tuple[str, ...]
    huge: str | None = None

    def reasons(self) -> tuple[str, ...]:
        """Why nothing could be read, as far as the text tells."""
        words = list(self.faults)
        if self.huge is not None:
            words.append(f"a value is far too large ({self.huge})")
        if self.faces:
            words.append(f"there are {self.solids} solids with {self.faces} faces")
        return tuple(words)


def promise(data: bytes) -> Promise:
    """Scan a STEP file.

    Args:
        data: the whole file.

    Returns:
        What it says it holds. Bytes that are no STEP at all give faults, never an exception.
    """
    text = _COMMENT.sub(b" ", data) if b"/*" in data else data
    bare = _STRING.sub(b"''", text)
    found = _Scan()
    for start in _DATA.finditer(bare):
        stop = _END.search(bare, start.end())
        found.section(bare[start.end() : stop.start() if stop else len(bare)])
    elsewhere = {name.decode("utf-8", "replace") for name in _OTHER_FILE.findall(text)}
    anchored = _ANCHORED.findall(text) if b"REFERENCE" in text else []
    found.defined.update(int(number) for number in re.findall(rb"#(\d+)\s*=\s*<", text) if anchored)
    elsewhere |= {name.decode("utf-8", "replace") for name in anchored if name}
    huge = _HUGE.search(bare)
    return Promise(
        solids=len(found.solids),
        faces=len(found.promised_faces()),
        faults=found.faults(sorted(elsewhere)),
        huge=None if huge is None else huge[0].decode(),
    )


def promise_of(path: str) -> Callable[[], Promise]:
    """Begin to scan a file while the kernel reads it; the returned function waits for the result.

    A file that cannot be read promises nothing: reading it says why.
    """
    found: list[Promise] = []

    def scan() -> None:
        try:
            with open(path, "rb") as stream:
                found.append(promise(stream.read()))
        except OSError:
            found.append(Promise(solids=0, faces=0, faults=()))

    thread = threading.Thread(target=scan, daemon=True)
    thread.start()

    def result() -> Promise:
        thread.join()
        return found[0]

    return result


class _Scan:
    def __init__(self) -> None:
        self.defined: set[int] = set()
        self._referred: set[bytes] = set()
        self.solids: set[int] = set()
        self.faces: set[int] = set()
        self._shells: dict[int, list[int]] = {}
        self._uses: dict[int, list[int]] = {}
        self._twice: list[int] = []
        self._odd: list[bytes] = []
        self._no_numbers: list[bytes] = []

    def section(self, bare: bytes) -> None:
        self._referred.update(_REFERENCE.findall(bare))
        self._no_numbers += _NO_NUMBER.findall(bare)
        statements = bare.split(b";")
        for statement in statements:
            match = _STATEMENT.match(statement)
            if match is None or statement.count(b"(") != statement.count(b")"):
                if statement.strip():
                    self._odd.append(statement)
                continue
            number, kind = int(match[1]), match[2]
            if number in self.defined:
                self._twice.append(number)
            self.defined.add(number)
            if kind in _FACE_KINDS:
                self.faces.add(number)
            elif kind in _SHELL_USERS or kind in _ORIENTED_SHELLS:
                self._uses[number] = [int(item) for item in _REFERENCE.findall(match[3])]
                if kind in _SOLID_KINDS:
                    self.solids.add(number)
            elif _SHELL.match(kind):
                self._shells[number] = [int(item) for item in _REFERENCE.findall(match[3])]
            elif not kind and b"FACE_SURFACE" in match[3]:
                self.faces.add(number)

    def promised_faces(self) -> set[int]:
        """Faces that the shells in use list, whether or not the text defines them."""
        wanted = [shell for shells in self._uses.values() for shell in shells]
        wanted += [inner for shell in wanted for inner in self._uses.get(shell, ())]
        return {face for shell in set(wanted) for face in self._shells.get(shell, ())}

    def faults(self, elsewhere: list[str]) -> tuple[str, ...]:
        words = []
        lost = sorted(set(map(int, self._referred)) - self.defined)
        if lost:
            words.append(f"{_count(lost, 'reference leads', 'references lead')} nowhere ({_listed(lost)})")
        if self._odd:
            shown = b" ".join(self._odd[0].split())[:60].decode("ascii", "backslashreplace")
            words.append(f"{_count(self._odd, 'statement is', 'statements are')} no valid STEP (the first: {shown})")
        if self._twice:
            words.append(
                f"{_count(self._twice, 'entity is', 'entities are')} defined twice ({_listed(sorted(self._twice))})"
            )
        if self._no_numbers:
            shown = self._no_numbers[0].decode("ascii", "backslashreplace")
            words.append(f"{_count(self._no_numbers, 'value is', 'values are')} no number ({shown})")
        if elsewhere:
            named = ", ".join(elsewhere[:_MOST_NAMED])
            words.append(f"parts lie in other files, which are not read ({named}); export the assembly as one file")
        return tuple(words)


def _count(items: list[int] | list[bytes], one: str, many: str) -> str:
    return f"{len(items)} {one if len(items) == 1 else many}"


def _listed(numbers: list[int]) -> str:
    shown = ", ".join(f"#{number}" for number in numbers[:_MOST_NAMED])
    return shown + (", ..." if len(numbers) > _MOST_NAMED else "")


def missing(said: Promise, solids: int, faces: int) -> tuple[str, ...]:
    """What of a file did not arrive, in words for the user; empty where all did.

    Args:
        said: what the text promises.
        solids: distinct solids that the kernel delivered.
        faces: distinct faces that the kernel delivered.
    """
    words = list(said.faults)
    if solids < said.solids:
        words.append(f"only {solids} of {said.solids} solids in the file could be read")
    if faces < said.faces:
        words.append(f"only {faces} of {said.faces} faces in the file could be read")
    return tuple(words)
