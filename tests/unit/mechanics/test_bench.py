"""Bench readings: synthetic loops with known answers and noise, and scipy's and numpy's regression."""

from __future__ import annotations

from math import degrees, radians

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import curve_fit
from scipy.stats import linregress
from scipy.stats import t as student

from fitcheck.errors import JobError, UsageError
from fitcheck.mechanics.bench import fit_bench
from fitcheck.mechanics.bench_branches import EITHER, LOADING, UNLOADING, branches
from fitcheck.mechanics.bench_readings import Readings, read_readings, readings

STIFFNESS, BACKLASH, LOOP = 180.0, radians(0.20), radians(0.06)


def loop(
    most: float = 8.0, steps: int = 8, cycles: int = 2, noise: float = 0.0, seed: int = 1, backlash: float = BACKLASH
) -> Readings:
    """A loop 0, +most, 0, -most, 0: T/k, half the backlash towards the torque, half the loop behind it."""
    up = np.linspace(most / steps, most, steps)
    torques, twists = [], []
    for _ in range(cycles):
        for sign in (1.0, -1.0):
            for branch, values in ((-1.0, up), (1.0, up[-2::-1])):
                for value in values:
                    torques.append(sign * value)
                    twists.append(sign * (value / STIFFNESS + backlash / 2 + branch * LOOP / 2))
    twists = np.array(twists) + np.random.default_rng(seed).normal(0.0, noise, len(twists))
    return readings(torques, list(twists))


def test_a_loop_without_noise_gives_its_own_numbers() -> None:
    found = fit_bench(loop())
    assert found.stiffness.nominal == pytest.approx(STIFFNESS, rel=1e-9)
    assert found.backlash == pytest.approx(BACKLASH, rel=1e-9)
    assert found.hysteresis == pytest.approx(LOOP, rel=1e-9)
    assert (found.outliers, found.slipped, found.slip_onset) == ((), (), None)
    assert found.used == len(loop().torques)


@pytest.mark.parametrize("confidence", [0.8, 0.95])
def test_the_interval_holds_the_truth_as_often_as_it_says(confidence: float) -> None:
    # 200 loops with known noise: coverage within 3.5 standard deviations of a binomial share.
    runs = 200
    found = [fit_bench(loop(noise=2e-4, seed=seed), confidence=confidence) for seed in range(runs)]
    inside = sum(fit.stiffness.low <= STIFFNESS <= fit.stiffness.high for fit in found)
    play = sum(abs((fit.backlash or 0) - BACKLASH) <= (fit.backlash_error or 0) for fit in found)
    width = 3.5 * (confidence * (1 - confidence) / runs) ** 0.5
    assert abs(inside / runs - confidence) < width
    assert abs(play / runs - confidence) < width
    assert np.mean([fit.scatter for fit in found]) == pytest.approx(2e-4, rel=0.03)
    assert sum(bool(fit.outliers or fit.slipped) for fit in found) < 0.05 * runs


def test_one_branch_against_scipy_s_regression() -> None:
    rng = np.random.default_rng(5)
    torques = np.linspace(0.5, 8.0, 16)
    twists = torques / STIFFNESS + 0.001 + rng.normal(0, 1e-4, 16)
    found = fit_bench(readings(list(torques), list(twists)))
    theirs = linregress(torques, twists)
    t = student.ppf(0.975, 14)
    assert found.outliers == found.slipped == ()
    assert found.stiffness.nominal == pytest.approx(1 / theirs.slope, rel=1e-9)
    assert found.stiffness.low == pytest.approx(1 / (theirs.slope + t * theirs.stderr), rel=1e-9)
    assert found.stiffness.high == pytest.approx(1 / (theirs.slope - t * theirs.stderr), rel=1e-9)
    assert (found.backlash, found.hysteresis) == (None, None)


def test_outliers_are_told_and_left_out() -> None:
    taken = loop(noise=1e-4)
    twists = list(taken.twists)
    twists[5] += 0.004
    twists[33] -= 0.003
    found = fit_bench(readings(taken.torques, twists))
    assert found.outliers == (5, 33)
    assert found.stiffness.low < STIFFNESS < found.stiffness.high


def test_slip_is_told_and_all_after_it_left_out() -> None:
    taken = loop(steps=12, noise=5e-5)
    torques, twists = list(taken.torques), np.array(taken.twists)
    # In the second cycle the hub slips from 6 N·m on (index of the run's ninth reading), and the zero stays shifted.
    start = len(torques) // 2 + 8
    assert torques[start] == pytest.approx(6.0)
    twists[start:] += 0.004
    twists[start + 1 :] += 0.004
    found = fit_bench(readings(torques, list(twists)))
    assert found.slip_onset == pytest.approx(6.0)
    assert found.slipped[0] == start
    assert found.slipped[-1] == len(torques) - 1
    assert found.stiffness.low < STIFFNESS < found.stiffness.high
    assert found.backlash == pytest.approx(BACKLASH, abs=1e-4)


def test_readings_above_the_rating_are_used_and_marked() -> None:
    found = fit_bench(loop(cycles=1), rated_torque=6.5)
    assert [abs(loop().torques[index]) for index in found.above_rating] == pytest.approx([7, 8, 7, 7, 8, 7])
    assert found.used == len(loop(cycles=1).torques)


def test_readings_in_the_play_can_be_left_out() -> None:
    taken = loop()
    twists = [0.0 if abs(torque) < 1.5 else twist for torque, twist in zip(taken.torques, taken.twists, strict=True)]
    assert fit_bench(readings(taken.torques, twists), free_torque=1.5).stiffness.nominal == pytest.approx(STIFFNESS)


def test_repeats_at_one_torque_belong_to_their_branch() -> None:
    taken = loop(cycles=1)
    torques = [torque for torque in taken.torques for _ in range(3)]
    twists = [twist for twist in taken.twists for _ in range(3)]
    found = fit_bench(readings(torques, twists))
    assert found.hysteresis == pytest.approx(LOOP, rel=1e-9)


def test_too_few_and_useless_readings_are_told() -> None:
    with pytest.raises(UsageError, match="found 3 usable readings; needed are at least 6"):
        fit_bench(readings([1, 2, 3], [0.1, 0.2, 0.3]))
    with pytest.raises(UsageError, match="all readings are at one torque"):
        fit_bench(readings([2.0] * 8, [0.1] * 8))
    with pytest.raises(UsageError, match="the twist does not grow with the torque"):
        fit_bench(readings(list(range(1, 9)), [-0.1 * n for n in range(1, 9)]))
    with pytest.raises(UsageError, match="scatter too much to tell a stiffness"):
        fit_bench(readings(list(range(1, 9)), [0.1, 0.0, 0.1, 0.0, 0.1, 0.0, 0.1, 0.08]))
    with pytest.raises(UsageError, match="a confidence must lie between 0 and 1; found 95"):
        fit_bench(loop(), confidence=95)
    with pytest.raises(JobError, match="found 2 torques and 1 twists"):
        readings([1, 2], [1])
    with pytest.raises(JobError, match="reading 2 is not finite"):
        readings([1, 2], [1, float("nan")])


def test_csv_with_units_in_its_heads() -> None:
    text = "# dial on a 100 mm arm\nrepeat; torque [lbf*in]; twist [arcmin]\n1; 10; 6\n\n1; 20; 12\n"
    taken = read_readings(text, "loop.csv")
    assert taken.torques == pytest.approx((1.1298483, 2.2596966), rel=1e-7)
    assert [degrees(twist) for twist in taken.twists] == pytest.approx([0.1, 0.2])
    assert taken.lines == (3, 5)
    assert taken.place(1) == "loop.csv:5"
    assert read_readings("torque (N·m),twist / °\n1,0.5\n").twists == (pytest.approx(radians(0.5)),)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "a.csv: found no lines; needed are the heads"),
        ("torque [N*m],travel [deg]\n", r"a.csv:1: found no head for twist among 'torque \[N\*m\]', 'travel \[deg\]'"),
        ("torque [mm],twist [deg]\n", r"a.csv:1: the head 'torque \[mm\]' has the unit 'mm'; needed is one of N\*m"),
        ("torque [N*m],torque [N*m],twist [deg]\n", "a.csv:1: found two heads for torque"),
        ("torque [N*m],twist [deg]\n1,\n", "a.csv:2: found no twist in this line; needed is a number in deg"),
        ("torque [N*m],twist [deg]\n1,0.1\nx,2\n", r"a.csv:3: torque: found 'x N\*m', which is no plain number"),
    ],
)
def test_wrong_files_are_told_by_line(text: str, message: str) -> None:
    with pytest.raises(JobError, match=message):
        read_readings(text, "a.csv")


@pytest.mark.parametrize("jitter", [0.0, 0.02])
def test_repeats_where_the_torque_turns_are_no_outliers(jitter: float) -> None:
    # Three readings at each torque, two cycles in the same direction: at the lowest torque unloading meets loading.
    up = np.linspace(1.0, 8.0, 8)
    rng = np.random.default_rng(4)
    torques, twists = [], []
    for _ in range(2):
        for branch, values in ((-1.0, up), (1.0, up[-2::-1])):
            for value in np.repeat(values, 3) + rng.normal(0, jitter, 3 * len(values)):
                torques.append(value)
                twists.append(value / STIFFNESS + branch * LOOP / 2 + rng.normal(0, 2e-5))
    found = fit_bench(readings(torques, twists))
    assert found.outliers == found.slipped == ()
    assert found.hysteresis == pytest.approx(LOOP, abs=5e-5)
    assert found.stiffness.low < STIFFNESS < found.stiffness.high
    if not jitter:  # 24 up, 21 down: of six readings at the foot the first is sure
        assert found.turning == (43, 44, 45, 46, 47)
    assert all(torques[index] < 1.2 or torques[index] > 7.8 for index in found.turning)
    assert found.used == len(torques) - len(found.turning)


def test_branches_by_the_order_of_time() -> None:
    up, down, either = LOADING, UNLOADING, EITHER
    assert branches([1, 2, 3, 2, 1]) == (up, up, up, down, down)
    assert branches([1, 2, 3, 2, 1, -1, -2, -1]) == (up, up, up, down, down, up, up, down)
    assert branches([1, 3, 3, 1, 1, 1, 3]) == (up, up, up, down, either, either, up)
    assert branches([1, 3, 1, 0, 1, 3]) == (up, up, down, either, up, up)
    assert branches([1, 3, 2.97, 1, 1, 1]) == (up, up, either, down, down, down)  # 1 % is no turn yet
    assert branches([1, 2, 1.98, 2.01, 3, 2]) == (up, up, up, up, up, down)
    assert branches([]) == ()
    with pytest.raises(UsageError, match="torque_2 must be a finite number; found nan"):
        branches([1.0, float("nan")])


def test_a_bent_line_is_told_with_its_stiffness_at_both_ends() -> None:
    # A hardening spider: twist = T/k - b T |T|; tangents 1/k and 1/k - 2 b T.
    rng = np.random.default_rng(2)
    bend = 2e-4
    taken = loop(steps=12)
    bent = [
        twist - bend * torque * abs(torque) + rng.normal(0, 2e-5)
        for torque, twist in zip(taken.torques, taken.twists, strict=True)
    ]
    found = fit_bench(readings(taken.torques, bent))
    assert found.bend is not None
    assert found.bend[0] == pytest.approx(STIFFNESS, rel=0.01)
    assert found.bend[1] == pytest.approx(1 / (1 / STIFFNESS - 2 * bend * 8.0), rel=0.02)
    assert found.bend[0] < found.stiffness.nominal < found.bend[1]
    # Play and loop are those at no torque.
    assert abs(found.backlash - BACKLASH) < found.backlash_error
    assert abs(found.hysteresis - LOOP) < found.hysteresis_error
    assert fit_bench(loop(noise=2e-5)).bend is None


def test_straight_noisy_loops_are_seldom_called_bent() -> None:
    # At a confidence of 0.9999 one in ten thousand; three or more of 150 happen by chance once in a million.
    assert sum(fit_bench(loop(noise=3e-4, seed=seed)).bend is not None for seed in range(150)) <= 2


@pytest.mark.parametrize(
    "text",
    [
        "Torque [Nm];Twist [°]\n1,5;0,25\n-2;-0,5\n",
        "torque [N*m]\ttwist [deg]\n1,5\t0,25\n-2\t-0,5\n",
        "\ufefftorque [N*m],twist [deg]\r\n1.5,0.25\r\n,\r\n\u22122,\u22120.5\r\n",
        "torque [N*m],twist [deg]\n1.5,0.25\ntorque [N*m],twist [deg]\n-2,-0.5\n",
        'no,"torque [N*m]","twist [deg]",remark\n1,1.5,0.25,"up, first"\n2,-2,-0.5\n,,,\n',
        "TORQUE in Nm,TWIST in deg\n1.5,0.25\n-2,-0.5\n",
        "torque_Nm\tangle_deg\n1.5\t0.25\n-2\t-0.5\n",
        '"Moment, N·m","Twist angle (degrees)","Angle of motor [deg]"\n1.5,0.25,90\n-2,-0.5,90\n',
        "Bench 3; second day\nsample A\n\nTorque (N m); Twist / arcmin\n1.5;15\n-2;-30\n",
        "sep=;\r\nTorque [Nm];Twist [deg]\r\n1,5;0,25\r\n-2;-0,5\r\n",
        '"torque [Nm]","twist [deg]"\n"1,5","0,25"\n-2,"-0,5"\n',
        "torque [Nm];twist [deg]\n1,500;0,250\n-2,000;-0,500\n",
    ],
)
def test_tables_as_spreadsheets_save_them(text: str) -> None:
    taken = read_readings(text, "a.csv")
    assert taken.torques == (1.5, -2.0)
    assert [degrees(twist) for twist in taken.twists] == pytest.approx([0.25, -0.5])


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("torque [N*m],twist [deg]\n1,5,0,25\n", "a.csv:2: found 4 cells under 2 heads; .* decimal comma"),
        ("torque [N*m],twist\n1,2\n", "a.csv:1: the head 'twist' has no unit; needed are heads with units"),
        ("torque [N*m];twist [deg]\n1.234,5;0,1\n", "a.csv:2: torque: found '1.234,5 N"),
        ("torque [N*m],twist [deg]\n1,nan\n", "a.csv:2: twist: found 'nan deg'"),
        # What a spreadsheet saves for a value that it could not compute is no remark.
        ("torque [N*m],twist [deg]\n#DIV/0!,0.1\n", "a.csv:2: torque: found '#DIV/0! N"),
        ("torque [N*m],twist [deg]\n#N/A,0.1\n", "a.csv:2: torque: found '#N/A N"),
        # 1,000 may be one or a thousand.
        ("torque [mNm];twist [deg]\n500;0.1\n1,000;0.2\n", "a.csv:3: found '1,000' with a comma and, in line 2, '0.1'"),
        (
            "torque [mNm];twist [arcsec]\n500;310\n1,000;620\n",
            "a.csv:3: found '1,000', whose comma may part decimals or",
        ),
        (
            "torque [mNm];twist [arcsec]\n500;310\n1.000;620\n",
            "a.csv:3: found '1.000', whose point may part decimals or",
        ),
        ("Bench 3\nTorque [Nm],travel [mm]\n1,2\n", "a.csv:1: found no head for torque and twist among 'Bench 3'"),
    ],
)
def test_tables_that_could_be_misread_are_refused(text: str, message: str) -> None:
    with pytest.raises(JobError, match=message):
        read_readings(text, "a.csv")


@pytest.mark.parametrize(
    ("unit", "in_nm"),
    # A pound-force is 4.4482216152605 N, an inch 0.0254 m; a kilogram-force 9.80665 N (exact by definition).
    [
        ("in-lb", 4.4482216152605 * 0.0254), ("ft-lb", 4.4482216152605 * 0.3048),
        ("oz-in", 4.4482216152605 / 16 * 0.0254),
        ("kg-cm", 0.0980665), ("Ncm", 0.01), ("mN·m", 0.001),
    ],
)  # fmt: skip
def test_units_as_scales_write_them(unit: str, in_nm: float) -> None:
    assert read_readings(f"Torque ({unit});Twist [mrad]\n8;2\n").torques == pytest.approx((8 * in_nm,), rel=1e-12)


def test_the_whole_loop_against_scipy_s_curve_fit() -> None:
    # The same four unknowns, fitted by another library: values, and their errors by its covariance and Student's t.
    taken = loop(noise=1e-4, seed=9)
    torques, twists = np.array(taken.torques), np.array(taken.twists)
    branch = np.array(branches(taken.torques))

    def model(at, give, up, down, lag):  # type: ignore[no-untyped-def]
        return at / STIFFNESS * give + np.where(at > 0, up, down) + lag * np.sign(at) * branch

    values, covariance = curve_fit(model, torques, twists, p0=[1.0, 0.001, -0.001, 0.0])
    t = student.ppf(0.975, len(torques) - 4)
    found = fit_bench(taken)
    assert found.used == len(torques)
    assert found.stiffness.nominal == pytest.approx(STIFFNESS / values[0], rel=1e-6)
    assert found.stiffness.low == pytest.approx(STIFFNESS / (values[0] + t * covariance[0, 0] ** 0.5), rel=1e-6)
    assert found.backlash == pytest.approx(values[1] - values[2], rel=1e-6)
    spread = covariance[1, 1] + covariance[2, 2] - 2 * covariance[1, 2]
    assert found.backlash_error == pytest.approx(t * spread**0.5, rel=1e-5)
    assert found.hysteresis == pytest.approx(-2 * values[3], rel=1e-5)
    assert found.hysteresis_error == pytest.approx(2 * t * covariance[3, 3] ** 0.5, rel=1e-5)


@given(turned=st.booleans(), shift=st.floats(-0.5, 0.5), scale=st.floats(0.01, 100.0), seed=st.integers(0, 50))
@settings(max_examples=25, deadline=None)
def test_sign_zero_and_unit_of_the_twist_do_not_matter(turned: bool, shift: float, scale: float, seed: int) -> None:
    taken = loop(noise=1e-4, seed=seed)
    plain = fit_bench(taken)
    sign = -1.0 if turned else 1.0
    other = fit_bench(
        readings(
            [sign * torque for torque in taken.torques], [scale * (sign * twist + shift) for twist in taken.twists]
        )
    )
    assert other.stiffness.nominal * scale == pytest.approx(plain.stiffness.nominal, rel=1e-9)
    assert other.stiffness.low * scale == pytest.approx(plain.stiffness.low, rel=1e-9)
    assert other.backlash == pytest.approx(scale * (plain.backlash or 0.0), rel=1e-6)
    assert other.hysteresis == pytest.approx(scale * (plain.hysteresis or 0.0), rel=1e-6)
    assert (other.outliers, other.slipped, other.turning) == (plain.outliers, plain.slipped, plain.turning)
