from __future__ import annotations

import textwrap
from pathlib import Path

import pytest

from fitcheck.kernel import client

SAMPLES = Path(__file__).parents[3] / "sample_assemblies" / "passing"

# A worker whose session does on demand what a damaged file may do to the CAD kernel. The hang holds the interpreter's
# lock, as the kernel does: a regular expression that backtracks for ever runs no Python either.
RIGGED = """
import os, re, sys
real = {real!r}
if real:
    from fitcheck.kernel import session
    Base = session.Session
else:
    import types
    session = sys.modules["fitcheck.kernel.session"] = types.ModuleType("fitcheck.kernel.session")
    class Base:
        def read(self, path="", unit=None):
            return {{"pid": os.getpid()}}, []
        def ahead(self):
            return False
        volumes = clip = edges = meridians = mesh = side = inside = depth = read
class Session(Base):
    def read(self, path, unit=None):
        for name in ("crash", "hang", "eat", "grab", "flood", "exit", "garble", "bad"):
            if os.path.basename(path).startswith(name):
                getattr(self, name)()
        return super().read(path, unit)
    def crash(self):
        os.abort()
    def hang(self):
        re.match("(a+)+$", "a" * 64 + "b")
    def eat(self):
        kept = []
        while True:
            kept.append(bytearray(os.urandom(1 << 20)) * 8)
    def grab(self):
        bytearray(1 << 42)
    def flood(self):
        while True:
            os.write(1, b"*** ERR StepReaderData : unresolved reference" * 2000)
    def exit(self):
        os._exit(7)
    def garble(self):
        raise RuntimeError("Standard_Failure: odd" + chr(10) + "second line")
    def bad(self):
        os.close(3)
session.Session = Session
from fitcheck.kernel.worker import main
main()
"""


@pytest.fixture
def rigged(monkeypatch):
    """Puts the rigged worker in the place of the real one; `real` keeps the CAD kernel behind it."""

    def put(*, real: bool = False) -> None:
        monkeypatch.setattr(client, "_WORKER", textwrap.dedent(RIGGED.format(real=real)))

    return put


@pytest.fixture
def jobs(tmp_path):
    """Makes job files with STEP files of given names, each a copy of a sample with its own content."""

    def make(*names: str) -> list[str]:
        made = []
        for name in names:
            text = (SAMPLES / "z-passes.step").read_text()
            (tmp_path / f"{name}.step").write_text(text.replace("HEADER;", f"HEADER;/* {name} */", 1))
            job = (SAMPLES / "z-passes.fit.yaml").read_text()
            path = tmp_path / f"{name}.fit.yaml"
            path.write_text(job.replace("step: z-passes.step", f"step: {name}.step"))
            made.append(str(path))
        return made

    return make
