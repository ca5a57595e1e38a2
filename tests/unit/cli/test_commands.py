from __future__ import annotations

import json
import os
import re
import stat
import subprocess
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from fitcheck import api
from fitcheck.cli import main, output
from fitcheck.cli.output import OutputError, write_whole
from fitcheck.errors import StepFileError

FORMATS = ("text", "json", "junit", "sarif", "html")
COMMANDS = ("init", "measure", "check", "schema")

# The exit codes of the contract, by what the jobs come to.
MATRIX = [
    (["passes"], 0), (["warns"], 0), (["may-lack"], 0), (["fails"], 1), (["lacks"], 3), (["empty"], 3),
    (["unreadable"], 3), (["trips"], 3), (["broken"], 2), (["passes", "fails"], 1), (["fails", "lacks"], 3),
    (["fails", "unreadable"], 3), (["unreadable", "broken", "fails"], 2),
]  # fmt: skip


@pytest.mark.parametrize("form", FORMATS)
@pytest.mark.parametrize(("steps", "code"), MATRIX)
def test_exit_code_is_the_contract_s_and_the_same_for_every_format(bench, capsys, steps, code, form):
    paths = [bench(step, text="step: broken.step\nbor: 1\n" if step == "broken" else None) for step in steps]
    assert main(["check", *paths, "--format", form]) == code
    assert capsys.readouterr().out


def test_results_go_to_stdout_and_the_rest_to_stderr(bench, capsys):
    path = bench("unreadable")
    assert main(["check", path, "--format", "json"]) == 3
    out, err = capsys.readouterr()
    assert json.loads(out)["jobs"][0]["verdict"] == "error"
    assert "unreadable.step: is no STEP file; export it again" in err
    assert "1 job: 1 error" in err


def test_the_formats_are_what_they_say(bench, capsys):
    path = bench("fails")
    texts = {}
    for form in FORMATS:
        main(["check", path, "--format", form])
        texts[form] = capsys.readouterr().out
    assert texts["text"].startswith("FAIL  fails.fit.yaml")
    assert json.loads(texts["json"])["format"] == "fitcheck.result/1"
    assert ET.fromstring(texts["junit"]).get("failures") == "1"
    assert json.loads(texts["sarif"])["version"] == "2.1.0"
    assert texts["html"].startswith("<!DOCTYPE html>")


def test_strict(bench, capsys):
    path = bench("warns")
    assert main(["check", path, "--strict"]) == 1
    assert "Warnings count as fails" in capsys.readouterr().out


@pytest.mark.parametrize(
    "argv",
    [
        [], ["check"], ["envelope", "a"], ["rank", "a"], ["check", "a", "--format", "yaml"], ["check", "a", "--stric"],
        ["measure"], ["measure", "a", "--axis-near", "0", "0"], ["measure", "a", "--axis-near", "0", "0", "nan"],
        ["measure", "a", "--unit", "furlong"], ["--color", "sometimes", "schema"], ["check", "a", "--workers", "0"],
        ["check", "a", "--time-limit", "0"], ["measure", "a", "--memory-limit", "nan"],
        ["check", "a", "--cache", "x", "--no-cache"],
    ],
)  # fmt: skip
def test_wrong_usage_is_2_and_says_so_on_stderr(capsys, argv):
    assert main(argv) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "usage: fitcheck" in err


@pytest.mark.parametrize("command", [[], *([name] for name in COMMANDS)])
def test_every_help_page_has_an_example_and_the_caution(capsys, command):
    assert main([*command, "--help"]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert re.search(r"example: fitcheck " + (command[0] if command else "init"), text)
    for words in (
        "guard them", "Support a vertical load", "ratings", "follow local codes", "reviewed by someone competent",
        "a pass is only a statement about the numbers that were given",
    ):  # fmt: skip
        assert words in text
    assert "safe" not in text.lower()


def test_version(capsys):
    from fitcheck import __version__

    assert main(["--version"]) == 0
    assert capsys.readouterr().out == f"fitcheck {__version__}\n"


class Terminal:
    def isatty(self):
        return True


class Pipe:
    def isatty(self):
        return False


@pytest.mark.parametrize(
    ("choice", "env", "stream", "colour"),
    [
        ("auto", {}, Terminal(), True), ("auto", {}, Pipe(), False),
        ("auto", {"NO_COLOR": "1"}, Terminal(), False), ("auto", {"NO_COLOR": ""}, Terminal(), True),
        ("auto", {"FORCE_COLOR": "1"}, Pipe(), True), ("auto", {"FORCE_COLOR": "1", "NO_COLOR": "1"}, Pipe(), False),
        ("auto", {"TERM": "dumb"}, Terminal(), False),
        ("always", {"NO_COLOR": "1"}, Pipe(), True), ("never", {"FORCE_COLOR": "1"}, Terminal(), False),
    ],
)  # fmt: skip
def test_colour_is_wanted(monkeypatch, choice, env, stream, colour):
    # https://no-color.org: present and not empty, whatever its value.
    for name in ("NO_COLOR", "FORCE_COLOR"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("TERM", "xterm")
    for name, value in env.items():
        monkeypatch.setenv(name, value)
    assert output.wants_colour(choice, stream) is colour


@pytest.mark.parametrize(
    ("argv", "coloured"), [([], False), (["--color", "always"], True), (["--color", "never"], False)]
)
def test_color_option_before_and_after_the_command(bench, capsys, argv, coloured):
    path = bench("fails")
    for words in (["check", path, *argv], [*argv, "check", path]):
        main(words)
        assert ("\x1b[" in capsys.readouterr().out) is coloured


def test_output_file_holds_what_stdout_would(bench, capsys):
    path = bench("fails")
    main(["check", path, "--format", "json"])
    expected = capsys.readouterr().out
    assert main(["check", path, "--format", "json", "--output", "out.json"]) == 1
    out, err = capsys.readouterr()
    assert out == ""
    assert "1 job: 1 fail" in err
    assert Path("out.json").read_text() == expected


def test_an_output_that_cannot_be_written_is_refused_before_any_work(bench, capsys, log):
    path = bench("passes")
    Path("folder").mkdir()
    for target, words in (
        ("absent/out.txt", "make it first"),
        ("folder", "the output is a folder"),
        (path, "would overwrite what is to be read"),
    ):
        assert main(["check", path, "--output", target]) == 2
        assert words in capsys.readouterr().err
    assert log.measured == []
    assert "coupling:" in Path(path).read_text()


def test_a_file_is_written_whole_or_not_at_all(tmp_path, monkeypatch):
    target = tmp_path / "out.txt"
    target.write_text("before")
    target.chmod(0o640)

    def fail(*_):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(output.os, "replace", fail)
        with pytest.raises(OutputError, match=r"out\.txt: could not be written: No space left on device"):
            write_whole(str(target), "after")
    assert target.read_text() == "before"
    assert [path.name for path in tmp_path.iterdir()] == ["out.txt"]
    write_whole(str(target), "after")
    assert target.read_text() == "after"
    assert stat.S_IMODE(target.stat().st_mode) == 0o640


def test_a_link_is_written_through_and_a_device_is_not_replaced(tmp_path):
    (tmp_path / "real.txt").write_text("before")
    (tmp_path / "link.txt").symlink_to("real.txt")
    write_whole(str(tmp_path / "link.txt"), "after")
    assert (tmp_path / "link.txt").is_symlink()
    assert (tmp_path / "real.txt").read_text() == "after"
    write_whole(os.devnull, "x")
    assert stat.S_ISCHR(os.stat(os.devnull).st_mode)


def test_progress_is_shown_on_a_terminal_only_and_taken_away(bench, capsys, monkeypatch):
    path = bench("passes")
    main(["check", path])
    assert capsys.readouterr().err == ""
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    main(["check", path])
    out, err = capsys.readouterr()
    assert "[1/1]" not in out
    assert "[1/1] passes.fit.yaml" in err
    assert err.endswith("\r\x1b[K")


def test_an_interrupt_is_130(bench, capsys, log):
    assert main(["check", bench("interrupted")]) == 130
    out, err = capsys.readouterr()
    assert out == ""
    assert err.endswith("fitcheck: interrupted\n")
    assert log.closed == 1


def test_measure_passes_its_options_on(bench, measuring, capsys):
    asked = measuring()
    assert (
        main(
            [
                "measure",
                "a.step",
                "--axis-near",
                "-1",
                "2.5",
                "-3",
                "--unit",
                "inch",
                "--format",
                "json",
                "--cache",
                "kept",
                "--time-limit",
                "5",
                "--memory-limit",
                "900",
            ]
        )
        == 0
    )
    ((path, options),) = asked
    assert path == "a.step"
    assert {key: options[key] for key in ("axis_near", "unit", "cache", "time_limit", "memory_limit")} == {
        "axis_near": (-1.0, 2.5, -3.0), "unit": "inch", "cache": "kept", "time_limit": 5.0, "memory_limit": 900.0,
    }  # fmt: skip
    assert json.loads(capsys.readouterr().out)["file"] == "a.step"


def test_measure_prints_a_page(bench, measuring, capsys):
    measuring()
    assert main(["measure", "a.step"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("Measured  a.step")
    assert "a warning of the measurement" in out


@pytest.mark.parametrize("changes", [{"drive_axis": None}, {"complete": False}])
@pytest.mark.parametrize("form", ["text", "json"])
def test_measure_without_an_answer_is_3_and_still_prints_what_there_is(bench, measuring, capsys, changes, form):
    measuring(**changes)
    assert main(["measure", "a.step", "--format", form]) == 3
    out, err = capsys.readouterr()
    assert "a.step" in out
    assert "exit code 3" in err


@pytest.mark.parametrize("command", ["measure", "init"])
def test_a_step_file_that_cannot_be_read_is_3(bench, monkeypatch, capsys, command):
    def measure(path, **_):
        raise StepFileError("is empty; export it again", path)

    monkeypatch.setattr(api, "measure", measure)
    assert main([command, "a.step"]) == 3
    assert capsys.readouterr().err.endswith("fitcheck: a.step: is empty; export it again\n")
    assert list(Path.cwd().iterdir()) == []


def test_a_fault_of_its_own_is_3_without_traceback(bench, monkeypatch, capsys):
    def measure(path, **_):
        raise RuntimeError("oh")

    monkeypatch.setattr(api, "measure", measure)
    assert main(["measure", "a.step"]) == 3
    err = capsys.readouterr().err
    assert "fitcheck itself failed (RuntimeError: oh)" in err
    assert "Traceback" not in err


def test_init_writes_a_job_beside_the_step_file_that_loads(bench, measuring, capsys):
    measuring()
    Path("cad").mkdir()
    Path("cad/z.step").write_text("ISO-10303-21;")
    assert main(["init", "cad/z.step"]) == 0
    out, err = capsys.readouterr()
    assert out == ""
    assert "fitcheck check cad/z.fit.yaml" in err
    assert Path(api.load_job("cad/z.fit.yaml").step_path) == Path("cad/z.step")


def test_init_keeps_a_job_that_exists_unless_forced(bench, measuring, capsys):
    asked = measuring()
    Path("z.fit.yaml").write_text("mine")
    assert main(["init", "z.step"]) == 2
    assert "--force" in capsys.readouterr().err
    assert Path("z.fit.yaml").read_text() == "mine"
    assert asked == []
    assert main(["init", "z.step", "--force"]) == 0
    assert "z.step" in Path("z.fit.yaml").read_text()


def test_init_names_the_step_file_from_where_the_job_lies(bench, measuring, capsys):
    measuring()
    Path("jobs").mkdir()
    Path("z.step").write_text("ISO-10303-21;")
    assert main(["init", "z.step", "-o", "jobs/a.fit.yaml"]) == 0
    assert api.load_job("jobs/a.fit.yaml").job.step == "../z.step"
    capsys.readouterr()
    assert main(["init", "z.step", "-o", "-"]) == 0
    assert "step: " in capsys.readouterr().out


def test_schema_accepts_the_job_and_refuses_a_wrong_one(bench, capsys):
    import jsonschema
    import yaml

    assert main(["schema"]) == 0
    schema = json.loads(capsys.readouterr().out)
    job = yaml.safe_load(Path(bench("passes")).read_text())
    jsonschema.validate(job, schema)
    with pytest.raises(jsonschema.ValidationError, match="bor"):
        jsonschema.validate(job | {"bor": 1}, schema)


def test_an_interrupt_inside_executed_text_still_ends_with_130(tmp_path):
    # CPython notes such an interrupt apart and, after `python -m`, would die of it; found while dataclasses loaded.
    code = (
        "import sys\nfrom fitcheck import api, cli\n"
        "def measure(*_, **__):\n    exec('raise KeyboardInterrupt')\n"
        "api.measure = measure\nsys.exit(cli.main(['measure', 'a.step']))"
    )
    (tmp_path / "run.py").write_text(code)
    done = subprocess.run(
        [sys.executable, "-m", "run"], cwd=tmp_path, capture_output=True, text=True, timeout=60, check=False
    )
    assert (done.returncode, done.stderr) == (130, "fitcheck: interrupted\n")
