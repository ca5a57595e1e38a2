"""The oblique end of a pin beside the axis was dropped as hidden: least free radius up to 0.53 mm too large.

Its edge closes on itself, and how far its coarse samples may stray was taken from the distance of its ends, which is 0.
Free forms that rise higher than their rim is wide were dropped likewise, by the width of the rim. Held against the CAD
kernel's exact distances, and for the paraboloid against its own height.
"""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import cadquery as cq
import pytest

from fitcheck.measurement.obstacles import least_radius
from fitcheck.measurement.reach import Envelope
from fitcheck.measurement.survey import Edge, Survey, SurveyBody
from fitcheck.measurement.trace import Tracer
from fitcheck.measurement.vectors import frame_on
from parametric_models.adapters import Holes, Housing, Seat, Window, housing
from parametric_models.faces import as_bsplines, mirrored, moved

SEAT = Seat(
    pilot_diameter=38.0, pilot_depth=2.5, opening_diameter=30.0, opening_length=3.0,
    holes=(Holes(layout="square", size=(47.14,), diameter=4.5, depth=10.0),),
)  # fmt: skip
BODY = Housing(length=60.0, size=62.0, chamber_diameter=36.0, motor=SEAT, actuator=SEAT)


def with_pin(radius, away, lean, stop):
    """A pin parallel to the axis, `away` beside it, that ends at `stop` in a plane that leans by `lean` degrees."""
    pin = cq.Solid.makeCylinder(radius, 80.0, cq.Vector(away, 0, 0))
    knife = cq.Workplane("XY").box(200, 200, 100).val().translate(cq.Vector(0, 0, 50))
    knife = knife.rotate(cq.Vector(0, 0, 0), cq.Vector(0, 1, 0), lean).translate(cq.Vector(away, 0, stop))
    pin = pin.cut(knife)
    # Held by a bridge to the chamber's wall, low down.
    bridge = cq.Workplane("XY").box(22, 4, 6, centered=(False, True, False)).val().translate(cq.Vector(away, 0, 8))
    return housing(BODY).fuse(pin.intersect(cq.Solid.makeCylinder(100, 90, cq.Vector(0, 0, 8)))).fuse(bridge).clean()


@pytest.mark.parametrize(
    ("radius", "lean", "way"),
    [
        (2.0, 45.0, "as built"),
        (2.0, -45.0, "mirrored"),
        (3.5, 60.0, "moved"),
        (1.2, -60.0, "as splines"),
        (2.5, 20.0, "moved"),
    ],
)
def test_the_oblique_end_of_a_pin_is_followed(measured, exact_radius, radius, lean, way):
    model = with_pin(radius, 11.0, lean, 30.0).Solids()[0]
    model = {
        "as built": lambda: model, "mirrored": lambda: mirrored(model, "YZ"), "as splines": lambda: as_bsplines(model),
        "moved": lambda: moved(model, (12.0, -7.0, 33.0), axis=(1.0, 2.0, 0.5), angle=77.0),
    }[way]()  # fmt: skip
    found = measured(model, name="pin")
    # Stations of the pin's end; where the file's first end is the other one, they are counted from there.
    for slab in ((24.0, 36.0), (28.5, 29.0), (29.9, 30.1), (30.5, 31.0), (32.05, 34.0)):
        told = least_radius(found.obstacles, *slab).radius
        exact = exact_radius(model, found.drive_axis, *slab)
        assert told <= exact + 1e-3, slab
        # Free forms may be told up to 3.7 µm too near.
        assert told >= exact - 5e-3, slab


def in_a_window(radius, inside, lean, about):
    """A pin that stands in a wide window and reaches `inside` into the chamber, no farther; its end leans."""
    away = 18.0 - inside + radius
    window = Window(station=32.0, length=36.0, width=34.0, corner_radius=2.0)
    body = housing(replace(BODY, size=90.0, windows=(window,)))
    pin = cq.Solid.makeCylinder(radius, 40.0, cq.Vector(away, 0, 8.0))
    knife = cq.Workplane("XY").box(300, 300, 200).val().translate(cq.Vector(0, 0, 100))
    along = cq.Vector(math.sin(math.radians(about)), math.cos(math.radians(about)), 0)
    knife = knife.rotate(cq.Vector(0, 0, 0), along, lean).translate(cq.Vector(away, 0, 30.0))
    # The pin's nearest line ends where the plane meets it: the plane rises by tan(lean) away from its line.
    low = 30.0 + radius * math.cos(math.radians(about)) * math.tan(math.radians(lean))
    return body.fuse(pin.cut(knife)).clean().Solids()[0], low


@pytest.mark.parametrize(
    ("radius", "lean", "about"),
    [(3.0, 40.0, 0.0), (8.0, -40.0, 33.0), (8.0, 55.0, -71.0), (3.0, -40.0, -71.0), (8.0, 40.0, 33.0)],
)
def test_an_oblique_end_just_inside_the_chamber_counts(measured, exact_radius, radius, lean, about):
    inside = 0.012 * radius
    model, low = in_a_window(radius, inside, lean, about)
    found = measured(model, name="window-pin")
    for slab in ((low - 0.4, low - 0.05), (low - 0.2, low + 0.2), (low + 0.05, low + 0.4)):
        told = least_radius(found.obstacles, *slab).radius
        exact = exact_radius(model, found.drive_axis, *slab)
        assert told == pytest.approx(exact, abs=1e-3), slab


@pytest.mark.parametrize(("rim", "height"), [(1.5, 9.0), (2.5, 8.0), (4.0, 6.0)])
def test_a_dome_that_rises_higher_than_its_rim_is_wide(measured, rim, height):
    # A paraboloid on the chamber's wall, towards the axis; its top is a point of known distance.
    spline = cq.Edge.makeSpline([cq.Vector(rim * t / 20, 0, height * (1 - (t / 20) ** 2)) for t in range(21)])
    outline = cq.Wire.assembleEdges([
        spline, cq.Edge.makeLine(cq.Vector(rim, 0, 0), cq.Vector(0, 0, 0)),
        cq.Edge.makeLine(cq.Vector(0, 0, 0), cq.Vector(0, 0, height)),
    ])  # fmt: skip
    bump = cq.Solid.revolve(outline, [], 360.0, cq.Vector(0, 0, 0), cq.Vector(0, 0, 1))
    # Its axis square to the drive axis, its top `height` inside a wall that is flat there.
    wall = 16.0
    seat = cq.Workplane("XY").box(6, 14, 14).val().translate(cq.Vector(wall + 3.0, 0, 30))
    turned = bump.rotate(cq.Vector(0, 0, 0), cq.Vector(0, 1, 0), -90).translate(cq.Vector(wall, 0, 30))
    model = as_bsplines(housing(BODY).fuse(seat).fuse(turned).clean().Solids()[0])
    found = measured(model, name="dome")
    told = least_radius(found.obstacles, 20.0, 40.0).radius
    assert wall - height - 5e-3 <= told <= wall - height + 1e-3


@pytest.mark.parametrize("radius", [4.0, 8.0, 28.0])
@pytest.mark.parametrize("half", [False, True])
def test_a_loop_between_whose_samples_the_nearest_point_lies_is_followed(radius, half):
    # Sixteen steps round a leaning ellipse, the nearest point of which lies midway between two of them: by r (1 - cos
    # 11.25 degrees) nearer than they are. A chamber of 18 hides what lies beyond it, and nothing of this loop.
    near = 18.0 - 0.3 * radius * (1.0 - math.cos(math.pi / 16))
    centre, turns = near + radius, [math.pi + math.pi / 16 + k * math.pi / 8 for k in range(17)]
    points = [(centre + radius * math.cos(t), radius * math.sin(t), 30.0 + 0.3 * radius * math.sin(t)) for t in turns]
    points = points[:9] if half else points
    edge = Edge(0, "other", a=points[0], b=points[-1], points=tuple(points))
    body = SurveyBody(0, "body", ("body",), None, True)
    survey = Survey(units=("mm",), bodies=[body], faces=[], edges=[edge])
    tracer = Tracer(survey, frame_on((0.0, 0.0, 0.0), (0.0, 0.0, 1.0)), ask=lambda phase, request: ({}, []))
    face = SimpleNamespace(body=0, gap=0.0)
    tracer._trace_edge(edge, face, Envelope([[(-100.0, 18.0, 0.0), (200.0, 18.0, 0.0)]]))
    assert [kept.index for kept, _ in tracer._sampled] == [0]
    # What stays well outside is hidden still.
    outside = [(x + 2.0 * radius, y, z) for x, y, z in points]
    far = Edge(1, "other", a=outside[0], b=outside[-1], points=tuple(outside))
    tracer._trace_edge(far, face, Envelope([[(-100.0, 18.0, 0.0), (200.0, 18.0, 0.0)]]))
    assert len(tracer._sampled) == 1
