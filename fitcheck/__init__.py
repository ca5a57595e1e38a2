"""Checks whether a shaft coupling fits, holds and works in a motor-to-actuator adapter.

The names below are loaded on first use, so that importing fitcheck stays light.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

if TYPE_CHECKING:
    from fitcheck.api import check, check_many, job_schema, load_job, measure, starting_job
    from fitcheck.checks.finding import Finding
    from fitcheck.checks.result import JobResult, Result
    from fitcheck.errors import FitcheckError, JobError, MeasureError, StepFileError, TableError, UsageError
    from fitcheck.job.model import Job, LoadedJob
    from fitcheck.measurement.model import Measurement

_HOMES = {
    "check": "fitcheck.api",
    "check_many": "fitcheck.api",
    "job_schema": "fitcheck.api",
    "load_job": "fitcheck.api",
    "measure": "fitcheck.api",
    "starting_job": "fitcheck.api",
    "Finding": "fitcheck.checks.finding",
    "JobResult": "fitcheck.checks.result",
    "Result": "fitcheck.checks.result",
    "FitcheckError": "fitcheck.errors",
    "JobError": "fitcheck.errors",
    "MeasureError": "fitcheck.errors",
    "StepFileError": "fitcheck.errors",
    "TableError": "fitcheck.errors",
    "UsageError": "fitcheck.errors",
    "Job": "fitcheck.job.model",
    "LoadedJob": "fitcheck.job.model",
    "Measurement": "fitcheck.measurement.model",
}

__all__ = [
    "Finding",
    "FitcheckError",
    "Job",
    "JobError",
    "JobResult",
    "LoadedJob",
    "MeasureError",
    "Measurement",
    "Result",
    "StepFileError",
    "TableError",
    "UsageError",
    "check",
    "check_many",
    "job_schema",
    "load_job",
    "measure",
    "starting_job",
]


def __getattr__(name: str) -> Any:
    home = _HOMES.get(name)
    if home is None:
        msg = f"module 'fitcheck' has no attribute {name!r}"
        raise AttributeError(msg)
    from importlib import import_module

    value = getattr(import_module(home), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
