"""Keys in a sample adapter against the CAD kernel's exact distance between key and adapter."""

from math import cos, radians, sin
from pathlib import Path

import numpy as np
import pytest

import fitcheck
from fitcheck.checks.access import reaches
from fitcheck.checks.drive import drive_of
from fitcheck.checks.swept import hub_radius, outer_end
from fitcheck.checks.tools import tools_for

SAMPLES = Path(__file__).parents[3] / "sample_assemblies"
FAR = 200.0
STEP = 12.0


def read(path):
    from OCP.IFSelect import IFSelect_RetDone
    from OCP.STEPControl import STEPControl_Reader

    reader = STEPControl_Reader()
    assert reader.ReadFile(str(path)) == IFSelect_RetDone
    reader.TransferRoots()
    return reader.OneShape()


def bar_distance(shape, measurement, station, offset, bar, theta, psi, top):
    """The kernel's exact distance from a box in the bar's place (to the chord of its round end) to the shape."""
    from OCP.BRepExtrema import BRepExtrema_DistShapeShape
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt

    origin = np.array(measurement.point(station))
    u = np.array(measurement.point(station, 1.0, theta)) - origin
    n = np.array(measurement.point(station, 1.0, theta + 90.0)) - origin
    s = np.array(measurement.point(station + 1.0)) - origin
    out = cos(radians(psi)) * n + sin(radians(psi)) * s
    across = np.cross(u, out)
    corner = origin + offset * n + bar.low * u - bar.half_width * across
    frame = gp_Ax2(gp_Pnt(*corner), gp_Dir(*u), gp_Dir(*out))
    length = (bar.length**2 - bar.half_width**2) ** 0.5
    box = BRepPrimAPI_MakeBox(frame, length, 2 * bar.half_width, top - bar.low).Shape()
    return BRepExtrema_DistShapeShape(box, shape).Value()


def swing(shape, measurement, station, offset, arm, theta):
    """The widest run of free tool angles, in whole steps, with a free way in; degrees."""
    angles = np.arange(0.0, 360.0, STEP)

    def free(psi, way_in):
        return all(
            bar_distance(
                shape, measurement, station, offset, bar, theta, psi, FAR if way_in else bar.high
            ) > 0.0
            for bar in arm.bars
        )  # fmt: skip

    turns = [free(psi, False) for psi in angles]
    if all(turns):
        return 360.0
    first, widest, run = turns.index(False), 0, []
    for i in range(1, len(angles) + 1):
        at = (first + i) % len(angles)
        if turns[at]:
            run.append(angles[at])
            continue
        if len(run) > widest and any(free(psi, True) for psi in run):
            widest = len(run)
        run = []
    return widest * STEP


@pytest.mark.parametrize("name", ["passing/x-passes"])
def test_a_short_arm_in_a_sample(name):
    result = fitcheck.check(SAMPLES / f"{name}.fit.yaml")
    loaded, measurement = result.loaded, result.measurement
    drive = drive_of(loaded, measurement)
    shape = read(loaded.step_path)
    hub = drive.placed.hub("motor")
    screw = hub.hub.screws[0]
    tool = tools_for(loaded.job.require, screw, outer_end(screw, hub_radius(loaded.job.coupling, hub.hub)))[0]
    told = next(r for r in reaches(drive, drive.placed, "motor", 1) if r.tool == tool)
    station = hub.inwards(screw.station)
    assert told.free
    for gap in told.free:
        # The kernel knows the adapter alone, so what it finds is at least what is told.
        for share in (0.02, 0.98):
            theta = gap.start + share * gap.width + screw.angle
            found = swing(shape, measurement, station, screw.offset, tool.arm, theta)
            assert found >= tool.arm.swing - STEP, theta
