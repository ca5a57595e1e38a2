"""The result of a run: jobs with their findings, and the exit code."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from fitcheck.checks.finding import RESULT_FORMAT, Finding, Verdict, verdict_of
from fitcheck.job.model import LoadedJob
from fitcheck.measurement.model import Measurement


@dataclass(frozen=True, kw_only=True)
class JobResult:
    """What one job came to.

    Attributes:
        name: the job file as the user named it, or the job's title for a job made in code.
        findings: all findings, in the order of the checks.
        error: the message where the job or its STEP file could not be read; then there are no findings.
        error_code: exit code of that error (2 or 3).
        error_line: line of the job file that the error is about, where there is one.
        error_from_cache: an earlier run found that the STEP file cannot be measured.
        loaded: the job, where it could be read.
        measurement: the measurement, where the file could be measured.
        strict: warnings count as fails.
    """

    name: str
    findings: tuple[Finding, ...] = ()
    error: str | None = None
    error_code: int = 0
    error_line: int | None = None
    error_from_cache: bool = False
    loaded: LoadedJob | None = None
    measurement: Measurement | None = None
    strict: bool = False

    @property
    def verdict(self) -> Verdict:
        """The contract's verdict: pass, fail, incomplete or error."""
        return "error" if self.error is not None else verdict_of(self.findings, strict=self.strict)

    @property
    def exit_code(self) -> int:
        """The contract's exit code of this job alone."""
        if self.error is not None:
            return self.error_code
        return {"pass": 0, "fail": 1, "incomplete": 3, "error": 3}[self.verdict]

    def to_dict(self) -> dict[str, Any]:
        """One entry of the result's `jobs`."""
        return {
            "job": self.name,
            "verdict": self.verdict,
            "findings": [finding.to_dict() for finding in self.findings],
            "error": self.error,
            "assumed": list(self.loaded.defaults) if self.loaded is not None else [],
            "warnings": list(self.measurement.warnings) if self.measurement is not None else [],
            "from_cache": self.measurement.from_cache
            if self.measurement is not None
            else self.error_from_cache or None,
        }


@dataclass(frozen=True, kw_only=True)
class Result:
    """What a run over several jobs came to."""

    jobs: tuple[JobResult, ...]

    @property
    def exit_code(self) -> int:
        """2 before 3 before 1 before 0; a run over no jobs is 3."""
        codes = {job.exit_code for job in self.jobs}
        return next((code for code in (2, 3, 1, 0) if code in codes), 3)

    def to_dict(self) -> dict[str, Any]:
        """The object that `fitcheck check --format json` prints."""
        return {"format": RESULT_FORMAT, "jobs": [job.to_dict() for job in self.jobs]}
