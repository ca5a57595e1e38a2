"""Measures solids by the kernel, apart from the generators; given to the tests as fixtures."""

import math

import pytest
from OCP.BRepAdaptor import BRepAdaptor_Curve, BRepAdaptor_Surface
from OCP.GeomAbs import GeomAbs_Cylinder


def points_of(shape, samples=48):
    """Points on all edges, and the nodes of a mesh of all faces: all of them lie on the shape."""
    for edge in shape.Edges():
        curve = BRepAdaptor_Curve(edge.wrapped)
        first, last = curve.FirstParameter(), curve.LastParameter()
        for index in range(samples + 1):
            point = curve.Value(first + (last - first) * index / samples)
            yield point.X(), point.Y(), point.Z()
    for vertex in shape.tessellate(0.2, 0.3)[0]:
        yield vertex.x, vertex.y, vertex.z


def _excess(bodies, profile):
    """Greatest radius of any point of the bodies over the profile at its station; and the greatest radius of all."""
    over, most = -math.inf, 0.0
    for body in bodies:
        for x, y, z in points_of(body.shape):
            radius = math.hypot(x, y)
            over, most = max(over, radius - profile.radius(z)), max(most, radius)
    return over, most


def _axial_cylinders(shape):
    """(radius, from, to) of all cylindrical faces about the z axis."""
    found = []
    for face in shape.Faces():
        surface = BRepAdaptor_Surface(face.wrapped)
        if surface.GetType() != GeomAbs_Cylinder:
            continue
        axis = surface.Cylinder().Axis()
        place, along = axis.Location(), axis.Direction()
        if math.hypot(place.X(), place.Y()) < 1e-9 and math.hypot(along.X(), along.Y()) < 1e-9:
            stations = [vertex.Z for vertex in face.Vertices()]
            found.append((surface.Cylinder().Radius(), min(stations), max(stations)))
    return found


@pytest.fixture(scope="session")
def excess():
    return _excess


@pytest.fixture(scope="session")
def axial_cylinders():
    return _axial_cylinders
