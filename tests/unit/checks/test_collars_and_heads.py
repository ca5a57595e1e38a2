"""A hub over a collar of its shaft, and screw heads that reach beyond their hub: overlaps that a section view shows."""

from dataclasses import replace

import numpy as np
import pytest

from fitcheck.checks import axial_room, engagement, insertion, radial_clearance
from fitcheck.checks.sides import side_of
from fitcheck.checks.swept import swept_of
from fitcheck.standards.screws import cap_screw


def collared(build, side, stop, radius=5.0):
    """The demo drive with its shafts as bodies, one with a collar that ends at `stop` mm from the machine's seat."""
    ends = []
    for name, seat, sign, tip in (("motor", 0.0, 1.0, 24.0), ("actuator", 60.0, -1.0, 40.0)):
        collars = ((seat, seat + sign * stop, radius),) if name == side else ()
        shaft = build.measured.Shaft(
            diameter=8.0, length=20.0, end=tip, full_from=seat + sign * stop if collars else seat, full_to=tip,
            collars=collars,
        )  # fmt: skip
        ends.append(build.end(name, seat, shaft=shaft))
    return build.measurement(ends=tuple(ends))


# The coupling sits from 15 to 49: the motor's hub begins 15 mm from its seat, the actuator's 11 mm from its.
@pytest.mark.parametrize(("side", "begins"), [("motor", 15.0), ("actuator", 11.0)])
@pytest.mark.parametrize("stop", [6.0, 10.6, 14.9, 18.0])
def test_a_hub_does_not_go_over_a_collar(build, side, begins, stop):
    drive = build.drive(build.job(motor={"shaft": None}, actuator={"shaft": None}), collared(build, side, stop))
    room = build.one(axial_room.check(drive), f"{side} collar")
    assert room.value == pytest.approx(begins - stop)
    assert room.status == ("pass" if begins - stop >= 0.3 else "fail")
    over = [f for f in insertion.check(drive) if f.subject == f"{side} hub"]
    assert bool(over) == (stop > begins)
    if over:
        assert (over[0].status, over[0].value) == ("fail", pytest.approx(4.0 - 5.0))
    # What the collar covers does not grip either.
    grip = build.one(engagement.check(drive), f"{side} hub")
    assert grip.value == pytest.approx(
        9.0 - max(0.0, stop - begins) if side == "motor" else 9.0 - max(0, stop - begins)
    )


def test_a_collar_that_the_bore_passes_is_none(build):
    taken = collared(build, "motor", 18.0, radius=4.002)
    drive = build.drive(build.job(motor={"shaft": None}, actuator={"shaft": None}), taken)
    assert not [f for f in axial_room.check(drive) if "collar" in f.subject]
    assert insertion.check(drive)[0].subject == "coupling"


@pytest.mark.parametrize(("side", "begins"), [("motor", 15.0), ("actuator", 11.0)])
def test_a_hub_over_what_nobody_tells_is_not_checked(build, side, begins):
    shaft = {"diameter": 8.0, "tolerance": "h6", "length": 24.0 if side == "motor" else 20.0}
    for full_from, expected in ((begins + 3.0, "not-checked"), (begins, None)):
        given = build.jobs.Shaft(**shaft, full_from=full_from)
        found = [
            f for f in axial_room.check(build.drive(build.job(**{side: {"shaft": given}}))) if "collar" in f.subject
        ]
        assert [f.status for f in found] == ([] if expected is None else [expected])


def test_the_body_tells_how_wide_it_is_before_the_full_diameter(build):
    taken = collared(build, "motor", 18.0, radius=3.0)
    given = build.jobs.Shaft(diameter=8.0, tolerance="h6", length=24.0, full_from=18.0)
    side = side_of("motor", 1.0, build.jobs.Machine(shaft=given), taken.ends[0], [])
    assert side.shaft.collars == ((0.0, 18.0, 3.0),)


# A head of M3 is 5.5 mm in diameter (ISO 4762): with its axis 1.5 mm from an end it reaches 1.25 mm beyond it.
@pytest.mark.parametrize("hub_side", ["motor", "actuator"])
@pytest.mark.parametrize("station", [1.5, 6.0, 10.5])
@pytest.mark.parametrize("head_end", [9.0, 10.2, None])
def test_swept_radius_holds_every_point_of_a_head(build, hub_side, station, head_end):
    # The hubs are 30 in diameter and 12 long; between them the coupling is 16 wide.
    screw = build.screw(station=station, offset=9.0, head_end=head_end)
    coupling = build.job(**{f"{hub_side}_hub": {"screws": (screw,)}}, element_diameter=16.0).job.coupling
    swept = swept_of(coupling, 0.0)
    radius = float(cap_screw("M3").head_diameter) / 2
    end = head_end if head_end is not None else np.sqrt(15.0**2 - (9.0 + radius) ** 2)
    rng = np.random.default_rng(5)
    turn, height = rng.uniform(0, 2 * np.pi, 4000), rng.uniform(0, end, 4000)
    along, aside = station + radius * np.sin(turn), 9.0 + radius * np.cos(turn)
    stations = along if hub_side == "motor" else coupling.length - along
    for s, r in zip(stations.tolist(), np.hypot(height, aside).tolist(), strict=True):
        assert swept.most(s, s) >= r - 1e-9
    # And it is no wider than the points at its outer end, where the head is all that is there.
    beyond = (along < 0.0) | (along > 12.0)
    if beyond.any():
        top = np.hypot(end, aside[beyond])
        here = [swept.most(s, s) for s in stations[beyond].tolist()]
        assert (np.array(here) >= top - 1e-9).all()
        assert max(here) <= np.hypot(end, 9.0 + radius) + 1e-9


@pytest.mark.parametrize("hub_side", ["motor", "actuator"])
def test_a_head_beyond_its_hub_rubs_on_what_reaches_in_there(build, hub_side):
    # A ring of radius 12 stands beside the flexing part of 16; the head reaches 1.25 mm out of the hub to about 13.6.
    screw = build.screw(station=10.5, offset=9.0, head_end=8.0)
    beside = (27.5, 28.0) if hub_side == "motor" else (36.0, 36.5)
    material = build.obstacles(
        [build.line(20.0, 0.0, 60.0, a) for a in (0, 90, 180, 270)] + [build.line(12.0, *beside)]
    )
    loaded = build.job(**{f"{hub_side}_hub": {"screws": (screw,)}}, element_diameter=16.0)
    found = build.one(radial_clearance.check(build.drive(loaded, build.measurement(material))))
    assert found.status == "fail"
    without = build.job(**{f"{hub_side}_hub": {"screws": (replace(screw, station=6.0),)}}, element_diameter=16.0)
    assert build.one(radial_clearance.check(build.drive(without, build.measurement(material)))).status == "pass"
