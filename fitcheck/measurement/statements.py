"""The statements of a STEP data section, looked through as arrays of bytes: without work for each statement.

A sound section is a row of statements `#number = KEYWORD(...);`. Where each `;` has one `=`, each `=` one number before
and one keyword behind it, and brackets come in pairs, nothing is wrong; only where something is does a slower look at
each statement pay. Strings and comments have been taken out before.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

BLOCK = 1 << 21
"""Bytes that are looked through at a time, to bound the memory: about 25 bytes are needed for each."""

MOST_DIGITS = 18
"""A longer number does not fit into 64 bits."""

Bytes = NDArray[np.uint8]
Places = NDArray[np.int64]

_WORD = np.zeros(256, dtype=bool)
_WORD[list(b"ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_")] = True
_FIRST = np.zeros(256, dtype=bool)
_FIRST[list(b"ABCDEFGHIJKLMNOPQRSTUVWXYZ!")] = True
_INK = np.ones(256, dtype=bool)
_INK[list(b" \t\n\r\v\f")] = False


def numbers_of(section: bytes) -> tuple[Places, Places] | None:
    """The numbers that a section defines and those that it refers to, both sorted and each once; None where anything
    about its statements is odd: a broken one, a number defined twice, a keyword in small letters.

    Args:
        section: what stands between DATA; and ENDSEC;, without strings and comments.
    """
    defined: list[Places] = []
    referred: list[Places] = []
    for block in _blocks(section):
        found = _numbers(np.frombuffer(block, dtype=np.uint8))
        if found is None:
            return None
        defined.append(found[0])
        referred.append(np.unique(found[1]))
    if not defined:
        return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
    every = np.sort(np.concatenate(defined))
    if (every[1:] == every[:-1]).any():
        return None
    return every, np.unique(np.concatenate(referred))


def _blocks(section: bytes) -> Iterator[bytes]:
    """The section in pieces that end with a statement."""
    start = 0
    while start < len(section):
        stop = section.find(b";", start + BLOCK)
        stop = len(section) if stop < 0 else stop + 1
        piece = section[start:stop]
        if piece.strip():
            yield piece
        start = stop


def _numbers(data: Bytes) -> tuple[Places, Places] | None:
    """The numbers defined, and all numbers named, of a block; None where it is odd."""
    ink = np.flatnonzero(_INK[data])
    text = data[ink]
    ends, equals = np.flatnonzero(text == ord(";")), np.flatnonzero(text == ord("="))
    marks = np.flatnonzero(text == ord("#"))
    opening, closing = np.flatnonzero(text == ord("(")), np.flatnonzero(text == ord(")"))
    count = len(ends)
    if count == 0 or len(equals) != count or ends[-1] != len(text) - 1 or not len(marks):
        return None
    starts = np.concatenate([np.zeros(1, dtype=np.int64), ends[:-1] + 1])
    # `#`, digits, `=`: the mark begins the statement, and nothing but its digits stands before the equals sign.
    mine = np.searchsorted(marks, starts)
    if mine[-1] >= len(marks) or not ((marks[mine] == starts) & (equals > starts) & (equals < ends)).all():
        return None
    values, digits = _parsed(text, marks)
    if values is None or not (starts + digits[mine] + 1 == equals).all():
        return None
    # The digits of a number, and the letters of a keyword, have no space between them.
    last = marks + digits
    if not (ink[last] - ink[marks] == digits).all() or not (text[ends - 1] == ord(")")).all():
        return None
    bracket = np.searchsorted(opening, equals)
    if bracket[-1] >= len(opening):
        return None
    first, before = equals + 1, opening[bracket] - 1
    named = before >= first
    letters = np.concatenate([np.zeros(1, dtype=np.int64), np.cumsum(_WORD[text])])
    sound = ~named | (
        _FIRST[text[first]]
        & (letters[before + 1] - letters[first + 1] == before - first)
        & (ink[before] - ink[first] == before - first)
    )
    pairs = np.searchsorted(opening, ends) - bracket == np.searchsorted(closing, ends) - np.searchsorted(
        closing, equals
    )
    if not (sound & pairs & (opening[bracket] < ends)).all():
        return None
    others = np.ones(len(marks), dtype=bool)
    others[mine] = False
    return values[mine], values[others]


def _parsed(text: Bytes, marks: Places) -> tuple[Places | None, Places]:
    """The numbers behind marks, and how many digits each has; None where one has no digits or too many."""
    values, digits = np.zeros(len(marks), dtype=np.int64), np.zeros(len(marks), dtype=np.int64)
    running = np.arange(len(marks))
    for place in range(1, MOST_DIGITS + 2):
        at = marks[running] + place
        figure = text[np.minimum(at, len(text) - 1)].astype(np.int64) - ord("0")
        goes_on = (figure >= 0) & (figure <= 9) & (at < len(text))
        running = running[goes_on]
        if not len(running):
            break
        if place > MOST_DIGITS:
            return None, digits
        values[running] = 10 * values[running] + figure[goes_on]
        digits[running] += 1
    return (values if (digits > 0).all() else None), digits
