from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from fitcheck import api
from fitcheck.cli import main

PASSING = Path(__file__).parents[3] / "sample_assemblies" / "passing"
SCREWS = "x-passes"  # its job needs tool corridors


class Counting(api.Rooms):
    """The real rooms; remembers what was measured and how many workers were made."""

    def __init__(self) -> None:
        self.measured: list[tuple[str, bool]] = []
        self.kernels = 0

    def kernel(self, time_limit, memory_limit):
        self.kernels += 1
        return super().kernel(time_limit, memory_limit)

    def measure(self, path, options, kernel):
        self.measured.append((Path(path).name, options.corridors))
        return super().measure(path, options, kernel)


@pytest.fixture
def shop(tmp_path):
    """A folder with a STEP file and two jobs on it: `a` without screws, `b` with."""
    shutil.copy(PASSING / f"{SCREWS}.step", tmp_path)
    text = (PASSING / f"{SCREWS}.fit.yaml").read_text()
    (tmp_path / "b.fit.yaml").write_text(text)
    lines, kept, inside = text.splitlines(), [], None
    for line in lines:
        depth = len(line) - len(line.lstrip())
        if inside is not None and line.strip() and depth <= inside and not line.lstrip().startswith("-"):
            inside = None
        if line.strip().startswith("screws:"):
            inside = depth
        if inside is None:
            kept.append(line)
    (tmp_path / "a.fit.yaml").write_text("\n".join(kept) + "\n")
    return tmp_path


def check(paths, folder, **options):
    rooms = Counting()
    return api.check_many(paths, rooms=rooms, cache=folder / "cache", **options), rooms


def told(result):
    return [{**job.to_dict(), "from_cache": None} for job in result.jobs]


def test_jobs_that_share_a_file_measure_it_once_with_what_any_of_them_needs(shop):
    result, rooms = check(shop, shop)
    assert rooms.measured == [(f"{SCREWS}.step", True)]
    assert [job.measurement.from_cache for job in result.jobs] == [False, False]
    assert all(job.measurement.obstacles is None for job in result.jobs)


def test_a_warm_run_starts_no_worker_and_finds_the_same(shop):
    cold, _ = check(shop, shop)
    warm, rooms = check(shop, shop)
    assert (rooms.measured, rooms.kernels) == ([], 0)
    assert [job.measurement.from_cache for job in warm.jobs] == [True, True]
    assert told(warm) == told(cold)


def test_the_content_counts_and_not_the_name_or_the_place(shop, tmp_path):
    check(shop / "b.fit.yaml", shop)
    other = tmp_path / "elsewhere"
    other.mkdir()
    shutil.copy(shop / f"{SCREWS}.step", other / "new.step")
    text = (shop / "b.fit.yaml").read_text()
    (other / "c.fit.yaml").write_text(text.replace(f"step: {SCREWS}.step", "step: new.step"))
    result, rooms = check(other, shop)
    assert rooms.measured == []
    assert result.jobs[0].measurement.file == str(other / "new.step")
    (other / "new.step").write_bytes((other / "new.step").read_bytes() + b"\n")
    assert check(other, shop)[1].measured == [("new.step", True)]


def test_a_measurement_without_corridors_does_not_serve_a_job_with_screws(shop):
    assert check(shop / "a.fit.yaml", shop)[1].measured == [(f"{SCREWS}.step", False)]
    assert check(shop / "b.fit.yaml", shop)[1].measured == [(f"{SCREWS}.step", True)]
    assert check(shop / "a.fit.yaml", shop)[1].measured == []


def test_the_report_says_where_the_measurement_came_from(shop, capsys):
    command = ["check", str(shop / "a.fit.yaml"), "--cache", str(shop / "cache")]
    seen = []
    for extra in ([], [], ["--no-cache"]):
        main([*command[:2], *(extra or command[2:]), "--format", "json"])
        seen.append(json.loads(capsys.readouterr().out)["jobs"][0]["from_cache"])
    assert seen == [False, True, False]
    main(command)
    assert "measurement from the cache" in " ".join(capsys.readouterr().out.split())
    main(["measure", str(shop / f"{SCREWS}.step"), "--cache", str(shop / "cache")])
    assert "From cache" in capsys.readouterr().out
    main(["measure", str(shop / f"{SCREWS}.step"), "--cache", str(shop / "cache"), "--format", "json"])
    assert json.loads(capsys.readouterr().out)["from_cache"] is True


def test_a_cache_that_cannot_be_written_is_one_warning_and_no_failure(shop, capsys):
    (shop / "cache").write_text("a file")
    before = main(["check", str(shop), "--no-cache"])
    capsys.readouterr()
    assert main(["check", str(shop), "--cache", str(shop / "cache")]) == before
    err = capsys.readouterr().err
    assert err.count("warning: the cache") == 1
    with pytest.warns(RuntimeWarning, match="the cache .* cannot be written"):
        check(shop, shop)


def test_a_warm_command_loads_no_kernel(shop):
    command = [sys.executable, "-X", "importtime", "-m", "fitcheck", "check", str(shop), "--cache", str(shop / "cache")]
    subprocess.run(command, capture_output=True, check=False)
    environment = {**os.environ, "FITCHECK_DEBUG": "1"}
    done = subprocess.run(command, capture_output=True, text=True, check=False, env=environment)
    loaded = {line.rpartition("|")[2].strip() for line in done.stderr.splitlines() if line.startswith("import time:")}
    assert "fitcheck.measurement.cache" in loaded
    assert not {"OCP", "cadquery", "fitcheck.kernel.client", "subprocess", "concurrent.futures"} & loaded
