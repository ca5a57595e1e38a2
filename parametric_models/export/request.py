"""What an export is asked for, as plain data that comes through a pipe."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from fitcheck.job.model import Coupling, Hub, Hubs, Screw

Vector = tuple[float, float, float]

VIEWS = ("envelope", "detail")
MM_PER = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "inch": 25.4}


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where a coupling sits: a line in the file's frame, mm, directed from motor to actuator.

    Attributes:
        origin: the point at station 0.
        direction: the drive axis.
        across: the direction of shaft angle 0.
        start: station of the motor hub's outer face, mm.
        angle: shaft angle that the coupling is turned to, degrees.
    """

    origin: Vector
    direction: Vector
    across: Vector
    start: float
    angle: float


@dataclass(frozen=True, kw_only=True)
class Adapter:
    """The file that the coupling is put in.

    Attributes:
        path: the STEP file.
        unit: the unit that its numbers really have, where it declares a wrong one; else None.
        include: whether its bodies are written too.
    """

    path: str
    unit: str | None
    include: bool


@dataclass(frozen=True, kw_only=True)
class Tool:
    """The corridor that a straight tool needs: cylinders (from, to, radius) along its direction, mm.

    `angle` is the shaft angle of the direction where the coupling's own angle is 0, degrees; `offset` the distance of
    the tool's axis to the left of the drive axis; `station` counts from the motor hub's outer face.
    """

    name: str
    station: float
    offset: float
    angle: float
    parts: tuple[tuple[float, float, float], ...]


@dataclass(frozen=True, kw_only=True)
class Request:
    """One file to write.

    Attributes:
        target: path of the file to write; its folder exists.
        ending: step, stl, gltf, glb or dxf.
        title: name of the file for headers and messages.
        time: ISO 8601 time for the header.
        view: envelope or detail.
        unit: unit of the numbers in the file where there is no adapter.
        name: the coupling's product name.
        asked: the job's coupling, or None where family and dimensions are given.
        family: coupling family, for a coupling without a job.
        dimensions: what `build.coupling` takes.
        place: where it sits; None for the coupling's own frame.
        adapter: the file that it is put in, or None.
        tools: corridors to show.
    """

    target: str
    ending: str
    title: str
    time: str
    view: str
    unit: str
    name: str
    asked: Coupling | None
    family: str
    dimensions: dict[str, Any]
    place: Place | None
    adapter: Adapter | None
    tools: tuple[Tool, ...]


def request_from(plain: dict[str, Any]) -> Request:
    """The typed request from its JSON object, whose keys are the fields of `Request`."""
    values = dict(plain)
    values["asked"] = None if plain["asked"] is None else job_coupling(plain["asked"])
    place, adapter = plain["place"], plain["adapter"]
    values["place"] = None if place is None else Place(**{**place, **_vectors(place)})
    values["adapter"] = None if adapter is None else Adapter(**adapter)
    values["tools"] = tuple(Tool(**{**tool, "parts": tuple(map(tuple, tool["parts"]))}) for tool in plain["tools"])
    return Request(**values)


def _vectors(place: dict[str, Any]) -> dict[str, Any]:
    return {name: tuple(place[name]) for name in ("origin", "direction", "across")}


def job_coupling(plain: dict[str, Any]) -> Coupling:
    """The job's coupling from what `dataclasses.asdict` made of it; what says nothing of its shape is left out."""
    hubs = {}
    for side, hub in plain["hubs"].items():
        screws = tuple(Screw(**screw) for screw in hub["screws"])
        hubs[side] = Hub(**{**hub, "screws": screws, "holding": None})
    return Coupling(**{**plain, "hubs": Hubs(**hubs), "ratings": None})
