"""Bodies that overlap each other in the model: looked for at points of their edges, told with place and depth.

No overlap is searched by a boolean, which takes a tenth of a second a pair and may come out empty without an error.
Where two bodies overlap, an edge of one nearly always runs inside the other. Only the boxes that both bodies reach into
are looked at, and within an open bore of the other body no point is asked for, so that a clean assembly costs little.
What is found is certain; that nothing is found is no proof. Lengths mm, file frame.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import TYPE_CHECKING

from fitcheck.measurement.cylinders import Bore
from fitcheck.measurement.extent import TWO_PI
from fitcheck.measurement.model import Vector
from fitcheck.measurement.survey import Asker, Edge, Survey, SurveyBody
from fitcheck.measurement.vectors import add, cross, dot, norm, scale, sub, vector

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

LEAST = 0.01
"""mm; what overlaps by less touches: exporters round, and faces that lie on each other stray by as much."""

MOST_POINTS = 32
"""Points of one body that are asked for in another, spread over all that come into question."""

MOST_DEEP = 8
"""Points inside another body whose depth is asked for, of each pair."""

MOST_PAIRS = 60
"""Pairs of bodies that are looked at, those whose boxes share least first; the warning says where there are more."""

MOST_TOLD = 5

ON_LINE, ON_CIRCLE = 5, 16

Box = tuple[Vector, Vector]


def overlaps(survey: Survey, bores: Sequence[Bore], roles: Sequence[str | None], ask: Asker) -> tuple[str, ...]:
    """Warnings about bodies that overlap, for the user; empty where none was found.

    Args:
        survey: the file.
        bores: all its bores.
        roles: role of each body. Bodies of one machine, and of the coupling, are not compared with each other: their
            maker's model is not the user's to mend. Bodies that are ignored are left out.
        ask: asks the kernel worker.
    """
    groups = _groups(survey, roles)
    if len({groups[index] for index in groups}) < 2:
        return ()
    boxes, edges = _boxes(survey)
    pairs = [(a, b) for a, b in combinations(sorted(groups), 2) if groups[a] != groups[b] and boxes[a] and boxes[b]]
    shared = [(a, b, box) for a, b in pairs if (box := _common(boxes[a], boxes[b])) is not None]
    shared.sort(key=lambda item: _volume(item[2]))
    found = [
        f"'{survey.bodies[a].name}' and '{survey.bodies[b].name}' are the same body twice at one place"
        for a, b, _ in shared
        if _twins(survey.bodies[a], survey.bodies[b], boxes[a], boxes[b])
    ]
    questions: list[tuple[int, int, Vector]] = []
    for a, b, box in shared[:MOST_PAIRS]:
        size = min(box[1][i] - box[0][i] for i in range(3))
        for one, other in ((a, b), (b, a)):
            free = [bore for bore in bores if bore.body == other and bore.concave and bore.turn > TWO_PI - 1e-6]
            points = [
                p
                for p in _points(survey, edges[one], _shrunk(boxes[other]), size)
                if not any(_within(bore, p) for bore in free)
            ]
            step = max(len(points) // MOST_POINTS, 1)
            questions += [(one, other, point) for point in points[::step][:MOST_POINTS]]
    found += _told(survey, questions, ask)
    left = f"; {len(shared) - MOST_PAIRS} more pairs of bodies were not looked at" if len(shared) > MOST_PAIRS else ""
    if not found:
        return ()
    more = f"; and {len(found) - MOST_TOLD} more" if len(found) > MOST_TOLD else ""
    return (
        f"bodies overlap in the model: {'; '.join(found[:MOST_TOLD])}{more}{left}. Where that is not meant (a screw in "
        "its thread, a press fit), mend the assembly: what is measured there may not be what will be built",
    )


def _groups(survey: Survey, roles: Sequence[str | None]) -> dict[int, str]:
    """Which bodies belong together; shells have no inside, so that they are left out."""
    found = {}
    for body, role in zip(survey.bodies, roles, strict=True):
        if body.solid and role != "ignored":
            found[body.index] = role if role in ("motor", "actuator", "coupling") else f"body {body.index}"
    return found


def _boxes(survey: Survey) -> tuple[list[Box | None], list[NDArray[np.int64]]]:
    """The box round each body, and the indices of its edges; what has no finite place is left out.

    Round bodies and tori reach beyond their edges; other faces that bulge are taken by their edges alone.
    """
    import numpy as np

    bulges: list[list[Box]] = [[] for _ in survey.bodies]
    for face in survey.faces:
        if face.kind in ("sphere", "torus"):
            (x, y, z), r = face.origin, face.radius + face.minor
            bulges[face.body].append(((x - r, y - r, z - r), (x + r, y + r, z + r)))
    low, high = survey.edge_table.boxes
    mine = [(*face.edges, *face.seams) for face in survey.faces]
    owner = np.full(len(survey.edges), -1)
    owner[[index for some in mine for index in some]] = np.repeat(
        [face.body for face in survey.faces], [len(some) for some in mine]
    )
    # What has no finite place is told by the obstacles, which leave it out.
    sound = np.isfinite(low).all(axis=1) & np.isfinite(high).all(axis=1)
    sound &= np.isfinite(survey.edge_table.spans).all(axis=1)
    boxes: list[Box | None] = []
    edges = []
    for index, round_ in enumerate(bulges):
        rows = np.flatnonzero(sound & (owner == index))
        edges.append(rows)
        around: list[Box] = [(vector(low[rows].min(axis=0)), vector(high[rows].max(axis=0)))] if rows.size else []
        boxes.append(_around([*around, *round_]))
    return boxes, edges


def _around(boxes: Sequence[Box]) -> Box | None:
    if not boxes:
        return None
    lows, highs = zip(*boxes, strict=True)
    x, y, z = (min(values) for values in zip(*lows, strict=True))
    u, v, w = (max(values) for values in zip(*highs, strict=True))
    return (x, y, z), (u, v, w)


def _common(a: Box | None, b: Box | None) -> Box | None:
    """What two boxes share; None where that is thinner than LEAST."""
    if a is None or b is None:
        return None
    low = (max(a[0][0], b[0][0]), max(a[0][1], b[0][1]), max(a[0][2], b[0][2]))
    high = (min(a[1][0], b[1][0]), min(a[1][1], b[1][1]), min(a[1][2], b[1][2]))
    return (low, high) if all(high[i] - low[i] > LEAST for i in range(3)) else None


def _shrunk(box: Box | None) -> Box:
    """A box without the layer in which nothing is deeper than LEAST."""
    if box is None:
        return (0.0, 0.0, 0.0), (0.0, 0.0, 0.0)
    (x, y, z), (u, v, w) = box
    return (x + LEAST, y + LEAST, z + LEAST), (u - LEAST, v - LEAST, w - LEAST)


def _volume(box: Box) -> float:
    return math.prod(box[1][i] - box[0][i] for i in range(3))


def _twins(a: SurveyBody, b: SurveyBody, first: Box | None, second: Box | None) -> bool:
    if not a.volume or not b.volume or first is None or second is None:
        return False
    apart = max(abs(first[k][i] - second[k][i]) for k in (0, 1) for i in range(3))
    return apart < 1e-4 and abs(a.volume - b.volume) < 1e-6 * a.volume


def _points(survey: Survey, rows: NDArray[np.int64], box: Box, size: float) -> Iterator[Vector]:
    """Points of a body's edges inside a box, on circles no farther apart than `size`."""
    low, high = box
    least, most = survey.edge_table.boxes
    near = rows[((least[rows] <= high) & (most[rows] >= low)).all(axis=1)]
    for edge in (survey.edges[index] for index in near.tolist()):
        if edge.kind == "line":
            yield from _on_line(edge, box)
            continue
        count = ON_CIRCLE
        if edge.kind == "circle":
            count = min(max(math.ceil((edge.span[1] - edge.span[0]) * edge.radius / size), ON_CIRCLE), 6 * ON_CIRCLE)
        for point in edge.samples(count):
            if all(low[i] < point[i] < high[i] for i in range(3)):
                yield point


def _on_line(edge: Edge, box: Box) -> Iterator[Vector]:
    """Points spread over the part of a straight edge that lies inside a box."""
    step = sub(edge.b, edge.a)
    first, last = 0.0, 1.0
    for i in range(3):
        if step[i] == 0.0:
            if not box[0][i] < edge.a[i] < box[1][i]:
                return
            continue
        t = sorted(((box[0][i] - edge.a[i]) / step[i], (box[1][i] - edge.a[i]) / step[i]))
        first, last = max(first, t[0]), min(last, t[1])
    if first < last:
        for i in range(ON_LINE):
            yield add(edge.a, scale(step, first + (last - first) * (i + 0.5) / ON_LINE))


def _within(bore: Bore, point: Vector) -> bool:
    """Whether a point lies in the open space of a bore, or no deeper than LEAST in its wall."""
    away = sub(point, bore.origin)
    along = dot(away, bore.axis)
    return bore.start <= along <= bore.stop and norm(cross(away, bore.axis)) < bore.radius + LEAST


def _told(survey: Survey, questions: Sequence[tuple[int, int, Vector]], ask: Asker) -> list[str]:
    """The overlaps among points that are asked for in bodies, deepest first."""
    phase = "looking for overlapping bodies"
    if not questions:
        return []
    answer, _ = ask(phase, {"do": "inside", "bodies": [q[1] for q in questions], "points": [q[2] for q in questions]})
    inside: dict[tuple[int, int], list[Vector]] = {}
    for (one, other, point), state in zip(questions, answer["inside"], strict=True):
        if state:
            inside.setdefault((one, other), []).append(point)
    if not inside:
        return []
    found = [
        (one, other, point)
        for (one, other), points in inside.items()
        for point in points[:: max(len(points) // MOST_DEEP, 1)][:MOST_DEEP]
    ]
    answer, _ = ask(phase, {"do": "depth", "bodies": [q[1] for q in found], "points": [q[2] for q in found]})
    deepest: dict[tuple[int, int], tuple[float, Vector]] = {}
    for (one, other, point), depth in zip(found, answer["depth"], strict=True):
        pair = (min(one, other), max(one, other))
        if depth > max(LEAST, deepest.get(pair, (0.0, point))[0]):
            deepest[pair] = (depth, point)
    return [
        f"'{survey.bodies[a].name}' and '{survey.bodies[b].name}' by at least {depth:.3f} mm at "
        f"[{point[0]:.3f}, {point[1]:.3f}, {point[2]:.3f}]"
        for (a, b), (depth, point) in sorted(deepest.items(), key=lambda item: -item[1][0])
    ]
