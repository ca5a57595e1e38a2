from __future__ import annotations

import os
from pathlib import Path

import pytest

import fitcheck
from fitcheck import api
from fitcheck.jobfiles import find_jobs, names_a_step


def verdicts(result):
    return [(Path(job.name).name, job.verdict, job.exit_code) for job in result.jobs]


def test_all_jobs_are_run_though_one_fails_in_every_way(bench, rooms):
    for step in ("trips", "unreadable", "no-adapter", "lacks", "fails", "passes"):
        bench(step)
    bench("broken", text="step: broken.step\nbor: 1\n")
    assert verdicts(api.check_many([".", "absent.fit.yaml"], rooms=rooms)) == [
        ("broken.fit.yaml", "error", 2),
        ("fails.fit.yaml", "fail", 1),
        ("lacks.fit.yaml", "incomplete", 3),
        ("no-adapter.fit.yaml", "error", 3),
        ("passes.fit.yaml", "pass", 0),
        ("trips.fit.yaml", "error", 3),
        ("unreadable.fit.yaml", "error", 3),
        ("absent.fit.yaml", "error", 2),
    ]


def test_one_step_file_is_measured_once_even_when_that_fails(bench, rooms, log):
    paths = [bench("passes", f"{name}.fit.yaml") for name in "abc"]
    paths += [bench("unreadable", f"{name}.fit.yaml") for name in "de"]
    result = api.check_many(paths, rooms=rooms)
    assert log.measured == ["passes.step", "unreadable.step"]
    assert [job.verdict for job in result.jobs] == ["pass", "pass", "pass", "error", "error"]


def test_other_measuring_options_are_measured_apart(bench, rooms, log):
    first = bench("passes", "a.fit.yaml")
    second = bench("passes", "b.fit.yaml", text=Path(first).read_text() + "unit: inch\n")
    api.check_many([first, second], rooms=rooms)
    assert log.measured == ["passes.step", "passes.step"]


def test_the_worker_starts_before_the_jobs_are_parsed_and_is_closed(bench, rooms, log):
    api.check_many([bench("passes")], rooms=rooms)
    assert log.events == ["start", "load", "dismiss"]
    assert log.closed == 1


@pytest.mark.parametrize("text", ["bor: 1\n", "step: absent.step\n", "step: [1]\n", ""])
def test_no_worker_starts_where_no_step_file_can_be_measured(bench, rooms, log, text):
    api.check_many([bench("passes", text=text)], rooms=rooms)
    assert log.started == 0


@pytest.mark.parametrize("line", ["step: passes.step", 'step: "passes.step"  # why', "step:   'passes.step'"])
def test_a_glance_finds_the_step_file(bench, line):
    assert names_a_step(bench("passes", text=f"# a job\ntitle: x\n{line}\n"))


def test_an_interrupt_closes_the_worker(bench, rooms, log):
    path = bench("interrupted")
    with pytest.raises(KeyboardInterrupt):
        api.check_many([path], rooms=rooms)
    assert log.closed == 1


def test_folders_are_searched_sorted_without_hidden_ones_and_each_file_once(bench):
    for name in ("b/2.fit.yaml", "b/1.fit.yaml", "a/3.fit.yaml", ".git/4.fit.yaml", "b/.5.fit.yaml", "a/notes.yaml"):
        bench("passes", name)
    found = [str(item).replace(os.sep, "/") for item in find_jobs([".", "b", "b/../b/1.fit.yaml"])]
    assert found == ["a/3.fit.yaml", "b/1.fit.yaml", "b/2.fit.yaml"]


def test_a_folder_without_jobs_is_nothing_to_check(tmp_path, rooms):
    result = api.check_many([tmp_path], rooms=rooms)
    assert result.exit_code == 3
    assert "nothing to check" in (result.jobs[0].error or "")


def test_no_paths_are_undecided(rooms):
    assert api.check_many([], rooms=rooms).exit_code == 3


def test_a_single_path_may_be_given_bare(bench, rooms):
    assert verdicts(api.check_many(bench("passes"), rooms=rooms)) == [("passes.fit.yaml", "pass", 0)]


def test_a_step_file_is_told_from_a_job(bench, rooms):
    bench("passes")
    (job,) = api.check_many(["passes.step"], rooms=rooms).jobs
    assert job.exit_code == 2
    assert "fitcheck init passes.step" in (job.error or "")


def test_a_wrong_job_carries_its_line(bench, rooms):
    (job,) = api.check_many([bench("broken", text="step: broken.step\nbor: 1\n")], rooms=rooms).jobs
    assert job.error_line is not None
    assert f"broken.fit.yaml:{job.error_line}:" in (job.error or "")


def test_an_unexpected_fault_asks_to_be_reported_without_a_traceback(bench, rooms, capsys, monkeypatch):
    path = bench("trips")
    (job,) = api.check_many([path], rooms=rooms).jobs
    assert "fitcheck itself failed (ZeroDivisionError: float division by zero)" in (job.error or "")
    assert "please report it" in (job.error or "")
    assert capsys.readouterr().err == ""
    monkeypatch.setenv("FITCHECK_DEBUG", "1")
    api.check_many([path], rooms=rooms)
    assert "Traceback" in capsys.readouterr().err


def test_strict_turns_a_warning_into_a_fail(bench, rooms):
    path = bench("warns")
    assert api.check_many([path], rooms=rooms).exit_code == 0
    assert api.check_many([path], strict=True, rooms=rooms).exit_code == 1


def test_check_takes_a_path_a_loaded_job_and_a_job(bench, rooms):
    path = bench("fails")
    loaded = fitcheck.load_job(path)
    for job in (path, Path(path), loaded, loaded.job):
        result = fitcheck.check(job, rooms=rooms)
        assert (result.verdict, result.exit_code) == ("fail", 1)
        assert result.to_dict()["findings"][0]["remedy"] == "shorten a shaft by 1.5 mm"
        assert result.measurement is not None
        assert result.measurement.to_dict()["format"] == "fitcheck.measurement/1"


def test_check_of_a_broken_job_is_an_error_and_load_job_raises(bench, rooms):
    path = bench("broken", text="step: broken.step\nbor: 1\n")
    assert fitcheck.check(path, rooms=rooms).verdict == "error"
    with pytest.raises(fitcheck.JobError, match=r"broken\.fit\.yaml:\d+: "):
        fitcheck.load_job(path)


def test_progress_counts_jobs(bench, rooms):
    seen = []
    api.check_many([bench("passes"), bench("fails")], rooms=rooms, progress=lambda *args: seen.append(args))
    assert seen == [(1, 2, "passes.fit.yaml"), (2, 2, "fails.fit.yaml")]


def test_public_names_are_there_and_no_others():
    for name in fitcheck.__all__:
        assert getattr(fitcheck, name) is not None
    assert set(fitcheck.__all__) <= set(dir(fitcheck))
    with pytest.raises(AttributeError, match="module 'fitcheck' has no attribute 'chek'"):
        fitcheck.chek  # noqa: B018
