"""The YAML reader: what it takes, where it says things stand, and what it refuses."""

import pytest
import yaml

from fitcheck.errors import JobError
from fitcheck.job.yamlread import DEEPEST, MOST_BYTES, MOST_VALUES, read_yaml


def test_values_and_lines(full):
    document = read_yaml(full)
    assert document.value["coupling"]["hubs"]["motor"]["bore"] == 6.35
    assert document.value["bodies"]["ignore"] == ["bolt*", "washer ?"]
    rows = full.splitlines()
    for path, line in document.lines.items():
        last = path.split(".")[-1]
        assert last.isdigit() or f"{last}:" in rows[line - 1], path
    assert document.lines["coupling.hubs.actuator.screws.0.kind"] == rows.index("          kind: set screw") + 1
    assert not document.problems


def test_agrees_with_pyyaml_where_yaml_holds_no_surprise(full):
    # an independent reader of the same text: PyYAML's own constructor
    assert read_yaml(full).value == yaml.safe_load(full)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("no", "no"),
        ("Yes", "Yes"),
        ("on", "on"),
        ("off", "off"),
        ("1_000", "1_000"),
        ("1:30", "1:30"),
        ("010", "010"),
        ("0x1F", "0x1F"),
        ("2001-12-14", "2001-12-14"),
        ("1.5", 1.5),
        ("-3", -3),
        ("1e3", 1000.0),
        ("12", 12),
        ("true", True),
        ("false", False),
        ("True", "True"),
        ("null", None),
        ("~", None),
        ("", None),
        ('"12"', "12"),
        ("'true'", "true"),
        ("<<", "<<"),
        ("=", "="),
    ],
)
def test_scalars(text, value):
    found = read_yaml(f"key: {text}").value["key"]
    assert (type(found), found) == (type(value), value)


@pytest.mark.parametrize(
    ("text", "line", "message"),
    [
        ("a: 1\nb: !x 2", 2, "the tag '!x' is not allowed"),
        ("a: !!python/object/apply:os.system [x]", 1, "the tag 'tag:yaml.org,2002:python/object/apply:os.system'"),
        ("a: !!str 5", 1, "the tag 'tag:yaml.org,2002:str'"),
        ("a: &x 5", 1, "the anchor '&x' is not allowed"),
        ("a: 1\nb: &x [1]\nc: [*x, *x]", 2, "the anchor '&x' is not allowed"),
        ("a: *x", 1, r"the alias '\*x' is not allowed"),
        ("a: 1\n---\nb: 2", 2, "a second document"),
        ("%TAG ! tag:x,2000:\n---\na: 1", 1, "%TAG"),
        ("", 1, "holds nothing"),
        ("# only this\n", 1, "holds nothing"),
        ("- 1", 1, "holds a list; needed are keys and values"),
        ("just words", 1, "holds a single value"),
        ("[1]: 2", 1, "cannot be a key"),
        ("? {a: 1}\n: 2", 1, "cannot be a key"),
        ("a: [1, 2", 1, r"column 9: .*expected ',' or '\]'.*flow sequence from line 1.*found 'a: \[1, 2'"),
        ("a: 1\nb: [1, 2\nc: 3", 3, "column 2: .*flow sequence from line 2"),
        ("a: 1\n\tb: 2", 2, "column 1: a tab stands where YAML needs spaces"),
        ("a: b: c", 1, "column 5: mapping values are not allowed here; found 'a: b: c'"),
        ("a: 'x", 1, "quoted"),
        ("a: 1\nb: x\x00y", 2, r"U\+0000 is not allowed"),
        ('a: "\\U7fffffff"', 1, "out of range"),
        ('a: "\\ud800"', 1, "control character"),
        ('a: "\\0"', 1, "control character"),
        ("a: " + "[" * 100_000, 1, f"nested deeper than {DEEPEST}"),
        ("a: " + "{b: " * 100_000, 1, f"nested deeper than {DEEPEST}"),
    ],
)
def test_refusals_stop_with_their_line(text, line, message):
    with pytest.raises(JobError, match=message) as caught:
        read_yaml(text, "z.fit.yaml")
    assert caught.value.line == line
    assert str(caught.value) == f"z.fit.yaml:{line}: {caught.value.message}"
    assert "z.fit.yaml" not in caught.value.message


@pytest.mark.parametrize(
    ("text", "line", "message"),
    [
        ("a: 1\nb: 2\na: 3", 3, "a: the key is given twice, first in line 1; keep one"),
        ("a: {x: 1, x: 2}", 1, "a.x: the key is given twice, first in line 1; keep one"),
        ("a: 1\n12: 2", 2, "the key '12' is no word; keys are plain words"),
        ("true: 2", 1, "the key 'true' is no word; keys are plain words"),
        ("?\n: 2", 1, "the key '' is no word; keys are plain words"),
        ("a: .nan", 1, "found .nan; needed is a finite number"),
        ("a: [1, -.INF]", 1, "found -.INF; needed is a finite number"),
        ("a: 1e999", 1, "found 1e999; needed is a finite number"),
    ],
)
def test_problems_that_do_not_stop(text, line, message):
    assert [(p.line, p.message) for p in read_yaml(text).problems] == [(line, message)]


def test_the_first_of_two_equal_keys_is_kept_whatever_the_second_holds():
    document = read_yaml("a: 1\na: {b: [1, {c: 2}]}\nd: 4")
    assert document.value == {"a": 1, "d": 4}


def test_too_many_values():
    with pytest.raises(JobError, match=f"more than {MOST_VALUES} keys and values") as caught:
        read_yaml("a: [\n" + "1,\n" * MOST_VALUES + "]")
    # the root, its key and its list count too: entry 19998, in line 1 + 19998, is one too many
    assert caught.value.line == MOST_VALUES - 1
    assert len(read_yaml("a: [" + "1," * (MOST_VALUES - 3) + "]").value["a"]) == MOST_VALUES - 3


def test_too_large():
    with pytest.raises(JobError, match=f"larger than {MOST_BYTES} bytes"):
        read_yaml("a: " + "x" * MOST_BYTES)
