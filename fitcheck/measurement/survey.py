"""The survey: what the kernel room says of a file, typed. File frame, mm, radians."""

from __future__ import annotations

import math
from array import array
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Protocol

from fitcheck.measurement.model import Vector
from fitcheck.measurement.vectors import vector


class Asker(Protocol):
    """Asks the kernel worker: a request, its answer and float arrays."""

    def __call__(self, phase: str, request: dict[str, Any]) -> tuple[dict[str, Any], list[array[float]]]:
        """Ask; `phase` names what is being done, for messages."""


@dataclass(slots=True)
class Edge:
    """A curve that bounds faces; `kind` line, circle, other or none."""

    index: int
    kind: str
    a: Vector = (0.0, 0.0, 0.0)
    b: Vector = (0.0, 0.0, 0.0)
    centre: Vector = (0.0, 0.0, 0.0)
    normal: Vector = (0.0, 0.0, 1.0)
    x: Vector = (1.0, 0.0, 0.0)
    radius: float = 0.0
    span: tuple[float, float] = (0.0, 0.0)
    points: tuple[Vector, ...] = ()

    def on_circle(self, angle: float) -> Vector:
        """The point of a circle at an angle in rad."""
        n, x, r = self.normal, self.x, self.radius
        y = (n[1] * x[2] - n[2] * x[1], n[2] * x[0] - n[0] * x[2], n[0] * x[1] - n[1] * x[0])
        c, s = r * math.cos(angle), r * math.sin(angle)
        return (
            self.centre[0] + c * x[0] + s * y[0],
            self.centre[1] + c * x[1] + s * y[1],
            self.centre[2] + c * x[2] + s * y[2],
        )

    def samples(self, count: int = 16) -> list[Vector]:
        """Points along the edge, its ends among them; `count` intervals on a circle, as they come otherwise."""
        if self.kind == "line":
            return [self.a, self.b]
        if self.kind == "circle":
            t0, t1 = self.span
            return [self.on_circle(t0 + (t1 - t0) * i / count) for i in range(count + 1)]
        return list(self.points)


@dataclass(slots=True)
class Face:
    """A face; `kind` plane, cylinder, cone, sphere, torus, other or none.

    `out` is +1 where the natural normal points out of the material (along `axis` for a plane, away from the axis or
    the centre for the others), else -1. `u`, `v` are parameter bounds in the kernel's own parameters, which are the
    usual ones of the kind where `native`. `revolved` where a face of kind other turns about `axis`.
    """

    index: int
    body: int
    kind: str
    origin: Vector
    axis: Vector
    x: Vector
    y: Vector
    radius: float
    minor: float
    semi: float
    out: int
    u: tuple[float, float]
    v: tuple[float, float]
    native: bool
    gap: float
    edges: tuple[int, ...]
    seams: tuple[int, ...]
    revolved: bool = False

    @property
    def concave(self) -> bool:
        """Whether a face of revolution is a hole in the material."""
        return self.out < 0

    @property
    def outward(self) -> Vector:
        """Outward normal of a plane."""
        return self.axis if self.out > 0 else (-self.axis[0], -self.axis[1], -self.axis[2])


@dataclass(slots=True)
class SurveyBody:
    """A solid or a shell: shown name, all its names, volume in mm³ (None where it has none, or before `weigh`)."""

    index: int
    name: str
    names: tuple[str, ...]
    volume: float | None
    solid: bool


@dataclass(slots=True)
class Survey:
    """A file's bodies, faces and edges; `weighed` once the bodies' volumes are known."""

    units: tuple[str, ...]
    bodies: list[SurveyBody]
    faces: list[Face]
    edges: list[Edge]
    weighed: bool = False

    def edges_of(self, face: Face) -> Iterator[Edge]:
        """The edges that bound a face; seams are left out."""
        return (self.edges[index] for index in face.edges)

    def rim(self, face: Face) -> Iterator[Edge]:
        """All edges of a face, seams among them."""
        return (self.edges[index] for index in (*face.edges, *face.seams))


_ZERO = (0.0, 0.0, 0.0)


def survey_from(answer: dict[str, Any]) -> Survey:
    """The typed survey from the kernel worker's answer to "read"."""
    edges = [_edge(index, raw) for index, raw in enumerate(answer["edges"])]
    faces = [_face(index, raw) for index, raw in enumerate(answer["faces"])]
    bodies = [
        SurveyBody(index, raw["name"], tuple(raw["names"]), None, raw["solid"])
        for index, raw in enumerate(answer["bodies"])
    ]
    return Survey(units=tuple(answer["units"]), bodies=bodies, faces=faces, edges=edges)


def _edge(index: int, raw: dict[str, Any]) -> Edge:
    kind = raw["kind"]
    if kind == "none":
        return Edge(index, kind)
    edge = Edge(index, kind, vector(raw["a"]), vector(raw["b"]))
    if kind == "circle":
        edge.centre, edge.normal, edge.x = vector(raw["c"]), vector(raw["n"]), vector(raw["x"])
        edge.radius, edge.span = raw["r"], (raw["t"][0], raw["t"][1])
    elif kind == "other":
        edge.points = tuple(vector(point) for point in raw["p"])
    return edge


def _face(index: int, raw: dict[str, Any]) -> Face:
    has_surface = "origin" in raw
    return Face(
        index=index,
        body=raw["body"],
        kind=raw["kind"],
        origin=vector(raw["origin"]) if has_surface else _ZERO,
        axis=vector(raw["axis"]) if has_surface else (0.0, 0.0, 1.0),
        x=vector(raw["x"]) if has_surface else (1.0, 0.0, 0.0),
        y=vector(raw["y"]) if has_surface else (0.0, 1.0, 0.0),
        radius=raw.get("radius", 0.0),
        minor=raw.get("minor", 0.0),
        semi=raw.get("semi", 0.0),
        out=raw.get("out", 1),
        u=tuple(raw.get("u", (0.0, 0.0))),
        v=tuple(raw.get("v", (0.0, 0.0))),
        native=raw.get("native", False),
        gap=raw.get("gap", 0.0),
        edges=tuple(raw["edges"]),
        seams=tuple(raw["seams"]),
        revolved=raw.get("revolved", False),
    )
