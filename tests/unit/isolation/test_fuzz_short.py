"""The short run of tests/fuzz/fuzz_files.py; DEVELOPERS.md has the figures of the long one."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

SCRIPT = Path(__file__).parents[2] / "fuzz" / "fuzz_files.py"


def fuzz(*options: str) -> str:
    command = [sys.executable, SCRIPT, *options]
    done = subprocess.run(command, capture_output=True, text=True, timeout=600, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def test_damaged_step_files_keep_the_contract():
    out = fuzz("--steps", "40", "--jobs", "0", "--seed", "1", "--time-limit", "20")
    assert "40 damaged step files, seeds 1 to 40" in out
    assert sum(int(count) for count in re.findall(r"^ +(\d+) ", out, re.MULTILINE)) == 40
    assert re.search(r"\d (file refused|kernel crashed)", out)


def test_damaged_job_files_keep_the_contract():
    out = fuzz("--steps", "0", "--jobs", "200", "--seed", "1", "--time-limit", "20")
    assert sum(int(count) for count in re.findall(r"^ +(\d+) ", out, re.MULTILINE)) == 200
    assert re.search(r"\d wrong job", out)
