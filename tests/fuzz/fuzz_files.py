"""Damaged STEP files and job files: every one must end with an exit code of the contract and a message, in time.

    python tests/fuzz/fuzz_files.py --steps 2000 --jobs 2000 --seed 1

Files are checked in batches, each in a process of its own, so that nothing can stop the run. Prints how many ended in
which way, the worst time and the worst memory. Ends with 0 where all kept the contract; else the seeds are listed.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))

SAMPLES = Path(__file__).parents[2] / "sample_assemblies"
STEPS = ("passing/z-passes", "passing/x-l-bracket", "passing/z-flat-shaft", "passing/x-two-piece")
BATCH = 25
FAULT = "fitcheck itself failed"


def write_batch(folder: Path, kind: str, seeds: range) -> None:
    """One job file a seed, its STEP file or itself damaged; the same files for the same seeds."""
    from mutations import damaged_job, damaged_step

    for seed in seeds:
        draw = random.Random(f"{kind} {seed}")
        sample = SAMPLES / draw.choice(STEPS)
        step, job = sample.with_suffix(".step").read_bytes(), sample.with_suffix(".fit.yaml").read_text()
        if kind == "step":
            name, step = damaged_step(draw, step)
            (folder / f"{seed}.step").write_bytes(step)
            text = job.replace(f"step: {sample.name}.step", f"step: {seed}.step").encode()
        else:
            (folder / f"{sample.name}.step").write_bytes(step)
            name, text = damaged_job(draw, job)
        (folder / f"{seed}-{name}.fit.yaml").write_bytes(text)


def check_batch(folder: str, time_limit: float, memory_limit: float) -> list[dict[str, Any]]:
    """Check a folder's jobs; what each came to, how long it took, and what the worst worker held."""
    import resource

    from fitcheck import api

    spent: dict[str, float] = {}

    class Timed(api.Rooms):
        """The real rooms with a clock; each job's time is that of loading, its share of measuring, and checking."""

        def load(self, path):
            begin = time.monotonic()
            try:
                return super().load(path)
            finally:
                spent[path] = time.monotonic() - begin

        def measure(self, path, options, kernel):
            begin = time.monotonic()
            try:
                return super().measure(path, options, kernel)
            finally:
                spent[path] = time.monotonic() - begin

        def checks(self, loaded, measurement):
            begin = time.monotonic()
            try:
                return super().checks(loaded, measurement)
            finally:
                spent[loaded.file] = spent.get(loaded.file, 0.0) + time.monotonic() - begin

    result = api.check_many(folder, rooms=Timed(), cache=False, time_limit=time_limit, memory_limit=memory_limit)
    told = []
    for job in result.jobs:
        seconds = spent.get(job.name, 0.0)
        if job.loaded is not None:
            seconds += spent.get(job.loaded.step_path, 0.0)
        told.append({"job": Path(job.name).name, "verdict": job.verdict, "code": job.exit_code, "error": job.error,
                     "seconds": seconds, "findings": len(job.findings)})  # fmt: skip
    scale = 1 if sys.platform == "darwin" else 1024
    worst = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss * scale / 1e6
    own = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * scale / 1e6
    return [{**one, "worker_mb": worst, "own_mb": own} for one in told]


def ending(one: dict[str, Any]) -> str:
    """In which way a job ended, in a few words for the table."""
    error = one["error"] or ""
    for mark, words in (
        (FAULT, "FAULT of fitcheck"), ("crashed while", "kernel crashed"), ("took longer", "time limit"),
        ("of memory", "memory limit"), ("MB of messages", "flood of messages"), ("could not finish", "kernel error"),
    ):  # fmt: skip
        if mark in error:
            return words
    if one["code"] == 2:
        return "wrong job"
    return "file refused" if error else one["verdict"]


def broken(one: dict[str, Any]) -> str | None:
    """How a job broke the contract, or None."""
    if one["code"] not in (0, 1, 2, 3):
        return f"exit code {one['code']}"
    if one["verdict"] == "error" and not (one["error"] or "").strip():
        return "no message"
    if FAULT in (one["error"] or ""):
        return one["error"]
    if one["verdict"] != "error" and not one["findings"]:
        return "no findings"
    return None


def run(kind: str, count: int, first: int, time_limit: float, memory_limit: float) -> bool:
    """Make and check `count` files; prints the figures; whether all kept the contract."""
    endings: Counter[str] = Counter()
    bad: list[str] = []
    worst, worker, own = (0.0, ""), 0.0, 0.0
    begin = time.monotonic()
    for start in range(first, first + count, BATCH):
        seeds = range(start, min(start + BATCH, first + count))
        with tempfile.TemporaryDirectory() as folder:
            write_batch(Path(folder), kind, seeds)
            command = [sys.executable, __file__, "--batch", folder, "--time-limit", str(time_limit)]
            command += ["--memory-limit", str(memory_limit)]
            try:
                allowed = 60.0 + len(seeds) * time_limit * 2
                done = subprocess.run(command, capture_output=True, text=True, timeout=allowed, check=False)
                told = json.loads(done.stdout)
            except (subprocess.TimeoutExpired, ValueError) as problem:
                bad.append(f"{kind} {seeds.start} to {seeds.stop - 1}: the whole batch ended: {problem}")
                endings["batch lost"] += len(seeds)
                continue
        if len(told) != len(seeds):
            bad.append(f"{kind} {seeds.start} to {seeds.stop - 1}: {len(told)} results")
        for one in told:
            endings[ending(one)] += 1
            worst = max(worst, (one["seconds"], one["job"]))
            worker, own = max(worker, one["worker_mb"]), max(own, one["own_mb"])
            fault = broken(one)
            if fault is not None:
                bad.append(f"{kind} {one['job']}: {fault}")
    print(f"{count} damaged {kind} files, seeds {first} to {first + count - 1}, {time.monotonic() - begin:.0f} s")
    for words, number in endings.most_common():
        print(f"  {number:6} {words}")
    print(f"  worst time {worst[0]:.1f} s ({worst[1]}), worst worker {worker:.0f} MB, command itself {own:.0f} MB")
    for line in bad:
        print(f"  BROKEN {line}")
    sys.stdout.flush()
    return not bad


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--steps", type=int, default=2000)
    parser.add_argument("--jobs", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1, help="the first seed")
    parser.add_argument("--time-limit", type=float, default=20.0)
    parser.add_argument("--memory-limit", type=float, default=2000.0)
    parser.add_argument("--batch", metavar="FOLDER", help=argparse.SUPPRESS)
    args = parser.parse_args()
    if args.batch:
        # Answers go through a copy of standard output, so that nothing else can spoil them.
        answers = os.fdopen(os.dup(1), "w")
        os.dup2(2, 1)
        json.dump(check_batch(args.batch, args.time_limit, args.memory_limit), answers)
        answers.flush()
        return 0
    fine = [
        run(kind, count, args.seed, args.time_limit, args.memory_limit)
        for kind, count in (("step", args.steps), ("job", args.jobs))
        if count
    ]
    return 0 if all(fine) else 1


if __name__ == "__main__":
    sys.exit(main())
