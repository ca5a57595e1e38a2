"""The result of `fitcheck check` as a page of text: what fails first, with what would make it pass."""

from __future__ import annotations

from collections.abc import Sequence

from fitcheck.checks.finding import Finding
from fitcheck.checks.result import JobResult, Result
from fitcheck.report.cautions import cautions_for
from fitcheck.report.page import Paint, clean, flowing, number, places, table, wrapped
from fitcheck.report.wording import (
    NOTHING_CHECKED,
    STATUS_COLOURS,
    STRICT_NOTE,
    VERDICT_COLOURS,
    coupling_line,
    follower_text,
    followers,
    headline,
    limit_text,
    measured,
    other_ways,
    step_line,
    summary,
    tally,
    tried,
    where,
)

_LABEL = 12


def check_text(result: Result, *, colour: bool = False) -> str:
    """The page, at most 100 columns wide.

    Args:
        result: what a run came to.
        colour: colour the verdict and status words.

    Returns:
        The text, ending in a newline.
    """
    paint = Paint(colour)
    lines: list[str] = []
    for job in result.jobs:
        lines += [*_job(job, paint), ""]
    if any(job.strict for job in result.jobs):
        lines += wrapped(STRICT_NOTE)
    lines += wrapped(summary(result))
    held = (finding.check for job in result.jobs for finding in job.findings)
    lines += ["", *wrapped(" ".join(cautions_for(held)))]
    return "\n".join(lines) + "\n"


def _labelled(label: str, text: str, indent: int = 2) -> list[str]:
    return wrapped(text, indent, f"{label + ':':<{_LABEL}}")


def _job(job: JobResult, paint: Paint) -> list[str]:
    verdict = job.verdict
    word = verdict.upper()
    head = wrapped(headline(job), first=word + "  ")
    head[0] = head[0].replace(word, paint(word, VERDICT_COLOURS[verdict]), 1)
    lines = head
    step = step_line(job)
    if step is not None:
        lines += _labelled("STEP file", step)
    coupling = coupling_line(job)
    if coupling is not None:
        lines += _labelled("Coupling", coupling)
    if job.error is not None:
        return [*lines, *_error(job.error)]
    lines += _labelled("Findings", tally((f.status for f in job.findings), STATUS_COLOURS) or NOTHING_CHECKED)
    lines += _section("What fails", job.findings, "fail", paint)
    lines += _section("Warnings", job.findings, "warn", paint)
    lines += _section("Not checked", job.findings, "not-checked", paint)
    lines += _passes([f for f in job.findings if f.status == "pass"])
    lines += _reached([f for f in job.findings if f.status == "pass" and f.check == "wrench-access"])
    lines += _steps([f for f in job.findings if f.status == "pass" and f.steps])
    if job.loaded is not None and job.loaded.defaults:
        lines += ["", "  Assumed, because the job does not say otherwise"]
        lines += flowing((clean(text) for text in job.loaded.defaults), 4)
    if job.measurement is not None and job.measurement.warnings:
        lines += ["", "  Warnings of the measurement"]
        for text in job.measurement.warnings:
            lines += wrapped(clean(text), 4, "- ")
    return lines


def _error(text: str) -> list[str]:
    """The error; of several problems in a job file, which stand one a line, each begins a line here too."""
    lines: list[str] = []
    for problem in text.splitlines():
        lines += wrapped(clean(problem), 2, f"{'' if lines else 'Error:':<{_LABEL}}")
    return lines


def _section(title: str, findings: Sequence[Finding], status: str, paint: Paint) -> list[str]:
    folded = followers(findings)
    under = [id(finding) for group in folded.values() for finding in group]
    chosen = [finding for finding in findings if finding.status == status and id(finding) not in under]
    if not chosen:
        return []
    lines = ["", f"  {title}"]
    # Causes come first.
    for finding in sorted(chosen, key=lambda one: (one.check, one.subject) not in folded):
        lines += _finding(finding, paint)
        group = folded.pop((finding.check, finding.subject), [])
        if group:
            lines += wrapped(clean("; ".join(map(follower_text, group))), 10, "From the same cause: ")
    return lines


def _finding(finding: Finding, paint: Paint) -> list[str]:
    word = finding.status.upper()
    parts = [f"{finding.check}, {clean(finding.subject)}", measured(finding)]
    lines = wrapped(": ".join(part for part in parts if part), 4, word + "  ", 10)
    lines[0] = lines[0].replace(word, paint(word, STATUS_COLOURS[finding.status]), 1)
    lines += wrapped(clean(finding.message), 10)
    ways = tried(finding)
    if ways:
        lines += wrapped("Tried:", 10)
    for way in ways:
        lines += wrapped(clean(way), 10, "- ")
    place = where(finding.at)
    if place:
        lines += wrapped(place, 10, "At: ")
    if finding.status == "not-checked" and not finding.required:
        lines += wrapped("Not required by the job.", 10)
    if finding.remedy:
        lines += wrapped(clean(finding.remedy), 10, "Supply: " if finding.status == "not-checked" else "Remedy: ")
    return lines


def _passes(findings: Sequence[Finding]) -> list[str]:
    if not findings:
        return []
    head = ("check", "subject", "value", "limit", "margin", "unit", "station")
    rows = []
    for finding in findings:
        decimals = places(finding.margin)
        station = None if finding.at is None else finding.at.station
        rows.append(
            (
                finding.check,
                clean(finding.subject),
                number(finding.value, decimals),
                limit_text(finding),
                number(finding.margin, decimals),
                clean(finding.unit or "-"),
                number(station),
            )
        )
    return ["", "  Passes", *table(head, rows, right=(2, 3, 4, 6), indent=4)]


def _reached(findings: Sequence[Finding]) -> list[str]:
    """What tools do at the screws that pass: their shaft angles, the best one, and what is in the way of the others."""
    if not findings:
        return []
    lines = ["", "  wrench-access: which tool at which shaft angles"]
    for finding in findings:
        lines += wrapped(clean(f"{finding.subject}: {finding.message}"), 4, "- ")
    return lines


def _steps(findings: Sequence[Finding]) -> list[str]:
    """What to do in order, numbered, of the findings that say so."""
    lines: list[str] = []
    for finding in findings:
        lines += ["", f"  {finding.check}: what works, in order"]
        for place, step in enumerate(finding.steps, start=1):
            lines += wrapped(clean(step), 4, f"{place}. ")
        ways = other_ways(finding)
        if ways:
            lines += wrapped("Other orders:", 4)
        for way in ways:
            lines += wrapped(clean(way), 4, "- ")
    return lines
