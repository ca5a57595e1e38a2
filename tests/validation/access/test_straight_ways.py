"""Ways in along the drive axis, tilted and sideways, against an independent collision library and closed forms."""

from math import acos, asin, cos, degrees, inf, pi, radians, sin

import fcl
import numpy as np
import pytest
import trimesh

from fitcheck.checks.ball_end import tilted_ranges
from fitcheck.checks.screw_frame import ScrewFrame
from fitcheck.checks.tools import Tool
from fitcheck.measurement.axial import axial_corridor
from fitcheck.measurement.corridor import ToolPart, corridor
from fitcheck.measurement.obstacles import Obstacles
from fitcheck.measurement.sideways import WaysIn, outer_parts, sideways, sideways_room
from fitcheck.measurement.toolgap import straight_margin

FAR = 300.0


def obstacles(triangles, bound=0.0):
    triangles = np.asarray(triangles, dtype=float).reshape(-1, 3, 3)
    count = len(triangles)
    return Obstacles(
        segments=np.empty((0, 2, 3)), segment_bound=np.empty(0), segment_body=np.empty(0, dtype=np.int32),
        triangles=triangles, triangle_bound=np.full(count, bound), triangle_body=np.zeros(count, dtype=np.int32),
    )  # fmt: skip


def model_of(triangles):
    corners = np.asarray(triangles, dtype=float).reshape(-1, 3)
    model = fcl.BVHModel()
    model.beginModel(len(triangles), len(corners))
    model.addSubModel(corners, np.arange(len(corners)).reshape(-1, 3))
    model.endModel()
    return fcl.CollisionObject(model)


def meets(model, origin, direction, radius, length=FAR):
    """Whether a cylinder of the collision library from `origin` on meets the model."""
    direction = np.asarray(direction) / np.linalg.norm(direction)
    side = np.cross(direction, [0.3, 0.5, 0.8])
    side /= np.linalg.norm(side)
    turned = np.stack([side, np.cross(direction, side), direction], axis=1)
    middle = np.asarray(origin) + 0.5 * length * direction
    tool = fcl.CollisionObject(fcl.Cylinder(radius, length), fcl.Transform(turned, middle))
    return bool(fcl.collide(model, tool, fcl.CollisionRequest(), fcl.CollisionResult()))


def block(rng, spread=15.0):
    matrix = trimesh.transformations.random_rotation_matrix(rng.random(3))
    away, angle = rng.uniform(8.0, 28.0), rng.uniform(0, 2 * pi)
    matrix[:3, 3] = (rng.normal() * spread, away * cos(angle), away * sin(angle))
    return trimesh.creation.box(extents=rng.uniform(1.0, 12.0, 3), transform=matrix).triangles


def within(free, theta):
    return any(gap.start <= t <= gap.stop for gap in free for t in (theta, theta + 360.0, theta - 360.0))


def to_edge(free, theta):
    ends = [end for gap in free for end in (gap.start, gap.stop)]
    return min((abs((theta - end + 180.0) % 360.0 - 180.0) for end in ends), default=360.0)


@pytest.mark.parametrize("seed", range(10))
def test_along_the_axis_against_a_collision_library(seed):
    rng = np.random.default_rng(seed)
    triangles = np.concatenate([block(rng) for _ in range(4)])
    model, material = model_of(triangles), obstacles(triangles)
    radius, start, sense = rng.uniform(9.0, 20.0), rng.uniform(-10.0, 10.0), rng.choice([-1.0, 1.0])
    parts = [ToolPart(start=start, radius=rng.uniform(0.5, 4.0)), ToolPart(start=start + 12.0, radius=6.0)]
    free = axial_corridor(material, radius, sense, parts).free
    for theta in rng.uniform(0.0, 360.0, 60):
        centre = np.array([0.0, radius * cos(radians(theta)), radius * sin(radians(theta))])
        blocked = any(
            meets(model, centre + np.array([sense * part.start, 0.0, 0.0]), [sense, 0.0, 0.0], part.radius)
            for part in parts
        )
        if within(free, theta):
            assert not blocked, (seed, theta)
        elif to_edge(free, theta) > 0.1:
            assert blocked, (seed, theta)


def test_along_the_axis_a_pin_blocks_the_closed_form_angles():
    # A pin along the axis at radius 15, angle 0: the disc's centre at radius 12 and its edge 3 away touch it where
    # 12^2 + 15^2 - 2 * 12 * 15 cos(theta) = 3^2... at 4 mm: cos(theta) = (144 + 225 - 16) / 360.
    pin = [[(0.0, 15.0, 0.0), (30.0, 15.0, 0.0), (30.0, 15.0, 1e-6)]]
    found = axial_corridor(obstacles(pin), 12.0, 1.0, [ToolPart(start=5.0, radius=4.0)])
    blocked = 2 * degrees(acos((144 + 225 - 16) / 360))
    assert len(found.free) == 1
    assert 360.0 - found.free[0].width == pytest.approx(blocked, abs=0.1)
    assert 360.0 - found.free[0].width >= blocked - 1e-6
    behind = axial_corridor(obstacles(pin), 12.0, -1.0, [ToolPart(start=5.0, radius=4.0)])
    assert behind.free[0].width == 360.0


@pytest.mark.parametrize("seed", range(6))
def test_a_tilted_ball_end_told_free_is_free_at_some_tilt(seed):
    rng = np.random.default_rng(seed)
    triangles = np.concatenate([block(rng) for _ in range(7)])
    model, material = model_of(triangles), obstacles(triangles)
    station, offset, radius = rng.uniform(-3, 3), rng.uniform(-6, 6), rng.uniform(0.8, 2.0)
    tool = Tool(name="ball end", word="ball-end hex key", parts=(ToolPart(start=9.0, radius=radius),), tilt=25.0)
    found = tilted_ranges(material, [], ScrewFrame(station=station, offset=offset, start=tool.parts[0].start), tool)
    straight = corridor(material, station, offset, tool.parts).free
    checked = 0
    for theta in rng.uniform(0.0, 360.0, 60):
        u = np.array([0.0, cos(radians(theta)), sin(radians(theta))])
        n, s = np.array([0.0, -u[2], u[1]]), np.array([1.0, 0.0, 0.0])
        origin = station * s + offset * n + 9.0 * u
        tilts = [(0.0, 0.0), *((radians(t), p) for t in (12.5, 25.0) for p in np.radians(np.arange(0, 360, 30.0)))]
        free = any(not meets(model, origin, cos(t) * u + sin(t) * (cos(p) * n + sin(p) * s), radius) for t, p in tilts)
        if within(found, theta):
            checked += 1
            assert free, (seed, theta)
        # Straight is one of the tilts, so a ball end is never worse than a straight key but for the cells' width.
        if within(straight, theta) and to_edge(straight, theta) > 4.1:
            assert within(found, theta), (seed, theta)
    assert checked > 5


@pytest.mark.parametrize("seed", range(8))
def test_sideways_against_a_collision_library(seed):
    rng = np.random.default_rng(seed)
    triangles = np.concatenate([block(rng, 10.0) for _ in range(3)])
    model, material = model_of(triangles), obstacles(triangles)
    parts = [(-8.0, 2.0, 4.0), (2.0, 9.0, 6.0)]
    free = sideways(material, parts)
    for theta in rng.uniform(0.0, 360.0, 60):
        # A box as wide as the part, from the axis outwards.
        u = np.array([0.0, cos(radians(theta)), sin(radians(theta))])
        turned = np.stack([[1.0, 0.0, 0.0], [0.0, u[2], -u[1]], u], axis=1)
        assert np.linalg.det(turned) > 0
        blocked = any(
            fcl.collide(
                model,
                fcl.CollisionObject(
                    fcl.Box(stop - start, 2 * radius, FAR),
                    fcl.Transform(turned, np.array([0.5 * (start + stop), 0.0, 0.0]) + 0.5 * FAR * u),
                ),
                fcl.CollisionRequest(),
                fcl.CollisionResult(),
            )
            for start, stop, radius in parts
        )
        if within(free, theta):
            assert not blocked, (seed, theta)
        elif to_edge(free, theta) > 0.05:
            assert blocked, (seed, theta)


def test_the_room_through_a_slot_is_half_of_what_it_is_wider():
    # Two walls at y = +-11, from x = 8 outwards: a part of radius 9 keeps 2 mm to either side.
    def wall(y):
        a, b, c, d = (-50.0, 8.0, y), (50.0, 8.0, y), (50.0, 60.0, y), (-50.0, 60.0, y)
        return [(a, b, c), (a, c, d)]

    # Behind, a wall at x = -20; square to the slot its walls' edges at x = 8 leave less than nothing.
    back = [[(-500.0, -20.0, -999.0), (500.0, -20.0, -999.0), (0.0, -20.0, 999.0)]]
    room, theta = sideways_room(obstacles([*wall(11.0), *wall(-11.0), *back]), [(-5.0, 5.0, 9.0)])
    assert room == pytest.approx(2.0, abs=0.011)
    assert room <= 2.0
    assert (theta + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=1.0)
    # The 2 mm are worked out only where more is asked about than is known.
    slot = obstacles([*wall(11.0), *wall(-11.0), *back])
    parts = [(-5.0, 5.0, 9.0), (-5.0, 5.0, 4.0)]
    assert sideways_room(slot, parts, enough=1.98)[0] == 1.98
    assert sideways_room(slot, parts, enough=2.02) == (-20.0, None)


def test_the_place_that_lacks_least_is_told_with_what_it_lacks():
    # A block from x = 8 on with a slot, y = -11 to 11 and s = -20 to 20; at x = -20 a wall. A part of radius 12 and
    # 30 long that comes along -x into the slot's middle lacks 12 - 11. Beside the slot, and 20 mm from its middle, it
    # does not go along -x at all, and along y, past the block's edge, it lacks 12 - 8.
    def plate(*corners):
        a, b, c, d = corners
        return [(a, b, c), (a, c, d)]

    sides = [plate((-20, 8, y), (20, 8, y), (20, 60, y), (-20, 60, y)) for y in (-11, 11)]
    ends = [plate((s, 8, -11), (s, 8, 11), (s, 60, 11), (s, 60, -11)) for s in (-20, 20)]
    faces = [plate((s, 8, -99), (s, 8, 99), (t, 8, 99), (t, 8, -99)) for s, t in ((-300, -20), (20, 300))]
    back = [plate((-500, -20, -999), (500, -20, -999), (500, -20, 999), (-500, -20, 999))]
    block_with_slot = obstacles([triangle for two in (*sides, *ends, *faces, *back) for triangle in two])
    ways = WaysIn(block_with_slot, [[(shift - 15.0, shift + 15.0, 12.0)] for shift in (100.0, 20.0, 0.0)])
    place, room, theta = ways.nearest_miss((0, 1, 2), 0.5)
    assert place == 2
    assert -1.011 <= room <= -1.0
    assert (theta + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=2.0)
    assert ways.nearest_miss((0, 1), 0.5)[1] == pytest.approx(-4.0, abs=0.011)
    # Where more is missing than is worth telling, that is told alone.
    assert ways.nearest_miss((0, 1, 2), 0.5, 1.4) == (0, -inf, None)
    assert -1.011 <= ways.nearest_miss((0, 1, 2), 0.5, 1.6)[1] <= -1.0
    # A part of radius 9 has 2 mm to spare there, and so has a longer one of 38 mm but for the 1 mm at its ends.
    assert WaysIn(block_with_slot, [[(-15.0, 15.0, 9.0)]]).room(0, 0.5)[0] == pytest.approx(2.0, abs=0.011)
    assert WaysIn(block_with_slot, [[(-19.0, 19.0, 9.0)]]).room(0, 0.5)[0] == pytest.approx(1.0, abs=0.011)


def test_cylinders_within_others_count_once_and_those_end_to_end_as_one():
    parts = [(0.0, 10.0, 5.0), (10.0, 20.0, 5.0), (3.0, 4.0, 4.0), (12.0, 14.0, 6.0), (25.0, 30.0, 5.0)]
    assert outer_parts(parts) == ((12.0, 14.0, 6.0), (0.0, 20.0, 5.0), (25.0, 30.0, 5.0))


@pytest.mark.parametrize("seed", range(6))
def test_the_margin_of_a_straight_tool_is_what_it_may_grow(seed):
    rng = np.random.default_rng(seed)
    triangles = np.concatenate([block(rng) for _ in range(4)])
    model, material = model_of(triangles), obstacles(triangles)
    part = ToolPart(start=8.0, radius=1.0)
    station, offset = rng.uniform(-3, 3), rng.uniform(-6, 6)
    free = corridor(material, station, offset, [part]).free
    thetas = np.radians([gap.start + share * gap.width for gap in free for share in (0.3, 0.5, 0.8)])
    for theta, margin in zip(thetas, straight_margin(material, station, offset, [part], thetas), strict=True):
        u = np.array([0.0, cos(theta), sin(theta)])
        origin = np.array([station, 0.0, 0.0]) + offset * np.array([0.0, -u[2], u[1]]) + 8.0 * u
        assert margin > 0.0
        assert not meets(model, origin, u, 1.0 + margin - 1e-3)
        if margin < 9.99:
            assert meets(model, origin, u, 1.0 + margin + 1e-3)


def test_a_round_window_passes_a_key_over_the_closed_form_angles():
    # A round hole of radius 5 through a wall at radius 20 (thin, at the station of the screw): seen along the screw its
    # rim's points at station 0 lie at angle +-asin(5 / 20) about the hole's middle; the key of radius 1.5 with offset h
    # touches them where 20 sin(phi - theta) = h +- 1.5.
    ring = np.radians(np.linspace(0.0, 360.0, 721))
    rim = [(5 * cos(a), 5 * sin(a)) for a in ring]
    wide = [(9 * cos(a), 9 * sin(a)) for a in ring]

    def on_wall(s, y):
        return (s, np.sqrt(400.0 - y * y), y)

    triangles = []
    for (a, b), (c, d) in zip(zip(rim, wide, strict=True), zip(rim[1:], wide[1:], strict=False), strict=False):
        p, q, r, t = (on_wall(*point) for point in (a, b, c, d))
        triangles += [(p, q, t), (p, t, r)]
    far = degrees(asin(9 / 20))
    for start in np.arange(far, 360.0 - far, 4.0):
        ends = [radians(start), radians(min(start + 4.0, 360.0 - far))]
        p, q = ((20 * cos(a), 20 * sin(a)) for a in ends)
        triangles += [((-30.0, *p), (30.0, *p), (30.0, *q)), ((-30.0, *p), (30.0, *q), (-30.0, *q))]
    for h in (0.0, 2.0, -3.0):
        free = [
            gap
            for gap in corridor(obstacles(triangles), 0.0, h, [ToolPart(start=10.0, radius=1.5)]).free
            if gap.width > 1.0
        ]
        rim_angle = degrees(asin(5 / 20))
        start = -rim_angle - degrees(asin((h - 1.5) / 20))
        stop = rim_angle - degrees(asin((h + 1.5) / 20))
        assert len(free) == 1
        assert (free[0].start + 180) % 360 - 180 == pytest.approx(start, abs=0.1)
        assert (free[0].stop + 180) % 360 - 180 == pytest.approx(stop, abs=0.1)
