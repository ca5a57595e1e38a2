"""The sample assemblies: each verdict, and the numbers that the job files work out by hand in their comments."""

import re
from math import acos, atan2, degrees, hypot, sqrt
from pathlib import Path

import pytest

SAMPLES = Path(__file__).parents[3] / "sample_assemblies"
FAILING = {
    "z-opening-too-small": "insertion",
    "z-screw-head-rubs": "radial-clearance",
    "z-shafts-touch": "shaft-gap",
    "z-hub-slips": "hub-grip",
    "x-too-little-engagement": "engagement",
    "x-shaft-into-flexing-part": "engagement",
    "x-window-misses-screw": "wrench-access",
    "x-pilot-shifted": "pilot-alignment",
}
# The sums of the job files' comments; the shaft gap with 0.2 mm taken off.
Z = {"insertion": 1.0, "radial-clearance": 1.9, "axial-room": 3.4, "engagement": 11.5, "shaft-gap": 15.8}
X = {"insertion": 1.0, "radial-clearance": 1.9, "axial-room": 4.4, "engagement": 12.5, "shaft-gap": 15.8}
SUMS = {
    "passing/z-passes": Z,
    "passing/z-full-assembly": Z,
    "passing/z-flat-shaft": Z,
    "passing/z-with-drive": {**Z, "speed": 2400.0, "inertia": 1.541e-5 / 5.4e-5},
    "passing/z-standoffs": {**Z, "axial-room": 3.0, "radial-clearance": 33 * 2**0.5 - 5 - 16 - 0.1},
    "passing/z-disc-spacer": {
        "insertion": 2.5, "radial-clearance": 33 * 2**0.5 - 5 - 14.5 - 0.1, "axial-room": 7.0, "engagement": 16.0,
        "shaft-gap": 31.8, "assembly-order": 2.5,
    },
    "passing/x-passes": X,
    "passing/x-two-piece": X,
    "passing/x-plugs-together": {**X, "axial-room": 8.0},
    "passing/x-u-bracket": {**X, "axial-room": 2.0, "radial-clearance": 7.9},
    "passing/x-l-bracket": {**X, "axial-room": 8.0, "radial-clearance": 7.9, "insertion": 8.0},
    "passing/x-bearing-block": {**X, "axial-room": 7.0, "radial-clearance": 0.9},
    "passing/x-in-inches": {
        "insertion": 0.0625 * 25.4, "radial-clearance": 0.09375 * 25.4 - 0.1, "axial-room": 0.1725 * 25.4,
        "engagement": 0.43 * 25.4, "shaft-gap": 0.6 * 25.4 - 0.2,
    },
    "failing/z-opening-too-small": {**Z, "insertion": -0.5},
    "failing/z-screw-head-rubs": {
        **Z, "insertion": 18 - (11.84**2 + 13.1**2) ** 0.5, "radial-clearance": 17.6 - (11.84**2 + 13.1**2) ** 0.5,
    },
    "failing/z-shafts-touch": {**Z, "engagement": 16.0, "shaft-gap": -0.1},
    "failing/z-hub-slips": Z,
    "failing/x-too-little-engagement": {**X, "engagement": 6.5, "shaft-gap": 21.8},
    "failing/x-shaft-into-flexing-part": {**X, "engagement": 14.0, "shaft-gap": 8.8},
    "failing/x-window-misses-screw": X,
    "failing/x-pilot-shifted": X,
}  # fmt: skip
SUBJECTS = {"engagement": "motor hub", "axial-room": "actuator side", "speed": "coupling"}


@pytest.fixture(scope="module")
def results(checked_samples):
    return {Path(job.name).name.removesuffix(".fit.yaml"): job for job in checked_samples.jobs}


def test_every_sample_is_listed():
    jobs = {path.relative_to(SAMPLES).as_posix().removesuffix(".fit.yaml") for path in SAMPLES.glob("*/*.fit.yaml")}
    assert jobs == set(SUMS)


@pytest.mark.parametrize("path", sorted(SUMS))
def test_sample_has_its_verdict_for_its_one_reason(results, path):
    name = path.split("/")[1]
    job = results[name]
    assert job.error is None
    failed = {finding.check for finding in job.findings if finding.status == "fail"}
    assert failed == ({FAILING[name]} if path.startswith("failing/") else set())
    assert job.verdict == path.split("/")[0].removesuffix("ing")
    for finding in job.findings:
        if finding.status == "fail":
            assert finding.remedy, finding.check


@pytest.mark.parametrize("path", sorted(SUMS))
def test_numbers_are_those_worked_out_by_hand(results, path):
    job = results[path.split("/")[1]]
    for check, expected in SUMS[path].items():
        subject = SUBJECTS.get(check)
        (value,) = (f.value for f in job.findings if f.check == check and subject in (None, f.subject))
        # Never optimistic by more than 1 µm; pessimistic by as little.
        assert value == pytest.approx(expected, abs=1.1e-3), check


def test_shift_and_depth_are_those_of_the_samples(results):
    shifted = next(f for f in results["x-pilot-shifted"].findings if f.status == "fail")
    assert (shifted.subject, shifted.value) == ("offset", pytest.approx(0.1, abs=1e-6))
    deep = next(f for f in results["x-shaft-into-flexing-part"].findings if f.status == "fail")
    assert (deep.subject, deep.value, deep.limit) == ("motor shaft depth", pytest.approx(20.0), 16.0)


def test_flange_screws_beside_a_spacer_are_reached_from_between_the_hubs(results):
    # 11 from the drive axis a key of 2 / cos(30) over its corners leaves 11 - 8 - 1.155 mm to the spacer of 16.
    found = [
        f for f in results["z-disc-spacer"].findings if f.check == "wrench-access" and "between the hubs" in f.message
    ]
    assert len(found) == 6
    for finding in found:
        short = next(tool for tool in finding.tools if tool["put_in"] == "between the hubs" and tool["free"])
        assert short["margin"] == pytest.approx(11.0 - 8.0 - 2.0 / sqrt(3.0), abs=0.02)
    # Every order but those through the gaps between the standoffs works, from the ends first.
    orders = next(f for f in results["z-disc-spacer"].findings if f.check == "assembly-order").orders
    assert [order["works"] for order in orders] == [True] * 7 + [False] * 2
    assert orders[0]["name"] == "coupling on the motor's shaft first"
    assert {order["name"] for order in orders if "the spacer" in order["name"]} == {
        "hubs on their shafts first, the spacer on the motor hub",
        "hubs on their shafts first, the spacer on the actuator hub",
        "hubs on their shafts first, the spacer through the window",
    }


def test_wrench_turns_as_far_as_the_windows_edges_allow(results):
    # Window edges at the outer face: (30, 15) and (30, 3). At shaft angle t the key lies 9 beside the drive axis;
    # an edge (x, y) is y cos t - x sin t - 9 from it, which must stay 2.5/sqrt(3), half the key's corners, to its side.
    def angle(y: float, distance: float) -> float:
        return degrees(acos((9 + distance) / hypot(30, y)) - atan2(30, y))

    key = 2.5 / sqrt(3)
    exact = angle(15, key) - angle(3, -key)
    found = [f for f in results["z-passes"].findings if f.check == "wrench-access" and "screw" in f.subject]
    assert len(found) == 2
    for finding in found:
        assert exact - 0.1 < finding.value < exact + 1e-3


def test_readme_names_every_sample_with_its_reason():
    text = (SAMPLES / "README.md").read_text()
    rows = dict(re.findall(r"^\| `((?:passing|failing)/[\w-]+)` \|.*\| ([^|]*) \|$", text, flags=re.MULTILINE))
    assert set(rows) == set(SUMS)
    for path, verdict in rows.items():
        name = path.split("/")[1]
        assert verdict == (f"fail: `{FAILING[name]}`" if path.startswith("failing/") else "pass")
