from __future__ import annotations

import dataclasses
import math
import types
import typing

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.measurement import model, store
from fitcheck.measurement.obstacles import Obstacles

ANY_FLOAT = st.floats(allow_nan=False)
VECTOR = st.tuples(ANY_FLOAT, ANY_FLOAT, ANY_FLOAT)


def strategy(hint, name=""):
    """Any value of a type hint of the model, made from the hint alone."""
    origin, args = typing.get_origin(hint), typing.get_args(hint)
    if name == "obstacles":
        return obstacles()
    if origin in (typing.Union, types.UnionType):
        return st.one_of(*(strategy(arg) for arg in args))
    if origin is tuple:
        if args[-1] is Ellipsis:
            return st.lists(strategy(args[0]), max_size=3).map(tuple)
        return st.tuples(*(strategy(arg) for arg in args))
    if dataclasses.is_dataclass(hint):
        hints = typing.get_type_hints(hint, {**vars(model), "Obstacles": Obstacles})
        return st.builds(hint, **{key: strategy(value, key) for key, value in hints.items()})
    return {float: ANY_FLOAT, int: st.integers(), str: st.text(max_size=8), bool: st.booleans(),
            type(None): st.none()}[hint]  # fmt: skip


@st.composite
def obstacles(draw):
    n, m = draw(st.integers(0, 3)), draw(st.integers(0, 3))
    seed = np.random.default_rng(draw(st.integers(0, 9999)))
    return Obstacles(
        segments=seed.normal(size=(n, 2, 3)), segment_bound=seed.normal(size=n),
        segment_body=seed.integers(0, 9, n).astype(np.int32), triangles=seed.normal(size=(m, 3, 3)),
        triangle_bound=seed.normal(size=m), triangle_body=seed.integers(0, 9, m).astype(np.int32),
    )  # fmt: skip


def same(a, b):
    """Equal to the last bit, obstacles too; the model's own == leaves obstacles and the cache mark out."""
    for field in dataclasses.fields(a):
        left, right = getattr(a, field.name), getattr(b, field.name)
        if field.name == "obstacles" and left is not None:
            for part in dataclasses.fields(left):
                x, y = getattr(left, part.name), getattr(right, part.name)
                assert x.shape == y.shape
                assert x.dtype == y.dtype
                assert x.tobytes() == y.tobytes()
        else:
            assert left == right
            assert repr(left) == repr(right)  # tells 0.0 from -0.0, a tuple from a list


@settings(max_examples=60, deadline=None)
@given(strategy(model.Measurement))
def test_any_measurement_comes_back_to_the_last_bit(measurement):
    same(measurement, store.from_bytes(store.to_bytes(measurement)))


def sample(**changes):
    parts = {
        "file": "a.step", "sha256": "0" * 64, "file_unit": "mm", "drive_axis": None, "coaxiality": None,
        "bodies": (model.Body(name="ä", role="adapter", volume=0.1),), "ends": (), "cylinders": (),
        "free_radius": model.FreeRadius(least=1 / 3, station=0.0, profile=((0.0, math.inf),)),
    }  # fmt: skip
    return model.Measurement(**(parts | changes))


def test_every_bit_flip_and_every_cut_is_noticed():
    data = store.to_bytes(sample())
    for place in range(len(data)):
        wrong = bytearray(data)
        wrong[place] ^= 1 << place % 8
        with pytest.raises(store.StoreError, match=r"damaged|no stored measurement"):
            store.from_bytes(bytes(wrong))
    for length in range(0, len(data), 7):
        with pytest.raises(store.StoreError, match=r"damaged|no stored measurement"):
            store.from_bytes(data[:length])


OURS = b'{"format":"fitcheck.measurement/1","store":1,"arrays":[],"measurement":'


@pytest.mark.parametrize("header", [
    b"[]", b"{}", b"not json", b'{"format":"other/1","store":1}', OURS + b'{"odd":1}}', OURS + b"[]}",
])  # fmt: skip
def test_a_sound_checksum_over_foreign_content_is_still_refused(header):
    import hashlib
    import struct

    rest = struct.pack("<Q", len(header)) + header
    data = store.MAGIC + hashlib.sha256(rest).digest() + rest
    with pytest.raises(store.StoreError, match=r"cannot be understood|another format"):
        store.from_bytes(data)


def test_obstacles_can_be_left_out_and_arrays_are_read_only():
    one = Obstacles(segments=np.ones((1, 2, 3)), segment_bound=np.zeros(1), segment_body=np.ones(1, dtype=np.int32),
                    triangles=np.ones((1, 3, 3)), triangle_bound=np.zeros(1),
                    triangle_body=np.zeros(1, dtype=np.int32))  # fmt: skip
    data = store.to_bytes(sample(obstacles=one))
    assert store.from_bytes(data, obstacles=False).obstacles is None
    back = store.from_bytes(data).obstacles
    with pytest.raises(ValueError, match="read-only"):
        back.segments[0, 0, 0] = 5.0
    assert back.segments.ctypes.data % 8 == 0


def test_numbers_of_the_array_library_are_stored_as_plain_ones():
    back = store.from_bytes(store.to_bytes(sample(bodies=(model.Body(name="a", role="b", volume=np.float32(2)),))))
    assert back.bodies[0].volume == 2.0
    with pytest.raises(TypeError, match="holds a object, which cannot be stored"):
        store.to_bytes(sample(file_unit=object()))
