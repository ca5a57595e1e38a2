"""Motor plates with four slots: places, width, direction and travel as built, and whether a machine's holes lie in.

Truths are the numbers that the slots are cut by.
"""

from __future__ import annotations

import math

import cadquery as cq
import pytest

from fitcheck.checks import bolt_pattern
from fitcheck.checks.drive import drive_of
from fitcheck.job.load import parse_job
from fitcheck.measurement.roles import orient
from parametric_models.faces import as_bsplines, mirrored, moved

JOB = """\
step: plate.step
motor: {near: [0, 0, 0], bolts: {layout: square, size: SIZE, count: 4, screw: M4}}
coupling: {family: bellows, outside_diameter: 20, length: 30,
  hubs: {motor: {bore: 8, bore_length: 10}, actuator: {bore: 8, bore_length: 10}}}
"""


def plate(side=47.14, width=4.5, travel=8.0, angles=(0.0, 0.0, 0.0, 0.0), holes=()):
    """A plate with a pilot of 38.1 and slots (or round holes) about the corners of a square."""
    body = cq.Workplane("XY").rect(90, 90).extrude(8.0)
    body = body.cut(cq.Workplane("XY").circle(19.05).extrude(2.5)).cut(cq.Workplane("XY").circle(15.0).extrude(8.0))
    corners = [(sx * side / 2, sy * side / 2) for sx, sy in ((1, 1), (-1, 1), (-1, -1), (1, -1))]
    for index, ((x, y), angle) in enumerate(zip(corners, angles, strict=True)):
        if index in holes:
            body = body.cut(cq.Workplane("XY").center(x, y).circle(width / 2).extrude(8.0))
        else:
            body = body.cut(cq.Workplane("XY").center(x, y).slot2D(travel + width, width, angle).extrude(8.0))
    return body.val()


def motor_bolts(found):
    (end,) = [end for end in found.ends if end.pilot is not None]
    return end.bolts


RADIAL = (45.0, 135.0, 45.0, 135.0)


@pytest.mark.parametrize("angles", [(0.0,) * 4, (90.0,) * 4, RADIAL, (30.0,) * 4])
@pytest.mark.parametrize("way", ["as built", "splines", "mirrored"])
def test_four_slots_are_a_pattern(measured, angles, way):
    model = plate(angles=angles)
    if way != "as built":
        model = as_bsplines(model) if way == "splines" else mirrored(model, "XZ")
    (pattern,) = motor_bolts(measured(model, name="slots"))
    assert (pattern.layout, pattern.count) == ("square", 4)
    assert pattern.size == pytest.approx((47.14,), abs=2e-3)
    assert pattern.hole == pytest.approx(4.5, abs=2e-3)
    expected = {(round(x, 2), round(y, 2)): a for (x, y), a in zip(
        [(23.57, 23.57), (-23.57, 23.57), (-23.57, -23.57), (23.57, -23.57)], angles, strict=True)}  # fmt: skip
    for hole, (angle, travel) in zip(pattern.holes, pattern.slots, strict=True):
        assert travel == pytest.approx(8.0, abs=2e-3)
        # Shaft angle 0 is the file's X; the first end may look the other way round, which mirrors the angle.
        at = (round(hole[0], 2), round(hole[1], 2))
        turns = {expected[at] % 180.0, -expected[at] % 180.0, -expected[(at[0], -at[1])] % 180.0}
        assert min(abs((angle - turn + 90.0) % 180.0 - 90.0) for turn in turns) < 0.05


def test_a_moved_and_turned_plate_has_the_same_slots(measured):
    model = moved(plate(angles=RADIAL), (10.0, -4.0, 60.0), axis=(1.0, 2.0, -1.0), angle=73.0)
    (pattern,) = motor_bolts(measured(model, name="slots"))
    assert [travel for _, travel in pattern.slots] == pytest.approx([8.0] * 4, abs=1e-6)
    # Radial ones run through the middle, whatever shaft angle 0 is.
    for (x, y), (angle, _) in zip(pattern.holes, pattern.slots, strict=True):
        assert math.sin(math.atan2(y, x) - math.radians(angle)) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(
    ("angles", "size", "deviation"),
    [
        # Radial slots of 8 take circles 4 mm wider or narrower in radius: 47.14 -+ 4 * sqrt(2).
        (RADIAL, 47.14, 0.0),
        (RADIAL, 47.14 + 5.6, 0.0),
        (RADIAL, 47.14 - 5.6, 0.0),
        (RADIAL, 47.14 + 8.0, 8.0 / math.sqrt(2.0) - 4.0),
        # Parallel ones give way along themselves alone: 1 mm wider is half a millimetre across them.
        ((0.0,) * 4, 48.14, 0.5),
        ((0.0,) * 4, 47.14, 0.0),
    ],
)
def test_a_machine_s_holes_lie_in_the_travel(measured, angles, size, deviation):
    loaded = parse_job(JOB.replace("SIZE", f"{size:g}"), None, ".")
    found = orient(measured(plate(angles=angles), name="slots"), loaded.job)
    finding = bolt_pattern.check(drive_of(loaded, found))[0]
    assert finding.value == pytest.approx(deviation, abs=2e-3)
    assert finding.status == ("pass" if deviation <= 0.2 else "fail")
    assert finding.message.startswith("slots on the motor's seat")


@pytest.mark.parametrize("width", [4.5, 3.6])
def test_the_screw_has_to_pass_the_slot(measured, width):
    loaded = parse_job(JOB.replace("SIZE", "47.14"), None, ".")
    found = orient(measured(plate(width=width), name="slots"), loaded.job)
    through = bolt_pattern.check(drive_of(loaded, found))[1]
    assert through.status == ("pass" if width >= 4.0 else "fail")


def test_round_holes_have_no_slots(measured):
    (pattern,) = motor_bolts(measured(plate(holes=(0, 1, 2, 3)), name="round"))
    assert pattern.slots == ()


def test_windows_and_halves_are_no_slots(measured):
    # A window with round ends, 60 of travel, is none; two halves of one hole are a hole.
    model = plate(holes=(0, 1, 2, 3))
    model = cq.Workplane(model).cut(cq.Workplane("XY").center(0, 36).slot2D(64, 4.5).extrude(8.0)).val()
    found = motor_bolts(measured(model, name="round"))
    assert [(pattern.count, pattern.slots) for pattern in found] == [(4, ())]
