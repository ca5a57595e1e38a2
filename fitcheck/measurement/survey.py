"""The survey: what the kernel room says of a file, typed. File frame, mm, radians."""

from __future__ import annotations

import math
from array import array
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING, Any, Protocol

from fitcheck.kernel.features import EDGE, FACE, KINDS
from fitcheck.measurement.model import Vector

if TYPE_CHECKING:
    from fitcheck.measurement.edge_table import EdgeTable


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
    usual ones of the kind where `native`. `revolved` where a face of kind other turns about `axis`; `minor` of such a
    face is the diagonal of a box that holds it, mm.
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
    """A file's bodies, faces and edges; `weighed` once the bodies' volumes are known.

    `numbers` are those of the edges as they came, see `edge_table`; None for edges made otherwise.
    """

    units: tuple[str, ...]
    bodies: list[SurveyBody]
    faces: list[Face]
    edges: list[Edge]
    weighed: bool = False
    numbers: array[float] | None = None
    _table: EdgeTable | None = None

    @property
    def edge_table(self) -> EdgeTable:
        """The edges as arrays."""
        if self._table is None:
            import numpy as np

            from fitcheck.measurement.edge_table import EdgeTable

            self._table = (
                EdgeTable.of(self.edges)
                if self.numbers is None
                else EdgeTable(self.edges, np.frombuffer(self.numbers, dtype=np.float64).reshape(-1, EDGE))
            )
        return self._table

    def edges_of(self, face: Face) -> Iterator[Edge]:
        """The edges that bound a face; seams are left out."""
        return (self.edges[index] for index in face.edges)

    def rim(self, face: Face) -> Iterator[Edge]:
        """All edges of a face, seams among them."""
        return (self.edges[index] for index in (*face.edges, *face.seams))


def survey_from(answer: dict[str, Any], arrays: Sequence[array[float]]) -> Survey:
    """The typed survey from the kernel worker's answer to "read", packed by `kernel.features.Columns`."""
    of_edges, of_faces, points = arrays
    lengths = iter(answer["lengths"])
    curves = iter(_threes(points))
    edges: list[Edge] = []
    numbers = of_edges.tolist()
    for index, letter in enumerate(answer["edge_kinds"]):
        row = numbers[EDGE * index : EDGE * (index + 1)]
        ax, ay, az, bx, by, bz, cx, cy, cz, nx, ny, nz, xx, xy, xz, r, t0, t1 = row
        edge = Edge(
            index, KINDS[letter], (ax, ay, az), (bx, by, bz), (cx, cy, cz), (nx, ny, nz), (xx, xy, xz), r, (t0, t1)
        )
        if letter == "o":
            edge.points = tuple(islice(curves, next(lengths)))
        edges.append(edge)
    faces: list[Face] = []
    columns = zip(
        *(answer[name] for name in ("kinds", "body", "out", "native", "revolved", "edges", "seams")), strict=True
    )
    numbers = of_faces.tolist()
    for index, (letter, body, out, native, revolved, own, seams) in enumerate(columns):
        row = numbers[FACE * index : FACE * (index + 1)]
        ox, oy, oz, nx, ny, nz, xx, xy, xz, yx, yy, yz, radius, minor, semi, gap, u0, u1, v0, v1 = row
        face = Face(
            index=index, body=body, kind=KINDS[letter], origin=(ox, oy, oz), axis=(nx, ny, nz), x=(xx, xy, xz),
            y=(yx, yy, yz), radius=radius, minor=minor, semi=semi, out=out, u=(u0, u1), v=(v0, v1), native=native,
            gap=gap, edges=tuple(own), seams=tuple(seams), revolved=revolved,
        )  # fmt: skip
        faces.append(face)
    bodies = [
        SurveyBody(index, raw["name"], tuple(raw["names"]), None, raw["solid"])
        for index, raw in enumerate(answer["bodies"])
    ]
    return Survey(units=tuple(answer["units"]), bodies=bodies, faces=faces, edges=edges, numbers=of_edges)


def _threes(flat: array[float]) -> Iterator[Vector]:
    values = iter(flat)
    return zip(values, values, values, strict=True)
