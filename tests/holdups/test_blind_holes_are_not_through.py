"""Blind holes at the same places of both ends were taken for one set of through holes.

So a warning said of a housing 60 mm long that either face may be the motor's seat, and an end whose bore has no floor
was dropped as the back of a flange.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from parametric_models.adapters import Holes, Housing, Plate, Seat, housing, plate

SEAT = Seat(
    pilot_diameter=38.0, pilot_depth=2.5, opening_diameter=30.0, opening_length=3.0,
    holes=(Holes(layout="square", size=(47.14,), diameter=4.5, depth=10.0),),
)  # fmt: skip
BARE = replace(SEAT, pilot_diameter=None, pilot_depth=0.0)


def test_equal_blind_patterns_at_both_ends(measured):
    part = Housing(length=60.0, size=62.0, chamber_diameter=36.0, motor=SEAT, actuator=SEAT)
    found = measured(housing(part))
    assert found.warnings == ()
    assert [end.bolts[0].count for end in found.ends] == [4, 4]


def test_an_end_without_a_pilot_stays(measured):
    part = Housing(length=60.0, size=62.0, chamber_diameter=36.0, motor=SEAT, actuator=BARE)
    found = measured(housing(part))
    assert [end.seat for end in found.ends] == pytest.approx([0.0, 60.0], abs=1e-6)
    assert found.ends[1].opening.diameter == pytest.approx(30.0, abs=1e-6)


@pytest.mark.parametrize("counterbore", [0.0, 8.0])
def test_the_back_of_a_flange_is_still_no_end(measured, counterbore):
    # Through holes, plain or counterbored: the heads of the motor's own screws lie on the plate's other face.
    holes = Holes(
        layout="square", size=(47.14,), diameter=4.5, counterbore_diameter=counterbore,
        counterbore_depth=4.0 if counterbore else 0.0,
    )  # fmt: skip
    seat = replace(SEAT, opening_length=None, holes=(holes,))
    found = measured(plate(Plate(width=80.0, height=80.0, thickness=12.0, motor=seat)))
    (end,) = found.ends
    assert (end.seat, end.pilot.depth) == pytest.approx((0.0, 2.5), abs=1e-6)
