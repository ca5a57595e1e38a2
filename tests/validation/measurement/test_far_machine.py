"""A machine on no seat of the adapter: a bracket, a motor, and a block with a screw's end. Dimensions known."""

from __future__ import annotations

from dataclasses import replace

import cadquery as cq
import pytest

from fitcheck.measurement.options import MeasureOptions
from parametric_models.adapters import Holes, Plate, Seat, plate
from parametric_models.machines import MachineBody, ShaftEnd, actuator, motor

V = cq.Vector
NM = 1e-6
SEAT = Seat(
    pilot_diameter=38.13, pilot_depth=2.5, opening_diameter=34.0,
    holes=(Holes(layout="square", size=(47.14,), diameter=5.5),),
)  # fmt: skip
MOTOR = MachineBody(
    flange_size=(60.0, 60.0), flange_thickness=5.0, body_size=(56.0, 56.0), body_length=60.0, register_diameter=38.05,
    register_height=1.6, holes=(Holes(layout="square", size=(47.14,), diameter=5.0),),
    shaft=ShaftEnd(diameter=8.0, length=21.0),
)  # fmt: skip


def block(diameter, length):
    return MachineBody(
        flange_size=(50.0, 60.0), flange_thickness=20.0, body_size=(20.0, 20.0), body_length=90.0,
        shaft=ShaftEnd(diameter=diameter, length=length, chamfer=0.5),
    )  # fmt: skip


def drive(bench, name, seat, diameter, length, turn):
    bodies = {
        "bracket": plate(Plate(width=80.0, height=80.0, thickness=8.0, motor=SEAT)),
        "motor": motor(MOTOR),
        name: actuator(block(diameter, length), seat),
    }
    return bench.assembly({n: s.rotate(V(), V(1, 2, -0.5), turn).translate(V(3, 4, turn)) for n, s in bodies.items()})


@pytest.mark.parametrize(
    ("name", "options"),
    [
        ("bearing block", MeasureOptions()),
        ("X1", MeasureOptions(actuator=("X1",))),
        ("X2", MeasureOptions()),
        ("X3", MeasureOptions(actuator=("#3",))),
    ],
)
@pytest.mark.parametrize(("seat", "diameter", "length", "turn"), [(55.0, 10.0, 19.0, 0.0), (80.0, 6.0, 41.0, 143.0)])
def test_its_shaft_is_measured_from_its_body(measured, bench, name, options, seat, diameter, length, turn):
    found = measured(drive(bench, name, seat, diameter, length, turn), options)
    first, second = found.ends
    assert (first.role, first.on_adapter, second.role, second.on_adapter) == ("motor", True, "actuator", False)
    assert (second.seat, second.face) == pytest.approx((seat, seat), abs=NM)
    shaft = second.shaft
    assert (shaft.diameter, shaft.length, shaft.end) == pytest.approx((diameter, length, seat - length), abs=NM)
    assert (shaft.full_from, shaft.full_to) == pytest.approx((seat, seat - length + 0.5), abs=NM)
    assert (second.pilot, second.opening, second.bolts) == (None, None, ())
    assert any("the adapter has no seat for the actuator" in text for text in found.warnings)


@pytest.mark.parametrize("seat", [55.0, 62.5])
def test_the_block_itself_is_an_obstacle_and_its_shaft_is_none(measured, bench, seat):
    found = measured(drive(bench, "X", seat, 10.0, 19.0, 0.0))
    # The opening of the bracket, of radius 17, is the tightest place; the shaft of radius 5 would be.
    assert found.free_radius.least == pytest.approx(17.0, abs=NM)


@pytest.mark.parametrize("said", [40.0, 70.0])
def test_the_job_may_put_its_seat_elsewhere(measured, bench, said):
    found = measured(drive(bench, "X", 55.0, 10.0, 19.0, 0.0))
    second = found.ends[1].at_seat(said)
    assert (second.seat, second.shaft.end) == pytest.approx((said, 36.0), abs=NM)
    assert second.shaft.length == pytest.approx(said - 36.0, abs=NM)
    assert replace(second, seat=55.0, shaft=found.ends[1].shaft) == found.ends[1]


def test_a_shaft_alone_has_no_front_and_is_asked_for(measured, bench):
    bodies = {
        "bracket": plate(Plate(width=80.0, height=80.0, thickness=8.0, motor=SEAT)),
        "motor": motor(MOTOR),
        "rod": cq.Solid.makeCylinder(5.0, 90.0, V(0, 0, 36), V(0, 0, 1)),
    }
    found = measured(bench.assembly(bodies))
    assert len(found.ends) == 1
    assert any("'rod' is a shaft on the drive axis at whose end no seat was found" in text for text in found.warnings)
