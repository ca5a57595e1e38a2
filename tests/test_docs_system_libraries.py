"""The system libraries that the README lists are those that the CAD kernel's binaries link and do not bring along."""

from __future__ import annotations

import importlib.util
import re
import struct
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
LACKED = ("libGL.so.1", "libX11.so.6", "libexpat.so.1")
SECTION = struct.Struct("<IIQQQQIIQQ")
DYNAMIC, NEEDED = 6, 1


def needed(path: Path) -> list[str]:
    """The NEEDED entries of a 64-bit little-endian ELF file (System V ABI, chapters 4 and 5)."""
    data = path.read_bytes()
    assert data[:6] == b"\x7fELF\x02\x01", f"{path} is no 64-bit little-endian ELF file"
    (table,) = struct.unpack_from("<Q", data, 0x28)
    (count,) = struct.unpack_from("<H", data, 0x3C)
    sections = [SECTION.unpack_from(data, table + SECTION.size * index) for index in range(count)]
    names = []
    for _, kind, _, _, offset, size, link, *_ in sections:
        if kind == DYNAMIC:
            strings = sections[link][4]
            for tag, value in struct.iter_unpack("<qQ", data[offset : offset + size]):
                if tag == NEEDED:
                    start = strings + value
                    names.append(data[start : data.index(b"\0", start)].decode())
    return names


def outside(extension: Path, site: Path) -> set[str]:
    """What a binary links, directly or through the libraries that came with it, beyond those libraries."""
    brought = {path.name: path for folder in site.glob("*.libs") for path in folder.glob("*.so*")}
    brought |= {path.name: path for path in (site / "vtkmodules").glob("*.so*")}
    seen, queue, found = set(), [extension], set()
    while queue:
        for name in needed(queue.pop()):
            if name not in brought:
                found.add(name)
            elif name not in seen:
                seen.add(name)
                queue.append(brought[name])
    return found


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="the README's list is about Linux")
def test_the_readme_lists_what_the_kernel_links_and_does_not_bring():
    spec = importlib.util.find_spec("OCP")
    assert spec is not None
    assert spec.origin is not None
    package = Path(spec.origin).parent
    (extension,) = package.glob("OCP.*.so")
    linked = {name for name in outside(extension, package.parent) if not name.startswith("ld-linux")}
    section = (ROOT / "README.md").read_text(encoding="utf-8").split("### System libraries")[1].split("\n## ")[0]
    assert set(re.findall(r"`(lib\S+\.so\.\d+)`", section)) == linked
    bare = section.split("Besides these")[0]
    assert set(re.findall(r"`(lib\S+\.so\.\d+)`", bare)) == set(LACKED)
    assert "apt-get install -y libgl1" in bare


@pytest.mark.parametrize("requests", [1, 2])
def test_a_kernel_that_cannot_be_loaded_is_told_and_no_file_is_blamed(requests):
    # A module that is None in sys.modules cannot be imported: what a missing library comes to as well (ImportError).
    code = f"""
import io, sys
sys.modules["OCP"] = None
from fitcheck.kernel.protocol import receive, send
from fitcheck.kernel.worker import serve
asked, answered = io.BytesIO(), io.BytesIO()
for _ in range({requests}):
    send(asked, {{"do": "read", "path": "a.step"}})
asked.seek(0)
serve(asked, answered)
answered.seek(0)
for _ in range({requests}):
    print(receive(answered)[0]["error"])
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True)
    lines = done.stdout.splitlines()
    assert len(lines) == requests
    for line in lines:
        assert line.startswith("nothing was read, because the CAD kernel could not be loaded (")
        assert "libGL.so.1" in line
        assert "apt-get install libgl1" in line
        assert "damaged" not in line
