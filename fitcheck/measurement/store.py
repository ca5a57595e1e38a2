"""A measurement as bytes and back, exactly: a checksum, a JSON header and raw little-endian arrays; never code.

    8 bytes   MAGIC
    32 bytes  SHA-256 of all that follows
    8 bytes   length of the header, padding included
    header    UTF-8 JSON, padded with spaces so that the arrays begin at a multiple of 8
    arrays    one behind the other, as the header lists them

An array that does not fill a multiple of 8 bytes is padded, so that every array can be used where it lies.
"""

from __future__ import annotations

import hashlib
import json
import struct
from dataclasses import fields
from typing import Any

from fitcheck.measurement.model import (
    FORMAT,
    AxisLine,
    Body,
    BoltPattern,
    Coaxiality,
    CouplingBore,
    Cylinder,
    End,
    Flat,
    FreeRadius,
    Keyseat,
    MeasuredCoupling,
    Measurement,
    Opening,
    Pilot,
    Register,
    Shaft,
    Unsettled,
    Window,
)

STORE = 1
"""Counts up when this layout changes."""

MAGIC = b"fitmeas\x01"

_LENGTH = struct.Struct("<Q")
_HEAD = len(MAGIC) + 32 + _LENGTH.size

_CLASSES: dict[str, type] = {
    "bodies": Body, "drive_axis": AxisLine, "ends": End, "pilot": Pilot, "opening": Opening, "register": Register,
    "machine_register": Register, "bolts": BoltPattern, "shaft": Shaft, "flat": Flat, "keyseat": Keyseat,
    "coaxiality": Coaxiality, "free_radius": FreeRadius, "cylinders": Cylinder, "coupling": MeasuredCoupling,
    "bores": CouplingBore, "unsettled": Unsettled, "windows": Window,
}  # fmt: skip
"""What a field of that name holds, in whichever dataclass of the model it stands."""

_NAMES = {kind: tuple(field.name for field in fields(kind)) for kind in (Measurement, *_CLASSES.values())}

_ARRAYS = {
    "segments": "<f8", "segment_bound": "<f8", "segment_body": "<i4",
    "triangles": "<f8", "triangle_bound": "<f8", "triangle_body": "<i4",
}  # fmt: skip


class StoreError(ValueError):
    """The bytes are no measurement of this format, or were damaged."""


def to_bytes(measurement: Measurement) -> bytes:
    """The measurement with its obstacles."""
    obstacles = measurement.obstacles
    plain = {name: _plain(getattr(measurement, name)) for name in _NAMES[Measurement] if name != "obstacles"}
    arrays: list[dict[str, Any]] = []
    # Arrays of many MB are copied once, into what is returned.
    parts: list[bytes | memoryview] = []
    if obstacles is not None:
        import numpy as np

        for name, kind in _ARRAYS.items():
            array = np.ascontiguousarray(getattr(obstacles, name), dtype=kind)
            arrays.append({"name": name, "shape": array.shape})
            parts += [array.reshape(-1).data, b"\0" * (-array.nbytes % 8)]
    head = {"format": FORMAT, "store": STORE, "measurement": plain, "arrays": arrays}
    header = json.dumps(head, separators=(",", ":"), default=_number).encode()
    header += b" " * (-(_HEAD + len(header)) % 8)
    parts[:0] = [_LENGTH.pack(len(header)), header]
    checksum = hashlib.sha256()
    for part in parts:
        checksum.update(part)
    return b"".join([MAGIC, checksum.digest(), *parts])


def _plain(value: Any) -> Any:
    """A part of a measurement as JSON has it; the library's own way copies each number, and takes thrice as long."""
    if isinstance(value, tuple):
        return value if all(isinstance(item, float) for item in value) else [_plain(item) for item in value]
    names = _NAMES.get(type(value))
    return value if names is None else {name: _plain(getattr(value, name)) for name in names}


def _number(value: Any) -> Any:
    """A number of an array library as a plain one; anything else has no place in a measurement."""
    if hasattr(value, "item"):
        return value.item()
    msg = f"a measurement holds a {type(value).__name__}, which cannot be stored"
    raise TypeError(msg)


def from_bytes(data: bytes, *, obstacles: bool = True) -> Measurement:
    """The measurement of `to_bytes`; its arrays are read-only.

    Args:
        data: what `to_bytes` returned.
        obstacles: also build the obstacles; without them no array library is loaded.

    Raises:
        StoreError: the bytes are not of this format, or were damaged.
    """
    view = memoryview(data)
    if len(data) < _HEAD or view[: len(MAGIC)] != MAGIC:
        msg = "is no stored measurement of this format"
        raise StoreError(msg)
    rest = view[len(MAGIC) + 32 :]
    if hashlib.sha256(rest).digest() != view[len(MAGIC) : len(MAGIC) + 32]:
        msg = "the stored measurement is damaged: its checksum differs"
        raise StoreError(msg)
    start = _LENGTH.size + _LENGTH.unpack_from(rest)[0]
    try:
        head = json.loads(bytes(rest[_LENGTH.size : start]))
        if head["format"] != FORMAT or head["store"] != STORE:
            msg = "is a stored measurement of another format"
            raise StoreError(msg)
        plain = {name: _rebuilt(name, value) for name, value in head["measurement"].items()}
        if obstacles and head["arrays"]:
            plain["obstacles"] = _obstacles(data, len(data) - len(rest) + start, head["arrays"])
        return Measurement(**plain)
    except (KeyError, TypeError, ValueError, AttributeError) as problem:
        if isinstance(problem, StoreError):
            raise
        msg = f"the stored measurement cannot be understood: {problem}"
        raise StoreError(msg) from problem


def _rebuilt(name: str, value: Any) -> Any:
    """The field's value with its classes, and tuples for lists."""
    if isinstance(value, list):
        # What begins with a number is numbers: a place, a direction, a pair.
        return tuple(value) if value and type(value[0]) is float else tuple([_rebuilt(name, item) for item in value])
    if isinstance(value, dict):
        return _CLASSES[name](**{
            key: _rebuilt(key, item) if isinstance(item, (list, dict)) else item for key, item in value.items()
        })  # fmt: skip
    return value


def _obstacles(data: bytes, at: int, listed: list[dict[str, Any]]) -> Any:
    from math import prod

    import numpy as np

    from fitcheck.measurement.obstacles import Obstacles

    found = {}
    for item in listed:
        kind = np.dtype(_ARRAYS[item["name"]])
        count = prod(item["shape"])
        found[item["name"]] = np.frombuffer(data, dtype=kind, count=count, offset=at).reshape(item["shape"])
        at += -(-count * kind.itemsize // 8) * 8
    return Obstacles(**found)
