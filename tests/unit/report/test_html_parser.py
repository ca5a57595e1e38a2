"""HTML pages through html5lib, which parses by the HTML standard; in strict mode a parse error is an exception."""

from __future__ import annotations

from collections import Counter

import pytest
from html5lib import HTMLParser
from html5lib.html5parser import ParseError

from fitcheck.report.html import check_html

KINDS = ("samples", "refused", "hostile", "strict", "in code", "no findings", "no jobs")
HTML = "{http://www.w3.org/1999/xhtml}"
SVG = "{http://www.w3.org/2000/svg}"


def parsed(text):
    return HTMLParser(strict=True).parse(text)


@pytest.mark.parametrize("kind", KINDS)
def test_page_is_parsed_without_an_error(every_kind, kind):
    page = parsed(check_html(every_kind[kind]))
    assert page.get("lang") == "en"
    assert len(list(page.iter(f"{HTML}section"))) == len(every_kind[kind].jobs)
    assert [title.text for title in page.iter(f"{HTML}title")] != [None]
    ids = Counter(element.get("id") for element in page.iter() if element.get("id") is not None)
    assert [name for name, times in ids.items() if times > 1] == []


@pytest.mark.parametrize("kind", KINDS)
def test_pictures_have_a_text_in_their_place(every_kind, kind):
    page = parsed(check_html(every_kind[kind]))
    assert list(page.iter(f"{HTML}img")) == []
    drawings = list(page.iter(f"{SVG}svg"))
    assert [drawing.get("role") for drawing in drawings] == ["img"] * len(drawings)
    assert all(drawing.get("aria-label") for drawing in drawings)
    assert bool(drawings) == (kind in ("samples", "hostile", "strict", "in code"))


@pytest.mark.parametrize("kind", ["samples", "refused", "hostile"])
def test_tables_have_as_many_cells_as_titles(every_kind, kind):
    page = parsed(check_html(every_kind[kind]))
    tables = list(page.iter(f"{HTML}table"))
    assert bool(tables) == (kind != "refused")
    for table in tables:
        assert {len(row) for row in table.iter(f"{HTML}tr")} == {8}
        assert all(title.get("scope") == "col" for title in table.iter(f"{HTML}th"))


@pytest.mark.parametrize(
    "body",
    [
        "<section><p>a</p>", "<p>a <b>b</p>", "<p>a<ul></ul></p>", "<table><p>a</p></table>", "<p>a</p></section>",
        '<p class="a" class="b">c</p>', "<p>a &amp b</p>", "<div/>",
    ],
)  # fmt: skip
def test_the_parser_takes_no_mistake(body):
    head = '<!DOCTYPE html>\n<html lang="en"><head><title>a</title></head><body>'
    parsed(f"{head}<p>a</p></body></html>")
    with pytest.raises(ParseError):
        parsed(f"{head}{body}</body></html>")
