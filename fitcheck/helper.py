"""The helper process: measures STEP files, and checks jobs of a folder beside other helpers; without a CAD kernel.

It is a process of its own so that a file that makes the measuring slow, large or fail costs the command nothing but an
answer. Its questions to the CAD kernel go back to the process that started it, which passes them on to the reader.
"""

from __future__ import annotations

import gc
import json
import os
import sys
import traceback
from array import array
from collections.abc import Sequence
from typing import Any, BinaryIO

from fitcheck.errors import FitcheckError, MeasureError, StepFileError
from fitcheck.kernel.guard import follow_parent, limit_time
from fitcheck.kernel.protocol import ClosedError, receive_parts, send_parts, unpacked
from fitcheck.limits import limit_address_space

Parts = Sequence[bytes]


def main() -> None:
    """Answer requests from stdin on stdout until stdin ends."""
    follow_parent()
    # Collected between requests, as in the reader.
    gc.disable()
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    # Loaded while the reader loads the kernel, and the command its own rooms.
    import fitcheck.measurement.edge_table
    import fitcheck.measurement.measure
    import fitcheck.measurement.profile
    import fitcheck.measurement.solid
    import fitcheck.measurement.soundness
    import fitcheck.measurement.statements
    import fitcheck.measurement.tessellate
    import fitcheck.measurement.trace  # noqa: F401
    from fitcheck.standards.frames import closest_frame

    # Any frame: what is wanted is that the tables are read.
    closest_frame(1.0, "square", (1.0,), 4)

    gc.freeze()
    serve(sys.stdin.buffer, answers)


def serve(requests: BinaryIO, answers: BinaryIO) -> None:
    """Answer requests until their stream ends; a fault in one is told as its answer, and does not end the process."""
    bounded = False
    while True:
        try:
            parts = receive_parts(requests)
        except ClosedError:
            return
        request = json.loads(parts[0])
        limits = request["limits"]
        if not bounded:
            limit_address_space(limits["memory"])
            bounded = True
        try:
            if request["do"] == "measure":
                answer = _measured(request, Reader(requests, answers, limits))
            else:
                answer = _checked(parts[1:])
        except ClosedError:
            return
        except MemoryError:
            # What the request held is unknown; a new process starts clean.
            print("MemoryError", file=sys.stderr, flush=True)
            os._exit(1)
        except Exception as error:
            answer = [json.dumps(_told(error)).encode()]
        send_parts(answers, answer)
        limit_time(None)
        del parts, request, answer
        gc.collect()


class Reader:
    """The kernel room's client within the helper: its questions go to the process that started this one.

    Args:
        requests: where answers come from.
        answers: where questions go.
        limits: of the file: seconds and MB.
    """

    def __init__(self, requests: BinaryIO, answers: BinaryIO, limits: dict[str, float]) -> None:
        self._requests, self._answers, self._limits = requests, answers, limits

    def ask(self, file: str, phase: str, request: dict[str, Any]) -> tuple[dict[str, Any], list[array[float]]]:
        """As `fitcheck.kernel.client.Kernel.ask`."""
        question = json.dumps({**request, "limits": self._limits}).encode()
        send_parts(self._answers, [json.dumps({"ask": phase}).encode(), question])
        answer, arrays = unpacked(receive_parts(self._requests))
        words = answer.get("gone", answer.get("error"))
        if words is not None:
            error = StepFileError(str(words), file)
            error.lasting = answer.get("lasting", False)
            raise error
        return answer, arrays


def _measured(request: dict[str, Any], reader: Reader) -> Parts:
    from fitcheck.measurement.measure import measure_file
    from fitcheck.measurement.options import options_from
    from fitcheck.measurement.store import to_bytes

    limit_time(request["limits"]["time"])
    found = measure_file(request["path"], options_from(request["options"]), reader)
    return [b"{}", to_bytes(found)]


def _checked(parts: Parts) -> Parts:
    """Jobs on one measurement: pickled (jobs with their names, strict) and a measurement, to pickled results.

    Pickles come from the process that started this one, and go back to it: a STEP file's content is in them as plain
    data only.
    """
    import pickle

    from fitcheck.measurement.store import from_bytes
    from fitcheck.outcome import checked
    from fitcheck.rooms import Rooms

    jobs, strict = pickle.loads(parts[0])
    measurement, rooms = from_bytes(parts[1]), Rooms()
    results = [checked(loaded, name, strict, rooms, measurement, keep_obstacles=False) for name, loaded in jobs]
    return [b"{}", pickle.dumps(results)]


def _told(error: Exception) -> dict[str, Any]:
    """An error as a JSON-able object."""
    if isinstance(error, StepFileError):
        kind = "measure" if isinstance(error, MeasureError) else "step"
        cause = error.__cause__
        lasting = error.lasting or (isinstance(cause, StepFileError) and cause.lasting)
        return {"kind": kind, "words": error.message, "lasting": lasting}
    if isinstance(error, FitcheckError):
        return {"kind": "other", "words": str(error)}
    return {"kind": "fault", "words": f"{type(error).__name__}: {error}", "trace": traceback.format_exc()}
