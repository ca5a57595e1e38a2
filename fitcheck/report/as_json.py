"""Results and measurements as JSON, by the contract. ASCII only, so that no terminal or pipe can spoil it."""

from __future__ import annotations

import json
from math import isfinite
from typing import Any

from fitcheck.checks.result import Result
from fitcheck.measurement.model import Measurement
from fitcheck.report.cautions import cautions_for


def finite(value: Any) -> Any:
    """The same data with `null` for infinite and undefined numbers, which JSON does not have."""
    if isinstance(value, float):
        return value if isfinite(value) else None
    if isinstance(value, dict):
        return {key: finite(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [finite(item) for item in value]
    return value


def _text(value: dict[str, Any]) -> str:
    return json.dumps(finite(value), indent=2, allow_nan=False) + "\n"


def check_json(result: Result) -> str:
    """One object of format `fitcheck.result/1` with the report's cautions, ending in a newline."""
    held = [finding.check for job in result.jobs for finding in job.findings]
    return _text({**result.to_dict(), "cautions": list(cautions_for(held))})


def measure_json(measurement: Measurement) -> str:
    """One object of format `fitcheck.measurement/1`, ending in a newline."""
    return _text(measurement.to_dict())
