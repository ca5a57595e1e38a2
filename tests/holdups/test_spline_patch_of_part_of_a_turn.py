"""A cylinder written as B-splines that goes only part of the way round was told 1 mm nearer than it is.

The ridge line opposite to the patch was projected onto the patch's border, and counted as inside the face. Held against
the chamber's radius as built, and against the CAD kernel's exact distances.
"""

from __future__ import annotations

import cadquery as cq
import pytest

from fitcheck.kernel.clip import clip_line
from fitcheck.measurement.obstacles import least_radius
from parametric_models.adapters import Holes, Housing, Seat, Window, housing
from parametric_models.faces import as_bsplines, mirrored, moved

SEAT = Seat(
    pilot_diameter=38.0, pilot_depth=2.5, opening_diameter=34.0, opening_length=3.0,
    holes=(Holes(layout="square", size=(47.14,), diameter=4.5, depth=10.0),),
)  # fmt: skip


def model_with(window, shift=0.0):
    body = housing(Housing(length=60.0, size=62.0, chamber_diameter=36.0, motor=SEAT, actuator=SEAT, windows=(window,)))
    # A chamber beside the axis has ridge lines, one near and one far; cut wider on one side.
    pocket = cq.Solid.makeCylinder(17.5, 30.0, cq.Vector(shift, 0, 15.0)) if shift else None
    return (body.cut(pocket).clean() if pocket else body).Solids()[0]


@pytest.mark.parametrize(
    ("length", "angle", "way"),
    [
        (14.0, 0.0, "as built"),
        (30.0, 90.0, "as built"),
        (14.0, 215.0, "mirrored"),
        (30.0, 0.0, "mirrored"),
        (14.0, 90.0, "moved"),
        (30.0, 215.0, "moved"),
    ],
)
def test_a_slotted_chamber_as_splines_is_as_wide_as_it_is(measured, exact_radius, length, angle, way):
    plain = model_with(Window(station=30.0, length=length, width=22.0, angle=angle))
    model = as_bsplines(plain)
    if way == "mirrored":
        model = mirrored(model, "XY")
    if way == "moved":
        model = moved(model, (3.0, 40.0, -11.0), axis=(1.0, -1.0, 2.0), angle=131.0)
    found = measured(model, name="slotted")
    for slab in ((8.0, 52.0), (25.0, 35.0)):
        told = least_radius(found.obstacles, *slab).radius
        assert told == pytest.approx(18.0, abs=1e-3)
        assert told <= exact_radius(model, found.drive_axis, *slab) + 1e-3


@pytest.mark.parametrize("shift", [1.0, 2.0])
def test_a_pocket_beside_the_axis_as_splines(measured, exact_radius, shift):
    # The pocket of 17.5, `shift` beside, cuts into the chamber of 18 on one side alone; the rest of it is air.
    model = as_bsplines(model_with(Window(station=30.0, length=14.0, width=22.0, angle=180.0), shift))
    found = measured(model, name="beside")
    for slab in ((16.0, 44.0), (26.0, 34.0)):
        told = least_radius(found.obstacles, *slab).radius
        assert told == pytest.approx(exact_radius(model, found.drive_axis, *slab), abs=2e-3)


def test_the_line_opposite_to_a_patch_is_no_part_of_it():
    quarter = cq.Solid.makeCylinder(10.0, 20.0, cq.Vector(0, 0, 0), cq.Vector(0, 0, 1), 90.0)
    (face,) = (f for f in as_bsplines(quarter).Faces() if min(f.Center().x, f.Center().y) > 5.0)
    assert clip_line(face.wrapped, [(-7.0710678, -7.0710678, 1.0), (-7.0710678, -7.0710678, 19.0)]) == []
    (line,) = clip_line(face.wrapped, [(7.0710678, 7.0710678, -4.0), (7.0710678, 7.0710678, 25.0)])
    assert (line[2], line[-1]) == pytest.approx((0.0, 20.0), abs=1e-6)
