"""Variants of a shape: other face splits, surfaces and places leave the bores and the volume as they are."""

from math import cos, hypot, pi, radians, sin

import cadquery as cq
import pytest
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.BRepGProp import BRepGProp
from OCP.GProp import GProp_GProps

from parametric_models.adapters import Housing, Seat, Window, housing
from parametric_models.faces import as_bsplines, mirrored, moved, split_cylinders

SEAT = Seat(pilot_diameter=38.13, pilot_depth=2.2, opening_diameter=34.0, opening_length=3.0)
WINDOW = Window(station=20.0, length=12.0, width=12.0, shape="round", offset=9.0)
SHAPE = housing(Housing(length=50.0, size=60.0, chamber_diameter=36.0, motor=SEAT, actuator=SEAT, windows=(WINDOW,)))


def volume(shape: cq.Shape) -> float:
    """Volume with the integration error held at 1e-9; the kernel's quick integral is 0.3 % off on B-spline faces."""
    found = GProp_GProps()
    error = BRepGProp.VolumeProperties_s(shape.wrapped, found, 1e-9, True, True)
    assert 0 <= error < 1e-8
    return found.Mass()


def radii(shape: cq.Shape) -> list[float]:
    """Radius of every cylindrical face, sorted."""
    faces = [f for f in shape.Faces() if f.geomType() == "CYLINDER"]
    return sorted(round(BRepAdaptor_Surface(f.wrapped).Cylinder().Radius(), 9) for f in faces)


@pytest.mark.parametrize("parts", [2, 3, 8])
def test_every_full_bore_is_split_into_equal_sectors(parts):
    made = split_cylinders(SHAPE, parts)
    assert made.isValid()
    assert volume(made) == pytest.approx(volume(SHAPE), rel=1e-9)
    assert radii(made).count(38.13 / 2) == 2 * parts
    assert set(radii(made)) == set(radii(SHAPE))
    sectors = [
        f.Area() for f in made.Faces() if f.geomType() == "CYLINDER" and abs(f.Area() - pi * 38.13 * 2.2 / parts) < 1e-6
    ]
    assert len(sectors) == 2 * parts


@pytest.mark.parametrize(("parts", "text"), [(1, "parts is 1 sectors; it must be at least 2"), (99, "at most 36")])
def test_a_split_needs_two_to_36_parts(parts, text):
    with pytest.raises(ValueError, match=text):
        split_cylinders(SHAPE, parts)


def test_a_shape_without_round_faces_cannot_be_split():
    with pytest.raises(ValueError, match="nothing was split"):
        split_cylinders(cq.Solid.makeBox(1, 1, 1), 2)


def test_bsplines_lie_on_the_same_bores():
    made = as_bsplines(SHAPE)
    assert made.isValid()
    assert {f.geomType() for f in made.Faces()} == {"BSPLINE"}
    assert volume(made) == pytest.approx(volume(SHAPE), rel=1e-6)
    bores = 0
    for face in made.Faces():
        surface = BRepAdaptor_Surface(face.wrapped)
        u0, u1, v0, v1 = (
            surface.FirstUParameter(),
            surface.LastUParameter(),
            surface.FirstVParameter(),
            surface.LastVParameter(),
        )
        points = [surface.Value(u0 + (u1 - u0) * i / 17, v0 + (v1 - v0) * j / 3) for i in range(18) for j in range(4)]
        distances = [hypot(p.X(), p.Y()) for p in points]
        if max(distances) - min(distances) < 1e-9:
            bores += 1
            assert min(abs(distances[0] - r) for r in (38.13 / 2, 17.0, 18.0)) < 1e-9
    assert bores == 5


def test_a_moved_shape_is_moved_in_its_own_geometry():
    made = moved(SHAPE, (10000.0, -3.0, 2.0), axis=(0.0, 0.0, 1.0), angle=30.0)
    before, after = SHAPE.Center(), made.Center()
    c, s = cos(radians(30)), sin(radians(30))
    expected = (c * before.x - s * before.y + 10000, s * before.x + c * before.y - 3, before.z + 2)
    assert after.toTuple() == pytest.approx(expected, abs=1e-6)
    assert made.wrapped.Location().IsIdentity()
    assert radii(made) == radii(SHAPE)


@pytest.mark.parametrize(("plane", "keeps"), [("XY", (1, 1, -1)), ("YZ", (-1, 1, 1)), ("XZ", (1, -1, 1))])
def test_a_mirrored_shape_is_its_mirror_image(plane, keeps):
    made = mirrored(SHAPE, plane)
    before = SHAPE.Center().toTuple()
    assert made.isValid()
    assert made.Center().toTuple() == pytest.approx(tuple(k * b for k, b in zip(keeps, before, strict=True)), abs=1e-9)
    assert volume(made) == pytest.approx(volume(SHAPE), rel=1e-9)
    assert radii(made) == radii(SHAPE)


def test_an_unknown_mirror_plane_is_refused():
    with pytest.raises(ValueError, match="plane is 'ZZ'; it must be one of XY, YZ, XZ"):
        mirrored(SHAPE, "ZZ")
