"""The profile of a coupling as a DXF drawing of release 12, which every CAD system reads. Needs no CAD kernel.

The drawing shows the section of the swept volume: x is the station along the drive axis, y the distance from it. Its
layers: PROFILE (the outline, both halves, and the edges of steps), AXIS (the drive axis) and NOTES (unit and title).
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

TOLERANCE = 0.001
"""mm; a curved part of the profile is drawn as lines that lie outside it by no more than this."""

_LAYERS = (("PROFILE", 7, "CONTINUOUS"), ("AXIS", 1, "CENTER"), ("NOTES", 3, "CONTINUOUS"))
_DASHES = (12.0, -3.0, 3.0, -3.0)

Pair = tuple[int, str | float | int]


def profile_dxf(outline: Sequence[tuple[float, float]], title: str, unit: str) -> str:
    """The drawing of a profile.

    Args:
        outline: knots (station, radius) in order of station, in the drawing's unit.
        title: one line of text.
        unit: name of the unit, for the note.

    Returns:
        The text of the DXF file.
    """
    pairs: list[Pair] = [(999, _plain(f"{title}; unit {unit}"))]
    pairs += [(0, "SECTION"), (2, "HEADER"), (9, "$ACADVER"), (1, "AC1009"), (0, "ENDSEC")]
    pairs += _tables()
    pairs += [(0, "SECTION"), (2, "ENTITIES")]
    first, last = outline[0][0], outline[-1][0]
    most = max(radius for _, radius in outline)
    for sign in (1.0, -1.0):
        around = [(first, 0.0), *((s, sign * r) for s, r in outline), (last, 0.0)]
        for start, end in itertools.pairwise(around):
            if start != end:
                pairs += _line("PROFILE", start, end)
    # an edge that runs all the way round is seen as a line across
    for (s0, r0), (s1, r1) in itertools.pairwise(outline):
        if s0 == s1 and r0 != r1:
            pairs += _line("PROFILE", (s0, -min(r0, r1)), (s0, min(r0, r1)))
    beyond = 0.1 * (last - first)
    pairs += _line("AXIS", (first - beyond, 0.0), (last + beyond, 0.0))
    height = most / 8
    note = f"{title}; unit {unit}; x: station along the drive axis, y: distance from it"
    pairs += [
        (0, "TEXT"), (8, "NOTES"), (10, first), (20, -most - 2 * height), (30, 0.0), (40, height), (1, _plain(note)),
    ]  # fmt: skip
    pairs += [(0, "ENDSEC"), (0, "EOF")]
    return "".join(f"{code:3d}\n{_value(value)}\n" for code, value in pairs)


def _tables() -> Iterator[Pair]:
    yield from ((0, "SECTION"), (2, "TABLES"))
    yield from ((0, "TABLE"), (2, "LTYPE"), (70, 2))
    yield from ((0, "LTYPE"), (2, "CONTINUOUS"), (70, 0), (3, "Solid line"), (72, 65), (73, 0), (40, 0.0))
    length = sum(abs(dash) for dash in _DASHES)
    yield from ((0, "LTYPE"), (2, "CENTER"), (70, 0), (3, "____ _ ____"), (72, 65), (73, len(_DASHES)), (40, length))
    for dash in _DASHES:
        yield (49, dash)
    yield (0, "ENDTAB")
    yield from ((0, "TABLE"), (2, "LAYER"), (70, len(_LAYERS)))
    for name, colour, style in _LAYERS:
        yield from ((0, "LAYER"), (2, name), (70, 0), (62, colour), (6, style))
    yield from ((0, "ENDTAB"), (0, "ENDSEC"))


def _line(layer: str, start: tuple[float, float], end: tuple[float, float]) -> list[Pair]:
    return [
        (0, "LINE"), (8, layer), (10, start[0]), (20, start[1]), (30, 0.0), (11, end[0]), (21, end[1]), (31, 0.0),
    ]  # fmt: skip


def _value(value: str | float | int) -> str:
    return f"{value:.9f}" if isinstance(value, float) else str(value)


def _plain(text: str) -> str:
    """Text that release 12 can hold: one line of ASCII, anything else by its code point."""
    safe = "".join(c if " " <= c <= "~" else f"\\U+{ord(c):04X}" if c.isprintable() else " " for c in text)
    return safe[:250]
