"""On which side of a face the material is, asked of the solid itself rather than of orientation flags."""

from __future__ import annotations

from collections.abc import Sequence

from OCP.BRep import BRep_Builder
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeVertex
from OCP.BRepClass3d import BRepClass3d_SolidClassifier
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.BRepTools import BRepTools
from OCP.BRepTopAdaptor import BRepTopAdaptor_FClass2d
from OCP.gp import gp_Pnt, gp_Pnt2d, gp_Vec
from OCP.TopAbs import TopAbs_FACE, TopAbs_IN, TopAbs_OUT, TopAbs_REVERSED, TopAbs_SOLID
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS_Compound, TopoDS_Face, TopoDS_Shape

STEP_ASIDE = 0.01
"""mm to either side of the face at which the solid is asked."""


def agrees(body: TopoDS_Shape, face: TopoDS_Face) -> bool | None:
    """Whether the solid confirms the face's orientation: True, False, or None where it cannot be told."""
    if body.ShapeType() != TopAbs_SOLID:
        return None
    point, normal = _inner_point(face)
    if point is None or normal is None:
        return None
    states = []
    for sign in (1.0, -1.0):
        aside = point.Translated(normal.Multiplied(sign * STEP_ASIDE))
        states.append(BRepClass3d_SolidClassifier(body, aside, 1e-6).State())
    if states == [TopAbs_OUT, TopAbs_IN]:
        return True
    if states == [TopAbs_IN, TopAbs_OUT]:
        return False
    return None


def holds(body: TopoDS_Shape, points: Sequence[tuple[float, float, float]]) -> list[bool]:
    """Whether points, mm in the file's frame, lie inside a solid; a shell holds none."""
    if body.ShapeType() != TopAbs_SOLID:
        return [False] * len(points)
    ask = BRepClass3d_SolidClassifier(body)
    found = []
    for point in points:
        ask.Perform(gp_Pnt(*point), 1e-7)
        found.append(bool(ask.State() == TopAbs_IN))
    return found


def depths(body: TopoDS_Shape, points: Sequence[tuple[float, float, float]]) -> list[float]:
    """Distances of points, mm in the file's frame, from a body's nearest face, mm; 0 where it cannot be told."""
    builder, skin = BRep_Builder(), TopoDS_Compound()
    builder.MakeCompound(skin)
    explorer = TopExp_Explorer(body, TopAbs_FACE)
    while explorer.More():
        # Faces alone: a point inside a solid has the distance 0 from the solid.
        builder.Add(skin, explorer.Current())
        explorer.Next()
    found = []
    for point in points:
        distance = BRepExtrema_DistShapeShape(BRepBuilderAPI_MakeVertex(gp_Pnt(*point)).Vertex(), skin)
        found.append(float(distance.Value()) if distance.IsDone() else 0.0)
    return found


def _inner_point(face: TopoDS_Face) -> tuple[gp_Pnt | None, gp_Vec | None]:
    u0, u1, v0, v1 = BRepTools.UVBounds_s(face)
    classify = BRepTopAdaptor_FClass2d(face, 1e-7)
    surface = BRepAdaptor_Surface(face, False)
    for fraction in ((0.5, 0.5), (0.3, 0.4), (0.7, 0.6), (0.15, 0.5), (0.85, 0.5), (0.5, 0.15), (0.5, 0.85)):
        u, v = u0 + fraction[0] * (u1 - u0), v0 + fraction[1] * (v1 - v0)
        if classify.Perform(gp_Pnt2d(u, v)) != TopAbs_IN:
            continue
        point, du, dv = gp_Pnt(), gp_Vec(), gp_Vec()
        surface.D1(u, v, point, du, dv)
        normal = du.Crossed(dv)
        if normal.Magnitude() < 1e-12:
            continue
        normal.Normalize()
        if face.Orientation() == TopAbs_REVERSED:
            normal.Reverse()
        return point, normal
    return None, None
