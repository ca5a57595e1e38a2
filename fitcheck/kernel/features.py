"""How the reader's description of a file travels: numbers as arrays, the rest as columns of a JSON object.

A large file has tens of thousands of numbers, and as text they would take longer to write and read than to find.
This module knows no kernel: the reader packs with it, the other side looks into what arrives.
"""

from __future__ import annotations

from array import array
from collections.abc import Mapping
from typing import Any

EDGE = 18
"""Numbers of an edge: a, b, centre, normal, x (three each), radius, and the two angles that it spans."""

FACE = 20
"""Numbers of a face: origin, axis, x, y (three each), radius, minor, semi, gap, and its bounds in u and in v."""

KINDS = {
    "l": "line", "c": "circle", "o": "other", "n": "none", "p": "plane", "y": "cylinder", "k": "cone", "s": "sphere",
    "t": "torus",
}  # fmt: skip
"""The letter of each kind in the columns `edge_kinds` and `kinds`."""

_LETTER = {kind: letter for letter, kind in KINDS.items()}

_ZERO, _X, _Y, _Z = (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
_NOWHERE = (0.0, 0.0)


class Columns:
    """Edges and faces as they are found, on their way into one message."""

    def __init__(self) -> None:
        self._numbers = array("d"), array("d"), array("d")
        self._edge_kinds: list[str] = []
        self._lengths: list[int] = []
        self._faces: dict[str, list[Any]] = {
            name: [] for name in ("kinds", "body", "out", "native", "revolved", "edges", "seams")
        }

    def edge(self, found: Mapping[str, Any]) -> None:
        """Add an edge, as `edges.describe_edge` tells it."""
        kind = found["kind"]
        self._edge_kinds.append(_LETTER[kind])
        numbers = self._numbers[0]
        if kind == "circle":
            numbers.extend((*found["a"], *found["b"], *found["c"], *found["n"], *found["x"], found["r"], *found["t"]))
            return
        numbers.extend((*found.get("a", _ZERO), *found.get("b", _ZERO), *_ZERO, *_Z, *_X, 0.0, *_NOWHERE))
        if kind == "other":
            self._lengths.append(len(found["p"]))
            for point in found["p"]:
                self._numbers[2].extend(point)

    def face(self, found: Mapping[str, Any], body: int, edges: list[int], seams: list[int]) -> None:
        """Add a face, as `surfaces.describe_face` tells it, with its body's index and its edges'."""
        kind = found["kind"]
        get = found.get
        columns = self._faces
        columns["kinds"].append(_LETTER[kind])
        columns["body"].append(body)
        columns["out"].append(get("out", 1))
        columns["native"].append(get("native", False))
        columns["revolved"].append(get("revolved", False))
        columns["edges"].append(edges)
        columns["seams"].append(seams)
        self._numbers[1].extend((
            *get("origin", _ZERO), *get("axis", _Z), *get("x", _X), *get("y", _Y), get("radius", 0.0),
            get("minor", 0.0), get("semi", 0.0), get("gap", 0.0), *get("u", _NOWHERE), *get("v", _NOWHERE),
        ))  # fmt: skip

    def message(self) -> tuple[dict[str, Any], list[array[float]]]:
        """The columns, and the arrays: edges' numbers, faces' numbers, and the points of edges of kind other."""
        columns = {**self._faces, "edge_kinds": "".join(self._edge_kinds), "lengths": self._lengths}
        return {**columns, "kinds": "".join(columns["kinds"])}, list(self._numbers)
