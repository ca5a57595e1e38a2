from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ET
from collections import Counter
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from fitcheck.checks.finding import Finding, not_checked
from fitcheck.checks.result import JobResult, Result
from fitcheck.report.as_json import check_json, measure_json
from fitcheck.report.html import check_html
from fitcheck.report.junit import check_junit
from fitcheck.report.sarif import check_sarif, line_of, relative_uri
from fitcheck.report.section import section_svg

# The keys are those of the contract in the design document; more may be added, none renamed.
FINDING_KEYS = {"check", "subject", "status", "value", "limit", "unit", "margin", "at", "message", "remedy"}
MEASUREMENT_KEYS = {
    "format", "file", "sha256", "file_unit", "bodies", "drive_axis", "ends", "coaxiality", "free_radius", "cylinders",
    "complete", "warnings",
}  # fmt: skip


def test_result_json_has_the_contract_s_shape(samples):
    got = json.loads(check_json(samples.result))
    assert got["format"] == "fitcheck.result/1"
    assert [job["verdict"] for job in got["jobs"]] == ["incomplete", "fail", "pass", "error"]
    for job in got["jobs"]:
        assert {"job", "verdict", "findings", "error"} <= set(job)
    for finding in got["jobs"][0]["findings"]:
        assert set(finding) >= FINDING_KEYS
    assert set(got["jobs"][0]["findings"][0]["at"]) == {"station", "point", "body"}
    assert got["jobs"][2]["error"] is None
    assert got["jobs"][3]["error"].endswith("'bor' is no key")
    assert got["jobs"][3]["findings"] == []


@pytest.mark.parametrize(("check", "work"), [("wind-up", True), ("shaft-gap", False)])
def test_every_format_carries_the_cautions_once(check, work):
    found = not_checked(check, "coupling", "nothing is known", "give it")
    result = Result(jobs=(JobResult(name="a", findings=(found,)), JobResult(name="b", findings=(found,))))
    brake = "A vertical axis needs a brake or a counterbalance"
    for text in (check_json(result), check_junit(result), check_sarif(result)):
        assert text.count("Rotating parts: guard them.") == 1
        assert text.count("the numbers that were given") == 1
        assert text.count(brake) == int(work)
    assert brake in json.loads(check_json(result))["cautions"][2] or not work
    assert len(json.loads(check_sarif(result))["runs"][0]["properties"]["cautions"]) == (6 if work else 4)


def test_measurement_json_has_the_contract_s_shape(samples):
    got = json.loads(measure_json(samples.measurement))
    assert got["format"] == "fitcheck.measurement/1"
    assert set(got) >= MEASUREMENT_KEYS
    assert set(got["bodies"][0]) >= {"name", "role", "volume"}
    assert set(got["drive_axis"]) >= {"origin", "direction"}
    end = got["ends"][0]
    assert set(end) >= {"role", "seat", "pilot", "bolts", "shaft"}
    assert set(end["pilot"]) >= {"diameter", "depth"}
    assert set(end["bolts"][0]) >= {"layout", "size", "count", "hole", "threaded"}
    assert set(end["shaft"]) >= {"diameter", "length", "end", "flat", "keyseat"}
    assert set(end["shaft"]["flat"]) >= {"length", "height"}
    assert set(got["coaxiality"]) >= {"offset", "tilt"}
    assert set(got["free_radius"]) >= {"least", "station", "profile"}
    assert set(got["cylinders"][0]) >= {"kind", "diameter", "axis", "from", "to", "turn", "body"}
    assert set(got["cylinders"][0]["axis"]) == {"origin", "direction"}
    assert got["ends"][1]["pilot"] is None


def test_json_is_ascii_and_has_no_infinity(samples):
    endless = Finding(check="insertion", subject="Ø\udce9", status="pass", value=float("inf"), message="m")
    text = check_json(Result(jobs=(JobResult(name="a", findings=(endless,)),)))
    assert text.isascii()
    assert json.loads(text, parse_constant=pytest.fail)["jobs"][0]["findings"][0]["value"] is None


def test_junit_counts_add_up_and_every_finding_is_a_case(samples):
    root = ET.fromstring(check_junit(samples.result))
    suites = root.findall("testsuite")
    assert len(suites) == 4
    assert [len(suite.findall("testcase")) for suite in suites] == [6, 3, 2, 1]
    for element in (root, *suites):
        for name, tag in (("tests", "testcase"), ("failures", "failure"), ("errors", "error"), ("skipped", "skipped")):
            assert element.get(name) == str(len(element.findall(f".//{tag}"))), (element.get("name"), name)
    # 1 fail twice; the required answer that is missing and the broken job; the optional answer that is missing.
    assert (root.get("tests"), root.get("failures"), root.get("errors"), root.get("skipped")) == ("12", "2", "2", "1")


def test_junit_tells_measured_values_in_the_text(samples):
    failure = ET.fromstring(check_junit(samples.result)).find(".//failure")
    assert failure is not None
    assert "0.31 mm, at least 0.5 mm, missed by 0.19 mm" in (failure.text or "")
    assert "Remedy: widen the chamber by 0.2 mm" in (failure.text or "")
    assert failure.get("message") == "a screw head comes too near to the wall"


def test_junit_names_are_unique(samples):
    twice = replace(samples.result.jobs[2], findings=samples.result.jobs[2].findings * 3)
    root = ET.fromstring(check_junit(Result(jobs=(twice, samples.result.jobs[1]))))
    names = Counter((case.get("classname"), case.get("name")) for case in root.iter("testcase"))
    assert max(names.values()) == 1
    assert sum(names.values()) == 9


def test_junit_strict_counts_warnings_as_failures(samples):
    job = replace(samples.result.jobs[0], strict=True)
    assert ET.fromstring(check_junit(Result(jobs=(job,)))).get("failures") == "2"


def test_junit_of_a_job_without_findings_is_an_error():
    root = ET.fromstring(check_junit(Result(jobs=(JobResult(name="a"),))))
    assert (root.get("tests"), root.get("errors")) == ("1", "1")


def test_sarif_has_what_the_standard_requires(samples):
    # SARIF 2.1.0 (OASIS), sections 3.13, 3.14, 3.19, 3.20, 3.27, 3.30: the required properties and the rule that
    # `level` is "none" wherever `kind` is not "fail" (3.27.10).
    log = json.loads(check_sarif(samples.result, base="/repo"))
    assert log["version"] == "2.1.0"
    (run,) = log["runs"]
    driver = run["tool"]["driver"]
    assert driver["name"] == "fitcheck"
    assert len({rule["id"] for rule in driver["rules"]}) == len(driver["rules"])
    (invocation,) = run["invocations"]
    assert invocation["executionSuccessful"] is False
    assert invocation["exitCode"] == 2
    assert len(run["results"]) == 11
    for result in run["results"]:
        assert result["message"]["text"]
        assert driver["rules"][result["ruleIndex"]]["id"] == result["ruleId"]
        assert result["kind"] in {"fail", "pass", "open"}
        assert (result["level"] == "none") == (result["kind"] != "fail")
        for location in result["locations"]:
            assert location["physicalLocation"]["region"]["startLine"] >= 1


def test_sarif_points_at_the_line_that_set_the_limit(samples):
    run = json.loads(check_sarif(samples.result, base="/repo"))["runs"][0]
    first = run["results"][0]
    place = first["locations"][0]["physicalLocation"]
    assert place == {"artifactLocation": {"uri": "jobs/z%20drive.fit.yaml"}, "region": {"startLine": 21}}
    assert first["relatedLocations"][0]["physicalLocation"]["artifactLocation"]["uri"] == "jobs/z-adapter.step"
    aligned = next(result for result in run["results"] if result["ruleId"] == "pilot-alignment")
    # The job gives the group `require` in line 20, not the field itself.
    assert aligned["locations"][0]["physicalLocation"]["region"]["startLine"] == 20


def test_sarif_message_tells_value_place_and_remedy(samples):
    text = json.loads(check_sarif(samples.result))["runs"][0]["results"][0]["message"]["text"]
    assert text.startswith("coupling: a screw head comes too near to the wall. 0.31 mm, at least 0.5 mm, missed by")
    assert " At: station 12.3, body " in text
    assert text.endswith(" Remedy: widen the chamber by 0.2 mm.")


def test_sarif_not_checked_is_open(samples):
    results = json.loads(check_sarif(samples.result))["runs"][0]["results"]
    assert [r["kind"] for r in results if r["ruleId"] == "wrench-access"] == ["open"]


def test_sarif_fingerprints_survive_other_numbers_and_tell_findings_apart(samples):
    job = samples.result.jobs[0]
    moved = replace(job, findings=tuple(replace(f, value=0.123, margin=-0.377) for f in job.findings))

    def prints(job):
        results = json.loads(check_sarif(Result(jobs=(job,)), base="/repo"))["runs"][0]["results"]
        return [r["partialFingerprints"]["fitcheck/v1"] for r in results]

    assert prints(job) == prints(moved)
    assert len(set(prints(job))) == len(job.findings)
    assert len(set(prints(replace(job, findings=job.findings[:1] * 2)))) == 2


def test_sarif_error_is_a_notification_with_its_line(samples, tmp_path):
    (tmp_path / "jobs").mkdir()
    (tmp_path / "jobs/d.fit.yaml").write_text("step: a\n\nbor: 1\n")
    run = json.loads(check_sarif(samples.result, base=str(tmp_path)))["runs"][0]
    (note,) = run["invocations"][0]["toolExecutionNotifications"]
    assert note["message"]["text"].endswith("'bor' is no key")
    assert note["locations"][0]["physicalLocation"]["region"]["startLine"] == 3


def test_sarif_of_passes_is_successful(samples):
    run = json.loads(check_sarif(Result(jobs=samples.result.jobs[2:3])))["runs"][0]
    assert run["invocations"] == [{"executionSuccessful": True, "exitCode": 0, "toolExecutionNotifications": []}]


@pytest.mark.parametrize(
    ("path", "line"),
    [("require.radial_clearance", 21), ("require.orbit", 20), ("coupling.hubs.motor.bore", 4), ("motor", 1), (None, 1)],
)
def test_line_of_a_field_or_of_the_nearest_group(samples, path, line):
    assert line_of(path, samples.loaded.lines) == line


def test_uris_are_relative_and_percent_encoded():
    assert relative_uri("/repo/a b/ü.step", "/repo") == "a%20b/%C3%BC.step"
    assert relative_uri("sub/x.step", "/repo") == "sub/x.step"
    assert relative_uri("/other/x.step", "/repo/in") == "../../other/x.step"


class _Tags(HTMLParser):
    VOID = frozenset({"meta", "br", "line"})

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: Counter[str] = Counter()
        self.links: list[str] = []

    def handle_starttag(self, tag, attrs):
        self.seen[tag] += 1
        self.links += [value or "" for name, value in attrs if name in ("src", "href")]
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.seen[tag] += 1

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


def test_html_is_well_formed_self_contained_and_without_scripts(samples):
    text = check_html(samples.result)
    tags = _Tags()
    tags.feed(text)
    assert tags.open == []
    assert tags.links == []
    assert tags.seen["script"] == 0
    assert tags.seen["section"] == 4
    # One <b> would mean that a body's name got through as mark-up.
    assert tags.seen["b"] == 0
    assert "url(" not in text
    assert "@import" not in text


def test_html_tells_verdicts_remedies_and_cautions(samples):
    text = check_html(samples.result)
    assert "4 jobs: 1 pass, 1 fail, 1 incomplete, 1 error" in text
    assert "<strong>Remedy:</strong> widen the chamber by 0.2 mm" in text
    assert text.index("What fails") < text.index("Passes")
    assert text.count("Rotating parts: guard them.") == 1
    assert not re.search(r"\bsafe", text, re.IGNORECASE)
    assert text.count("<svg") == 2


def test_section_draws_the_coupling_where_it_sits(samples):
    from fitcheck.checks.drive import drive_of

    svg = section_svg(samples.measurement, drive_of(samples.loaded, samples.measurement))
    assert svg is not None
    root = ET.fromstring(svg)
    kinds = Counter(element.get("class") for element in root)
    assert kinds["material"] == 2
    assert kinds["shaft"] == 2
    # Station 0 to 52 over 788 units of width would be 15.15 a mm, but the height limits: 248/(2*1.2*21) = 4.92 a mm.
    scale = 248 / (2 * 1.2 * 21)
    couplings = [element for element in root if element.get("class") == "coupling"]
    xs = [float(p.split(",")[0]) for e in couplings for p in (e.get("points") or "").split()]
    ys = [float(p.split(",")[1]) for e in couplings for p in (e.get("points") or "").split()]
    assert min(xs) == pytest.approx(36 + 6 * scale, abs=0.011)
    assert max(xs) == pytest.approx(36 + 48 * scale, abs=0.011)
    assert max(ys) - min(ys) == pytest.approx(30 * scale, abs=0.021)


def test_section_needs_a_free_radius(samples):
    assert section_svg(replace(samples.measurement, free_radius=None)) is None
