"""Ball ends with their swinging arm, in whole drives made at random, against an independent collision library.

A tilted tool is put together here from the job's numbers, along its own axis from the screw's outer end, and its arm is
swung about that axis in steps: what is told free must be free at one of the tilts that were proved there. Of its own
hub it has to clear what lies beyond a pocket as wide as the screw's head (a set screw's: its thread). The tilts square
to the drive axis (none, half of the greatest and the greatest, either way) are told exactly: an angle that is free at
one of them must be told, but within 0.1 degrees of a range's end. And ranges end where no tilt leads on.

More of it: `python tests/validation/access/test_ball_ends.py --seeds 100 200` tries seeds 100 to 199. With `--ends` it
counts the ends beyond which leans looked at all over, 2.5 degrees apart, hold one that works, and places told blocked
at which one does.
"""

import argparse
import importlib.util
from collections import Counter
from dataclasses import replace
from math import cos, radians, sin, tan
from pathlib import Path

import numpy as np
import pytest
import trimesh

from fitcheck.checks import access, ball_end
from fitcheck.checks.access import reaches
from fitcheck.checks.ball_end import tilted_ranges
from fitcheck.checks.drive import drive_of
from fitcheck.checks.lean_arm import arm_works
from fitcheck.checks.lean_look import rooms
from fitcheck.checks.lean_space import Poses
from fitcheck.checks.pocket import Pocket
from fitcheck.checks.screw_frame import ScrewFrame
from fitcheck.checks.tools import Tool
from fitcheck.measurement.corridor import ToolPart
from fitcheck.measurement.obstacles import Obstacles
from fitcheck.measurement.tilted_tool import nearest_places
from fitcheck.standards.screws import cap_screw, set_screw

_spec = importlib.util.spec_from_file_location("whole_drives", Path(__file__).with_name("test_whole_drives.py"))
assert _spec is not None
whole = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(whole)

GREATEST = 25.0
SQUARE = [(tilt, 0.0) for tilt in (0.0, 12.5, -12.5, 25.0, -25.0)]


def leaning_frame(drive, side, screw, turn, start, tilt, around):
    """The screw's frame turned about its outer end: tilt from it, in the direction `around` (0: square to the axis)."""
    origin, u, left, along = whole.frame_of(drive, side, screw, turn)
    outer = origin + start * u
    a, t = radians(around), radians(tilt)
    beside, other = cos(a) * left + sin(a) * along, cos(a) * along - sin(a) * left
    leant = cos(t) * u + sin(t) * beside
    return outer - start * leant, leant, cos(t) * beside - sin(t) * u, other


def in_own_hub(drive, side, screw, tool, start, tilt, around, more):
    """Whether points all over the leaning tool, grown by `more` mm, lie in the hub beyond the screw's pocket."""
    origin, u, left, along = whole.frame_of(drive, side, screw, 0.0)
    _, leant, across, other = leaning_frame(drive, side, screw, 0.0, start, tilt, around)
    out, turn = np.meshgrid(np.arange(0.0, 40.0, 0.1), np.linspace(0.0, 2.0 * np.pi, 72))
    rim = np.cos(turn)[..., None] * across + np.sin(turn)[..., None] * other
    points = (origin + start * u) + out[..., None] * leant + (tool.parts[0].radius + more) * rim
    beside = points - origin
    height, apart = beside @ u, np.hypot(beside @ left, beside @ along)
    of = set_screw(screw.size).diameter if screw.kind == "set screw" else cap_screw(screw.size).head_diameter
    low = 15.0 if side == "motor" else 37.0
    hub = (points[..., 0] > low) & (points[..., 0] < low + 12.0)
    hub &= np.hypot(points[..., 1], points[..., 2]) < drive.job.coupling.outside_diameter / 2
    return tilt != 0.0 and bool((hub & (apart > of / 2) & (height > start)).any())


def works_tilted(drive, material, side, position, tool, turn, absent, tilt, around, *, careful):
    """As `works_by_brute_force` of whole drives, with a tool that leans."""
    screw = getattr(drive.job.coupling.hubs, side).screws[position - 1]
    rest, own_hub = whole.own_bodies(drive, side, position, turn, absent, 1.0 / cos(np.pi / 24) if careful else 1.0)
    (blade,) = tool.parts
    if in_own_hub(drive, side, screw, tool, blade.start, tilt, around, 0.05 if careful else -0.02):
        return False
    frame = leaning_frame(drive, side, screw, turn, blade.start, tilt, around)
    world = whole.manager([whole.mesh_body(material), *rest])
    if whole.meets(world, whole.cylinder(frame[0] + blade.start * frame[1], frame[1], blade.radius, whole.FAR)):
        return False
    found = whole.swing_found(
        whole.manager([whole.mesh_body(material), *rest, own_hub]), frame, tool.arm, crown=careful
    )
    return found >= tool.arm.swing + 2 * whole.STEP if careful else found >= tool.arm.swing - 2 * whole.STEP


def obstacles_of(triangles):
    count = len(triangles)
    return Obstacles(
        segments=np.empty((0, 2, 3)), segment_bound=np.empty(0), segment_body=np.empty(0, dtype=np.int32),
        triangles=triangles, triangle_bound=np.zeros(count), triangle_body=np.zeros(count, dtype=np.int32),
    )  # fmt: skip


def farther_out(rng):
    """A block where the arm of a ball end swings, 45 to 75 mm above the screws."""
    matrix = trimesh.transformations.random_rotation_matrix(rng.random(3))
    away, angle = rng.uniform(58.0, 88.0), radians(rng.uniform(0.0, 360.0))
    matrix[:3, 3] = (rng.uniform(0.0, 60.0), away * cos(angle), away * sin(angle))
    return np.asarray(trimesh.creation.box(extents=rng.uniform(6.0, 24.0, 3), transform=matrix).triangles)


def with_ball_end(rng, kind):
    drive, triangles = whole.some_drive(rng, kind)
    material = np.concatenate([triangles, *(farther_out(rng) for _ in range(rng.integers(10, 40)))])
    # Wide swings, which blocks here and there cut short.
    swing = float(rng.choice([120.0, 200.0, 280.0]))
    require = replace(
        drive.job.require, tools=("ball-end hex key",), own_tools=(), ball_end_tilt=GREATEST, key_swing=swing
    )
    loaded = replace(drive.loaded, job=replace(drive.job, require=require))
    return drive_of(loaded, replace(drive.measurement, obstacles=obstacles_of(material))), material


class Proved:
    """The tilts (degrees, as in `leaning_frame`) at which ranges of the tool's direction were proved free."""

    def __init__(self, patch):
        self.found, self.square = [], [(0.0, 0.0)]
        patch.setattr(ball_end, "followed", self._kept(ball_end.followed))
        usual = access.Asked._leaning

        def leaning(asked, tool):
            found = usual(asked, tool)
            self.square += [(tilt, 0.0) for tilt, _, _ in found]
            return found

        patch.setattr(access.Asked, "_leaning", leaning)

    def _kept(self, usual):
        def kept(*asked):
            found = usual(*asked)
            self.found += list(zip(np.degrees(found[0]), np.degrees(found[1]), strict=True))
            return found

        return kept

    def at(self, direction):
        turned = [(ends + shift, lean) for ends, lean in self.found for shift in range(-720, 721, 360)]
        leans = [lean for ends, lean in turned if ends[0] - 1e-6 <= direction % 360.0 <= ends[1] + 1e-6][-4:]
        found = [(min(np.hypot(*lean), GREATEST), np.degrees(np.arctan2(lean[1], lean[0]))) for lean in leans]
        return found + self.square


def free_at_some_tilt(case, leans):
    """Whether a tool works at one of some tilts; a way in that steps of 4 degrees miss is looked for in finer ones."""
    usual = whole.STEP
    try:
        for step in (usual, 1.0, 0.25):
            whole.STEP = step
            if any(works_tilted(*case, *lean, careful=False) for lean in leans):
                return True
    finally:
        whole.STEP = usual
    return False


def disagreements(seed, count, angles=4, kind=None):
    """Where the checker and the library differ in one random drive, in words."""
    rng = np.random.default_rng(seed)
    kind = kind or whole.KINDS[seed % 4]
    # A flange screw is reached while the machines are away; of its leans none is told exactly.
    absent, exact = (("motor", "actuator"), SQUARE[:1]) if kind == "flange screws" else ((), SQUARE)
    drive, material = with_ball_end(rng, kind)
    side = str(rng.choice(["motor", "actuator"]))
    position = int(rng.integers(1, len(getattr(drive.job.coupling.hubs, side).screws) + 1))
    with pytest.MonkeyPatch.context() as patch:
        proved = Proved(patch)
        (ball,) = (reach for reach in reaches(drive, drive.placed, side, position, absent) if reach.tool.tilt > 0.0)
    screw = getattr(drive.job.coupling.hubs, side).screws[position - 1]
    edges = [end for gap in ball.free for end in (gap.start, gap.stop) if gap.width < 360.0]
    inside = [gap.start + share * gap.width for gap in ball.free for share in rng.uniform(0.0, 1.0, 2)]
    near = [end + shift for end in edges for shift in (-whole.EDGE - 0.01, whole.EDGE + 0.01)]
    found = []
    for turn in (*rng.uniform(0, 360, angles), *rng.permutation(inside)[:angles], *rng.permutation(near)[:angles]):
        told = any(g.start <= t <= g.stop for g in ball.free for t in (turn, turn + 360.0, turn - 360.0))
        at_edge = min((abs((turn - e + 180.0) % 360.0 - 180.0) for e in edges), default=360.0) <= whole.EDGE
        case = drive, material, side, position, ball.tool, turn, absent
        if told and not free_at_some_tilt(case, proved.at(turn + screw.angle)):
            found.append(f"{seed}, {kind}: told free at {turn:.3f}, and is not")
        if not told and not at_edge and any(works_tilted(*case, *lean, careful=True) for lean in exact):
            found.append(f"{seed}, {kind}: free at {turn:.3f}, and is not told")
        count[kind, told] += 1
    return found


@pytest.mark.parametrize("seed", range(18))
def test_random_drives(seed):
    assert disagreements(seed, Counter(), angles=3) == []


@pytest.mark.parametrize("seed", range(6))
def test_random_drives_with_flange_screws(seed):
    assert disagreements(seed, Counter(), angles=3, kind="flange screws") == []


@pytest.mark.parametrize("seed", [4, 5])
def test_ranges_end_where_no_tilt_leads_on(seed):
    # A little beyond an end no tilt works out of a fan about those that were free last: steps of 0.8 degrees.
    rng = np.random.default_rng(seed)
    drive, material = with_ball_end(rng, whole.KINDS[seed % 4])
    steps = 0.8 * np.stack(np.meshgrid([-1, 0, 1], [-1, 0, 1]), axis=-1).reshape(-1, 2)
    looked_at = 0
    for side in ("motor", "actuator"):
        with pytest.MonkeyPatch.context() as patch:
            proved = Proved(patch)
            (ball,) = (reach for reach in reaches(drive, drive.placed, side, 1) if reach.tool.tilt > 0.0)
        angle = getattr(drive.job.coupling.hubs, side).screws[0].angle
        for gap in (gap for gap in ball.free[:2] if gap.width < 360.0):
            for end, out in ((gap.start, -1.0), (gap.stop, 1.0)):
                for tilt, around in [*proved.square, *proved.at(end - 0.05 * out + angle)[:2]]:
                    fan = tilt * np.array([cos(radians(around)), sin(radians(around))]) + steps
                    for lean in zip(
                        np.minimum(np.hypot(*fan.T), GREATEST), np.degrees(np.arctan2(*fan.T[::-1])), strict=True
                    ):
                        case = drive, material, side, 1, ball.tool, end + 0.2 * out, ()
                        assert not works_tilted(*case, *lean, careful=True), (side, end, lean)
                        looked_at += 1
    assert looked_at > 100


def looked_at_all_over(space, direction):
    """Whether the ball end works at one of leans all over its greatest tilt, at one angle of the tool's direction."""
    at = np.radians(np.arange(-GREATEST, GREATEST + 0.1, 2.5))
    rim = radians(GREATEST) * np.exp(1j * np.radians(np.arange(0.0, 360.0, 10.0)))
    leans = np.concatenate([np.stack(np.meshgrid(at, at), axis=-1).reshape(-1, 2), np.stack([rim.real, rim.imag], 1)])
    leans = leans[np.hypot(*leans.T) <= radians(GREATEST) + 1e-9]
    none = np.zeros(len(leans))
    poses = Poses(none + radians(direction), leans, none, none)
    free = np.flatnonzero(rooms(space, poses, 0.1) >= 0.0)
    return bool(free.size) and bool(
        arm_works(space, Poses(poses.thetas[free], leans[free], none[free], none[free])).any()
    )


def ends_and_places(seed, count):
    """Counts, of a random drive, ends beyond which a lean leads on, and places told blocked at which one works."""
    rng = np.random.default_rng(seed)
    kind = whole.KINDS[seed % 5]
    drive, _ = with_ball_end(rng, kind)
    absent = ("motor", "actuator") if kind == "flange screws" else ()
    for side in ("motor", "actuator"):
        spaces = []
        with pytest.MonkeyPatch.context() as patch:
            usual = ball_end._space
            patch.setattr(
                ball_end, "_space", lambda *asked, usual=usual, kept=spaces: kept.append(usual(*asked)) or kept[-1]
            )
            (ball,) = (one for one in reaches(drive, drive.placed, side, 1, absent) if one.tool.tilt > 0.0)
        angle = getattr(drive.job.coupling.hubs, side).screws[0].angle

        def told(turn, free=ball.free):
            return any(gap.start <= t <= gap.stop for gap in free for t in (turn - 360.0, turn, turn + 360.0))

        for gap in (gap for gap in ball.free if gap.width < 360.0):
            for end, out in ((gap.start, -1.0), (gap.stop, 1.0)):
                count["ends"] += 1
                for beyond in (0.12, 0.3, 1.0):
                    turn = end + out * beyond
                    if told(turn) or not looked_at_all_over(spaces[0], turn + angle):
                        break
                    count[f"ends too narrow by {beyond}"] += 1
        for turn in np.arange(3.0, 360.0, 6.0):
            if not told(turn):
                count["places told blocked"] += 1
                count["places told blocked that are free"] += looked_at_all_over(spaces[0], turn + angle)


def test_a_lean_that_leads_on_is_found_nearly_always():
    # Drives built hard on purpose: wide swings, many blocks about the arm. For more of them see DEVELOPERS.md.
    count = Counter()
    for seed in (0, 8, 17):
        ends_and_places(seed, count)
    assert count["ends"] >= 10
    assert count["ends too narrow by 0.3"] == 0
    assert count["places told blocked"] > 100
    assert count["places told blocked that are free"] <= 1


def test_a_ball_end_leans_past_a_plate_over_a_flange_screw():
    # A screw 12 beside the axis whose head ends at station 15, reached from the motor's side, with no arm. A plate at
    # station 0 has a hole about the drive axis of radius 16.6: straight the key of radius 2 reaches to 14 and enters.
    # With a hole of 13 it does not; leaning inwards by 25 degrees its axis crosses the plate 12 - 15 tan(25) = 5.0
    # beside the axis and the key reaches 2 / cos(25) = 2.2 farther. One of 20 degrees in a plate whose hole begins 9
    # out (a ring that covers 9 to 25) leaves it 12 - 15 tan(20) + 2 / cos(20) = 8.7, and one of 15 degrees 10.1.
    def ring(inner):
        turn = np.linspace(0.0, 2.0 * np.pi, 73)
        a, b = (
            np.stack([np.zeros(73), r * np.cos(turn), r * np.sin(turn)], axis=1)
            for r in (inner / cos(np.pi / 72), 25.0)
        )
        return np.concatenate([np.stack([a[:-1], a[1:], b[1:]], 1), np.stack([a[:-1], b[1:], b[:-1]], 1)])

    screw = ScrewFrame(station=0.0, offset=12.0, start=-15.0, sense=-1.0)

    def free(inner, tilt):
        tool = Tool(name="ball end", word="ball-end hex key", parts=(ToolPart(start=-15.0, radius=2.0),), tilt=tilt)
        return sum(gap.width for gap in tilted_ranges(obstacles_of(ring(inner)), [], screw, tool))

    assert free(16.6, 25.0) == pytest.approx(360.0)
    assert free(13.0, 25.0) == pytest.approx(360.0)
    assert free(9.0, 20.0) == pytest.approx(360.0)
    assert free(9.0, 15.0) == 0.0


def test_a_leaning_ball_end_clears_its_own_hub():
    # A set screw of 4 mm, 3 deep in a hub of radius 15 (its end 12 out), and a key of radius 1.155: leaning along the
    # axis its side meets the hole's edge where h tan(t) + r / cos(t) = 2, h being 3 at the hub's crown: t = 14.9.
    screw = ScrewFrame(station=20.0, offset=0.0, start=12.0)
    pocket = Pocket(screw=screw, radius=2.0, hub=15.0, low=10.0, high=30.0)

    def clear(degrees, around):
        return bool(pocket.clears(np.array([[radians(degrees), radians(around)]]), 1.155)[0])

    meets = min(t for t in np.arange(5.0, 40.0, 0.01) if 3.0 * tan(radians(t)) + 1.155 / cos(radians(t)) > 2.0)
    assert clear(meets - 0.5, 90.0)
    assert not clear(meets + 0.1, 90.0)
    # Square to the axis the hub's round falls off; with its end flush with the hub a key leans as it likes.
    assert clear(meets, 0.0)
    flush = replace(pocket, screw=replace(screw, start=15.0), radius=2.0)
    assert flush.clears(np.array([[radians(25.0), around] for around in (0.0, 1.0, 2.0, 4.0)]), 1.155).all()
    # At the hub's end there is no hub to meet: a screw 1.5 from it leans out over it, and not the other way.
    beside = replace(pocket, screw=replace(screw, station=11.5))
    assert beside.clears(np.array([[radians(25.0), radians(270.0)]]), 1.155)[0]
    assert not beside.clears(np.array([[radians(25.0), radians(90.0)]]), 1.155)[0]


def test_the_greatest_lean_square_to_the_axis_is_where_the_pockets_edge_is_met():
    # As above, square to the axis: beyond the pocket, at v from 2 on, the hub is sqrt(15^2 - v^2) - 12 high, and the
    # key's lower side (v - r / cos(t)) / tan(t); they meet first at v = 2, the hub falling off outwards.
    pocket = Pocket(screw=ScrewFrame(station=20.0, offset=0.0, start=12.0), radius=2.0, hub=15.0, low=10.0, high=30.0)
    high = (15.0**2 - 2.0**2) ** 0.5 - 12.0
    meets = min(t for t in np.arange(5.0, 40.0, 0.001) if high * tan(radians(t)) + 1.155 / cos(radians(t)) > 2.0)
    for side in (1.0, -1.0):
        found = pocket.greatest(25.0, side, 1.155)
        assert meets - 0.3 < found <= meets
    assert pocket.greatest(10.0, 1.0, 1.155) == 10.0


def test_the_room_in_the_pocket_is_negative_where_the_hub_is_not_cleared_and_small_near_the_limit():
    rng, blocked = np.random.default_rng(5), 0
    for _ in range(60):
        screw = ScrewFrame(station=20.0, offset=rng.uniform(-8.0, 8.0), start=rng.uniform(6.0, 13.0))
        pocket = Pocket(screw=screw, radius=rng.uniform(1.6, 3.0), hub=15.0, low=14.0, high=26.0)
        tilts = np.stack([rng.uniform(0.01, 0.5, 40), rng.uniform(0.0, 2.0 * np.pi, 40)], axis=1)
        radius = rng.uniform(0.8, 1.5)
        room, clear = pocket.rooms(tilts, radius).min(axis=1), pocket.clears(tilts, radius)
        assert ((room >= -1e-9) == clear).all()
        blocked += int((~clear).sum())
        # A tool that is thicker by less than the room still clears the hub, but for what lies between two lines.
        for row in np.flatnonzero((room > 0.05) & (room < 1.0))[:5]:
            assert pocket.clears(tilts[[row]], radius + 0.9 * room[row] - 0.02)[0]
    assert blocked > 100


def test_the_place_nearest_to_a_tools_axis_is_the_nearest_of_many_places_of_the_triangle():
    rng = np.random.default_rng(3)
    count = 300
    triangles = rng.normal(size=(count, 3, 3)) * 5.0 + rng.normal(size=(count, 1, 3)) * 6.0
    low = rng.uniform(-1.0, 1.0, count)
    found = nearest_places(tuple(triangles[:, :, i] for i in range(3)), low)
    share = np.linspace(0.0, 1.0, 81)
    one, two = (grid.ravel() for grid in np.meshgrid(share, share))
    inside = one + two <= 1.0
    weights = np.stack([1.0 - one - two, one, two], axis=1)[inside]
    places = np.einsum("pk,nki->npi", weights, triangles)
    apart = np.where(places[:, :, 0] >= low[:, None], np.hypot(places[:, :, 1], places[:, :, 2]), np.inf)
    least = apart.min(axis=1)
    size = np.linalg.norm(triangles - triangles[:, [1, 2, 0]], axis=2).max(axis=1)
    seen = np.isfinite(least)
    assert (found.distance <= least + 1e-9).all()
    assert (least[seen] - found.distance[seen] <= size[seen] / 40).all()
    beside = np.isfinite(found.distance) & (found.distance > 0.0)
    assert np.hypot(*found.across)[beside] == pytest.approx(found.distance[beside])
    assert seen.sum() > 100
    assert (found.distance == 0.0).sum() > 5


def plate(low, high):
    """A plate 20 mm above a screw, from `low` to `high` along the drive axis, in the screw's own frame."""
    a, b, c, d = ((20.0, v, w) for v, w in ((-90.0, low), (90.0, low), (90.0, high), (-90.0, high)))
    return np.array([(a, b, c), (a, c, d)])


def test_another_screws_head_is_in_a_tilted_tools_way():
    # 11 mm above the screw's outer end the tool's axis, tilted by 25 degrees, is 11 tan(25) = 5.1 mm aside, and the
    # tool of radius 1 reaches 1 / cos(25) = 1.1 to either side: a plate that ends 4.0 aside lets it by, none that ends
    # 0.1 farther does.
    tool = Tool(name="ball end", word="ball-end hex key", parts=(ToolPart(start=9.0, radius=1.0),), tilt=GREATEST)
    nothing = obstacles_of(np.array([[(0.0, 900.0, 0.0), (1.0, 900.0, 0.0), (0.0, 900.0, 1.0)]]))
    aside = 11.0 * tan(radians(GREATEST)) - 1.0 / cos(radians(GREATEST))
    for end, free in ((aside - 0.1, True), (aside + 0.1, False)):
        head = [("the head of motor hub screw 2", plate(-90.0, end))]
        found = tilted_ranges(nothing, [], ScrewFrame(station=3.0, offset=2.0, start=9.0), tool, heads=head)
        assert any(gap.width > 300.0 for gap in found) == free, end


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seeds", nargs=2, type=int, default=(100, 200), metavar=("FIRST", "END"))
    parser.add_argument("--ends", action="store_true", help="count ends that a dense look leads beyond")
    asked = parser.parse_args()
    first, end = asked.seeds
    count, found = Counter(), []
    if asked.ends:
        for seed in range(first, end):
            ends_and_places(seed, count)
        for name, number in count.items():
            print(f"{number:5d}  {name}")
        return
    for seed in range(first, end):
        found += disagreements(seed, count)
    for line in found:
        print(line)
    for (kind, told), number in sorted(count.items()):
        print(f"{number:5d}  {kind}, {'told free' if told else 'told blocked'}")
    print(f"{sum(count.values())} places, {len(found)} disagreements")


if __name__ == "__main__":
    main()
