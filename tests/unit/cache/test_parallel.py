"""Several workers also check: the same results in the same order, in other processes, each file measured once."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from fitcheck import api
from fitcheck.measuring import Measurer

SAMPLES = Path(__file__).parents[3] / "sample_assemblies"
JOBS = 8
PARTS = ("passing/z-passes", "failing/z-opening-too-small")


@pytest.fixture
def folder(tmp_path):
    """Two files with jobs in turn, several requests for each, and two jobs that cannot be checked."""
    for part in PARTS:
        (tmp_path / f"{Path(part).name}.step").write_bytes((SAMPLES / f"{part}.step").read_bytes())
    for number in range(JOBS):
        text = (SAMPLES / f"{PARTS[number % 2]}.fit.yaml").read_text()
        (tmp_path / f"job{number:03}.fit.yaml").write_text(f"{text}\nrequire: {{radial_clearance: {number / 100}}}\n")
    (tmp_path / "bad.step").write_text("ISO-10303-21;HEADER;?!;ENDSEC;DATA;?!;ENDSEC;END-ISO-10303-21;")
    (tmp_path / "job003b.fit.yaml").write_text(text.replace(f"step: {Path(PARTS[1]).name}.step", "step: bad.step"))
    (tmp_path / "job004b.fit.yaml").write_text("step: [\n")
    return tmp_path


def test_the_same_results_in_the_same_order_however_many_workers(folder, monkeypatch):
    obtained: list[str] = []
    real = Measurer.obtain

    def obtain(self, wanted, **options):
        obtained.append(Path(wanted.path).name)
        return real(self, wanted, **options)

    monkeypatch.setattr(Measurer, "obtain", obtain)
    seen: list[tuple[int, int, str]] = []
    one = api.check_many(folder, workers=1, cache=False)
    obtained.clear()
    two = api.check_many(folder, workers=2, cache=False, progress=lambda *told: seen.append(told))
    assert sorted(obtained) == sorted(["bad.step", *(f"{Path(part).name}.step" for part in PARTS)])
    assert [job.to_dict() for job in two.jobs] == [job.to_dict() for job in one.jobs]
    assert [job.loaded for job in two.jobs] == [job.loaded for job in one.jobs]
    assert [job.measurement for job in two.jobs] == [job.measurement for job in one.jobs]
    assert {job.verdict for job in two.jobs} == {"pass", "fail", "error"}
    assert all(job.measurement is None or job.measurement.obstacles is None for job in two.jobs)
    assert [told[0] for told in seen] == list(range(1, len(two.jobs) + 1))


def test_the_command_itself_checks_nothing_and_warm_starts_no_reader(folder):
    code = (
        "import json, sys\nfrom fitcheck import api\nfrom fitcheck.kernel import process\n"
        "started = []\nreal = process.Process.start\n"
        "def start(self):\n    started.append(self.code)\n    real(self)\n"
        "process.Process.start = start\n"
        f"result = api.check_many({str(folder)!r}, workers=2, cache={str(folder / 'cache')!r})\n"
        "print(json.dumps([sorted(set(started)), 'fitcheck.checks.wrench_access' in sys.modules, len(result.jobs)]))"
    )
    told = []
    for _ in range(2):
        done = subprocess.run([sys.executable, "-P", "-c", code], capture_output=True, text=True, check=True)
        told.append(json.loads(done.stdout))
    (cold, here, jobs), (warm, still, again) = told
    assert (here, still) == (False, False)
    assert jobs == again == JOBS + 2
    assert len(cold) == 2
    assert len(warm) == 1
    assert "helper" in warm[0]


def test_a_helper_that_dies_while_checking_is_told_for_its_jobs_and_no_pass(folder, monkeypatch):
    from fitcheck.kernel import client

    code = "from fitcheck import helper\nhelper._checked = lambda parts: __import__('os').abort()\nhelper.main()"
    monkeypatch.setattr(client, "_HELPER", code)
    result = api.check_many(folder, workers=2, cache=False)
    errors = [job.error or "" for job in result.jobs]
    assert all(job.verdict == "error" for job in result.jobs)
    assert sum("crashed while checking (signal 6)" in error for error in errors) == JOBS
    assert {job.exit_code for job in result.jobs} == {2, 3}
