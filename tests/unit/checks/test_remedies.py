"""A remedy that is printed holds when it is applied, and makes nothing else fail."""

import re

from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.checks.run import run_checks

PLACE = re.compile(r"place\.motor_hub_face: (-?[\d.]+) mm")
LONGER = re.compile(r"the (motor|actuator) shaft ([\d.]+) mm longer")
SHORTER = re.compile(r"shorten the (motor|actuator) shaft by ([\d.]+) mm")
LENGTH = re.compile(r"largest coupling length that fits: ([\d.]+) mm")


def failing(findings):
    return {(f.check, f.subject): f for f in findings if f.status == "fail"}


def made(build, face, motor_length, actuator_length, limit, length=34.0):
    def shaft(long):
        return {"shaft": build.jobs.Shaft(diameter=8.0, tolerance="h6", length=long)}

    hub = {"insertion_limit": limit, "screws": (build.screw(),)}
    return build.job(
        motor=shaft(motor_length), actuator=shaft(actuator_length), motor_hub=hub, actuator_hub=hub,
        place={"motor_hub_face": face}, length=length,
    )  # fmt: skip


@settings(max_examples=20, deadline=None)
@given(
    face=st.floats(-1.0, 30.0),
    motor_length=st.floats(18.0, 30.0),
    actuator_length=st.floats(14.0, 26.0),
    limit=st.sampled_from((9.0, 12.0, 14.0)),
    edge=st.floats(15.0, 40.0),
)
def test_moves_and_other_shafts_hold_when_applied(build, face, motor_length, actuator_length, limit, edge):
    wall = build.wall(20.0, 0.0, 60.0, 24, window=(30.0, 90.0, 5.0, edge))
    taken = build.measurement(build.obstacles([build.line(20.0, 0.0, 60.0)], wall))
    lengths = {"motor": motor_length, "actuator": actuator_length}
    before = failing(run_checks(made(build, face, *lengths.values(), limit), taken))
    for key, finding in before.items():
        assert finding.remedy
        if found := PLACE.search(finding.remedy):
            after = failing(run_checks(made(build, float(found[1]), *lengths.values(), limit), taken))
            assert key not in after
            assert set(after) <= set(before)
        for pattern, sign in ((LONGER, 1.0), (SHORTER, -1.0)):
            if found := pattern.search(finding.remedy):
                changed = {**lengths, found[1]: lengths[found[1]] + sign * float(found[2])}
                after = failing(run_checks(made(build, face, *changed.values(), limit), taken))
                assert key not in after
                if sign > 0:
                    assert set(after) <= set(before)


def test_a_move_that_harms_another_hub_is_not_offered(build):
    # Both shafts reach 7 mm into their hubs, 8 are needed: nearer to the one is farther from the other.
    loaded = made(build, 17.0, 24.0, 18.0, 12.0, length=32.0)
    found = failing(run_checks(loaded, build.measurement()))
    remedy = found["engagement", "motor hub"].remedy
    assert remedy == "the motor shaft 1 mm longer"
    # With an insertion limit of 7.5 mm a longer shaft does not help either.
    loaded = made(build, 17.0, 24.0, 18.0, 7.5, length=32.0)
    found = failing(run_checks(loaded, build.measurement()))
    assert found["engagement", "motor hub"].remedy.startswith(
        "1 mm more motor shaft inside the hub, which takes another"
    )


def test_without_remedies_the_verdicts_are_the_same(build):
    loaded = made(build, 20.0, 24.0, 18.0, 12.0)
    full, quick = (run_checks(loaded, build.measurement(), remedies=wanted) for wanted in (True, False))
    assert [(f.check, f.subject, f.status, f.value) for f in full] == [
        (f.check, f.subject, f.status, f.value) for f in quick
    ]
