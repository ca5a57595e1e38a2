"""Every table says where its values come from, and its rows are in order without gaps."""

from __future__ import annotations

from datetime import date
from itertools import pairwise

import pytest

from fitcheck.standards.table import CONFIDENCES, DATA, KINDS, Table, table, table_names

NAMES = table_names()
BY_RANGE = (
    "tolerance_grades", "parallel_keys", "shaft_runout", "flange_runout", "service_starts", "service_temperature",
)  # fmt: skip
MEMORY_TABLES = {
    "bit_holders", "hex_key_torque", "set_screw_holding", "iec_flanges", "nema_runout", "service_load",
    "service_starts", "service_temperature", "coupling_families",
}  # fmt: skip


@pytest.fixture(params=NAMES)
def found(request: pytest.FixtureRequest) -> Table:
    return table(request.param)


def test_there_is_a_sidecar_for_every_table_and_the_other_way_round() -> None:
    assert {path.stem for path in DATA.glob("*.toml")} == set(NAMES)
    assert len(NAMES) == 21


def test_sidecar_is_complete(found: Table) -> None:
    for text in (found.title, found.standard, found.edition, found.number, found.unit, found.coverage):
        assert text.strip()
    assert found.second_source.strip()
    assert found.confidence in CONFIDENCES
    assert found.transcribed >= date(2026, 11, 25)
    assert all(len(source) > 5 for source in found.sources.values())


def test_columns_are_described(found: Table) -> None:
    for column in found.columns.values():
        assert column.kind in KINDS
        assert column.doc.endswith(".")
        assert column.confidence is None or column.confidence in CONFIDENCES
        assert set((column.source or "").split()) <= set(found.sources)


def test_every_row_has_a_confidence_and_a_source(found: Table) -> None:
    assert found.rows
    for row in found.rows:
        assert row.confidence in CONFIDENCES, row.place
        assert row.source, row.place
        if row.confidence == "memory":
            assert "memory" in row.source, row.place


def test_every_source_is_used(found: Table) -> None:
    used = "; ".join(row.source for row in found.rows)
    columns = " ".join(column.source or "" for column in found.columns.values()).split()
    for letter, source in found.sources.items():
        assert source in used or letter in columns, f"{found.name}: {letter}"


def test_tables_from_memory_say_so() -> None:
    assert {name for name in NAMES if table(name).confidence == "memory"} == MEMORY_TABLES


def test_no_cell_is_blank_without_reason(found: Table) -> None:
    blank = {column for column in found.columns if any(row.values[column] is None for row in found.rows)} - {
        "upper",
        "lower",
        "grades",
    }
    allowed = {
        "hex_keys": {"long_arm_long", "long_arm_extra_long", "old_short_arm", "old_long_arm"},
        "thread_strength": {f"{kind}_{name}" for kind in ("proof", "ultimate") for name in ("8_8", "10_9", "12_9")},
        "nema_frames": {"register_tolerance", "hole"},
        "iec_flanges": {"register_lower", "hole", "shaft_diameters"},
    }
    assert blank == allowed.get(found.name, set())


def test_keys_are_unique_and_rise(found: Table) -> None:
    if found.key is None:
        return
    keys = found.keys()
    assert len({str(key).lower() for key in keys}) == len(keys)
    if found.columns[found.key].kind == "number":
        assert list(keys) == sorted(keys)
    if "diameter" in found.columns:
        diameters = [row.number("diameter") for row in found.rows]
        assert diameters == sorted(diameters)
        assert [f"M{diameter:g}" for diameter in diameters] == list(keys)


def test_ranges_rise_without_gap_or_overlap() -> None:
    series = {name: table(name).rows for name in BY_RANGE}
    for name, column in (("deviations", "symbol"), ("nema_runout", "item")):
        for value in {row.text(column) for row in table(name).rows}:
            series[f"{name} {value}"] = tuple(row for row in table(name).rows if row.text(column) == value)
    for name, rows in series.items():
        for row in rows:
            assert row.number("over") < row.number("to"), row.place
        for before, after in pairwise(rows):
            assert before.number("to") == after.number("over"), f"{name}: {after.place}"


@pytest.mark.parametrize("symbol", ["f", "g", "k", "m", "n", "p", "j", "J"])
def test_deviations_have_the_ranges_of_the_standard_tolerances(symbol: str) -> None:
    grades = [(row.number("over"), row.number("to")) for row in table("tolerance_grades").rows]
    rows = [row for row in table("deviations").rows if row.text("symbol") == symbol]
    assert [(row.number("over"), row.number("to")) for row in rows] == grades


@pytest.mark.parametrize("name", ["tolerance_grades", "shaft_runout", "flange_runout"])
def test_tolerances_grow_with_size(name: str) -> None:
    found = table(name)
    for column in set(found.columns) - {"over", "to"}:
        values = [row.number(column) for row in found.rows]
        assert values == sorted(values), column


def test_counts_and_grades_are_whole_numbers() -> None:
    for name in ("nema_frames", "iec_flanges"):
        assert {row.number("count") for row in table(name).rows} == {4.0}
    grades = {row.text("symbol"): row.numbers("grades") for row in table("deviations").rows}
    assert grades == {"f": (), "g": (), "k": (5, 6, 7), "m": (), "n": (), "p": (), "j": (6,), "J": (7,)}
    assert all(row.numbers("grades") == grades[row.text("symbol")] for row in table("deviations").rows)
