"""Answers that are given again: only while everything that they rest on is unchanged."""

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from fitcheck.answers import Answer, Answers
from fitcheck.cli import main

SAMPLES = Path(__file__).parents[3] / "sample_assemblies"


@pytest.fixture
def job(tmp_path: Path) -> Path:
    for ending in (".fit.yaml", ".step"):
        shutil.copy(SAMPLES / "passing" / f"z-passes{ending}", tmp_path / f"z-passes{ending}")
    return tmp_path / "z-passes.fit.yaml"


@pytest.fixture
def cache(tmp_path: Path) -> Path:
    return tmp_path / "cache"


def entries(cache: Path) -> list[Path]:
    return sorted((cache / "answers").glob("*")) if cache.exists() else []


def check(capsys: pytest.CaptureFixture[str], cache: Path, *args: object) -> tuple[int, str]:
    code = main(["check", "--cache", str(cache), *map(str, args)])
    return code, capsys.readouterr().out


def test_the_second_run_says_the_same_from_the_cache(capsys, job, cache):
    first_code, first = check(capsys, cache, job)
    second_code, second = check(capsys, cache, job)
    assert first_code == second_code == 0
    assert "measurement from the cache" not in first
    assert "measurement from the cache" in second
    assert second.replace(", measurement from the cache", "") == first


def test_an_answer_given_again_loads_no_arrays_no_yaml_and_no_kernel(capsys, job, cache):
    check(capsys, cache, job)
    script = (
        "import sys\n"
        "from fitcheck.cli import main\n"
        f"code = main(['check', '--cache', {str(cache)!r}, {str(job)!r}])\n"
        "print(code, sorted({m.partition('.')[0] for m in sys.modules} & {'numpy', 'yaml', 'OCP', 'subprocess'}),"
        " file=sys.stderr)\n"
    )
    # Isolated from the working folder, so that it runs the same installed program as this process.
    done = subprocess.run([sys.executable, "-P", "-c", script], capture_output=True, text=True, check=True)
    assert done.stderr.splitlines()[-1] == "0 []"
    assert "measurement from the cache" in done.stdout


def test_a_changed_job_is_answered_anew(capsys, job, cache):
    check(capsys, cache, job)
    text = job.read_text(encoding="utf-8")
    job.write_text(
        text + "\nrequire: {radial_clearance: 5}\n"
        if "\nrequire:" not in text
        else text.replace("\nrequire:\n", "\nrequire:\n  radial_clearance: 5\n"),
        encoding="utf-8",
    )
    code, out = check(capsys, cache, job)
    assert code == 1
    assert "FAIL  radial-clearance" in out


def test_a_changed_step_file_is_answered_anew(capsys, job, cache):
    check(capsys, cache, job)
    shutil.copy(SAMPLES / "failing" / "z-opening-too-small.step", job.parent / "z-passes.step")
    code, out = check(capsys, cache, job)
    assert code == 1
    assert "FAIL  insertion" in out


def test_each_way_of_asking_has_its_own_answer(capsys, job, cache):
    check(capsys, cache, job)
    code, out = check(capsys, cache, job, "--format", "json")
    assert code == 0
    assert json.loads(out)["jobs"][0]["verdict"] == "pass"
    again = check(capsys, cache, job, "--format", "json")[1]
    assert json.loads(again)["jobs"][0]["from_cache"] is True
    assert len(entries(cache)) == 2


def test_a_damaged_answer_is_replaced(capsys, job, cache):
    check(capsys, cache, job)
    (entry,) = entries(cache)
    whole = entry.read_bytes()
    for damaged in (b"", whole[: len(whole) // 2], whole.replace(b"z-passes", b"z-PASSES"), b"\x00" * 50):
        entry.write_bytes(damaged)
        code, out = check(capsys, cache, job)
        assert code == 0
        assert "z-PASSES" not in out
        assert entry.read_bytes() == whole


def test_what_could_not_be_read_is_not_kept(capsys, job, cache):
    (job.parent / "z-passes.step").write_text("no STEP file", encoding="utf-8")
    assert check(capsys, cache, job)[0] == 3
    assert entries(cache) == []


def test_no_cache_keeps_and_gives_nothing(capsys, job, cache):
    check(capsys, cache, job)
    kept = entries(cache)
    assert main(["check", "--no-cache", str(job)]) == 0
    assert "measurement from the cache" not in capsys.readouterr().out
    assert entries(cache) == kept


def test_a_full_disk_or_a_file_in_the_way_is_no_error(tmp_path):
    blocked = tmp_path / "cache"
    blocked.write_text("a file, no folder", encoding="utf-8")
    answers = Answers(str(blocked))
    answers.put({"a": 1}, [], Answer(text="x", said=(), exit_code=0))
    assert answers.get({"a": 1}) is None


def test_old_answers_make_room(tmp_path, monkeypatch):
    monkeypatch.setattr("fitcheck.answers._MOST", 3)
    answers = Answers(str(tmp_path))
    for number in range(5):
        answers.put({"number": number}, [], Answer(text=str(number), said=(), exit_code=0))
    assert len(entries(tmp_path)) == 3
    assert answers.get({"number": 4}) == Answer(text="4", said=(), exit_code=0)
