"""Triangles of patches: as near to the surface as was asked, and with its area (closed forms), for any lie in space."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.measurement import tessellate
from fitcheck.measurement.patch_mesh import patch_triangles
from fitcheck.measurement.survey import Edge, Face, Survey
from fitcheck.measurement.vectors import cross, unit

STRAY = 2e-3

directions = st.tuples(*[st.floats(-1.0, 1.0)] * 3).filter(lambda d: np.linalg.norm(d) > 0.1).map(unit)


def point_on(face, u, v):
    rho, z = {
        "cone": (face.radius + v * math.sin(face.semi), v * math.cos(face.semi)),
        "sphere": (face.radius * math.cos(v), face.radius * math.sin(v)),
        "torus": (face.radius + face.minor * math.cos(v), face.minor * math.sin(v)),
    }[face.kind]
    out = math.cos(u) * np.array(face.x) + math.sin(u) * np.array(face.y)
    return tuple(np.array(face.origin) + rho * out + z * np.array(face.axis))


def bounded(face):
    """The survey of a patch with the edges along its bounds, as curves through points of theirs."""
    (u0, u1), (v0, v1) = face.u, face.v
    full = u1 - u0 > 2.0 * math.pi - 1e-9
    corners = [((u0, v0), (u1, v0)), ((u0, v1), (u1, v1))]
    corners += [] if full else [((u0, v0), (u0, v1)), ((u1, v0), (u1, v1))]
    edges = []
    for (ua, va), (ub, vb) in corners:
        points = tuple(point_on(face, ua + (ub - ua) * t, va + (vb - va) * t) for t in np.linspace(0.0, 1.0, 9))
        edges.append(Edge(len(edges), "other", points[0], points[-1], points=points))
    face = replace(face, edges=tuple(range(len(edges))))
    return Survey(units=("mm",), bodies=[], faces=[face], edges=edges), face


@st.composite
def patches(draw):
    kind = draw(st.sampled_from(["cone", "sphere", "torus"]))
    axis = draw(directions)
    x = unit(cross(axis, (1.0, 0.0, 0.0) if abs(axis[0]) < 0.7 else (0.0, 1.0, 0.0)))
    u0, span = draw(st.floats(-4.0, 4.0)), draw(st.sampled_from([0.3, 1.6, 3.0, 2.0 * math.pi]))
    v0 = draw(st.floats(-1.4, 0.5))
    v1 = v0 + draw(st.floats(0.1, 1.0 if kind == "sphere" else 2.5))
    return Face(
        index=0, body=0, kind=kind, origin=tuple(draw(st.tuples(*[st.floats(-30.0, 30.0)] * 3))), axis=axis, x=x,
        y=cross(axis, x), radius=draw(st.floats(3.0, 20.0)), minor=draw(st.floats(0.3, 2.0)),
        semi=draw(st.floats(-0.4, 0.4)), out=1, u=(u0, u0 + span), v=(v0, v1), native=True, gap=0.0, edges=(), seams=(),
    )  # fmt: skip


def away(face, points):
    """Distance of points from the whole surface, mm: closed forms."""
    d = points - np.array(face.origin)
    z = d @ np.array(face.axis)
    rho = np.linalg.norm(d - z[:, None] * np.array(face.axis), axis=1)
    if face.kind == "sphere":
        return np.abs(np.hypot(rho, z) - face.radius)
    if face.kind == "torus":
        return np.abs(np.hypot(rho - face.radius, z) - face.minor)
    return np.abs((rho - face.radius) * math.cos(face.semi) - z * math.sin(face.semi))


def area(face):
    u, (v0, v1) = face.u[1] - face.u[0], face.v
    if face.kind == "sphere":
        return u * face.radius**2 * (math.sin(v1) - math.sin(v0))
    if face.kind == "torus":
        return u * face.minor * (face.radius * (v1 - v0) + face.minor * (math.sin(v1) - math.sin(v0)))
    return u * (face.radius * (v1 - v0) + 0.5 * math.sin(face.semi) * (v1**2 - v0**2))


@given(patches())
@settings(max_examples=60, deadline=None)
def test_triangles_lie_on_the_surface_and_cover_the_patch(face):
    survey, face = bounded(face)
    triangles = patch_triangles(survey, face, STRAY)
    assert away(face, triangles.reshape(-1, 3)).max() < 1e-9
    for weights in ((0.34, 0.33, 0.33), (0.5, 0.5, 0.0), (0.0, 0.5, 0.5), (0.5, 0.0, 0.5), (0.6, 0.2, 0.2)):
        inside = np.einsum("i,nij->nj", np.array(weights), triangles)
        # Second order terms alone are counted; the chords of a radian at most leave a few hundredths more.
        assert away(face, inside).max() <= 1.05 * STRAY
    sides = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    # A chord that strays by s from an arc of radius R is shorter by 2 s / 3 R of it; from the tube's own the same.
    least = face.minor if face.kind == "torus" else 0.5 * face.radius
    assert 0.5 * np.linalg.norm(sides, axis=1).sum() == pytest.approx(area(face), rel=2.5 * STRAY / least)


def test_a_cap_that_ends_in_its_pole_is_whole():
    face = Face(
        index=0, body=0, kind="sphere", origin=(0.0, 0.0, 0.0), axis=(0.0, 0.0, 1.0), x=(1.0, 0.0, 0.0),
        y=(0.0, 1.0, 0.0), radius=5.0, minor=0.0, semi=0.0, out=1, u=(0.0, 2.0 * math.pi), v=(0.5, 0.5 * math.pi),
        native=True, gap=0.0, edges=(), seams=(),
    )  # fmt: skip
    survey, face = bounded(face)
    triangles = patch_triangles(survey, face, STRAY)
    sides = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    # Archimedes: the area of a cap is 2 pi R h.
    assert 0.5 * np.linalg.norm(sides, axis=1).sum() == pytest.approx(
        2 * math.pi * 5 * (5 - 5 * math.sin(0.5)), rel=1e-3
    )
    assert (np.linalg.norm(sides, axis=1) > 0.0).all()


@pytest.mark.parametrize("wrong", ["cut across", "a hole in it", "not native", "another kind", "no edge"])
def test_what_ends_otherwise_is_left_to_the_kernel(wrong):
    face = Face(
        index=0, body=0, kind="torus", origin=(0.0, 0.0, 0.0), axis=(0.0, 0.0, 1.0), x=(1.0, 0.0, 0.0),
        y=(0.0, 1.0, 0.0), radius=9.0, minor=2.0, semi=0.0, out=1, u=(0.0, 1.0), v=(0.0, 1.5), native=True, gap=0.0,
        edges=(), seams=(),
    )  # fmt: skip
    survey, face = bounded(face)
    assert patch_triangles(survey, face, STRAY) is not None
    if wrong == "cut across":
        points = tuple(point_on(face, 0.0 + 0.1 * t, 1.5 * t) for t in np.linspace(0.0, 1.0, 9))
        survey.edges[2] = Edge(2, "other", points[0], points[-1], points=points)
    elif wrong == "a hole in it":
        points = tuple(
            point_on(face, 0.5 + 0.1 * math.cos(t), 0.7 + 0.1 * math.sin(t)) for t in np.linspace(0.0, 6.0, 9)
        )
        survey.edges.append(Edge(4, "other", points[0], points[-1], points=points))
        face.edges = (*face.edges, 4)
    elif wrong == "not native":
        face.native = False
    elif wrong == "another kind":
        face.kind = "cylinder"
    else:
        face.edges = ()
    assert patch_triangles(survey, face, STRAY) is None


@pytest.mark.parametrize("number", [math.nan, math.inf, 1e30])
def test_damaged_numbers_are_left_to_the_kernel(number):
    frame = {"origin": (0.0, 0.0, 0.0), "axis": (0.0, 0.0, 1.0), "x": (1.0, 0.0, 0.0), "y": (0.0, 1.0, 0.0)}
    plain = {"minor": 2.0, "semi": 0.0, "out": 1, "native": True, "gap": 0.0, "edges": (0,), "seams": ()}
    disc = Face(index=0, body=0, kind="plane", radius=0.0, u=(0.0, 0.0), v=(0.0, 0.0), **frame, **plain)
    rim = Edge(0, "circle", a=(3.0, 0.0, 0.0), b=(3.0, 0.0, 0.0), radius=3.0, span=(0.0, 2.0 * math.pi))
    survey = Survey(units=("mm",), bodies=[], faces=[disc], edges=[rim])
    assert tessellate._plane(survey, disc, set()) is not None
    rim.span = (0.0, number)
    assert tessellate._plane(survey, disc, set()) is None
    tube = Face(index=0, body=0, kind="cylinder", radius=3.0, u=(0.0, number), v=(0.0, 1.0), **frame, **plain)
    assert tessellate._cylinder_ends(survey, tube) is None
    fillet = Face(index=0, body=0, kind="torus", radius=9.0, u=(0.0, 1.0), v=(0.0, 1.5), **frame, **plain)
    survey, fillet = bounded(fillet)
    fillet.radius = number
    assert patch_triangles(survey, fillet, STRAY) is None
