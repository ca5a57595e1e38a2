"""A pilot bore that leans against a square seat was not found: its slanted rim stands out beyond the seat.

With it went the holes of a tilted seat (lean over 0.5 degrees) and their centres, which were taken half-way down.
"""

from __future__ import annotations

from math import cos, radians, tan

import pytest

from parametric_models.adapters import Holes, Housing, Seat, housing

MOTOR = Seat(
    pilot_diameter=38.1, pilot_depth=2.5, opening_diameter=30.0, opening_length=3.0,
    holes=(Holes(layout="square", size=(47.14,), diameter=4.5, depth=10.0),),
)  # fmt: skip
ACTUATOR = Seat(
    pilot_diameter=34.0, pilot_depth=3.5, opening_diameter=26.0, opening_length=4.0,
    holes=(Holes(layout="circle", size=(46.0,), diameter=3.3, depth=8.0, count=6),),
)  # fmt: skip


@pytest.mark.parametrize("seat_too", [True, False])
@pytest.mark.parametrize("tilt", [0.02, 0.1, 0.4, 1.0])
def test_a_leaning_end_is_measured_whole(measured, tilt, seat_too):
    part = Housing(
        length=60.0, size=62.0, chamber_diameter=36.0, motor=MOTOR, actuator=ACTUATOR, actuator_tilt=tilt,
        tilt_direction=30.0, tilted_seat=seat_too,
    )  # fmt: skip
    found = measured(housing(part))
    end = found.ends[1]
    # The end turns about the point of the drive axis at station 60, so offset there is 0.
    assert end.seat == pytest.approx(60.0, abs=1e-6)
    assert found.coaxiality.offset == pytest.approx(0.0, abs=1e-6)
    assert found.coaxiality.tilt == pytest.approx(tilt, abs=1e-6)
    assert end.pilot is not None
    assert end.pilot.diameter == pytest.approx(34.0, abs=1e-6)
    # The floor is square to the pilot, 3.5 along its axis: 3.5 / cos(tilt) along the drive axis.
    assert end.pilot.depth == pytest.approx(3.5 / cos(radians(tilt)), abs=1e-6)
    (bolts,) = end.bolts
    assert (bolts.layout, bolts.count) == ("circle", 6)
    # The pattern is foreshortened, or stretched on a square seat, by 1 - cos at the most; the mouth of a leaning hole
    # is taken at its rim's far side, its radius times tan(tilt) along, which shifts it by tan(tilt) once more.
    slack = 46.0 * (1.0 - cos(radians(tilt))) + 3.3 * tan(radians(tilt)) ** 2 + 1e-6
    assert bolts.bolt_circle == pytest.approx(46.0, abs=slack)
    for x, y in bolts.holes:
        assert (x * x + y * y) ** 0.5 == pytest.approx(23.0, abs=slack)
