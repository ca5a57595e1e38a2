"""Open and split adapters made at random, with every tool on screws at random: L- and U-brackets, housings in two
pieces, standoffs; against the CAD kernel's exact distance and an independent collision library.

The straight part of a tool is a solid of the kernel's; where it is told free its distance from the adapter is not 0,
and 0.11 degrees beyond an end it is. Arms are swung by the library, step by step, about the adapter's mesh (0.01 mm)
and the drive's own round bodies and heads.

More of it: `python tests/validation/access/test_random_adapters_kernel.py --seeds 100 140` tries seeds 100 to 139, and
tells by how much ends of ranges of straight parts lie off those that the kernel's distance gives.
"""

import argparse
import importlib.util
import tempfile
from collections import Counter
from dataclasses import replace
from math import cos, pi
from pathlib import Path

import numpy as np
import pytest

import fitcheck
from fitcheck.checks.access import reaches
from fitcheck.checks.drive import drive_of
from fitcheck.checks.own_parts import heads, rounds
from fitcheck.job import model as jobs

HERE = Path(__file__).resolve().parent
SAMPLES = HERE.parents[2] / "sample_assemblies"


def loaded_module(name, path):
    spec = importlib.util.spec_from_file_location(name, path)
    assert spec is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


whole = loaded_module("whole_drives", HERE / "test_whole_drives.py")
windows = loaded_module("random_windows", HERE / "test_random_windows_kernel.py")
KINDS = ("L-bracket", "U-bracket", "two pieces", "standoffs")
BASES = dict(zip(KINDS, ("x-l-bracket", "x-u-bracket", "x-two-piece", "z-standoffs"), strict=True))
OUT = 0.11
"""Degrees beyond an end of a range; the answers are within 0.1."""


def adapter(rng, kind):
    """A variant of the demo's adapter of this kind, with what the demo's job says of seats and holes."""
    from parametric_models.adapters import (
        Foot,
        Holes,
        LBracket,
        Standoffs,
        TwoPiece,
        UBracket,
        Window,
        l_bracket,
        standoffs,
        two_piece,
        u_bracket,
    )

    demo = loaded_module("regenerate", SAMPLES / "regenerate.py")
    through = {"opening_length": None}
    foot = Foot(
        axis_height=float(rng.uniform(30.0, 44.0)), thickness=float(rng.uniform(6.0, 10.0)), hole_diameter=6.6,
        hole_spacing=40.0, hole_stations=(24.0, 40.0), counterbore_diameter=11.0, counterbore_depth=4.0,
    )  # fmt: skip
    width, top = float(rng.uniform(62.0, 76.0)), float(rng.uniform(31.0, 40.0))
    if kind == "L-bracket":
        made = LBracket(
            width=width, top=top, thickness=float(rng.uniform(7.0, 11.0)), foot=foot,
            foot_length=float(rng.uniform(64.0, 80.0)), motor=replace(demo.X_MOTOR, **through),
            gusset=float(rng.choice([0.0, rng.uniform(3.0, 8.0)])),
        )  # fmt: skip
        return demo.along_x(l_bracket(made))
    if kind == "U-bracket":
        made = UBracket(
            width=width, top=top, length=62.0, motor_plate=float(rng.uniform(6.0, 9.0)),
            actuator_plate=float(rng.uniform(6.0, 9.0)), foot=foot, motor=replace(demo.X_MOTOR, **through),
            actuator=replace(demo.X_ACTUATOR, **through),
        )  # fmt: skip
        return demo.along_x(u_bracket(made))
    if kind == "two pieces":
        near = (
            Window(
                station=float(station + rng.uniform(-1.0, 1.0)), length=float(rng.uniform(8.0, 12.0)),
                width=float(rng.uniform(12.5, 20.0)), offset=float(rng.uniform(6.0, 11.0)),
                angle=float(rng.uniform(0.0, 360.0)), shape=str(rng.choice(["slot", "rectangle"])),
            )
            for station in (15.5, 46.5)
        )  # fmt: skip
        made = TwoPiece(
            whole=replace(demo.X_ADAPTER, windows=tuple(near)), joint=33.0, spigot_diameter=43.0, spigot_length=3.0
        )
        return demo.together("x-housing", {f"housing {k}": demo.along_x(v) for k, v in two_piece(made).items()})
    made = Standoffs(
        width=84.0, height=84.0, length=58.0, motor_plate=float(rng.uniform(5.5, 7.0)),
        actuator_plate=float(rng.uniform(5.5, 7.0)),
        motor=replace(demo.Z_MOTOR, **through, holes=(Holes(layout="square", size=(47.14,), diameter=5.5),)),
        actuator=replace(
            demo.Z_ACTUATOR, **through,
            holes=(Holes(layout="circle", size=(50.0,), diameter=4.5, start_angle=45.0),),
        ),
        posts=Holes(layout="square", size=(float(rng.uniform(60.0, 68.0)),), diameter=5.5),
        post_diameter=float(rng.uniform(8.0, 13.0)),
    )  # fmt: skip
    return demo.together("z-frame", {f"frame {k}": v for k, v in standoffs(made).items()})


def asked(rng, kind, path, few):
    """The demo's job on this adapter, all tools at hand or two of them, with clamp or set screws at random."""
    from parametric_models.faces import write_step

    write_step(path, adapter(rng, kind))
    loaded = fitcheck.load_job(SAMPLES / "passing" / f"{BASES[kind]}.fit.yaml")
    hubs = loaded.job.coupling.hubs

    def screws(hub):
        angle, size = float(rng.uniform(0.0, 360.0)), str(rng.choice(["M3", "M4"]))
        station = float(rng.uniform(4.5, 5.8))
        if rng.random() < 0.25:
            return replace(
                hub, screws=(jobs.Screw(size=size, kind="set screw", station=station, offset=0.0, angle=angle),)
            )
        beside = float(rng.choice([-1, 1]) * rng.uniform(8.0, 10.5))
        given = replace(hub.screws[0], size=size, station=station, offset=beside, angle=angle)
        return replace(hub, screws=(given,))

    own = jobs.OwnTool(
        name="stack",
        sections=(
            jobs.ToolSection(diameter=3.5, length=float(rng.uniform(10.0, 30.0))),
            jobs.ToolSection(diameter=float(rng.uniform(5.0, 12.0)), length=15.0),
        ),
        arm=jobs.ToolArm(length=float(rng.uniform(15.0, 50.0)), diameter=6.0),
    )  # fmt: skip
    tools = tuple(word for word in jobs.TOOLS if not word.startswith("ball"))
    if few:
        tools = tuple(str(word) for word in rng.choice(tools, 2, replace=False))
    require = replace(
        loaded.job.require, tools=tools, own_tools=(own,), key_swing=float(rng.choice([30.0, 60.0, 120.0]))
    )
    coupling = replace(
        loaded.job.coupling, hubs=replace(hubs, motor=screws(hubs.motor), actuator=screws(hubs.actuator))
    )
    loaded = replace(
        loaded, step_path=str(path), job=replace(loaded.job, step=str(path), require=require, coupling=coupling)
    )
    measurement = fitcheck.check(loaded).measurement
    assert measurement is not None
    return drive_of(loaded, measurement)


class Library:
    """The adapter's mesh and the drive's own bodies, in the axis frame, as bodies of the collision library."""

    def __init__(self, kernel, drive, side):
        from OCP.BRepMesh import BRepMesh_IncrementalMesh

        BRepMesh_IncrementalMesh(kernel.shape, 0.01, False, 0.3)
        origin = np.array(drive.measurement.point(0.0))
        axes = np.array([drive.measurement.point(*at) for at in ((1.0,), (0.0, 1.0, 0.0), (0.0, 1.0, 90.0))]) - origin
        self.adapter = whole.mesh_body((mesh_of(kernel.shape) - origin) @ axes.T)
        self.drive, self.side = drive, side
        self.about = rounds(drive, drive.placed, side, ())
        self.heads = list(heads(drive, drive.placed, side, 1))

    def works(self, tool, turn, *, careful):
        """Whether a tool works at a shaft angle: told too gladly, or with `careful` too carefully."""
        hub = self.drive.placed.hub(self.side)
        screw = hub.hub.screws[0]
        theta = np.radians(turn + screw.angle)
        out, left = np.array([0.0, np.cos(theta), np.sin(theta)]), np.array([0.0, -np.sin(theta), np.cos(theta)])
        along = np.array([1.0, 0.0, 0.0])
        station = hub.inwards(screw.station) * along
        frame = station + screw.offset * left, out, left, along
        wider = 1.0 / cos(pi / 24) if careful else 1.0
        rest = [self.adapter]
        for _, triangles in self.heads:
            local = triangles @ np.stack([out, wider * left, along])
            rest.append(whole.mesh_body(local + station + screw.offset * left))
        own = []
        for body in self.about:
            # The library is not exact on bodies that are far larger than the tools.
            start, stop = max(body.start, -300.0), min(body.stop, 400.0)
            made = whole.cylinder((start, 0.0, 0.0), along, min(body.radius, whole.FAR), stop - start)
            (own if body.own_hub else rest).append(made)
        world, all_of_it = whole.manager(rest), whole.manager([*rest, *own])
        for number, part in enumerate(tool.parts):
            body = whole.cylinder(frame[0] + part.start * out, out, part.radius, whole.FAR)
            if whole.meets(all_of_it if number else world, body):
                return False
        if tool.arm is None:
            return True
        found = whole.swing_found(all_of_it, frame, tool.arm, crown=careful)
        return found >= tool.arm.swing + (2 if careful else -2) * whole.STEP


def mesh_of(shape):
    """The triangles of a meshed shape, (n, 3, 3)."""
    from OCP.BRep import BRep_Tool
    from OCP.TopAbs import TopAbs_FACE
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopLoc import TopLoc_Location
    from OCP.TopoDS import TopoDS

    found, faces = [], TopExp_Explorer(shape, TopAbs_FACE)
    while faces.More():
        location = TopLoc_Location()
        mesh = BRep_Tool.Triangulation_s(TopoDS.Face_s(faces.Current()), location)
        nodes = [mesh.Node(i).Transformed(location.Transformation()) for i in range(1, mesh.NbNodes() + 1)]
        points = np.array([(node.X(), node.Y(), node.Z()) for node in nodes])
        corners = np.array([mesh.Triangle(i).Get() for i in range(1, mesh.NbTriangles() + 1)]) - 1
        found.append(points[corners])
        faces.Next()
    return np.concatenate(found)


def told(free, turn):
    return any(g.start <= t <= g.stop for g in free for t in (turn, turn + 360.0, turn - 360.0))


def disagreements(seed, folder, count, each=2, *, few=False):
    """Where the checker differs from kernel and library on one random adapter, in words."""
    rng, kind = np.random.default_rng(seed), KINDS[seed % len(KINDS)]
    path = Path(folder) / f"adapter-{seed}.step"
    drive = asked(rng, kind, path, few)
    kernel = windows.Kernel(path, drive.measurement)
    found = []
    for side in (str(rng.choice(["motor", "actuator"])),) if few else ("motor", "actuator"):
        hub, library = drive.placed.hub(side), Library(kernel, drive, side)
        screw = hub.hub.screws[0]
        station = hub.inwards(screw.station)
        for reach in reaches(drive, drive.placed, side, 1):
            edges = [end for gap in reach.free for end in (gap.start, gap.stop) if gap.width < 360.0]
            beyond = [end + shift for end in edges for shift in (-OUT, OUT)]
            inside = [gap.start + share * gap.width for gap in reach.free for share in rng.uniform(0.0, 1.0, 2)]
            for turn in (*rng.uniform(0, 360, each), *rng.permutation(inside)[:each], *rng.permutation(beyond)[:each]):
                where = f"{seed}, {kind}, {side}, {reach.tool.name} at {turn:.3f} degrees"
                free = told(reach.free, turn)
                at_edge = min((abs((turn - e + 180.0) % 360.0 - 180.0) for e in edges), default=360.0) <= 0.1
                apart = kernel.straight(reach.tool.parts, station, screw.offset, turn + screw.angle)
                if free and apart <= 1e-6:
                    found.append(f"{where}: told free, and the kernel's distance is 0")
                if not free and not at_edge and reach.tool.arm is None and reach.hindered_by is None and apart > 1e-6:
                    found.append(f"{where}: {apart:.4f} mm free by the kernel, and not told")
                if free and not library.works(reach.tool, turn, careful=False):
                    found.append(f"{where}: told free, and the library meets something")
                if not free and not at_edge and library.works(reach.tool, turn, careful=True):
                    found.append(f"{where}: free by the library, and not told")
                count[kind, "told free" if free else "told blocked"] += 1
    return found, (drive, kernel)


def end_errors(drive, kernel):
    """Degrees by which ends of ranges of straight tools lie off the kernel's; positive where a range is too wide."""
    for side in ("motor", "actuator"):
        hub = drive.placed.hub(side)
        screw = hub.hub.screws[0]
        for reach in (reach for reach in reaches(drive, drive.placed, side, 1) if reach.tool.arm is None):
            for gap in (gap for gap in reach.free if gap.width < 360.0):
                for end, out in ((gap.start, -1.0), (gap.stop, 1.0)):
                    low, high = -0.2, 0.4
                    for _ in range(10):
                        middle = 0.5 * (low + high)
                        turn = end + out * middle + screw.angle
                        # The kernel's distance may be a hair above 0 where the two meet.
                        if kernel.straight(reach.tool.parts, hub.inwards(screw.station), screw.offset, turn) > 1e-6:
                            low = middle
                        else:
                            high = middle
                    yield -0.5 * (low + high)


@pytest.mark.parametrize("seed", [0, 1, 2, 3])
def test_random_adapters(seed, tmp_path):
    count = Counter()
    found, _ = disagreements(seed, tmp_path, count, each=2, few=True)
    assert found == []
    assert sum(count.values()) > 5


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seeds", nargs=2, type=int, default=(100, 140), metavar=("FIRST", "END"))
    first, end = parser.parse_args().seeds
    count, found, errors = Counter(), [], []
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(first, end):
            lines, case = disagreements(seed, folder, count)
            found += lines
            errors += end_errors(*case)
            for line in lines:
                print(line, flush=True)
    for (kind, free), number in sorted(count.items()):
        print(f"{number:5d}  {kind}, {free}")
    print(f"{sum(count.values())} places, {len(found)} disagreements")
    if errors:
        print(f"{len(errors)} ends: {-min(errors):.3f} degrees too narrow at the most, {max(errors):.3f} too wide")


if __name__ == "__main__":
    main()
