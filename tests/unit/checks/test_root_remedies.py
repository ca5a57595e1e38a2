"""Remedies that name the cause: one shaft of two, a coupling too wide and not too long, no length for touching shafts.

Each remedy is applied here and checked again.
"""

from dataclasses import replace

import pytest

from fitcheck.checks import axial_room, engagement, radial_clearance, shaft_gap


def long_shaft(build, side, length):
    shaft = build.jobs.Shaft(diameter=8.0, tolerance="h6", length=length)
    return {side: {"shaft": shaft}}


# Shaft ends at 24 and 40, a coupling of 34 centred between them, bores of 12: a shaft 12 longer lies 6 deeper in each
# hub, 15 in 12, so it is 6 too long.
@pytest.mark.parametrize(("side", "length", "most"), [("motor", 36.0, 30.0), ("actuator", 32.0, 26.0)])
def test_the_shaft_that_is_too_long_is_named_with_its_greatest_length(build, side, length, most):
    # Beyond 55 and before 5 the chamber is too narrow: only the right shaft brings the coupling back.
    narrow = (54.0, 60.0) if side == "motor" else (0.0, 10.0)
    lines = [build.line(20.0, 0.0, 60.0, a) for a in (0, 90, 180, 270)] + [build.line(12.0, *narrow)]
    taken = build.measurement(build.obstacles(lines))
    drive = build.drive(build.job(**long_shaft(build, side, length)), taken)
    for subject in ("motor shaft depth", "actuator shaft depth"):
        finding = build.one(engagement.check(drive), subject)
        assert (finding.status, finding.value) == ("fail", pytest.approx(15.0))
        assert (
            finding.remedy == f"the {side} shaft 6 mm shorter (at most {most:g} mm); the coupling is then centred anew"
        )
    mended = build.drive(build.job(**long_shaft(build, side, most)), taken)
    assert all(f.status == "pass" for f in (*engagement.check(mended), *radial_clearance.check(mended)))


@pytest.mark.parametrize(("side", "length", "least"), [("motor", 20.0, 22.0), ("actuator", 16.0, 18.0)])
def test_the_shaft_that_is_too_short_is_named_with_its_least_length(build, side, length, least):
    # 7 mm in each hub where 8 are needed: 2 mm more of the one shaft. It is narrow where the coupling has moved to.
    lines = [build.line(20.0, 0.0, 60.0, a) for a in (0, 90, 180, 270)]
    lines.append(build.line(12.0, *((0.0, 13.5) if side == "motor" else (50.5, 60.0))))
    drive = build.drive(build.job(**long_shaft(build, side, length)), build.measurement(build.obstacles(lines)))
    finding = build.one(engagement.check(drive), f"{side} hub")
    assert finding.value == pytest.approx(7.0)
    assert f"the {side} shaft 2 mm longer (at least {least:g} mm)" in finding.remedy
    # In a chamber that is wide all along either would do, so neither is named as the cause.
    plain = build.one(engagement.check(build.drive(build.job(**long_shaft(build, side, length)))), f"{side} hub")
    assert "centred anew" not in plain.remedy


def test_a_place_that_the_job_gives_is_not_centred_anew(build):
    loaded = build.job(place={"motor_hub_face": 21.0}, **long_shaft(build, "motor", 36.0))
    finding = build.one(engagement.check(build.drive(loaded)), "motor shaft depth")
    assert "centred" not in finding.remedy


@pytest.mark.parametrize("radius", [14.0, 15.05])
def test_a_coupling_wider_than_the_chamber_is_not_too_long(build, radius):
    # A chamber narrower than the coupling of 30: 15 (and 0.1 of orbit) do not turn in it, whatever the length.
    lines = [build.line(radius, 0.0, 60.0, a) for a in (0, 90, 180, 270)]
    drive = build.drive(build.job(), build.measurement(build.obstacles(lines)))
    assert radial_clearance.check(drive)[0].status == "fail"
    rooms = axial_room.check(drive)
    assert [f.status for f in rooms] == ["pass", "pass"]
    assert not any("longer adapter" in (f.remedy or "") for f in rooms)


def test_a_wall_at_the_very_end_of_the_hub_still_closes(build):
    lines = [build.line(20.0, 0.0, 60.0, a) for a in (0, 90, 180, 270)] + [build.line(10.0, 49.0, 60.0)]
    found = axial_room.check(build.drive(build.job(), build.measurement(build.obstacles(lines))))
    assert build.one(found, "actuator side").value == pytest.approx(0.0, abs=1e-5)
    narrower = [build.line(15.05, 0.0, 60.0, a) for a in (0, 90, 180, 270)] + [build.line(10.0, 50.5, 60.0)]
    found = axial_room.check(build.drive(build.job(), build.measurement(build.obstacles(narrower))))
    assert build.one(found, "actuator side").value == pytest.approx(1.5, abs=1e-5)


def test_shafts_that_overlap_are_not_answered_with_lengths_of_the_coupling(build):
    job = build.job(motor_hub={"insertion_limit": 10.0}, **long_shaft(build, "motor", 41.0))
    drive = build.drive(job)
    gap = build.one(shaft_gap.check(drive))
    assert (gap.status, gap.value) == ("fail", pytest.approx(-1.2))
    findings = [*shaft_gap.check(drive), *engagement.check(drive), *axial_room.check(drive)]
    assert not any("coupling lengths" in (f.remedy or "") for f in findings)
    mended = replace(job, job=replace(job.job, motor=build.jobs.Machine(
        shaft=build.jobs.Shaft(diameter=8.0, tolerance="h6", length=39.3))))  # fmt: skip
    assert shaft_gap.check(build.drive(mended))[0].status == "pass"
