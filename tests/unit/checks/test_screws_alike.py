"""Screws of one pattern: what is found at one and turned to the others is what each finds by itself."""

from dataclasses import replace
from pathlib import Path

import pytest

import fitcheck
from fitcheck.checks import access
from fitcheck.checks.drive import drive_of

SAMPLE = Path(__file__).parents[3] / "sample_assemblies" / "passing" / "z-disc-spacer.fit.yaml"


@pytest.fixture(scope="module")
def checked():
    return fitcheck.check(SAMPLE)


def found(result, **changes):
    """What the tools do at every screw of the motor's hub, its first flange screw changed."""
    job = result.loaded.job
    hubs = job.coupling.hubs
    screws = list(hubs.motor.screws)
    screws[1] = replace(screws[1], **changes)
    coupling = replace(job.coupling, hubs=replace(hubs, motor=replace(hubs.motor, screws=tuple(screws))))
    drive = drive_of(replace(result.loaded, job=replace(job, coupling=coupling)), result.measurement)
    return [
        access.reaches(drive, drive.placed, side, position)
        for side, position, _ in access.screws_of(drive)
        if side == "motor"
    ], drive


def same(one, other):
    for a, b in zip(one, other, strict=True):
        for reach, direct in zip(a, b, strict=True):
            plain = {"free": (), "best": None}
            assert replace(reach, **plain) == replace(direct, **plain)
            for told in ("start", "width"):
                assert sorted(getattr(g, told) for g in reach.free) == pytest.approx(
                    sorted(getattr(g, told) for g in direct.free)
                )
            assert (reach.best is None) == (direct.best is None)
            assert reach.best is None or reach.best == pytest.approx(direct.best)


def test_flange_screws_in_a_pattern_are_looked_at_once_and_told_each(checked, monkeypatch):
    turned, drive = found(checked)
    looked_at = [key for key in drive.answers if key[0] == "alike" and key[1] == "motor"]
    # The clamp screw and one of the three flange screws.
    assert len(looked_at) == 2
    assert all(any(reach.works for reach in reaches) for reaches in turned)
    # 120 degrees apart, so are their best shaft angles.
    best = [reaches[0].best for reaches in turned[1:]]
    assert sorted((best[0] - angle) % 360.0 for angle in best) == pytest.approx([0.0, 120.0, 240.0])
    monkeypatch.setattr(access, "_of_one_alike", lambda asking: None)
    same(turned, found(checked)[0])


def test_two_clamp_screws_whose_heads_lie_in_the_hub_are_alike_at_any_angle(checked, monkeypatch):
    clamp = checked.loaded.job.coupling.hubs.motor.screws[0]
    same_but_turned = {name: getattr(clamp, name) for name in ("size", "direction", "station", "offset", "head_end")}
    turned, drive = found(checked, angle=100.0, **same_but_turned)
    # One for both, and one each for the flange screws that are left, which see each other on different sides.
    assert len([key for key in drive.answers if key[0] == "alike" and key[1] == "motor"]) == 3
    here, there = (sorted(gap.start for gap in reaches[0].free) for reaches in turned[:2])
    assert len(here) > 1
    assert sorted((start - 100.0) % 360.0 for start in here) == pytest.approx(there)
    monkeypatch.setattr(access, "_of_one_alike", lambda asking: None)
    same(turned, found(checked, angle=100.0, **same_but_turned)[0])


def test_a_screw_out_of_the_pattern_is_looked_at_by_itself(checked, monkeypatch):
    turned, drive = found(checked, angle=75.0)
    assert len([key for key in drive.answers if key[0] == "alike" and key[1] == "motor"]) == 4
    monkeypatch.setattr(access, "_of_one_alike", lambda asking: None)
    same(turned, found(checked, angle=75.0)[0])
