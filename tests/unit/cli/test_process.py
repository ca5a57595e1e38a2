"""The real command in a process of its own."""

from __future__ import annotations

import os
import subprocess
import sys
import time

import pytest

HEAVY = ("numpy", "yaml", "OCP", "cadquery", "fitcheck.api", "fitcheck.checks", "fitcheck.measurement", "json")


def run(*argv, **kw):
    return subprocess.run([sys.executable, *argv], capture_output=True, text=True, timeout=60, **kw)


@pytest.mark.parametrize("code", ["import fitcheck", "import fitcheck.cli.parser as p; p.build_parser()"])
def test_imports_stay_light(code):
    done = run("-c", f"{code}\nimport sys\nprint(*[m for m in {HEAVY!r} if m in sys.modules])")
    assert done.stderr == ""
    assert done.stdout.split() == []


def test_a_public_function_loads_no_arrays_before_it_is_called():
    done = run(
        "-c",
        "import sys, fitcheck\nfitcheck.check, fitcheck.Result\nprint('numpy' in sys.modules, 'yaml' in sys.modules)",
    )
    assert done.stdout.split() == ["False", "False"]


@pytest.mark.parametrize(
    "argv", [("-c", "import fitcheck"), ("-m", "fitcheck", "--help"), ("-m", "fitcheck", "--version")]
)
def test_start_takes_less_than_three_tenths_of_a_second(argv):
    times = []
    for _ in range(3):
        start = time.perf_counter()
        assert run(*argv).returncode == 0
        times.append(time.perf_counter() - start)
    assert min(times) < 0.3


def test_wrong_paths_end_with_2_and_an_empty_folder_with_3(tmp_path):
    assert run("-m", "fitcheck", "check", str(tmp_path / "absent.fit.yaml")).returncode == 2
    done = run("-m", "fitcheck", "check", str(tmp_path))
    assert done.returncode == 3
    assert "nothing to check" in done.stdout


@pytest.mark.skipif(os.name != "posix", reason="needs a shell's pipe")
@pytest.mark.parametrize("words", ["schema", "--help"])
def test_a_reader_that_leaves_early_is_no_fault(words):
    # `head -c 1` closes the pipe after a byte; the schema is longer than a pipe's buffer may take in one go.
    done = subprocess.run(
        ["bash", "-c", f'"{sys.executable}" -m fitcheck {words} | head -c 1 >/dev/null; echo "${{PIPESTATUS[0]}}"'],
        capture_output=True, text=True, timeout=60, check=True,
    )  # fmt: skip
    assert done.stderr == ""
    assert done.stdout.strip() == "0"


def test_a_pipe_closed_before_the_first_byte_is_no_fault():
    read, write = os.pipe()
    os.close(read)
    done = subprocess.run(
        [sys.executable, "-m", "fitcheck", "schema"],
        stdout=write,
        stderr=subprocess.PIPE,
        text=True,
        timeout=60,
        check=False,
    )
    os.close(write)
    assert done.stderr == ""
    assert done.returncode == 0


def test_results_survive_a_terminal_without_unicode(tmp_path):
    name = tmp_path / "Träger-工具.fit.yaml"
    done = run("-m", "fitcheck", "check", str(name), env={**os.environ, "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"})
    assert done.returncode == 2
    assert "Traceback" not in done.stderr
    assert "there is no such file" in " ".join(done.stdout.split())
