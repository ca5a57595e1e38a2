"""The worker process: loads the CAD kernel, answers requests until its input ends.

Kernel chatter goes to stderr: the kernel writes to file descriptor 1 itself, so that descriptor is redirected and
answers go to a private copy of it.
"""

from __future__ import annotations

import gc
import os
import sys
import threading
import traceback
from array import array
from collections.abc import Callable
from queue import SimpleQueue
from typing import Any, BinaryIO, TypeAlias

from fitcheck.kernel.guard import follow_parent, limit_time
from fitcheck.kernel.protocol import ClosedError, receive, send
from fitcheck.limits import limit_address_space

Answer: TypeAlias = "tuple[dict[str, Any], list[array[float]]]"

NOT_LOADED = (
    "nothing was read, because the CAD kernel could not be loaded ({}); a bare container lacks the library libGL.so.1: "
    "install it (Debian, Ubuntu: apt-get install libgl1), or install fitcheck again"
)


def main() -> None:
    """Answer requests from stdin on stdout until stdin ends."""
    follow_parent()
    # The kernel's thousands of classes, and the features of a large file, are no garbage: looking through them again
    # and again takes a tenth of the time. It is collected between requests, while the other side works.
    gc.disable()
    private = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    # Without a buffer, whose lock a thread that waits for a request would hold at the interpreter's end.
    serve(os.fdopen(os.dup(0), "rb", buffering=0), private)


def serve(requests: BinaryIO, answers: BinaryIO) -> None:
    """Answer requests until their stream ends.

    An exception in one request is answered as an error and does not end the worker. A kernel that cannot be loaded is
    told with every request, so that nobody blames the STEP file.
    """
    try:
        from fitcheck.kernel.session import Session

        gc.freeze()
    except ImportError as error:
        _refuse(requests, answers, NOT_LOADED.format(error))
        return

    session = Session()
    handlers: dict[str, Callable[..., Answer]] = {
        "read": session.read,
        "volumes": session.volumes,
        "clip": session.clip,
        "edges": session.edges,
        "meridians": session.meridians,
        "mesh": session.mesh,
        "side": session.side,
        "inside": session.inside,
        "depth": session.depth,
    }
    incoming: SimpleQueue[dict[str, Any] | None] = SimpleQueue()
    threading.Thread(target=_listen, args=(requests, incoming), daemon=True).start()
    bounded = False
    while (request := incoming.get()) is not None:
        limits = request.pop("limits", {})
        limit_time(limits.get("time"))
        if "memory" in limits and not bounded:
            limit_address_space(limits["memory"])
            bounded = True
        do = request.pop("do")
        try:
            answer, arrays = handlers[do](**request)
        except MemoryError:
            # What the request held is unknown; a new worker starts clean.
            print("MemoryError", file=sys.stderr, flush=True)
            os._exit(1)
        except Exception as error:
            traceback.print_exc(file=sys.stderr)
            text = str(error).strip() or type(error).__name__
            words = f"the CAD kernel could not finish: {text.splitlines()[0]}"
            answer, arrays = {"error": words, "lasting": True}, []
        send(answers, answer, arrays)
        # What will be asked for is done while the other side works on what it has been told, a piece at a time.
        while incoming.empty() and session.ahead():
            pass
        limit_time(None)
        del request, answer, arrays
        gc.collect(0)


def _listen(requests: BinaryIO, incoming: SimpleQueue[dict[str, Any] | None]) -> None:
    """Take requests in as they come, None at the end of their stream."""
    try:
        while True:
            incoming.put(receive(requests)[0])
    except ClosedError:
        pass
    finally:
        incoming.put(None)


def _refuse(requests: BinaryIO, answers: BinaryIO, reason: str) -> None:
    while True:
        try:
            receive(requests)
        except ClosedError:
            return
        send(answers, {"error": reason}, [])
