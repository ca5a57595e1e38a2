"""A ring groove in a spigot (for an O-ring) ended it: no drive axis was found, or its height was told 4 for 10.

Dimensions known from how the part is made, lengths mm. A groove anywhere along the spigot changes nothing of what
locates the adapter: neither the diameter nor the height.
"""

from __future__ import annotations

import random

import cadquery as cq
import pytest

from parametric_models.adapters import Holes
from parametric_models.adapters.features import cylinder
from parametric_models.faces import as_bsplines, mirrored, moved, split_cylinders

NM = 1e-6
HOLES = Holes(layout="circle", size=(75.0,), diameter=5.5, count=4)


def near(value, error=NM):
    return pytest.approx(value, abs=error)


def ring(outer, inner, start, stop):
    return cylinder(outer, start, stop).cut(cylinder(inner, start, stop))


def one(shape):
    (solid,) = shape.clean().Solids()
    return solid


def holes(start, stop):
    return [cq.Solid.makeCylinder(2.75, stop - start, cq.Vector(x, y, start)) for x, y in HOLES.centres()]


def flange(grooves, spigot=62.0, height=25.0):
    """A flange 88 x 6 with a spigot on it, bored 36 through; grooves are (diameter, start, stop) above the flange."""
    part = cylinder(88.0, 0.0, 6.0).fuse(cylinder(spigot, 6.0, 6.0 + height))
    part = part.cut(cylinder(36.0, -1.0, 7.0 + height), *holes(-1.0, 7.0))
    for floor, start, stop in grooves:
        part = part.cut(ring(spigot + 2.0, floor, 6.0 + start, 6.0 + stop))
    return one(part)


def two_ended(grooves, below=(), spigot=50.0, height=10.0):
    """A tube 62 between flanges of 88 with a spigot at each end, grooves in them told from their seats outwards."""
    part = cylinder(88.0, 0.0, 8.0).fuse(
        cylinder(62.0, 8.0, 52.0), cylinder(88.0, 52.0, 60.0),
        cylinder(spigot, 60.0, 60.0 + height), cylinder(44.0, -6.0, 0.0),
    )  # fmt: skip
    part = part.cut(cylinder(36.0, -7.0, 61.0 + height), *holes(-1.0, 9.0), *holes(51.0, 61.0))
    for floor, start, stop in grooves:
        part = part.cut(ring(spigot + 2.0, floor, 60.0 + start, 60.0 + stop))
    for floor, start, stop in below:
        part = part.cut(ring(46.0, floor, -stop, -start))
    return one(part)


def spigot_of(found, z):
    """The register told at the seat that meets the z axis at z."""
    (end,) = (end for end in found.ends if abs(found.point(end.seat)[2] - z) < 1e-3)
    assert end.bolts[0].count == 4
    return end.register.diameter, end.register.height


DRESSES = [lambda part: part, lambda part: split_cylinders(part, 3), as_bsplines]


@pytest.mark.parametrize("dress", DRESSES, ids=["plain", "sectors", "splines"])
@pytest.mark.parametrize(
    "grooves",
    [
        [(58.0, 12.0, 14.0)],
        [(58.0, 0.0, 2.0)],
        [(58.0, 0.0, 1.2)],
        [(57.0, 22.9, 24.9)],
        [(58.0, 4.0, 6.0), (56.0, 9.0, 12.5), (59.0, 20.0, 21.0)],
        [(58.0, 0.0, 1.5), (58.0, 15.0, 19.0)],
    ],
    ids=["middle", "foot", "narrow at the foot", "at the top", "three", "foot and middle"],
)
def test_a_flange_with_grooves_in_its_spigot(measured, grooves, dress):
    found = measured(dress(flange(grooves)), name="grooved-flange")
    assert found.drive_axis is not None
    assert spigot_of(found, 6.0) == (near(62.0, 5e-3), near(25.0, 5e-3))


def test_random_grooves_at_both_ends(measured):
    draw = random.Random(11)
    for turn in range(6):
        width, depth = draw.uniform(0.8, 5.0), draw.uniform(0.4, 3.0)
        start = draw.uniform(0.2, 9.8 - width)
        # The lower spigot of 44 stands 6 high.
        other = draw.uniform(0.8, 3.0)
        foot = draw.uniform(0.2, 5.8 - other)
        part = two_ended([(50.0 - 2.0 * depth, start, start + width)], [(44.0 - depth, foot, foot + other)])
        if turn % 2:
            part = mirrored(part, "XZ")
        found = measured(part, name="two-ended")
        told = f"groove {width} wide, {depth} deep, from {start}; other {other} wide from {foot}"
        assert spigot_of(found, 60.0) == (near(50.0), near(10.0)), told
        assert spigot_of(found, 0.0) == (near(44.0), near(6.0)), told


def test_upside_down_turned_and_far_away(measured):
    part = moved(two_ended([(46.0, 4.0, 6.0)]), (300.0, -200.0, 50.0), (1.0, 2.0, 0.5), 130.0)
    found = measured(part, name="moved")
    heights = sorted((end.register.diameter, end.register.height) for end in found.ends)
    assert heights == [(near(44.0), near(6.0)), (near(50.0), near(10.0))]


def test_a_step_and_a_waist_end_the_spigot_but_not_the_adapter(measured):
    # A step narrower than the spigot to its very end is no groove: the register that locates is 62 and 15 high.
    part = one(flange([]).cut(ring(64.0, 58.0, 21.0, 31.0)))
    assert spigot_of(measured(part, name="stepped"), 6.0) == (near(62.0), near(15.0))
    # Nor is a gap wider than any ring groove: what is beyond is something else.
    part = flange([(58.0, 8.0, 18.0)])
    assert spigot_of(measured(part, name="wide"), 6.0) == (near(62.0), near(8.0))
