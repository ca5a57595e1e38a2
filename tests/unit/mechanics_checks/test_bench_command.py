"""The command `bench` on synthetic loops with known answers, against scipy's regression."""

import json
import math
import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
import pytest
import yaml
from scipy import stats

from fitcheck.cli import main
from fitcheck.job.load import parse_job

K, PLAY, LOOP = 400.0, 1e-3, 4e-4
"""N·m/rad, rad whole play, rad between unloading and loading."""


def loop(noise=0.0, seed=1, top=6.0, steps=12, repeats=2):
    """Torque N·m and twist rad: loading and unloading, both directions, repeats, each ending at no torque."""
    random = np.random.default_rng(seed)
    up = np.linspace(top / steps, top, steps)
    rows = []
    for sign in (1.0, -1.0):
        for _ in range(repeats):
            rows += [(sign * t, sign * (t / K + PLAY / 2 - LOOP / 2)) for t in up]
            rows += [(sign * t, sign * (t / K + PLAY / 2 + LOOP / 2)) for t in up[-2::-1]]
            rows.append((0.0, 0.0))
    return [(t, a + random.normal(0.0, noise)) for t, a in rows]


def write(path, rows, heads="torque [N*m],twist [deg]", torque=1.0, twist=180 / math.pi):
    path.write_text("\n".join([heads, *(f"{t * torque},{a * twist}" for t, a in rows)]) + "\n")
    return str(path)


def told(capsys, *argv):
    code = main(["bench", *argv, "--format", "json"])
    return code, json.loads(capsys.readouterr().out)


def test_known_answers_without_noise(tmp_path, capsys):
    code, found = told(capsys, write(tmp_path / "r.csv", loop()))
    assert code == 0
    assert found["torsional_stiffness"]["nominal"] == pytest.approx(K, rel=1e-6)
    assert found["backlash"]["value"] == pytest.approx(math.degrees(PLAY), rel=1e-6)
    assert found["hysteresis"]["value"] == pytest.approx(math.degrees(LOOP), rel=1e-6)
    assert found["slip_onset"] is None
    assert found["outliers"] == found["slipped"] == found["above_rating"] == []
    assert "Rotating parts: guard them." in found["cautions"]


def test_the_interval_holds_the_truth_as_often_as_it_says(tmp_path, capsys):
    held = 0
    for seed in range(40):
        _, found = told(capsys, write(tmp_path / "r.csv", loop(noise=5e-5, seed=seed)))
        held += found["torsional_stiffness"]["low"] <= K <= found["torsional_stiffness"]["high"]
    # 95 % of 40: fewer than 33 happens once in a thousand (binomial).
    assert held >= 33


def test_against_scipys_regression(tmp_path, capsys):
    random = np.random.default_rng(5)
    torque = np.linspace(0.5, 6.0, 20)
    twist = torque / K + PLAY + random.normal(0, 5e-5, 20)
    code, found = told(capsys, write(tmp_path / "r.csv", list(zip(torque, twist, strict=True))))
    fit = stats.linregress(torque, twist)
    error = stats.t.ppf(0.975, 18) * fit.stderr
    assert code == 0
    assert found["torsional_stiffness"]["nominal"] == pytest.approx(1 / fit.slope, rel=1e-9)
    assert found["torsional_stiffness"]["low"] == pytest.approx(1 / (fit.slope + error), rel=1e-9)
    assert found["torsional_stiffness"]["high"] == pytest.approx(1 / (fit.slope - error), rel=1e-9)
    assert found["backlash"]["value"] is None


def test_units_of_the_heads(tmp_path, capsys):
    inch = 4.4482216152605 * 0.0254
    heads = "torque [lbf*in];twist [mrad]"
    path = tmp_path / "r.csv"
    path.write_text("\n".join([heads, *(f"{t / inch};{a * 1000}" for t, a in loop())]) + "\n")
    assert told(capsys, str(path))[1]["torsional_stiffness"]["nominal"] == pytest.approx(K, rel=1e-6)


def test_outliers_slip_and_readings_above_the_rating(tmp_path, capsys):
    rows = loop(noise=2e-5)
    rows[7] = (rows[7][0], rows[7][1] + 0.01)
    _, found = told(capsys, write(tmp_path / "r.csv", rows), "--rated-torque", "5 N*m")
    assert found["outliers"] == [9]  # the head is line 1
    assert found["above_rating"] == [n + 2 for n, (t, _) in enumerate(rows) if abs(t) > 5.0]
    assert found["torsional_stiffness"]["nominal"] == pytest.approx(K, rel=0.02)
    slipping = [(t, t / K + (0.004 * (t - 4.0) if t > 4.0 else 0.0)) for t in np.linspace(0.5, 6.0, 23)]
    _, found = told(capsys, write(tmp_path / "s.csv", slipping))
    assert 4.0 < found["slip_onset"] <= 4.5
    assert found["torsional_stiffness"]["nominal"] == pytest.approx(K, rel=1e-3)


@pytest.mark.parametrize(
    ("rows", "code", "message"),
    [
        (loop()[:4], 3, "found 4 usable readings; needed are at least 6"),
        ([(2.0, 0.005)] * 8, 3, "all readings are at one torque"),
        ([(t, -a) for t, a in loop()], 3, "twist does not grow with the torque"),
    ],
)
def test_too_little_to_tell_is_3(tmp_path, capsys, rows, code, message):
    assert main(["bench", write(tmp_path / "r.csv", rows)]) == code
    captured = capsys.readouterr()
    assert captured.out == ""
    assert message in captured.err


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("torque,twist\n1,2\n", "needed are heads with units"),
        ("torque [N*m],twist [mm]\n1,2\n", "'mm'; needed is one of deg"),
        ("torque [N*m],twist [deg]\n1,two\n", "r.csv:2: twist"),
        ("", "found no lines"),
    ],
)
def test_a_wrong_file_is_2_with_its_line(tmp_path, capsys, text, message):
    path = tmp_path / "r.csv"
    path.write_text(text)
    assert main(["bench", str(path)]) == 2
    assert message in capsys.readouterr().err


def test_wrong_options_are_2(tmp_path, capsys):
    path = write(tmp_path / "r.csv", loop())
    assert main(["bench", str(tmp_path / "none.csv")]) == 2
    assert main(["bench", path, "--rated-torque", "5 mm"]) == 2
    assert main(["bench", path, "--confidence", "1"]) == 2
    assert main(["bench", path, "--output", path]) == 2
    assert "would overwrite what is to be read" in capsys.readouterr().err


def test_the_job_lines_load_and_are_judged_on_the_low_end(build, tmp_path, capsys):
    _, found = told(capsys, write(tmp_path / "r.csv", loop(noise=5e-5)))
    given = yaml.safe_load(found["job"])["coupling"]["ratings"]
    lines = "".join(f"    {key}: {json.dumps(value)}\n" for key, value in given.items())
    loaded = parse_job(build.text.replace("    torsional_stiffness: 400\n", lines), None, "")
    ratings = loaded.job.coupling.ratings
    assert ratings.torsional_stiffness == pytest.approx(found["torsional_stiffness"]["nominal"], rel=1e-5)
    assert ratings.torsional_stiffness_range[0] == pytest.approx(found["torsional_stiffness"]["low"], rel=1e-5)
    assert ratings.backlash >= found["backlash"]["value"]
    assert f"coupling {found['torsional_stiffness']['low']:.3g}" in build.work(loaded)["wind-up", "reversal"].message


def test_the_plot_shows_every_reading(tmp_path, capsys):
    rows = loop(noise=2e-5)
    rows[7] = (rows[7][0], rows[7][1] + 0.01)
    picture = tmp_path / "loop.svg"
    path = write(tmp_path / "r & d.csv", rows)
    assert main(["bench", path, "--plot", str(picture), "--rated-torque", "5"]) == 0
    root = ET.fromstring(picture.read_text(encoding="utf-8"))
    circles = [one for one in root.iter("{http://www.w3.org/2000/svg}circle") if one.get("r") == "3.5"]
    assert len(circles) == len(rows)
    colours = [one.get("fill") for one in circles]
    assert colours.count("#b00020") == 1
    assert colours.count("#888888") == 4
    assert colours.index("#b00020") == 7
    assert colours.count("#b36b00") == sum(abs(t) > 5.0 for t, _ in rows)
    text = " ".join(capsys.readouterr().out.split())
    assert "above the rating of 5 N·m: lines" in text
    assert "outliers, left out: line 9" in text


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_letters_as_spreadsheets_save_them(tmp_path, capsys, encoding):
    text = "\n".join(["Torque [N·m];Twist [°]", *(f"{t};{math.degrees(a)}".replace(".", ",") for t, a in loop())])
    (tmp_path / "r.csv").write_bytes(text.encode(encoding))
    assert told(capsys, str(tmp_path / "r.csv"))[1]["torsional_stiffness"]["nominal"] == pytest.approx(K, rel=1e-6)


def test_a_file_that_is_no_text_is_told(tmp_path, capsys):
    (tmp_path / "r.csv").write_bytes(b"\x89PNG\x00\x00\xff\x81")
    assert main(["bench", str(tmp_path / "r.csv")]) == 2
    assert "the file is no text; save the table as CSV in UTF-8" in capsys.readouterr().err


def test_a_bent_loop_widens_the_job_s_range(tmp_path, capsys):
    random = np.random.default_rng(3)
    rows = [(t, a - 1e-4 * t * abs(t) + random.normal(0, 2e-5)) for t, a in loop()]
    code, found = told(capsys, write(tmp_path / "r.csv", rows))
    assert code == 0
    low, high = (
        float(one.split()[0])
        for one in yaml.safe_load(found["job"])["coupling"]["ratings"]["torsional_stiffness_range"]
    )
    # Tangents 1/400 at no torque and 1/400 - 2e-4 x 6 at 6 N·m.
    assert low == pytest.approx(K, rel=0.02)
    assert high == pytest.approx(1 / (1 / K - 1.2e-3), rel=0.03)
    assert found["bend"]["at_no_torque"] == pytest.approx(low, rel=1e-5)


def test_rating_and_onset_of_slip_are_drawn(tmp_path, capsys):
    slipping = [(t, t / K + (0.004 * (t - 4.0) if t > 4.0 else 0.0)) for t in np.linspace(0.5, 6.0, 23)]
    path = write(tmp_path / "s.csv", slipping)
    assert main(["bench", path, "--plot", str(tmp_path / "s.svg"), "--rated-torque", "3"]) == 0
    root = ET.fromstring((tmp_path / "s.svg").read_text(encoding="utf-8"))
    texts = [one.text for one in root.iter("{http://www.w3.org/2000/svg}text")]
    assert texts.count("rating") == 1  # the readings go one way only
    assert texts.count("slip") == 1
    text = " ".join(capsys.readouterr().out.split())
    assert "above the rating of 3 N·m" in text
    assert "are in the fit" in text


def test_slip_is_handed_on_as_what_was_held_before_it(tmp_path, capsys):
    slipping = [(t, t / K + (0.004 * (t - 4.0) if t > 4.0 else 0.0)) for t in np.linspace(0.5, 6.0, 23)]
    _, found = told(capsys, write(tmp_path / "s.csv", slipping))
    held = found["slip_onset"] - 0.25  # one reading before
    # Held higher in an earlier cycle, it counts only up to where it slipped later.
    twice = [(t, t / K) for t in np.linspace(0.5, 6.0, 23)] + slipping
    later = told(capsys, write(tmp_path / "t.csv", twice))[1]
    assert later["slip_onset"] == found["slip_onset"]
    assert f"#   slip_torque: {held:g} N*m" in later["job"]
    assert found["held_below_slip"] == pytest.approx(held, rel=1e-5)
    assert f"#   slip_torque: {held:g} N*m" in found["job"]
    assert set(yaml.safe_load(found["job"])["coupling"]["ratings"]) == {
        "torsional_stiffness", "torsional_stiffness_range",
    }  # fmt: skip


def test_a_free_torque_of_none_is_the_default(tmp_path, capsys):
    path = write(tmp_path / "r.csv", loop(noise=5e-5))
    assert told(capsys, path, "--free-torque", "0")[1] == told(capsys, path)[1]
    assert main(["bench", path, "--confidence", "much"]) == 2
    assert "much is no confidence; give a share between 0 and 1" in capsys.readouterr().err


def test_the_sample_of_the_readme_holds_what_it_was_made_with(capsys):
    # sample_assemblies/README.md: 400 N·m/rad, no play.
    code, found = told(capsys, str(Path(__file__).parents[3] / "sample_assemblies/readings/z-coupling.csv"))
    assert code == 0
    assert found["torsional_stiffness"]["low"] < 400 < found["torsional_stiffness"]["high"]
    assert abs(found["backlash"]["value"]) < found["backlash"]["error"]
    assert found["held_below_slip"] is None


@pytest.mark.filterwarnings("error")
def test_readings_without_any_twist_are_refused_in_words(tmp_path, capsys):
    rows = [(sign * t, 0.0) for sign in (1, -1) for t in (1.0, 2.0, 3.0, 4.0)]
    assert main(["bench", write(tmp_path / "still.csv", rows)]) == 3
    assert "the twist does not grow with the torque" in capsys.readouterr().err
    assert main(["bench", write(tmp_path / "one.csv", rows[:1])]) == 3
    assert "found 1 usable reading; needed are at least 6" in capsys.readouterr().err
