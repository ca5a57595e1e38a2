"""Ctrl-C at several moments of the real command: no process and no half-written file is left, and nothing is printed
but that it was interrupted."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="looks for processes in /proc")


def group(leader: int) -> list[int]:
    """Processes of a process group that have not ended."""
    found = []
    for entry in os.listdir("/proc"):
        if entry.isdigit():
            try:
                state, _, pgrp = Path(f"/proc/{entry}/stat").read_text().rpartition(")")[2].split()[:3]
            except OSError:
                continue
            if int(pgrp) == leader and state != "Z":
                found.append(int(entry))
    return found


# Seconds after the first worker was started: it loads, reads and measures, further files are measured, and checked.
@pytest.mark.parametrize("workers", [1, 3])
@pytest.mark.parametrize("moment", [0.0, 0.3, 1.0, 2.0, 3.5])
def test_an_interrupt_leaves_no_process_and_no_part_of_a_file(jobs, tmp_path, workers, moment):
    jobs("a", "b", "c", "d", "e", "f", "g", "h")
    cache, out = tmp_path / "cache", tmp_path / "out.json"
    command = [sys.executable, "-m", "fitcheck", "check", str(tmp_path), "--workers", str(workers)]
    command += ["--cache", str(cache), "--format", "json", "--output", str(out)]
    # In a group of its own, so that the signal reaches all its processes, as a terminal sends it.
    with subprocess.Popen(command, stderr=subprocess.PIPE, text=True, start_new_session=True) as process:
        for _ in range(1000):
            if len(group(process.pid)) > 1:
                break
            time.sleep(0.01)
        time.sleep(moment)
        os.killpg(process.pid, signal.SIGINT)
        _, said = process.communicate(timeout=20)
    if process.returncode == 0:
        pytest.skip("it had finished by then")
    assert process.returncode == 130
    assert said.splitlines() == ["fitcheck: interrupted"]
    deadline = time.monotonic() + 5.0
    while group(process.pid) and time.monotonic() < deadline:
        time.sleep(0.02)
    assert group(process.pid) == []
    assert not out.exists()
    assert [path for path in tmp_path.rglob("*") if path.name.endswith(".part")] == []
