"""The free radius against the CAD kernel's exact distances and against trimesh, over random adapters and slabs.

`exact_radius` (in tests/conftest.py) is never less than the truth; a vertex of a mesh lies on the surface, so the mesh
is a second upper bound. So our least radius must not be above either of them, and what it names must be material.
"""

from __future__ import annotations

import math
from dataclasses import replace

import cadquery as cq
import numpy as np
import pytest
import trimesh
from hypothesis import HealthCheck, Phase, assume, currently_in_test_context, given, settings
from hypothesis import strategies as st
from OCP.BRep import BRep_Tool
from OCP.BRepMesh import BRepMesh_IncrementalMesh

from fitcheck.measurement.obstacles import least_radius
from parametric_models.adapters import Waist, Window, housing
from parametric_models.faces import as_bsplines, split_cylinders

MICRON = 1e-3
QUICK = settings(
    max_examples=8, deadline=None, database=None, derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow], phases=[Phase.generate],
)  # fmt: skip
V = cq.Vector


def slabs(seed, count=6, low=-2.0, high=62.0):
    rng = np.random.default_rng(seed)
    for index in range(count):
        start, stop = sorted(rng.uniform(low, high, 2))
        yield start, start + rng.uniform(1e-3, 1.0) if index % 3 == 0 else stop


@pytest.fixture(scope="session")
def hold(exact_radius, distance_to):
    """Holds a measurement against the kernel's distances in random slabs.

    Never optimistic: not above the kernel's distance. Never too careful: where it is below, the point that it names
    must lie on the part (the kernel misses the nearest pair now and then).
    """

    def check(found, part, seed, tolerance=MICRON):
        # A boolean that went wrong (a hole through a seam) leaves vertices that lie off their faces, within a wide
        # tolerance, and the kernel's distance is then theirs.
        if currently_in_test_context():
            assume(max(BRep_Tool.Tolerance_s(vertex.wrapped) for vertex in part.Vertices()) < 10.0 * MICRON)
        assert found.drive_axis is not None, found.warnings
        for start, stop in slabs(seed):
            exact = exact_radius(part, found.drive_axis, start, stop)
            near = least_radius(found.obstacles, start, stop)
            if math.isinf(exact):
                assert math.isinf(near.radius), (start, stop)
                continue
            optimistic = near.radius - exact
            assert optimistic <= tolerance, f"optimistic by {optimistic:.6f} mm in {start!r}, {stop!r}"
            if optimistic < -tolerance:
                point = found.point(near.station, near.radius, near.theta)
                assert distance_to(part, point) <= tolerance, f"nothing at {point} in {start!r}, {stop!r}"

    return check


@QUICK
@given(
    seed=st.integers(0, 9999),
    e=st.floats(0.0, 0.5),
    a=st.floats(0.0, 360.0),
    tilt=st.sampled_from([0.0, 0.03, 0.4, 1.2]),
)
def test_eccentric_and_tilted_housings(measured, hold, bench, seed, e, a, tilt):
    offset = (e * math.cos(math.radians(a)), e * math.sin(math.radians(a)))
    part = bench.housing(actuator_offset=offset, actuator_tilt=tilt, tilt_direction=a, tilted_seat=seed % 2 == 0)
    hold(measured(part), part, seed)


@QUICK
@given(
    seed=st.integers(0, 9999), station=st.floats(14.0, 46.0), azimuth=st.floats(0.0, 360.0), size=st.floats(2.0, 8.0),
    away=st.floats(13.0, 17.0),
)  # fmt: skip
def test_a_ball_anywhere(measured, hold, bench, seed, station, azimuth, size, away):
    a = math.radians(azimuth)
    if away + size <= 18.0:
        size = 19.0 - away
    ball = cq.Solid.makeSphere(size, V(away * math.cos(a), away * math.sin(a), station), V(0, 0, 1), -90, 90, 360)
    part = bench.with_material(ball)
    hold(measured(part), part, seed)


@QUICK
@given(
    seed=st.integers(0, 9999), station=st.floats(12.0, 48.0), lean=st.floats(-0.9, 0.9),
    aside=st.floats(-12.0, 12.0), bore=st.floats(3.0, 14.0),
)  # fmt: skip
def test_cross_drilled_housings(measured, hold, bench, seed, station, lean, aside, bore):
    hole = cq.Solid.makeCylinder(bore / 2, 70, V(0, aside, station), V(1, 0.1, lean))
    part = bench.without(hole)
    hold(measured(part), part, seed)


@QUICK
@given(seed=st.integers(0, 9999))
def test_rods_at_any_lean(measured, hold, bench, seed):
    rng = np.random.default_rng(seed)
    direction = rng.normal(size=3)
    direction /= np.linalg.norm(direction)
    middle = np.array([rng.uniform(8.0, 15.0), rng.uniform(-6.0, 6.0), rng.uniform(20.0, 40.0)])
    rod = cq.Solid.makeCylinder(rng.uniform(0.5, 3.0), 160.0, V(*(middle - 80.0 * direction)), V(*direction))
    rod = rod.intersect(cq.Solid.makeCylinder(18.5, 47.0, V(0, 0, 5.5)))
    part = bench.largest(bench.housing().fuse(rod).clean())
    hold(measured(part), part, seed)


@QUICK
@given(seed=st.integers(0, 9999))
def test_cones_at_any_lean(measured, hold, bench, seed):
    rng = np.random.default_rng(seed)
    direction = rng.normal(size=3) * (1.0, 1.0, 0.7)
    direction /= np.linalg.norm(direction)
    base = np.array([19.0 * math.cos(seed), 19.0 * math.sin(seed), rng.uniform(20.0, 40.0)])
    if base[:2] @ direction[:2] > 0.0:
        direction = -direction
    cone = cq.Solid.makeCone(
        rng.uniform(3.0, 6.0), rng.uniform(0.0, 2.0), rng.uniform(6.0, 12.0), V(*base), V(*direction)
    )
    part = bench.with_material(cone)
    hold(measured(part), part, seed)


@QUICK
@given(seed=st.integers(0, 9999))
def test_windows_and_waists(measured, hold, bench, seed):
    rng = np.random.default_rng(seed)
    windows = tuple(
        Window(
            station=rng.uniform(18.0, 42.0), length=rng.uniform(6.0, 14.0), width=rng.uniform(8.0, 30.0),
            angle=rng.uniform(0.0, 360.0), offset=rng.uniform(-3.0, 3.0), corner_radius=rng.choice([0.0, 2.0]),
        )
        for _ in range(2)
    )  # fmt: skip
    part = housing(
        replace(bench.parameters, windows=windows, waist=Waist(diameter=48.0, motor_flange=8.0, actuator_flange=8.0))
    )
    hold(measured(part), part, seed)


@pytest.mark.parametrize("dress", [as_bsplines, lambda part: split_cylinders(part, 5)], ids=["b-splines", "sectors"])
def test_other_faces_of_the_same_shape(measured, hold, bench, dress):
    ball = cq.Solid.makeSphere(6, V(15, 5, 30), V(0, 0, 1), -90, 90, 360)
    pin = cq.Solid.makeCylinder(3, 30, V(-12, 4, 20), V(-1, 0, 0.2))
    part = bench.with_material(ball, pin)
    # The distances are those of the analytic shape: the dressed one is the same shape.
    hold(measured(dress(part)), part, 3)


def within(mesh, start, stop):
    corners, faces = mesh.vertices, mesh.faces
    for place, normal in ((start, 1.0), (stop, -1.0)):
        corners, faces, _ = trimesh.intersections.slice_faces_plane(corners, faces, [0, 0, normal], [0, 0, place])
        if len(faces) == 0:
            return None
    return trimesh.Trimesh(corners, faces, process=False)


@pytest.mark.parametrize("seed", range(3))
def test_never_above_a_fine_mesh(measured, bench, seed):
    rng = np.random.default_rng(seed)
    direction = rng.normal(size=3)
    ball = cq.Solid.makeSphere(6, V(14, 6, rng.uniform(15, 45)), V(0, 0, 1), -90, 90, 360)
    ring = cq.Solid.makeTorus(6.0, 2.5, V(-17, 2, rng.uniform(20, 40)), V(*direction))
    rod = cq.Solid.makeCylinder(1.5, 60.0, V(-5, -25, rng.uniform(10, 30)), V(0.1, 1, rng.uniform(-0.3, 0.6)))
    part = bench.with_material(ball, ring, rod.intersect(cq.Solid.makeCylinder(18.5, 47.0, V(0, 0, 5.5))))
    found = measured(part)
    deflection = 0.002
    # CadQuery's own tessellate takes the deflection as a share of each edge's length; this one is absolute.
    BRepMesh_IncrementalMesh(part.wrapped, deflection, False, 0.1, False)
    corners, faces = part.tessellate(deflection, 0.1)
    mesh = trimesh.Trimesh([corner.toTuple() for corner in corners], faces, process=False)
    for start, stop in slabs(seed + 50, 8, 6.0, 52.0):
        cut = within(mesh, start, stop)
        if cut is None:
            continue
        manager = trimesh.collision.CollisionManager()
        manager.add_object("part", cut)
        # The axis' segment as a triangle 1 nm wide.
        axis = trimesh.Trimesh([[0, 0, start], [0, 0, stop], [1e-6, 0, stop]], [[0, 1, 2]], process=False)
        distance = manager.min_distance_single(axis)
        near = least_radius(found.obstacles, start, stop).radius
        assert near <= distance + deflection
        # The mesh lies on the surface or within the deflection of it, and its cut may move by as much along the axis.
        assert near >= distance - 3 * deflection
