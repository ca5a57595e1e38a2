"""The length units that a STEP file's text declares, each with its size.

The kernel names the unit of the file's roots alone, and by the name that the exporter gave it. In an assembly each part
may have another one, and a converted unit may be called anything: its size tells what it is. Each representation of a
shape has a context, which lists the units (ISO 10303-41 and -43); the kernel converts part by part.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

MM_PER = {
    "mm": 1.0, "cm": 10.0, "dm": 100.0, "m": 1000.0, "km": 1e6, "um": 1e-3, "nm": 1e-6, "inch": 25.4, "ft": 304.8,
    "yd": 914.4, "mile": 1609344.0, "mil": 0.0254, "microinch": 25.4e-6,
}  # fmt: skip
"""mm of each unit by its name here; the inch has 25.4 mm exactly, the others follow (NIST SP 811, from memory)."""

_PREFIX = {
    b"KILO": 1e3, b"HECTO": 1e2, b"DECA": 1e1, b"DECI": 1e-1, b"CENTI": 1e-2, b"MILLI": 1e-3, b"MICRO": 1e-6,
    b"NANO": 1e-9,
}  # fmt: skip
_SAME = 1e-5
"""Part by which sizes of one unit may differ: the US survey foot is longer than the foot by 2e-6."""

_STATEMENT = re.compile(rb"\s*#(\d+)\s*=\s*(.*)", re.DOTALL)
_LISTED = re.compile(rb"GLOBAL_UNIT_ASSIGNED_CONTEXT\s*\(\s*\(([^)]*)\)")
_SI = re.compile(rb"\bSI_UNIT\s*\(\s*(?:\.(\w+)\.|\$|\*)\s*,\s*\.METRE\.\s*\)")
_CONVERTED = re.compile(rb"\bCONVERSION_BASED_UNIT\s*\([^,]*,\s*#(\d+)\s*\)")
_MEASURE = re.compile(rb"\(\s*(?:[A-Z_]+\s*\(\s*)?([-+.\dEe]+)\s*\)?\s*,\s*#(\d+)\s*\)")
_SHAPE = re.compile(rb"SHAPE_REPRESENTATION\s*\([^;]*,\s*#(\d+)\s*\)\s*;")
_REFERENCE = re.compile(rb"#(\d+)")
_DEEPEST = 4
"""Steps from a unit to the metre that are followed."""

Statements = dict[bytes, bytes]


def mm_per(name: str) -> float | None:
    """The size in mm of a unit by the name that `length_units` gives it; None for a name from elsewhere."""
    size = name.removesuffix(" mm")
    return MM_PER.get(name) or (float(size) if size != name else None)


def length_units(bare: bytes) -> tuple[str, ...]:
    """The length units of the shapes in a file, each once; one without a common name is called by its size, "0.5 mm".

    Args:
        bare: the file without comments and the contents of strings.
    """
    units = dict(_statements(bare, b"LENGTH_UNIT"))
    converted = any(b"CONVERSION_BASED_UNIT" in unit for unit in units.values())
    measures = dict(_statements(bare, b"MEASURE_WITH_UNIT")) if converted else {}
    found: dict[str, list[bytes]] = {}
    for context, text in _statements(bare, b"GLOBAL_UNIT_ASSIGNED_CONTEXT"):
        listed = _LISTED.search(text)
        for unit in _REFERENCE.findall(listed[1]) if listed is not None else ():
            size = _size(unit, units, measures, _DEEPEST)
            if size is not None:
                found.setdefault(_name(size), []).append(context)
    if len(found) > 1:
        # A context that no shape has (a validation property's, a drawing's) says nothing of the shapes' numbers.
        shapes = set(_SHAPE.findall(bare))
        found = {name: contexts for name, contexts in found.items() if not shapes.isdisjoint(contexts)}
    return tuple(found)


def told(kernel: Sequence[str], text: Sequence[str]) -> tuple[str, ...]:
    """The units to tell: those that the kernel names, by names that are known here, then the others of the text."""
    known = [name for name in kernel if name in MM_PER]
    return tuple(dict.fromkeys((*known, *text))) or tuple(kernel)


def said_of(units: Sequence[str], override: str | None) -> tuple[str, ...]:
    """Warnings about the units that a file declares, in words for the user.

    Args:
        units: those declared, as `told` gives them.
        override: the unit that the job says the numbers are in, or None.
    """
    if not units and override is None:
        return ("the file declares no length unit, so its numbers were taken in mm; 'unit:' in the job settles it",)
    if len(units) < 2:
        return ()
    scaled = "" if override is None else f", then all were scaled as if the {units[0]} were {override}"
    return (f"the file declares several length units ({', '.join(units)}); each part was read in its own{scaled}",)


def _statements(bare: bytes, word: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Number and text of each statement that holds a word."""
    at = bare.find(word)
    while at >= 0:
        start, stop = bare.rfind(b";", 0, at) + 1, bare.find(b";", at)
        if stop < 0:
            return
        match = _STATEMENT.match(bare[start:stop])
        if match is not None:
            yield match[1], match[2]
        at = bare.find(word, stop)


def _size(number: bytes, units: Statements, measures: Statements, depth: int) -> float | None:
    """The size of a length unit in mm; None where it is no length unit, or cannot be followed to the metre."""
    text = units.get(number)
    if text is None or depth == 0:
        return None
    metre = _SI.search(text)
    if metre is not None:
        return 1000.0 * (1.0 if metre[1] is None else _PREFIX.get(metre[1], 0.0)) or None
    converted = _CONVERTED.search(text)
    parts = None if converted is None else _MEASURE.search(measures.get(converted[1], b""))
    if parts is None:
        return None
    other = _size(parts[2], units, measures, depth - 1)
    try:
        return None if other is None else abs(float(parts[1])) * other or None
    except ValueError:
        return None


def _name(size: float) -> str:
    return next((name for name, mm in MM_PER.items() if abs(size - mm) <= _SAME * mm), f"{size:.10g} mm")
