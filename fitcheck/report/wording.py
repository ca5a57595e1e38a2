"""How a finding is put into words, the same in every format that people read."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import isfinite
from typing import Any

from fitcheck.checks.finding import Finding, Place
from fitcheck.checks.result import JobResult, Result
from fitcheck.checks.wording import screws_text
from fitcheck.report.page import clean, number, places

VERDICT_COLOURS = {"pass": "green", "fail": "red", "incomplete": "yellow", "error": "magenta"}
STATUS_COLOURS = {"pass": "green", "fail": "red", "warn": "yellow", "not-checked": "yellow"}
STATUS_ORDER = ("fail", "warn", "not-checked", "pass")
STRICT_NOTE = "Warnings count as fails (--strict)."
NOTHING_CHECKED = "Nothing was checked: no check had the data that it needs."


def plural(count: int, one: str, many: str | None = None) -> str:
    """The count and its noun."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def at_least(finding: Finding) -> bool | None:
    """Whether the value must reach the limit; False where it must not exceed it, None where that cannot be told."""
    value, limit, margin = finding.value, finding.limit, finding.margin
    if value is None or limit is None or margin is None:
        return None
    above, below = abs(margin - (value - limit)), abs(margin - (limit - value))
    if not isfinite(above) or not isfinite(below) or abs(above - below) <= 1e-9:
        return None
    return above < below


def limit_text(finding: Finding) -> str:
    """The limit with its direction: ">= 0.5", "<= 0.05", or the bare number."""
    sign = {True: ">= ", False: "<= ", None: ""}[at_least(finding)]
    return "-" if finding.limit is None else sign + number(finding.limit, places(finding.margin))


def measured(finding: Finding) -> str:
    """Value, limit and margin in one phrase; empty where nothing was measured."""
    if finding.value is None:
        return ""
    unit = f" {clean(finding.unit)}" if finding.unit else ""
    decimals = places(finding.margin)
    text = f"{number(finding.value, decimals)}{unit}"
    if finding.limit is None:
        return text
    needed = {True: "at least", False: "at most", None: "limit"}[at_least(finding)]
    text += f", {needed} {number(finding.limit, decimals)}{unit}"
    if finding.margin is None:
        return text
    if finding.margin >= 0:
        return f"{text}, margin {number(finding.margin, decimals)}{unit}"
    return f"{text}, missed by {number(-finding.margin, decimals)}{unit}"


def followers(findings: Sequence[Finding]) -> dict[tuple[str, str], list[Finding]]:
    """What follows from each finding that is a cause, by its check and subject; causes that are not there left out."""
    there = {(f.check, f.subject) for f in findings if f.cause is None and f.status != "pass"}
    found: dict[tuple[str, str], list[Finding]] = {}
    for finding in findings:
        if finding.cause in there and finding.status != "pass":
            assert finding.cause is not None
            found.setdefault(finding.cause, []).append(finding)
    return found


def follower_text(finding: Finding) -> str:
    """A finding that follows from another one, in short."""
    value = measured(finding)
    return f"{finding.check}, {finding.subject} ({finding.status}{': ' + value if value else ''})"


def cause_text(finding: Finding) -> str:
    """Which finding this one follows from; empty for none."""
    return "" if finding.cause is None else f"Follows from: {clean(', '.join(finding.cause))}"


def tried(finding: Finding) -> list[str]:
    """The ways of doing it that a finding tried where none works, each with what it lacks."""
    if finding.status == "pass" or len(finding.orders) < 2:
        return []
    return [_way(order) for order in finding.orders]


def other_ways(finding: Finding) -> list[str]:
    """The ways of doing it beside the one that a finding tells step by step, with what each needs or lacks."""
    return [_way(order) for order in finding.orders[1:]] if finding.status == "pass" else []


def _way(order: dict[str, Any]) -> str:
    """One order of assembly as a sentence."""
    if not order["works"]:
        return f"{order['name']}: {', '.join(order['missing'])}"
    room = "nothing stands about it" if order["clearance"] is None else f"{number(order['clearance'])} mm clearance"
    text = f"{order['name']}: works, {room}"
    for key, when in (("tightened_before", "before the second machine is bolted on"), ("tightened_after", "after it")):
        if order[key]:
            text += f"; tightened {when}: {screws_text(order[key])}"
    return text


def where(at: Place | None) -> str:
    """Station, body and point in one phrase; empty where no place is known."""
    if at is None:
        return ""
    parts = []
    if at.station is not None:
        parts.append(f"station {number(at.station)}")
    if at.body:
        parts.append(f"body {clean(at.body)}")
    if at.point is not None:
        parts.append("point (" + ", ".join(number(v) for v in at.point) + ")")
    return ", ".join(parts)


def tally(words: Iterable[str], order: Iterable[str]) -> str:
    """How many there are of each word: "1 pass, 2 fail"; words that do not occur are left out."""
    found = list(words)
    return ", ".join(f"{found.count(word)} {word}" for word in order if word in found)


def summary(result: Result) -> str:
    """One line over all jobs: "3 jobs: 1 pass, 1 fail, 1 incomplete"."""
    jobs = result.jobs
    counted = tally((job.verdict for job in jobs), ("pass", "fail", "incomplete", "error"))
    return f"{plural(len(jobs), 'job')}: {counted or 'nothing to check'}"


def headline(job: JobResult) -> str:
    """The job's name and title."""
    title = job.loaded.job.title if job.loaded is not None else None
    name = clean(job.name)
    return f"{name}: {clean(title)}" if title and clean(title) != name else name


def step_line(job: JobResult) -> str | None:
    """The STEP file with its unit and bodies, where they are known."""
    if job.measurement is not None:
        found = job.measurement
        bodies = plural(len(found.bodies), "body", "bodies")
        source = ", measurement from the cache" if found.from_cache else ""
        return f"{clean(found.file)} (file unit {clean(found.file_unit)}, {bodies}{source})"
    if job.loaded is not None:
        return clean(job.loaded.step_path)
    return None


def coupling_line(job: JobResult) -> str | None:
    """The coupling in short: name, family, outside diameter, length, bores."""
    if job.loaded is None:
        return None
    coupling = job.loaded.job.coupling
    name = f"{clean(coupling.name)}, " if coupling.name else ""
    bores = f"{number(coupling.hubs.motor.bore)} mm (motor) and {number(coupling.hubs.actuator.bore)} mm (actuator)"
    return (
        f"{name}{coupling.family}, outside diameter {number(coupling.outside_diameter)} mm, "
        f"length {number(coupling.length)} mm, bores {bores}"
    )
