"""Several processes read and write one cache and are killed at random moments.

    python tests/fuzz/cache_under_fire.py --processes 8 --rounds 100 --seed 1

Every process checks each measurement that it gets against the numbers that follow from its hash. After every round all
entries are read back. Ends with 0 where nothing wrong was served and no entry was damaged.
"""

from __future__ import annotations

import argparse
import random
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from fitcheck.measurement.cache import Cache
from fitcheck.measurement.model import Body, Measurement
from fitcheck.measurement.obstacles import Obstacles
from fitcheck.measurement.options import MeasureOptions
from fitcheck.measurement.store import StoreError, from_bytes

FILES = 6


@dataclass
class Told:
    """Counts of a run."""

    rounds: int = 0
    killed: int = 0
    served: int = 0
    wrong: int = 0
    damaged: int = 0
    troubled: int = 0
    left: int = 0


def digest(number: int) -> str:
    return f"{number:02x}" * 32


def made(number: int, corridors: bool) -> Measurement:
    """The measurement of file `number`: every value follows from the number."""
    seed = np.random.default_rng(number)
    size = 4000 if corridors else 0
    return Measurement(
        file="a.step", sha256=digest(number), file_unit="mm", drive_axis=None, ends=(), coaxiality=None, cylinders=(),
        bodies=(Body(name=str(number), role="adapter", volume=float(seed.normal())),), free_radius=None,
        obstacles=Obstacles(
            segments=seed.normal(size=(50, 2, 3)), segment_bound=seed.normal(size=50),
            segment_body=np.full(50, number, dtype=np.int32), triangles=seed.normal(size=(size, 3, 3)),
            triangle_bound=seed.normal(size=size), triangle_body=np.full(size, number, dtype=np.int32),
        ),
    )  # fmt: skip


def right(found: Measurement, number: int) -> bool:
    """Whether a measurement is that of file `number`, to the last bit of the arrays that every request needs."""
    want = made(number, corridors=False)
    assert found.obstacles is not None
    assert want.obstacles is not None
    return found.bodies == want.bodies and found.obstacles.segments.tobytes() == want.obstacles.segments.tobytes()


def work(folder: str, seed: int) -> None:
    """Endless: get or make measurements; a line a served one."""
    draw = random.Random(seed)
    while True:
        cache = Cache(folder)
        number, corridors = draw.randrange(FILES), draw.random() < 0.5
        options = MeasureOptions(corridors=corridors)
        found = cache.get(digest(number), options)
        if found is None or draw.random() < 0.3:
            cache.put(digest(number), options, made(number, corridors))
        if found is not None:
            print("served" if right(found, number) else "wrong", flush=True)
        if cache.trouble is not None:
            print("troubled", flush=True)


def run(folder: Path, *, processes: int, rounds: int, seed: int) -> Told:
    """Start processes, kill each at a random moment, read everything back; `rounds` times."""
    told, draw = Told(), random.Random(seed)
    for number in range(rounds):
        started = []
        for index in range(processes):
            command = [sys.executable, __file__, "--work", str(folder), "--seed", str(seed + number * 1000 + index)]
            out = tempfile.TemporaryFile()  # noqa: SIM115 - read after the process has been killed
            started.append((subprocess.Popen(command, stdout=out), out))
        end = time.monotonic() + 20.0
        while any(not out.tell() and out.seek(0, 2) == 0 for _, out in started) and time.monotonic() < end:
            time.sleep(0.02)
        for process, out in draw.sample(started, len(started)):
            time.sleep(draw.uniform(0.0, 0.03))
            if process.poll() is None:
                told.killed += 1
            process.kill()
            process.wait()
            out.seek(0)
            said = out.read().decode().split("\n")
            out.close()
            told.served += said.count("served")
            told.wrong += said.count("wrong")
            told.troubled += said.count("troubled")
        told.rounds += 1
        told.damaged += _damaged(folder)
    told.left = sum(path.suffix == ".part" for path in folder.rglob(".*"))
    return told


def _damaged(folder: Path) -> int:
    count = 0
    for path in folder.rglob("*.measurement"):
        try:
            number = int(path.name[:2], 16)
            count += not right(from_bytes(path.read_bytes()), number)
        except StoreError:
            count += 1
    return count


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--processes", type=int, default=8)
    parser.add_argument("--rounds", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--work", metavar="FOLDER", help=argparse.SUPPRESS)
    args = parser.parse_args()
    if args.work:
        work(args.work, args.seed)
    with tempfile.TemporaryDirectory() as folder:
        told = run(Path(folder), processes=args.processes, rounds=args.rounds, seed=args.seed)
    print(told)
    return 1 if told.wrong or told.damaged or told.troubled else 0


if __name__ == "__main__":
    sys.exit(main())
