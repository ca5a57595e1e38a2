"""The result of `fitcheck check` as one self-contained page: no scripts, nothing fetched, made to be printed."""

from __future__ import annotations

from html import escape

from fitcheck.checks.finding import Finding
from fitcheck.checks.result import JobResult, Result
from fitcheck.report.cautions import cautions_for
from fitcheck.report.page import clean, number, places
from fitcheck.report.section import section_svg
from fitcheck.report.wording import (
    NOTHING_CHECKED,
    STATUS_ORDER,
    STRICT_NOTE,
    cause_text,
    coupling_line,
    headline,
    limit_text,
    other_ways,
    step_line,
    summary,
    tried,
    where,
)

_STYLE = """
body{font:15px/1.45 system-ui,sans-serif;max-width:62rem;margin:2rem auto;padding:0 1rem;color:#1b1f23;background:#fff}
h1{font-size:1.5rem}h2{font-size:1.2rem;border-top:1px solid #bbb;padding-top:1rem;overflow-wrap:anywhere}
table{border-collapse:collapse;width:100%;margin:.6rem 0}th,td{text-align:left;vertical-align:top;padding:.25rem .5rem}
th{border-bottom:2px solid #888;font-weight:600}td{border-bottom:1px solid #ddd;overflow-wrap:break-word}
td:last-child{width:55%;overflow-wrap:anywhere}
td.n,th.n{text-align:right;white-space:nowrap;font-variant-numeric:tabular-nums}
.word{font-weight:700;white-space:nowrap}.pass{color:#116329}.fail,.error{color:#a40e26}
.warn,.not-checked,.incomplete{color:#7a4a00}
dl{display:grid;grid-template-columns:max-content 1fr;gap:.1rem 1rem}dt{color:#555}dd{margin:0;overflow-wrap:anywhere}
svg{max-width:100%;height:22rem;border:1px solid #ddd}svg text{font-size:11px;fill:#444}
.material{fill:#c9ced6;stroke:#5b6470}.shaft{fill:#e9d8a6;stroke:#7f6b2a}.coupling{fill:#9bc4e2aa;stroke:#1d5b8c}
.axis{stroke:#666;stroke-dasharray:12 3 3 3}.seat{stroke:#444;stroke-dasharray:4 3}
.caution{border-left:4px solid #7a4a00;padding-left:1rem;margin-top:2rem}
@media print{body{margin:0;max-width:none;font-size:11px}section{break-inside:auto}tr,svg{break-inside:avoid}}
"""

_TITLES = {"fail": "What fails", "warn": "Warnings", "not-checked": "Not checked", "pass": "Passes"}


def _e(text: str) -> str:
    return escape(clean(text))


def check_html(result: Result) -> str:
    """The page, ending in a newline; every text from a file is escaped."""
    parts = [
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">',
        # Whatever a name may hold: this page loads and runs nothing.
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">",
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>fitcheck: {_e(summary(result))}</title>\n<style>{_STYLE}</style>\n</head>\n<body>",
        f"<h1>{_e(summary(result))}</h1>",
    ]
    if any(job.strict for job in result.jobs):
        parts.append(f"<p>{_e(STRICT_NOTE)}</p>")
    parts += [_job(job) for job in result.jobs]
    held = (finding.check for job in result.jobs for finding in job.findings)
    cautions = "".join(f"<li>{_e(text)}</li>" for text in cautions_for(held))
    parts.append(f'<div class="caution"><h2>Caution</h2><ul>{cautions}</ul></div>\n</body>\n</html>')
    return "\n".join(parts) + "\n"


def _word(word: str) -> str:
    return f'<span class="word {word}">{word.upper()}</span>'


def _job(job: JobResult) -> str:
    parts = [f"<section>\n<h2>{_word(job.verdict)} {_e(headline(job))}</h2>"]
    facts = [("STEP file", step_line(job)), ("Coupling", coupling_line(job)), ("Error", job.error)]
    listed = "".join(f"<dt>{label}</dt><dd>{_lines(text)}</dd>" for label, text in facts if text is not None)
    if listed:
        parts.append(f"<dl>{listed}</dl>")
    if job.error is None and not job.findings:
        parts.append(f"<p>{_e(NOTHING_CHECKED)}</p>")
    for status in STATUS_ORDER:
        chosen = [finding for finding in job.findings if finding.status == status]
        if chosen:
            parts.append(f"<h3>{_TITLES[status]}</h3>\n{_table(chosen)}")
    parts += [_steps(finding) for finding in job.findings if finding.status == "pass" and finding.steps]
    drawing = _drawing(job)
    if drawing is not None:
        parts.append(f"<h3>Section</h3>\n{drawing}")
    if job.loaded is not None and job.loaded.defaults:
        parts.append(_list("Assumed, because the job does not say otherwise", job.loaded.defaults))
    if job.measurement is not None and job.measurement.warnings:
        parts.append(_list("Warnings of the measurement", job.measurement.warnings))
    return "\n".join((*parts, "</section>"))


def _lines(text: str) -> str:
    """Several problems of a job file, which stand one a line, in as many lines."""
    return "<br>".join(_e(line) for line in text.splitlines())


def _steps(finding: Finding) -> str:
    steps = "".join(f"<li>{_e(step)}</li>" for step in finding.steps)
    others = "".join(f"<li>{_e(way)}</li>" for way in other_ways(finding))
    more = f"\n<p>Other orders:</p>\n<ul>{others}</ul>" if others else ""
    return f"<h3>{_e(finding.check)}: what works, in order</h3>\n<ol>{steps}</ol>{more}"


def _list(title: str, texts: tuple[str, ...]) -> str:
    return f"<h3>{title}</h3>\n<ul>" + "".join(f"<li>{_e(text)}</li>" for text in texts) + "</ul>"


def _table(findings: list[Finding]) -> str:
    head = (
        "<tr><th scope=col>Status</th><th scope=col>Check</th><th scope=col>Subject</th>"
        "<th scope=col class=n>Value</th><th scope=col class=n>Limit</th><th scope=col class=n>Margin</th>"
        "<th scope=col>Unit</th><th scope=col>What and where</th></tr>"
    )
    return f"<table>\n<thead>{head}</thead>\n<tbody>\n" + "\n".join(map(_row, findings)) + "\n</tbody>\n</table>"


def _row(finding: Finding) -> str:
    decimals = places(finding.margin)
    text = _e(finding.message)
    ways = tried(finding)
    if ways:
        text += "<br>Tried:<ul>" + "".join(f"<li>{_e(way)}</li>" for way in ways) + "</ul>"
    place = where(finding.at)
    if place:
        text += f"<br>At: {_e(place)}"
    if finding.cause:
        text += f"<br>{_e(cause_text(finding))}"
    if finding.remedy:
        label = "Supply" if finding.status == "not-checked" else "Remedy"
        text += f"<br><strong>{label}:</strong> {_e(finding.remedy)}"
    cells = (
        f"<td>{_word(finding.status)}</td><td>{_e(finding.check)}</td><td>{_e(finding.subject)}</td>"
        f'<td class="n">{number(finding.value, decimals)}</td><td class="n">{_e(limit_text(finding))}</td>'
        f'<td class="n">{number(finding.margin, decimals)}</td><td>{_e(finding.unit or "-")}</td><td>{text}</td>'
    )
    return f"<tr>{cells}</tr>"


def _drawing(job: JobResult) -> str | None:
    if job.measurement is None:
        return None
    drive = None
    if job.loaded is not None and job.measurement.end("motor") is not None:
        from fitcheck.checks.drive import drive_of

        drive = drive_of(job.loaded, job.measurement, remedies=False)
    return section_svg(job.measurement, drive)
