"""Placements in a STEP file's text that the CAD kernel does not carry out: mirrored and scaled ones.

A part may be placed by a transformation operator with a left-handed set of axes or with a scale. The kernel's places
are motions alone, and it leaves the rest out without a word. The attributes are those of ISO 10303-42.
"""

from __future__ import annotations

import re

_OPERATOR = re.compile(rb"#(\d+)\s*=\s*CARTESIAN_TRANSFORMATION_OPERATOR_3D\s*\(([^;]*)\)\s*;")
_USER = rb"(?:MAPPED_ITEM|REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION)\s*\([^;]*#%d\b"
_DIRECTION = rb"#%d\s*=\s*DIRECTION\s*\(\s*''\s*,\s*\(([^)]*)\)"
_ATTRIBUTES = 8
"""Name; name and description of the transformation; two axes, origin, scale, third axis."""


def untold(bare: bytes) -> tuple[str, ...]:
    """What is wrong with the placements of a file, in words for the user; empty for nearly every file.

    Args:
        bare: the file without comments and the contents of strings.
    """
    if b"CARTESIAN_TRANSFORMATION_OPERATOR_3D" not in bare:
        return ()
    mirrored = scaled = unclear = 0
    for number, text in _OPERATOR.findall(bare):
        if not re.search(_USER % int(number), bare):
            continue
        parts = [part.strip() for part in text.split(b",")]
        if len(parts) != _ATTRIBUTES:
            unclear += 1
            continue
        axes = [_direction(bare, parts[index]) for index in (3, 4, 7)]
        mirrored += _left_handed(axes)
        scaled += _scale(parts[6]) != 1.0
    words = []
    for count, what in ((mirrored, "mirrored"), (scaled, "scaled"), (unclear, "in a way that is no valid STEP")):
        if count:
            parts_are = "a part is placed" if count == 1 else f"{count} parts are placed"
            words.append(
                f"{parts_are} {what}, which the CAD kernel leaves out; export mirrored and scaled parts as parts of "
                "their own"
            )
    return tuple(words)


def _direction(bare: bytes, reference: bytes) -> tuple[float, ...] | None:
    if not reference.startswith(b"#"):
        return None
    found = re.search(_DIRECTION % int(reference[1:]), bare)
    if found is None:
        return None
    try:
        numbers = tuple(float(number) for number in found[1].split(b","))
    except ValueError:
        return None
    return numbers if len(numbers) == 3 else None


def _left_handed(axes: list[tuple[float, ...] | None]) -> bool:
    """Whether three axes that are all given make a left-handed set; those left out complete a right-handed one."""
    a, b, c = axes
    if a is None or b is None or c is None:
        return False
    cross = (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])
    return sum(cross[k] * c[k] for k in range(3)) < 0.0


def _scale(text: bytes) -> float:
    try:
        return 1.0 if text in (b"$", b"*") else float(text)
    except ValueError:
        return 0.0
