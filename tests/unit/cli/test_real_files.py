"""The real command on real and broken STEP files: one clear message each, and no worker left behind."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from functools import partial
from pathlib import Path

import pytest

SAMPLES = Path(__file__).parents[3] / "sample_assemblies"
PASSING = SAMPLES / "passing" / "z-passes.step"

COUPLING = """\
coupling:
  family: jaw
  outside_diameter: 30
  length: 42
  hubs: {motor: {bore: 8, bore_length: 12}, actuator: {bore: 8, bore_length: 12}}
"""


def fitcheck(*argv, **kw):
    return subprocess.run(
        [sys.executable, "-m", "fitcheck", *map(str, argv)],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
        **kw,
    )


def _empty(path):
    path.write_bytes(b"")


def _prose(path):
    path.write_text("These are the minutes of a meeting.\n" * 20)


def _pointer(path):
    path.write_text("version https://git-lfs.github.com/spec/v1\noid sha256:" + "0" * 64 + "\nsize 12345\n")


def _truncated(path):
    path.write_bytes(PASSING.read_bytes()[:20000])


def _folder(path):
    path.mkdir()


def _absent(_path):
    pass


def _forbidden(path):
    path.write_bytes(PASSING.read_bytes())
    path.chmod(0)


BROKEN = [_empty, _prose, _pointer, _truncated, _folder, _absent, _forbidden]


@pytest.mark.parametrize("make", BROKEN)
def test_a_broken_step_file_is_one_clear_message_and_3(tmp_path, make):
    if make is _forbidden and hasattr(os, "geteuid") and os.geteuid() == 0:
        pytest.skip("root may read everything")
    step = tmp_path / "part.step"
    make(step)
    done = fitcheck("measure", "part.step", cwd=tmp_path)
    assert (done.returncode, done.stdout) == (3, ""), done.stderr
    (line,) = done.stderr.splitlines()
    assert line.startswith("fitcheck: part.step: ")
    job = tmp_path / "job.fit.yaml"
    job.write_text("step: part.step\n" + COUPLING)
    done = fitcheck("check", "job.fit.yaml", "--format", "json", cwd=tmp_path)
    assert done.returncode == 3, done.stderr
    (result,) = json.loads(done.stdout)["jobs"]
    assert result["verdict"] == "error"
    assert "part.step: " in result["error"]
    assert "Traceback" not in done.stderr


def test_a_sample_is_checked_and_measured_and_stdout_is_clean_json():
    job = PASSING.with_name("z-passes.fit.yaml")
    done = fitcheck("check", job, "--format", "json")
    assert done.returncode == 0, done.stdout + done.stderr
    (result,) = json.loads(done.stdout)["jobs"]
    assert (result["verdict"], result["error"]) == ("pass", None)
    done = fitcheck("measure", PASSING, "--format", "json")
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["format"] == "fitcheck.measurement/1"


def test_init_of_a_sample_writes_a_job_that_can_be_checked(tmp_path):
    done = fitcheck("init", PASSING, "-o", tmp_path / "new.fit.yaml")
    assert done.returncode == 0, done.stderr
    done = fitcheck("check", tmp_path / "new.fit.yaml", "--format", "json")
    # The coupling's numbers in a new job are examples, so nothing is passed, and no error comes.
    (result,) = json.loads(done.stdout)["jobs"]
    assert (result["verdict"], result["error"], done.returncode) == ("incomplete", None, 3)
    unfilled = next(one for one in result["findings"] if one["subject"] == "the coupling's numbers")
    text = (tmp_path / "new.fit.yaml").read_text()
    marked = [number for number, line in enumerate(text.splitlines(), 1) if "  # TO BE FILLED IN" in line]
    assert f"examples still stand in lines {', '.join(map(str, marked))} of the job" in unfilled["message"]
    (tmp_path / "new.fit.yaml").write_text(text.replace("  # TO BE FILLED IN", ""))
    done = fitcheck("check", tmp_path / "new.fit.yaml", "--format", "json")
    assert "the coupling's numbers" not in done.stdout


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="looks for the worker in /proc")
def test_an_interrupt_ends_with_130_and_leaves_no_worker():
    command = [sys.executable, "-m", "fitcheck", "check", str(PASSING.with_name("z-passes.fit.yaml")), "--no-cache"]
    # A shell that runs the tests in the background hands down an ignored SIGINT.
    heed = partial(signal.signal, signal.SIGINT, signal.SIG_DFL)
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, preexec_fn=heed
    ) as running:
        worker = None
        for _ in range(400):
            worker = _child_of(running.pid)
            if worker is not None or running.poll() is not None:
                break
            time.sleep(0.005)
        assert worker is not None
        # The worker takes far longer than this to load the CAD kernel; the command has its handlers by then.
        time.sleep(0.15)
        running.send_signal(signal.SIGINT)
        out, err = running.communicate(timeout=30)
    assert (running.returncode, out) == (130, "")
    assert err.strip().endswith("fitcheck: interrupted")
    assert not Path(f"/proc/{worker}").exists()


def _child_of(pid):
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = stat.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        if fields[1] == str(pid):
            return int(stat.parent.name)
    return None
