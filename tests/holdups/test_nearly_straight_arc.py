"""An edge that is nearly straight was fitted by a short arc of a circle metres wide, and the part was called that wide.

The warning said "the adapter is 1.693e+04 mm across" of a part of 62 mm.
"""

from __future__ import annotations

import cadquery as cq

from parametric_models.adapters import Holes, Housing, Seat, housing
from parametric_models.adapters.features import cylinder

SEAT = Seat(
    pilot_diameter=38.0, pilot_depth=2.5, opening_diameter=30.0, opening_length=3.0,
    holes=(Holes(layout="square", size=(47.14,), diameter=4.5, depth=10.0),),
)  # fmt: skip


def test_a_leaning_post_does_not_make_the_part_wide(measured):
    body = housing(Housing(length=60.0, size=62.0, chamber_diameter=36.0, motor=SEAT, actuator=SEAT))
    post = cq.Solid.makeCylinder(6.0, 60.0, cq.Vector(14, 6, 22), cq.Vector(0.05, 0, 1))
    part = body.fuse(post.intersect(cylinder(36.5, 5.5, 70.0))).clean().Solids()[0]
    assert max(part.BoundingBox().xlen, part.BoundingBox().ylen, part.BoundingBox().zlen) < 71.0
    found = measured(part)
    assert [text for text in found.warnings if "mm across" in text] == []
