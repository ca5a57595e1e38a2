"""Slips of the command line: nothing of the user's is lost by one, and each is told with what was meant."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from fitcheck.cli import main

READINGS = "torque [N*m],twist [deg]\n" + "".join(f"{n / 10},{n / 100}\n" for n in range(1, 30))


@pytest.fixture
def sources(bench, tmp_path):
    """A job with its STEP file, and a table of readings, each with what it holds."""
    job = Path(bench("passes"))
    step = job.parent / "passes.step"
    step.write_text("ISO-10303-21;\n")
    renamed = tmp_path / "old-export"
    renamed.write_text("ISO-10303-21;\n")
    readings = tmp_path / "readings.csv"
    readings.write_text(READINGS)
    return job, step, renamed, readings


@pytest.mark.parametrize("command", ["check", "measure", "advise", "bench", "schema"])
@pytest.mark.parametrize(("at", "found"), [(0, "job file"), (1, "STEP file"), (2, "STEP file")])
def test_a_report_never_takes_the_place_of_a_source(sources, measuring, capsys, command, at, found):
    job, step, _, readings = sources
    reads = {"check": [job], "measure": [step], "advise": [job], "bench": [readings], "schema": []}[command]
    target = sources[at]
    before = target.read_bytes()
    assert main([command, *map(str, reads), "--output", str(target)]) == 2
    assert target.read_bytes() == before
    said = capsys.readouterr().err
    own = target in reads
    assert ("would overwrite what is to be read" if own else f"{target}: a {found} stands there") in said
    assert "name another file" in said


def test_a_report_takes_the_place_of_an_older_one(bench, tmp_path, capsys):
    report = tmp_path / "report.txt"
    report.write_text("older")
    assert main(["check", bench("passes"), "--output", str(report)]) == 0
    assert report.read_text().startswith("PASS")


def test_of_two_outputs_none_is_left_out_without_a_word(bench, tmp_path, capsys):
    one, two = str(tmp_path / "a.json"), str(tmp_path / "b.xml")
    assert main(["check", bench("passes"), "-o", one, "--output", two]) == 2
    assert f"given twice, with {one} and {two}; give it once" in capsys.readouterr().err
    assert not Path(two).exists()


def test_the_drawing_and_the_result_need_two_files(sources, tmp_path, capsys):
    loop = str(tmp_path / "loop.svg")
    assert main(["bench", str(sources[3]), "--plot", loop, "--output", loop]) == 2
    assert "--plot and --output name the same file" in capsys.readouterr().err
    assert main(["bench", str(sources[3]), "--plot", str(tmp_path / "loop.png")]) == 2
    assert "the drawing is an SVG file; end its name in .svg" in capsys.readouterr().err
    assert not Path(loop).exists()


@pytest.mark.parametrize(
    ("argv", "said"),
    [
        (["check", "x", "--fromat", "json"], "unrecognized arguments: --fromat json; did you mean --format?"),
        (["check", "x", "--wrokers=3"], "unrecognized arguments: --wrokers=3; did you mean --workers?"),
        (["schema", "extra"], "unrecognized arguments: extra\n"),
        (["check", "x", "--workers", "two"], "two is no number of workers; give 1 to 256"),
        (["check", "x", "--workers", "1.5"], "1.5 is no number of workers; give 1 to 256"),
        (["check", "x", "--time-limit", "soon"], "soon is no limit; give a number above 0"),
        (["measure", "x", "--axis-near", "0", "0", "up"], "up is no coordinate; give a number of mm"),
        (["envelope", "--family", "disc", "--outside-diameter", "34", "--bores", "8", "wide", "-o", "x.step"],
         "--bores: found 'wide'"),
        (["envelope", "--family", "disk", "--outside-diameter", "34", "--bores", "8", "12", "-o", "never.dxf"],
         "; did you mean 'disc'?"),
        (["bench", "."], ".: this is a folder; needed is a CSV file of torque and twist"),
    ],
)  # fmt: skip
def test_a_misspelt_option_or_value_is_told_with_what_is_needed(capsys, argv, said):
    assert main(argv) == 2
    err = capsys.readouterr().err
    assert said in err
    assert "invalid _" not in err


def test_a_closed_standard_output_is_told(bench):
    text = "import sys; sys.stdout = None; from fitcheck.cli import main; raise SystemExit(main(['schema']))"
    ended = subprocess.run([sys.executable, "-c", text], capture_output=True, text=True, check=False)
    assert ended.returncode == 3
    assert ended.stderr == (
        "fitcheck: standard output is closed, so the result went nowhere; name a file with --output\n"
    )


def test_each_problem_of_a_job_stands_on_its_own_line(bench, capsys):
    path = bench("broken", text="step: broken.step\nbor: 1\ncoupling: {family: disk}\n")
    assert main(["check", path]) == 2
    lines = capsys.readouterr().out.splitlines()
    starts = [line.strip().removeprefix("Error:").strip() for line in lines if f"{path}:" in line]
    assert [start.removeprefix(path).split(": ")[0] for start in starts] == [":2", *[":3"] * (len(starts) - 1)]
    assert len(starts) >= 3


def test_a_number_that_is_not_finite_is_told_once(bench, capsys):
    good = Path(bench("passes")).read_text()
    path = bench("broken", text=good.replace("outside_diameter: 30", "outside_diameter: .nan"))
    assert main(["check", path]) == 2
    told = capsys.readouterr().out
    assert "found .nan; needed is a finite number" in " ".join(told.split())
    assert "has no value" not in told


def test_a_step_file_that_is_not_there_is_told_with_the_line_that_names_it(tmp_path, capsys):
    path = tmp_path / "z.fit.yaml"
    text = (Path(__file__).parents[3] / "sample_assemblies" / "passing" / "z-passes.fit.yaml").read_text()
    path.write_text(text.replace("step: z-passes.step", "step: other.step"))
    line = 1 + path.read_text().splitlines().index("step: other.step")
    assert main(["check", str(path), "--format", "json", "--no-cache"]) == 3
    assert f"there is no such file; {path}:{line} names it with 'step: other.step'" in capsys.readouterr().err
