"""What a check costs against the number of faces: time and memory, against the bare read of the same file.

    python tests/benchmarks/cost_curve.py --faces 100 500 2000 5000 20000 --repeats 3

Three kinds of adapters are made, all about the sample `z-passes`: `plates` with plates full of holes beside the
housing, far from the drive axis; `pockets` with plates full of filleted pockets beside the drive axis and beyond the
housing, which hides none of them; and `walls` with perforated walls round it, 34 mm from the drive axis, where every
edge may limit the free radius and stand in a tool's way. No face has more than MOST holes: the reader's own time grows
with the square of the holes in a face. The bare floor is a Python process that imports OCP's STEP reader, and reads and
transfers the file. Floor and command, cold (an empty cache) and warm (unchanged), are run in turn; printed is the best
of each, which a load on the machine changes least, and the CPU time of the command's processes together.

Memory is that of the largest process, and the most that all processes held together: proportional shares (PSS), looked
at every 20 ms, on Linux only.
"""

from __future__ import annotations

import argparse
import math
import os
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from dataclasses import dataclass
from pathlib import Path

SAMPLES = Path(__file__).parents[2] / "sample_assemblies"
SAMPLE = "passing/z-passes"
KINDS = ("plates", "pockets", "walls")
ALREADY = 39
"""Faces of the sample."""

PITCH, HOLE, MOST = 3.0, 2.0, 100

FACES_OF_POCKET = 17
"""Four walls, four corners, the floor, and eight fillets round it."""

FLOOR = """\
import sys
from OCP.IFSelect import IFSelect_ReturnStatus
from OCP.STEPControl import STEPControl_Reader
reader = STEPControl_Reader()
assert reader.ReadFile(sys.argv[1]) == IFSelect_ReturnStatus.IFSelect_RetDone
assert reader.TransferRoots() > 0
assert not reader.OneShape().IsNull()
"""


@dataclass
class Cost:
    """One run: seconds, CPU seconds of all its processes, MB of the largest, MB of all at once (0: not known)."""

    seconds: float
    cpu: float
    largest: float
    together: float


def perforated(count: int, columns: int, thickness: float):  # type: ignore[no-untyped-def]
    """A plate from (0, 0, 0) with `count` holes in rows of `columns`, all made in one step."""
    import cadquery as cq

    rows = math.ceil(count / columns)
    spots = [((i % columns + 0.5) * PITCH, (i // columns + 0.5) * PITCH) for i in range(count)]
    sketch = cq.Workplane().rect(columns * PITCH, rows * PITCH, centered=False).pushPoints(spots).circle(HOLE / 2)
    return sketch.extrude(thickness).val(), rows * PITCH


def pocketed(count: int, columns: int, thickness: float):  # type: ignore[no-untyped-def]
    """A plate from (0, 0, 0) with `count` rounded pockets in rows of `columns`: FACES_OF_POCKET faces each."""
    import cadquery as cq

    rows, pitch = math.ceil(count / columns), 4.0 * PITCH
    spots = [((i % columns + 0.5) * pitch, (i // columns + 0.5) * pitch) for i in range(count)]
    plate = cq.Workplane().box(columns * pitch, rows * pitch, thickness, centered=False)
    pockets = cq.Workplane(origin=(0.0, 0.0, thickness)).pushPoints(spots).rect(9.0, 9.0).extrude(-0.7 * thickness)
    pockets = pockets.edges("|Z").fillet(2.0).faces("<Z").edges().fillet(0.8)
    return plate.cut(pockets).val(), rows * pitch


def adapter(kind: str, faces: int):  # type: ignore[no-untyped-def]
    """An assembly with about so many faces."""
    import cadquery as cq

    housing = cq.importers.importStep(str(SAMPLES / f"{SAMPLE}.step")).val()
    made = cq.Assembly(name="cost curve")
    made.add(housing, name="adapter housing")
    more = max(faces - ALREADY, 28)
    if kind == "pockets":
        pockets = max(round(more / FACES_OF_POCKET), 1)
        for number in range(math.ceil(pockets / MOST)):
            body, width = pocketed(min(pockets - MOST * number, MOST), 10, 6.0)
            made.add(body.translate((45.0, -20.0, -10.0 - 7.0 * number)), name=f"adapter plate {number + 1}")
        return made
    bodies = max(math.ceil(more / (MOST + 6)), 4 if kind == "walls" else 1)
    count, columns = max(more // bodies - 6, 1), 20
    for number in range(bodies):
        body, width = perforated(count, columns, 4.0)
        if kind == "plates":
            place = (60.0, 0.0, 0.0), (0.0, width * number, 0.0)
            made.add(body.translate(place[0]).translate(place[1]), name=f"adapter plate {number + 1}")
            continue
        # On edge, its face 34 mm from the drive axis (z), four round it, each four further along it.
        stood = body.rotate((0, 0, 0), (1, 0, 0), 90)
        stood = stood.translate((-0.5 * columns * PITCH, -34.0, width * (number // 4)))
        made.add(stood.rotate((0, 0, 0), (0, 0, 1), 90 * (number % 4)), name=f"adapter wall {number + 1}")
    return made


def write(folder: Path, kind: str, faces: int) -> Path:
    """Write the STEP file and its job; returns the job."""
    from parametric_models.step_files import write_step

    step = folder / f"{kind}-{faces}.step"
    write_step(step, adapter(kind, faces))
    text = (SAMPLES / f"{SAMPLE}.fit.yaml").read_text()
    job = folder / f"{kind}-{faces}.fit.yaml"
    job.write_text(text.replace(f"step: {Path(SAMPLE).name}.step", f"step: {step.name}"))
    return job


def shares(root: int) -> float:
    """MB that a process and all below it hold, memory that they share counted once."""
    total, waiting = 0.0, [root]
    while waiting:
        pid = waiting.pop()
        try:
            for task in os.listdir(f"/proc/{pid}/task"):
                waiting += map(int, Path(f"/proc/{pid}/task/{task}/children").read_text().split())
            text = Path(f"/proc/{pid}/smaps_rollup").read_text()
            total += int(text.partition("\nPss:")[2].split()[0]) / 1024.0
        except (OSError, IndexError, ValueError):
            continue
    return total


def run(argv: list[str], cache: str = "", codes: tuple[int, ...] = (0,)) -> Cost:
    """Run a Python command and say what it took; a wrong ending ends the benchmark."""
    environment = {**os.environ, "FITCHECK_CACHE": cache} if cache else None
    most, over = [0.0], threading.Event()

    def look(pid: int) -> None:
        while not over.wait(0.02):
            most[0] = max(most[0], shares(pid))

    with tempfile.TemporaryFile() as said:
        begin = time.perf_counter()
        process = subprocess.Popen([sys.executable, *argv], stdout=subprocess.DEVNULL, stderr=said, env=environment)
        watcher = threading.Thread(target=look, args=(process.pid,), daemon=True)
        if sys.platform == "linux":
            watcher.start()
        _, status, usage = os.wait4(process.pid, 0)
        took = time.perf_counter() - begin
        process.returncode = os.waitstatus_to_exitcode(status)
        over.set()
        said.seek(0)
        words = said.read().decode(errors="replace")
    if process.returncode not in codes:
        raise SystemExit(f"{' '.join(argv)} ended with exit code {process.returncode}\n{words}")
    return Cost(took, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024.0, most[0])


def largest_of(job: Path, cache: str) -> float:
    """MB of the command's largest process, its workers' among them; the command says it itself at its end."""
    code = (
        "import resource, sys\nfrom fitcheck.cli import main\n"
        "main(['check', sys.argv[1], '--output', sys.argv[2]])\n"
        "most = max(resource.getrusage(w).ru_maxrss for w in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))\n"
        "print(most / 1024.0)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(job), os.devnull], capture_output=True, text=True, check=True,
        env={**os.environ, "FITCHECK_CACHE": cache},
    )  # fmt: skip
    return float(done.stdout.splitlines()[-1])


def best(costs: list[Cost]) -> Cost:
    """The least time and CPU time; the memory of a run, which hardly varies, at its most."""
    return Cost(
        min(c.seconds for c in costs), min(c.cpu for c in costs), max(c.largest for c in costs),
        max(c.together for c in costs),
    )  # fmt: skip


def line(job: Path, faces: int, repeats: int, folder: str) -> str:
    """The row of one file."""
    step = str(job).removesuffix(".fit.yaml") + ".step"
    cache = os.path.join(folder, "cache")
    # What a check finds does not matter here; that it decides does.
    command, codes = ["-m", "fitcheck", "check", str(job)], (0, 1, 3)
    floors, colds, warms = [], [], []
    for _ in range(repeats):
        floors.append(run(["-c", FLOOR, step]))
        shutil.rmtree(cache, ignore_errors=True)
        colds.append(run(command, cache, codes))
        warms.append(run(command, cache, codes))
    shutil.rmtree(cache, ignore_errors=True)
    floor, cold, warm = best(floors), best(colds), best(warms)
    largest = largest_of(job, cache)
    return (
        f"{faces:7} {floor.seconds:8.2f} {cold.seconds:8.2f} {cold.seconds / floor.seconds:6.2f} {floor.cpu:8.2f} "
        f"{cold.cpu:8.2f} "
        f"{floor.largest:8.0f} {largest:8.0f} {largest / floor.largest:6.2f} {cold.together:8.0f} "
        f"{cold.together / max(floor.together, 1.0):6.2f} {warm.seconds:8.2f} {warm.seconds / floor.seconds:6.2f}"
    )


def counted(step: Path) -> int:
    """Faces in a STEP file's text."""
    return step.read_text(errors="replace").count("ADVANCED_FACE(")


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--faces", type=int, nargs="+", default=[100, 500, 2000, 5000, 10000, 20000])
    parser.add_argument("--kinds", nargs="+", choices=KINDS, default=list(KINDS))
    parser.add_argument("-n", "--repeats", type=int, default=3)
    parser.add_argument(
        "--keep", type=Path, metavar="FOLDER", help="write the files here, and use those that are there"
    )
    parser.add_argument("--make", nargs=3, help=argparse.SUPPRESS)
    args = parser.parse_args()
    if args.make:
        write(Path(args.make[0]), args.make[1], int(args.make[2]))
        return
    load = f", load {os.getloadavg()[0]:.2f}" if hasattr(os, "getloadavg") else ""
    print(f"{os.cpu_count()} cores{load} at the start, best of {args.repeats}; times in s, memory in MiB")
    with tempfile.TemporaryDirectory() as scratch:
        folder = args.keep or Path(scratch)
        folder.mkdir(parents=True, exist_ok=True)
        for kind in args.kinds:
            print(f"\n{kind}: time                CPU time          largest process         all together    warm")
            heads = (
                "bare",
                "check",
                "ratio",
                "bare",
                "check",
                "bare",
                "check",
                "ratio",
                "check",
                "ratio",
                "check",
                "ratio",
            )
            print(f"{'faces':>7}" + "".join(f" {head:>{6 if head == 'ratio' else 8}}" for head in heads))
            for faces in args.faces:
                job = folder / f"{kind}-{faces}.fit.yaml"
                if not job.exists():
                    # In a process of its own: a child's largest size counts that of the process that starts it.
                    subprocess.run([sys.executable, __file__, "--make", str(folder), kind, str(faces)], check=True)
                found = counted(job.with_name(f"{kind}-{faces}.step"))
                print(line(job, found, args.repeats, scratch), flush=True)


if __name__ == "__main__":
    main()
