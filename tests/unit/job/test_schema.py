"""The JSON Schema, judged by the jsonschema package: it takes what the loader takes, and refuses what it refuses."""

import re
from dataclasses import fields, is_dataclass

import pytest
import yaml
from jsonschema import Draft202012Validator

from fitcheck.errors import JobError
from fitcheck.job import job_schema, parse_job
from fitcheck.job.model import CHECKS, Job
from fitcheck.job.schema import DIALECT, unit_pattern
from fitcheck.job.shape import walk
from fitcheck.job.units import UNITS, USUAL, parse_quantity

SCHEMA = job_schema()
VALIDATOR = Draft202012Validator(SCHEMA)


def accepts(text: str) -> bool:
    return VALIDATOR.is_valid(yaml.safe_load(text))


def test_is_a_schema_of_its_dialect():
    Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["$schema"] == DIALECT


def test_takes_the_samples(full, minimal):
    for text in (full, minimal, minimal + "motor:\ntitle:\nrequire:\n"):
        assert list(VALIDATOR.iter_errors(yaml.safe_load(text))) == []
        parse_job(text, None, "")


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("title:", "titel:"),
        ("      bore: 6.35", "      bores: 6.35"),
        ("family: jaw", "family: jaws"),
        ("family: jaw", "familiy: jaw"),
        ("step: z-adapter.step", "step: 3"),
        ("step: z-adapter.step", "step: ' '"),
        ("step: z-adapter.step", "title2: x"),
        ("      bore: 6.35", "      bore: 0"),
        ("      bore: 6.35", "      bore: 6.35 N"),
        ("      bore: 6.35", "      bore: six"),
        ("      bore: 6.35", "      bore: [6]"),
        ("count: 4", "count: 1"),
        ("count: 4", "count: 4.5"),
        ("near: [0, 0, 1.5 in]", "near: [0, 0]"),
        ("near: [0, 0, 1.5 in]", "near: [0, 0, 0, 0]"),
        ("tools: [hex key, bit in holder]", "tools: []"),
        ("tools: [hex key, bit in holder]", "tools: [hammer]"),
        ("  radial_clearance: 0.02 in", "  engagement: 11"),
        ("  radial_clearance: 0.02 in", "  orbit:"),
        ("size: M3", "size: M3.5"),
        ("- {size: M3,", "{size: M3,"),
    ],
)
def test_refuses_with_the_loader(full, old, new):
    text = full.replace(old, new)
    assert text != full
    assert not accepts(text)
    with pytest.raises(JobError):
        parse_job(text, None, "")


@pytest.mark.parametrize("text", ["0.25 in", "12", "12mm", "-3 cm", ".5 um", "5 µm", "1e3 mm", '2"', "1.", " 4 mm "])
def test_lengths_with_units(text):
    assert re.search(unit_pattern("length"), text)
    assert parse_quantity(text, "length") != 0


@pytest.mark.parametrize("quantity", UNITS)
def test_every_unit_matches_its_pattern_and_no_other_quantity_does(quantity):
    for unit in UNITS[quantity]:
        for spelled in {unit, unit.replace("*", " "), unit.replace("*", "·"), unit.replace("*", "-")}:
            assert parse_quantity(f"2 {spelled}", quantity) > 0
            assert re.search(unit_pattern(quantity), f"2 {spelled}"), spelled
        for other in UNITS:
            assert other == quantity or not re.search(unit_pattern(other), f"2 {unit}")
    for text in ("1_000", "1:30", "010", "0x10", "nan", ".inf", "1,5", "2 furlong", "mm"):
        assert not re.search(unit_pattern(quantity), text)
    assert all(re.search(unit_pattern(quantity), f"2 {unit}") for unit in USUAL[quantity])


def test_patterns_mean_the_same_in_the_editors_language():
    # ECMAScript with the u flag knows no other escapes than these; Python's (?P, \A and \Z it lacks
    for quantity in UNITS:
        escapes = set(re.findall(r"\\(.)", unit_pattern(quantity)))
        assert escapes <= {"s", ".", "^"}


def test_every_field_is_described():
    def check(group, schema):
        assert schema["additionalProperties"] is False
        assert list(schema["properties"]) == [item.name for item in fields(group)]
        for item in fields(group):
            entry = schema["properties"][item.name]
            describe = item.metadata["describe"]
            assert entry["description"].startswith(describe.doc)
            if describe.choices:
                assert describe.choices == tuple(_find(entry, "enum"))
            if isinstance(item.default, (str, int, float)) and not is_dataclass(item.default):
                assert entry["default"] == item.default

    check(Job, SCHEMA)
    for _, shape in walk(Job):
        if shape.group is not None:
            check(shape.group, SCHEMA["$defs"][shape.group.__name__])
    assert tuple(_find(SCHEMA["$defs"]["Require"]["properties"]["checks"], "enum")) == CHECKS


def _find(entry, key):
    if isinstance(entry, dict):
        if key in entry:
            return entry[key]
        entry = list(entry.values())
    for value in entry if isinstance(entry, list) else []:
        found = _find(value, key)
        if found is not None:
            return found
    return None


def test_examples_and_defaults_are_valid_by_themselves():
    for definition in [SCHEMA, *SCHEMA["$defs"].values()]:
        for name, entry in definition.get("properties", {}).items():
            validator = Draft202012Validator({**entry, "$defs": SCHEMA["$defs"]})
            for value in [*entry.get("examples", []), *([entry["default"]] if "default" in entry else [])]:
                assert validator.is_valid(value), (name, value)
