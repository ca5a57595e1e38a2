"""The words for a worker process that has gone, and whether the STEP file's content is to blame for it."""

from __future__ import annotations

import signal
from dataclasses import dataclass

from fitcheck.errors import StepFileError
from fitcheck.kernel.watch import MOST_CHATTER

ENDING = "{phase} was stopped, because fitcheck is ending"

_OWN_FAULTS = ("SIGABRT", "SIGBUS", "SIGFPE", "SIGILL", "SIGSEGV", "SIGTRAP")
"""Signals by which a process ends through what it does itself; by another one it was ended from outside."""

_OWN_CODES = (0xC0000005, 0xC0000094, 0xC000001D, 0xC00000FD, 0xC0000374, 0xC0000409)
"""The same on Windows (NTSTATUS, from memory): access violation, division, instruction, stack, heap, buffer."""


@dataclass(frozen=True)
class Death:
    """How a worker ended: words for the user, and whether the same file would end it again."""

    words: str
    lasting: bool

    def error(self, file: str) -> StepFileError:
        """The error to raise about a file."""
        error = StepFileError(self.words, file)
        error.lasting = self.lasting
        return error


def words(
    phase: str, broken: str | None, code: int, said: str, *, overtime: str, memory_limit: float, kernel: bool
) -> Death:
    """What is to be told of a worker that has gone.

    Args:
        phase: what it did ("reading").
        broken: the limit that it broke: time, memory, messages or None.
        code: its exit code; negative, the signal.
        said: its last words on stderr.
        overtime: what is said after the phase where the time ran out.
        memory_limit: MB.
        kernel: whether it was the process with the CAD kernel.
    """
    if broken == "time":
        return Death(f"{phase} {overtime}; simplify the file, or allow more time with --time-limit", False)
    if broken == "memory" or "bad_alloc" in said or "MemoryError" in said:
        text = (
            f"{phase} needed more than {memory_limit:g} MB of memory and was stopped; simplify the file, or allow "
            "more with --memory-limit"
        )
        return Death(text, False)
    who = "the CAD kernel" if kernel else "the measuring process"
    if broken == "messages":
        text = (
            f"{who} wrote more than {MOST_CHATTER >> 20} MB of messages while {phase} and was stopped; the file is "
            "damaged, export it again"
        )
        return Death(text, True)
    if code == 1 and ("ImportError" in said or "ModuleNotFoundError" in said):
        package = "cadquery-ocp" if kernel else "fitcheck"
        text = (
            f"{who} could not be loaded ({said.strip().splitlines()[-1]}); install it again with: "
            f"pip install --force-reinstall {package}"
        )
        return Death(text, False)
    how = f"signal {-code}" if code < 0 else f"exit code {code}"
    text = (
        f"{who} crashed while {phase} ({how}); the file is damaged or holds what {'the kernel' if kernel else 'it'} "
        "cannot take: export it again, with exact geometry only"
    )
    own = {-int(getattr(signal, name)) for name in _OWN_FAULTS if hasattr(signal, name)}
    return Death(text, code in own or code & 0xFFFFFFFF in _OWN_CODES)
