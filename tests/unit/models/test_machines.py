"""Motors and actuators against closed forms."""

from dataclasses import replace
from math import acos, pi, sqrt

import cadquery as cq
import pytest
from OCP.BRepGProp import BRepGProp
from OCP.GProp import GProp_GProps
from scipy.integrate import quad

from parametric_models.adapters import Holes
from parametric_models.machines import (
    Keyseat,
    MachineBody,
    ShaftEnd,
    ShaftFlat,
    actuator,
    actuator_parts,
    motor,
    motor_parts,
    shaft_end,
)


def disc(diameter: float, length: float) -> float:
    return pi / 4 * diameter**2 * length


SHAFT = ShaftEnd(diameter=8.0, length=21.0)
MOTOR = MachineBody(
    flange_size=(56.4, 56.4), flange_thickness=5.0, body_size=(54.0, 54.0), body_length=70.0, body="round",
    register_diameter=38.1, register_height=1.6, holes=(Holes(layout="square", size=(47.14,), diameter=5.1),),
    shaft=SHAFT,
)  # fmt: skip
BLOCK = 56.4**2 * 5 + disc(54, 70) + disc(38.1, 1.6) - 4 * disc(5.1, 5)


def test_motor_is_flange_body_register_and_shaft():
    made = motor(MOTOR)
    assert made.isValid()
    assert made.Volume() == pytest.approx(BLOCK + disc(8, 21 - 1.6), rel=1e-9)
    box = made.BoundingBox()
    assert (box.zmin, box.zmax) == pytest.approx((-75.0, 21.0), abs=1e-6)


def test_parts_of_a_motor_do_not_touch():
    parts = motor_parts(MOTOR)
    assert list(parts) == ["housing", "shaft"]
    assert all(part.isValid() for part in parts.values())
    # The passage is 1 mm wider all around and 1 mm deeper than the shaft, which starts 8 below the seat.
    assert parts["housing"].Volume() == pytest.approx(BLOCK - disc(10, 9 + 1.6), rel=1e-9)
    assert parts["shaft"].Volume() == pytest.approx(disc(8, 29), rel=1e-9)
    assert parts["housing"].distance(parts["shaft"]) == pytest.approx(1.0)


def test_actuator_stands_on_its_seat_and_looks_at_the_motor():
    made = actuator(MOTOR, 58.0, offset=(0.0, 0.1))
    box = made.BoundingBox()
    assert (box.zmin, box.zmax) == pytest.approx((58.0 - 21.0, 58.0 + 75.0), abs=1e-6)
    assert made.Center().y == pytest.approx(0.1, abs=1e-6)
    assert made.Volume() == pytest.approx(motor(MOTOR).Volume(), rel=1e-12)
    tilted = actuator_parts(replace(MOTOR), 58.0, tilt=0.5)["shaft"]
    along = cq.Vector(tilted.Center().x, tilted.Center().y, tilted.Center().z - 58.0)
    assert along.getAngle(cq.Vector(0, 0, -1)) == pytest.approx(0.5 * pi / 180)


def test_shaft_chamfer_takes_a_ring():
    # Frustum of height c from radius r to r - c.
    r, c = 4.0, 0.5
    end = pi * c / 3 * (r * r + r * (r - c) + (r - c) ** 2)
    assert shaft_end(replace(SHAFT, chamfer=c)).Volume() == pytest.approx(disc(8, 20.5) + end, rel=1e-9)


def test_shaft_flat_takes_a_circular_segment():
    # Segment beyond the distance d from the centre: r² acos(d/r) - d sqrt(r² - d²); the flat is at height - r = 3.5.
    r, d = 4.0, 3.5
    segment = r * r * acos(d / r) - d * sqrt(r * r - d * d)
    made = shaft_end(replace(SHAFT, flat=ShaftFlat(length=15.0, height=7.5)))
    assert made.isValid()
    assert made.Volume() == pytest.approx(disc(8, 21) - 15 * segment, rel=1e-9)
    flat = next(f for f in made.Faces() if f.geomType() == "PLANE" and abs(f.normalAt().x) > 0.9)
    assert flat.Center().x == pytest.approx(3.5)


@pytest.mark.parametrize("from_end", [0.0, 2.0])
def test_keyseat_takes_a_slot_with_round_ends(from_end):
    # At y the slot takes sqrt(r² - y²) - (r - depth) radially over its length there: one or two ends are half circles.
    r, w, depth, length = 4.0, 2.0, 1.2, 10.0
    ends = 1 if from_end == 0.0 else 2

    def slice_area(y: float) -> float:
        straight = length - ends * w / 2
        return (sqrt(r * r - y * y) - (r - depth)) * (straight + ends * sqrt(w * w / 4 - y * y))

    taken, _ = quad(slice_area, -w / 2, w / 2, epsabs=1e-10)
    made = shaft_end(replace(SHAFT, keyseat=Keyseat(width=w, depth=depth, length=length, from_end=from_end)))
    assert made.isValid()
    found = GProp_GProps()
    BRepGProp.VolumeProperties_s(made.wrapped, found, 1e-9, True, True)
    assert disc(8, 21) - found.Mass() == pytest.approx(taken, rel=1e-7)


@pytest.mark.parametrize(
    ("make", "text"),
    [
        (lambda: replace(SHAFT, chamfer=4.0), "shaft chamfer is 4 mm; it must be at least 0 mm and at most 3.99 mm"),
        (
            lambda: replace(SHAFT, flat=ShaftFlat(length=25.0, height=7.5)),
            "flat length is 25 mm; it must be more than 0 mm and at most 21 mm",
        ),
        (
            lambda: replace(SHAFT, flat=ShaftFlat(length=15.0, height=3.0)),
            "flat height is 3 mm; it must be more than 4 mm and at most 7.99 mm",
        ),
        (
            lambda: replace(SHAFT, keyseat=Keyseat(width=9.0, depth=1.2, length=10.0)),
            "keyseat width is 9 mm; it must be more than 0 mm and at most 7.9 mm",
        ),
        (
            lambda: replace(MOTOR, register_diameter=9.0),
            "register_diameter is 9 mm; it must be more than 10 mm and at most 56.4 mm",
        ),
        (lambda: replace(MOTOR, body="oval"), "body is 'oval'; it must be one of square, round"),
        (lambda: replace(MOTOR, body_length=4.0), "body_length is 4 mm; it must be at least 8 mm"),
    ],
)
def test_impossible_machines_are_refused(make, text):
    with pytest.raises(ValueError, match=text):
        make()
