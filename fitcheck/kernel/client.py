"""The side of the process boundary without a CAD kernel: starts the workers, asks them, and outlives them.

Two processes work for one STEP file: the reader, which has the CAD kernel loaded, and the helper, which makes the
measurement out of what the reader tells, and has no kernel. The helper's questions to the reader pass through here, so
that this process, which does no more than pass them on, sees who is working at what, holds both to the limits, and
ends both. The reader takes most of a second to load the kernel, so it is started first and asked later.
"""

from __future__ import annotations

import json
import struct
import threading
from array import array
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from types import TracebackType
from typing import Any, Protocol

from fitcheck.errors import StepFileError
from fitcheck.kernel.process import Process
from fitcheck.kernel.protocol import ClosedError, unpacked
from fitcheck.kernel.watch import Watch
from fitcheck.kernel.wording import ENDING, Death, words
from fitcheck.limits import DEFAULT_MEMORY_LIMIT, DEFAULT_TIME_LIMIT

_WORKER = "from fitcheck.kernel.worker import main; main()"
_HELPER = "from fitcheck.helper import main; main()"

# The helper's matrices are small: threads for them cost more than they save.
_ONE_THREAD = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}

# The reader asks for hundreds of MB in small pieces: the C library of Linux may ask for 64 MB at a time, and keep them.
_LARGE_STEPS = {"MALLOC_TOP_PAD_": "67108864", "MALLOC_TRIM_THRESHOLD_": "536870912"}

_GONE = (ClosedError, OSError, ValueError, struct.error, MemoryError)

Parts = Sequence[bytes]


@dataclass
class _State:
    """How far a request about a file has come: what is being done, and by which process."""

    file: str
    phase: str
    working: Process
    broken: str | None = None


class Asked(Protocol):
    """What answers questions about a STEP file: a `Kernel`, or within the helper what reaches one."""

    def ask(self, file: str, phase: str, request: dict[str, Any]) -> tuple[dict[str, Any], list[array[float]]]:
        """As `Kernel.ask`."""


class Kernel:
    """The workers that read and measure STEP files, one file at a time; a context manager.

    A request that crashes a worker or breaks a limit ends that worker only: the request raises `StepFileError`, and
    the next request starts a new one. `close` ends them for good.

    Args:
        time_limit: seconds that one request may take: `ask` one question, `measure` a whole file.
        memory_limit: MB of memory that the workers of a request may hold; resident, all together.
    """

    def __init__(self, time_limit: float = DEFAULT_TIME_LIMIT, memory_limit: float = DEFAULT_MEMORY_LIMIT) -> None:
        self.time_limit = time_limit
        self.memory_limit = memory_limit
        self.reader = Process(_WORKER, _LARGE_STEPS)
        self.helper = Process(_HELPER, _ONE_THREAD, loud=True)
        self._closed = False
        self._lock = threading.Lock()

    def start(self) -> None:
        """Start the workers that do not run, and return at once; the reader loads the kernel meanwhile.

        On Linux they end with the thread that started them, which is how they end with a process that is killed.
        """
        self._start(self.reader)
        self._start(self.helper)

    def _start(self, process: Process) -> None:
        with self._lock:
            if not self._closed:
                process.start()

    def ask(self, file: str, phase: str, request: dict[str, Any]) -> tuple[dict[str, Any], list[array[float]]]:
        """One question to the reader, and its answer.

        Args:
            file: the STEP file's name, for messages.
            phase: what is being done, for messages ("reading").
            request: a JSON-able object with the key "do".

        Returns:
            The reader's answer and its float arrays.

        Raises:
            StepFileError: the reader said that the file is wrong, crashed, or broke a limit; names file and phase.
        """
        state = _State(file, phase, self.reader)
        parts = [json.dumps({**request, "limits": self._limits()}).encode()]

        def asked() -> Parts:
            try:
                return self._exchange(self.reader, parts)
            except _GONE as gone:
                overtime = f"took longer than {self.time_limit:g} s and was stopped"
                raise self._death(state, overtime).error(file) from gone

        self._start(self.reader)
        answer, arrays = unpacked(self._watched([self.reader], state, asked))
        if "error" in answer:
            raise StepFileError(str(answer["error"]), file)
        return answer, arrays

    def call(
        self, file: str, phase: str, parts: Parts, *, reader: bool = True, times: int = 1
    ) -> tuple[dict[str, Any], list[bytes]]:
        """One request to the helper, which may ask the reader in between.

        Args:
            file: the STEP file's name, for messages.
            phase: what the helper does, for messages ("measuring").
            parts: the message; part 0 is a JSON object with the key "do", and is given the limits.
            reader: whether the helper will have questions.
            times: how many times the time limit it may take.

        Returns:
            The object of the helper's answer and the answer's other parts.

        Raises:
            StepFileError: the helper crashed or broke a limit; names file and phase.
        """
        state = _State(file, phase, self.helper)
        first = json.dumps({**json.loads(parts[0]), "limits": self._limits()}).encode()

        def called() -> tuple[dict[str, Any], list[bytes]]:
            try:
                answer = self._exchange(self.helper, [first, *parts[1:]])
                while True:
                    head = json.loads(answer[0])
                    if "ask" not in head:
                        return head, list(answer[1:])
                    answer = self._passed_on(state, head["ask"], answer[1:])
            except _GONE as gone:
                raise self._death(state, self._overtime()).error(file) from gone

        if reader:
            self._start(self.reader)
        self._start(self.helper)
        try:
            answer: tuple[dict[str, Any], list[bytes]] = self._watched([self.reader, self.helper], state, called, times)
            return answer
        finally:
            if state.broken is not None:
                # It has had its answer, and may still hold what broke the limit.
                self.helper.end()

    def _passed_on(self, state: _State, phase: str, question: Parts) -> Parts:
        """A question of the helper's, put to the reader; the helper's next message."""
        before = state.phase
        state.phase, state.working = phase, self.reader
        try:
            answer = self._exchange(self.reader, question)
        except _GONE:
            death = self._death(state, self._overtime())
            if state.broken == "memory":
                raise death.error(state.file) from None
            answer = [json.dumps({"gone": death.words, "lasting": death.lasting}).encode()]
        state.phase, state.working = before, self.helper
        return self._exchange(self.helper, answer)

    @staticmethod
    def _exchange(process: Process, parts: Parts) -> Parts:
        process.send(parts)
        return process.receive()

    def _watched(self, processes: list[Process], state: _State, request: Callable[[], Any], times: int = 1) -> Any:
        def stop(limit: str) -> None:
            state.broken = limit
            # What memory is for is not known of either, and what holds it would keep it.
            for process in processes if limit == "memory" else [state.working]:
                process.kill()

        try:
            return Watch[Any](processes, self.time_limit * times, self.memory_limit, stop).run(request)
        except StepFileError:
            raise
        except BaseException:
            state.broken = "interrupted"
            for process in processes:
                process.kill()
            raise

    def _death(self, state: _State, overtime: str) -> Death:
        """Why the process that was at work has gone; what is left of it is cleared away."""
        code, said = state.working.died()
        death = words(
            state.phase, state.broken, code, said, overtime=overtime, memory_limit=self.memory_limit,
            kernel=state.working is self.reader,
        )  # fmt: skip
        state.working.end()
        return Death(ENDING.format(phase=state.phase), False) if self._closed else death

    def _overtime(self) -> str:
        return f"was stopped, because the file took longer than {self.time_limit:g} s"

    def _limits(self) -> dict[str, float]:
        return {"time": self.time_limit, "memory": self.memory_limit}

    def dismiss(self) -> None:
        """Kill the workers and do not wait for their end; the next request starts new ones."""
        self.helper.kill()
        self.reader.kill()

    def close(self) -> None:
        """End the workers for good; a request that runs in another thread fails."""
        with self._lock:
            self._closed = True
            self.helper.end()
            self.reader.end()

    def __enter__(self) -> Kernel:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, value: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()
