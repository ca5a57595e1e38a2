"""What a STEP file's own text promises, to compare with what the CAD kernel delivers of it.

The kernel's reader says "done" of a file of which it left out what it could not take. So the text is scanned: entities
defined and referred to, statements that are no STEP, solids and the faces of their shells, other files named. Only the
exchange structure of ISO 10303-21 is looked at, as arrays of bytes: about 5 ms for 100 kB. Only where something is odd
is each statement looked at by itself, which takes ten times as long.
"""

from __future__ import annotations

import re
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fitcheck.measurement.declared_units import length_units
from fitcheck.measurement.placements import untold

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_COMMENT = re.compile(rb"/\*.*?\*/", re.DOTALL)
_STRING = re.compile(rb"'[^']*'")
_DATA = re.compile(rb"DATA\s*(?:\([^;]*\)\s*)?;")
_REFERENCE = re.compile(rb"#(\d+)")
_STATEMENT = re.compile(rb"\s*#(\d+)\s*=\s*(!?[A-Za-z][A-Za-z0-9_]*|)\s*(\([^=;]*\))\s*\Z")
_NO_NUMBER = re.compile(rb"(?i)[(,]\s*([-+]?(?:nan|inf(?:inity)?|1\.#\w+)(?:\([^)]*\))?)\s*(?=[,)])")
_HUGE = re.compile(rb"[Ee]\+?(?:1[2-9]|[2-9]\d|[1-9]\d\d+)(?=[,)\s])")
_MANTISSA = re.compile(rb"[-+]?\d[\d.]*\Z")
_SHELLS = frozenset({b"CLOSED_SHELL", b"OPEN_SHELL", b"CONNECTED_FACE_SET"})
_SOLID_KINDS = frozenset({b"MANIFOLD_SOLID_BREP", b"BREP_WITH_VOIDS", b"FACETED_BREP"})
_KINDS = (
    *sorted(_SHELLS | _SOLID_KINDS), b"ORIENTED_CLOSED_SHELL", b"ORIENTED_OPEN_SHELL", b"SHELL_BASED_SURFACE_MODEL",
    b"FACE_BASED_SURFACE_MODEL",
)  # fmt: skip
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
        huge: the first value of 1e12 or more, where it was looked for; some systems write such values for
            "unbounded", so it is no fault.
        units: the length units that the shapes' numbers are declared in.
    """

    solids: int
    faces: int
    faults: tuple[str, ...]
    huge: str | None = None
    units: tuple[str, ...] = ()

    def reasons(self) -> tuple[str, ...]:
        """Why nothing could be read, as far as the text tells."""
        words = list(self.faults)
        if self.huge is not None:
            words.append(f"a value is far too large ({self.huge})")
        if self.faces:
            words.append(f"there are {self.solids} solids with {self.faces} faces")
        return tuple(words)


def promise(data: bytes, *, huge: bool = True) -> Promise:
    """Scan a STEP file.

    Args:
        data: the whole file.
        huge: whether to look for values that are far too large, which only matters where nothing could be read.

    Returns:
        What it says it holds. Bytes that are no STEP at all give faults, never an exception.
    """
    text = _COMMENT.sub(b" ", data) if b"/*" in data else data
    # Every other piece between apostrophes is a string; a doubled apostrophe in one leaves another empty string.
    pieces = text.split(b"'")
    bare = b"''".join(pieces[::2] if len(pieces) % 2 else [*pieces[::2], pieces[-1]])
    found = _Scan()
    for section in _sections(bare):
        found.section(section)
    elsewhere: set[str] = set()
    if b"DOCUMENT_FILE" in text.upper():
        elsewhere = {name.decode("utf-8", "replace") for name in _OTHER_FILE.findall(text)}
    anchored = _ANCHORED.findall(text) if b"REFERENCE" in text else []
    found.defined.update(int(number) for number in re.findall(rb"#(\d+)\s*=\s*<", text) if anchored)
    elsewhere |= {name.decode("utf-8", "replace") for name in anchored if name}
    return Promise(
        solids=len(found.solids),
        faces=len(found.promised_faces()),
        faults=(*found.faults(sorted(elsewhere)), *untold(bare)),
        huge=_huge_value(bare) if huge else None,
        units=length_units(bare),
    )


def _sections(bare: bytes) -> Iterator[bytes]:
    """What stands between DATA; and ENDSEC;."""
    # Keywords in small letters are read as well.
    text = bare.upper()
    start = text.find(b"DATA")
    while start >= 0:
        head = _DATA.match(text, start)
        if head is not None and not text[start - 1 : start].isalnum() and text[start - 1 : start] != b"_":
            stop = text.find(b"ENDSEC", head.end())
            end = stop if stop >= 0 else len(text)
            yield bare[head.end() : end]
            start = end
        start = text.find(b"DATA", start + 4)


def _huge_value(bare: bytes) -> str | None:
    for exponent in _HUGE.finditer(bare):
        number = _MANTISSA.search(bare[max(exponent.start() - 40, 0) : exponent.start()])
        if number is not None:
            return (number[0] + exponent[0]).decode()
    return None


def promise_of(path: str) -> Callable[[], Promise]:
    """Begin to scan a file while the kernel reads it; the returned function waits for the result.

    A file that cannot be read promises nothing: reading it says why.
    """
    found: list[Promise] = []

    def scan() -> None:
        try:
            with open(path, "rb") as stream:
                found.append(promise(stream.read(), huge=False))
        except OSError:
            found.append(Promise(solids=0, faces=0, faults=()))

    thread = threading.Thread(target=scan, daemon=True)
    thread.start()

    def result() -> Promise:
        thread.join()
        return found[0]

    return result


def reasons_of(path: str) -> tuple[str, ...]:
    """Why nothing of a file could be read, as far as its text tells; empty where that cannot be read either."""
    try:
        with open(path, "rb") as stream:
            return promise(stream.read()).reasons()
    except OSError:
        return ()


class _Scan:
    def __init__(self) -> None:
        self.defined: set[int] = set()
        self.solids: set[int] = set()
        self._numbers: list[tuple[NDArray[np.int64], NDArray[np.int64]]] = []
        self._referred: set[int] = set()
        self._small: list[bytes] = []
        self._shells: dict[int, list[int]] = {}
        self._uses: dict[int, list[int]] = {}
        self._twice: list[int] = []
        self._odd: list[bytes] = []
        self._no_numbers: list[bytes] = []

    def section(self, bare: bytes) -> None:
        """Take in a data section."""
        small = bare.lower()
        if any(word in small for word in (b"nan", b"inf", b"1.#")):
            self._no_numbers += _NO_NUMBER.findall(bare)
        from fitcheck.measurement.statements import numbers_of

        numbers = numbers_of(bare)
        if numbers is None:
            self._slowly(bare)
            return
        self._numbers.append(numbers)
        for kind in _KINDS:
            at = bare.find(kind)
            while at >= 0:
                start, stop = bare.rfind(b";", 0, at) + 1, bare.find(b";", at)
                match = _STATEMENT.match(bare[start:stop])
                if match is not None and match[2] == kind:
                    self._take(int(match[1]), kind, match[3])
                at = bare.find(kind, stop)

    def _slowly(self, bare: bytes) -> None:
        """The same, statement by statement, for the words about what is odd."""
        self._referred.update(map(int, _REFERENCE.findall(bare)))
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
            if kind and kind.upper() != kind:
                self._small.append(kind)
            self._take(number, kind.upper(), match[3])

    def _take(self, number: int, kind: bytes, parts: bytes) -> None:
        if kind in _SHELLS:
            self._shells[number] = [int(item) for item in _REFERENCE.findall(parts)]
        elif kind in _KINDS:
            self._uses[number] = [int(item) for item in _REFERENCE.findall(parts)]
            if kind in _SOLID_KINDS:
                self.solids.add(number)

    def _lost(self) -> list[int]:
        """Numbers that are referred to and defined nowhere."""
        if not self._numbers:
            return sorted(self._referred - self.defined)
        import numpy as np

        referred = [found[1] for found in self._numbers] + [np.array(sorted(self._referred), dtype=np.int64)]
        defined = [found[0] for found in self._numbers] + [np.array(sorted(self.defined), dtype=np.int64)]
        return [int(n) for n in np.setdiff1d(np.concatenate(referred), np.concatenate(defined))]

    def promised_faces(self) -> set[int]:
        """Faces that the shells in use list, whether or not the text defines them."""
        wanted = [shell for shells in self._uses.values() for shell in shells]
        wanted += [inner for shell in wanted for inner in self._uses.get(shell, ())]
        return {face for shell in set(wanted) for face in self._shells.get(shell, ())}

    def faults(self, elsewhere: list[str]) -> tuple[str, ...]:
        words = []
        lost = self._lost()
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
        if self._small:
            shown = self._small[0].decode("ascii", "backslashreplace")
            words.append(
                f"{_count(self._small, 'entity name has', 'entity names have')} small letters, which no reader takes "
                f"(the first: {shown})"
            )
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
