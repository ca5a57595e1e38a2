"""Adapters with random windows: every tool against the CAD kernel's exact distance between tool and adapter."""

from dataclasses import replace
from math import cos, radians, sin, sqrt
from pathlib import Path

import numpy as np
import pytest

import fitcheck
from fitcheck.checks.access import reaches
from fitcheck.checks.drive import drive_of
from fitcheck.job import model as jobs

SAMPLES = Path(__file__).parents[3] / "sample_assemblies"
FAR, STEP = 200.0, 20.0
EDGE = 0.11
"""Degrees beside an end of a range; the answers are within 0.1."""


def adapter(rng, path):
    """A housing of 62 mm with a window near each screw; motor seat at the file's origin, drive axis along z."""
    from parametric_models.adapters import Holes, Housing, Seat, Window, housing
    from parametric_models.faces import write_step

    holes = (Holes(layout="square", size=(47.14,), diameter=5.5),)
    motor = Seat(pilot_diameter=38.13, pilot_depth=2.4, opening_diameter=36.0, opening_length=3.0, holes=holes)
    actuator = Seat(pilot_diameter=36.03, pilot_depth=2.6, opening_diameter=32.0, opening_length=3.0, holes=holes)
    windows = []
    for station in (15.5, 46.5):
        shape = str(rng.choice(["round", "slot", "rectangle"]))
        length = float(rng.uniform(8.0, 14.0))
        width = length if shape == "round" else length + float(rng.uniform(2.0, 10.0))
        windows.append(
            Window(
                station=station + float(rng.uniform(-2.0, 2.0)), length=length, width=width, shape=shape,
                offset=float(rng.uniform(6.0, 12.0)), angle=float(rng.uniform(0.0, 360.0)),
            )
        )  # fmt: skip
    made = Housing(
        length=62.0, size=60.0, chamber_diameter=38.0, motor=motor, actuator=actuator, windows=tuple(windows)
    )  # fmt: skip
    write_step(path, housing(made))


def asked(rng, path):
    """The demo's X drive with this adapter, all tools at hand, and screws at random."""
    loaded = fitcheck.load_job(SAMPLES / "passing" / "x-passes.fit.yaml")
    job, hubs = loaded.job, loaded.job.coupling.hubs

    def screw(hub):
        given = replace(hub.screws[0], offset=float(rng.uniform(8.0, 10.5)), angle=float(rng.uniform(0.0, 360.0)))
        return replace(hub, screws=(given,))

    own = jobs.OwnTool(
        name="stack",
        sections=(jobs.ToolSection(diameter=3.5, length=20.0), jobs.ToolSection(diameter=7.0, length=15.0)),
        arm=jobs.ToolArm(length=30.0, diameter=6.0),
    )  # fmt: skip
    tools = tuple(word for word in jobs.TOOLS if not word.startswith("ball"))
    job = replace(
        job, step=str(path), require=replace(job.require, tools=tools, own_tools=(own,)),
        coupling=replace(job.coupling, hubs=replace(hubs, motor=screw(hubs.motor), actuator=screw(hubs.actuator))),
    )  # fmt: skip
    loaded = replace(loaded, job=job, step_path=str(path))
    measurement = fitcheck.check(loaded).measurement
    assert measurement is not None
    return drive_of(loaded, measurement)


class Kernel:
    """Tools as the kernel's solids, and their exact distance from the adapter."""

    def __init__(self, path, measurement):
        from OCP.STEPControl import STEPControl_Reader

        reader = STEPControl_Reader()
        reader.ReadFile(str(path))
        reader.TransferRoots()
        self.shape, self.measurement = reader.OneShape(), measurement

    def frame(self, station, offset, theta):
        origin = np.array(self.measurement.point(station))
        out, left = (np.array(self.measurement.point(station, 1.0, t)) - origin for t in (theta, theta + 90.0))
        return origin + offset * left, out, left, np.array(self.measurement.point(station + 1.0)) - origin

    def distance(self, solid):
        from OCP.BRepExtrema import BRepExtrema_DistShapeShape

        return BRepExtrema_DistShapeShape(solid, self.shape).Value()

    def straight(self, parts, station, offset, theta):
        """The least distance of a tool's cylinders, each from its start outwards without end."""
        from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder
        from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt

        origin, out, _, _ = self.frame(station, offset, theta)
        return min(
            self.distance(
                BRepPrimAPI_MakeCylinder(
                    gp_Ax2(gp_Pnt(*(origin + part.start * out)), gp_Dir(*out)), part.radius, FAR
                ).Shape()
            )
            for part in parts
        )

    def bar(self, bar, station, offset, theta, psi, top):
        """The distance of a bar of an arm, to the chord of its round end."""
        from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox
        from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt

        origin, u, v, w = self.frame(station, offset, theta)
        out = cos(radians(psi)) * v + sin(radians(psi)) * w
        corner = origin + bar.low * u - bar.half_width * np.cross(u, out)
        length = sqrt(bar.length**2 - bar.half_width**2)
        frame = gp_Ax2(gp_Pnt(*corner), gp_Dir(*u), gp_Dir(*out))
        return self.distance(BRepPrimAPI_MakeBox(frame, length, 2 * bar.half_width, top - bar.low).Shape())

    def swing(self, arm, station, offset, theta):
        """The widest run of free tool angles in steps that holds a free way in, degrees."""

        def free(psi, way_in):
            turns = (0.0, 180.0) if arm.both_sides else (0.0,)
            return all(
                self.bar(bar, station, offset, theta, psi + turn, FAR if way_in else bar.high) > 0.0
                for bar in arm.bars[:1] for turn in turns
            )  # fmt: skip

        angles = np.arange(0.0, 360.0, STEP)
        good = [free(psi, False) for psi in angles]
        if all(good):
            return 360.0 if any(free(psi, True) for psi in angles) else 0.0
        first, widest, run = good.index(False), 0, []
        for i in range(1, len(angles) + 1):
            at = (first + i) % len(angles)
            if good[at]:
                run.append(angles[at])
                continue
            if len(run) > widest and any(free(psi, True) for psi in run):
                widest = len(run)
            run = []
        return widest * STEP


@pytest.mark.parametrize("seed", [2, 3])
def test_tools_at_random_windows(seed, tmp_path):
    rng = np.random.default_rng(seed)
    path = tmp_path / "adapter.step"
    adapter(rng, path)
    drive = asked(rng, path)
    kernel = Kernel(path, drive.measurement)
    looked_at, armed = 0, 0
    for side in ("motor", "actuator"):
        hub = drive.placed.hub(side)
        screw = hub.hub.screws[0]
        station = hub.inwards(screw.station)
        for reach in reaches(drive, drive.placed, side, 1):
            edges = [end for gap in reach.free for end in (gap.start, gap.stop) if gap.width < 360.0]
            beside = [end + shift for end in edges[:2] for shift in (-EDGE, EDGE)]
            inside = [gap.start + share * gap.width for gap in reach.free for share in rng.uniform(0, 1, 1)][:2]
            for turn in [rng.uniform(0.0, 360.0), *inside, *beside]:
                told = any(g.start <= t <= g.stop for g in reach.free for t in (turn, turn + 360.0, turn - 360.0))
                if reach.tool.arm is not None and not told:
                    continue
                apart = kernel.straight(reach.tool.parts, station, screw.offset, turn + screw.angle)
                where = f"{side}, {reach.tool.name}, {turn:.3f} degrees: {apart:.4f} mm"
                looked_at += 1
                if told:
                    assert apart > 0.0, where
                elif (
                    reach.hindered_by is None
                    and min((abs((turn - e + 180) % 360 - 180) for e in edges), default=9) > 0.1
                ):
                    assert apart == pytest.approx(0.0, abs=1e-6), where
            if reach.tool.arm is not None and reach.free and armed < 1 and "long" not in reach.tool.name:
                armed += 1
                gap = reach.free[0]
                turn = gap.start + 0.98 * gap.width + screw.angle
                found = kernel.swing(reach.tool.arm, station, screw.offset, turn)
                assert found >= reach.tool.arm.swing - STEP, (side, reach.tool.name, turn)
    assert looked_at > 20
