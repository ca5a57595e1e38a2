"""Openings that are offered are made by hand in the wall, and then the check passes; a little less, and it fails."""

import re

import numpy as np
import pytest

from fitcheck.checks import wrench_access
from fitcheck.measurement.cutting import cut, from_tool, notch, round_hole, to_tool

EDGE = re.compile(r"widen the opening by ([\d.]+) mm towards (the motor|the actuator|lower shaft|greater shaft)")
HOLE = re.compile(r"a round hole of ([\d.]+) mm in line with the screw \(station ([\d.]+) mm, ([\d.]+) mm beside the "
                  r"drive axis(?: towards (greater|lower) shaft angles)?, in the direction ([\d.]+)°\)")  # fmt: skip
KEY = 2.5 / np.cos(np.pi / 6)
"""Width over the corners of a 2.5 mm hexagon, of an M3 cap screw (ISO 4762)."""


def judged(build, loaded, triangles, bound=0.0):
    taken = build.measurement(build.obstacles((), triangles, bound=bound))
    return build.one(wrench_access.check(build.drive(loaded, taken)))


def job(build, **given):
    return build.job(motor_hub={"screws": (build.screw(**given),)})


@pytest.mark.parametrize(
    ("along", "towards"), [((12.0, 20.0), "the actuator"), ((22.0, 30.0), "the motor"), ((5.0, 21.5), "the actuator")]
)
def test_an_edge_is_moved_as_told_and_by_no_more_than_it_takes(build, along, towards):
    # The screw lies at station 21 and needs half the key's width to either side of it.
    loaded = job(build)

    def window(change=0.0):
        first, last = along
        ends = (first, last + change) if towards == "the actuator" else (first - change, last)
        return build.wall(20.0, 0.0, 60.0, window=(30.0, 90.0, *ends))

    found = judged(build, loaded, window())
    amount, where = EDGE.search(found.remedy).groups()
    assert where == towards
    lack = 21.0 + KEY / 2 - along[1] if towards == "the actuator" else along[0] - (21.0 - KEY / 2)
    assert float(amount) == pytest.approx(np.ceil(lack * 10) / 10)
    assert judged(build, loaded, window(float(amount))).status == "pass"
    assert judged(build, loaded, window(float(amount) - 0.1)).status == "fail"


@pytest.mark.parametrize(("half", "offset"), [(1.0, 0.0), (0.6, 9.0)])
def test_an_opening_that_is_too_narrow_is_widened_to_one_side_or_both(build, half, offset):
    # A slot along the whole chamber, `half` degrees wide at 20 mm: less than the key's width. The edge that moves is
    # put where the text says, and the key passes; 0.2 mm less and it does not.
    width = np.degrees(half / 20.0)
    loaded = job(build, offset=offset, head_end=None)

    def slot(direction=60.0, lower=0.0, greater=0.0):
        # Seen along the tool an edge at the angle phi lies 20 sin(phi - direction) to the left, where it is moved.
        def moved(edge, by):
            return direction + np.degrees(np.arcsin(np.sin(np.radians(edge - direction)) + by / 20.0))

        window = (moved(60.0 - width, -lower), moved(60.0 + width, greater), 0.0, 60.0)
        return build.wall(20.0, 0.0, 60.0, 360, window=window)

    found = judged(build, loaded, slot())
    assert found.status == "fail"
    text = found.remedy.split("; or ")[0]
    told = {name: float(amount) for amount, name in re.findall(r"by ([\d.]+) mm towards (lower|greater)", text)}
    assert told
    assert "as seen from outside, the actuator above" in text
    direction = float(re.search(r"in line with the tool, direction ([\d.]+)°", text)[1])
    assert judged(build, loaded, slot(direction, **told)).status == "pass"
    less = {k: max(v - 0.2, 0.0) for k, v in told.items()}
    assert judged(build, loaded, slot(direction, **less)).status == "fail"


@pytest.mark.parametrize(("turn", "offset"), [(61.37, 0.0), (37.2, 9.0), (200.0, -9.0)])
@pytest.mark.parametrize(("tool", "radius"), [("hex driver", 20.0), ("hex key short arm", 34.0)])
def test_a_slot_that_is_barely_too_narrow_is_widened_by_a_twentieth(build, tool, radius, turn, offset):
    loaded = build.job(
        motor_hub={"screws": (build.screw(offset=offset, head_end=None),)}, require={"tools": (tool,)}
    )  # fmt: skip

    def slot(half, direction=0.0, lower=0.0, greater=0.0):
        # Seen along the tool an edge at the angle phi lies radius sin(phi - direction) to the left.
        def moved(edge, by):
            if by == 0.0:
                return edge
            return direction + np.degrees(np.arcsin(np.sin(np.radians(edge - direction)) + by / radius))

        wide = np.degrees(half / radius)
        return build.wall(radius, 0.0, 60.0, 180, (moved(turn - wide, -lower), moved(turn + wide, greater), 0.0, 60.0))

    def passes(walls):
        taken = build.measurement(build.obstacles((), walls))
        return build.one(wrench_access.check(build.drive(loaded, taken, remedies=False))).status == "pass"

    # The narrowest slot that passes, to 1 µm, and one that is 4 µm narrower.
    low, high = 0.5, 14.0
    assert passes(slot(high))
    while high - low > 0.001:
        middle = 0.5 * (low + high)
        low, high = (low, middle) if passes(slot(middle)) else (middle, high)
    if offset == 0.0 and tool == "hex driver":
        # The key's half width has to pass for 0.1 degrees to either side: half / R = asin(KEY / 2 / R) + 0.1 degrees.
        assert high == pytest.approx(radius * (np.arcsin(KEY / 2 / radius) + np.radians(0.1)), abs=0.002)
    barely = high - 0.004
    found = judged(build, loaded, slot(barely))
    assert found.status == "fail"
    text = next(part for part in found.remedy.split("; or ") if part.startswith("widen"))
    told = {name: float(amount) for amount, name in re.findall(r"by ([\d.]+) mm towards (lower|greater)", text)}
    assert sum(told.values()) == 0.05
    direction = float(re.search(r"in line with the tool, direction ([\d.]+)°", text)[1])
    # The nearer of the edge's two images a turn apart.
    direction += 360.0 * round((turn - direction) / 360.0)
    assert passes(slot(barely, direction, **told))


def drilled(triangles, diameter, station, offset, direction):
    """The wall without all triangles that reach into the hole, each cut fine first: an outer bound of what is left."""
    theta = np.radians(direction)
    rest = np.array(triangles, dtype=float)
    kept = []
    for _ in range(9):
        local = to_tool(rest, station, offset, theta)
        middle = local.mean(axis=1)
        size = np.linalg.norm(local - middle[:, None, :], axis=2).max(axis=1)
        away = np.hypot(middle[:, 1], middle[:, 2])
        crosses = (np.abs(away - diameter / 2) < size) & (middle[:, 0] > 0.0)
        inside = (away + size <= diameter / 2) & (middle[:, 0] > 0.0)
        kept.append(rest[~crosses & ~inside])
        a, b, c = np.moveaxis(rest[crosses], 1, 0)
        ab, bc, ca = (a + b) / 2, (b + c) / 2, (c + a) / 2
        rest = np.concatenate([np.stack(t, axis=1) for t in ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))])
    # What still crosses the edge is smaller than a hundredth of a millimetre, and counts as gone.
    return np.concatenate(kept)


@pytest.mark.parametrize(("offset", "hand"), [(0.0, None), (9.0, "greater"), (-9.0, "lower")])
def test_a_round_hole_is_enough_where_it_is_told_and_a_narrower_one_is_not(build, offset, hand):
    loaded = job(build, offset=offset, head_end=None)
    wall = build.wall(20.0, 0.0, 60.0)
    found = judged(build, loaded, wall)
    *sizes, told, turn = HOLE.search(found.remedy).groups()
    diameter, station, beside, direction = map(float, (*sizes, turn))
    # Seen outwards along the tool, greater shaft angles lie to the left, where a positive offset is.
    assert (station, beside, told) == (21.0, abs(offset), hand)
    beside = -beside if told == "lower" else beside
    # It has to leave 0.2 degrees: at 20 mm 0.07 mm.
    assert KEY < diameter <= KEY + 0.4
    open_wall = drilled(wall, diameter, station, beside, direction)
    assert judged(build, loaded, open_wall).status == "pass"
    assert judged(build, loaded, drilled(wall, diameter - 0.3, station, beside, direction)).status == "fail"


def test_what_is_cut_out_leaves_no_less_and_no_more(build):
    # A square of 40 x 40 in the plane at height 20, of which a hole and a notch are cut: areas in closed form.
    square = build.quad((-20.0, 20.0, -20.0), (-20.0, 20.0, 20.0), (20.0, 20.0, 20.0), (20.0, 20.0, -20.0))
    whole = build.obstacles((), square)

    def area(obstacles):
        a, b, c = np.moveaxis(obstacles.triangles, 1, 0)
        return 0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1).sum()

    hole = cut(whole, [round_hole(5.0, 10.0, sides=32)], 1.0, 2.0, 0.0, [0])
    # A regular 32-gon in a circle of radius 5: 16 r^2 sin(2 pi / 32); its walls have no height here.
    assert area(hole) == pytest.approx(1600.0 - 16 * 25.0 * np.sin(2 * np.pi / 32))
    slot = cut(whole, [notch((-1.0, 3.0), (2.0, 8.0), 10.0, None)], 1.0, 2.0, 0.0, [0])
    assert area(slot) == pytest.approx(1600.0 - 24.0)
    # What begins above the plane, and what belongs to another body, stays.
    assert area(cut(whole, [round_hole(5.0, 21.0)], 1.0, 2.0, 0.0, [0])) == pytest.approx(1600.0)
    assert area(cut(whole, [round_hole(5.0, 10.0)], 1.0, 2.0, 0.0, [1])) == pytest.approx(1600.0)


def test_the_walls_of_a_hole_are_there(build):
    # Two planes 4 mm apart: between them the hole's 32 sides of 2 r sin(pi / 32), 4 mm high.
    planes = [
        *build.quad((-20.0, 20.0, -20.0), (-20.0, 20.0, 20.0), (20.0, 20.0, 20.0), (20.0, 20.0, -20.0)),
        *build.quad((-20.0, 24.0, -20.0), (-20.0, 24.0, 20.0), (20.0, 24.0, 20.0), (20.0, 24.0, -20.0)),
    ]
    cut_planes = cut(build.obstacles((), planes), [round_hole(5.0, 10.0, sides=32)], 0.0, 0.0, 0.0, [0])
    a, b, c = np.moveaxis(cut_planes.triangles, 1, 0)
    areas = 0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1)
    upright = np.ptp(cut_planes.triangles[:, :, 1], axis=1) > 1.0
    assert areas[upright].sum() == pytest.approx(32 * 10.0 * np.sin(np.pi / 32) * 4.0)


def test_a_tools_frame_and_back():
    points = np.random.default_rng(1).uniform(-30, 30, (5, 3, 3))
    assert from_tool(to_tool(points, 3.0, -7.0, 1.1), 3.0, -7.0, 1.1) == pytest.approx(points)
    # A point on the screw's axis at height 12: 7 mm to the right of the drive axis, direction 90 degrees.
    on_axis = np.array([3.0, 7.0, 12.0])
    assert to_tool(on_axis, 3.0, -7.0, np.pi / 2) == pytest.approx([12.0, 0.0, 0.0])


def test_a_motor_in_the_way_is_not_drilled(build):
    # The wall is the motor's own body: there is no opening to make in it.
    loaded = job(build)
    walls = build.wall(20.0, 0.0, 60.0)
    taken = build.measurement(build.obstacles((), walls, triangle_body=[0] * len(walls)), bodies=("motor",))
    found = build.one(wrench_access.check(build.drive(loaded, taken)))
    assert "a round hole of" not in found.remedy
    assert "no other place, edge of an opening or hole that was tried is enough" in found.remedy
