"""What a user gets wrong in the figures of a drive is refused with its line, or told; it never passes unseen."""

from math import pi

import pytest

from fitcheck.errors import JobError

G = 9.80665
ACTUATOR = """\
      bore: 10
      bore_tolerance: H7
      bore_length: 13
      holding: {hinge: 13.5}
      screws: [{size: M3, station: 5, offset: 9, property_class: "12.9", tightening_torque: 1.8}]
"""


def keyed(holding="", seat="width: 3, depth: 1.8, length: 10"):
    """Changes that give the actuator's hub a key with a set screw, and its shaft a keyseat."""
    hub = (
        "      bore: 10\n      bore_tolerance: H7\n      bore_length: 13\n      fastening: key with set screw\n"
        f"{holding}      screws: [{{kind: set screw, size: M4, station: 5, tightening_torque: 1.7}}]\n"
    )
    shaft = "shaft: {diameter: 10, tolerance: h6, length: 21"
    return (ACTUATOR, hub), (f"{shaft}}}", f"{shaft}, keyseat: {{{seat}}}}}")


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("stroke: 250", "stroke: 2500", r"stroke: found 2500 mm, .* at most the screw's length, 350 mm"),
        (
            "incline: 90",
            "counterbalance_force: 20",
            r"found 20 N on a horizontal axis; needed is an incline, such as 90",
        ),
        ("repeatability: 20 um", "angular_repeatability: 1", r"another kind of drive; needed is repeatability, for a"),
    ],
)
def test_what_contradicts_itself_is_refused_with_its_line(build, old, new, words):
    with pytest.raises(JobError, match=words) as caught:
        build.job((old, new))
    assert caught.value.line == build.text[: build.text.index(old)].count("\n") + 1


def test_moves_that_add_up_beyond_the_screw_are_refused_and_returning_ones_are_not(build):
    def moves(then):
        part = f"{{stroke: 200, speed: 150, acceleration: 1500, then: {then}}}"
        return "[{stroke: 250, speed: 150, acceleration: 1500, pause: 1}]", f"[{part}, {part}]"

    with pytest.raises(JobError, match=r"moves\.1\.stroke: found 200 mm, with which the moves reach over 400 mm"):
        build.job(moves("stays"))
    assert build.work(build.job(moves("returns")))["torque", "peak"].status == "pass"


@pytest.mark.parametrize("name", ["repeatability: 0.01", "following_error: 0.01"])
def test_a_limit_in_mm_is_refused_for_a_turning_load(build, name):
    text = build.text[: build.text.index("  screw:\n")] + (
        f"  rotary: {{inertia: 0.02, ratio: 10}}\n  motor: {{inertia: 2e-4}}\n  asked: {{{name}}}\n"
    )
    with pytest.raises(JobError, match=r"another kind of drive; needed is angular_repeatability, for a turning load"):
        build.job(text=text)


@pytest.mark.parametrize(
    ("holding", "words"),
    [
        ("      holding: {key: {length: 20}}\n", r"key\.length: found 20 mm of key in the hub; .* bore length, 13 mm"),
        ("      holding: {key: {length: 12}}\n", r"key\.length: found 12 mm of key, while .*keyseat is 10 mm long"),
        ("      holding: {key: {width: 4, height: 4}}\n", r"key\.width: found a key 4 mm wide, while .* is 3 mm wide"),
        ("      holding: {key: {width: 3}}\n", r"key\.height: found one side of the key's section; needed are width"),
    ],
)
def test_a_key_that_cannot_be_there_is_refused(build, holding, words):
    with pytest.raises(JobError, match=words):
        build.job(*keyed(holding))


def test_a_keyseat_that_no_key_of_the_standard_fills_is_asked_about(build):
    found = build.work(build.job(*keyed(seat="width: 5, depth: 1.8, length: 10")))["hub-grip", "actuator hub"]
    assert found.status == "not-checked"
    assert "keyseat is 5 mm wide, while the key of 3 x 3 (DIN 6885-1) is 3 mm wide" in found.message


def test_a_key_out_of_the_bore_carries_only_inside_it(build):
    # The coupling of 40 is centred between the ends at 21 and 37: its actuator bore begins 13 before 49. The keyseat
    # of 14, 2 mm from the end at 37, lies at 39 to 53, so 10 mm of it are in the bore; round ends take 3 mm off.
    found = build.work(
        build.job(*keyed("      holding: {key: {length: 13}}\n", "width: 3, depth: 1.8, length: 14, from_end: 2"))
    )
    assert "7 mm of it carrying" in found["hub-grip", "actuator hub"].message


def test_a_key_in_a_clamp_hub_is_told_not_to_count(build):
    plain = build.work(build.job())["hub-grip", "motor hub"]
    both = build.work(build.job(("holding: {hinge: 13.5}", "holding: {hinge: 13.5, key: {length: 10}}")))
    assert both["hub-grip", "motor hub"].value == plain.value
    assert "its key is not counted, as the fastening is 'clamp'" in both["hub-grip", "motor hub"].message


def test_a_property_class_needs_no_quotes_and_a_wrong_one_is_refused(build):
    bare = build.work(build.job(('property_class: "12.9"', "property_class: 12.9")))
    assert bare["hub-grip", "motor hub screw 1"] == build.work(build.job())["hub-grip", "motor hub screw 1"]
    with pytest.raises(JobError, match=r"found 9\.8; needed is one of: 8\.8, 10\.9, 12\.9"):
        build.job(('property_class: "12.9"', "property_class: 9.8"))


def test_a_cycle_faster_than_the_controller_allows_is_warned_of(build):
    # 150 mm/s on 5 mm of lead: 30 turns a second, 1800 rpm.
    slow = build.work(build.job(("top_speed: 2400", "top_speed: 1500")))["speed", "motor"]
    assert (slow.status, slow.limit) == ("warn", 1500)
    assert slow.value == pytest.approx(1800)
    assert "the cycle turns the motor with up to 1800 rpm; its controller allows 1500 rpm" in slow.message
    assert build.work(build.job(("top_speed: 2400", "top_speed: 1800")))["speed", "motor"].status == "pass"


def test_a_brake_weaker_than_the_load_is_warned_of(build):
    pull = 6 * G * 0.005 / (2 * pi)
    weak = build.work(build.job(("peak_torque: 0.9", f"peak_torque: 0.9, brake_torque: {0.99 * pull}")))
    strong = build.work(build.job(("peak_torque: 0.9", f"peak_torque: 0.9, brake_torque: {1.01 * pull}")))
    found = weak["torque", "motor brake"]
    assert (found.status, strong["torque", "motor brake"].status) == ("warn", "pass")
    assert found.limit == pytest.approx(pull)
    assert "without current the load comes down" in found.remedy


def test_a_counterbalance_pulls_against_the_weight_whichever_way_is_positive(build):
    # 6 kg and 30 N of a gas spring: 28.84 N are left, up or down.
    left = (6 * G - 30) * 0.005 / (2 * pi)
    for incline in ("90", "-90"):
        job = build.job(
            ("incline: 90", f"incline: {incline}\n    counterbalance_force: 30"),
            ("peak_torque: 0.9", "peak_torque: 0.9, brake_torque: 1"),
        )
        assert build.work(job)["torque", "motor brake"].limit == pytest.approx(left, rel=1e-9)


def test_what_was_not_measured_of_the_alignment_is_reckoned(build):
    built = build.work(build.job())
    part = build.work(build.job(("  motor: {inertia", "  alignment: {parallel: 0.05}\n  motor: {inertia")))
    assert part["misalignment", "parallel"].value == 0.05
    assert part["misalignment", "angular"].value == built["misalignment", "angular"].value > 0.0
    empty = build.work(build.job(("  motor: {inertia", "  alignment: {}\n  motor: {inertia")))
    assert empty["misalignment", "parallel"].value == built["misalignment", "parallel"].value > 0.0


def test_shafts_measured_in_line_use_no_share(build):
    none = build.work(build.job(("  motor: {inertia", "  alignment: {parallel: 0, angular: 0}\n  motor: {inertia")))
    assert (none["misalignment", "combined"].status, none["misalignment", "combined"].value) == ("pass", 0.0)


def test_misalignment_of_a_kind_that_is_not_permitted_is_no_percentage(build):
    found = build.work(build.job(("    parallel: 0.3", "    parallel: 0")))["misalignment", "combined"]
    assert found.status == "fail"
    assert "parallel endless, as none is permitted" in found.message
    assert "00000" not in found.message
    assert found.remedy == "a coupling that permits each kind of misalignment that the shafts have"


def test_the_other_sum_is_named_where_it_decides(build):
    told = build.work(build.job(("    parallel: 0.3", "    parallel: 0.15")))["misalignment", "parallel"]
    assert told.status == "fail"
    assert "drive.asked.misalignment_sum" in told.remedy
    likely = ("asked: {", "asked: {misalignment_sum: root sum square, ")
    assert build.work(build.job(("    parallel: 0.3", "    parallel: 0.15"), likely))[
        "misalignment", "parallel"
    ].status == "pass"  # fmt: skip
    both = build.work(build.job(("    parallel: 0.3", "    parallel: 0.02")))["misalignment", "parallel"]
    assert "misalignment_sum" not in both.remedy


def test_a_turning_load_is_spoken_of_as_one(build):
    text = build.text[: build.text.index("  screw:\n")] + (
        "  rotary: {inertia: 0.02, ratio: 10, friction_torque: 5, turns: [{angle: 90, speed: 30, acceleration: 10}]}\n"
        "  motor: {inertia: 2e-6, peak_torque: 9, top_speed: 9000}\n  asked: {angular_repeatability: 0.001}\n"
    )
    found = build.work(build.job(text=text))
    assert {f.status for k, f in found.items() if k in (("wind-up", "settled"), ("speed", "coupling"))} == {"fail"}
    for finding in found.values():
        words = f"{finding.message} {finding.remedy}"
        assert not any(word in words for word in ("carriage", "a screw of")), words
    assert "a larger ratio" in found["wind-up", "settled"].remedy
    assert "a smaller ratio" in found["speed", "coupling"].remedy


def test_a_shaft_without_keyseat_bears_a_third_more(build):
    # ASME's code takes 25 % off for a keyseat: 40 MPa with one are 53.33 MPa without. 16 T/(pi d^3) at 8 mm.
    found = build.work(build.job(("peak_torque: 0.9", "peak_torque: 2.4")))["key-stress", "motor shaft"]
    assert found.value == pytest.approx(16 * 4.8 / (pi * 0.008**3) / 1e6)
    assert (found.status, found.limit) == ("pass", pytest.approx(40 / 0.75))
    assert build.work(build.job(*keyed()))["key-stress", "actuator shaft"].limit == 40
    given = build.work(build.job(("asked: {", "asked: {shaft_stress: 30, "), ("peak_torque: 0.9", "peak_torque: 2.4")))
    assert (given["key-stress", "motor shaft"].status, given["key-stress", "motor shaft"].limit) == ("fail", 30)


def test_where_the_cut_of_a_clamp_is_assumed_what_tells_more_is_named(build):
    assumed = build.work(build.job(("      holding: {hinge: 13.5}\n", "")))["hub-grip", "motor hub"]
    assert assumed.status == "fail"
    assert "closes more freely than is assumed, holding.slip_torque" in assumed.remedy
    told = build.work(build.job(("holding: {hinge: 13.5}", "holding: {cross_cut: none}")))["hub-grip", "motor hub"]
    assert told.status == "fail"
    assert "assumed" not in told.remedy
    given = build.work(build.job(("holding: {hinge: 13.5}", "holding: {slip_torque: 2}")))["hub-grip", "motor hub"]
    assert given.status == "pass"
