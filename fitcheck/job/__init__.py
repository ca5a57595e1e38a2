"""What is asked: the typed job, read from a `*.fit.yaml` file.

The names below are loaded on first use: a command that needs no job does not load the YAML reader.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fitcheck.job.load import load_job, loaded, parse_job
    from fitcheck.job.model import (
        CHECKS,
        FAMILIES,
        FASTENINGS,
        METRIC_SCREWS,
        TOOLS,
        Axis,
        Bodies,
        Bolts,
        Coupling,
        Hub,
        Hubs,
        Job,
        Keyseat,
        LoadedJob,
        Machine,
        Place,
        Register,
        Require,
        Screw,
        Shaft,
        ShaftFlat,
    )
    from fitcheck.job.reference import job_reference
    from fitcheck.job.schema import job_schema
    from fitcheck.job.template import job_template
    from fitcheck.job.units import parse_quantity

__all__ = [
    "CHECKS",
    "FAMILIES",
    "FASTENINGS",
    "METRIC_SCREWS",
    "TOOLS",
    "Axis",
    "Bodies",
    "Bolts",
    "Coupling",
    "Hub",
    "Hubs",
    "Job",
    "Keyseat",
    "LoadedJob",
    "Machine",
    "Place",
    "Register",
    "Require",
    "Screw",
    "Shaft",
    "ShaftFlat",
    "job_reference",
    "job_schema",
    "job_template",
    "load_job",
    "loaded",
    "parse_job",
    "parse_quantity",
]

_HOMES = {
    "job_reference": "reference",
    "job_schema": "schema",
    "job_template": "template",
    "load_job": "load",
    "loaded": "load",
    "parse_job": "load",
    "parse_quantity": "units",
}  # all others live in the model


def __getattr__(name: str) -> Any:
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(f"{__name__}.{_HOMES.get(name, 'model')}"), name)
