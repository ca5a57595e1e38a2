"""10 m from the origin, a pilot that leans by 0.15 degrees made two equally good drive axes of one.

Lines were sorted into cells by their foot from the origin of the file; 10 m away, 0.15 degrees move that by 26 mm.
"""

from __future__ import annotations

import pytest

from parametric_models.adapters import Holes, Housing, Seat, housing
from parametric_models.faces import moved

SEAT = Seat(
    pilot_diameter=38.0, pilot_depth=2.5, opening_diameter=30.0, opening_length=3.0,
    holes=(Holes(layout="square", size=(47.14,), diameter=4.5, depth=10.0),),
)  # fmt: skip


@pytest.mark.parametrize("length", [60.0, 600.0])
@pytest.mark.parametrize("place", [(9000.0, -4000.0, 2000.0), (0.0, 0.0, 10_000.0)])
@pytest.mark.parametrize("tilt", [0.15, 1.0])
def test_one_drive_axis_wherever_the_part_lies(measured, place, tilt, length):
    part = Housing(length=length, size=62.0, chamber_diameter=36.0, motor=SEAT, actuator=SEAT, actuator_tilt=tilt)
    found = measured(moved(housing(part), place, (1.0, 2.0, -1.0), 50.0))
    (words,) = found.warnings
    assert f"leans by {tilt:.3f} degrees against the drive axis" in words
    assert len(found.ends) == 2
    # Both ends are alike, so either may be the first; at the second's seat the two axes are apart by what the turn
    # about the actuator's seat makes of the length, or not at all.
    assert found.coaxiality.tilt == pytest.approx(tilt, abs=1e-4)
