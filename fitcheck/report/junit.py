"""The result of `fitcheck check` as JUnit XML: a suite a job, a test case a finding, passes included.

JUnit XML has no official schema; this keeps to the subset that CI services share. A failing finding is a `failure`,
a required answer that could not be had is an `error`, an optional one is `skipped`.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections import Counter

from fitcheck.checks.finding import Finding
from fitcheck.checks.result import JobResult, Result
from fitcheck.report.cautions import cautions_for
from fitcheck.report.page import clean
from fitcheck.report.wording import NOTHING_CHECKED, cause_text, measured, where

# XML 1.0 allows no other characters below U+0020, no surrogates and not the last two of the plane.
_FORBIDDEN = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def _xml(text: str) -> str:
    return _FORBIDDEN.sub("?", clean(text))


def check_junit(result: Result) -> str:
    """The XML document, ending in a newline."""
    root = ET.Element("testsuites", name="fitcheck")
    totals: Counter[str] = Counter()
    held = [finding.check for job in result.jobs for finding in job.findings]
    for number, job in enumerate(result.jobs):
        suite, counts = _suite(job)
        if number == 0:
            ET.SubElement(suite, "system-out").text = _xml(" ".join(cautions_for(held)))
        root.append(suite)
        totals += counts
    _count(root, totals)
    ET.indent(root)
    return '<?xml version="1.0" encoding="utf-8"?>\n' + ET.tostring(root, encoding="unicode") + "\n"


def _count(element: ET.Element, counts: Counter[str]) -> None:
    for name, tag in (("tests", "testcase"), ("failures", "failure"), ("errors", "error"), ("skipped", "skipped")):
        element.set(name, str(counts[tag]))


def _suite(job: JobResult) -> tuple[ET.Element, Counter[str]]:
    name = _xml(job.name)
    suite = ET.Element("testsuite", name=name)
    counts: Counter[str] = Counter()
    taken: set[str] = set()
    # A dot ends the suite's part of a class name for most readers, so the job's own dots and slashes go.
    classname = "fitcheck." + (re.sub(r"[./\\]+", "_", name.removesuffix(".fit.yaml")).strip("_") or "job")

    def case(title: str) -> ET.Element:
        unique, n = title, 1
        while unique in taken:
            n += 1
            unique = f"{title} ({n})"
        taken.add(unique)
        counts["testcase"] += 1
        element = ET.SubElement(suite, "testcase", classname=classname, name=unique)
        if job.loaded is not None and job.loaded.file is not None:
            element.set("file", _xml(job.loaded.file))
        return element

    def outcome(parent: ET.Element, tag: str, message: str, text: str = "") -> None:
        counts[tag] += 1
        element = ET.SubElement(parent, tag, message=message)
        if tag != "skipped":
            element.set("type", tag)
        element.text = text or message

    if job.error is not None:
        outcome(case("job can be checked"), "error", _xml(job.error))
    elif not job.findings:
        outcome(case("job can be checked"), "error", NOTHING_CHECKED)
    for finding in job.findings:
        element = case(_xml(f"{finding.check}: {finding.subject}"))
        tag = _tag(finding, strict=job.strict)
        if tag is None:
            ET.SubElement(element, "system-out").text = _detail(finding)
        else:
            outcome(element, tag, _xml(finding.message), _detail(finding))
    _count(suite, counts)
    return suite, counts


def _tag(finding: Finding, *, strict: bool) -> str | None:
    if finding.status == "fail" or (strict and finding.status == "warn"):
        return "failure"
    if finding.status == "not-checked":
        return "error" if finding.required else "skipped"
    return None


def _detail(finding: Finding) -> str:
    remedy = "Supply" if finding.status == "not-checked" else "Remedy"
    lines = [
        f"{finding.status}: {finding.message}",
        measured(finding),
        where(finding.at) and f"At: {where(finding.at)}",
        finding.remedy and f"{remedy}: {finding.remedy}",
        cause_text(finding),
    ]
    return "\n".join(_xml(line) for line in lines if line)
