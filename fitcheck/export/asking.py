"""From a checked job to the request for its coupling as a file: where it sits, and what is shown with it."""

from __future__ import annotations

import os
import time
from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any

from fitcheck.errors import FitcheckError, UsageError

if TYPE_CHECKING:
    from fitcheck.checks.drive import Drive
    from fitcheck.checks.result import JobResult

KNOWN_UNITS = ("mm", "cm", "m", "inch")


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """What the user wants to see.

    Attributes:
        path: the file, for its name in headers.
        ending: step, stl, gltf, glb or dxf.
        detail: all bodies of the coupling instead of its envelope.
        with_adapter: the bodies of the job's STEP file too.
        tool_corridors: the room of the tools that the wrench check asks for too.
        angle: shaft angle that the coupling is turned to, degrees; None to choose.
        dimensions: dimensions of the detailed coupling that the job does not give.
    """

    path: str
    ending: str
    detail: bool = False
    with_adapter: bool = False
    tool_corridors: bool = False
    angle: float | None = None
    dimensions: dict[str, Any] = field(default_factory=dict)

    def refuse_contradictions(self) -> None:
        """Refuses what cannot go together; raises `UsageError`."""
        if self.ending == "dxf":
            for name, given in (
                ("--detail", self.detail),
                ("--with-adapter", self.with_adapter),
                ("--tool-corridors", self.tool_corridors),
            ):
                if given:
                    raise UsageError(f"{self.path}: a DXF file shows the profile alone; leave out {name}")


def request_for_job(result: JobResult, wanted: Wanted) -> dict[str, Any]:
    """The request for a job's coupling in the adapter file's coordinates.

    Args:
        result: of the job's check, for the job and its measurement.
        wanted: what to show.

    Raises:
        FitcheckError: the job could not be checked, or the coupling's place is not known.
    """
    if result.loaded is None or result.measurement is None or result.error is not None:
        raise _UndoneError(result)
    from fitcheck.checks.drive import drive_of

    loaded, measurement = result.loaded, result.measurement
    drive = drive_of(loaded, measurement, remedies=False)
    axis = measurement.drive_axis
    if axis is None:
        why = "; ".join(measurement.warnings) or "no drive axis was found"
        raise FitcheckError(f"{result.name}: the coupling cannot be put in its place: {why}")
    if drive.placed is None:
        assert drive.unplaced is not None
        raise FitcheckError(f"{result.name}: {drive.unplaced.reason}; {drive.unplaced.supply}")
    from fitcheck.export.corridors import shaft_angle, tools_of

    angle = wanted.angle if wanted.angle is not None else shaft_angle(drive)
    coupling = drive.job.coupling
    name = coupling.name or "coupling"
    plain = _request(wanted, name if "coupling" in name.casefold() else f"coupling {name}")
    return plain | {
        "unit": _unit(drive),
        "asked": asdict(coupling),
        "dimensions": wanted.dimensions,
        "place": {
            "origin": axis.origin,
            "direction": axis.direction,
            "across": axis.across,
            "start": drive.placed.start,
            "angle": angle,
        },
        "adapter": {
            "path": os.path.abspath(loaded.step_path),
            "unit": loaded.job.unit,
            "include": wanted.with_adapter,
        },
        "tools": tools_of(drive) if wanted.tool_corridors else [],
    }


def request_for_family(family: str, dimensions: dict[str, Any], wanted: Wanted, unit: str) -> dict[str, Any]:
    """The request for a coupling without a job, in its own frame: the drive axis is +z, the motor hub's face at 0.

    Args:
        family: a coupling family.
        dimensions: what `parametric_models.couplings.build.coupling` takes; lengths mm.
        wanted: what to show.
        unit: unit of the file's numbers.
    """
    name = family if "joint" in family else f"{family} coupling"
    return _request(wanted, name) | {"unit": unit, "family": family, "dimensions": dimensions}


def _request(wanted: Wanted, name: str) -> dict[str, Any]:
    return {
        "target": "", "ending": wanted.ending, "title": os.path.basename(wanted.path), "time": _now(),
        "view": "detail" if wanted.detail else "envelope", "unit": "mm", "name": name, "asked": None, "family": "",
        "dimensions": {}, "place": None, "adapter": None, "tools": [],
    }  # fmt: skip


def _now() -> str:
    """The time for the header, or that of SOURCE_DATE_EPOCH, by which builds are made repeatable."""
    given = os.environ.get("SOURCE_DATE_EPOCH", "")
    return time.strftime("%Y-%m-%dT%H:%M:%S", time.gmtime(int(given) if given.isdigit() else None))


def _unit(drive: Drive) -> str:
    unit = drive.measurement.file_unit
    return unit if unit in KNOWN_UNITS else "mm"


class _UndoneError(FitcheckError):
    """The job could not be read or measured."""

    def __init__(self, result: JobResult) -> None:
        super().__init__(result.error or f"{result.name}: nothing was measured")
        self.exit_code = result.error_code or 3
