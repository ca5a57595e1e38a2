"""Reads a job: file or text to the typed job, every problem told with its line.

The loader knows no field by name; it follows the shapes of the model. Jobs made in code take the same way.
"""

from __future__ import annotations

import difflib
import math
import os
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from numbers import Real
from typing import Any

from fitcheck.errors import JobError
from fitcheck.job.model import MARK, NUMBERS_FROM, Coupling, Job, LoadedJob
from fitcheck.job.problems import Problem, Problems
from fitcheck.job.shape import Shape, shapes, walk
from fitcheck.job.units import needed, parse_quantity, shorten
from fitcheck.job.validate import impossible

UNMEASURED = 0.0
"""What stands for a length that the STEP file will tell; no length of a job is 0 otherwise."""


def load_job(path: str | os.PathLike[str]) -> LoadedJob:
    """Reads a job file.

    Args:
        path: the `*.fit.yaml` file, UTF-8, at most 1 MiB.

    Returns:
        The job with its defaults, the line of every key, and the STEP file resolved against the job file's folder.

    Raises:
        JobError: the file cannot be read, or something in it is wrong; all problems that can be told at once stand in
            the message, one a line, each with file and line.
    """
    from fitcheck.job.yamlread import MOST_BYTES

    file = os.fspath(path)
    try:
        with open(file, "rb") as stream:
            data = stream.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise JobError("there is no such job file; 'fitcheck init STEP' writes one to start from", file) from None
    except IsADirectoryError:
        raise JobError("this is a folder; needed is a job file (*.fit.yaml)", file) from None
    except PermissionError:
        raise JobError("no permission to read the job file", file) from None
    except (OSError, ValueError) as error:
        raise JobError(f"the job file cannot be read: {error}", file) from None
    if len(data) > MOST_BYTES:
        raise JobError(f"the file is larger than {MOST_BYTES} bytes; a job file is a few kilobytes", file)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        message = f"byte {error.start} (0x{data[error.start]:02x}) is not UTF-8; save the job file as UTF-8 text"
        raise JobError(message, file, line) from None
    return parse_job(text, file, os.path.dirname(file))


def parse_job(text: str, file: str | None, folder: str | os.PathLike[str]) -> LoadedJob:
    """Reads a job from the text of a job file.

    Args:
        text: the YAML text.
        file: the name for messages, or None.
        folder: what a relative `step` is resolved against.

    Raises:
        JobError: as `load_job`.
    """
    from fitcheck.job.yamlread import read_yaml

    document = read_yaml(text, file)
    reader = _Reader(Problems(file, document.lines, list(document.problems)))
    job = reader.job(document.value)
    return LoadedJob(
        job=job, file=file, step_path=os.path.join(os.fspath(folder), job.step), lines=document.lines,
        defaults=tuple(reader.defaults), to_measure=tuple(reader.to_measure), unfilled=_unfilled(text),
    )  # fmt: skip


def _unfilled(text: str) -> tuple[int, ...]:
    """Lines whose value still carries the mark of the starting file; keys that are switched off do not count."""
    lines = enumerate(text.splitlines(), start=1) if MARK in text else ()
    return tuple(
        number for number, line in lines if line.rstrip().endswith(f"# {MARK}") and not line.lstrip().startswith("#")
    )


def loaded(job: Job, step_path: str | os.PathLike[str], file: str | None = None) -> LoadedJob:
    """Makes a loaded job of one made in code; it is checked exactly as one from a file.

    Numbers may be given as texts with units. A field that equals its default counts as left to fitcheck.

    Args:
        job: the job; `step` itself is not opened.
        step_path: the STEP file to measure.
        file: a name for messages, or None.

    Raises:
        JobError: a value has the wrong type or is out of range, or the geometry is impossible.
    """
    reader = _Reader(Problems(file, {}))
    checked = reader.job(_plain(job))
    return LoadedJob(
        job=checked, file=file, step_path=os.fspath(step_path), lines={}, defaults=tuple(reader.defaults),
        to_measure=tuple(reader.to_measure),
    )  # fmt: skip


def _plain(value: Any) -> Any:
    """A dataclass as the mapping that a job file would hold: what equals its default is left out."""
    if is_dataclass(value) and not isinstance(value, type):
        given = {item.name: getattr(value, item.name) for item in fields(value)}
        defaults = {item.name: item.default for item in fields(value)}
        return {name: _plain(item) for name, item in given.items() if not _same(item, defaults[name])}
    if isinstance(value, (list, tuple)):
        return [_plain(item) for item in value]
    return value


def _same(value: Any, default: Any) -> bool:
    return type(value) is type(default) and bool(value == default)


class _Reader:
    """Builds groups from plain values; a group that has a problem comes out as None and is not checked further."""

    def __init__(self, problems: Problems) -> None:
        self.problems = problems
        self.defaults: list[str] = []
        self.to_measure: list[str] = []
        self.measuring = False

    def job(self, value: Any) -> Job:
        job = self.group(Job, value, "")
        self.problems.check()
        assert isinstance(job, Job)
        return job

    def group(self, kind: type[Any], value: Any, path: str) -> Any:
        """An instance of the dataclass, or None where anything in it is wrong."""
        if not isinstance(value, Mapping):
            keys = ", ".join(shape.name for shape in shapes(kind))
            self.problems.add(path, f"found {_found(value)}; needed is a group of the keys {keys}")
            return None
        if kind is Coupling:
            self.measuring = value.get("numbers_from") == NUMBERS_FROM[1]
        before = len(self.problems.found)
        known = {shape.name: shape for shape in shapes(kind)}
        for key in value:
            if key not in known:
                self.unknown(key, kind, path)
        values = {}
        for name, shape in known.items():
            values[name] = self.field(shape, value, f"{path}.{name}" if path else name)
        if len(self.problems.found) > before:
            return None
        made = kind(**values)
        if any(place.startswith(f"{path}.") for place in self.to_measure):
            # what cannot be is told when the rest has been measured
            return made
        for place, message in impossible(made, path):
            self.problems.add(place, message)
        return made if len(self.problems.found) == before else None

    def unknown(self, key: Any, kind: type[Any], path: str) -> None:
        names = [shape.name for shape in shapes(kind)]
        here = path or "the job"
        near = difflib.get_close_matches(str(key)[:60], names, n=2, cutoff=0.6)
        if near:
            advice = f"did you mean {' or '.join(repr(name) for name in near)}?"
        else:
            homes = [place.rpartition(".")[0] or "the job" for place, _ in walk(Job) if place.split(".")[-1] == key]
            advice = f"{key!r} belongs in {' or '.join(homes[:3])}; " if homes else ""
            advice += f"known keys here: {', '.join(names)}"
        place = f"{path}.{key}" if path else str(key)
        line = self.problems.line_of(place)
        self.problems.found.append(Problem(line, f"unknown key {shorten(key)} in {here}; {advice}"))

    def field(self, shape: Shape, values: Mapping[str, Any], path: str) -> Any:
        if self.measuring and shape.describe.measurable and values.get(shape.name) in (None, UNMEASURED):
            if shape.group is not None:
                return self.group(shape.group, {}, path)
            self.to_measure.append(path)
            return UNMEASURED
        if shape.name not in values or (values[shape.name] is None and shape.may_be_empty):
            if shape.required:
                group = path.rpartition(".")[0]
                message = f"the key {shape.name!r} is missing in {group or 'the job'}: {shape.describe.doc}"
                self.problems.found.append(Problem(self.problems.line_of(group), message))
                return None
            self.note_default(shape, path)
            return shape.default
        value = values[shape.name]
        if value is None:
            # A number that is not finite has no value either, and was told when the YAML was read.
            if not self.problems.told(path):
                advice = "give one" if shape.required else f"give one, or remove the key for the default {shown(shape)}"
                self.problems.add(path, f"the key has no value; {advice}")
            return None
        match shape.kind:
            case "group":
                assert shape.group is not None
                return self.group(shape.group, value, path)
            case "groups":
                return self.groups(shape, value, path)
            case "text":
                return self.text(shape, value, path)
            case "texts":
                items = [value] if isinstance(value, str) else value
                return self.items(shape, items, path, self.text)
            case "number":
                return self.number(shape, value, path)
            case "numbers":
                return self.numbers(shape, value, path)
            case "count":
                return self.count(shape, value, path)

    def note_default(self, shape: Shape, path: str) -> None:
        if shape.describe.report_default:
            self.defaults.append(f"{path} = {shown(shape)}")
        elif shape.kind == "group" and shape.default is not None:
            assert shape.group is not None
            for inner in shapes(shape.group):
                self.note_default(inner, f"{path}.{inner.name}")

    def items(self, shape: Shape, value: Any, path: str, read: Any) -> Any:
        if isinstance(value, (str, Mapping)) or not isinstance(value, Sequence):
            self.problems.add(path, f"found {_found(value)}; needed is a list")
            return None
        if not value and not shape.may_be_empty:
            self.problems.add(path, f"the list is empty; needed is at least one entry, or no key for {shown(shape)}")
            return None
        return tuple(read(shape, item, f"{path}.{index}") for index, item in enumerate(value))

    def groups(self, shape: Shape, value: Any, path: str) -> Any:
        if isinstance(value, Mapping):
            self.problems.add(path, "found a single group; needed is a list, each entry of which begins with '- '")
            return None
        return self.items(shape, value, path, lambda _, item, place: self.group(shape.group or Job, item, place))

    def text(self, shape: Shape, value: Any, path: str) -> str | None:
        choices = shape.describe.choices
        example = f", such as {shape.describe.example}" if shape.describe.example else ""
        if isinstance(value, (int, float)) and str(value) in choices:
            return str(value)  # a name that looks like a number, such as property class 10.9, needs no quotes
        if choices and value not in choices:
            near = difflib.get_close_matches(str(value)[:60].lower(), [choice.lower() for choice in choices], n=1)
            guess = next((f"; did you mean {choice!r}?" for choice in choices if [choice.lower()] == near), "")
            self.problems.add(path, f"found {_found(value)}; needed is one of: {', '.join(choices)}{guess}")
            return None
        if not isinstance(value, str):
            quotes = "; put it in quotes" if isinstance(value, (int, float)) else ""
            self.problems.add(path, f"found {_found(value)}; needed is a text{example}{quotes}")
            return None
        if not value.strip():
            self.problems.add(path, f"the text is empty; needed is a text{example}")
            return None
        return value

    def number(self, shape: Shape, value: Any, path: str) -> float | None:
        if isinstance(value, bool) or not isinstance(value, (str, Real)):
            self.problems.add(path, f"found {_found(value)}; needed is {needed(shape.quantity)}")
            return None
        try:
            number = parse_quantity(value if isinstance(value, str) else float(value), shape.quantity)
        except JobError as error:
            self.problems.add(path, error.message)
            return None
        except OverflowError:
            self.problems.add(path, f"found {shorten(value)}; needed is {needed(shape.quantity)}")
            return None
        return number if self.in_range(shape, number, value, path) else None

    def in_range(self, shape: Shape, number: float, value: Any, path: str) -> bool:
        least, most, unit = shape.describe.least, shape.describe.most, f" {shape.unit}" if shape.unit else ""
        if least is not None and (number < least or (shape.describe.exclusive and number == least)):
            bound = "greater than" if shape.describe.exclusive else "at least"
            self.problems.add(path, f"found {shorten(value)}; needed is {bound} {least:g}{unit}")
            return False
        if most is not None and number > most:
            self.problems.add(path, f"found {shorten(value)}; needed is at most {most:g}{unit}")
            return False
        return True

    def numbers(self, shape: Shape, value: Any, path: str) -> Any:
        lengths = shape.describe.positional
        one = isinstance(value, (str, Real)) and not isinstance(value, bool) and 1 in lengths
        items = self.items(shape, [value] if one else value, path, self.number)
        if items is not None and lengths and len(items) not in lengths:
            wanted = " or ".join(str(length) for length in lengths)
            example = f", such as {shape.describe.example}" if shape.describe.example else ""
            self.problems.add(path, f"found a list of {len(items)}; needed is a list of {wanted} numbers{example}")
            return None
        return items

    def count(self, shape: Shape, value: Any, path: str) -> int | None:
        if isinstance(value, bool) or not isinstance(value, int):
            self.problems.add(path, f"found {_found(value)}; needed is a whole number")
            return None
        return value if self.in_range(shape, value, value, path) else None


def shown(shape: Shape) -> str:
    """The default of a field as text, with its unit."""
    default = shape.default
    if isinstance(default, tuple):
        return ", ".join(str(item) for item in default) or "an empty list"
    number = isinstance(default, float) and math.isfinite(default)
    text = f"{default:g}" if number else str(default)
    return f"{text} {shape.unit}" if number and shape.unit else text


def _found(value: Any) -> str:
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Mapping):
        return "a group"
    if isinstance(value, (list, tuple)):
        return "a list"
    return shorten(value)
