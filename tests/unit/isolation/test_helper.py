"""Measuring happens in a process of its own: what goes wrong there is told, and costs the command nothing else."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import pytest

from fitcheck import api
from fitcheck.errors import FaultError, StepFileError
from fitcheck.kernel import client
from fitcheck.kernel.client import Kernel
from fitcheck.measurement.apart import measure_apart
from fitcheck.measurement.options import MeasureOptions

from .test_worker import alive, linux

SAMPLES = Path(__file__).parents[3] / "sample_assemblies" / "passing"

# A helper whose measuring does on demand what a damaged file may bring about.
RIGGED = """
import os, re, sys
from fitcheck.measurement import measure
real = measure.measure_file
def measure_file(path, options, reader):
    name = os.path.basename(path).partition(".")[0]
    if name == "crash":
        os.abort()
    if name == "killed":
        os.kill(os.getpid(), 9)
    if name == "hang":
        re.match("(a+)+$", "a" * 64 + "b")
    if name == "eat":
        kept = []
        while True:
            kept.append(bytearray(os.urandom(1 << 20)) * 8)
    if name == "grab":
        bytearray(1 << 42)
    if name == "fault":
        1 / 0
    if name == "reader":
        reader.ask(path, "meshing", {"do": "mesh", "faces": [10**9], "deflection": 1.0, "angle": 1.0})
    return real(path, options, reader)
measure.measure_file = measure_file
from fitcheck.helper import main
main()
"""

WAYS = [
    (
        "crash",
        60.0,
        r"crash\.step: the measuring process crashed while measuring \(signal 6\); .*export it again",
        True,
    ),
    ("killed", 60.0, r"killed\.step: the measuring process crashed while measuring \(signal 9\)", False),
    ("hang", 4.0, r"hang\.step: measuring was stopped, because the file took longer than 4 s; .*--time-limit", False),
    ("eat", 60.0, r"eat\.step: measuring needed more than 900 MB of memory and was stopped; .*--memory-limit", False),
    ("grab", 60.0, r"grab\.step: measuring needed more than 900 MB of memory and was stopped; .*--memory-limit", False),
    ("reader", 60.0, r"reader\.step: the CAD kernel could not finish: ", True),
]


@pytest.fixture
def part(tmp_path):
    def copy(name: str) -> str:
        return str(shutil.copy(SAMPLES / "z-passes.step", tmp_path / f"{name}.step"))

    return copy


@pytest.mark.skipif(sys.platform == "win32", reason="signals and memory limits are those of POSIX")
@pytest.mark.parametrize(("name", "seconds", "words", "lasting"), WAYS)
def test_what_ends_measuring_is_told_and_the_next_file_is_measured(monkeypatch, part, name, seconds, words, lasting):
    monkeypatch.setattr(client, "_HELPER", textwrap.dedent(RIGGED))
    with Kernel(time_limit=seconds, memory_limit=900.0) as kernel:
        kernel.start()
        before = time.monotonic()
        with pytest.raises(StepFileError, match=words) as caught:
            measure_apart(part(name), MeasureOptions(), kernel)
        assert time.monotonic() - before < 40.0
        assert caught.value.lasting is lasting
        kernel.time_limit = 60.0
        assert measure_apart(part("good"), MeasureOptions(), kernel).drive_axis is not None


def test_a_fault_of_fitcheck_in_the_helper_is_told_as_one(monkeypatch, part):
    monkeypatch.setattr(client, "_HELPER", textwrap.dedent(RIGGED))
    with Kernel() as kernel, pytest.raises(FaultError, match=r"^ZeroDivisionError: division by zero") as caught:
        measure_apart(part("fault"), MeasureOptions(), kernel)
    assert str(caught.value) == "ZeroDivisionError: division by zero"
    assert "in measure_file" in caught.value.__notes__[0]
    (job,) = api.check_many(_job(part("fault")), cache=False).jobs
    assert job.exit_code == 3
    assert "fitcheck itself failed (ZeroDivisionError: division by zero), so nothing was decided" in (job.error or "")


def _job(step: str) -> str:
    text = (SAMPLES / "z-passes.fit.yaml").read_text()
    path = Path(step).with_suffix(".fit.yaml")
    path.write_text(text.replace("step: z-passes.step", f"step: {Path(step).name}"))
    return str(path)


def test_the_same_is_measured_apart_and_in_one_process(kernel, part):
    from fitcheck.measurement.measure import measure_file
    from fitcheck.measurement.store import to_bytes

    path, options = part("same"), MeasureOptions(corridors=True, adapter=("*",), axis_near=(0.0, 0.0, 1.0))
    assert to_bytes(measure_apart(path, options, kernel)) == to_bytes(measure_file(path, options, kernel))


@linux
def test_the_command_itself_loads_no_geometry(tmp_path):
    """Cold: what traces, meshes and finds seats runs in the helper, under the file's limits."""
    code = (
        "import sys\nfrom fitcheck.cli import main\n"
        f"main(['check', '--no-cache', {str(SAMPLES / 'z-passes.fit.yaml')!r}, '--output', {str(tmp_path / 'o')!r}])\n"
        "print(*sorted(m for m in sys.modules if m.startswith('fitcheck.measurement.')))"
    )
    done = subprocess.run([sys.executable, "-P", "-c", code], capture_output=True, text=True, check=True)
    loaded = set(done.stdout.split())
    assert "fitcheck.measurement.apart" in loaded
    assert not {f"fitcheck.measurement.{name}" for name in ("measure", "trace", "tessellate", "ends")} & loaded


@linux
def test_both_workers_end_when_the_command_is_killed(tmp_path, part):
    script = tmp_path / "parent.py"
    script.write_text(
        "import sys, time\n"
        "from fitcheck.kernel.client import Kernel\n"
        "from fitcheck.measurement.apart import measure_apart\n"
        "from fitcheck.measurement.options import MeasureOptions\n"
        "kernel = Kernel()\n"
        f"measure_apart({part('good')!r}, MeasureOptions(), kernel)\n"
        "print(kernel.reader.popen.pid, kernel.helper.popen.pid, flush=True)\n"
        "time.sleep(60)\n"
    )
    with subprocess.Popen([sys.executable, script], stdout=subprocess.PIPE, text=True) as parent:
        assert parent.stdout is not None
        pids = [int(word) for word in parent.stdout.readline().split()]
        assert len(pids) == 2
        assert all(map(alive, pids))
        parent.kill()
        parent.wait()
    for _ in range(100):
        if not any(map(alive, pids)):
            break
        time.sleep(0.02)
    assert not any(map(alive, pids))


def test_everything_works_where_fork_is_unavailable(tmp_path, part):
    """In the command and, by way of the module search path, in every process that it starts."""
    (tmp_path / "site").mkdir()
    (tmp_path / "site" / "sitecustomize.py").write_text(
        "import os\ndef fork(*_):\n    raise OSError('fork is unavailable here')\nos.fork = os.forkpty = fork\n"
    )
    for name in "abcdef":
        text = Path(part(name)).read_text()
        Path(part(name)).write_text(text.replace("HEADER;", f"HEADER;/* {name} */", 1))
        _job(str(tmp_path / f"{name}.step"))
    code = (
        "import os, sys\nfrom fitcheck.cli import main\n"
        "try:\n    os.fork()\nexcept OSError as error:\n    print(error)\n"
        f"words = ['check', '--no-cache', {str(tmp_path)!r}, '--workers', '2', '--output', {str(tmp_path / 'o')!r}]\n"
        "print(main(words))\n"
        "print('multiprocessing' in sys.modules)"
    )
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(tmp_path / "site"), *filter(None, sys.path)])}
    done = subprocess.run(
        [sys.executable, "-P", "-c", code], capture_output=True, text=True, env=environment, check=True
    )
    assert done.stdout.split("\n")[:3] == ["fork is unavailable here", "0", "False"]
    assert "6 jobs" in (tmp_path / "o").read_text()
