"""Faces to triangles, for tool corridors and for surfaces that are neither analytic nor far away."""

from __future__ import annotations

from array import array

from OCP.BRep import BRep_Builder, BRep_Tool
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.BRepTools import BRepTools
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS_Compound, TopoDS_Face


def triangulate(faces: list[TopoDS_Face], deflection: float, angle: float) -> tuple[list[int], array[float]]:
    """Triangles of faces.

    Args:
        faces: the faces.
        deflection: mm that a triangle may stray from its face.
        angle: rad between neighbouring triangles.

    Returns:
        The number of triangles of each face (-1 where the kernel could not mesh it), and the corners, flat, nine
        floats a triangle, mm.
    """
    flat = array("d")
    counts: list[int] = []
    if not faces:
        return counts, flat
    builder, compound = BRep_Builder(), TopoDS_Compound()
    builder.MakeCompound(compound)
    for face in faces:
        builder.Add(compound, face)
    # An earlier, coarser mesh would be kept otherwise.
    BRepTools.Clean_s(compound)
    BRepMesh_IncrementalMesh(compound, deflection, False, angle, False)
    for face in faces:
        place = TopLoc_Location()
        mesh = BRep_Tool.Triangulation_s(face, place)
        if mesh is None:
            counts.append(-1)
            continue
        nodes: list[tuple[float, float, float]] = []
        move = None if place.IsIdentity() else place.Transformation()
        for index in range(1, mesh.NbNodes() + 1):
            node = mesh.Node(index)
            if move is not None:
                node = node.Transformed(move)
            nodes.append((node.X(), node.Y(), node.Z()))
        count = mesh.NbTriangles()
        for index in range(1, count + 1):
            for corner in mesh.Triangle(index).Get():
                flat.extend(nodes[corner - 1])
        counts.append(count)
    return counts, flat
