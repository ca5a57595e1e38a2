"""A STEP file measured in the kernel's workers, within their limits; this process loads neither kernel nor geometry."""

from __future__ import annotations

import json
import os
from dataclasses import asdict, replace
from typing import TYPE_CHECKING, Any

from fitcheck.errors import FaultError, FitcheckError, MeasureError, StepFileError
from fitcheck.measurement.store import from_bytes

if TYPE_CHECKING:
    from fitcheck.kernel.client import Kernel
    from fitcheck.measurement.model import Measurement
    from fitcheck.measurement.options import MeasureOptions


def measure_apart(path: str, options: MeasureOptions, kernel: Kernel) -> Measurement:
    """Measure a STEP file; as `fitcheck.measurement.measure.measure_file`, in other processes.

    Args:
        path: the file.
        options: what to measure and what is known.
        kernel: the workers.

    Raises:
        StepFileError: the file cannot be read or measured, was changed meanwhile, crashed a worker or broke a limit.
        FaultError: fitcheck itself failed.
    """
    request = {"do": "measure", "path": os.path.abspath(path), "options": asdict(options)}
    answer, rest = kernel.call(path, "measuring", [json.dumps(request).encode()])
    if not rest:
        raise error_of(answer, path)
    return replace(from_bytes(rest[0]), file=path)


def error_of(answer: dict[str, Any], path: str) -> Exception:
    """The error that a helper tells of, about a file."""
    words = str(answer["words"])
    if answer["kind"] == "fault":
        fault = FaultError(words)
        fault.add_note(str(answer["trace"]))
        return fault
    if answer["kind"] == "other":
        return FitcheckError(words)
    error = MeasureError(words, path) if answer["kind"] == "measure" else StepFileError(words, path)
    error.lasting = bool(answer["lasting"])
    return error
