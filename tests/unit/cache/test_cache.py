from __future__ import annotations

import errno
import os
import sys
from dataclasses import fields, replace
from pathlib import Path

import pytest

from fitcheck.measurement import cache as room
from fitcheck.measurement.cache import Cache, code_digest, default_folder
from fitcheck.measurement.options import MeasureOptions

from .conftest import CORRIDORS, DIGEST, PLAIN, made


def entries(cache: Cache) -> list[Path]:
    return sorted(path for path in Path(cache.folder).rglob("*") if path.is_file())


def test_what_was_kept_comes_back_and_says_so(cache):
    assert not cache.knows(DIGEST)
    assert cache.get(DIGEST, PLAIN) is None
    cache.put(DIGEST, PLAIN, made())
    again = Cache(cache.folder)
    assert again.knows(DIGEST)
    assert again.has(DIGEST, PLAIN)
    back = again.get(DIGEST, PLAIN)
    assert back == made()
    assert back.from_cache
    assert back.obstacles.triangles.tobytes() == made().obstacles.triangles.tobytes()
    assert again.get(DIGEST, PLAIN, obstacles=False).obstacles is None


CHANGES = {
    "unit": "inch", "axis_near": (1.0, 2.0, 3.0), "axis_body": "a", "axis_point": (1.0, 2.0, 3.0),
    "axis_direction": (0.0, 0.0, 1.0), "adapter": ("a",), "motor": ("a",), "actuator": ("a",), "coupling": ("a",),
    "ignore": ("a",), "corridors": True,
}  # fmt: skip


@pytest.mark.parametrize("name", [field.name for field in fields(MeasureOptions)])
def test_every_option_has_its_own_entry(cache, name):
    cache.put(DIGEST, PLAIN, made())
    assert cache.get(DIGEST, replace(PLAIN, **{name: CHANGES[name]})) is None


def test_a_measurement_with_corridors_serves_a_request_without_and_not_the_other_way(cache):
    cache.put(DIGEST, CORRIDORS, made())
    assert cache.get(DIGEST, PLAIN) == made()
    other = "cd" + DIGEST[2:]
    cache.put(other, PLAIN, made(other))
    assert cache.get(other, CORRIDORS) is None


def test_other_code_measures_again(cache, monkeypatch):
    cache.put(DIGEST, PLAIN, made())
    monkeypatch.setattr(room, "_digest", "f" * 64)
    assert Cache(cache.folder).get(DIGEST, PLAIN) is None


def test_the_code_digest_follows_the_files_that_measure(tmp_path, monkeypatch):
    for name in ("kernel", "measurement"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "a.py").write_text("1")
    monkeypatch.setattr(room, "__file__", str(tmp_path / "measurement" / "cache.py"))
    seen = set()
    for text in ("1", "2"):
        (tmp_path / "kernel" / "a.py").write_text(text)
        monkeypatch.setattr(room, "_digest", None)
        seen.add(code_digest())
    assert len(seen) == 2


@pytest.mark.parametrize("damage", [
    lambda path: path.write_bytes(b""),
    lambda path: path.write_bytes(path.read_bytes()[:-8]),
    lambda path: path.write_bytes(path.read_bytes()[:200] + b"?" + path.read_bytes()[201:]),
    lambda path: path.write_text("a note of another program"),
    lambda path: (path.unlink(), path.mkdir()),
])  # fmt: skip
def test_a_damaged_or_foreign_entry_counts_as_absent_and_is_replaced(cache, damage):
    cache.put(DIGEST, PLAIN, made())
    (path,) = entries(cache)
    damage(path)
    assert cache.get(DIGEST, PLAIN) is None
    if path.is_dir():
        path.rmdir()
    cache.put(DIGEST, PLAIN, made())
    assert cache.get(DIGEST, PLAIN) == made()


def test_an_entry_under_another_file_s_name_is_not_believed(cache):
    cache.put(DIGEST, PLAIN, made())
    (path,) = entries(cache)
    other = "ab" + "1" * 62
    path.rename(path.with_name(path.name.replace(DIGEST, other)))
    assert cache.get(other, PLAIN) is None


@pytest.mark.parametrize("problem", [errno.ENOSPC, errno.EROFS, errno.EACCES, errno.EDQUOT])
def test_a_full_or_read_only_disk_is_told_once_and_leaves_nothing(cache, monkeypatch, problem):
    tried = []

    def replace_(*_):
        tried.append(1)
        raise OSError(problem, os.strerror(problem))

    monkeypatch.setattr(room.os, "replace", replace_)
    cache.put(DIGEST, PLAIN, made())
    cache.put(DIGEST, CORRIDORS, made())
    assert len(tried) == 1
    assert f"cannot be written ({os.strerror(problem)}), so nothing is kept; name another folder" in cache.trouble
    assert entries(cache) == []


def test_a_cache_whose_folder_is_a_file_is_no_cache(tmp_path):
    (tmp_path / "file").write_text("x")
    cache = Cache(str(tmp_path / "file"))
    assert cache.get(DIGEST, PLAIN) is None
    cache.put(DIGEST, PLAIN, made())
    assert "cannot be written" in cache.trouble
    assert (tmp_path / "file").read_text() == "x"


def test_the_folder_is_the_platform_s(monkeypatch, tmp_path):
    # XDG base directory specification: $XDG_CACHE_HOME, else ~/.cache; a relative path is to be ignored.
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("USERPROFILE", str(tmp_path))
    for name in ("FITCHECK_CACHE", "XDG_CACHE_HOME", "LOCALAPPDATA"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(sys, "platform", "linux")
    assert default_folder() == str(tmp_path / ".cache" / "fitcheck")
    monkeypatch.setenv("XDG_CACHE_HOME", "relative")
    assert default_folder() == str(tmp_path / ".cache" / "fitcheck")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "x"))
    assert default_folder() == str(tmp_path / "x" / "fitcheck")
    monkeypatch.setattr(sys, "platform", "darwin")
    assert default_folder() == str(tmp_path / "Library" / "Caches" / "fitcheck")
    monkeypatch.setattr(sys, "platform", "win32")
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path / "Local"))
    assert default_folder() == str(tmp_path / "Local" / "fitcheck")
    monkeypatch.setenv("FITCHECK_CACHE", "here")
    assert default_folder() == "here"


def test_the_least_recently_used_go_when_the_cache_is_too_large(cache, monkeypatch):
    digests = [f"{n:02x}" + "0" * 62 for n in range(5)]
    for age, digest in enumerate(digests):
        cache.put(digest, PLAIN, made(digest))
        newest = max(entries(cache), key=lambda path: path.stat().st_mtime_ns)
        os.utime(newest, (1e9 + age, 1e9 + age))
    assert cache.get(digests[0], PLAIN) is not None  # used now, so no longer the oldest
    (half,) = [path.parent / ".dead.part" for path in entries(cache)[:1]]
    half.write_bytes(b"of a process that was killed")
    os.utime(half, (1e9, 1e9))
    monkeypatch.setattr(room, "MOST_BYTES", 4 * entries(cache)[1].stat().st_size)
    extra = "ff" + "0" * 62
    Cache(cache.folder).put(extra, PLAIN, made(extra))
    kept = [digest for digest in (*digests, extra) if cache.get(digest, PLAIN) is not None]
    assert kept == [digests[0], digests[4], extra]
    assert not half.exists()
