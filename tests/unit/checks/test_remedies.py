"""A remedy that is printed is read from the text, applied to the job by hand, and holds without harm elsewhere."""

import re
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.checks.run import run_checks

PLACE = re.compile(r"place\.motor_hub_face: (-?[\d.]+) mm")
SHAFT = re.compile(r"the (motor|actuator) shaft ([\d.]+) mm (longer|shorter)")
EACH = re.compile(r"each shaft ([\d.]+) mm (longer|shorter)")
LENGTHS = re.compile(r"coupling lengths that fit: ([\d.]+) mm to ([\d.]+) mm")
DIAMETER = re.compile(r"largest swept diameter that fits and goes in: ([\d.]+) mm")
TOOLS = re.compile(r"\(require\.tools: ([^)]*)\)")
HARM = "but then this fails"


def failing(findings):
    return {(f.check, f.subject) for f in findings if f.status == "fail"}


def made(build, face, motor_length, actuator_length, limit, length=34.0):
    def shaft(long):
        return {"shaft": build.jobs.Shaft(diameter=8.0, tolerance="h6", length=long)}

    hub = {"insertion_limit": limit, "screws": (build.screw(),)}
    return build.job(
        motor=shaft(motor_length), actuator=shaft(actuator_length), motor_hub=hub, actuator_hub=hub,
        place={"motor_hub_face": face}, length=length,
    )  # fmt: skip


def with_job(loaded, **groups):
    return replace(loaded, job=replace(loaded.job, **groups))


def longer(loaded, **more):
    for side, by in more.items():
        machine = getattr(loaded.job, side)
        shaft = replace(machine.shaft, length=machine.shaft.length + by)
        loaded = with_job(loaded, **{side: replace(machine, shaft=shaft)})
    return loaded


def applied(loaded, remedy):
    """Every remedy of a text that changes the job, as the changed job; those told with harm are left out."""
    for part in re.split(r", or |; or ", remedy):
        if HARM in part:
            continue
        place = PLACE.search(part)
        job = with_job(loaded, place=replace(loaded.job.place, motor_hub_face=float(place[1]))) if place else loaded
        if found := SHAFT.search(part):
            yield part, longer(job, **{found[1]: float(found[2]) * (1 if found[3] == "longer" else -1)})
        elif found := EACH.search(part):
            by = float(found[1]) * (1 if found[2] == "longer" else -1)
            yield part, longer(job, motor=by, actuator=by)
        elif found := LENGTHS.search(part):
            for length in found.groups():
                yield part, with_job(job, coupling=replace(job.job.coupling, length=float(length)))
        elif found := TOOLS.search(part):
            for word in found[1].split(", "):
                yield part, with_job(job, require=replace(job.job.require, tools=(word,)))
        elif place and part.startswith("move the coupling"):
            yield part, job


def hold(loaded, taken):
    """Apply every remedy of every failing finding; how many there were."""
    count = 0
    first = run_checks(loaded, taken)
    before = failing(first)
    for finding in first:
        if finding.status != "fail":
            continue
        assert finding.remedy
        for part, changed in applied(loaded, finding.remedy):
            after = failing(run_checks(changed, taken, remedies=False))
            assert (finding.check, finding.subject) not in after, (part, after)
            assert after <= before, (part, after - before)
            count += 1
    return count


@settings(max_examples=8, deadline=None)
@given(
    face=st.floats(-1.0, 30.0) | st.none(),
    motor_length=st.floats(18.0, 30.0),
    actuator_length=st.floats(14.0, 26.0),
    limit=st.sampled_from((9.0, 12.0, 14.0)),
    edge=st.floats(15.0, 40.0),
)
def test_moves_shafts_lengths_and_tools_hold_when_applied(build, face, motor_length, actuator_length, limit, edge):
    wall = build.wall(20.0, 0.0, 60.0, 24, window=(30.0, 90.0, 5.0, edge))
    taken = build.measurement(build.obstacles([build.line(20.0, 0.0, 60.0)], wall))
    hold(made(build, face, motor_length, actuator_length, limit), taken)


def test_of_a_centred_coupling_the_new_shaft_counts_or_its_place_is_told(build):
    # Centred: shafts to 24 and 46, so the coupling sits at 18 to 52, 6 mm on each shaft: 8 are needed.
    loaded = made(build, None, 24.0, 14.0, 12.0)
    found = {(f.check, f.subject): f for f in run_checks(loaded, build.measurement())}["engagement", "motor hub"]
    # 2 mm more alone move the coupling by 1 mm; with its place told they are enough.
    assert "the motor shaft 2 mm longer with the coupling where it is (place.motor_hub_face: 18 mm)" in found.remedy
    assert hold(loaded, build.measurement()) >= 2


def test_a_gap_that_is_too_small_names_shafts_and_an_adapter_that_were_tried(build):
    # Shafts to 29.9 and 30.1: a gap of 0.2, less 0.2: 0.5 lacking. Bores 14 long leave room to be shorter.
    hub = {"bore_length": 14.0, "insertion_limit": 20.0}
    shaft = {"shaft": build.jobs.Shaft(diameter=8.0, tolerance="h6", length=29.9)}
    loaded = build.job(
        motor=shaft, actuator=shaft, motor_hub=hub, actuator_hub=hub, place={"motor_hub_face": 13.0}
    )  # fmt: skip
    found = build.one([f for f in run_checks(loaded, build.measurement()) if f.check == "shaft-gap"])
    assert found.remedy == (
        "the motor shaft 0.5 mm shorter, or the actuator shaft 0.5 mm shorter, or each shaft 0.25 mm shorter, or the "
        "adapter 0.5 mm longer"
    )
    assert hold(loaded, build.measurement()) == 3
    # An adapter of 60.5 mm, all beyond its middle 0.5 mm farther on.
    longer_adapter = build.measurement(
        build.obstacles([build.line(20.0, 0.0, 60.5)], build.wall(20.0, 0.0, 60.5)),
        ends=(build.end("motor", 0.0), build.end("actuator", 60.5)),
    )
    assert not failing(run_checks(loaded, longer_adapter))


def test_a_move_that_harms_another_hub_is_not_offered(build):
    # Both shafts reach 7 mm into their hubs, 8 are needed: nearer to the one is farther from the other.
    loaded = made(build, 17.0, 24.0, 18.0, 12.0, length=32.0)
    found = {(f.check, f.subject): f for f in run_checks(loaded, build.measurement())}
    remedy = found["engagement", "motor hub"].remedy
    assert remedy == "the motor shaft 1 mm longer"
    # With an insertion limit of 7.5 mm a longer shaft does not help without harm, and that is said.
    loaded = made(build, 17.0, 24.0, 18.0, 7.5, length=32.0)
    found = {(f.check, f.subject): f for f in run_checks(loaded, build.measurement())}
    assert found["engagement", "motor hub"].remedy == (
        "the motor shaft 1 mm longer (but then this fails: engagement, motor shaft depth)"
    )


def test_the_largest_swept_diameter_of_a_coupling_that_goes_in_through_the_window(build):
    # Both ends are closed to 9 mm. A window of 100 degrees to either side passes 20 sin(80) = 19.7 to either side at
    # its mouth; the coupling, drawn back past the actuator's shaft, lies in it. Turning, 2 (20 - 0.1 - 0.5)
    # = 38.8 is the greatest, so a coupling of 39 fails by that alone, and one of 38.8 goes in with 0.3 to spare.
    walls = [*build.wall(20.0, 5.0, 55.0, window=(80.0, 280.0, 5.0, 55.0)), *build.ring(5.0, 9.0, 20.0),
             *build.ring(55.0, 9.0, 20.0)]  # fmt: skip
    lines = [build.line(9.0, 0.0, 5.0), build.line(20.0, 5.0, 55.0), build.line(9.0, 55.0, 60.0)]
    taken = build.measurement(build.obstacles(lines, walls))
    screws = {"screws": (build.screw(size="M4", kind="set screw", offset=0.0, head_end=14.9),)}
    given = {"motor_hub": screws, "actuator_hub": screws, "family": "slit"}
    found = {f.check: f for f in run_checks(build.job(outside_diameter=39.0, **given), taken)}
    assert (found["insertion"].status, found["radial-clearance"].status) == ("pass", "fail")
    assert "it goes in otherwise (coupling through the window" in found["insertion"].message
    assert float(DIAMETER.search(found["radial-clearance"].remedy)[1]) == 38.8
    smaller = failing(run_checks(build.job(outside_diameter=38.8, **given), taken))
    assert not smaller & {("insertion", "coupling"), ("radial-clearance", "coupling")}
    # From the motor's side alone nothing wider than the opening goes in.
    forced = build.job(outside_diameter=39.0, require={"insertion_from": "motor"}, **given)
    found = {f.check: f for f in run_checks(forced, taken)}
    assert found["insertion"].status == "fail"
    assert float(DIAMETER.search(found["insertion"].remedy)[1]) == 17.8


def test_the_largest_swept_diameter_turns_and_goes_in_and_is_the_largest(build):
    # Chamber 15.2 and an opening of 14.5 on the motor's side, 14 on the actuator's: 2 (14.5 - 0.1) goes in; turning,
    # 2 (15.2 - 0.1 - 0.5) = 29.2 is the greatest. So 28.8; and with an opening of 15.5 it is 29.2.
    for opening, expected in ((14.5, 28.8), (15.5, 29.2)):
        rows = [build.line(opening, 0.0, 5.0), build.line(15.2, 5.0, 55.0), build.line(14.0, 55.0, 60.0)]
        taken = build.measurement(build.obstacles(rows, build.wall(15.2, 0.0, 60.0)))
        first = run_checks(build.job(), taken)
        told = {float(DIAMETER.search(f.remedy)[1]) for f in first if f.check in ("insertion", "radial-clearance")
                and f.status == "fail"}  # fmt: skip
        assert told == {expected}
        smaller = failing(run_checks(build.job(outside_diameter=expected), taken))
        assert not smaller & {("insertion", "coupling"), ("radial-clearance", "coupling")}
        larger = failing(run_checks(build.job(outside_diameter=expected + 0.02), taken))
        assert larger & {("insertion", "coupling"), ("radial-clearance", "coupling")}
    closed = build.measurement(build.obstacles([build.line(3.0, 0.0, 60.0)]))
    found = {f.check: f for f in run_checks(build.job(), closed)}
    assert found["insertion"].remedy == (
        "no coupling with a bore of 8 mm fits and goes in: at most 4.8 mm of swept diameter would"
    )


def test_without_remedies_the_verdicts_are_the_same(build):
    loaded = made(build, 20.0, 24.0, 18.0, 12.0)
    full, quick = (run_checks(loaded, build.measurement(), remedies=wanted) for wanted in (True, False))
    assert [(f.check, f.subject, f.status, f.value) for f in full] == [
        (f.check, f.subject, f.status, f.value) for f in quick
    ]


def test_other_lengths_are_offered_beside_longer_shafts(build):
    # Shaft ends at 24 and 44, the coupling about 34: each shaft is length / 2 - 10 inside, 7 of 8 now. 36 is the least,
    # and at 44 both are in by 12, the bore's length.
    loaded = build.job(actuator={"shaft": build.jobs.Shaft(diameter=8.0, length=16.0)})
    found = {(f.check, f.subject): f for f in run_checks(loaded, build.measurement())}
    for side in ("motor", "actuator"):
        remedy = found["engagement", f"{side} hub"].remedy
        assert f"the {side} shaft 1 mm longer" in remedy
        assert "coupling lengths that fit: 36 mm to 44 mm (now 34 mm)" in remedy
    for length, passes in ((35.98, False), (36.0, True), (44.0, True), (44.02, False)):
        tried = with_job(loaded, coupling=replace(loaded.job.coupling, length=length))
        checked = failing(run_checks(tried, build.measurement(), remedies=False))
        assert any(check == "engagement" for check, _ in checked) != passes, length
