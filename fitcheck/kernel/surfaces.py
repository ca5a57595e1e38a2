"""Faces to plain features: what kind of surface, where, which way the material lies, and how far it reaches.

A surface that the kernel holds as a B-spline, an extrusion or the like is tried against plane, cylinder, cone and
sphere first, then against the torus: many exporters write those as B-splines.
"""

from __future__ import annotations

from typing import Any

from OCP.Bnd import Bnd_Box
from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepTools import BRepTools
from OCP.GeomAbs import (
    GeomAbs_Cone,
    GeomAbs_Cylinder,
    GeomAbs_Plane,
    GeomAbs_Sphere,
    GeomAbs_SurfaceOfRevolution,
    GeomAbs_Torus,
)
from OCP.gp import gp_Ax3, gp_Cone, gp_Cylinder, gp_Pln, gp_Pnt, gp_Sphere, gp_Vec
from OCP.ShapeAnalysis import ShapeAnalysis_CanonicalRecognition
from OCP.TopAbs import TopAbs_REVERSED
from OCP.TopoDS import TopoDS_Face

from fitcheck.kernel.strips import recognise_strip
from fitcheck.kernel.torus import recognise_torus, tube_centre

# Numbers, as the kernel's own enumerations take half a microsecond to compare.
_PLANE, _CYLINDER, _CONE, _SPHERE, _TORUS, _REVOLVED = (
    kind.value
    for kind in (
        GeomAbs_Plane, GeomAbs_Cylinder, GeomAbs_Cone, GeomAbs_Sphere, GeomAbs_Torus, GeomAbs_SurfaceOfRevolution,
    )
)  # fmt: skip
_REVERSED = TopAbs_REVERSED.value

RECOGNITION_TOLERANCE = 0.001
"""mm; how far a B-spline may lie from the plane, cylinder, cone or sphere that it is taken for."""

CONE_AS_CYLINDER = 1e-7
"""rad; a cone below this half angle is written as a cylinder (1 nm over 10 mm)."""


def _xyz(point: Any) -> list[float]:
    return list(point.Coord())


def _frame(position: gp_Ax3) -> dict[str, Any]:
    return {
        "origin": _xyz(position.Location()),
        "axis": _xyz(position.Direction()),
        "x": _xyz(position.XDirection()),
        "y": _xyz(position.YDirection()),
    }


def describe_face(face: TopoDS_Face) -> dict[str, Any]:
    """The surface of a face as a JSON-able object.

    Returns:
        kind plane, cylinder, cone, sphere, torus, other or none (a face without a surface, as in tessellated models);
        its frame (origin, axis, x, y; mm, file frame); radius, minor (torus), semi (cone half angle, rad); `out`, +1
        where the surface's natural normal (away from the axis or centre; along the axis for a plane) points out of
        the material and -1 otherwise; `u` and `v` parameter bounds, but of a native plane; `native`,
        whether the kernel's own parameters are those of this kind; `gap`, how far the real surface may lie from it,
        mm; `revolved`, where another kind turns about its frame's axis; `minor` of another kind is the diagonal of a
        box that holds the face.
    """
    if BRep_Tool.Surface_s(face) is None:
        # Asking such a face for anything else ends the process.
        return {"kind": "none"}
    adaptor = BRepAdaptor_Surface(face, False)
    kind = adaptor.GetType().value
    reversed_face = face.Orientation().value == _REVERSED
    found: dict[str, Any]
    if kind == _PLANE:
        found = {"kind": "plane", **_plane(adaptor.Plane())}
    elif kind == _CYLINDER:
        found = _cylinder(adaptor.Cylinder())
    elif kind == _CONE:
        found = _cone(adaptor.Cone())
    elif kind == _SPHERE:
        found = _sphere(adaptor.Sphere())
    elif kind == _TORUS:
        torus = adaptor.Torus()
        found = {
            "kind": "torus",
            **_frame(torus.Position()),
            "radius": torus.MajorRadius(),
            "minor": torus.MinorRadius(),
            "direct": torus.Direct(),
        }
    else:
        found = _recognised(face, adaptor, reversed_face)
        if found["kind"] == "other" and kind == _REVOLVED:
            axis = adaptor.AxeOfRevolution()
            found.update(_frame(gp_Ax3(axis.Location(), axis.Direction())), revolved=True)
        return found
    direct = found.pop("direct")
    found.update(native=True, out=1 if direct != reversed_face else -1)
    if found["kind"] != "plane":
        # Of a plane nobody asks for them, and it may have hundreds of holes that must be walked round.
        u0, u1, v0, v1 = BRepTools.UVBounds_s(face)
        found.update(u=[u0, u1], v=[v0, v1])
    return found


def _plane(plane: gp_Pln) -> dict[str, Any]:
    position = plane.Position()
    return {**_frame(position), "direct": position.Direct()}


def _cylinder(cylinder: gp_Cylinder) -> dict[str, Any]:
    return {
        "kind": "cylinder",
        **_frame(cylinder.Position()),
        "radius": cylinder.Radius(),
        "direct": cylinder.Direct(),
    }


def _cone(cone: gp_Cone) -> dict[str, Any]:
    found = {
        "kind": "cone",
        **_frame(cone.Position()),
        "radius": cone.RefRadius(),
        "semi": cone.SemiAngle(),
        "direct": cone.Direct(),
    }
    if abs(cone.SemiAngle()) < CONE_AS_CYLINDER:
        found["kind"] = "cylinder"
    return found


def _sphere(sphere: gp_Sphere) -> dict[str, Any]:
    return {"kind": "sphere", **_frame(sphere.Position()), "radius": sphere.Radius(), "direct": sphere.Direct()}


def _recognised(face: TopoDS_Face, adaptor: BRepAdaptor_Surface, reversed_face: bool) -> dict[str, Any]:
    u0, u1, v0, v1 = BRepTools.UVBounds_s(face)
    bounds = {"u": [u0, u1], "v": [v0, v1], "native": False}
    recognise = ShapeAnalysis_CanonicalRecognition(face)
    found: dict[str, Any] | None = None
    plane, cylinder, cone, sphere = gp_Pln(), gp_Cylinder(), gp_Cone(), gp_Sphere()
    if recognise.IsPlane(RECOGNITION_TOLERANCE, plane):
        found = {"kind": "plane", **_plane(plane)}
    elif recognise.IsCylinder(RECOGNITION_TOLERANCE, cylinder):
        found = _cylinder(cylinder)
    elif recognise.IsCone(RECOGNITION_TOLERANCE, cone):
        found = _cone(cone)
    elif recognise.IsSphere(RECOGNITION_TOLERANCE, sphere):
        found = _sphere(sphere)
    if found is None:
        return (
            _torus(adaptor, (u0, u1), (v0, v1), reversed_face)
            or _strip(adaptor, (u0, u1), (v0, v1), reversed_face)
            or {"kind": "other", "minor": _diagonal(face), **bounds}
        )
    # The recognised surface has its own parameters, so its natural normal is compared with the face's at one point.
    point, du, dv = gp_Pnt(), gp_Vec(), gp_Vec()
    adaptor.D1(0.5 * (u0 + u1), 0.5 * (v0 + v1), point, du, dv)
    normal = du.Crossed(dv)
    if reversed_face:
        normal.Reverse()
    along = gp_Vec(*found["axis"])
    away = gp_Vec(gp_Pnt(*found["origin"]), point)
    if found["kind"] == "plane":
        away = along
    elif found["kind"] != "sphere":
        away = away - along.Multiplied(away.Dot(along))
    found.pop("direct")
    found.update(bounds, out=1 if normal.Dot(away) > 0 else -1, gap=max(float(recognise.GetGap()), 0.0))
    return found


def _diagonal(face: TopoDS_Face) -> float:
    """Diagonal of a box that holds a face, mm: the kernel makes it of the surface's poles, so that it is never less."""
    box = Bnd_Box()
    BRepBndLib.Add_s(face, box, False)
    return 0.0 if box.IsVoid() else float(box.CornerMin().Distance(box.CornerMax()))


def _strip(
    adaptor: BRepAdaptor_Surface, u: tuple[float, float], v: tuple[float, float], reversed_face: bool
) -> dict[str, Any] | None:
    """A cylinder that winds about its axis."""
    point, du, dv = gp_Pnt(), gp_Vec(), gp_Vec()

    def sample(a: float, b: float) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
        adaptor.D1(a, b, point, du, dv)
        normal = du.Crossed(dv)
        size = (-1.0 if reversed_face else 1.0) * (normal.Magnitude() or 1.0)
        return (point.X(), point.Y(), point.Z()), (normal.X() / size, normal.Y() / size, normal.Z() / size)

    found = recognise_strip(sample, u, v, RECOGNITION_TOLERANCE)
    if found is None:
        return None
    at, out = sample(0.5 * (u[0] + u[1]), 0.5 * (v[0] + v[1]))
    away = sum((at[k] - found["origin"][k]) * out[k] for k in range(3))
    bounds = {"u": list(u), "v": list(v), "native": False}
    return {"kind": "cylinder", **found, **bounds, "out": 1 if away > 0.0 else -1}


def _torus(
    adaptor: BRepAdaptor_Surface, u: tuple[float, float], v: tuple[float, float], reversed_face: bool
) -> dict[str, Any] | None:
    """A surface that is a torus though the kernel does not know it; its `u` and `v` are the torus' own angles."""
    found = recognise_torus(lambda a, b: _xyz(adaptor.Value(a, b)), u, v, RECOGNITION_TOLERANCE)
    if found is None:
        return None
    point, du, dv = gp_Pnt(), gp_Vec(), gp_Vec()
    adaptor.D1(0.5 * (u[0] + u[1]), 0.5 * (v[0] + v[1]), point, du, dv)
    normal = du.Crossed(dv)
    if reversed_face:
        normal.Reverse()
    away = gp_Vec(gp_Pnt(*tube_centre(found, _xyz(point))), point)
    return {"kind": "torus", **found, "native": True, "out": 1 if normal.Dot(away) > 0 else -1}
