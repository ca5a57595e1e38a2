"""Bodies that overlap in the model are told with their depth; bodies that touch are not. Depths are in closed form."""

from __future__ import annotations

import re
from dataclasses import replace

import cadquery as cq
import pytest

from fitcheck.measurement.options import MeasureOptions
from parametric_models.adapters import Holes
from parametric_models.adapters.features import cylinder
from parametric_models.faces import as_bsplines, moved
from parametric_models.machines import MachineBody, ShaftEnd, actuator, motor

V = cq.Vector
MOTOR = MachineBody(
    flange_size=(56.4, 56.4), flange_thickness=5.0, body_size=(54.0, 54.0), body_length=70.0, register_diameter=38.0,
    register_height=1.6, holes=(Holes(layout="square", size=(47.14,), diameter=5.0),),
    shaft=ShaftEnd(diameter=8.0, length=21.0),
)  # fmt: skip
ACTUATOR = MachineBody(
    flange_size=(58.0, 58.0), flange_thickness=10.0, body_size=(58.0, 40.0), body_length=140.0, register_diameter=33.9,
    register_height=2.0, shaft=ShaftEnd(diameter=10.0, length=20.0),
)  # fmt: skip


@pytest.fixture
def drive(bench):
    def build(**bodies):
        whole = {"adapter": bench.housing(), "motor": motor(MOTOR), "actuator": actuator(ACTUATOR, 60.0)}
        return bench.assembly({**whole, **bodies})

    return build


def told(found):
    """What is said of overlaps: a depth for each pair of names."""
    (text,) = [text for text in found.warnings if text.startswith("bodies overlap")] or [""]
    pairs = re.findall(r"'([^']*)' and '([^']*)' by at least ([\d.]+) mm", text)
    return {frozenset(pair[:2]): float(pair[2]) for pair in pairs}


def test_a_drive_whose_bodies_touch_and_fit_has_none(measured, drive):
    assert told(measured(drive())) == {}
    # A register and a shaft that fit line to line, as they are often drawn.
    line = motor(replace(MOTOR, register_diameter=38.1))
    hub = cylinder(20.0, 8.0, 20.0).cut(cylinder(8.0, 8.0, 20.0))
    assert told(measured(drive(motor=line, coupling=hub))) == {}


@pytest.mark.parametrize("dress", [lambda body: body, as_bsplines], ids=["as built", "b-splines"])
def test_a_register_that_is_too_wide(measured, drive, dress):
    # 38.3 in a pilot of 38.1.
    found = measured(drive(motor=dress(motor(replace(MOTOR, register_diameter=38.3)))))
    assert told(found) == {frozenset({"adapter", "motor"}): pytest.approx(0.1, abs=2e-3)}
    assert "may not be what will be built" in found.warnings[-1]


@pytest.mark.parametrize("away", [(0.0, 0.0, 0.5), (0.0, 0.0, 8.0), (1.0, 0.0, 0.0), (0.0, -0.5, 0.0)])
def test_a_motor_that_is_pushed_into_the_adapter(measured, drive, away):
    found = measured(drive(motor=moved(motor(MOTOR), away)), MeasureOptions(motor=("motor",)))
    (depth,) = told(found).values()
    assert 0.2 <= depth <= max(abs(value) for value in away)


def test_a_pin_through_the_wall_by_nothing_but_its_own_seam(measured, drive):
    # No rim of the pin lies in the wall, which reaches from radius 18 to 31.
    pin = cq.Solid.makeCylinder(3.0, 20.0, V(16.0, 0.0, 30.0), V(1.0, 0.0, 0.0))
    (depth,) = told(measured(drive(pin=pin))).values()
    # A point of the pin can be no deeper in the wall than half its thickness.
    assert 1.0 <= depth <= 6.5


def test_a_shaft_in_a_hub_that_is_too_narrow(measured, drive):
    hub = cylinder(20.0, 8.0, 20.0).cut(cylinder(7.9, 8.0, 20.0))
    assert told(measured(drive(coupling=hub))) == {frozenset({"motor", "coupling"}): pytest.approx(0.05, abs=1e-6)}


def test_a_body_within_another(measured, drive):
    ball = cq.Solid.makeSphere(2.0, V(26.0, 26.0, 30.0), V(0.0, 0.0, 1.0), -90, 90, 360)
    (depth,) = told(measured(drive(insert=ball))).values()
    # The ball's points lie 3 to 7 under the two walls at x = 31 and y = 31.
    assert 3.0 <= depth <= 7.0


def test_the_same_body_twice_at_one_place(measured, drive, bench):
    found = measured(drive(**{"adapter copy": bench.housing()}))
    assert any("'adapter' and 'adapter copy' are the same body twice" in text for text in found.warnings)


def test_bodies_of_one_machine_and_ignored_ones_are_not_compared(measured, drive):
    screw = cylinder(4.0, -40.0, -10.0, 10.0, 10.0)
    found = measured(drive(**{"motor screw": screw, "cable": cylinder(6.0, 20.0, 90.0, 28.0, 0.0)}),
                     MeasureOptions(ignore=("cable",)))  # fmt: skip
    assert told(found) == {}


def test_it_is_told_without_a_drive_axis_too(measured, bench):
    block = cq.Solid.makeBox(40.0, 40.0, 40.0)
    found = measured(bench.assembly({"one": block, "two": block.translate(V(30.0, 30.0, 30.0))}))
    assert found.drive_axis is None
    # Two corners of cubes that share a cube of 10: the middle lies 5 deep, the corners and edges less.
    (depth,) = told(found).values()
    assert 1.0 <= depth <= 10.0
