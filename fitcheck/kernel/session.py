"""What a worker can be asked: read a file, then clip lines, sample edges and mesh faces of what was read."""

from __future__ import annotations

from array import array
from collections.abc import Callable, Sequence
from typing import Any, TypeAlias, TypeVar

from OCP.BRepGProp import BRepGProp
from OCP.GProp import GProp_GProps
from OCP.TopAbs import TopAbs_EDGE, TopAbs_FACE
from OCP.TopExp import TopExp, TopExp_Explorer
from OCP.TopoDS import TopoDS, TopoDS_Edge, TopoDS_Face, TopoDS_Shape
from OCP.TopTools import TopTools_IndexedMapOfShape

from fitcheck.kernel.clip import clip_line
from fitcheck.kernel.edges import describe_edge, sample_edge, sample_meridian
from fitcheck.kernel.features import Columns
from fitcheck.kernel.material import agrees, depths, holds
from fitcheck.kernel.mesh import triangulate
from fitcheck.kernel.step_read import ReadError, read_step
from fitcheck.kernel.surfaces import describe_face

Answer: TypeAlias = "tuple[dict[str, Any], list[array[float]]]"
Point: TypeAlias = "tuple[float, float, float]"
T = TypeVar("T")

SPLINE_VOLUME = 1e-3
"""Part of a volume by which its integral over B-splines may be off. Found within 2e-5, and as quick as the other one.
A third of it takes a second on surfaces with hundreds of knots."""


class Session:
    """One worker's state: the shapes of the file that was read last."""

    def __init__(self) -> None:
        self._faces: list[TopoDS_Face] = []
        self._edges: list[TopoDS_Edge] = []
        self._bodies: list[TopoDS_Shape] = []
        self._body_of: list[int] = []
        self._analytic: list[bool | None] = []
        self._volumes: list[float | None] = []

    def read(self, path: str, unit: str | None = None, declared: float | None = None) -> Answer:
        """Read a file and describe its bodies, faces and edges; `unit` and `declared` as in `read_step`.

        Returns:
            {"units", "arrived": {"solids", "faces": distinct ones}, "bodies": [{name, names, solid}]} with the faces
            and edges as `features.Columns` packs them. Lengths mm.
        """
        self._faces, self._edges, self._bodies, self._body_of = [], [], [], []
        self._analytic, self._volumes = [], []
        try:
            model = read_step(path, unit, declared)
        except ReadError as error:
            return {"error": str(error), "lasting": True}, []
        bodies: list[dict[str, Any]] = []
        columns = Columns()
        for index, leaf in enumerate(model.leaves):
            told, native = self._describe(leaf.shape, index, columns)
            self._analytic.append(native if told and leaf.solid else None)
            self._bodies.append(leaf.shape)
            bodies.append({"name": leaf.name, "names": leaf.names, "solid": leaf.solid})
        arrived = {"solids": model.solids, "faces": model.faces}
        features, arrays = columns.message()
        return {"units": model.units, "arrived": arrived, "bodies": bodies, **features}, arrays

    def volumes(self) -> Answer:
        """The bodies' volumes, mm³: {"volumes": [negative where a shell is inside out, None where it has none]}."""
        while self.ahead():
            pass
        return {"volumes": self._volumes}, []

    def ahead(self) -> bool:
        """Do a piece of what will be asked for, the next body's volume; False where nothing is left."""
        number = len(self._volumes)
        if number == len(self._bodies):
            return False
        analytic = self._analytic[number]
        self._volumes.append(None if analytic is None else _volume(self._bodies[number], analytic))
        return True

    def _describe(self, shape: TopoDS_Shape, body: int, columns: Columns) -> tuple[bool, bool]:
        """Add a body's edges and faces; whether all faces have a surface, and all are native."""
        first = len(self._edges)
        mapped = TopTools_IndexedMapOfShape()
        TopExp.MapShapes_s(shape, TopAbs_EDGE, mapped)
        for index in range(1, mapped.Extent() + 1):
            edge = TopoDS.Edge_s(mapped.FindKey(index))
            self._edges.append(edge)
            columns.edge(describe_edge(edge))
        told = native = True
        find = mapped.FindIndex
        explorer = TopExp_Explorer(shape, TopAbs_FACE)
        while explorer.More():
            face = TopoDS.Face_s(explorer.Current())
            explorer.Next()
            found = describe_face(face)
            told, native = told and found["kind"] != "none", native and found.get("native", False)
            times: dict[int, int] = {}
            walk = TopExp_Explorer(face, TopAbs_EDGE)
            while walk.More():
                number = first + find(walk.Current()) - 1
                times[number] = times.get(number, 0) + 1
                walk.Next()
            # A seam stands twice in its face's wire and bounds nothing.
            edges = [number for number, count in times.items() if count == 1]
            seams = [number for number, count in times.items() if count > 1]
            self._faces.append(face)
            self._body_of.append(body)
            columns.face(found, body, edges, seams)
        return told, native

    def clip(self, wanted: list[dict[str, Any]]) -> Answer:
        """Clip lines on surfaces to faces.

        Args:
            wanted: [{"face", "points": [[x, y, z], ...]}], mm, file frame.

        Returns:
            {"owner": index into `wanted` of each polyline} and the polylines, flat (x, y, z, ...), mm.
        """
        owners: list[int] = []
        lines: list[array[float]] = []
        for index, item in enumerate(wanted):
            points = [(x, y, z) for x, y, z in item["points"]]
            for line in clip_line(self._faces[item["face"]], points):
                owners.append(index)
                lines.append(line)
        return {"owner": owners}, lines

    def edges(self, wanted: list[int], deflection: float) -> Answer:
        """Sample edges; returns their points, flat (x, y, z, ...), mm."""
        return {}, [sample_edge(self._edges[index], deflection) for index in wanted]

    def meridians(self, faces: list[int], deflection: float) -> Answer:
        """A meridian of each surface of revolution; returns their points, flat (x, y, z, ...), mm."""
        return {}, [sample_meridian(self._faces[index], deflection) for index in faces]

    def mesh(self, faces: list[int], deflection: float, angle: float) -> Answer:
        """Triangulate faces.

        Returns:
            {"counts": triangles of each face; -1 where the kernel could not mesh it} and one array, flat, nine floats
            a triangle, mm.
        """
        counts, triangles = triangulate([self._faces[index] for index in faces], deflection, angle)
        return {"counts": counts}, [triangles]

    def side(self, faces: list[int]) -> Answer:
        """Whether the material really lies where the faces' orientation says: {"agrees": [true, false or null]}."""
        found = [agrees(self._bodies[self._body_of[index]], self._faces[index]) for index in faces]
        return {"agrees": found}, []

    def inside(self, bodies: list[int], points: list[tuple[float, float, float]]) -> Answer:
        """Whether each point, mm in the file's frame, lies in the body beside it: {"inside": [true or false]}."""
        return {"inside": self._each(holds, bodies, points, False)}, []

    def depth(self, bodies: list[int], points: list[tuple[float, float, float]]) -> Answer:
        """How far each point, mm in the file's frame, lies from the skin of the body beside it: {"depth": [mm]}."""
        return {"depth": self._each(depths, bodies, points, 0.0)}, []

    def _each(
        self,
        ask: Callable[[TopoDS_Shape, Sequence[Point]], list[T]],
        bodies: list[int],
        points: list[Point],
        nothing: T,
    ) -> list[T]:
        """What is asked of the points of each body together, in the points' order."""
        found = [nothing] * len(points)
        for body in dict.fromkeys(bodies):
            mine = [index for index, other in enumerate(bodies) if other == body]
            for index, value in zip(mine, ask(self._bodies[body], [points[i] for i in mine]), strict=True):
                found[index] = value
        return found


def _volume(shape: TopoDS_Shape, analytic: bool) -> float | None:
    properties = GProp_GProps()
    try:
        # The kernel's quick integral is exact on analytic faces and 0.3% off on B-splines.
        if analytic:
            BRepGProp.VolumeProperties_s(shape, properties)
        else:
            BRepGProp.VolumeProperties_s(shape, properties, SPLINE_VOLUME, False, False)
    except Exception:
        # A broken face spoils the volume and nothing else.
        return None
    return float(properties.Mass())
