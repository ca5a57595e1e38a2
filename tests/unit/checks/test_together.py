"""The fewest shaft angles at which all screws are reached, against closed forms and a search over single degrees."""

from itertools import combinations

from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.checks import wrench_access
from fitcheck.checks.together import fewest_angles
from fitcheck.measurement.intervals import Gap


def gap(start, width):
    return Gap(start=start, stop=start + width, start_owner=-1, stop_owner=-1)


def test_two_set_screws_on_each_hub_take_two_angles(build):
    # A window of 60 degrees, 150 to 210; the screws of each hub stand at 0 and 90 degrees, so the shaft goes to 180 for
    # the first ones and to 90 for the others.
    screws = tuple(
        build.screw(size="M4", kind="set screw", offset=0.0, angle=angle, head_end=14.9) for angle in (0.0, 90.0)
    )
    hub = {"screws": screws, "fastening": "set screw"}
    taken = build.measurement(build.obstacles((), build.wall(20.0, 0.0, 60.0, window=(150.0, 210.0, 12.0, 52.0))))
    drive = build.drive(build.job(motor_hub=hub, actuator_hub=hub, require={"tools": ("hex key long arm",)}), taken)
    found = build.one(wrench_access.check(drive), "both hubs")
    assert found.status == "warn"
    assert found.message == (
        "the screws of both hubs are reached at no common shaft angle; turn the shafts between them: 2 shaft angles "
        "are enough, 90.0° (motor hub screw 2, actuator hub screw 2) and 180.0° "
        "(motor hub screw 1, actuator hub screw 1)"
    )
    assert found.remedy == "screws of each hub that point the same way, or a second opening"


def test_a_screw_that_is_reached_nowhere_leaves_no_answer():
    assert fewest_angles({"one": (gap(10.0, 20.0),), "two": ()}, 0.2) == []
    assert fewest_angles({"one": (gap(0.0, 360.0),), "two": (gap(350.0, 20.0),)}, 0.2) == [(0.0, ("one", "two"))]


whole = st.integers(0, 359)
ranges = st.lists(st.lists(st.tuples(whole, st.integers(2, 90)), min_size=1, max_size=3), min_size=2, max_size=5)


@settings(max_examples=60, deadline=None)
@given(ranges=ranges)
def test_against_a_search_over_half_degrees(ranges):
    # Ranges end at whole degrees, so what holds anywhere holds at some half degree.
    screws = {f"screw {i}": tuple(gap(float(a), float(w)) for a, w in gaps) for i, gaps in enumerate(ranges)}

    def reached(angle):
        return {n for n, gaps in screws.items() if any((angle - g.start) % 360.0 <= g.width for g in gaps)}

    found = fewest_angles(screws, 0.2)
    assert sorted(name for _, names in found for name in names) == sorted(screws)
    assert all(set(names) <= reached(angle) for angle, names in found)
    sets = {frozenset(reached(degree + 0.5)) for degree in range(360)}
    sets = [one for one in sets if not any(one < other for other in sets)]
    fewer = [few for few in combinations(sets, len(found) - 1) if set().union(*few) == set(screws)] if found[1:] else []
    assert not fewer
