"""YAML text to plain values, with the line of every key; only the part of YAML that a job file needs.

It works on the parser's events: no object is constructed, tags and anchors never get a meaning, and depth is bounded
while reading. Scalars are decided here, since YAML 1.1 makes surprises out of `no`, `010`, `1_000` and `1:30`: a plain
decimal number is a number, `true` and `false` are truth values, `null`, `~` and nothing are None, and all else is text.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any

import yaml

from fitcheck.errors import JobError
from fitcheck.job.problems import Problem
from fitcheck.job.units import NUMBER, shorten

MOST_BYTES = 1 << 20
DEEPEST = 16
MOST_VALUES = 20_000

_NUMBER = re.compile(NUMBER)
_NOT_FINITE = re.compile(r"[+-]?\.inf|\.nan", re.IGNORECASE)
_DIFFERS = re.compile("[^\n -~\xa0-\u1fff]")
_UNFIT = re.compile("[\x00-\x08\x0b-\x1f\x7f\ud800-\udfff]")


@dataclass
class Document:
    """What a job file holds.

    Attributes:
        value: the root mapping.
        lines: 1-based line of every key and list entry, by dotted path; entries of a list by their index.
        problems: duplicate keys, keys that are no text, and values that are no finite number.
    """

    value: dict[str, Any]
    lines: dict[str, int]
    problems: list[Problem] = field(default_factory=list)


@dataclass
class _Open:
    """A mapping or list that is being read; `key` waits for its value, `skip` counts entries of refused keys."""

    value: dict[str, Any] | list[Any]
    path: str
    key: str | None = None
    waiting: bool = False


def read_yaml(text: str, file: str | None = None) -> Document:
    """Reads one YAML document whose root is a mapping.

    Args:
        text: the file's text.
        file: the file's name for messages.

    Returns:
        The values with their lines, and the problems that do not stop the reading.

    Raises:
        JobError: a syntax error (with line, column and what was found), a tag, an anchor or alias, several documents,
            nesting deeper than `DEEPEST`, a root that is no mapping, more than `MOST_BYTES` or `MOST_VALUES`.
    """
    if len(text.encode("utf-8", "surrogatepass")) > MOST_BYTES:
        raise JobError(f"the file is larger than {MOST_BYTES} bytes; a job file is a few kilobytes", file)
    reader = _fast(text, file) or _Reader(file)
    try:
        if reader.documents == 0:
            for event in yaml.parse(text, Loader=yaml.SafeLoader):
                reader.take(event)
    except JobError:
        raise  # it is a ValueError too
    except yaml.MarkedYAMLError as error:
        raise _syntax_error(error, text, file) from None
    except yaml.reader.ReaderError as error:
        line = text.count("\n", 0, error.position) + 1
        message = f"the character U+{int(error.character):04X} is not allowed in a YAML file; remove it"
        raise JobError(message, file, line) from None
    except (ValueError, OverflowError) as error:
        # the scanner passes on what chr() and int() say to an escape or a version number beyond all bounds
        raise JobError(f"an escape or a number in the YAML text is out of range ({error})", file, reader.line) from None
    if not isinstance(reader.root, dict):
        found = "nothing" if reader.root is None else "a list" if isinstance(reader.root, list) else "a single value"
        raise JobError(f"the file holds {found}; needed are keys and values, such as 'step: adapter.step'", file, 1)
    return Document(reader.root, reader.lines, reader.problems)


def _fast(text: str, file: str | None) -> _Reader | None:
    """The values by the parser in C, twenty times faster; None where it is not installed or stumbles over anything.

    What is wrong is then found again, and worded, by the parser in Python, whose words the messages are made for. It
    also reads texts with characters that the two take differently.
    """
    loader = getattr(yaml, "CSafeLoader", None)
    if loader is None or _DIFFERS.search(text):
        return None
    reader = _Reader(file)
    try:
        for event in yaml.parse(text, Loader=loader):
            reader.take(event)
    except (yaml.YAMLError, ValueError, OverflowError):
        return None
    return reader if isinstance(reader.root, dict) and not reader.problems else None


class _Reader:
    """Builds the plain values from the events, with an explicit stack."""

    def __init__(self, file: str | None) -> None:
        self.file = file
        self.root: Any = None
        self.lines: dict[str, int] = {}
        self.problems: list[Problem] = []
        self.line = 1
        self.stack: list[_Open] = []
        self.documents = 0
        self.values = 0

    def take(self, event: yaml.Event) -> None:
        self.line = event.start_mark.line + 1 if event.start_mark else self.line
        if isinstance(event, yaml.DocumentStartEvent):
            self.documents += 1
            if self.documents > 1:
                raise self.refuse("a second document starts here ('---'); a job file holds one")
            if event.tags:
                raise self.refuse("a %TAG directive is not allowed; remove it")
        elif isinstance(event, yaml.AliasEvent):
            raise self.refuse(f"the alias '*{event.anchor}' is not allowed; write the value out, or quote the text")
        elif isinstance(event, (yaml.ScalarEvent, yaml.MappingStartEvent, yaml.SequenceStartEvent)):
            self.values += 1
            if self.values > MOST_VALUES:
                raise self.refuse(f"the file holds more than {MOST_VALUES} keys and values; a job file has a few dozen")
            if event.anchor is not None:
                raise self.refuse(f"the anchor '&{event.anchor}' is not allowed; remove it, or quote the text")
            if event.tag is not None:
                raise self.refuse(f"the tag {shorten(event.tag)} is not allowed; remove it, or quote the text")
            if isinstance(event, yaml.ScalarEvent):
                self.scalar(event)
            else:
                self.open({} if isinstance(event, yaml.MappingStartEvent) else [])
        elif isinstance(event, (yaml.MappingEndEvent, yaml.SequenceEndEvent)):
            self.stack.pop()

    def refuse(self, message: str) -> JobError:
        return JobError(message, self.file, self.line)

    def wants_key(self) -> bool:
        return bool(self.stack) and isinstance(self.stack[-1].value, dict) and not self.stack[-1].waiting

    def open(self, value: dict[str, Any] | list[Any]) -> None:
        if self.wants_key():
            raise self.refuse("a list or a mapping cannot be a key; keys are plain words")
        if len(self.stack) >= DEEPEST:
            raise self.refuse(f"the file is nested deeper than {DEEPEST} levels")
        path = self.put(value)
        self.stack.append(_Open(value, path))

    def scalar(self, event: yaml.ScalarEvent) -> None:
        if _UNFIT.search(event.value):
            raise self.refuse("the text holds a control character; remove it")
        # The parser in Python says None for a plain scalar, the one in C an empty text.
        plain = not event.style
        value = self.plain_value(event.value) if plain else event.value
        if self.wants_key():
            self.key(value, event.value)
        else:
            self.put(value)

    def plain_value(self, text: str) -> Any:
        if text in ("", "~", "null"):
            return None
        if text in ("true", "false"):
            return text == "true"
        if _NUMBER.fullmatch(text):
            number = float(text)
            if number in (float("inf"), float("-inf")):
                self.problems.append(Problem(self.line, f"found {text}; needed is a finite number"))
                return None
            return number if re.search("[.eE]", text) else int(text)
        if _NOT_FINITE.fullmatch(text):
            self.problems.append(Problem(self.line, f"found {text}; needed is a finite number"))
            return None
        return text

    def key(self, value: Any, text: str) -> None:
        top = self.stack[-1]
        top.waiting, top.key = True, None
        path = f"{top.path}.{text}" if top.path else text
        if not isinstance(value, str):
            self.problems.append(Problem(self.line, f"the key {shorten(text)} is no word; keys are plain words"))
        elif value in top.value:
            first = self.lines.get(path, self.line)
            self.problems.append(Problem(self.line, f"{path}: the key is given twice, first in line {first}; keep one"))
        else:
            top.key = value
            self.lines[path] = self.line

    def put(self, value: Any) -> str:
        """Stores a value where it belongs, and returns its path; the value of a refused key is dropped."""
        if not self.stack:
            self.root = value
            return ""
        top = self.stack[-1]
        if isinstance(top.value, list):
            path = f"{top.path}.{len(top.value)}" if top.path else str(len(top.value))
            self.lines.setdefault(path, self.line)
            top.value.append(value)
            return path
        key, top.key, top.waiting = top.key, None, False
        if key is None:
            return f"{top.path}.?" if top.path else "?"
        top.value[key] = value
        return f"{top.path}.{key}" if top.path else key


def _syntax_error(error: yaml.MarkedYAMLError, text: str, file: str | None) -> JobError:
    mark = error.problem_mark or error.context_mark
    problem = error.problem or "the text cannot be read as YAML"
    if mark is None:
        return JobError(problem, file)
    rows = text.splitlines()
    row = rows[mark.line] if mark.line < len(rows) else ""
    if "'\\t'" in problem:
        problem = "a tab stands where YAML needs spaces; indent with spaces"
    context, found = "", "; the file ends here" if mark.line >= len(rows) else ""
    if error.context and error.context_mark:
        context = f" ({error.context} from line {error.context_mark.line + 1})"
    if row.strip():
        found = f"; found {shorten(row.strip())}"
    return JobError(f"column {mark.column + 1}: {problem}{context}{found}", file, mark.line + 1)
