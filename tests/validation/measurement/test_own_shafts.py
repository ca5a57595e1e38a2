"""Actuators exported as one solid whose own body forms the chamber, and rings that are no shafts. Lengths mm."""

from __future__ import annotations

import cadquery as cq
import pytest

from parametric_models.adapters import Holes
from parametric_models.adapters.features import cylinder
from parametric_models.faces import as_bsplines, moved, split_cylinders
from parametric_models.machines import MachineBody, ShaftEnd, motor

SQUARE = Holes(layout="square", size=(47.14,), diameter=4.2)
CIRCLE = Holes(layout="circle", size=(69.0,), diameter=4.5, count=6)
RELIEF = cylinder(22.0, 0.4, 5.0).cut(cylinder(8.0, 0.0, 6.0))
MOTOR = MachineBody(
    flange_size=(56.4, 56.4), flange_thickness=5.0, body_size=(54.0, 54.0), body_length=70.0, register_diameter=38.1,
    register_height=1.6, holes=(SQUARE,), shaft=ShaftEnd(diameter=8.0, length=22.0),
)  # fmt: skip


@pytest.fixture(scope="module")
def body():
    """A block of 150 with a seat at 0 and a chamber of radius 16 to 70, with a window, and no way on behind it."""
    block = cq.Workplane().box(70.0, 70.0, 150.0, centered=(True, True, False)).val()
    cuts = [cylinder(38.15, -1.0, 2.2), cylinder(32.0, -1.0, 70.0)]
    cuts.append(cq.Workplane().box(14.0, 100.0, 20.0).translate((0.0, 0.0, 35.0)).val())
    cuts += [cylinder(4.2, -1.0, 12.0, x, y) for x, y in SQUARE.centres()]
    (made,) = block.cut(*cuts).Solids()
    return made


@pytest.fixture(scope="module")
def actuator(body):
    """The same with a shaft of 12, then 10 from 45 on, that ends at 27."""
    (made,) = body.fuse(cylinder(12.0, 45.0, 75.0), cylinder(10.0, 27.0, 46.0)).clean().Solids()
    return made


def relieved_motor():
    """The motor with a groove round its shaft, 1.2 deep in its register: no pilot, and no hole in the shaft."""
    (made,) = motor(MOTOR).cut(RELIEF).Solids()
    return made


PLACES = [((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 0.0), ((30.0, -800.0, 5.0), (1.0, -2.0, 0.5), 75.0)]


@pytest.mark.parametrize("place", PLACES, ids=["at the origin", "elsewhere"])
@pytest.mark.parametrize("dress", [lambda part: part, as_bsplines, lambda part: split_cylinders(part, 3)])
@pytest.mark.parametrize("names", [("Linear actuator", "Motor"), ("K1", "K2"), ("Linear actuator", None)])
def test_a_shaft_in_its_own_chamber(measured, bench, actuator, names, dress, place):
    bodies = {names[0]: moved(dress(actuator), *place)}
    if names[1] is not None:
        bodies[names[1]] = moved(relieved_motor(), *place)
    found = measured(bench.assembly(bodies))
    first, second = found.ends
    assert first.pilot.diameter == pytest.approx(38.15, abs=5e-6)
    assert second.seat == pytest.approx(70.0, abs=5e-6)
    shaft = second.shaft
    assert (shaft.diameter, shaft.end, shaft.full_to) == pytest.approx((10.0, 27.0, 27.0), abs=5e-6)
    assert (shaft.full_from, shaft.length) == pytest.approx((45.0, 43.0), abs=5e-6)
    assert any(f"10.000 mm in the chamber of '{found.bodies[0].name}' is one piece" in w for w in found.warnings)
    if names[1] is not None:
        assert (first.shaft.diameter, first.shaft.end) == pytest.approx((8.0, 22.0), abs=5e-6)
    if names[0] != "K1":
        assert (first.role, second.role) == ("motor", "actuator")
    # What is next to the axis before the chamber's floor is the motor's relief or the chamber's wall, not the shaft.
    inside = [r for s, r in found.free_radius.profile if 2.0 < s < 70.0 + 1e-6]
    assert min(inside) == pytest.approx(16.0, abs=4e-6)


def test_a_chamber_without_a_shaft_has_none(measured, body):
    found = measured(body)
    assert all(end.shaft is None for end in found.ends)
    assert not any("one piece" in text for text in found.warnings)


@pytest.mark.parametrize("length", [4.0, 50.0])
def test_a_stub_that_is_shorter_than_half_its_width_is_no_shaft(measured, body, length):
    (made,) = body.fuse(cylinder(12.0, 70.0 - length, 75.0)).clean().Solids()
    ends = [end.shaft.end for end in measured(made).ends if end.shaft is not None]
    assert ends == ([] if length < 6.0 else [pytest.approx(20.0, abs=1e-6)])


@pytest.mark.parametrize("bore", [14.0, 40.0])
def test_a_clamp_ring_on_the_drive_axis_behind_a_seat_is_no_shaft(measured, bench, bore):
    ring = cylinder(60.0, -60.0, -46.0).cut(cylinder(bore, -61.0, -45.0))
    slit = cq.Workplane().box(40.0, 2.0, 40.0).translate((20.0, 0.0, -53.0)).val()
    (ring,) = ring.cut(slit).Solids()
    found = measured(bench.assembly({"N1": bench.housing(), "N2": ring}))
    assert found.ends[0].shaft is None or bore < 24.0
    assert found.ends[0].pilot.diameter == pytest.approx(38.1, abs=1e-6)


def test_the_end_across_from_a_known_one_is_told(measured, bench):
    found = measured(
        bench.assembly({"adapter": bench.housing(), "actuator": moved(motor(MOTOR), (0, 0, 60), (1, 0, 0), 180)})
    )
    assert sorted(end.role for end in found.ends) == ["actuator", "motor"]
    assert next(end for end in found.ends if end.role == "actuator").shaft.diameter == pytest.approx(8.0, abs=1e-6)


@pytest.mark.parametrize("names", [("Motor with bell housing", "Linear actuator"), ("V1", "V2")], ids=" ".join)
def test_a_motor_in_a_round_bell_of_its_own(measured, bench, names):
    # A bell of 78 round a chamber of 50, on a square foot; the actuator sits on its rim at 60, the shaft is 28 long.
    bell = cq.Workplane().box(80.0, 80.0, 90.0).translate((0.0, 0.0, -45.0)).val()
    bell = bell.fuse(cylinder(78.0, 0.0, 60.0).cut(cylinder(50.0, 0.0, 61.0)), cylinder(12.0, -5.0, 28.0))
    bell = bell.cut(cylinder(60.03, 57.0, 61.0))
    (bell,) = bell.cut(*[cylinder(3.3, 48.0, 61.0, x, y) for x, y in CIRCLE.centres()]).clean().Solids()
    other = cylinder(78.0, -10.0, 0.0).fuse(cylinder(60.0, -1.0, 2.5), cylinder(10.0, -3.0, 25.0))
    (other,) = other.cut(*[cylinder(4.5, -11.0, 1.0, x, y) for x, y in CIRCLE.centres()]).clean().Solids()
    other = moved(other, (0.0, 0.0, 60.0), (1.0, 0.0, 0.0), 180.0)
    found = measured(bench.assembly({names[0]: bell, names[1]: other}))
    first, second = found.ends
    assert (first.pilot.diameter, first.bolts[0].size[0]) == pytest.approx((60.03, 69.0), abs=1e-6)
    assert (first.shaft.diameter, first.shaft.end) == pytest.approx((10.0, 25.0), abs=1e-6)
    assert (second.seat, second.shaft.diameter, second.shaft.end) == pytest.approx((60.0, 12.0, 32.0), abs=1e-6)
    if names[0] != "V1":
        assert (first.role, second.role) == ("actuator", "motor")
