"""Ring grooves for seals and retaining rings: in a pilot, in a bearing seat, in a shaft. Lengths mm, as built here."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import cadquery as cq
import pytest

from fitcheck.checks.engagement import gripped
from fitcheck.checks.sides import ShaftEnd
from fitcheck.measurement.roles import flipped
from parametric_models.adapters.features import cylinder
from parametric_models.faces import as_bsplines, moved, split_cylinders
from parametric_models.machines import MachineBody, actuator, motor
from parametric_models.machines import ShaftEnd as ModelShaft

MOTOR = MachineBody(
    flange_size=(56.4, 56.4), flange_thickness=5.0, body_size=(54.0, 54.0), body_length=70.0, register_diameter=38.0,
    register_height=1.6, shaft=ModelShaft(diameter=8.0, length=24.0, chamfer=0.5),
)  # fmt: skip
ACTUATOR = MachineBody(
    flange_size=(58.0, 58.0), flange_thickness=10.0, body_size=(58.0, 40.0), body_length=140.0, register_diameter=33.9,
    register_height=2.0, shaft=ModelShaft(diameter=10.0, length=24.0, chamfer=0.5),
)  # fmt: skip


def deep_pilot(bench, *cuts):
    part = bench.housing(motor=replace(bench.motor, pilot_depth=7.0))
    (made,) = (part.cut(*cuts) if cuts else part).Solids()
    return made


DRESS = {"plain": lambda part: part, "thirds": lambda part: split_cylinders(part, 3), "b-splines": as_bsplines}


@pytest.mark.parametrize("dress", DRESS)
@pytest.mark.parametrize("grooves", [[(2.0, 4.4)], [(1.5, 2.5), (3.0, 6.5)], [(5.0, 7.0)], []], ids=str)
@pytest.mark.parametrize("chamfered", [True, False])
def test_a_pilot_with_grooves_goes_down_to_its_floor(measured, bench, grooves, dress, chamfered):
    part = deep_pilot(bench, *(cylinder(41.0, low, high) for low, high in grooves))
    if chamfered:
        part = part.cut(cq.Solid.makeCone(39.1 / 2.0, 38.1 / 2.0, 0.5))
        (part,) = part.Solids()
    found = measured(DRESS[dress](part))
    pilot = next(end.pilot for end in found.ends if abs(end.pilot.diameter - 38.1) < 0.01)
    assert (pilot.diameter, pilot.depth) == pytest.approx((38.1, 7.0), abs=5e-6)
    assert not any("no pilot" in text for text in found.warnings)


def test_two_bores_with_a_chamber_between_are_no_grooved_one(measured, bench):
    # 9 mm wide it is no groove: what lies behind is another bore, and the first has no floor.
    found = measured(deep_pilot(bench, cylinder(38.1, 0.0, 20.0), cylinder(41.0, 4.0, 13.0)))
    end = next(end for end in found.ends if end.pilot is None)
    assert end.opening.diameter == pytest.approx(38.1, abs=1e-6)


def test_a_bearing_seat_with_a_groove_for_a_retaining_ring(measured, bench):
    # A bearing of 26 x 8, 1.3 for the ring, at the end itself: 9.3 deep.
    part = bench.housing(actuator=replace(bench.actuator, pilot_diameter=26.0, pilot_depth=9.3, opening_diameter=20.0))
    (part,) = part.cut(cylinder(27.2, 60.0 - 1.6, 60.0 - 0.3)).Solids()
    found = measured(part)
    pilot = min((end.pilot for end in found.ends), key=lambda pilot: pilot.diameter)
    assert (pilot.diameter, pilot.depth) == pytest.approx((26.0, 9.3), abs=1e-6)


def machines(*shaft_cuts):
    """A motor with a shaft of 8, chamfered 0.5 at its end at 24, and an actuator with one of 10 that ends at 36."""
    made = motor(MOTOR)
    if shaft_cuts:
        (made,) = made.cut(*shaft_cuts).Solids()
    return {"motor": made, "actuator": moved(actuator(ACTUATOR, 0.0), (0.0, 0.0, 60.0))}


def groove(low, high, diameter=7.6):
    return cylinder(20.0, low, high).cut(cylinder(diameter, low - 1.0, high + 1.0))


@pytest.mark.parametrize("dress", DRESS)
@pytest.mark.parametrize("cuts", [[], [(20.0, 21.1)], [(12.0, 13.0), (20.0, 21.1)]], ids=str)
def test_a_shaft_with_ring_grooves(measured, bench, dress, cuts):
    bodies = {"adapter": bench.housing(), **machines(*(groove(low, high) for low, high in cuts))}
    bodies["motor"] = DRESS[dress](bodies["motor"])
    shaft = measured(bench.assembly(bodies)).ends[0].shaft
    expected = (8.0, 24.0, 1.6, 23.5)
    assert (shaft.diameter, shaft.end, shaft.full_from, shaft.full_to) == pytest.approx(expected, abs=5e-6)
    assert sorted(shaft.grooves) == [pytest.approx(cut, abs=5e-6) for cut in cuts]


def test_grooves_are_told_at_the_actuator_s_end_and_when_the_axis_is_turned_round(measured, bench):
    bodies = {"adapter": bench.housing(), **machines()}
    (bodies["actuator"],) = bodies["actuator"].cut(cylinder(30.0, 40.0, 41.0).cut(cylinder(9.6, 39.0, 42.0))).Solids()
    found = measured(bench.assembly(bodies))
    shaft = found.ends[1].shaft
    assert (shaft.diameter, shaft.end, shaft.full_to) == pytest.approx((10.0, 36.0, 36.5), abs=1e-6)
    (between,) = shaft.grooves
    assert sorted(between) == pytest.approx([40.0, 41.0], abs=1e-6)
    assert sorted(flipped(found, 60.0).ends[0].shaft.grooves[0]) == pytest.approx([19.0, 20.0], abs=1e-6)


@pytest.mark.parametrize(("bore", "length"), [((10.0, 23.0), 11.9), ((13.0, 20.5), 7.0), ((2.0, 11.0), 9.0)])
def test_a_groove_in_the_hub_does_not_grip(bore, length):
    # 13, 7.5 and 9 mm of shaft in the hub, less the 1.1 from 20 to 21.1 as far as they lie in it.
    shaft = ShaftEnd(diameter=8.0, tolerance=None, end=24.0, full_from=1.6, full_to=23.5, grooves=((20.0, 21.1),))
    hub = SimpleNamespace(bore=bore, hub=SimpleNamespace(fastening="clamp"))
    assert gripped(shaft, hub) == pytest.approx(length, abs=1e-9)
