"""The tool corridor against closed forms, an independent collision library and a dense sampling of points."""

import itertools
import time
from math import acos, asin, degrees, hypot, radians, sqrt

import fcl
import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.measurement.corridor import ToolPart, corridor, corridors
from fitcheck.measurement.obstacles import Obstacles

FAR = 300.0


def obstacles(triangles, bound=0.0, bodies=None):
    triangles = np.asarray(triangles, dtype=float).reshape(-1, 3, 3)
    m = len(triangles)
    return Obstacles(
        segments=np.empty((0, 2, 3)),
        segment_bound=np.empty(0),
        segment_body=np.empty(0, dtype=np.int32),
        triangles=triangles,
        triangle_bound=np.full(m, bound),
        triangle_body=np.zeros(m, dtype=np.int32) if bodies is None else np.asarray(bodies, dtype=np.int32),
    )


def ball(station, radius, angle, size, fineness=3):
    """A triangulated ball whose centre lies at `radius` in the direction of `angle` (degrees)."""
    mesh = trimesh.creation.icosphere(subdivisions=fineness, radius=size)
    centre = (station, radius * np.cos(radians(angle)), radius * np.sin(radians(angle)))
    return mesh.triangles + np.array(centre)


def box(rng, reach=25.0):
    """A turned box about the axis."""
    matrix = trimesh.transformations.random_rotation_matrix(rng.random(3))
    matrix[:3, 3] = rng.normal(size=3) * (3.0, 12.0, 12.0) + (0.0, *(rng.normal(size=2) * reach / 3))
    return trimesh.creation.box(extents=rng.uniform(0.5, 14.0, 3), transform=matrix)


def frame_of(theta):
    """Columns (n, s, u) of a tool at a shaft angle (radians): right-handed, its third axis along the tool."""
    u, n, s = (0.0, np.cos(theta), np.sin(theta)), (0.0, -np.sin(theta), np.cos(theta)), (1.0, 0.0, 0.0)
    return np.array([n, s, u]).T


def collides(model, station, offset, parts, theta):
    """Whether the tool as cylinder bodies of the collision library meets the mesh."""
    turned = frame_of(theta)
    assert np.linalg.det(turned) == pytest.approx(-1.0) or np.linalg.det(turned) == pytest.approx(1.0)
    if np.linalg.det(turned) < 0:
        turned = turned[:, (1, 0, 2)]
    for part in parts:
        middle = np.array([station, 0.0, 0.0]) + offset * frame_of(theta)[:, 0] + (part.start + FAR / 2) * turned[:, 2]
        tool = fcl.CollisionObject(fcl.Cylinder(part.radius, FAR), fcl.Transform(turned, middle))
        if fcl.collide(model, tool, fcl.CollisionRequest(), fcl.CollisionResult()):
            return True
    return False


def collision_model(triangles):
    vertices = triangles.reshape(-1, 3)
    model = fcl.BVHModel()
    model.beginModel(len(triangles), len(vertices))
    model.addSubModel(vertices, np.arange(len(vertices)).reshape(-1, 3))
    model.endModel()
    return fcl.CollisionObject(model)


def is_free(found, theta):
    return any(gap.start <= theta <= gap.stop or gap.start <= theta + 360.0 <= gap.stop for gap in found.free)


def to_edge(found, theta):
    """Degrees from an angle to the nearest end of a free range."""
    ends = [end for gap in found.free for end in (gap.start, gap.stop)]
    return min((abs((theta - end + 180.0) % 360.0 - 180.0) for end in ends), default=360.0)


def test_a_point_like_obstacle_blocks_the_closed_form_angles():
    # A point at polar (rho, phi) blocks |rho sin(phi - theta) - h| <= a: with rho 20, phi 70, h 6, a 1.5
    # theta from 70 - asin(7.5 / 20) to 70 - asin(4.5 / 20). A triangle of 1 µm stands for the point.
    c, d = 20 * np.cos(radians(70)), 20 * np.sin(radians(70))
    tiny = [[(0.0, c, d), (1e-6, c, d), (0.0, c + 1e-6, d)]]
    found = corridor(obstacles(tiny), 0.0, 6.0, [ToolPart(start=12.0, radius=1.5)])
    blocked = (70 - degrees(asin(7.5 / 20)), 70 - degrees(asin(4.5 / 20)))
    assert len(found.free) == 1
    assert (found.free[0].start, found.free[0].stop - 360) == pytest.approx((blocked[1], blocked[0]), abs=1e-4)


def test_a_point_above_the_screw_uses_the_width_there():
    # At 1.2 mm along the axis from a round tool of 1.5 mm radius, a = sqrt(1.5^2 - 1.2^2) = 0.9.
    tiny = [[(1.2, 20.0, 0.0), (1.2 + 1e-6, 20.0, 0.0), (1.2, 20.0, 1e-6)]]
    found = corridor(obstacles(tiny), 0.0, 0.0, [ToolPart(start=12.0, radius=1.5)])
    half = degrees(asin(0.9 / 20))
    assert 360.0 - found.free[0].width == pytest.approx(2 * half, abs=0.021)
    assert 360.0 - found.free[0].width >= 2 * half - 1e-6
    beyond = [[(1.51, 20.0, 0.0), (1.6, 20.0, 0.0), (1.51, 20.0, 1e-3)]]
    assert corridor(obstacles(beyond), 0.0, 0.0, [ToolPart(start=12.0, radius=1.5)]).free[0].width == 360.0


def test_the_tools_start_limits_what_it_can_touch():
    # A point at radius 13 blocks a tool that starts at 12 only while 13 cos(theta) >= 12: within acos(12 / 13); its
    # width of 8 mm would reach to asin(8 / 13), which is more.
    tiny = [[(0.0, 13.0, 0.0), (1e-6, 13.0, 0.0), (0.0, 13.0, 1e-6)]]
    found = corridor(obstacles(tiny), 0.0, 0.0, [ToolPart(start=12.0, radius=8.0)])
    assert asin(8 / 13) > acos(12 / 13)
    assert 360.0 - found.free[0].width == pytest.approx(2 * degrees(acos(12 / 13)), abs=0.021)


def test_a_ball_blocks_as_a_wider_tool_meets_its_centre():
    # A ball of 2 mm meets the tool of 1.5 mm where its centre comes within 3.5 mm of the tool's axis: h = 5, rho = 25.
    # The ball is a polyhedron inscribed in it, so its sagitta is given as the bound; the answer may be wider by it.
    triangles = ball(0.0, 25.0, 40.0, 2.0, 4)
    sagitta = 2.0 - np.linalg.norm(
        triangles.mean(axis=1) - [0, 25 * np.cos(radians(40)), 25 * np.sin(radians(40))], axis=1
    )
    bound = float(sagitta.max())
    assert bound < 0.01
    found = corridor(obstacles(triangles, bound), 0.0, 5.0, [ToolPart(start=10.0, radius=1.5)])
    blocked = (40 - degrees(asin(8.5 / 25)), 40 - degrees(asin(1.5 / 25)))
    start, stop = found.free[0].start, found.free[0].stop - 360.0
    # Conservative: all of the closed form is blocked; and no more than the bound and 0.02 degrees in addition.
    slack = degrees(2 * bound / 25) + 0.03
    assert blocked[1] - 1e-6 <= start <= blocked[1] + slack
    assert blocked[0] - slack <= stop <= blocked[0] + 1e-6


def test_a_chord_nearer_than_the_start_blocks_two_ranges():
    # A thin wall along x = 10 from y = -30 to 30; the tool starts at 15, half width 1, no offset. It meets the wall
    # where the wall has points with u.p >= 15 within the strip: cos(theta - mu) such that the wall's line crosses
    # above the start: 10 / cos(theta) >= about 15, so not within about acos(10 / 15) of the wall's foot.
    wall = [
        [(-5.0, 10.0, -30.0), (5.0, 10.0, -30.0), (5.0, 10.0, 30.0)],
        [(-5.0, 10.0, -30.0), (5.0, 10.0, 30.0), (-5.0, 10.0, 30.0)],
    ]
    found = corridor(obstacles(wall), 0.0, 0.0, [ToolPart(start=15.0, radius=1.0)])
    assert len(found.free) == 2
    # The start corners (15, +-1) touch the line x = 10: hypot(15, 1) cos(theta -+ atan(1 / 15)) = 10.
    corner = degrees(acos(10 / hypot(15, 1)) - np.arctan(1 / 15))
    middle = next(gap for gap in found.free if is_free(found, 0.0) and gap.stop > 360.0)
    assert (middle.start - 360.0, middle.stop - 360.0) == pytest.approx((-corner, corner), abs=0.011)


@settings(max_examples=30, deadline=None)
@given(seed=st.integers(0, 10**6))
def test_random_boxes_against_the_collision_library(seed):
    rng = np.random.default_rng(seed)
    triangles = np.concatenate([box(rng).triangles for _ in range(rng.integers(1, 5))])
    model = collision_model(triangles)
    station, offset = rng.normal(), rng.uniform(-8.0, 8.0)
    parts = [ToolPart(start=rng.uniform(3.0, 15.0), radius=rng.uniform(0.6, 4.0))]
    if rng.random() < 0.4:
        parts.append(ToolPart(start=parts[0].start + rng.uniform(3.0, 15.0), radius=parts[0].radius + 2.5))
    found = corridor(obstacles(triangles), station, offset, parts)
    for theta in rng.uniform(0.0, 360.0, 24):
        hit = collides(model, station, offset, parts, radians(theta))
        if is_free(found, theta):
            # Never optimistic; 0.001 degrees for the library's own rounding.
            assert not hit or to_edge(found, theta) < 1e-3
        else:
            assert hit or to_edge(found, theta) < 0.05


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10**6))
def test_no_sampled_point_of_the_material_lies_in_a_free_corridor(seed):
    # Independent of any library: points spread over the triangles, put into the definition of the corridor.
    rng = np.random.default_rng(seed)
    triangles = rng.normal(size=(6, 1, 3)) * (2.0, 14.0, 14.0) + rng.normal(size=(6, 3, 3)) * rng.choice(
        (1.0, 6.0, 20.0)
    )
    steps = np.arange(41) / 40
    a, b = (v.ravel() for v in np.meshgrid(steps, steps))
    inside = a + b <= 1.0
    weights = np.stack([a[inside], b[inside], 1 - a[inside] - b[inside]], axis=1)
    points = np.einsum("wk,nkc->nwc", weights, triangles).reshape(-1, 3)
    station, offset, part = (
        rng.normal(),
        rng.uniform(-6, 6),
        ToolPart(start=rng.uniform(4, 12), radius=rng.uniform(1, 4)),
    )
    found = corridor(obstacles(triangles), station, offset, [part])
    for gap in found.free:
        for theta in np.linspace(gap.start, gap.stop, 15):
            turned = frame_of(radians(theta))
            aside, along, out = points @ turned[:, 0] - offset, points @ turned[:, 1] - station, points @ turned[:, 2]
            inside = (np.hypot(aside, along) < part.radius - 1e-6) & (out > part.start + 1e-6)
            assert not inside.any()


@settings(max_examples=20, deadline=None)
@given(seed=st.integers(0, 10**6), turn=st.floats(0.0, 360.0))
def test_turning_and_mirroring_the_material_turns_and_mirrors_the_answer(seed, turn):
    rng = np.random.default_rng(seed)
    triangles = box(rng).triangles
    part = ToolPart(start=rng.uniform(3, 12), radius=rng.uniform(0.6, 3))
    offset = rng.uniform(-6, 6)
    plain = corridor(obstacles(triangles), 0.0, offset, [part])
    c, s = np.cos(radians(turn)), np.sin(radians(turn))
    turned = corridor(obstacles(triangles @ np.array([[1, 0, 0], [0, c, s], [0, -s, c]])), 0.0, offset, [part])
    mirrored = corridor(obstacles(triangles * (1, 1, -1)), 0.0, -offset, [part])
    flipped = corridor(obstacles(triangles * (-1, 1, 1)), 0.0, offset, [part])
    total = sum(gap.width for gap in plain.free)
    for other in (turned, mirrored, flipped):
        assert sum(gap.width for gap in other.free) == pytest.approx(total, abs=0.05)
    for gap in plain.free:
        if 0.2 < gap.width < 360.0:
            assert is_free(turned, (gap.start + gap.width / 2 + turn) % 360.0)
            assert is_free(mirrored, (-gap.start - gap.width / 2) % 360.0)


@settings(max_examples=20, deadline=None)
@given(seed=st.integers(0, 10**6), thinner=st.floats(0.1, 1.0), farther=st.floats(0.0, 5.0))
def test_a_thinner_tool_or_a_later_start_is_never_blocked_where_the_thicker_is_free(seed, thinner, farther):
    rng = np.random.default_rng(seed)
    material = obstacles(np.concatenate([box(rng).triangles for _ in range(3)]))
    part = ToolPart(start=rng.uniform(3, 12), radius=rng.uniform(0.6, 3))
    offset = rng.uniform(-6, 6)
    thick = corridor(material, 0.0, offset, [part])
    thin = corridor(material, 0.0, offset, [ToolPart(start=part.start + farther, radius=part.radius * thinner)])
    for gap in thick.free:
        if gap.width > 0.1:
            assert is_free(thin, (gap.start + gap.width / 2) % 360.0)


def test_the_bodies_beside_a_free_range_are_named_and_left_out_ones_do_not_count():
    first, second = ball(0.0, 25.0, 20.0, 3.0), ball(0.0, 25.0, 120.0, 3.0)
    bodies = [4] * len(first) + [9] * len(second)
    material = obstacles(np.concatenate([first, second]), bodies=bodies)
    parts = [ToolPart(start=10.0, radius=1.5)]
    found = corridor(material, 0.0, 0.0, parts)
    assert [(gap.start_owner, gap.stop_owner) for gap in found.free] == [(4, 9), (9, 4)]
    assert set(found.blockers) == {4, 9}
    alone = corridor(material, 0.0, 0.0, parts, leave_out=[9])
    assert [(gap.start_owner, gap.stop_owner) for gap in alone.free] == [(4, 4)]


def test_a_bound_grows_the_material_on_all_sides():
    # A 10 mm square at x = 20; a bound of 0.5 acts as a tool 0.5 mm thicker (1.5 to 2.0) that starts 0.5 mm nearer.
    square = [
        [(-5.0, 20.0, -5.0), (5.0, 20.0, -5.0), (5.0, 20.0, 5.0)],
        [(-5.0, 20.0, -5.0), (5.0, 20.0, 5.0), (-5.0, 20.0, 5.0)],
    ]
    grown = corridor(obstacles(square, 0.5), 0.0, 0.0, [ToolPart(start=12.0, radius=1.5)])
    thick = corridor(obstacles(square), 0.0, 0.0, [ToolPart(start=11.5, radius=2.0)])
    assert grown.free[0].width == pytest.approx(thick.free[0].width, abs=1e-9)
    # Closed form: the corner (20, 5) touches the side n.p = 2: hypot(20, 5) sin(phi - theta) = -2.
    rho = hypot(20, 5)
    half = degrees(asin(5 / rho) + asin(2 / rho))
    assert 360.0 - thick.free[0].width == pytest.approx(2 * half, abs=0.021)


def test_a_bound_brings_material_below_the_tools_start_into_its_way():
    # A point at radius 11.9 stays 0.1 below a start of 12; within a bound of 0.2 it may lie at 12.1.
    tiny = [[(0.0, 11.9, 0.0), (1e-6, 11.9, 0.0), (0.0, 11.9, 1e-6)]]
    parts = [ToolPart(start=12.0, radius=1.5)]
    assert corridor(obstacles(tiny), 0.0, 0.0, parts).free[0].width == 360.0
    blocked = 360.0 - corridor(obstacles(tiny, 0.2), 0.0, 0.0, parts).free[0].width
    # 11.9 cos(theta) >= 11.8, and 11.9 sin(theta) <= 1.7: the lesser of the two.
    assert blocked == pytest.approx(2 * degrees(min(acos(11.8 / 11.9), asin(1.7 / 11.9))), abs=0.03)


def test_fifty_thousand_triangles_take_well_under_a_fifth_of_a_second():
    # A tube of 20 mm radius, 50 mm long, 250 rows of 100 panels, with a window; the tool is the key of an M3 screw.
    angles, rows = np.radians(np.linspace(0, 360, 101)), np.linspace(-25, 25, 251)
    keep, triangles = 5 * sqrt(2), []
    for s0, s1 in itertools.pairwise(rows):
        for t0, t1 in itertools.pairwise(angles):
            if abs(s0 + s1) / 2 < keep and 0.5 < (t0 + t1) / 2 < 1.3:
                continue
            p, q = (np.cos(t0) * 20, np.sin(t0) * 20), (np.cos(t1) * 20, np.sin(t1) * 20)
            triangles += [((s0, *p), (s0, *q), (s1, *q)), ((s0, *p), (s1, *q), (s1, *p))]
    material = obstacles(triangles, 0.005)
    assert len(material.triangles) > 48_000
    best = float("inf")
    for _ in range(3):
        start = time.perf_counter()
        found = corridor(material, 0.0, 9.0, [ToolPart(start=10.0, radius=1.45)])
        best = min(best, time.perf_counter() - start)
    assert len(found.free) == 1
    assert best < 0.15


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10**6), largest=st.integers(1, 12))
def test_without_all_blockers_the_same_angles_are_free(seed, largest):
    rng = np.random.default_rng(seed)
    triangles = np.concatenate([box(rng).triangles for _ in range(rng.integers(1, 9))])
    # Some parts are closed by a wall all round, others are not.
    ring = np.linspace(0.0, 2.0 * np.pi, 9)
    wall = [
        [
            (-3.0, 30 * np.cos(a), 30 * np.sin(a)),
            (1.5, 30 * np.cos(a), 30 * np.sin(a)),
            (-3.0, 30 * np.cos(b), 30 * np.sin(b)),
        ]
        for a, b in itertools.pairwise(ring)
    ]
    wall += [
        [
            (1.5, 30 * np.cos(a), 30 * np.sin(a)),
            (1.5, 30 * np.cos(b), 30 * np.sin(b)),
            (-3.0, 30 * np.cos(b), 30 * np.sin(b)),
        ]
        for a, b in itertools.pairwise(ring)
    ]
    material = obstacles(np.concatenate([triangles, np.array(wall)]))
    tools, stations = [], []
    for _ in range(6):
        thin = ToolPart(start=rng.uniform(3.0, 15.0), radius=rng.uniform(0.6, 2.0))
        tools.append([thin, ToolPart(start=thin.start + 5.0, radius=thin.radius + 2.5)][: rng.integers(1, 3)])
        stations.append(float(rng.uniform(-3.0, 6.0)))
    whole = corridors(material, stations, 0.0, tools)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("fitcheck.measurement.corridor._MANY", 0)
        patch.setattr("fitcheck.measurement.corridor._LARGEST", largest)
        quick = corridors(material, stations, 0.0, tools, all_blockers=False)
    for one, other in zip(whole, quick, strict=True):
        assert set(other.blockers) <= set(one.blockers)
        # Ranges may be told too narrow by the tolerance, 0.01 degrees at either side.
        assert sum(gap.width for gap in one.free) == pytest.approx(sum(gap.width for gap in other.free), abs=0.2)
        assert bool(one.free) == bool(other.free) or sum(gap.width for gap in (*one.free, *other.free)) < 0.2
