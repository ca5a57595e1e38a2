"""How long `fitcheck check` takes cold and warm, against the bare floor: a process that reads and transfers the file.

    python tests/benchmarks/warm_and_cold.py [JOB] [--rounds 7]

Prints medians in seconds and the ratios that DESIGN names: cold at most 1.25, warm at most 0.15.
"""

from __future__ import annotations

import argparse
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

SAMPLES = Path(__file__).parents[2] / "sample_assemblies" / "passing"
FLOOR = (
    "import sys\n"
    "from OCP.STEPControl import STEPControl_Reader\n"
    "reader = STEPControl_Reader()\n"
    "reader.ReadFile(sys.argv[1])\n"
    "reader.TransferRoots()\n"
    "reader.OneShape()\n"
)


def seconds(command: list[str]) -> float:
    """Wall time of one run."""
    begin = time.perf_counter()
    subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False)
    return time.perf_counter() - begin


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("job", nargs="?", type=Path, default=SAMPLES / "x-passes.fit.yaml")
    parser.add_argument("--rounds", type=int, default=7)
    args = parser.parse_args()
    from fitcheck import load_job

    step = load_job(args.job).step_path
    with tempfile.TemporaryDirectory() as folder:
        check = [sys.executable, "-m", "fitcheck", "check", str(args.job)]
        ways = {
            "floor": [sys.executable, "-c", FLOOR, step],
            "cold": [*check, "--no-cache"],
            "warm": [*check, "--cache", folder],
            "interpreter": [sys.executable, "-c", "pass"],
            "interpreter and arrays": [sys.executable, "-c", "import numpy"],
        }
        seconds(ways["warm"])
        # In turn, so that what else the machine does falls on all alike.
        times: dict[str, list[float]] = {name: [] for name in ways}
        for _ in range(args.rounds):
            for name, command in ways.items():
                times[name].append(seconds(command))
    floor = statistics.median(times["floor"])
    for name, taken in times.items():
        middle = statistics.median(taken)
        print(f"{name:24} {middle:6.3f} s  (best {min(taken):.3f})  {middle / floor:5.2f} of the floor")


if __name__ == "__main__":
    main()
