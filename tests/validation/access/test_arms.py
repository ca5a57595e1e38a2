"""Tools with an arm against an independent collision library and against closed forms."""

from math import asin, cos, degrees, pi, radians, sin, sqrt

import fcl
import numpy as np
import pytest
import trimesh

from fitcheck.measurement.arm_angles import Arm, Bar
from fitcheck.measurement.arm_pairs import near_arm
from fitcheck.measurement.arms import swings, widest_swing, working_ranges
from fitcheck.measurement.corridor import ToolPart, corridor
from fitcheck.measurement.obstacles import Obstacles

FAR = 300.0
STEP = 2.0
"""Degrees between the tool angles that the collision library is asked for."""


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


def bar_meets(model, station, offset, bar, theta, psi, top, length):
    """Whether a box as wide as the bar, from the screw's axis to `length`, heights bar.low to top, meets the model."""
    u = np.array([0.0, cos(theta), sin(theta)])
    n, s = np.array([0.0, -sin(theta), cos(theta)]), np.array([1.0, 0.0, 0.0])
    out = cos(psi) * n + sin(psi) * s
    across = np.cross(u, out)
    middle = station * s + offset * n + 0.5 * length * out + 0.5 * (bar.low + top) * u
    box = fcl.CollisionObject(
        fcl.Box(length, 2 * bar.half_width, top - bar.low), fcl.Transform(np.stack([out, across, u], axis=1), middle)
    )
    return bool(fcl.collide(model, box, fcl.CollisionRequest(), fcl.CollisionResult()))


def widest_by_sampling(model, station, offset, bar, theta, length):
    """The widest run of tool angles that are free while turning and hold one that is free on the way in, degrees."""
    angles = np.radians(np.arange(0.0, 360.0, STEP))
    turn = [not bar_meets(model, station, offset, bar, theta, psi, bar.high, length) for psi in angles]
    come = [
        free and not bar_meets(model, station, offset, bar, theta, psi, FAR, length)
        for free, psi in zip(turn, angles, strict=True)
    ]
    if all(turn):
        return 360.0 if any(come) else 0.0
    first = turn.index(False)
    widest, run, enters = 0.0, 0, False
    for i in range(1, len(angles) + 1):
        at = (first + i) % len(angles)
        if turn[at]:
            run, enters = run + 1, enters or come[at]
            continue
        widest = max(widest, run * STEP if enters else 0.0)
        run, enters = 0, False
    return widest


def block(rng):
    matrix = trimesh.transformations.random_rotation_matrix(rng.random(3))
    away, angle = rng.uniform(12.0, 30.0), rng.uniform(0, 2 * pi)
    matrix[:3, 3] = (rng.normal() * 15.0, away * cos(angle), away * sin(angle))
    return trimesh.creation.box(extents=rng.uniform(1.0, 16.0, 3), transform=matrix).triangles


@pytest.mark.parametrize("seed", range(12))
def test_random_blocks_against_a_collision_library(seed):
    rng = np.random.default_rng(seed)
    triangles = np.concatenate([block(rng) for _ in range(rng.integers(3, 9))])
    model, material = model_of(triangles), obstacles(triangles)
    station, offset = rng.uniform(-3, 3), rng.uniform(-9, 9)
    low = rng.uniform(12.0, 26.0)
    bar = Bar(low=low, high=low + 5.0, half_width=rng.uniform(1.0, 3.0), length=rng.uniform(15.0, 40.0))
    arm = Arm(bars=(bar,), swing=rng.uniform(30.0, 120.0))
    straight = corridor(material, station, offset, [ToolPart(start=10.0, radius=bar.half_width)]).free
    near = near_arm(material, station, offset, arm)
    free = working_ranges(near, arm, straight)
    for gap in free:
        assert any(one.start - 1e-6 <= s <= one.stop + 1e-6 for one in straight for s in (gap.start, gap.start + 360.0))
    thetas = [one.start + share * one.width for one in straight for share in rng.uniform(0.02, 0.98, 3)]
    short = sqrt(bar.length**2 - bar.half_width**2)
    for theta in thetas[:14]:
        inside = any(g.start <= t <= g.stop for g in free for t in (theta, theta + 360.0, theta - 360.0))
        edges = [e for g in free for e in (g.start, g.stop)]
        near_edge = min((abs((theta - e + 180) % 360 - 180) for e in edges), default=360.0) < 0.15
        # A box to the arc's chord lies in the arm, one to its crown holds it.
        contained = widest_by_sampling(model, station, offset, bar, radians(theta), short)
        holding = widest_by_sampling(model, station, offset, bar, radians(theta), bar.length)
        if inside:
            assert contained >= arm.swing - 2 * STEP, (seed, theta)
        elif not near_edge:
            assert holding <= arm.swing + 2 * STEP, (seed, theta)
        told = widest_swing(near, arm, radians(theta))
        assert told <= contained + 2 * STEP
        # (a gap narrower than the sampling step may be missed, and then no swing at all is told from it)
        assert told >= holding - 2 * STEP or holding <= 2 * STEP


def plate(station, low, high, width=400.0):
    """A plate square to the drive axis, at heights low to high about the direction of shaft angle 0."""
    a, b, c, d = ((station, x, y) for x, y in ((low, -width), (low, width), (high, width), (high, -width)))
    return [(a, b, c), (a, c, d)]


@pytest.mark.parametrize(("distance", "length", "half"), [(10.0, 40.0, 1.5), (25.0, 30.0, 2.0), (4.0, 60.0, 0.8)])
def test_a_wall_at_a_known_distance_limits_the_swing(distance, length, half):
    # The arm's farthest place along the drive axis is length * sin(psi + asin(half / length)) until that reaches
    # `length`: with a = asin(half / length) it is blocked for psi from asin(distance / length) - a to 180 minus that.
    arm = Arm(bars=(Bar(low=20.0, high=24.0, half_width=half, length=length),), swing=60.0)
    near = near_arm(obstacles(plate(distance, 5.0, 60.0)), 0.0, 0.0, arm)
    blocked = 180.0 - 2 * degrees(asin(distance / length)) + 2 * degrees(asin(half / length))
    assert widest_swing(near, arm, 0.0) == pytest.approx(360.0 - blocked, abs=1e-9)


def test_two_walls_leave_a_swing_of_known_width():
    # Walls at 10 to either side: each blocks as above; what is left lies between them, to the left and to the right.
    arm = Arm(bars=(Bar(low=20.0, high=24.0, half_width=1.5, length=40.0),), swing=28.0)
    walls = obstacles([*plate(10.0, 5.0, 60.0), *plate(-10.0, 5.0, 60.0)])
    near = near_arm(walls, 0.0, 0.0, arm)
    left = 2 * (degrees(asin(10 / 40)) - degrees(asin(1.5 / 40)))
    assert widest_swing(near, arm, 0.0) == pytest.approx(left, abs=1e-9)
    grown = [bool(swings(near, arm, np.zeros(1), np.array([g]))[0]) for g in (0.0, -0.5)]
    assert left < 28.0
    assert grown == [False, False]
    narrower = Arm(bars=arm.bars, swing=left - 0.01)
    assert swings(near, narrower, np.zeros(1), np.zeros(1))[0]


def test_a_plate_above_the_arm_blocks_the_way_in_and_not_the_swing():
    # A plate over the left half, 40 high: the arm swings below it, and can be put on only towards the right.
    a, b, c, d = (-100.0, 40.0, 2.0), (100.0, 40.0, 2.0), (100.0, 40.0, 200.0), (-100.0, 40.0, 200.0)
    roof = [(a, b, c), (a, c, d)]
    arm = Arm(bars=(Bar(low=20.0, high=24.0, half_width=1.5, length=40.0),), swing=360.0)
    near = near_arm(obstacles(roof), 0.0, 0.0, arm)
    assert widest_swing(near, arm, 0.0) == 360.0
    # A second one on the other side, 2 mm away too: a slot of 4 mm passes the arm of 3 mm, lying along it.
    other = [[(s, x, -y) for s, x, y in triangle] for triangle in roof]
    assert widest_swing(near_arm(obstacles([*roof, *other]), 0.0, 0.0, arm), arm, 0.0) == 360.0
    thick = Arm(bars=(Bar(low=20.0, high=24.0, half_width=2.1, length=40.0),), swing=360.0)
    assert widest_swing(near_arm(obstacles([*roof, *other]), 0.0, 0.0, thick), thick, 0.0) == 0.0


def test_an_arm_to_both_sides_turns_half_as_far():
    # One wall: what one side may not, the other may not either, half a turn on.
    bar = Bar(low=20.0, high=24.0, half_width=1.5, length=40.0)
    one, both = Arm(bars=(bar,), swing=60.0), Arm(bars=(bar,), swing=60.0, both_sides=True)
    near = near_arm(obstacles(plate(10.0, 5.0, 60.0)), 0.0, 0.0, one)
    blocked = 360.0 - widest_swing(near, one, 0.0)
    assert widest_swing(near, both, 0.0) == pytest.approx(180.0 - blocked, abs=1e-9)


def test_the_ends_of_a_range_are_found_to_a_tenth_of_a_degree():
    # A wall at station 10 that ends 12 above the drive axis, at x <= 12, while the arm, whose lowest place is 20, must
    # swing all the way round.
    material = obstacles(plate(10.0, -500.0, 12.0, 500.0))
    arm = Arm(bars=(Bar(low=20.0, high=24.0, half_width=1.5, length=40.0),), swing=360.0)
    straight = corridor(material, 0.0, 0.0, [ToolPart(start=14.0, radius=1.5)]).free
    found = working_ranges(near_arm(material, 0.0, 0.0, arm), arm, straight)
    # In (t, v): the wall is x <= 12 with x = t cos - v sin. At t = 20 the points of the wall have
    # v sin >= 20 cos - 12; the arm reaches the wall's plane w = 10 at |v| <= sqrt(40^2 - 10^2), half width included,
    # so it is free while sqrt(1500) |sin| < 20 cos - 12.
    low, high = 0.0, pi / 2
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if sqrt(1500.0) * sin(middle) < 20.0 * cos(middle) - 12.0 else (low, middle)
    edge = degrees(low)
    assert len(found) == 1
    start, stop = found[0].start - 360.0, found[0].stop - 360.0
    assert stop == pytest.approx(edge, abs=0.1)
    assert start == pytest.approx(-edge, abs=0.1)
    assert stop <= edge + 1e-9
    assert start >= -edge - 1e-9
