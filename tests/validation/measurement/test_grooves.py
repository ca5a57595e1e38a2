"""Ring grooves for seals and retaining rings: in a pilot, in a bearing seat, in a shaft. Lengths mm, as built here."""

from __future__ import annotations

from dataclasses import replace

import cadquery as cq
import pytest

from parametric_models.adapters.features import cylinder
from parametric_models.faces import as_bsplines, split_cylinders


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
