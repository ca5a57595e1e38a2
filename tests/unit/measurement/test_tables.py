"""Edges and bores as arrays, against points sampled along them and against the same formulas asked one by one."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.kernel.features import Columns
from fitcheck.measurement.bore_table import BoreTable
from fitcheck.measurement.cylinders import Bore, offset_between
from fitcheck.measurement.edge_table import EdgeTable
from fitcheck.measurement.extent import edge_extent, edge_radii
from fitcheck.measurement.line_grid import CELL, near_pairs
from fitcheck.measurement.plausible import farthest
from fitcheck.measurement.survey import Edge, Face, Survey, survey_from
from fitcheck.measurement.vectors import cross, dot, frame_on, line_angle, norm, scale, sub, unit

FRAME = frame_on((1.0, -2.0, 3.0), unit((0.3, -0.5, 0.9)))

places = st.tuples(*[st.floats(-30.0, 30.0)] * 3)
directions = st.tuples(*[st.floats(-1.0, 1.0)] * 3).filter(lambda d: np.linalg.norm(d) > 0.1).map(unit)


def across(direction):
    helper = (1.0, 0.0, 0.0) if abs(direction[0]) < 0.7 else (0.0, 1.0, 0.0)
    return unit(cross(direction, helper))


@st.composite
def edges(draw):
    kind = draw(st.sampled_from(["line", "circle", "circle", "other", "none"]))
    a, b = draw(places), draw(places)
    if kind == "none":
        return Edge(0, kind)
    if kind == "line":
        return Edge(0, kind, a, b)
    if kind == "other":
        points = (a, *draw(st.lists(places, max_size=4)), b)
        return Edge(0, kind, a, b, points=points)
    normal, radius = draw(directions), draw(st.floats(0.1, 20.0))
    first, length = draw(st.floats(-7.0, 7.0)), draw(st.sampled_from([2.0 * math.pi, 0.3, 2.0, 4.0, 6.0]))
    arc = Edge(0, kind, centre=a, normal=normal, x=across(normal), radius=radius, span=(first, first + length))
    arc.a, arc.b = arc.on_circle(arc.span[0]), arc.on_circle(arc.span[1])
    return arc


@given(st.lists(edges(), min_size=1, max_size=6))
@settings(max_examples=80, deadline=None)
def test_a_box_holds_its_edge_and_no_more(some):
    low, high = EdgeTable.of(some).boxes
    for edge, least, most in zip(some, low, high, strict=True):
        if edge.kind == "none":
            assert (least > most).all()
            continue
        points = np.array(edge.samples(2000))
        assert (points >= least - 1e-9).all()
        assert (points <= most + 1e-9).all()
        # 2,000 chords stray by r (1 - cos(pi / 2000)) at most, 25 µm on 20 mm.
        assert points.min(axis=0) == pytest.approx(least, abs=3e-5)
        assert points.max(axis=0) == pytest.approx(most, abs=3e-5)


def test_the_farthest_point_is_told_and_numbers_that_are_none_are_infinite():
    def reach(*some):
        return farthest(Survey(units=("mm",), bodies=[], faces=[], edges=list(some)))

    ring = Edge(
        0, "circle", centre=(5.0, 0.0, 0.0), radius=2.0, span=(0.0, 2.0 * math.pi), a=(7.0, 0.0, 0.0), b=(7.0, 0.0, 0.0)
    )
    assert reach(ring) == pytest.approx(7.0, abs=1e-12)
    assert reach(ring, Edge(1, "line", (0.0, -90.0, 0.0), (0.0, 1.0, 0.0))) == pytest.approx(90.0, abs=1e-12)
    assert reach(ring, Edge(1, "line", (0.0, math.nan, 0.0), (0.0, 1.0, 0.0))) == math.inf
    assert reach(Edge(0, "line", (math.inf, 0.0, 0.0), (0.0, 0.0, 0.0)), ring) == math.inf
    assert reach(Edge(0, "none")) == 0.0


def face_with(rim, **given):
    values = {
        "index": 0, "body": 0, "kind": "cylinder", "origin": (0.0, 0.0, 0.0), "axis": (0.0, 0.0, 1.0),
        "x": (1.0, 0.0, 0.0), "y": (0.0, 1.0, 0.0), "radius": 1.0, "minor": 0.0, "semi": 0.0, "out": 1,
        "u": (0.0, 6.0), "v": (0.0, 1.0), "native": True, "gap": 0.0, "edges": tuple(rim), "seams": (), **given,
    }  # fmt: skip
    return Face(**values)


@given(st.lists(edges(), min_size=2, max_size=8), places, directions)
@settings(max_examples=80, deadline=None)
def test_ends_along_an_axis_are_those_of_each_edge_by_itself(some, origin, axis):
    faces = [face_with(range(len(some) // 2), origin=origin, axis=axis), face_with([len(some) - 1]), face_with([])]
    low, high = EdgeTable.of(some).ends_along(faces)
    for face, least, most in zip(faces, low, high, strict=True):
        found = [(some[i], *edge_extent(some[i], face.origin, face.axis)) for i in face.edges]
        told = [
            (a, b) for edge, a, b in found
            if edge.kind not in ("line", "none") or (edge.kind == "line" and b - a < 0.9 * math.dist(edge.a, edge.b))
        ]  # fmt: skip
        assert least == pytest.approx(min((a for a, _ in told), default=math.inf), abs=1e-9)
        assert most == pytest.approx(max((b for _, b in told), default=-math.inf), abs=1e-9)


@given(st.lists(st.tuples(places, st.floats(0.1, 9.0)), min_size=1, max_size=9), st.lists(edges(), max_size=4))
@settings(max_examples=60, deadline=None)
def test_circles_square_to_the_axis_are_as_near_and_far_as_each_by_itself(rings, others):
    square = [
        Edge(0, "circle", centre=c, normal=FRAME.along, x=FRAME.x, radius=r, span=(0.0, 2.0 * math.pi))
        for c, r in rings
    ]
    some = [*others, *square]
    low, high, rest = EdgeTable.of(some).circle_radii(range(len(some)), FRAME)
    alone = [edge_radii(edge, FRAME) for edge in square]
    assert list(rest) == list(range(len(others)))
    assert (low, high) == pytest.approx((min(a for a, _ in alone), max(b for _, b in alone)), abs=1e-9)


@given(st.lists(st.tuples(places, directions), min_size=2, max_size=25), st.integers(0, 1000))
@settings(max_examples=60, deadline=None)
def test_no_pair_of_near_lines_is_missed_and_none_told_twice(lines, seed):
    rng = np.random.default_rng(seed)
    # Some lines again, from another of their points, turned round, and shifted by a little.
    lines = lines + [
        (tuple(np.array(o) + rng.uniform(-9, 9) * np.array(d) + rng.uniform(-0.02, 0.02, 3)), tuple(-np.array(d)))
        for o, d in lines[::2]
    ]
    origins, axes = (np.array(values, dtype=float) for values in zip(*lines, strict=True))
    pairs = [pair for i, j in near_pairs(origins, axes) for pair in zip(i.tolist(), j.tolist(), strict=True)]
    assert len(pairs) == len(set(pairs))
    assert all(i < j for i, j in pairs)
    middle = origins.mean(axis=0)
    feet = origins - middle - axes * ((origins - middle) * axes).sum(axis=1)[:, None]
    for i in range(len(lines)):
        for j in range(i + 1, len(lines)):
            if np.abs(feet[i] - feet[j]).max() < CELL:
                assert (i, j) in pairs


def test_pairs_come_in_portions_and_are_complete(monkeypatch):
    monkeypatch.setattr("fitcheck.measurement.line_grid.MOST_PAIRS", 50)
    origins, axes = np.zeros((40, 3)), np.tile((0.0, 0.0, 1.0), (40, 1))
    portions = list(near_pairs(origins, axes))
    assert max(len(i) for i, _ in portions) <= 50
    assert sum(len(i) for i, _ in portions) == 40 * 39 // 2
    assert len({pair for i, j in portions for pair in zip(i.tolist(), j.tolist(), strict=True)}) == 40 * 39 // 2


@given(st.lists(st.tuples(places, directions, st.floats(-9.0, 9.0), st.floats(0.1, 9.0)), max_size=6))
@settings(max_examples=60, deadline=None)
def test_a_table_of_bores_says_what_each_bore_says(rows):
    bores = [
        Bore(
            body=k, concave=k % 2 == 0, radius=length, origin=o, axis=d, start=start, stop=start + length, turn=0.5 * k
        )
        for k, (o, d, start, length) in enumerate(rows)
    ]
    table = BoreTable(bores)
    assert list(table) == bores
    low, high = table.ends(FRAME)
    for k, bore in enumerate(bores):
        ends = sorted(FRAME.local(bore.point(t)) for t in (bore.start, bore.stop))
        assert (*low[k], *high[k]) == pytest.approx((*ends[0], *ends[1]), abs=1e-9)
        assert table.lean(FRAME)[k] == pytest.approx(line_angle(bore.axis, FRAME.along), abs=1e-12)
        assert table.offset(FRAME)[k] == pytest.approx(offset_between(bore, FRAME.origin, FRAME.along), abs=1e-9)
        middle = sub(bore.point(0.5 * (bore.start + bore.stop)), FRAME.origin)
        away = sub(middle, scale(FRAME.along, dot(middle, FRAME.along)))
        assert table.offset(FRAME)[k] == pytest.approx(norm(away), abs=1e-9)
    assert table.where(table.concave) == bores[::2]


@given(st.lists(edges(), min_size=1, max_size=6))
@settings(max_examples=40, deadline=None)
def test_what_was_packed_is_what_arrives(some):
    columns = Columns()
    for edge in some:
        if edge.kind == "circle":
            told = {"c": edge.centre, "n": edge.normal, "x": edge.x, "r": edge.radius, "t": edge.span}
        else:
            told = {"p": edge.points} if edge.kind == "other" else {}
        columns.edge({"kind": edge.kind, "a": edge.a, "b": edge.b, **told})
    frame = {"origin": (1.0, 2.0, 3.0), "axis": (0.0, 1.0, 0.0), "x": (0.0, 0.0, 1.0), "y": (1.0, 0.0, 0.0)}
    torus = {"kind": "torus", **frame, "radius": 5.0, "minor": 2.0, "out": -1, "native": True, "gap": 1e-4}
    columns.face({**torus, "u": (0.0, 1.0), "v": (-1.0, 2.0)}, 0, [0], [])
    columns.face({"kind": "none"}, 0, [], [0])
    message, arrays = columns.message()
    survey = survey_from({"units": ["mm"], "bodies": [], **message}, arrays)
    for index, edge in enumerate(some):
        edge.index = index
    assert survey.edges == some
    first, second = survey.faces
    assert (first.kind, first.origin, first.axis, first.x, first.y) == ("torus", *frame.values())
    assert (first.radius, first.minor, first.out, first.native, first.gap) == (5.0, 2.0, -1, True, 1e-4)
    assert (first.u, first.v, first.edges, first.seams) == ((0.0, 1.0), (-1.0, 2.0), (0,), ())
    assert (second.kind, second.out, second.native, second.seams) == ("none", 1, False, (0,))
    low, high = survey.edge_table.boxes
    assert np.array_equal([low, high], EdgeTable.of(some).boxes)
