"""What looks like an end and is none, and ends that look like two: known dimensions, lengths mm."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import cadquery as cq
import pytest

from parametric_models.adapters import Holes
from parametric_models.adapters.features import cylinder
from parametric_models.faces import moved
from parametric_models.machines import MachineBody, ShaftEnd, actuator, motor

V = cq.Vector
SQUARE = Holes(layout="square", size=(47.14,), diameter=4.5, depth=10.0)
R = 47.14 / sqrt(2.0)
"""Distance of the square's holes from its middle."""

OTHERS = {
    "3 holes farther in": Holes(layout="circle", size=(44.0,), diameter=4.5, depth=10.0, count=3, start_angle=10.0),
    "4 holes 0.35 farther out": Holes(layout="circle", size=(2.0 * R + 0.7,), diameter=4.5, depth=10.0, count=4),
    "4 holes of another size": Holes(layout="circle", size=(2.0 * R + 0.1,), diameter=5.5, depth=10.0, count=4),
    "6 narrower holes 0.3 farther in": Holes(layout="circle", size=(2.0 * R - 0.6,), diameter=3.3, depth=10.0, count=6),
}


@pytest.mark.parametrize("place", [(0.0, 0.0, 0.0), (300.0, -20.0, 1000.0)])
@pytest.mark.parametrize("name", OTHERS)
def test_two_bolt_patterns_about_one_bore(measured, bench, name, place):
    other = OTHERS[name]
    part = bench.housing(size=82.0, motor=replace(bench.motor, holes=(SQUARE, other)))
    found = measured(moved(part, place, (1.0, 2.0, 3.0), 25.0) if any(place) else part)
    end = next(end for end in found.ends if abs(end.pilot.diameter - 38.1) < 0.01)
    shown = {(bolts.layout, bolts.count, round(bolts.size[0], 4), round(bolts.hole, 4)) for bolts in end.bolts}
    # Four holes on a circle are a square, whose side is the diameter over root 2.
    second = (
        ("square", 4, round(other.size[0] / sqrt(2.0), 4))
        if other.count == 4
        else ("circle", other.count, other.size[0])
    )
    assert shown == {("square", 4, 47.14, 4.5), (second[0], second[1], round(second[2], 4), other.diameter)}


def test_a_square_beside_the_axis_stays_one_pattern(measured, bench):
    holes = [cq.Solid.makeCylinder(2.25, 10.0, V(x + 0.2, y + 0.1, 0.0)) for x, y in SQUARE.centres()]
    part = bench.without(*holes, motor=replace(bench.motor, holes=()))
    (bolts,) = next(end for end in measured(part).ends if abs(end.pilot.diameter - 38.1) < 0.01).bolts
    assert (bolts.layout, bolts.count) == ("square", 4)
    assert bolts.size == pytest.approx((47.14,), abs=1e-6)


@pytest.fixture(scope="module")
def clamp_ring():
    """A split ring with a recess and four holes on a circle: much like a small mount."""
    holes = [
        cq.Solid.makeCylinder(2.25, 12.0, V(x, y, 0.0))
        for x, y in Holes(layout="square", size=(22.6,), diameter=4.5).centres()
    ]
    slit = cq.Solid.makeBox(30.0, 1.5, 12.0, V(0.0, -0.75, 0.0))
    (ring,) = cylinder(44.0, 0.0, 12.0).cut(cylinder(20.0, 0.0, 12.0), cylinder(24.0, 0.0, 2.0), slit, *holes).Solids()
    return ring


MOTOR = MachineBody(
    flange_size=(56.4, 56.4), flange_thickness=5.0, body_size=(54.0, 54.0), body_length=70.0, register_diameter=38.0,
    register_height=1.6, holes=(replace(SQUARE, depth=None),), shaft=ShaftEnd(diameter=8.0, length=21.0),
)  # fmt: skip
ACTUATOR = MachineBody(
    flange_size=(58.0, 58.0), flange_thickness=10.0, body_size=(58.0, 40.0), body_length=140.0, register_diameter=33.9,
    register_height=2.0, shaft=ShaftEnd(diameter=10.0, length=20.0),
)  # fmt: skip
NAMES = [("adapter", "motor", "actuator", "clamp ring"), ("Body1", "Body2", "Body3", "Body4"), ("a", "motor", "b", "c")]


@pytest.mark.parametrize("names", NAMES, ids=" ".join)
@pytest.mark.parametrize("place", [(120.0, 0.0, 0.0), (0.0, 0.0, 210.0)], ids=["beside", "behind the actuator"])
def test_a_clamp_ring_is_no_mount(measured, bench, clamp_ring, names, place):
    bodies = [bench.housing(), motor(MOTOR), actuator(ACTUATOR, 60.0), moved(clamp_ring, place)]
    found = measured(bench.assembly(dict(zip(names, bodies, strict=True))))
    first, second = sorted(found.ends, key=lambda end: -end.pilot.diameter)
    assert (first.pilot.diameter, second.pilot.diameter) == pytest.approx((38.1, 34.0), abs=1e-6)
    assert abs(first.seat - second.seat) == pytest.approx(60.0, abs=1e-6)
    assert [body.role for body in found.bodies].index("adapter") == 0
    assert [body.role for body in found.bodies].count("adapter") == 1
    assert not any("overlap" in text for text in found.warnings)


@pytest.mark.parametrize("named", [True, False])
def test_unrelated_bodies_change_nothing(measured, bench, clamp_ring, named):
    strangers = {
        "cable": cylinder(8.0, 0.0, 50.0, -100.0, 0.0), "label": cq.Solid.makeBox(30.0, 20.0, 0.5, V(60.0, 60.0, 60.0)),
        "ball": cq.Solid.makeSphere(9.0, V(0.0, 200.0, 0.0), V(0.0, 0.0, 1.0), -90, 90, 360),
        "ring": moved(clamp_ring, (150.0, 0.0, 0.0), (1.0, 0.0, 0.0), 30.0),
    }  # fmt: skip
    bodies = {"adapter": bench.housing(), **strangers}
    if not named:
        bodies = {f"B{index}": body for index, body in enumerate(bodies.values())}
    found = measured(bench.assembly(bodies))
    alone = measured(bench.housing(), name="alone")
    assert [end.pilot.diameter for end in found.ends] == [end.pilot.diameter for end in alone.ends]
    assert found.free_radius.least == pytest.approx(13.0, abs=1e-6)
    assert [body.role for body in found.bodies].count("adapter") == 1


@pytest.mark.parametrize(("length", "ends"), [(12.0, 1), (70.0, 2)])
def test_the_far_face_of_a_tube_on_tie_rods_is_an_end_and_a_flange_s_back_is_none(measured, length, ends):
    # A pilot of 50 x 3 on one face, a plain bore of 30 that opens on the other, and four holes right through.
    part = cq.Workplane().box(80.0, 80.0, length, centered=(True, True, False)).val()
    holes = [
        cylinder(5.5, -1.0, length + 1.0, x, y) for x, y in Holes(layout="square", size=(60.0,), diameter=5.5).centres()
    ]
    (part,) = part.cut(cylinder(50.0, -1.0, 3.0), cylinder(30.0, 2.0, length + 1.0), *holes).Solids()
    found = measured(part)
    assert len(found.ends) == ends
    assert found.ends[0].pilot.diameter == pytest.approx(50.0, abs=1e-6)
    if ends == 2:
        assert found.ends[1].seat == pytest.approx(length, abs=1e-6)
        assert found.ends[1].opening.diameter == pytest.approx(30.0, abs=1e-6)


@pytest.mark.parametrize(
    "names", [("adapter", "ball bearing", "screw spindle", "motor"), ("A", "B", "C", "D")], ids=" ".join
)
def test_a_collar_on_the_ring_of_a_bearing_is_no_machine_on_a_seat(measured, bench, names):
    # The bearing of 30 x 10 sits in the adapter, level with the pilot's floor, on which the spindle's collar lies too.
    part = bench.without(cylinder(30.0, 46.5, 57.0))
    (bearing,) = cylinder(30.0, 46.5, 56.5).cut(cylinder(15.0, 40.0, 60.0)).Solids()
    spindle = cylinder(10.0, 36.0, 46.0).fuse(cylinder(15.0, 45.0, 110.0), cylinder(22.0, 56.5, 62.0)).clean()
    found = measured(bench.assembly(dict(zip(names, [part, bearing, spindle, motor(MOTOR)], strict=True))))
    first, second = found.ends
    assert (second.seat, second.pilot.diameter, second.pilot.depth) == pytest.approx((60.0, 34.0, 3.5), abs=1e-6)
    assert second.bolts[0].count == 6
    assert (first.shaft.diameter, second.shaft.diameter, second.shaft.end) == pytest.approx((8.0, 10.0, 36.0), abs=1e-6)


def test_candidates_are_listed_without_negative_zeros(measured, bench):
    plate = cq.Workplane().box(240.0, 80.0, 12.0, centered=(True, True, False)).val()
    cuts = []
    for middle in (-60.0, 60.0):
        cuts += [cylinder(38.1, -1.0, 2.0, middle), cylinder(30.0, -1.0, 13.0, middle)]
        cuts += [cylinder(4.5, -1.0, 13.0, middle + x, y) for x, y in SQUARE.centres()]
    (made,) = plate.cut(*cuts).Solids()
    found = measured(moved(made, (0.0, 0.0, 0.0), (0.0, 1.0, 0.0), -90.0))
    assert len(found.candidates) == 2
    (words,) = found.warnings
    assert "along [1.0000, 0.0000, 0.0000]" in words
