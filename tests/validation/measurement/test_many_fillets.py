"""Walls with many filleted pockets beside the axis: closed forms, the kernel's exact distance, and work that stays put.

The wall is the plane x = WALL; its pockets open towards the axis, with cylinders along their corners and tori and
spheres round their floors. Between pockets the nearest point is the wall itself; beside the middle of a row of pockets
it is the rim of the pocket before the axis.
"""

import math

import cadquery as cq
import numpy as np
import pytest
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.gp import gp_Pnt

from fitcheck.measurement.obstacles import Obstacles, least_radius
from fitcheck.measurement.plane_lines import CHORD
from fitcheck.measurement.survey import survey_from
from fitcheck.measurement.trace import Tracer
from fitcheck.measurement.vectors import frame_on
from parametric_models.step_files import write_step

WALL, PITCH, SIZE, DEEP = 25.0, 14.0, 10.0, 5.0


def wall(rows, columns):
    """A wall with so many pockets along the axis and across it."""
    high, wide = rows * PITCH, columns * PITCH
    block = cq.Workplane("YZ").box(wide, high, 8.0, centered=(True, False, False)).translate((WALL, 0, 0))
    grid = cq.Workplane("YZ", origin=(WALL, 0, 0.5 * high)).rarray(PITCH, PITCH, columns, rows)
    pockets = grid.rect(SIZE, SIZE).extrude(DEEP).edges("|X").fillet(2.0).faces(">X").edges().fillet(1.0)
    return block.cut(pockets).val()


class Asking:
    """Passes questions on and counts the lines that are to be clipped, and their corners."""

    def __init__(self, kernel, path):
        self.kernel, self.path, self.lines, self.corners = kernel, path, 0, 0

    def __call__(self, phase, request):
        if request["do"] == "clip":
            self.lines += len(request["wanted"])
            self.corners += sum(len(item["points"]) for item in request["wanted"])
        return self.kernel.ask(self.path, phase, request)


@pytest.fixture(scope="module")
def traced(kernel, tmp_path_factory):
    def work(shape, name):
        path = str(tmp_path_factory.mktemp("fillets") / f"{name}.step")
        write_step(path, shape)
        ask = Asking(kernel, path)
        survey = survey_from(*ask("reading", {"do": "read", "path": path}))
        kinds = {face.kind for face in survey.faces}
        assert {"cylinder", "torus", "plane"} <= kinds
        frame = frame_on((0.0, 0.0, 0.0), (0.0, 0.0, 1.0))
        segments, bound, body = Tracer(survey, frame, ask).trace(survey.faces)
        none = np.zeros((0, 3, 3)), np.zeros(0), np.zeros(0, dtype=np.int32)
        obstacles = Obstacles(
            segments=segments, segment_bound=bound, segment_body=body, triangles=none[0], triangle_bound=none[1],
            triangle_body=none[2],
        )  # fmt: skip
        return obstacles, ask, len(survey.faces)

    return work


def test_the_free_radius_beside_pockets(traced):
    rows = 3
    shape = wall(rows, 3)
    obstacles, _, _ = traced(shape, "pockets")
    for row in range(rows):
        middle = (row + 0.5) * PITCH
        rim = math.hypot(WALL, 0.5 * SIZE)
        assert least_radius(obstacles, middle - 2.0, middle + 2.0).radius == pytest.approx(rim, abs=1e-6)
        assert least_radius(obstacles, row * PITCH, row * PITCH + 1.5).radius == pytest.approx(WALL, abs=1e-9)
    # Through the rounded corners of a pocket: what a thin slab leaves of the wall, at the kernel's exact distance.
    for low in np.arange(2.1, 13.9, 0.7).tolist():
        slab = cq.Workplane(origin=(0, 0, low)).rect(200, 200).extrude(0.05).val()
        piece = BRepBuilderAPI_MakeEdge(gp_Pnt(0, 0, low), gp_Pnt(0, 0, low + 0.05)).Edge()
        exact = BRepExtrema_DistShapeShape(piece, shape.intersect(slab).wrapped).Value()
        assert least_radius(obstacles, low, low + 0.05).radius == pytest.approx(exact, abs=CHORD)


def test_more_pockets_behind_others_ask_nothing_more_of_the_kernel(traced):
    few, asked_few, small = traced(wall(3, 3), "few")
    many, asked_many, large = traced(wall(3, 11), "many")
    assert large > 3 * small
    # The pockets farther across lie behind those that were there before.
    assert asked_many.lines <= asked_few.lines + 10
    assert asked_many.corners <= 1.2 * asked_few.corners
    for low in np.arange(0.3, 3 * PITCH, 1.7):
        here, there = (least_radius(obstacles, low, low + 0.2).radius for obstacles in (few, many))
        assert here == pytest.approx(there, abs=1e-9)
