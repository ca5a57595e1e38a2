"""Wrench access and assembly order, timed: `python tests/benchmarks/access.py [--quick]`.

Prints the processor time of both checks from a measurement, for all screws with all tools: on sample adapters, and on
one with about 2,000 faces (left out by --quick, as it takes the kernel a while); "+ ball" counts the ball end as well.
Then the same question as the CAD kernel would be asked it: its exact distance from the tool to the adapter at steps of
1 degree, once round the drive axis for the straight part of every tool, and once round the screw at every free step of
shaft angle for every arm. One distance is timed as the mean of some; the sum is worked out, since it takes hours.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import numpy as np

import fitcheck
from fitcheck.checks import assembly_order, wrench_access
from fitcheck.checks.access import reaches, screws_of
from fitcheck.checks.drive import Drive, drive_of
from fitcheck.job.model import TOOLS, LoadedJob
from fitcheck.measurement.model import Measurement

SAMPLES = Path(__file__).parents[2] / "sample_assemblies"
STRAIGHT_AND_ARMED = tuple(tool for tool in TOOLS if not tool.startswith("ball"))


def with_tools(loaded: LoadedJob, tools: tuple[str, ...]) -> LoadedJob:
    return replace(loaded, job=replace(loaded.job, require=replace(loaded.job.require, tools=tools)))


def timed(loaded: LoadedJob, measurement: Measurement, tries: int = 5) -> tuple[float, float, Drive]:
    """Processor seconds of wrench access, and of it with the assembly order; the best of some tries."""
    best = (1e9, 1e9)
    for _ in range(tries):
        start = time.process_time()
        drive = drive_of(loaded, measurement)
        wrench_access.check(drive)
        access = time.process_time() - start
        assembly_order.check(drive)
        best = min(best, (access, time.process_time() - start))
    return (*best, drive)


def many_faces(folder: Path) -> Path:
    """The sample adapter of the X drive with 480 small blind holes in its outer sides: about 2,000 faces."""
    import importlib.util

    import cadquery as cq

    from parametric_models.adapters import housing
    from parametric_models.faces import write_step

    spec = importlib.util.spec_from_file_location("regenerate", SAMPLES / "regenerate.py")
    assert spec is not None
    assert spec.loader is not None
    samples = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(samples)
    block = housing(replace(samples.X_ADAPTER, waist=None))
    points = [(x, z) for x in np.linspace(-26.0, 26.0, 15) for z in np.linspace(4.0, 58.0, 16)]
    cutters = []
    for x, z in points:
        cutters.append(cq.Solid.makeCylinder(0.8, 2.0, cq.Vector(x, -31.0, z), cq.Vector(0, 1, 0)))
        cutters.append(cq.Solid.makeBox(1.2, 2.0, 1.2, cq.Vector(x, 29.0, z)))
    path = folder / "many-faces.step"
    write_step(path, samples.along_x(block.cut(*cutters)))
    return path


def kernel_distance(loaded: LoadedJob, drive: Drive, tries: int = 12) -> float:
    """Seconds of one exact distance by the kernel, from a key's straight part to the file's shape."""
    from OCP.BRepExtrema import BRepExtrema_DistShapeShape
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
    from OCP.STEPControl import STEPControl_Reader

    reader = STEPControl_Reader()
    reader.ReadFile(loaded.step_path)
    reader.TransferRoots()
    shape, measurement, placed = reader.OneShape(), drive.measurement, drive.placed
    assert placed is not None
    hub = placed.hub("motor")
    screw = hub.hub.screws[0]
    station = hub.inwards(screw.station)
    origin = np.array(measurement.point(station))
    part = reaches(drive, placed, "motor", 1)[0].tool.parts[0]
    start = time.process_time()
    for theta in np.linspace(0.0, 360.0, tries, endpoint=False):
        out = np.array(measurement.point(station, 1.0, theta)) - origin
        left = np.array(measurement.point(station, 1.0, theta + 90.0)) - origin
        at = origin + screw.offset * left + part.start * out
        tool = BRepPrimAPI_MakeCylinder(gp_Ax2(gp_Pnt(*at), gp_Dir(*out)), part.radius, 200.0).Shape()
        BRepExtrema_DistShapeShape(tool, shape).Value()
    return (time.process_time() - start) / tries


def distances_asked(drive: Drive) -> int:
    """How many distances the kernel would be asked for at steps of 1 degree."""
    assert drive.placed is not None
    count = 0
    for side, position, _ in screws_of(drive):
        for reach in reaches(drive, drive.placed, side, position):
            count += 360 * len(reach.tool.parts)
            if reach.tool.arm is not None:
                free = sum(gap.width for gap in reach.free)
                count += int(free) * 360 * len(reach.tool.arm.bars)
    return count


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--quick", action="store_true", help="leave out the adapter with about 2,000 faces")
    quick = parser.parse_args().quick
    heads = (
        ("triangles", 10),
        ("access", 9),
        ("+ order", 9),
        ("+ ball", 9),
        ("kernel asked", 14),
        ("one takes", 11),
        ("ratio", 10),
    )
    print(f"{'adapter':22}" + "".join(f"{text:>{width}}" for text, width in heads))
    with tempfile.TemporaryDirectory() as folder:
        names = ["z-passes", "x-passes", "x-l-bracket", "x-u-bracket"]
        for name in names if quick else [*names, "many faces"]:
            result = fitcheck.check(SAMPLES / "passing" / f"{'x-passes' if ' ' in name else name}.fit.yaml")
            loaded, measurement = result.loaded, result.measurement
            assert loaded is not None
            if name == "many faces":
                path = many_faces(Path(folder))
                loaded = replace(loaded, step_path=str(path), job=replace(loaded.job, step=str(path)))
                measurement = fitcheck.check(loaded).measurement
            assert measurement is not None
            assert measurement.obstacles is not None
            access, both, drive = timed(with_tools(loaded, STRAIGHT_AND_ARMED), measurement)
            ball, _, _ = timed(with_tools(loaded, TOOLS), measurement)
            each, asked = kernel_distance(loaded, drive), distances_asked(drive)
            print(
                f"{name:22}{len(measurement.obstacles.triangles):10d}{access:8.3f}s{both:8.3f}s{ball:8.3f}s{asked:14d}"
                f"{1000 * each:9.1f}ms{asked * each / access:9.0f}x",
                flush=True,
            )


if __name__ == "__main__":
    main()
