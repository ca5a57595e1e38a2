"""That a file cannot be measured is kept too, where it lies in its content."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from fitcheck import api
from fitcheck.cli import main
from fitcheck.errors import MeasureError, StepFileError
from fitcheck.measurement.options import MeasureOptions

from .conftest import CORRIDORS, DIGEST, PLAIN, made
from .test_many_jobs import JOB

WORDS = "is damaged; export it again"


class Rooms(api.Rooms):
    """Measuring fails in a way that the test chooses."""

    def __init__(self, error: type[StepFileError] = StepFileError, lasting: bool = True) -> None:
        self.error, self.lasting = error, lasting
        self.measured = self.kernels = 0

    def kernel(self, time_limit, memory_limit):
        self.kernels += 1

        class Kernel:
            def start(self) -> None: ...
            def close(self) -> None: ...

            dismiss = close

        return Kernel()

    def measure(self, path, options, kernel):
        self.measured += 1
        error = self.error(WORDS, path)
        error.lasting = self.lasting
        raise error


@pytest.fixture
def job(tmp_path):
    (tmp_path / "f.step").write_text("ISO-10303-21;END-ISO-10303-21;")
    path = tmp_path / "job.fit.yaml"
    path.write_text(JOB.format(step="f.step"))
    return path


def check(job, rooms, **options):
    (result,) = api.check_many(job, rooms=rooms, **{"cache": job.parent / "cache", **options}).jobs
    return result


@pytest.mark.parametrize("error", [StepFileError, MeasureError])
def test_a_refusal_is_found_once_and_the_report_says_so(job, error):
    cold, warm = Rooms(error), Rooms(error)
    first = check(job, cold)
    assert (cold.measured, first.error) == (1, f"{job.parent / 'f.step'}: {WORDS}")
    assert first.to_dict()["from_cache"] is None
    again = check(job, warm)
    assert (warm.measured, warm.kernels) == (0, 0)
    assert again.error == (
        f"{job.parent / 'f.step'}: {WORDS} (found by an earlier run and kept in the cache; --no-cache tries it again)"
    )
    assert again.to_dict()["from_cache"] is True
    assert (first.exit_code, again.exit_code) == (3, 3)


def test_other_content_other_options_and_no_cache_try_again(job):
    check(job, Rooms())
    rooms = Rooms()
    assert WORDS in check(job, rooms, cache=False).error
    assert rooms.measured == 1
    job.write_text(JOB.format(step="f.step") + "unit: inch\n")
    assert check(job, rooms).to_dict()["from_cache"] is None
    assert rooms.measured == 2
    (job.parent / "f.step").write_text("ISO-10303-21;/* mended */END-ISO-10303-21;")
    assert check(job, rooms).to_dict()["from_cache"] is None
    assert rooms.measured == 3


def test_what_time_memory_or_the_machine_caused_is_tried_again(job):
    for _ in range(2):
        rooms = Rooms(lasting=False)
        check(job, rooms)
        assert rooms.measured == 1


def test_a_file_that_changed_meanwhile_is_not_blamed(job):
    class Changing(Rooms):
        def measure(self, path, options, kernel):
            Path(path).write_text("ISO-10303-21;/* new */END-ISO-10303-21;")
            self._digests_are_read_once = True
            return super().measure(path, options, kernel)

    content = (job.parent / "f.step").read_text()
    check(job, Changing())
    (job.parent / "f.step").write_text(content)
    rooms = Rooms()
    check(job, rooms)
    assert rooms.measured == 1


def test_real_limits_are_not_kept_and_a_real_refusal_is(tmp_path, capsys):
    """The kernel's own refusal: a text that is STEP by its first and last line only."""
    bad = tmp_path / "bad.step"
    bad.write_text("ISO-10303-21;HEADER;?!;ENDSEC;DATA;?!;ENDSEC;END-ISO-10303-21;")
    command = ["measure", str(bad), "--cache", str(tmp_path / "cache")]
    seen = []
    for more in (["--time-limit", "0.001"], ["--time-limit", "0.001"], [], [], ["--time-limit", "0.001"]):
        assert main([*command, *more]) == 3
        seen.append(capsys.readouterr().err)
    assert all("was stopped, because the file took longer than 0.001 s" in said for said in seen[:2])
    assert "kept in the cache" not in "".join(seen[:3])
    assert "export" in seen[2]
    assert "(found by an earlier run and kept in the cache; --no-cache tries it again)" in seen[3]
    assert seen[4] == seen[3]


class TestEntries:
    def test_without_corridors_serves_with_and_not_the_other_way_round(self, cache):
        cache.put_refusal(DIGEST, PLAIN, MeasureError(WORDS, "a.step"))
        assert str(cache.refusal(DIGEST, CORRIDORS, "b.step")).startswith(f"b.step: {WORDS} (found")
        other = "cd" + DIGEST[2:]
        cache.put_refusal(other, CORRIDORS, MeasureError(WORDS, "a.step"))
        assert cache.refusal(other, PLAIN, "a.step") is None
        assert cache.refusal(DIGEST, MeasureOptions(unit="inch"), "a.step") is None

    def test_knows_and_has_count_it(self, cache):
        assert not cache.knows(DIGEST)
        cache.put_refusal(DIGEST, PLAIN, MeasureError(WORDS, "a.step"))
        assert cache.knows(DIGEST)
        assert cache.has(DIGEST, PLAIN)

    def test_a_measurement_comes_before_it(self, cache):
        cache.put_refusal(DIGEST, PLAIN, MeasureError(WORDS, "a.step"))
        cache.put(DIGEST, PLAIN, made())
        assert cache.get(DIGEST, PLAIN) is not None

    @pytest.mark.parametrize("damage", ["", "x", json.dumps({"kind": "step", "words": "all is well"}), "[1]", "\x00"])
    def test_a_damaged_or_foreign_one_is_ignored_and_replaced(self, cache, damage):
        cache.put_refusal(DIGEST, PLAIN, MeasureError(WORDS, "a.step"))
        (entry,) = Path(cache.folder).rglob("*.refusal")
        whole = entry.read_bytes()
        entry.write_text(whole.decode().partition("\n")[0] + "\n" + damage)
        assert cache.refusal(DIGEST, PLAIN, "a.step") is None
        cache.put_refusal(DIGEST, PLAIN, MeasureError(WORDS, "a.step"))
        assert entry.read_bytes() == whole
        assert [path for path in Path(cache.folder).rglob("*") if path.name.endswith(".part")] == []
