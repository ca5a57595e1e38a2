"""The process that makes exports: reads one request (JSON) from stdin, writes the file, answers on stdout (JSON).

The kernel prints to file descriptor 1 by itself, so that descriptor is redirected and the answer goes to a copy of it.
"""

from __future__ import annotations

import json
import os
import sys
import traceback
from typing import Any

from fitcheck.errors import FitcheckError
from parametric_models.export.request import Request, request_from


def main() -> None:
    """Answer the one request on stdin."""
    private = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    try:
        answer = export(request_from(json.load(sys.stdin.buffer)))
    except FitcheckError as error:
        answer = {"error": str(error), "exit_code": error.exit_code}
    except Exception as error:
        traceback.print_exc(file=sys.stderr)
        text = str(error).strip() or type(error).__name__
        answer = {"error": f"the file could not be made: {text.splitlines()[0]}", "exit_code": 3}
    private.write(json.dumps(answer).encode())
    private.flush()


def export(request: Request) -> dict[str, Any]:
    """Make the file that a request asks for.

    Returns:
        {"length": mm, "radius": greatest swept radius in mm, "mass": kg or None, "inertia": kg·m² or None, "unit":
        unit of the file's numbers}; mass and inertia are those of the detailed coupling.

    Raises:
        FitcheckError: the coupling cannot be built, or the adapter's file not read.
    """
    from parametric_models.couplings import build
    from parametric_models.couplings.from_job import coupling_of_job, profile_of_job

    whole = None
    if request.asked is None or request.view == "detail":
        if request.asked is None:
            whole = build.coupling(request.family, **_dimensions(request.dimensions))
        else:
            whole = coupling_of_job(request.asked, **request.dimensions)
    profile = whole.profile() if whole is not None else None
    if request.asked is not None:
        profile = profile_of_job(request.asked) if profile is None or request.view == "envelope" else profile
    assert profile is not None
    answer: dict[str, Any] = {
        "length": profile.end - profile.start, "radius": profile.largest()[0], "mass": None, "inertia": None,
        "unit": request.unit,
    }  # fmt: skip
    if request.ending == "dxf":
        from pathlib import Path

        from parametric_models.export.dxf import TOLERANCE, profile_dxf
        from parametric_models.export.request import MM_PER

        shift = request.place.start if request.place is not None else 0.0
        size = MM_PER[request.unit]
        knots = [((s + shift) / size, r / size) for s, r in profile.outline(TOLERANCE)]
        text = profile_dxf(knots, f"{request.name}, swept radius", request.unit)
        Path(request.target).write_text(text, encoding="ascii", newline="\r\n")
        return answer
    from parametric_models.export.solids import export_solids

    return answer | export_solids(request, profile, whole)


def _dimensions(given: dict[str, Any]) -> dict[str, Any]:
    return {**given, "bores": tuple(given["bores"])}
