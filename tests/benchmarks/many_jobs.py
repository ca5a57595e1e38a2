"""Many jobs in one call: time, and the command's own memory, which must not grow with the jobs.

    python tests/benchmarks/many_jobs.py --jobs 1000 --files 50 --workers 2

The files are copies of two sample assemblies that differ in a comment, so that each has to be measured.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
import time
from pathlib import Path

SAMPLES = Path(__file__).parents[2] / "sample_assemblies" / "passing"
NAMES = ("z-passes", "x-passes")

RUN = """
import json, resource, sys, time
from fitcheck import api
begin = time.perf_counter()
result = api.check_many(sys.argv[1], workers=int(sys.argv[2]), cache=sys.argv[3])
taken = time.perf_counter() - begin
verdicts = [job.verdict for job in result.jobs]
order = [job.name for job in result.jobs]
own = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
print(json.dumps({"jobs": len(order), "sorted": order == sorted(order), "pass": verdicts.count("pass"),
                  "from_cache": sum(job.measurement.from_cache for job in result.jobs),
                  "seconds": round(taken, 1), "own_mb": own // 1024}))
"""


def make(folder: Path, jobs: int, files: int) -> None:
    """Write `files` STEP files and `jobs` job files that use them in turn."""
    for number in range(files):
        text = (SAMPLES / f"{NAMES[number % 2]}.step").read_text()
        (folder / f"part{number:03}.step").write_text(text.replace("HEADER;", f"HEADER;/* {number} */", 1))
    for number in range(jobs):
        part = number % files
        name = NAMES[part % 2]
        text = (SAMPLES / f"{name}.fit.yaml").read_text()
        (folder / f"job{number:05}.fit.yaml").write_text(text.replace(f"{name}.step", f"part{part:03}.step"))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--jobs", type=int, default=1000)
    parser.add_argument("--files", type=int, default=50)
    parser.add_argument("--workers", type=int, default=2)
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder, tempfile.TemporaryDirectory() as cache:
        make(Path(folder), args.jobs, args.files)
        for way in ("cold", "warm"):
            begin = time.perf_counter()
            command = [sys.executable, "-c", RUN, folder, str(args.workers), cache]
            done = subprocess.run(command, capture_output=True, text=True, check=True)
            told = json.loads(done.stdout)
            print(f"{way}: {time.perf_counter() - begin:.1f} s, {told}", flush=True)


if __name__ == "__main__":
    main()
