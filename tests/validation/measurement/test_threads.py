"""Threads in bolt holes, modelled as helical surfaces or as plain cylinders. Dimensions known, lengths mm."""

from __future__ import annotations

from dataclasses import replace

import cadquery as cq
import pytest

from fitcheck.measurement.options import MeasureOptions
from parametric_models.adapters import Holes

CORE, ROOT, PITCH = 3.3, 4.0, 0.7
"""M4, about: core and root diameter, pitch."""

PLAIN = Holes(layout="square", size=(47.14,), diameter=CORE, depth=10.0)


def groove(start, stop):
    """The helical groove of a thread with a narrow flat root."""
    path = cq.Wire.makeHelix(PITCH, stop - start, 0.5 * CORE)
    inside, half, wide = 0.5 * CORE - 0.05, 0.06 * PITCH, 0.3 * PITCH
    corners = [(inside, -wide), (0.5 * ROOT, -half), (0.5 * ROOT, half), (inside, wide)]
    profile = cq.Workplane("XZ").polyline(corners).close()
    made = profile.sweep(cq.Workplane(obj=path), isFrenet=True).val()
    return made.translate(cq.Vector(0.0, 0.0, start))


@pytest.fixture(scope="module")
def threaded(bench):
    """The bench's housing with its motor's holes threaded from before the seat (station 0) to 4.5 deep."""
    part = bench.housing(motor=replace(bench.motor, holes=(PLAIN,)))
    one = groove(-0.4, 4.5)
    grooves = [one.translate(cq.Vector(x, y, 0.0)) for x, y in PLAIN.centres()]
    (solid,) = part.cut(*grooves).Solids()
    return solid


def test_helical_threads(measured, threaded, kernel, monkeypatch):
    asked = []
    ask = kernel.ask
    monkeypatch.setattr(kernel, "ask", lambda file, phase, request: asked.append(request) or ask(file, phase, request))
    found = measured(threaded, MeasureOptions(corridors=False))
    first, second = found.ends
    (bolts,) = first.bolts
    # The screw's thread goes into the core; the root is no hole of its own.
    assert (bolts.layout, bolts.count, bolts.threaded) == ("square", 4, True)
    assert bolts.size == pytest.approx((47.14,), abs=1e-3)
    assert bolts.hole == pytest.approx(CORE, abs=1e-3)
    assert (first.pilot.diameter, first.pilot.depth) == pytest.approx((38.1, 2.5), abs=1e-6)
    assert second.bolts[0].threaded is None
    assert found.free_radius.least == pytest.approx(13.0, abs=1e-6)
    # The threads lie behind the chamber's wall, so that no mesh to micrometres was made of them: it takes 20 s.
    assert [request["deflection"] for request in asked if request["do"] == "mesh"] == [0.05]


def test_a_plain_cylinder_for_a_thread_says_nothing_of_it(measured, bench):
    (bolts,) = measured(bench.housing(motor=replace(bench.motor, holes=(PLAIN,)))).ends[0].bolts
    assert (bolts.hole, bolts.threaded) == (pytest.approx(CORE, abs=1e-6), None)


def test_a_ring_groove_in_a_hole_is_no_thread(measured, bench):
    part = bench.housing(motor=replace(bench.motor, holes=(PLAIN,)))
    rings = [cq.Solid.makeCylinder(0.5 * ROOT, 1.0, cq.Vector(x, y, 3.0)) for x, y in PLAIN.centres()]
    (bolts,) = measured(bench.largest(part.cut(*rings))).ends[0].bolts
    assert (bolts.hole, bolts.threaded, bolts.count) == (pytest.approx(CORE, abs=1e-6), None, 4)
