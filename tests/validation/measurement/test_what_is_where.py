"""What `measure` tells of bodies, windows and holes: boxes, distances, contacts, openings and depths as built.

Truths are the generators' parameters, the CAD kernel's own boxes (`BRepBndLib.AddOptimal`) and its exact distances.
"""

from __future__ import annotations

import math
import random
from dataclasses import replace

import cadquery as cq
import numpy as np
import pytest

from fitcheck.measurement.roles import flipped
from fitcheck.report.measure_text import measure_text
from parametric_models.adapters import Holes, Housing, Seat, Window, housing
from parametric_models.adapters.features import round_window
from parametric_models.faces import as_bsplines, mirrored

MOTOR = Seat(
    pilot_diameter=38.1, pilot_depth=2.5, opening_diameter=34.0, opening_length=3.0,
    holes=(Holes(layout="square", size=(47.14,), diameter=4.5, depth=10.0),),
)  # fmt: skip
ACTUATOR = Seat(
    pilot_diameter=36.0, pilot_depth=2.5, opening_diameter=30.0, opening_length=3.0,
    holes=(Holes(layout="circle", size=(50.0,), diameter=3.3, depth=7.0, start_angle=45.0),),
)  # fmt: skip
BODY = Housing(length=60.0, size=62.0, chamber_diameter=36.0, motor=MOTOR, actuator=ACTUATOR)
RADIUS = 18.0


def motion(seed):
    rng = random.Random(seed)
    axis, turn = [rng.gauss(0, 1) for _ in range(3)], rng.uniform(0, 360)
    shift = [rng.uniform(-90, 90) for _ in range(3)]
    return lambda shape: shape.rotate(cq.Vector(), cq.Vector(*axis), turn).translate(cq.Vector(*shift))


def kernel_box(shape):
    from OCP.Bnd import Bnd_Box
    from OCP.BRepBndLib import BRepBndLib

    box = Bnd_Box()
    BRepBndLib.AddOptimal_s(shape.wrapped, box, False, False)
    return tuple(box.CornerMin().Coord()), tuple(box.CornerMax().Coord())


def things():
    """Bodies beside and about an adapter, with their places."""
    return {
        "adapter": housing(BODY),
        "block": cq.Solid.makeBox(20, 30, 8, cq.Vector(31, -15, 10)),
        "ball": cq.Solid.makeSphere(6.0, angleDegrees1=-90, angleDegrees2=90).translate(cq.Vector(0, 80, 20)),
        "pin": cq.Solid.makeCylinder(3.0, 15.0, cq.Vector(50, 0, 40), cq.Vector(1, 1, 0.3)),
        "ring": cq.Solid.makeTorus(9.0, 2.0, cq.Vector(0, -70, 10), cq.Vector(0.2, 1, 0)),
        "lid": cq.Solid.makeBox(62, 62, 5, cq.Vector(-31, -31, 60)),
    }


@pytest.mark.parametrize("seed", [None, 1, 2])
def test_boxes_and_distances_of_bodies(measured, distance_to, seed):
    move = motion(seed) if seed else (lambda shape: shape)
    bodies = {name: move(shape) for name, shape in things().items()}
    whole = cq.Assembly(name="file")
    for name, shape in bodies.items():
        whole.add(shape, name=name)
    found = measured(whole, name="places")
    told = {body.name.split("/")[-1]: body for body in found.bodies}
    line = np.linspace(-400.0, 400.0, 1601)
    for name, shape in bodies.items():
        low, high = kernel_box(shape)
        told_box, exact_box = (*told[name].box[0], *told[name].box[1]), (*low, *high)
        for mine, theirs, side in zip(told_box, exact_box, (-1, -1, -1, 1, 1, 1), strict=True):
            # Never too small; turned balls and rings by the bounds of their faces, which are a little too large.
            assert side * (mine - theirs) >= -1e-3, name
            if name not in ("ball", "ring"):
                assert mine == pytest.approx(theirs, abs=1e-3), name
            elif seed is None and name == "ball":
                assert mine == pytest.approx(theirs, abs=1e-3)
        exact = min(distance_to(shape, found.point(float(s))) for s in line[::8])
        if name == "adapter":
            exact = 15.0  # the narrower opening
        if name == "lid":
            exact = 0.0  # it lies across the axis
        assert told[name].distance <= exact + 1e-3, name
        if name in ("adapter", "block", "lid"):
            assert told[name].distance == pytest.approx(exact, abs=0.02 if name == "block" else 1e-3), name
    names = [body.name.split("/")[-1] for body in found.bodies]
    touching = {name: {names[i] for i in told[name].touches} for name in names}
    assert touching["adapter"] == {"block", "lid"}
    assert touching["block"] == touching["lid"] == {"adapter"}
    assert touching["ball"] == touching["pin"] == touching["ring"] == set()


# The window's middle lies `offset` beside the axis: it reaches from offset - w/2 to offset + w/2 there.
@pytest.mark.parametrize("angle", [0.0, 75.0, 200.0])
@pytest.mark.parametrize(("offset", "size"), [(0.0, 12.0), (6.0, 12.0), (-5.0, 14.0)])
@pytest.mark.parametrize("kind", ["round", "rectangular"])
def test_a_window_is_told_as_it_was_cut(measured, angle, offset, size, kind):
    window = round_window(25.0, size, offset=offset, angle=angle)
    if kind == "rectangular":
        window = Window(station=25.0, length=16.0, width=size, offset=offset, angle=angle, corner_radius=1.0)
    found = measured(housing(replace(BODY, windows=(window,))), name="window")
    if found.ends[0].pilot.diameter < 37.0:
        found = flipped(found, found.ends[1].seat)
    (told,) = found.windows
    length = size if kind == "round" else 16.0
    assert (told.start, told.stop) == pytest.approx((25.0 - length / 2, 25.0 + length / 2), abs=0.06)
    first, last = (math.degrees(math.asin((offset + side * size / 2) / RADIUS)) for side in (-1, 1))
    assert told.opens == pytest.approx(last - first, abs=0.6)
    middle = angle + 0.5 * (first + last)
    assert abs((told.angle - middle + 180.0) % 360.0 - 180.0) < 0.4
    # The direction is the shaft angle as a vector of the file.
    at = np.array(found.point(0.0, 1.0, told.angle)) - np.array(found.point(0.0))
    assert told.direction == pytest.approx(tuple(at), abs=1e-9)


@pytest.mark.parametrize("way", ["moved", "mirrored", "splines"])
def test_windows_of_a_moved_mirrored_and_converted_file(measured, way):
    windows = (round_window(15.0, 12.0, angle=40.0), round_window(44.0, 10.0, angle=190.0))
    model = housing(replace(BODY, windows=windows))
    model = {"moved": motion(5), "mirrored": lambda s: mirrored(s, "XZ"), "splines": as_bsplines}[way](model)
    found = measured(model, name="moved")
    spans = sorted(round(window.stop - window.start, 1) for window in found.windows)
    assert spans == [10.0, 12.0]
    apart = abs(found.windows[0].angle - found.windows[1].angle) % 360.0
    assert min(apart, 360.0 - apart) == pytest.approx(150.0, abs=0.5)
    assert "Windows of the chamber" in measure_text(found)


def test_a_chamber_without_a_window_has_none(measured):
    assert measured(housing(BODY), name="closed").windows == ()


@pytest.mark.parametrize("depth", [6.0, 12.0, None])
@pytest.mark.parametrize("side", ["motor", "actuator"])
def test_holes_are_as_deep_as_they_were_drilled(measured, depth, side):
    seat = {"motor": MOTOR, "actuator": ACTUATOR}[side]
    holes = tuple(replace(pattern, depth=depth) for pattern in seat.holes)
    made = replace(BODY, **{side: replace(seat, holes=holes)})
    found = measured(housing(made), name="holes")
    end = next(end for end in found.ends if end.pilot.diameter == pytest.approx(seat.pilot_diameter))
    (pattern,) = [p for p in end.bolts if p.hole == pytest.approx(holes[0].diameter)]
    assert pattern.through is (depth is None)
    if depth is not None:
        assert pattern.depth == pytest.approx(depth, abs=1e-6)
        assert f"{depth:g} deep, blind" in measure_text(found)


def test_a_drilled_point_is_no_part_of_the_depth(measured):
    body = cq.Workplane("XY").rect(62, 62).extrude(30).cut(cq.Workplane("XY").circle(19.05).extrude(2.5))
    body = body.cut(cq.Workplane("XY").circle(15).extrude(30))
    for x in (-23.57, 23.57):
        for y in (-23.57, 23.57):
            drill = cq.Solid.makeCylinder(2.1, 9.0, cq.Vector(x, y, 0))
            body = body.cut(drill).cut(cq.Solid.makeCone(2.1, 0.0, 1.2, cq.Vector(x, y, 9.0)))
    (pattern,) = [p for end in measured(body.val(), name="drilled").ends for p in end.bolts]
    assert (pattern.through, pattern.depth) == (False, pytest.approx(9.0, abs=1e-6))
