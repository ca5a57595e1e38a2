"""The result of `fitcheck check` as SARIF 2.1.0 (OASIS standard), for code scanning.

A result points at the line of the job file that set the limit: that is the line that people can edit. The STEP file is
a related location. Fingerprints leave measured numbers out, so that an alert survives small changes of the geometry.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections import Counter
from pathlib import Path
from typing import Any
from urllib.parse import quote

from fitcheck import __version__
from fitcheck.checks.finding import Finding
from fitcheck.checks.result import JobResult, Result
from fitcheck.report.as_json import finite
from fitcheck.report.cautions import cautions_for
from fitcheck.report.page import clean
from fitcheck.report.wording import NOTHING_CHECKED, cause_text, measured, where

SCHEMA = "https://json.schemastore.org/sarif-2.1.0.json"

_LEVELS = {"fail": "error", "warn": "warning"}
_KINDS = {"fail": "fail", "warn": "fail", "pass": "pass", "not-checked": "open"}


def relative_uri(path: str, base: str) -> str:
    """The path as a URI relative to `base`, with forward slashes and percent-encoding; absolute on another drive."""
    full = os.path.abspath(os.path.join(base, path))
    try:
        relative = os.path.relpath(full, base)
    except ValueError:
        return Path(full).as_uri()
    return quote(relative.replace(os.sep, "/").encode("utf-8", "surrogateescape"))


def line_of(path: str | None, lines: dict[str, int]) -> int:
    """The line of a job field, else of the nearest group around it that the file gives, else 1."""
    parts = [] if path is None else path.split(".")
    while parts:
        line = lines.get(".".join(parts))
        if line is not None:
            return line
        parts.pop()
    return 1


def check_sarif(result: Result, *, base: str | None = None) -> str:
    """The log as JSON text, ending in a newline.

    Args:
        result: what a run came to.
        base: the folder that URIs are relative to; the current one where None. In CI, the repository's top folder.
    """
    root = os.getcwd() if base is None else base
    rules: list[str] = []
    results = []
    notes = []
    taken: Counter[str] = Counter()
    for job in result.jobs:
        if job.error is not None or not job.findings:
            notes.append(_note(job, root))
        for finding in job.findings:
            if finding.check not in rules:
                rules.append(finding.check)
            results.append(_result(job, finding, rules.index(finding.check), root, taken))
    log = {
        "$schema": SCHEMA,
        "version": "2.1.0",
        "runs": [
            {
                "tool": {
                    "driver": {
                        "name": "fitcheck",
                        "semanticVersion": __version__,
                        # No `name`: one equal to the id is an error to the SARIF SDK's validator (SARIF1001).
                        "rules": [
                            {"id": check, "shortDescription": {"text": check.replace("-", " ")}} for check in rules
                        ],
                    }
                },
                "invocations": [
                    {
                        "executionSuccessful": not notes,
                        "exitCode": result.exit_code,
                        "toolExecutionNotifications": notes,
                    }
                ],
                "columnKind": "unicodeCodePoints",
                "results": results,
                "properties": {"cautions": list(cautions_for(rules))},
            }
        ],
    }
    return json.dumps(finite(log), indent=2, allow_nan=False) + "\n"


def _job_location(job: JobResult, path: str | None, base: str) -> dict[str, Any] | None:
    file = job.loaded.file if job.loaded is not None else job.name
    if file is None or (job.loaded is None and not os.path.isfile(os.path.join(base, file))):
        return None
    line = line_of(path, job.loaded.lines) if job.loaded is not None else job.error_line or 1
    return {
        "physicalLocation": {
            "artifactLocation": {"uri": relative_uri(file, base)},
            "region": {"startLine": line},
        }
    }


def _note(job: JobResult, base: str) -> dict[str, Any]:
    note: dict[str, Any] = {"level": "error", "message": {"text": clean(job.error or NOTHING_CHECKED)}}
    location = _job_location(job, None, base)
    if location is not None:
        note["locations"] = [location]
    return note


def _fingerprint(job: JobResult, finding: Finding, base: str, taken: Counter[str]) -> str:
    file = job.loaded.file if job.loaded is not None else None
    uri = job.name if file is None else relative_uri(file, base)
    identity = "\n".join((finding.check, finding.subject, finding.path or "", uri))
    digest = hashlib.sha256(identity.encode("utf-8", "surrogateescape")).hexdigest()[:32]
    taken[digest] += 1
    return f"{digest}:{taken[digest]}"


def _result(job: JobResult, finding: Finding, rule: int, base: str, taken: Counter[str]) -> dict[str, Any]:
    kind = _KINDS[finding.status]
    level = _LEVELS.get(finding.status, "none")
    if job.strict and finding.status == "warn":
        level = "error"
    place = where(finding.at)
    label = "Supply" if finding.status == "not-checked" else "Remedy"
    parts = [
        f"{finding.subject}: {finding.message}",
        measured(finding),
        cause_text(finding),
        place and f"At: {place}",
        finding.remedy and f"{label}: {finding.remedy}",
    ]
    location = _job_location(job, finding.path, base)
    if location is not None:
        body = finding.at.body if finding.at is not None else None
        name = finding.subject if body is None else f"{finding.subject} / {body}"
        location["logicalLocations"] = [{"fullyQualifiedName": clean(name), "kind": "element"}]
    out: dict[str, Any] = {
        "ruleId": finding.check,
        "ruleIndex": rule,
        "kind": kind,
        "level": level,
        "message": {"text": ". ".join(clean(part).rstrip(".") for part in parts if part) + "."},
        "locations": [] if location is None else [location],
        "partialFingerprints": {"fitcheck/v1": _fingerprint(job, finding, base, taken)},
        "properties": {
            "status": finding.status, "value": finding.value, "limit": finding.limit, "margin": finding.margin,
            "unit": finding.unit, "required": finding.required,
        },
    }  # fmt: skip
    if job.loaded is not None:
        step = {"artifactLocation": {"uri": relative_uri(job.loaded.step_path, base)}}
        out["relatedLocations"] = [{"physicalLocation": step, "message": {"text": "The STEP file that was measured"}}]
    return out
