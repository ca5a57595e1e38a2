from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.report.page import WIDTH, Paint, clean, columns, flowing, number, places, table, wrapped


@given(st.text())
def test_clean_leaves_nothing_that_steers_a_terminal(text):
    kept = clean(text)
    # Unicode's own classes are the reference: Cc are the control characters, Cs the surrogates.
    assert not [c for c in kept if unicodedata.category(c) in ("Cc", "Cs") or unicodedata.bidirectional(c) in
                ("LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI")]  # fmt: skip


def test_clean_keeps_names_that_people_give():
    assert clean("Motorträger №3 – 工具") == "Motorträger №3 – 工具"


@pytest.mark.parametrize(
    "text",
    ["::error file=a::lost", "##vso[task.complete result=Succeeded;]", "##[error]lost", "a ::set-output name=b::c"],
)
def test_no_line_begins_with_a_command_to_a_ci_server(text):
    # However it is folded: workflow commands begin with two colons, logging commands with two hashes.
    for width in range(0, 60, 7):
        lines = wrapped(clean(("x " * width) + text), 0)
        assert not any(line.lstrip().startswith(("::", "##")) for line in lines)
    assert clean("Box::Lid C#") != "Box::Lid C#"


@pytest.mark.parametrize(
    "char", ["\u200b", "\ufeff", "\u2060", "\u00ad", "\U000e0041", "\ufdd0", "\ufffe", "\U0001ffff"]
)
def test_what_nobody_sees_is_shown(char):
    assert clean(f"mo{char}tor") == "mo?tor"


def test_a_word_longer_than_many_pages_is_folded_in_proportion():
    # Counted, not timed: how often a character's width is asked for grows with the word, not with its square.
    counts = []
    for size in (2_000, 8_000):
        asked = 0
        word = "w" * size

        def counting(text, asked_of=columns):
            nonlocal asked
            asked += len(text)
            return asked_of(text)

        with pytest.MonkeyPatch.context() as patch:
            patch.setattr("fitcheck.report.page.columns", counting)
            lines = wrapped(word, 4)
        assert "".join(line.strip() for line in lines) == word
        counts.append(asked)
    assert counts[1] < 5 * counts[0]


@given(st.text(), st.integers(0, 20), st.text("abc: ", max_size=12))
def test_paragraphs_fit_the_page_and_lose_no_word(text, indent, first):
    text = clean(text)
    lines = wrapped(text, indent, first)
    assert all(columns(line) <= WIDTH for line in lines)
    assert "".join("".join(lines).split()) == "".join((first + text).split())


@given(st.lists(st.tuples(st.text(max_size=150), st.floats(allow_nan=False), st.text(max_size=60)), max_size=5))
def test_tables_fit_the_page_and_never_break_a_number(rows):
    cells = [(clean(a), f"{b:.3g}", clean(c)) for a, b, c in rows]
    lines = table(("name", "value", "body"), cells, right=(1,))
    assert all(columns(line) <= WIDTH for line in lines)
    text = "\n".join(lines)
    assert all(value in text for _, value, _ in cells)


def test_wide_characters_take_two_columns():
    assert columns("工具") == 4
    assert all(columns(line) <= WIDTH for line in wrapped("工" * 120))


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (None, "-"), (0.0, "0"), (1.5, "1.5"), (12.0, "12"), (1.92, "1.92"), (100.0, "100"), (0.00042, "0.00042"),
        (-0.5, "-0.5"), (float("inf"), "unbounded"), (-1e-7, "-1e-07"), (6.9e-15, "0"), (1234567.0, "1234567"),
    ],
)  # fmt: skip
def test_numbers_are_written_for_people(value, text):
    assert number(value) == text


def test_a_miss_of_less_than_a_micrometre_is_not_rounded_away():
    value, limit = 0.4999996, 0.5
    decimals = places(value - limit)
    assert number(value, decimals) != number(limit, decimals)


def test_paint_colours_only_when_on():
    assert Paint(False)("FAIL", "red") == "FAIL"
    assert Paint(True)("FAIL", "red") == "\x1b[1;31mFAIL\x1b[0m"


def test_flowing_items_are_not_broken_inside():
    items = [f"require.some_limit_{i} = 0.{i} mm" for i in range(12)]
    lines = flowing(items, 4)
    assert all(len(line) <= WIDTH for line in lines)
    assert [item for line in lines for item in line.strip().rstrip(";").split("; ")] == items
    assert len(flowing(["x" * 250], 4)) == 3
    assert flowing([], 4) == []
