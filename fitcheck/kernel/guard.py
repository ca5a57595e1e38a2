"""What a worker does about itself: it ends with its parent, leaves interrupts to it, and never hangs for ever."""

from __future__ import annotations

import faulthandler
import os
import signal
import sys

GRACE = 30.0
"""Seconds after the time limit at which a worker ends itself, where nobody has ended it by then."""

_SET_PARENT_DEATH_SIGNAL = 1


def follow_parent() -> None:
    """End with the parent, and ignore the interrupt key, which the parent answers for its workers.

    Linux ends the worker at once, even inside the kernel. Elsewhere a worker notices between requests that its input
    has ended, and one that hangs ends by `limit_time`.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if sys.platform == "linux":
        import ctypes

        parent = os.getppid()
        ctypes.CDLL(None).prctl(_SET_PARENT_DEATH_SIGNAL, signal.SIGKILL, 0, 0, 0)
        if os.getppid() != parent:
            os._exit(1)


def limit_time(seconds: float | None) -> None:
    """End this process some time after the limit; a thread of the interpreter's core does so, whatever runs.

    Args:
        seconds: the request's time limit; None once it is done.
    """
    if seconds is None:
        faulthandler.cancel_dump_traceback_later()
    else:
        faulthandler.dump_traceback_later(seconds + GRACE, exit=True)
