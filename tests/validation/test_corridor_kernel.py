"""Tool corridors of whole sample adapters against the CAD kernel's exact distance between tool and adapter."""

from math import cos, radians, sin
from pathlib import Path

import numpy as np
import pytest

import fitcheck
from fitcheck.checks.drive import drive_of
from fitcheck.checks.swept import hub_radius, outer_end
from fitcheck.checks.tools import tool_parts
from fitcheck.measurement.corridor import corridor

SAMPLES = Path(__file__).parents[2] / "sample_assemblies"
REACH = 300.0
ANGLES = 30


def read(path):
    from OCP.IFSelect import IFSelect_RetDone
    from OCP.STEPControl import STEPControl_Reader

    reader = STEPControl_Reader()
    assert reader.ReadFile(str(path)) == IFSelect_RetDone
    reader.TransferRoots()
    return reader.OneShape()


def distance(shape, measurement, station, offset, part, theta):
    """The kernel's exact distance from a tool cylinder at a shaft angle (degrees) to the shape; 0 where they meet."""
    from OCP.BRepExtrema import BRepExtrema_DistShapeShape
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt

    origin = np.array(measurement.point(station))
    out = np.array(measurement.point(station, 1.0, theta)) - origin
    left = np.array(measurement.point(station, 1.0, theta + 90.0)) - origin
    start = origin + offset * left + part.start * out
    tool = BRepPrimAPI_MakeCylinder(gp_Ax2(gp_Pnt(*start), gp_Dir(*out)), part.radius, REACH).Shape()
    return BRepExtrema_DistShapeShape(tool, shape).Value()


@pytest.mark.parametrize("name", ["passing/x-passes", "passing/x-u-bracket", "failing/x-window-misses-screw"])
def test_free_and_blocked_angles_of_a_sample(name):
    result = fitcheck.check(SAMPLES / f"{name}.fit.yaml")
    loaded, measurement = result.loaded, result.measurement
    placed = drive_of(loaded, measurement).placed
    shape = read(loaded.step_path)
    rng = np.random.default_rng(11)
    for side in ("motor", "actuator"):
        hub = placed.hub(side)
        screw = hub.hub.screws[0]
        station = hub.inwards(screw.station)
        (part,) = tool_parts("hex key", screw, outer_end(screw, hub_radius(loaded.job.coupling, hub.hub)))
        found = corridor(measurement.obstacles, station, screw.offset, [part])
        edges = [end for gap in found.free for end in (gap.start, gap.stop)]
        # Anywhere, and 0.15 degrees to either side of every end: the answer is within 0.1 degrees.
        angles = [*rng.uniform(0.0, 360.0, ANGLES), *(end + d for end in edges for d in (-0.15, 0.15))]
        for theta in angles:
            free = any(gap.start <= t <= gap.stop for gap in found.free for t in (theta, theta + 360.0, theta - 360.0))
            apart = distance(shape, measurement, station, screw.offset, part, theta)
            where = f"{side}, {theta:.2f} degrees: distance {apart:.4f} mm"
            # The tool touches nothing that is free; what is blocked is met, or nearer than 0.1 degrees turn it.
            assert apart > 0.0 if free else apart < 0.1 * np.pi / 180 * REACH, where
            if not free and min((abs((theta - e + 180) % 360 - 180) for e in edges), default=360.0) > 0.1:
                assert apart == pytest.approx(0.0, abs=1e-6), where


def test_the_axis_frame_is_right_handed():
    # The check above uses the same frame as the product; this holds its handedness against the convention.
    measurement = fitcheck.measure(SAMPLES / "passing/x-passes.step")
    along = np.array(measurement.drive_axis.direction)
    origin = np.array(measurement.point(0.0))
    x, y = (np.array(measurement.point(0.0, 1.0, angle)) - origin for angle in (0.0, 90.0))
    assert np.cross(x, y) == pytest.approx(along, abs=1e-12)
    there = np.array(measurement.point(0.0, 2.0, 30.0)) - origin
    assert there == pytest.approx(2 * (cos(radians(30)) * x + sin(radians(30)) * y), abs=1e-12)
