"""Bores and shafts that a file gives as cones, revolved or approximated surfaces. Lengths mm, all in closed form.

A cone of half angle a that is W wide at its mouth is W - 2 t tan(a) wide at a depth of t.
"""

from __future__ import annotations

from math import radians, tan

import cadquery as cq
import pytest
from OCP.GeomAbs import GeomAbs_C2
from OCP.ShapeCustom import ShapeCustom, ShapeCustom_RestrictionParameters

from parametric_models.faces import as_bsplines, mirrored, moved, split_cylinders
from parametric_models.machines import MachineBody, ShaftEnd, motor

V = cq.Vector
NM = 1e-6
FIVE_MICRONS = 5e-3


def cone(wide, half_angle, start, length, inward=1.0, x=0.0, y=0.0):
    """A cone that is `wide` at the station `start` and narrows along the drive axis (inward 1) or against it (-1)."""
    narrow = 0.5 * wide - length * tan(radians(half_angle))
    return cq.Solid.makeCone(0.5 * wide, narrow, length, V(x, y, start), V(0.0, 0.0, inward))


def drafted(bench, a):
    """The bench's housing with every bore drafted by half angle a, widest at the seats."""
    block = cq.Solid.makeBox(62.0, 62.0, 60.0, V(-31.0, -31.0, 0.0))
    bores = [
        cone(38.1, a, 0.0, 2.5), cone(30.0, a, 2.5, 3.0), cone(36.0, a, 5.5, 47.0), cone(26.0, a, 56.5, 4.0, -1.0),
        cone(34.0, a, 60.0, 3.5, -1.0),
    ]  # fmt: skip
    bores += [cone(4.5, a, 0.0, 10.0, 1.0, x, y) for x, y in bench.motor.holes[0].centres()]
    bores += [cone(3.3, a, 60.0, 8.0, -1.0, x, y) for x, y in bench.actuator.holes[0].centres()]
    (solid,) = block.cut(*bores).Solids()
    return solid


DRESSINGS = {
    "as built": (lambda part: part, 1e-5),
    "mirrored": (lambda part: mirrored(part, "YZ"), 1e-5),
    "in sectors": (lambda part: split_cylinders(part, 3), 1e-5),
    "far away": (lambda part: moved(part, (9000.0, -4000.0, 2000.0), (1.0, 2.0, -1.0), 50.0), 1e-3),
    "b-splines": (as_bsplines, FIVE_MICRONS),
}


@pytest.mark.parametrize("half_angle", [1e-5, 0.01, 0.5, 2.9])
@pytest.mark.parametrize("dressing", DRESSINGS)
def test_bores_as_cones(measured, bench, half_angle, dressing):
    dress, close = DRESSINGS[dressing]
    found = measured(dress(drafted(bench, half_angle)))
    first, second = found.ends
    t = 2.0 * tan(radians(half_angle))
    # The narrower end counts, as that is what a register or a screw has to pass.
    assert first.pilot.diameter == pytest.approx(38.1 - 2.5 * t, abs=close)
    assert second.pilot.diameter == pytest.approx(34.0 - 3.5 * t, abs=close)
    assert (first.pilot.depth, second.pilot.depth, second.seat) == pytest.approx((2.5, 3.5, 60.0), abs=close)
    assert (first.bolts[0].layout, first.bolts[0].count) == ("square", 4)
    assert first.bolts[0].size == pytest.approx((47.14,), abs=close)
    assert first.bolts[0].hole == pytest.approx(4.5 - 10.0 * t, abs=close)
    assert second.bolts[0].size == pytest.approx((46.0,), abs=close)
    # The cone itself is what the free radius is taken from: its narrow end at the opening.
    assert found.free_radius.least == pytest.approx(13.0 - 2.0 * t, abs=close)
    told = [text for text in found.warnings if "tapered" in text]
    # 0.01 degrees over the pilot's 2.5 is 0.9 um, over the holes' 10 it is 3.5 um of diameter.
    assert bool(told) == (half_angle >= 0.01)
    if half_angle >= 0.5:
        a, b = sorted(f"{d:.3f}" for d in (38.1 - 2.5 * t, 38.1))
        assert any(f"is {a} to {b} mm wide" in text for text in told)


def test_a_steeper_cone_is_no_bore(measured, bench):
    found = measured(drafted(bench, 3.1))
    assert found.drive_axis is None
    assert found.cylinders == ()


def test_a_tapered_shaft_end_counts_by_its_wider_end_and_is_told(measured, bench):
    # 1 in 10 on the diameter: 8 wide at its root, 5.9 after 21.
    body = MachineBody(
        flange_size=(56.4, 56.4), flange_thickness=5.0, body_size=(54.0, 54.0), body_length=70.0,
        register_diameter=38.0, register_height=1.6, shaft=ShaftEnd(diameter=2.0, length=3.0),
    )  # fmt: skip
    shaft = cq.Solid.makeCone(4.0 + 0.08, 4.0 - 0.05 * 19.4, 21.0, V(0.0, 0.0, 0.0), V(0.0, 0.0, 1.0))
    (solid,) = motor(body).fuse(shaft).clean().Solids()
    found = measured(bench.assembly({"adapter": bench.housing(), "motor": solid}))
    shaft_end = found.ends[0].shaft
    assert shaft_end.end == pytest.approx(21.0, abs=NM)
    slope = (4.08 - 3.03) / 21.0
    assert shaft_end.diameter == pytest.approx(2.0 * (4.08 - 1.6 * slope), abs=NM)
    assert any(
        "the boss or shaft from station 1.600 to 21.000 is 6.060 to 8.000 mm wide" in text for text in found.warnings
    )


def revolved(part):
    return cq.Shape.cast(ShapeCustom.ConvertToRevolution_s(part.wrapped))


def approximated(degree, tolerance):
    """Plain (non-rational) B-splines of a degree that stay within a tolerance of the analytic surfaces."""

    def dress(part):
        ruled = ShapeCustom.ConvertToBSpline_s(revolved(part).wrapped, True, True, True, False)
        limits = ShapeCustom_RestrictionParameters()
        made = ShapeCustom.BSplineRestriction_s(
            ruled, tolerance, tolerance, degree, 400, GeomAbs_C2, GeomAbs_C2, True, False, limits
        )
        return cq.Shape.cast(made)

    return dress


@pytest.mark.parametrize(
    "dress",
    [
        pytest.param(revolved, id="revolved"),
        pytest.param(
            lambda part: moved(revolved(part), (300.0, 20.0, -5.0), (1.0, 2.0, -1.0), 50.0), id="revolved, moved"
        ),
        pytest.param(approximated(5, 1e-3), id="degree 5 within 1 um"),
        pytest.param(approximated(8, 1e-4), id="degree 8 within 0.1 um"),
    ],
)
def test_swept_and_approximated_surfaces(measured, bench, dress):
    found = measured(dress(bench.housing()))
    first, second = found.ends
    assert (first.pilot.diameter, first.pilot.depth) == pytest.approx((38.1, 2.5), abs=FIVE_MICRONS)
    assert (second.pilot.diameter, second.pilot.depth) == pytest.approx((34.0, 3.5), abs=FIVE_MICRONS)
    assert (first.bolts[0].layout, first.bolts[0].size) == ("square", pytest.approx((47.14,), abs=FIVE_MICRONS))
    assert (first.bolts[0].hole, second.bolts[0].hole) == pytest.approx((4.5, 3.3), abs=FIVE_MICRONS)
    assert found.free_radius.least == pytest.approx(13.0, abs=FIVE_MICRONS)
    assert (found.coaxiality.offset, second.seat) == pytest.approx((0.0, 60.0), abs=FIVE_MICRONS)
    assert found.warnings == ()
