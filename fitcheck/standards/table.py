"""Tables of published values: one CSV file of rows and one TOML sidecar that says where they come from.

A table is read at its first look-up and kept. A blank cell is None. Nothing is extrapolated: a look-up outside a table
raises `TableError` with the nearest choices or the range that the table covers.
"""

from __future__ import annotations

import csv
import re
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from fitcheck.errors import TableError

DATA = Path(__file__).with_name("data")

CONFIDENCES = ("read", "package", "computed", "memory")
"""How a value was come by, the most trusted first: read in a source, taken from an open package's data, computed from a
stated formula, or recalled and not yet seen in a source."""

KINDS = ("text", "number", "numbers")
"""Kinds of column; `numbers` is several numbers in one cell, parted by spaces."""

MARKS = ("confidence", "source", "note")
"""Columns that every table may have and that no sidecar needs to describe."""

Value = str | float | tuple[float, ...] | None

_NUMBER = re.compile(r"\d+(?:\.\d+)?")


@dataclass(frozen=True, kw_only=True)
class Column:
    """One column: its kind, unit ("" for none), what it holds, and its own mark and sources where they differ."""

    name: str
    kind: str
    unit: str
    doc: str
    confidence: str | None
    source: str | None


@dataclass(frozen=True, kw_only=True)
class Row:
    """One record. `place` is its file and line; `confidence` and `source` are those of the row as a whole."""

    place: str
    values: Mapping[str, Value]
    confidence: str
    source: str
    note: str | None

    def number(self, column: str) -> float:
        """The number in a column.

        Raises:
            TableError: the cell is blank.
        """
        value = self.values[column]
        if isinstance(value, float):
            return value
        msg = f"{self.place}: no number under {column!r}"
        raise TableError(msg)

    def maybe_number(self, column: str) -> float | None:
        """The number in a column, or None where the cell is blank."""
        return None if self.values[column] is None else self.number(column)

    def text(self, column: str) -> str:
        """The text in a column.

        Raises:
            TableError: the cell is blank.
        """
        value = self.values[column]
        if isinstance(value, str):
            return value
        msg = f"{self.place}: no text under {column!r}"
        raise TableError(msg)

    def maybe_text(self, column: str) -> str | None:
        """The text in a column, or None where the cell is blank."""
        return None if self.values[column] is None else self.text(column)

    def numbers(self, column: str) -> tuple[float, ...]:
        """The numbers in a column; empty where the cell is blank."""
        value = self.values[column]
        return value if isinstance(value, tuple) else ()


@dataclass(frozen=True, kw_only=True)
class Table:
    """A table with its provenance.

    Attributes:
        name: file name of the CSV and the sidecar, without ending.
        title: what the table holds.
        standard, edition, number: the document, its edition, and the table's number in it, as far as the sources say.
        unit: unit of the columns that name none.
        sources: where the values were taken from, by the letter that rows and columns refer to.
        second_source: what the values were compared with.
        confidence: the mark of the table as a whole, one of CONFIDENCES.
        transcribed: when the values were taken over.
        coverage: what the table covers and where it stops.
        key: the column that names a row, or None for a table by ranges (columns `over` and `to`).
        columns: by name.
        rows: in the order of the file.
    """

    name: str
    title: str
    standard: str
    edition: str
    number: str
    unit: str
    sources: Mapping[str, str]
    second_source: str
    confidence: str
    transcribed: date
    coverage: str
    key: str | None
    columns: Mapping[str, Column]
    rows: tuple[Row, ...]

    def row(self, wanted: str | float) -> Row:
        """The row whose key is `wanted`; spaces, hyphens and upper or lower case do not matter, numbers to 1e-6.

        Raises:
            TableError: no row has that key; the message lists the nearest keys and how many there are.
        """
        assert self.key is not None, f"{self.name} is a table by ranges"
        keys = self.keys()
        for key, row in zip(keys, self.rows, strict=True):
            if isinstance(key, float):
                if isinstance(wanted, int | float) and abs(key - wanted) < 1e-6:
                    return row
            elif plain(key) == plain(str(wanted)):
                return row
        unit = self.columns[self.key].unit
        unit = f" {unit}" if unit else ""
        shown = f"{wanted:g}{unit}" if isinstance(wanted, int | float) else repr(wanted)
        near = " and ".join(_shown(key) for key in nearest(wanted, keys))
        msg = (
            f"{self.standard}, {self.title}: there is no {self.key.replace('_', ' ')} {shown}; nearest: {near}{unit}. "
            f"The table has {len(keys)} entries, {_shown(keys[0])} to {_shown(keys[-1])}{unit}"
        )
        raise TableError(msg)

    def keys(self) -> tuple[str | float, ...]:
        """The key of every row, in the order of the file."""
        assert self.key is not None, f"{self.name} is a table by ranges"
        kind = self.columns[self.key].kind
        return tuple(row.text(self.key) if kind == "text" else row.number(self.key) for row in self.rows)

    def containing(self, value: float, what: str, **equal: Value) -> Row:
        """The row whose range `over` < value <= `to` holds the value, among rows whose columns equal those given.

        Args:
            value: in the unit of the column `to`.
            what: the name of the value for the message ("shaft diameter").
            equal: column values that the row must have.

        Raises:
            TableError: no range holds the value; the message gives the range that the table covers.
        """
        rows = [row for row in self.rows if all(row.values[column] == wanted for column, wanted in equal.items())]
        for row in rows:
            if row.number("over") < value <= row.number("to"):
                return row
        unit = self.columns["to"].unit
        if not rows:
            asked = ", ".join(f"{column} {wanted!r}" for column, wanted in equal.items())
            there = [", ".join(str(row.values[column]) for column in equal) for row in self.rows]
            names = list(dict.fromkeys(there))
            msg = f"{self.standard}, {self.title}: there is no {asked}; the table has {len(names)}: {'; '.join(names)}"
            raise TableError(msg)
        msg = (
            f"{self.standard}, {self.title}: {what} {value:g} {unit} is outside the table, which covers over "
            f"{rows[0].number('over'):g} to {rows[-1].number('to'):g} {unit} in {len(rows)} ranges; "
            "values are not extrapolated"
        )
        raise TableError(msg)


def plain(text: str) -> str:
    """A name without spaces, hyphens and underscores, in upper case, for comparing names."""
    return re.sub(r"[\s_\-]+", "", text).upper()


def nearest(wanted: str | float, choices: Sequence[str | float], count: int = 2) -> list[str | float]:
    """The choices nearest to what was wanted, in their own order: by number where all have one, else by spelling."""
    size = _size(wanted)
    if size is not None and all(_size(choice) is not None for choice in choices):
        prefix = _prefix(wanted)
        alike = [choice for choice in choices if _prefix(choice) == prefix] or list(choices)
        best = sorted(alike, key=lambda choice: abs((_size(choice) or 0.0) - size))[:count]
    else:
        from difflib import get_close_matches

        names = {plain(str(choice)): choice for choice in choices}
        best = [names[name] for name in get_close_matches(plain(str(wanted)), names, count, 0.0)]
    return [choice for choice in choices if choice in best]


def weakest(confidences: Iterable[str]) -> str:
    """The least trusted of some confidence marks."""
    return max(confidences, key=CONFIDENCES.index)


def table_names() -> tuple[str, ...]:
    """The names of all tables."""
    return tuple(sorted(path.stem for path in DATA.glob("*.csv")))


@cache
def table(name: str) -> Table:
    """A table by name; read once.

    Raises:
        TableError: there is no such table, or its files contradict each other.
    """
    rows_file, sidecar_file = DATA / f"{name}.csv", DATA / f"{name}.toml"
    if not rows_file.is_file() or not sidecar_file.is_file():
        msg = f"there is no table {name!r}; the tables are {', '.join(table_names())}"
        raise TableError(msg)
    with sidecar_file.open("rb") as file:
        sidecar = tomllib.load(file)
    try:
        return _made(name, sidecar, rows_file)
    except KeyError as error:
        msg = f"{name}: {error} is missing in {sidecar_file.name} or {rows_file.name}"
        raise TableError(msg) from error


def _made(name: str, sidecar: dict[str, Any], rows_file: Path) -> Table:
    columns = {
        key: Column(
            name=key,
            kind=entry.get("kind", "number"),
            unit=entry.get("unit", "" if entry.get("kind") == "text" else sidecar["unit"]),
            doc=entry["doc"],
            confidence=entry.get("confidence"),
            source=entry.get("source"),
        )
        for key, entry in sidecar["columns"].items()
    }
    sources = MappingProxyType(dict(sidecar["sources"]))
    with rows_file.open(newline="", encoding="utf-8") as file:
        reader = csv.DictReader(file, restkey="")
        unknown = set(reader.fieldnames or ()) ^ ({*columns} | {*MARKS})
        if unknown:
            msg = f"{rows_file.name}: columns that only the sidecar or only the rows have: {', '.join(sorted(unknown))}"
            raise TableError(msg)
        rows = tuple(_row(f"{rows_file.name}:{reader.line_num}", cells, columns, sources) for cells in reader)
    return Table(
        name=name,
        title=sidecar["title"],
        standard=sidecar["standard"],
        edition=sidecar["edition"],
        number=sidecar["number"],
        unit=sidecar["unit"],
        sources=sources,
        second_source=sidecar["second_source"],
        confidence=sidecar["confidence"],
        transcribed=sidecar["transcribed"],
        coverage=sidecar["coverage"],
        key=sidecar.get("key"),
        columns=MappingProxyType(columns),
        rows=rows,
    )


def _row(place: str, cells: dict[str, str | None], columns: Mapping[str, Column], sources: Mapping[str, str]) -> Row:
    if "" in cells or None in cells.values():
        msg = f"{place}: the row has more or fewer cells than the head of the file"
        raise TableError(msg)
    confidence = cells["confidence"] or ""
    if confidence not in CONFIDENCES:
        msg = f"{place}: confidence {confidence!r} is none of {', '.join(CONFIDENCES)}"
        raise TableError(msg)
    letters = (cells["source"] or "").split()
    missing = [letter for letter in letters if letter not in sources]
    if missing or not letters:
        msg = f"{place}: source {' '.join(missing)!r} is none of the sidecar's {', '.join(sources)}"
        raise TableError(msg)
    return Row(
        place=place,
        values=MappingProxyType({name: _value(place, cells[name], column) for name, column in columns.items()}),
        confidence=confidence,
        source="; ".join(sources[letter] for letter in letters),
        note=cells["note"] or None,
    )


def _value(place: str, cell: str | None, column: Column) -> Value:
    text = (cell or "").strip()
    if not text:
        return None
    if column.kind == "text":
        return text
    try:
        if column.kind == "numbers":
            return tuple(float(part) for part in text.split())
        return float(text)
    except ValueError as error:
        msg = f"{place}: {text!r} under {column.name!r} is not a number"
        raise TableError(msg) from error


def _size(value: str | float) -> float | None:
    if isinstance(value, int | float):
        return float(value)
    found = _NUMBER.search(value)
    return None if found is None else float(found.group())


def _prefix(value: str | float) -> str:
    return "" if isinstance(value, int | float) else _NUMBER.split(plain(value), maxsplit=1)[0]


def _shown(value: str | float) -> str:
    return value if isinstance(value, str) else f"{value:g}"
