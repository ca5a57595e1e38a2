"""The messages between a command and its workers: a JSON object and any number of float arrays.

A message is: the number of parts, the length of each part, the parts. Part 0 is UTF-8 JSON; the others are raw
little-endian 64-bit floats. Nothing but plain data comes from a process that has read a STEP file with the CAD kernel.
"""

from __future__ import annotations

import json
import struct
from array import array
from collections.abc import Sequence
from typing import IO, Any

_COUNT = struct.Struct("<I")
_LENGTH = struct.Struct("<Q")


class ClosedError(Exception):
    """The other side has gone; what has arrived of a message is lost."""


def send(stream: IO[bytes], message: dict[str, Any], arrays: Sequence[array[float]] = ()) -> None:
    """Write one message and flush.

    Args:
        stream: a binary stream.
        message: a JSON-able object.
        arrays: arrays of type code "d".
    """
    send_parts(stream, [json.dumps(message).encode(), *(item.tobytes() for item in arrays)])


def receive(stream: IO[bytes]) -> tuple[dict[str, Any], list[array[float]]]:
    """Read one message.

    Returns:
        The object and the arrays.

    Raises:
        ClosedError: the stream ended first.
    """
    return unpacked(receive_parts(stream))


def unpacked(parts: Sequence[bytes]) -> tuple[dict[str, Any], list[array[float]]]:
    """The object and the arrays of a message's parts."""
    arrays: list[array[float]] = []
    for part in parts[1:]:
        numbers = array("d")
        numbers.frombytes(part)
        arrays.append(numbers)
    return json.loads(parts[0]), arrays


def send_parts(stream: IO[bytes], parts: Sequence[bytes]) -> None:
    """Write the parts of one message as they are, and flush."""
    stream.write(_COUNT.pack(len(parts)) + b"".join(_LENGTH.pack(len(part)) for part in parts))
    for part in parts:
        stream.write(part)
    stream.flush()


def receive_parts(stream: IO[bytes]) -> list[bytes]:
    """Read the parts of one message; raises `ClosedError` where the stream ends first."""
    count = _COUNT.unpack(_exactly(stream, _COUNT.size))[0]
    lengths = [_LENGTH.unpack(_exactly(stream, _LENGTH.size))[0] for _ in range(count)]
    return [_exactly(stream, length) for length in lengths]


def _exactly(stream: IO[bytes], size: int) -> bytes:
    pieces: list[bytes] = []
    missing = size
    while missing:
        piece = stream.read(missing)
        if not piece:
            raise ClosedError
        pieces.append(piece)
        missing -= len(piece)
    return b"".join(pieces)
