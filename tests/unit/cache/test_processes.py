"""Several processes on one cache, killed at random: no wrong result, no damaged entry; tests/fuzz has the long run."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

SCRIPT = Path(__file__).parents[2] / "fuzz" / "cache_under_fire.py"


def test_processes_that_are_killed_leave_no_damage():
    command = [sys.executable, SCRIPT, "--processes", "4", "--rounds", "3", "--seed", "1"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    told = {name: int(count) for name, count in re.findall(r"(\w+)=(\d+)", done.stdout)}
    assert told["killed"] > 6
    assert told["served"] > 0
    assert (told["wrong"], told["damaged"], told["troubled"]) == (0, 0, 0)
