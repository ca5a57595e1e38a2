"""What is folded under a finding is gone once that finding's remedy is applied, and the cause itself stands first."""

import json
import re
from dataclasses import replace

import pytest

from fitcheck.checks.finding import not_checked
from fitcheck.checks.result import JobResult, Result
from fitcheck.checks.run import run_checks
from fitcheck.report.as_json import check_json
from fitcheck.report.html import check_html
from fitcheck.report.junit import check_junit
from fitcheck.report.sarif import check_sarif
from fitcheck.report.text import check_text

DIAMETER = re.compile(r"largest swept diameter that fits and goes in: ([\d.]+) mm")


def failing(findings):
    return {(f.check, f.subject) for f in findings if f.status == "fail"}


def rooted(findings):
    return {(f.check, f.subject): f.cause for f in findings if f.cause is not None}


def chamber(build, radius, opening):
    """A chamber from 8 to 52 between openings; the coupling lies from 15 to 49."""
    lines = [build.line(opening, 0.0, 8.0), build.line(radius, 8.0, 52.0), build.line(opening, 52.0, 60.0)]
    walls = [*build.wall(radius, 8.0, 52.0), *build.ring(8.0, opening, radius), *build.ring(52.0, opening, radius)]
    return build.measurement(build.obstacles(lines, walls))


@pytest.mark.parametrize(("radius", "opening"), [(14.0, 12.0), (14.0, 14.0), (12.5, 12.5), (15.2, 13.0)])
def test_a_coupling_that_is_too_wide_fails_by_one_cause_whose_remedy_mends_the_rest(build, radius, opening):
    # Coupling 30 wide: clearance, way in and the walls that its hubs come to stand in front of.
    taken = chamber(build, radius, opening)
    loaded = build.job()
    found = run_checks(loaded, taken)
    causes = rooted(found)
    assert failing(found) >= {("radial-clearance", "coupling"), ("insertion", "coupling")}
    assert len(set(causes.values())) == 1
    (cause,) = set(causes.values())
    root = next(f for f in found if (f.check, f.subject) == cause)
    # The one that lacks most is the cause: what it needs is more than what the other needs.
    assert root.margin == min(f.margin for f in found if f.check in ("radial-clearance", "insertion"))
    assert root.cause is None
    assert {key for key in causes if key in failing(found)} | {cause} == failing(found)
    assert all(f.remedy == root.remedy for f in found if f.check == "axial-room" and f.cause is not None)
    after = failing(run_checks(build.job(outside_diameter=float(DIAMETER.search(root.remedy)[1])), taken))
    assert not after & {*causes, cause}


@pytest.mark.parametrize("side", ["motor", "actuator"])
def test_what_another_remedy_has_to_mend_is_not_folded(build, side):
    # Beside the width, a hub with too little shaft: no narrower coupling mends that.
    loaded = build.job(**{side: {"shaft": build.jobs.Shaft(diameter=8.0, tolerance="h6", length=15.5)}},
                       place={"motor_hub_face": 15.0})  # fmt: skip
    found = run_checks(loaded, chamber(build, 14.0, 12.0))
    assert ("engagement", f"{side} hub") in failing(found)
    assert ("engagement", f"{side} hub") not in rooted(found)
    assert rooted(found)


@pytest.mark.parametrize("motor_longer", [0.0, 3.0])
def test_shafts_that_overlap_come_first_and_what_hangs_on_them_is_folded(build, motor_longer):
    # Shafts that overlap by 1 mm, and hubs that let them in by 13 mm of the 17.5 that each half of the coupling holds.
    shaft = {
        "motor": {"shaft": build.jobs.Shaft(diameter=8.0, tolerance="h6", length=30.5 + motor_longer)},
        "actuator": {"shaft": build.jobs.Shaft(diameter=8.0, tolerance="h6", length=30.5 - motor_longer)},
    }
    hub = {"bore_length": 16.5, "insertion_limit": 16.9}
    loaded = build.job(**shaft, motor_hub=hub, actuator_hub=hub)
    found = run_checks(loaded, build.measurement())
    causes = rooted(found)
    assert ("shaft-gap", "shafts") in failing(found)
    assert causes == {
        ("engagement", "motor shaft depth"): ("shaft-gap", "shafts"),
        ("engagement", "actuator shaft depth"): ("shaft-gap", "shafts"),
    }
    lack = next(-f.margin for f in found if f.check == "shaft-gap")
    for name in ("motor", "actuator"):
        machine = getattr(loaded.job, name)
        shorter = replace(machine, shaft=replace(machine.shaft, length=machine.shaft.length - lack))
        mended = replace(loaded, job=replace(loaded.job, **{name: shorter}))
        assert not failing(run_checks(mended, build.measurement(), remedies=False)) & {*causes, ("shaft-gap", "shafts")}


@pytest.mark.parametrize(("motor_length", "actuator_length"), [(31.0, 20.0), (27.0, 24.0), (22.0, 29.0)])
def test_of_a_centred_coupling_one_shaft_that_is_too_long_is_told_with_its_greatest_length(
    build, motor_length, actuator_length
):
    # The shaft ends lie 60 - 51 = 9 mm apart, so each is (34 - 9) / 2 = 12.5 mm inside; 10.5 are allowed, so one shaft
    # has to be 4 mm shorter.
    hub = {"insertion_limit": 10.5}
    lengths = {"motor": motor_length, "actuator": actuator_length}
    shafts = {
        name: {"shaft": build.jobs.Shaft(diameter=8.0, tolerance="h6", length=length)}
        for name, length in lengths.items()
    }
    loaded = build.job(**shafts, motor_hub=hub, actuator_hub=hub)
    found = {(f.check, f.subject): f for f in run_checks(loaded, build.measurement())}
    assert failing(found.values()) == {("engagement", f"{name} shaft depth") for name in lengths}
    first = found["engagement", "motor shaft depth"]
    assert first.cause is None
    assert found["engagement", "actuator shaft depth"].cause == ("engagement", "motor shaft depth")
    for name, length in lengths.items():
        assert f"the {name} shaft 4 mm shorter (at most {length - 4:g} mm) for both hubs" in first.remedy
        for by, passes in ((4.0, True), (3.9, False)):
            shorter = replace(shafts[name]["shaft"], length=length - by)
            changed = build.job(**{**shafts, name: {"shaft": shorter}}, motor_hub=hub, actuator_hub=hub)
            assert (not failing(run_checks(changed, build.measurement(), remedies=False))) == passes


def test_statuses_and_order_are_the_same_without_remedies(build):
    taken = chamber(build, 14.0, 12.0)
    full, quick = (run_checks(build.job(), taken, remedies=wanted) for wanted in (True, False))
    assert [(f.check, f.subject, f.status) for f in full] == [(f.check, f.subject, f.status) for f in quick]


def test_what_is_not_checked_for_one_reason_asks_once_and_every_format_keeps_it(build):
    found = run_checks(build.job(), replace(build.measurement(), drive_axis=None))
    assert {f.status for f in found} == {"not-checked"}
    # The first one says what is missing; all others wait for it.
    same = [f for f in found if f is found[0] or f.cause is not None]
    assert len(same) == len(found) > 5
    assert [f.cause for f in same] == [None] + [(same[0].check, same[0].subject)] * (len(same) - 1)
    result = Result(jobs=(JobResult(name="a.fit.yaml", findings=found),))
    text = " ".join(check_text(result).split())
    assert text.count(f"{found[0].message} ") == 1
    data = json.loads(check_json(result))["jobs"][0]["findings"]
    assert len(data) == len(found)
    assert data[1]["cause"] == {"check": same[0].check, "subject": same[0].subject}
    assert "cause" not in data[0]
    for other in (check_junit(result), check_sarif(result), check_html(result)):
        assert other.count(f"Follows from: {same[0].check}, {same[0].subject}") == len(same) - 1


def test_the_text_puts_the_cause_first_and_what_follows_in_one_paragraph(build):
    found = run_checks(build.job(), chamber(build, 14.0, 12.0))
    text = " ".join(check_text(Result(jobs=(JobResult(name="a.fit.yaml", findings=found),))).split())
    fails = text[text.index("What fails") :]
    cause = next(iter(set(rooted(found).values())))
    assert fails.startswith(f"What fails FAIL {', '.join(cause)}")
    folded = fails[fails.index("From the same cause: ") :]
    for check, subject in rooted(found):
        assert f"{check}, {subject} (" in folded
        assert f"FAIL {check}, {subject}" not in fails


def test_a_cause_that_is_not_among_the_findings_folds_nothing():
    lone = replace(not_checked("torque", "coupling", "no torque was given", "give it"), cause=("speed", "coupling"))
    text = check_text(Result(jobs=(JobResult(name="a.fit.yaml", findings=(lone,)),)))
    assert "no torque was given" in text
