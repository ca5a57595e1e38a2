"""The fast parser and the one in Python give one meaning: two independent implementations of YAML (libyaml, PyYAML)."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.errors import JobError
from fitcheck.job import yamlread

SAMPLES = sorted((Path(__file__).parents[3] / "sample_assemblies").glob("*/*.fit.yaml"))
pytestmark = pytest.mark.skipif(not yaml.__with_libyaml__, reason="PyYAML was installed without libyaml")

PLAIN = [
    "step",
    "a",
    "b",
    ":",
    "-",
    "{",
    "}",
    "[",
    "]",
    "'",
    '"',
    "1",
    "0x1",
    "1e3",
    "~",
    "null",
    "#c",
    "|",
    ">",
    "%",
    "@",
]
RARE = ["&x", "*x", "!t", "---", "...", "?", "é", "\\n", "\\u00e9", "\t", "\r\n", "\ud800", "\x00", "\x85", "\u2028"]
GAPS = [": ", ", ", "- ", "? ", " #", " ", "\n", "\n  ", "\n    "]
WORDS = st.sampled_from([*PLAIN, *RARE, *GAPS, "\ufeff"])


def told(text: str, fast: bool) -> object:
    """What reading a text gives, with the fast parser first or without it."""
    with pytest.MonkeyPatch.context() as patch:
        if not fast:
            patch.setattr(yamlread, "_fast", lambda text, file: None)
        try:
            found = yamlread.read_yaml(text, "job")
        except JobError as error:
            return str(error)
        return found.value, found.lines, [str(problem) for problem in found.problems]


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem.removesuffix(".fit"))
def test_samples(path):
    text = path.read_text(encoding="utf-8")
    assert yamlread._fast(text, "job") is not None
    assert told(text, True) == told(text, False)


@settings(max_examples=400, deadline=None)
@given(st.lists(WORDS, max_size=14).map("".join))
def test_any_text(text):
    assert told(text, True) == told(text, False)
