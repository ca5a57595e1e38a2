"""Whole drives, made at random, against an independent collision library: every tool on every kind of screw.

Material with windows, hubs, shafts, machines, other screws' heads and the tools are put together here from the job's
numbers as bodies of the library, and moved through shaft angle and tool angle step by step: the way in from outside,
the engaged depth, and the swing between re-seatings.

More of it: `python tests/validation/access/test_whole_drives.py --seeds 100 300` tries seeds 100 to 299.
"""

import argparse
import itertools
from collections import Counter
from dataclasses import replace
from math import cos, hypot, radians, sin, sqrt

import fcl
import numpy as np
import pytest
import trimesh

from fitcheck.checks.access import reaches
from fitcheck.checks.axial_access import AxialAsked
from fitcheck.checks.drive import drive_of
from fitcheck.checks.own_parts import blocked_tool_angles, heads, rounds
from fitcheck.checks.tools import tools_for
from fitcheck.job import model as jobs
from fitcheck.measurement import model as measured
from fitcheck.measurement.arm_pairs import near_arm
from fitcheck.measurement.arms import swings
from fitcheck.measurement.obstacles import Obstacles
from fitcheck.measurement.toolgap import straight_margin
from fitcheck.standards.screws import cap_screw, set_screw

FAR, STEP = 300.0, 4.0
"""mm; how far a way in is followed. Degrees between tool angles."""
EDGE = 0.1
"""Degrees: the accuracy that is asked for at the ends of ranges."""
KINDS = ("one clamp screw", "two clamp screws", "two-piece cap", "set screws", "flange screws")


def mesh_body(triangles):
    corners = np.asarray(triangles, dtype=float).reshape(-1, 3)
    model = fcl.BVHModel()
    model.beginModel(len(corners) // 3, len(corners))
    model.addSubModel(corners, np.arange(len(corners)).reshape(-1, 3))
    model.endModel()
    return fcl.CollisionObject(model)


def cylinder(origin, direction, radius, length):
    direction = np.asarray(direction, dtype=float)
    side = np.cross(direction, [0.31, 0.52, 0.79])
    side /= np.linalg.norm(side)
    frame = np.stack([side, np.cross(direction, side), direction], axis=1)
    return fcl.CollisionObject(
        fcl.Cylinder(radius, length), fcl.Transform(frame, np.asarray(origin) + 0.5 * length * direction)
    )


def manager(bodies):
    made = fcl.DynamicAABBTreeCollisionManager()
    made.registerObjects(bodies)
    made.setup()
    return made


def meets(world, body):
    data = fcl.CollisionData()
    world.collide(body, data, fcl.defaultCollisionCallback)
    return data.result.is_collision


def windowed_wall(rng):
    """A polygonal tube about the drive axis with one or two windows, each between corners of it."""
    radius, sides = rng.uniform(18.0, 26.0), 24
    windows = []
    for _ in range(rng.integers(1, 3)):
        first, wide = rng.integers(0, sides), rng.integers(1, 7)
        low = rng.uniform(8.0, 30.0)
        windows.append((first, wide, low, low + rng.uniform(8.0, 28.0)))
    stations = sorted({0.0, 60.0, *(s for w in windows for s in w[2:])})
    found = []
    for s0, s1 in itertools.pairwise(stations):
        for k in range(sides):
            if any((k - first) % sides < wide and low <= s0 and s1 <= high for first, wide, low, high in windows):
                continue
            p, q = ((radius * cos(radians(15.0 * i)), radius * sin(radians(15.0 * i))) for i in (k, k + 1))
            found += [((s0, *p), (s0, *q), (s1, *q)), ((s0, *p), (s1, *q), (s1, *p))]
    return np.array(found)


def block(rng, beside):
    """A block beside the coupling, or before one of its ends."""
    matrix = trimesh.transformations.random_rotation_matrix(rng.random(3))
    away, angle = rng.uniform(24.0, 48.0), rng.uniform(0, 360)
    station = rng.uniform(5.0, 55.0) if beside else rng.choice([rng.uniform(-60.0, 0.0), rng.uniform(64.0, 124.0)])
    away = away if beside else 0.6 * away
    matrix[:3, 3] = (station, away * cos(radians(angle)), away * sin(radians(angle)))
    return np.asarray(trimesh.creation.box(extents=rng.uniform(3.0, 16.0, 3), transform=matrix).triangles)


def screws_of_kind(rng, kind, radius):
    size = str(rng.choice(["M2.5", "M3", "M4"]))
    angle, offset = float(rng.uniform(0, 360)), float(rng.uniform(7.0, 9.5))
    station, end = float(rng.uniform(4.0, 7.0)), float(rng.uniform(0.55, 0.95) * radius)
    one = {"size": size, "station": station, "angle": angle, "offset": offset, "head_end": end}
    if kind == "one clamp screw":
        return [{**one, "offset": offset * rng.choice([-1, 1])}]
    if kind == "two clamp screws":
        return [one, {**one, "angle": angle + 180.0}]
    if kind == "two-piece cap":
        return [one, {**one, "offset": -offset}]
    if kind == "set screws":
        plain = {"size": size, "kind": "set screw", "station": station, "offset": 0.0, "head_end": None}
        return [{**plain, "angle": angle}, {**plain, "angle": angle + 90.0}]
    flange = {"size": size, "station": 0.5, "offset": offset, "direction": "to outer face"}
    return [{**flange, "angle": angle + turn} for turn in (0.0, 120.0)]


def some_drive(rng, kind):
    outside = float(rng.uniform(24.0, 32.0))
    hubs = {}
    for side in ("motor", "actuator"):
        screws = tuple(jobs.Screw(**given) for given in screws_of_kind(rng, kind, outside / 2))
        hubs[side] = jobs.Hub(bore=8.0, bore_length=12.0, screws=screws)
    own = (
        jobs.OwnTool(
            name="bent rod", arm=jobs.ToolArm(length=float(rng.uniform(15, 50)), diameter=4.0, sides="both"),
            sections=(
                jobs.ToolSection(diameter=2.5, length=float(rng.uniform(10, 25))),
                jobs.ToolSection(diameter=5.0, length=float(rng.uniform(5, 25))),
            ),
        ),
    )  # fmt: skip
    seats = kind != "flange screws"
    job = jobs.Job(
        step="x.step",
        motor=jobs.Machine(shaft=jobs.Shaft(diameter=8.0, tolerance="h6", length=24.0)),
        actuator=jobs.Machine(shaft=jobs.Shaft(diameter=8.0, tolerance="h6", length=20.0)),
        coupling=jobs.Coupling(
            family="disc" if kind == "flange screws" else "jaw", outside_diameter=outside, length=34.0,
            hubs=jobs.Hubs(**hubs),
        ),
        require=jobs.Require(
            tools=tuple(word for word in jobs.TOOLS if not word.startswith("ball")), own_tools=own,
            key_swing=float(rng.choice([30.0, 60.0, 90.0])),
        ),
    )  # fmt: skip
    pieces = [*(block(rng, seats) for _ in range(rng.integers(1, 5)))]
    if rng.random() < 0.6 and seats:
        pieces.append(windowed_wall(rng))
    triangles = np.concatenate(pieces)
    count = len(triangles)
    material = Obstacles(
        segments=np.empty((0, 2, 3)), segment_bound=np.empty(0), segment_body=np.empty(0, dtype=np.int32),
        triangles=triangles, triangle_bound=np.zeros(count), triangle_body=np.zeros(count, dtype=np.int32),
    )  # fmt: skip
    taken = measured.Measurement(
        file="x.step", sha256="0" * 64, file_unit="mm", free_radius=None, cylinders=(), obstacles=material,
        bodies=(measured.Body(name="adapter", role="adapter", volume=1.0),),
        drive_axis=measured.AxisLine(origin=(0.0, 0.0, 0.0), direction=(0.0, 0.0, 1.0), across=(1.0, 0.0, 0.0)),
        ends=(measured.End(role="motor", seat=0.0), measured.End(role="actuator", seat=60.0)),
        coaxiality=measured.Coaxiality(offset=0.0, tilt=0.0),
    )  # fmt: skip
    loaded = jobs.LoadedJob(job=job, file=None, step_path="x.step", lines={}, defaults=())
    return drive_of(loaded, taken), triangles


def place_of(drive, side, screw):
    """The screw's station, by the drive of these tests: the coupling lies from 15 to 49."""
    return 15.0 + screw.station if side == "motor" else 49.0 - screw.station


def own_bodies(drive, side, position, turn, absent, wider=1.0):
    """Hubs, shafts, seats and protruding heads at a shaft angle, from the job's numbers; the own hub apart."""
    radius, axis = drive.job.coupling.outside_diameter / 2, (1.0, 0.0, 0.0)
    hubs = {"motor": (15.0, 12.0), "actuator": (37.0, 12.0)}
    rest = [cylinder((27.0, 0, 0), axis, radius, 10.0)]
    rest += [cylinder((s, 0, 0), axis, radius, long) for name, (s, long) in hubs.items() if name != side]
    for name, middle, shaft, long in (("motor", -200.0, 0.0, 24.0), ("actuator", 260.0, 40.0, 20.0)):
        if name not in absent:
            rest.append(cylinder((shaft, 0, 0), axis, 4.0, long))
            rest.append(fcl.CollisionObject(fcl.Box(400.0, 2000.0, 2000.0), fcl.Transform(np.array([middle, 0, 0]))))
    for name in ("motor", "actuator"):
        for number, screw in enumerate(getattr(drive.job.coupling.hubs, name).screws, start=1):
            if (name, number) == (side, position) or screw.head_end is None or screw.direction != "across":
                continue
            of = set_screw(screw.size).diameter if screw.kind == "set screw" else cap_screw(screw.size).head_diameter
            if hypot(screw.head_end, abs(screw.offset) + of / 2) <= radius:
                continue
            theta = radians(turn + screw.angle)
            u, n = (0.0, cos(theta), sin(theta)), np.array([0.0, -sin(theta), cos(theta)])
            base = np.array([place_of(drive, name, screw), 0, 0]) + screw.offset * n
            rest.append(cylinder(base, u, of / 2 * wider, screw.head_end))
    return rest, cylinder((hubs[side][0], 0, 0), axis, radius, hubs[side][1])


def frame_of(drive, side, screw, turn):
    """Origin, direction and the two directions beside a screw; heights count from the origin."""
    theta = radians(turn + screw.angle)
    out, left = np.array([0.0, cos(theta), sin(theta)]), np.array([0.0, -sin(theta), cos(theta)])
    along = np.array([1.0, 0.0, 0.0])
    if screw.direction == "across":
        return place_of(drive, side, screw) * along + screw.offset * left, out, left, along
    return screw.offset * out, -along if side == "motor" else along, out, left


def swing_found(world, frame, arm, crown):
    """The widest run of free tool angles in steps that holds one with a free way in, degrees."""
    origin, u, v, w = frame
    angles = np.arange(0.0, 360.0, STEP)

    def free(psi, top):
        for bar in arm.bars:
            # About the screw's axis a bar ends in a half circle.
            end = cylinder(origin + bar.low * u, u, bar.half_width, (top or bar.high) - bar.low)
            if crown and meets(world, end):
                return False
            for turn in (0.0, 180.0) if arm.both_sides else (0.0,):
                out = cos(radians(psi + turn)) * v + sin(radians(psi + turn)) * w
                length = bar.length if crown else sqrt(bar.length**2 - bar.half_width**2)
                height = (top or bar.high) - bar.low
                middle = origin + 0.5 * length * out + (bar.low + 0.5 * height) * u
                across = np.cross(u, out)
                box = fcl.Box(length, 2 * bar.half_width, height)
                if meets(world, fcl.CollisionObject(box, fcl.Transform(np.stack([out, across, u], axis=1), middle))):
                    return False
        return True

    turns = [free(psi, None) for psi in angles]
    comes = [good and free(psi, FAR) for psi, good in zip(angles, turns, strict=True)]
    if all(turns):
        return 360.0 if any(comes) else 0.0
    first = turns.index(False)
    widest, run, enters = 0.0, 0, False
    for i in range(1, len(angles) + 1):
        at = (first + i) % len(angles)
        if turns[at]:
            run, enters = run + 1, enters or comes[at]
            continue
        widest = max(widest, run * STEP if enters else 0.0)
        run, enters = 0, False
    return widest


def works_by_brute_force(drive, material, side, position, tool, turn, absent, *, careful):
    """Whether a tool works at a shaft angle: told too gladly, or with `careful` too carefully, by the steps' width."""
    screw = getattr(drive.job.coupling.hubs, side).screws[position - 1]
    # The prism about a round head is wider over its corners.
    rest, own_hub = own_bodies(drive, side, position, turn, absent, 1.0 / cos(np.pi / 24) if careful else 1.0)
    frame = frame_of(drive, side, screw, turn)
    world, all_of_it = manager([mesh_body(material), *rest]), manager([mesh_body(material), *rest, own_hub])
    for number, part in enumerate(tool.parts):
        body = cylinder(frame[0] + part.start * frame[1], frame[1], part.radius, FAR)
        if meets(all_of_it if number else world, body):
            return False
    if tool.arm is None:
        return True
    found = swing_found(all_of_it, frame, tool.arm, crown=careful)
    return found >= tool.arm.swing + 2 * STEP if careful else found >= tool.arm.swing - 2 * STEP


def disagreements(seed, count=Counter(), angles=3):  # noqa: B006
    """Where the checker and the library differ in one random drive, in words."""
    rng = np.random.default_rng(seed)
    kind = KINDS[seed % len(KINDS)]
    drive, material = some_drive(rng, kind)
    absent = ("motor", "actuator") if kind == "flange screws" else ()
    side = str(rng.choice(["motor", "actuator"]))
    position = int(rng.integers(1, len(getattr(drive.job.coupling.hubs, side).screws) + 1))
    found = []
    for reach in reaches(drive, drive.placed, side, position, absent):
        edges = [end for gap in reach.free for end in (gap.start, gap.stop) if gap.width < 360.0]
        inside = [gap.start + share * gap.width for gap in reach.free for share in rng.uniform(0.0, 1.0, 2)]
        near = [end + shift for end in edges for shift in (-EDGE - 0.01, EDGE + 0.01)]
        some = [*rng.uniform(0, 360, angles), *rng.permutation(inside)[:angles], *rng.permutation(near)[:angles]]
        for turn in some:
            told = any(g.start <= t <= g.stop for g in reach.free for t in (turn, turn + 360.0, turn - 360.0))
            at_edge = min((abs((turn - e + 180.0) % 360.0 - 180.0) for e in edges), default=360.0) <= EDGE
            case = drive, material, side, position, reach.tool, turn, absent
            if told and not works_by_brute_force(*case, careful=False):
                found.append(f"{seed}, {kind}, {reach.tool.name}: told free at {turn:.3f}, and is not")
            if not told and not at_edge and works_by_brute_force(*case, careful=True):
                found.append(f"{seed}, {kind}, {reach.tool.name}: free at {turn:.3f}, and is not told")
            count[kind, reach.tool.name, told] += 1
    return found


@pytest.mark.parametrize("seed", range(10))
def test_random_drives(seed):
    count = Counter()
    assert disagreements(seed, count, angles=2) == []
    # Every tool is looked at, on all of these screws.
    assert len({name for _, name, _ in count}) == 7


def test_the_random_drives_hold_working_and_hindered_tools_of_all_kinds():
    told = Counter()
    for seed in range(15):
        rng = np.random.default_rng(seed)
        kind = KINDS[seed % len(KINDS)]
        drive, _ = some_drive(rng, kind)
        for side in ("motor", "actuator"):
            absent = ("motor", "actuator") if kind == "flange screws" else ()
            for reach in reaches(drive, drive.placed, side, 1, absent):
                told[kind, bool(reach.free)] += 1
    assert all(told[kind, free] > 0 for kind in KINDS for free in (True, False)), told


def asked_alone(drive, word):
    """The drive with one tool allowed (the own tool is always one more)."""
    require = replace(drive.job.require, tools=(word,), own_tools=())
    loaded = replace(drive.loaded, job=replace(drive.job, require=require))
    return drive_of(loaded, drive.measurement)


def grown(tool, by):
    parts = tuple(replace(part, radius=part.radius + by) for part in tool.parts)
    return replace(tool, parts=parts, arm=None if tool.arm is None else tool.arm.grown(by))


@pytest.mark.parametrize("seed", range(20, 32))
def test_the_margin_of_the_best_shaft_angle_is_there_and_nowhere_larger(seed):
    rng = np.random.default_rng(seed)
    kind = KINDS[seed % len(KINDS)]
    drive, material = some_drive(rng, kind)
    absent = ("motor", "actuator") if kind == "flange screws" else ()
    checked = 0
    for word in ("hex key short arm", "hex key long arm", "hex driver", "bit in holder", "T-handle"):
        one = asked_alone(drive, word)
        (reach,) = reaches(one, one.placed, "motor", 1, absent)
        if not reach.works or reach.margin <= 0.0:
            continue
        checked += 1
        tool = grown(reach.tool, max(reach.margin - 1e-3, 0.0))
        assert works_by_brute_force(one, material, "motor", 1, tool, reach.best, absent, careful=False), word
        # A tool that is larger by 0.03 mm all round works at none of many other shaft angles.
        larger = grown(reach.tool, reach.margin + 0.03)
        if reach.margin < 10.0:
            turns = [g.start + share * g.width for g in reach.free for share in np.linspace(0.01, 0.99, 12)]
            for turn in turns:
                assert not works_by_brute_force(one, material, "motor", 1, larger, turn, absent, careful=True), turn
    assert checked > 0 or seed not in (20, 24, 25)


@pytest.mark.parametrize("seed", range(40, 60))
def test_no_end_of_an_arms_range_is_off_by_more_than_a_tenth_of_a_degree(seed):
    # Beyond each end, the same question at single shaft angles, whose answers `test_arms` holds against the library.
    rng = np.random.default_rng(seed)
    drive, _ = some_drive(rng, KINDS[seed % 4])
    about, others = rounds(drive, drive.placed, "motor"), list(heads(drive, drive.placed, "motor", 1))
    screw = drive.job.coupling.hubs.motor.screws[0]
    station = place_of(drive, "motor", screw)
    for reach in reaches(drive, drive.placed, "motor", 1):
        arm, parts = reach.tool.arm, reach.tool.parts
        if arm is None:
            continue
        near = near_arm(drive.measurement.obstacles, station, screw.offset, arm)
        fixed = blocked_tool_angles(about, others, station, screw.offset, arm)
        for gap in reach.free if not near.none else ():
            for end, outwards in ((gap.start, -1.0), (gap.stop, 1.0)):
                beyond = np.radians([end + screw.angle + outwards * EDGE, end + screw.angle - outwards * 1e-6])
                comes = straight_margin(drive.measurement.obstacles, station, screw.offset, parts, beyond) > 0.0
                good = swings(near, arm, beyond, np.zeros(2), [fixed, fixed]) & comes
                assert gap.width >= 360.0 or list(good) == [False, True], (reach.tool.name, end)


@pytest.mark.parametrize("seed", [64, 79, 4, 5114])
def test_no_end_of_an_arms_range_on_a_flange_screw_is_off_by_more_than_a_tenth_of_a_degree(seed):
    # As above; with seed 5114 a block that reaches far out stands beside a screw 8.6 mm from the drive axis.
    rng = np.random.default_rng(seed)
    drive, _ = some_drive(rng, "flange screws")
    asked = AxialAsked(drive, drive.placed, "motor", 2, ("motor", "actuator"))
    looked_at = 0
    for reach in asked.every():
        arm = reach.tool.arm
        for gap in reach.free if arm is not None else ():
            for end, outwards in ((gap.start, -1.0), (gap.stop, 1.0)) if gap.width < 360.0 else ():
                beyond = np.radians([end + asked.screw.angle + outwards * EDGE, end + asked.screw.angle])
                beyond[1] -= outwards * 1e-8
                comes = asked._straight_room(reach.tool.parts, beyond, 1.0) > 0.0
                good = swings(asked._near(arm), arm, beyond, np.zeros(2), [asked._fixed(arm)] * 2) & comes
                assert list(good) == [False, True], (reach.tool.name, end)
                looked_at += 1
    assert looked_at > 0 or seed != 5114


def test_the_engaged_depth_and_the_lift_for_re_seating_are_in_the_arms_height():
    # M4: 3 mm key, socket at least 2 deep. An L-key whose short arm is 23 (2014) or 20 (1983, from memory) is engaged 2
    # deep, so its tip lies 2 below the screw's end; lifted out to re-seat it rises 2.
    screw = jobs.Screw(size="M4", station=5.0, offset=9.0)
    (tool,) = tools_for(jobs.Require(tools=("hex key short arm",)), screw, 10.0)
    across = 3.0 / cos(radians(30))
    assert tool.arm.bars[0].low == pytest.approx(10.0 - 2.0 + 20.0 - across)
    assert tool.arm.bars[0].high == pytest.approx(10.0 - 2.0 + 23.0 + 2.0)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seeds", nargs=2, type=int, default=(100, 200), metavar=("FIRST", "END"))
    first, end = parser.parse_args().seeds
    count, found = Counter(), []
    for seed in range(first, end):
        found += disagreements(seed, count)
    for line in found:
        print(line)
    for (kind, name, told), number in sorted(count.items()):
        print(f"{number:5d}  {kind}, {name}, {'told free' if told else 'told blocked'}")
    print(f"{sum(count.values())} places, {len(found)} disagreements")


if __name__ == "__main__":
    main()
