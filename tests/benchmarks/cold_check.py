"""How long `fitcheck check` takes against the bare floor: `python tests/benchmarks/cold_check.py [JOB...] [-n N]`.

The floor is a Python process that imports OCP's STEP reader, and reads and transfers the same STEP file. It is run in
turn with the whole command, cold (an empty cache of measurements each time) and warm (the file was measured before), N
times, after one run of each that is not counted. Printed are medians and ranges, the largest process, and the ratios to
the floor. Then the times of light starts, against an empty Python process. The operating system keeps the files that
it has read, for both. Run it on a quiet machine: the load at the start is printed.
"""

from __future__ import annotations

import argparse
import os
import platform
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import fitcheck

SAMPLES = Path(__file__).parents[2] / "sample_assemblies"
DEFAULT_JOBS = (SAMPLES / "passing/z-passes.fit.yaml", SAMPLES / "passing/z-full-assembly.fit.yaml")
COLD_WANTED = 1.25
WARM_WANTED = 0.15
KIB_PER_MIB = 1024.0

FLOOR = """\
import sys
from OCP.IFSelect import IFSelect_ReturnStatus
from OCP.STEPControl import STEPControl_Reader
reader = STEPControl_Reader()
assert reader.ReadFile(sys.argv[1]) == IFSelect_ReturnStatus.IFSelect_RetDone
assert reader.TransferRoots() > 0
assert not reader.OneShape().IsNull()
"""

STARTS = {
    "python -c pass": ("-c", "pass"),
    "import fitcheck": ("-c", "import fitcheck"),
    "fitcheck --help": ("-m", "fitcheck", "--help"),
    "fitcheck schema": ("-m", "fitcheck", "schema"),
    "import OCP": ("-c", "import OCP"),
}


@dataclass
class Series:
    """Times in seconds and the largest process in MiB of repeated runs of one command.

    `cache` is the folder of kept measurements, emptied before each run where `cold`.
    """

    argv: tuple[str, ...]
    cache: str = ""
    cold: bool = False
    codes: tuple[int, ...] = (0,)
    times: list[float] = field(default_factory=list)
    peak: float = 0.0

    def run(self, count: bool = True) -> None:
        """Run once; a wrong ending ends the benchmark."""
        if self.cold:
            shutil.rmtree(self.cache, ignore_errors=True)
        environment = {**os.environ, "FITCHECK_CACHE": self.cache} if self.cache else None
        with tempfile.TemporaryFile() as errors:
            began = time.perf_counter()
            process = subprocess.Popen(
                [sys.executable, *self.argv], stdout=subprocess.DEVNULL, stderr=errors, env=environment
            )
            _, status, usage = os.wait4(process.pid, 0)
            took = time.perf_counter() - began
            process.returncode = os.waitstatus_to_exitcode(status)
            errors.seek(0)
            said = errors.read().decode(errors="replace")
        if process.returncode not in self.codes or "Traceback" in said:
            raise SystemExit(f"{' '.join(self.argv)} ended with exit code {process.returncode}\n{said}")
        if count:
            self.times.append(took)
            self.peak = max(self.peak, usage.ru_maxrss / KIB_PER_MIB)

    @property
    def median(self) -> float:
        """Median time, s."""
        return statistics.median(self.times)

    def __str__(self) -> str:
        return f"{self.median:7.3f} s   {min(self.times):.3f} to {max(self.times):.3f} s   {self.peak:5.0f} MiB"


def interleaved(series: Sequence[Series], repeats: int) -> None:
    """Run all in turn, `repeats` times, so that a load on the machine falls on all of them."""
    for one in series:
        one.run(count=False)
    for _ in range(repeats):
        for one in series:
            one.run()


def compare(job: Path, repeats: int, folder: str) -> None:
    """Print one job's command, cold and warm, against its floor."""
    step = fitcheck.load_job(job).step_path
    # A job that fails takes as long as one that passes.
    command, codes = ("-m", "fitcheck", "check", str(job)), (0, 1)
    floor = Series(("-c", FLOOR, step))
    cold = Series(command, codes=codes, cache=os.path.join(folder, "cold"), cold=True)
    warm = Series(command, codes=codes, cache=os.path.join(folder, "warm"))
    interleaved((floor, cold, warm), repeats)
    print(f"{job.name}\n  bare floor      {floor}")
    for name, series, wanted in (("cold", cold, COLD_WANTED), ("warm", warm, WARM_WANTED)):
        ratio = series.median / floor.median
        print(f"  check, {name}     {series}   {ratio:.2f} of the floor (wanted: at most {wanted})")
    print()


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="Time a cold check against the bare read of the same STEP file.")
    parser.add_argument("jobs", nargs="*", type=Path, default=DEFAULT_JOBS, help="job files; two samples without one")
    parser.add_argument("-n", "--repeats", type=int, default=9, help="counted runs of each (default: 9)")
    args = parser.parse_args()
    load = f", load {os.getloadavg()[0]:.2f}" if hasattr(os, "getloadavg") else ""
    print(f"Python {platform.python_version()}, {platform.machine()}, {os.cpu_count()} cores{load} at the start")
    print(f"median   least to greatest, of {args.repeats}   largest process\n")
    with tempfile.TemporaryDirectory() as folder:
        for job in args.jobs:
            compare(job, args.repeats, folder)
    starts = {name: Series(argv) for name, argv in STARTS.items()}
    interleaved(tuple(starts.values()), args.repeats)
    for name, one in starts.items():
        print(f"{name:15}   {one}")


if __name__ == "__main__":
    main()
