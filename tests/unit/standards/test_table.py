"""The reading of tables and the look-ups over them."""

from __future__ import annotations

import math
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.errors import TableError
from fitcheck.standards import table as tables
from fitcheck.standards.table import nearest, table, table_names, weakest

SIDECAR = """
title = "washers"
standard = "Invented 1"
edition = "first"
number = "1"
unit = "mm"
confidence = "memory"
transcribed = 2026-11-25
coverage = "two rows"
second_source = "none"
key = "size"
[sources]
A = "a made-up page"
[columns.size]
kind = "text"
doc = "Size."
[columns.bore]
doc = "Bore."
[columns.steps]
kind = "numbers"
doc = "Steps."
"""
HEAD = "size,bore,steps,confidence,source,note\n"


@pytest.fixture
def made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    monkeypatch.setattr(tables, "DATA", tmp_path)
    tables.table.cache_clear()
    (tmp_path / "washers.toml").write_text(SIDECAR)
    yield tmp_path / "washers.csv"
    tables.table.cache_clear()


def test_blank_is_none_and_cells_are_typed(made: Path) -> None:
    made.write_text(HEAD + 'M1,1.1,1 2.5,read,A,\nM2,,,memory,A,"two, with a comma"\n')
    first, second = table("washers").rows
    assert first.values == {"size": "M1", "bore": 1.1, "steps": (1.0, 2.5)}
    assert first.note is None
    assert second.maybe_number("bore") is None
    assert second.numbers("steps") == ()
    assert second.note == "two, with a comma"
    assert (second.confidence, second.source) == ("memory", "a made-up page")
    with pytest.raises(TableError, match=r"washers\.csv:3: no number under 'bore'"):
        second.number("bore")
    with pytest.raises(TableError, match=r"washers\.csv:3: no text under 'bore'"):
        second.text("bore")


@pytest.mark.parametrize(
    ("rows", "message"),
    [
        (HEAD + "M1,wide,,read,A,\n", r"washers\.csv:2: 'wide' under 'bore' is not a number"),
        (HEAD + "M1,1,1 x,read,A,\n", r"washers\.csv:2: '1 x' under 'steps' is not a number"),
        (HEAD + "M1,1,,read,A,a,b\n", r"washers\.csv:2: the row has more or fewer cells than the head of the file"),
        (HEAD + "M1,1,,read,A\n", r"washers\.csv:2: the row has more or fewer cells than the head of the file"),
        (HEAD + "M1,1,,sure,A,\n", r"washers\.csv:2: confidence 'sure' is none of read, package, computed, memory"),
        (HEAD + "M1,1,,read,B,\n", r"washers\.csv:2: source 'B' is none of the sidecar's A"),
        (HEAD + "M1,1,,read,,\n", r"washers\.csv:2: source '' is none of the sidecar's A"),
        ("size,confidence,source,note\nM1,read,A,\n", r"only the sidecar or only the rows have: bore, steps"),
        (HEAD.replace("note", "note,hue") + "M1,1,,read,A,,red\n", r"only the sidecar or only the rows have: hue"),
    ],
)
def test_rows_that_contradict_the_sidecar_are_refused(made: Path, rows: str, message: str) -> None:
    made.write_text(rows)
    with pytest.raises(TableError, match=message):
        table("washers")


def test_sidecar_without_a_field_is_refused(made: Path) -> None:
    made.write_text(HEAD + "M1,1.1,,read,A,\n")
    made.with_suffix(".toml").write_text(SIDECAR.replace('coverage = "two rows"\n', ""))
    with pytest.raises(TableError, match=r"washers: 'coverage' is missing in washers\.toml"):
        table("washers")


def test_unknown_table_lists_the_tables() -> None:
    with pytest.raises(TableError, match=r"there is no table 'nails'; the tables are bit_holders, cap_screws, "):
        table("nails")


def test_every_table_is_read_once() -> None:
    assert all(table(name) is table(name) for name in table_names())


@pytest.mark.parametrize(
    ("wanted", "choices", "expected"),
    [
        ("M7", ["M5", "M6", "M8", "M10"], ["M6", "M8"]),
        (9.0, [6.0, 8.0, 10.0, 12.0], [8.0, 10.0]),
        ("FT90", ["NEMA 42", "FF85", "FF100", "FT85", "FT100"], ["FT85", "FT100"]),
        ("nornal", ["normal", "reduced"], ["normal", "reduced"]),
        ("M100", ["M5", "M6", "M8"], ["M6", "M8"]),
    ],
)
def test_nearest(wanted: str | float, choices: list[str | float], expected: list[str | float]) -> None:
    assert nearest(wanted, choices) == expected


def test_weakest() -> None:
    assert weakest(["read", "computed", "package"]) == "computed"
    assert weakest(["read", "memory"]) == "memory"


@given(st.floats(allow_nan=True, allow_infinity=True))
def test_a_range_either_holds_the_value_or_is_refused(value: float) -> None:
    keys = table("parallel_keys")
    inside = 6.0 < value <= 58.0
    if not inside:
        with pytest.raises(TableError, match="is outside the table, which covers over 6 to 58 mm in 10 ranges"):
            keys.containing(value, "shaft diameter")
        return
    row = keys.containing(value, "shaft diameter")
    assert row.number("over") < value <= row.number("to")


def test_range_edges_are_over_and_to() -> None:
    keys = table("parallel_keys")
    assert keys.containing(8.0, "shaft diameter").number("width") == 2.0
    assert keys.containing(math.nextafter(8.0, 9.0), "shaft diameter").number("width") == 3.0


def test_look_ups_load_neither_numpy_nor_yaml_and_nothing_is_read_at_import() -> None:
    code = (
        "import sys\n"
        "from fitcheck.standards import fits, frames, keys, runout, screws, strength, table\n"
        "assert table.table.cache_info().currsize == 0, 'read at import'\n"
        "frames.frame('NEMA 23'); fits.limits(25, 'H7'); screws.cap_screw('M3')\n"
        "heavy = {'numpy', 'yaml', 'OCP', 'cadquery', 'difflib'} & set(sys.modules)\n"
        "assert not heavy, heavy\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
