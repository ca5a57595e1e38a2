from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
import types
from pathlib import Path

import pytest

from fitcheck.errors import StepFileError
from fitcheck.kernel.client import Kernel
from fitcheck.kernel.protocol import receive, send
from fitcheck.kernel.watch import MOST_CHATTER
from fitcheck.kernel.worker import serve
from fitcheck.limits import resident

linux = pytest.mark.skipif(sys.platform != "linux", reason="reads /proc")

WAYS = [
    ("crash", r"crash\.step: the CAD kernel crashed while reading \(signal 6\); .*export it again"),
    ("exit", r"exit\.step: the CAD kernel crashed while reading \(exit code 7\)"),
    ("hang", r"hang\.step: reading took longer than 1 s and was stopped; .*--time-limit"),
    ("eat", r"eat\.step: reading needed more than 300 MB of memory and was stopped; .*--memory-limit"),
    ("grab", r"grab\.step: reading needed more than 300 MB of memory and was stopped; .*--memory-limit"),
    ("flood", rf"flood\.step: the CAD kernel wrote more than {MOST_CHATTER >> 20} MB of messages while reading"),
    ("garble", r"garble\.step: the CAD kernel could not finish: Standard_Failure: odd$"),
]


def alive(pid: int) -> bool:
    try:
        return "\nState:\tZ" not in Path(f"/proc/{pid}/status").read_text()
    except OSError:
        return False


def ask(kernel: Kernel, name: str):
    return kernel.ask(f"{name}.step", "reading", {"do": "read", "path": f"/anywhere/{name}.step"})


@pytest.mark.skipif(sys.platform == "win32", reason="signals and memory limits are those of POSIX")
@pytest.mark.parametrize(("name", "words"), WAYS)
def test_what_ends_one_request_is_told_and_the_next_one_works(rigged, name, words):
    rigged()
    with Kernel(time_limit=1.0 if name == "hang" else 30.0, memory_limit=300.0) as kernel:
        before = time.monotonic()
        with pytest.raises(StepFileError, match=words):
            ask(kernel, name)
        assert time.monotonic() - before < 15.0
        assert ask(kernel, "good")[0]["pid"] > 0


@linux
def test_close_ends_the_worker_and_a_closed_kernel_starts_none(rigged):
    rigged()
    kernel = Kernel()
    pid = ask(kernel, "good")[0]["pid"]
    kernel.close()
    assert not alive(pid)
    with pytest.raises(StepFileError, match=r"good\.step: reading was stopped, because fitcheck is ending"):
        ask(kernel, "good")
    kernel.start()
    assert kernel.reader.popen is None


def test_close_ends_a_request_that_runs_in_another_thread(rigged):
    rigged()
    kernel, said = Kernel(), []

    def hang() -> None:
        try:
            ask(kernel, "hang")
        except StepFileError as error:
            said.append(str(error))

    thread = threading.Thread(target=hang)
    thread.start()
    time.sleep(0.5)
    kernel.close()
    thread.join(timeout=10)
    assert said == ["hang.step: reading was stopped, because fitcheck is ending"]


@linux
def test_a_worker_ends_by_itself_when_its_parent_is_killed_even_while_it_hangs(tmp_path, rigged):
    rigged()
    from fitcheck.kernel import client

    script = tmp_path / "parent.py"
    script.write_text(
        "import sys, threading\n"
        "from fitcheck.kernel import client\n"
        f"client._WORKER = {client._WORKER!r}\n"
        "kernel = client.Kernel()\n"
        "print(kernel.ask('good.step', 'reading', {'do': 'read', 'path': 'good.step'})[0]['pid'], flush=True)\n"
        "kernel.ask('hang.step', 'reading', {'do': 'read', 'path': 'hang.step'})\n"
    )
    with subprocess.Popen([sys.executable, script], stdout=subprocess.PIPE, text=True) as parent:
        assert parent.stdout is not None
        pid = int(parent.stdout.readline())
        time.sleep(0.3)
        assert alive(pid)
        parent.kill()
        parent.wait()
    for _ in range(100):
        if not alive(pid):
            break
        time.sleep(0.02)
    assert not alive(pid)


@linux
def test_resident_memory_is_that_of_procfs_and_none_for_no_process():
    # Second source: VmRSS of /proc/self/status, in kB.
    status = Path("/proc/self/status").read_text()
    said = int(status.partition("VmRSS:")[2].split()[0]) * 1024
    assert resident(os.getpid()) == pytest.approx(said, rel=0.05)
    assert resident(2**22 + 1) is None


def test_a_kernel_that_cannot_be_loaded_is_no_fault_of_the_file(monkeypatch):
    from fitcheck.kernel import client

    monkeypatch.setattr(client, "_WORKER", "import a_module_that_is_not_there")
    words = r"the CAD kernel could not be loaded \(ModuleNotFoundError: .*a_module_that_is_not_there.*pip install"
    with Kernel() as kernel, pytest.raises(StepFileError, match=words):
        ask(kernel, "good")


def test_no_fork_is_used(monkeypatch, rigged):
    rigged()
    monkeypatch.delattr(os, "fork", raising=False)
    with Kernel() as kernel:
        assert ask(kernel, "good")[0]["pid"] != os.getpid()


def test_what_will_be_asked_for_is_done_in_pieces_and_never_keeps_a_question_waiting(monkeypatch):
    class Session:
        done = 0

        def read(self):
            return {"done": Session.done}, []

        def ahead(self):
            time.sleep(0.01)
            Session.done += 1
            return Session.done < 10_000

        volumes = clip = edges = meridians = mesh = side = inside = depth = read

    monkeypatch.setitem(sys.modules, "fitcheck.kernel.session", types.SimpleNamespace(Session=Session))
    (asked, ask), (answer, answered) = os.pipe(), os.pipe()
    with (
        open(asked, "rb", buffering=0) as requests, open(ask, "wb", buffering=0) as question,
        open(answer, "rb") as answers, open(answered, "wb") as told,
    ):  # fmt: skip
        thread = threading.Thread(target=serve, args=(requests, told))
        thread.start()
        send(question, {"do": "read"})
        assert receive(answers)[0] == {"done": 0}
        while Session.done < 3:
            time.sleep(0.001)
        send(question, {"do": "clip"})
        # Ten thousand pieces would take minutes.
        assert 3 <= receive(answers)[0]["done"] < 5000
        question.close()
        thread.join(timeout=60.0)
        assert not thread.is_alive()
