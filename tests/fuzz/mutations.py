"""Damaged copies of good files: what editors, networks, version control and other CAD systems do to them, and worse."""

from __future__ import annotations

import random
import re
from collections.abc import Callable

NUMBERS = (b"1.E100", b"-1.E100", b"1.E6", b"1.E12", b"1.E308", b"1.E999", b"NaN", b"-inf", b"0.", b"-1.", b"1.E-30",
           b"1.E-300", b"$", b"*", b"''", b".T.", b"1234567890123456789012345678901234567890.")  # fmt: skip
YAML_NUMBERS = ("1e100", "-1e100", "1e308", ".nan", ".inf", "-.inf", "0", "-1", "1e-30", "9" * 400, "''", "~", "[]",
                "{}", "[1, 2, 3]", "yes", "0x10", "1_000", "12:30:45", "2020-01-01", "8 mm", "0.25 in", "8 furlongs",
                "!!python/object:os.system x", "&a [*a]", "*a", "'\\u0000'")  # fmt: skip
_NUMBER = re.compile(rb"(?<=[(,])[-+]?\d+\.\d*(?:E[-+]?\d+)?(?=[,)])")
_REFERENCE = re.compile(rb"#\d+")
_KIND = re.compile(rb"(?<==)\s*[A-Z_]+(?=\s*\()")
_YAML_VALUE = re.compile(r"(?<=: )[^\s#{}\[\],][^\s#{}\[\],]*")


def _replaced(data: bytes, spans: list[tuple[int, int]], new: Callable[[], bytes]) -> bytes:
    for start, stop in sorted(spans, reverse=True):
        data = data[:start] + new() + data[stop:]
    return data


def _some(draw: random.Random, pattern: re.Pattern[bytes], data: bytes, most: int) -> list[tuple[int, int]]:
    spans = [match.span() for match in pattern.finditer(data)]
    return draw.sample(spans, min(len(spans), draw.randint(1, most))) if spans else []


def flip_bytes(draw: random.Random, data: bytes) -> bytes:
    changed = bytearray(data)
    for _ in range(draw.choice((1, 1, 3, 20))):
        changed[draw.randrange(len(changed))] ^= 1 << draw.randrange(8)
    return bytes(changed)


def drop_lines(draw: random.Random, data: bytes) -> bytes:
    lines = data.split(b"\n")
    for _ in range(draw.choice((1, 1, 2, 10))):
        del lines[draw.randrange(len(lines))]
    return b"\n".join(lines)


def spoil_numbers(draw: random.Random, data: bytes) -> bytes:
    return _replaced(data, _some(draw, _NUMBER, data, 4), lambda: draw.choice(NUMBERS))


def cross_references(draw: random.Random, data: bytes) -> bytes:
    known = _REFERENCE.findall(data)
    start = data.find(b"DATA;")
    spans = [span for span in _some(draw, _REFERENCE, data, 6) if span[0] > start]
    return _replaced(data, spans, lambda: draw.choice(known))


def swap_kinds(draw: random.Random, data: bytes) -> bytes:
    kinds = _KIND.findall(data)
    return _replaced(data, _some(draw, _KIND, data, 3), lambda: draw.choice(kinds))


def cut(draw: random.Random, data: bytes) -> bytes:
    kept = data[: draw.randrange(len(data))]
    return kept if draw.random() < 0.3 else kept + b"\nENDSEC;\nEND-ISO-10303-21;\n"


def double_block(draw: random.Random, data: bytes) -> bytes:
    start = draw.randrange(len(data))
    block = data[start : start + draw.randrange(1, 4000)]
    place = draw.randrange(len(data))
    return data[:place] + block + data[place:]


STEP = (flip_bytes, drop_lines, spoil_numbers, cross_references, swap_kinds, cut, double_block)


def damaged_step(draw: random.Random, data: bytes) -> tuple[str, bytes]:
    """The name of a mutation and what it makes of a STEP file."""
    chosen = draw.choice(STEP)
    return chosen.__name__, chosen(draw, data)


def _job_bytes(draw: random.Random, text: str) -> bytes:
    return flip_bytes(draw, text.encode())


def _job_lines(draw: random.Random, text: str) -> bytes:
    return drop_lines(draw, text.encode())


def _job_values(draw: random.Random, text: str) -> bytes:
    spans = [match.span() for match in _YAML_VALUE.finditer(text) if match.start() > text.find("step:") + 40]
    for start, stop in sorted(draw.sample(spans, min(len(spans), draw.randint(1, 3))), reverse=True):
        text = text[:start] + draw.choice(YAML_NUMBERS) + text[stop:]
    return text.encode()


def _job_indent(draw: random.Random, text: str) -> bytes:
    lines = text.split("\n")
    for _ in range(draw.randint(1, 4)):
        place = draw.randrange(len(lines))
        lines[place] = draw.choice((" ", "  ", "\t", "- ", "# ", "? ", ": ")) + lines[place]
    return "\n".join(lines).encode()


def _job_cut(draw: random.Random, text: str) -> bytes:
    return text.encode()[: draw.randrange(len(text))]


def _job_twice(draw: random.Random, text: str) -> bytes:
    lines = text.split("\n")
    start = draw.randrange(len(lines))
    lines[start:start] = lines[start : start + draw.randint(1, 6)] * draw.choice((1, 1, 50))
    return "\n".join(lines).encode()


def _job_deep(draw: random.Random, text: str) -> bytes:
    depth = draw.choice((10, 200, 5000))
    return f"{text}\nextra: {draw.choice(('[', '{a: '))[:4] * depth}\n".encode()


JOBS = (_job_bytes, _job_lines, _job_values, _job_indent, _job_cut, _job_twice, _job_deep)


def damaged_job(draw: random.Random, text: str) -> tuple[str, bytes]:
    """The name of a mutation and what it makes of a job file."""
    chosen = draw.choice(JOBS)
    return chosen.__name__.strip("_"), chosen(draw, text)
