"""What is called hidden is: at each of its stations its own body has a line nearer to the axis, sampled here."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.measurement.hiding import Cover, circle_bounds
from fitcheck.measurement.patches import patch_bounds
from fitcheck.measurement.patches import within as parts_within
from fitcheck.measurement.reach import Envelope
from fitcheck.measurement.survey import Edge, Face
from fitcheck.measurement.vectors import cross, frame_on, unit

ANGLES = np.linspace(0.0, 2.0 * np.pi, 721)
FRAME = frame_on((1.0, -2.0, 3.0), unit((0.3, -0.5, 0.9)))

places = st.tuples(*[st.floats(-30.0, 30.0)] * 3)
directions = st.tuples(*[st.floats(-1.0, 1.0)] * 3).filter(lambda d: np.linalg.norm(d) > 0.1).map(unit)


def across(direction):
    helper = (1.0, 0.0, 0.0) if abs(direction[0]) < 0.7 else (0.0, 1.0, 0.0)
    return unit(cross(direction, helper))


def circle(centre, normal, radius):
    return Edge(0, "circle", centre=centre, normal=normal, x=across(normal), radius=radius, span=(0.0, 2.0 * np.pi))


def cylinder(origin, axis, radius, ends):
    x = across(axis)
    return Face(
        index=0, body=0, kind="cylinder", origin=origin, axis=axis, x=x, y=cross(axis, x), radius=radius, minor=0.0,
        semi=0.0, out=1, u=(0.0, 2.0 * np.pi), v=ends, native=True, gap=0.0, edges=(), seams=(),
    )  # fmt: skip


def sampled(edge):
    return np.array([FRAME.local(edge.on_circle(angle)) for angle in ANGLES])


def around(face, share):
    """The circle of a cylinder between its ends."""
    at = np.array(face.origin) + (face.v[0] + share * (face.v[1] - face.v[0])) * np.array(face.axis)
    return circle(tuple(at), face.axis, face.radius)


def within(bounds, points):
    low, high, near = (float(value[0]) for value in bounds)
    assert points[:, 0].min() >= low - 1e-9
    assert points[:, 0].max() <= high + 1e-9
    assert np.hypot(points[:, 1], points[:, 2]).min() >= near - 1e-9


@given(places, directions, st.floats(0.1, 20.0))
@settings(max_examples=60, deadline=None)
def test_no_point_of_a_circle_lies_outside_its_bounds(centre, normal, radius):
    edge = circle(centre, normal, radius)
    within(circle_bounds([edge], FRAME), sampled(edge))


@given(places, directions, st.floats(0.1, 20.0), st.floats(-20.0, 20.0), st.floats(0.1, 30.0))
@settings(max_examples=40, deadline=None)
def test_no_point_of_a_cylinder_lies_outside_its_bounds(origin, axis, radius, start, length):
    face = cylinder(origin, axis, radius, (start, start + length))
    points = np.concatenate([sampled(around(face, share)) for share in np.linspace(0.0, 1.0, 9)])
    within(patch_bounds([face], FRAME), points)


def test_the_bounds_of_a_hole_through_a_wall_beside_the_axis_are_exact():
    # A hole of radius 1, square to a wall 34 mm from the axis, 5 mm beside the nearest line: hypot(34, 4).
    frame = frame_on((0.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    edge = circle((34.0, 5.0, 20.0), (1.0, 0.0, 0.0), 1.0)
    low, high, near = circle_bounds([edge], frame)
    assert (low[0], high[0], near[0]) == pytest.approx((19.0, 21.0, np.hypot(34.0, 4.0)))
    hole = cylinder((34.0, 5.0, 20.0), (1.0, 0.0, 0.0), 1.0, (0.0, 4.0))
    low, high, near = patch_bounds([hole], frame)
    assert (low[0], high[0], near[0]) == pytest.approx((19.0, 21.0, np.hypot(34.0, 4.0)))


@st.composite
def patches(draw):
    """A part of a cylinder, cone, sphere or torus between parameters."""
    kind = draw(st.sampled_from(["cylinder", "cone", "sphere", "torus"]))
    axis, u, v = draw(directions), draw(st.floats(-7.0, 7.0)), draw(st.floats(-1.5, 1.5))
    x = across(axis)
    radius, minor = draw(st.floats(2.0, 9.0)), draw(st.floats(0.2, 1.5))
    span = draw(st.floats(0.01, 6.2))
    height = min(span, 1.57 - v) if kind == "sphere" else span
    return Face(
        index=0, body=0, kind=kind, origin=draw(places), axis=axis, x=x, y=cross(axis, x), radius=radius, minor=minor,
        semi=draw(st.floats(-0.2, 0.2)) if kind == "cone" else 0.0, out=1, u=(u, u + draw(st.floats(0.01, 2 * np.pi))),
        v=(v, v + height), native=True, gap=0.0, edges=(), seams=(),
    )  # fmt: skip


def on_patch(face, u, v):
    """Points of a surface by the formulas of ISO 10303-42, in the file's frame."""
    out = np.cos(u)[..., None] * np.array(face.x) + np.sin(u)[..., None] * np.array(face.y)
    rho, z = {
        "cylinder": (face.radius + 0.0 * v, v),
        "cone": (face.radius + v * np.sin(face.semi), v * np.cos(face.semi)),
        "sphere": (face.radius * np.cos(v), face.radius * np.sin(v)),
        "torus": (face.radius + face.minor * np.cos(v), face.minor * np.sin(v)),
    }[face.kind]
    return np.array(face.origin) + rho[..., None] * out + z[..., None] * np.array(face.axis)


@given(patches())
@settings(max_examples=120, deadline=None)
def test_no_point_of_a_patch_lies_outside_its_bounds(face):
    u, v = np.meshgrid(np.linspace(*face.u, 60), np.linspace(*face.v, 40))
    points = np.array([FRAME.local(point) for point in on_patch(face, u.ravel(), v.ravel())])
    within(patch_bounds([face], FRAME), points)


@given(patches(), st.lists(st.tuples(st.floats(-9.0, 9.0), st.floats(-1.5, 1.5)), min_size=2, max_size=2))
@settings(max_examples=120, deadline=None)
def test_no_part_of_a_line_inside_its_patch_is_left_out(face, ends):
    (u0, v0), (u1, v1) = ends
    steps = np.linspace(0.0, 1.0, 400)
    u, v = u0 + (u1 - u0) * steps, v0 + (v1 - v0) * steps
    line = on_patch(face, u, v)
    kept = {tuple(point) for part in parts_within(face, line) for point in part}
    inside = ((u - face.u[0]) % (2.0 * np.pi) <= face.u[1] - face.u[0]) & (v >= face.v[0]) & (v <= face.v[1])
    assert all(tuple(point) in kept for point in line[inside])
    assert sum(len(part) for part in parts_within(face, line)) <= len(line) + len(parts_within(face, line))


def test_of_a_circle_round_a_torus_the_part_beside_a_fillet_alone_is_kept():
    frame = {"origin": (0.0, 0.0, 0.0), "axis": (0.0, 0.0, 1.0), "x": (1.0, 0.0, 0.0), "y": (0.0, 1.0, 0.0)}
    fillet = replace(cylinder((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 5.0, (0.0, 1.5)), kind="torus", minor=1.0, **frame)
    ring = on_patch(fillet, np.zeros(1000), np.linspace(0.0, 2.0 * np.pi, 1000))
    parts = parts_within(fillet, ring)
    # A quarter of the ring and 0.2 rad on either side, at its seam in two parts.
    assert sum(len(part) for part in parts) == pytest.approx(1000 * 1.9 / (2.0 * np.pi), abs=6)


lines = st.tuples(places, places, st.integers(0, 1))


@given(
    st.lists(lines, min_size=1, max_size=6),
    st.lists(st.tuples(places, directions, st.floats(0.1, 5.0), st.integers(0, 1)), min_size=1, max_size=12),
)
@settings(max_examples=60, deadline=None)
def test_what_is_hidden_has_a_nearer_line_of_its_own_body_at_each_of_its_stations(known, curves):
    ends = [abs(point[0]) for first, last, _ in known for point in (first, last)]
    cover = Cover(-max(ends), max(ends), 2, [point[0] for first, last, _ in known for point in (first, last)][:3])
    for first, last, body in known:
        cover.add(np.array([first, last]), body)
    edges = [circle(*rest) for *rest, _ in curves]
    hidden = cover.hides(circle_bounds(edges, FRAME), [body for *_, body in curves])
    for edge, body, out in zip(edges, [body for *_, body in curves], hidden, strict=True):
        if out:
            points = sampled(edge)
            nearest = np.full(len(points), np.inf)
            for first, last, owner in known:
                if owner == body:
                    nearest = np.minimum(nearest, radius_at(np.array([first, last]), points[:, 0]))
            assert (nearest <= np.hypot(points[:, 1], points[:, 2]) + 1e-6).all()


def radius_at(line, stations):
    """The line's distance from the axis at stations; inf where it has none."""
    line = line[np.argsort(line[:, 0])]
    there = (stations >= line[0, 0] - 1e-9) & (stations <= line[-1, 0] + 1e-9)
    x, y = (np.interp(stations, line[:, 0], line[:, axis]) for axis in (1, 2))
    return np.where(there, np.hypot(x, y), np.inf)


def test_a_line_hides_what_lies_behind_it_and_no_more():
    # A line at radius 10 from station 0 to 100 of body 0: bins are 0.1 mm.
    cover = Cover(0.0, 102.4, 2)
    cover.add(np.array([(0.0, 10.0, 0.0), (100.0, 10.0, 0.0)]), 0)
    asked = np.array([(5.0, 8.0, 10.1), (5.0, 8.0, 9.9), (5.0, 8.0, 10.1), (99.0, 101.0, 10.1), (-1.0, 3.0, 10.1)]).T
    assert cover.hides((*asked,), [0, 0, 1, 0, 0]).tolist() == [True, False, False, False, False]
    nothing = np.full(1, np.nan)
    assert cover.hides((nothing, nothing, nothing), [0]).tolist() == [False]


def test_what_ends_where_the_line_ends_is_hidden_and_what_ends_beyond_is_not():
    # No multiple of a bin's 0.1 mm: without these ends the last bin would be covered in part, and hide nothing.
    asked = np.array([(3.03, 7.07, 10.1), (3.02, 7.07, 10.1), (3.03, 7.08, 10.1), (3.03, 3.03, 10.1)]).T
    for ends, expected in ((3.03, 7.07), [True, False, False, True]), ((), [False] * 4):
        cover = Cover(0.0, 102.4, 1, ends)
        cover.add(np.array([(7.07, 10.0, 0.0), (3.03, 10.0, 0.0)]), 0)
        assert cover.hides((*asked,), [0] * 4).tolist() == expected


@pytest.mark.parametrize("ends", [(), (3.0,)])
def test_where_all_lines_lie_at_one_station_nothing_is_hidden(ends):
    # A body of curved faces alone has no straight edge: no line is known when its circles are asked about.
    cover = Cover(3.0, 3.0, 2, ends)
    cover.add(np.array([(3.0, 1.0, 0.0), (3.0, 2.0, 0.0)]), 0)
    asked = np.array([(3.0, 3.0, 9.0), (-1.0, 5.0, 9.0), (3.0, 4.0, 9.0)]).T
    assert cover.hides((*asked,), [0, 1, 0]).tolist() == [False] * 3


def test_a_bent_line_hides_by_its_farthest_point_in_a_bin():
    # A V from radius 10 down to 4 and up again; at its tip only what is farther than 4 and near the tip is hidden.
    cover = Cover(0.0, 102.4, 1)
    cover.add(np.array([(100.0, 10.0, 0.0), (50.05, 4.0, 0.0), (0.0, 10.0, 0.0)]), 0)
    tip, wide = (50.0, 50.1, 4.02), (45.0, 55.0, 4.02)
    assert cover.hides((*np.array([tip, wide]).T,), [0, 0]).tolist() == [True, False]
    sharp = replace(circle((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 1.0), radius=0.0)
    assert circle_bounds([sharp], FRAME)[2][0] == pytest.approx(np.hypot(*FRAME.local((0.0, 0.0, 0.0))[1:]))


@given(
    st.lists(st.tuples(*[st.floats(-12.0, 12.0)] * 2, st.floats(0.0, 12.0)), min_size=1, max_size=20), st.integers(0, 9)
)
@settings(max_examples=60, deadline=None)
def test_what_coaxial_faces_hide_together_is_what_they_hide_one_by_one(rows, seed):
    rng = np.random.default_rng(seed)
    stations = np.sort(rng.uniform(-10.0, 10.0, 8))
    lines = [[(a, r, 0.0), (b, r, 0.0)] for a, b, r in zip(stations, stations[1:], rng.uniform(1, 9, 7), strict=False)]
    for envelope in (Envelope(lines), Envelope([])):
        low, high, radius = (np.array(values) for values in zip(*rows, strict=True))
        low, high = np.minimum(low, high), np.maximum(low, high)
        each = [envelope.hides(*row) for row in zip(low.tolist(), high.tolist(), radius.tolist(), strict=True)]
        assert envelope.hides_each(low, high, radius).tolist() == each
