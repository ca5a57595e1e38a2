"""The shape of the job: what each field of the model's dataclasses takes.

The loader, the JSON Schema, the starting job file and the field reference all walk these shapes.
"""

from __future__ import annotations

import types
from collections.abc import Iterator
from dataclasses import MISSING, dataclass, fields, is_dataclass
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from fitcheck.job.fields import Describe
from fitcheck.job.units import BARE_UNIT

Kind = Literal["text", "texts", "number", "numbers", "count", "group", "groups"]


@dataclass(frozen=True, kw_only=True)
class Shape:
    """One field of one group.

    Attributes:
        name: the key in the job file.
        kind: text, list of texts, number, list of numbers, whole number, group, or list of groups.
        required: whether the job must give it.
        default: its default, or None where it is required.
        may_be_empty: whether a key without a value means the default.
        group: the dataclass of a group or of a list's groups, else None.
        describe: the field's own description.
    """

    name: str
    kind: Kind
    required: bool
    default: Any
    may_be_empty: bool
    group: type[Any] | None
    describe: Describe

    @property
    def quantity(self) -> str:
        """The quantity of a number field."""
        return self.describe.quantity or "number"

    @property
    def unit(self) -> str:
        """The unit of a bare number, empty where there is none."""
        return BARE_UNIT[self.quantity] if self.kind in ("number", "numbers") else ""


_KNOWN: dict[type[Any], tuple[Shape, ...]] = {}  # a cache: type hints are slow to resolve


def shapes(group: type[Any]) -> tuple[Shape, ...]:
    """The shapes of a dataclass's fields, in the order of the model."""
    if group not in _KNOWN:
        hints = get_type_hints(group)
        _KNOWN[group] = tuple(
            _shape(group, item.name, hints[item.name], item.default, item.metadata) for item in fields(group)
        )
    return _KNOWN[group]


def walk(group: type[Any], path: str = "") -> Iterator[tuple[str, Shape]]:
    """Every field below a group with its dotted path, depth first; entries of lists as "[]"."""
    for shape in shapes(group):
        here = f"{path}.{shape.name}" if path else shape.name
        yield here, shape
        if shape.group is not None:
            yield from walk(shape.group, f"{here}[]" if shape.kind == "groups" else here)


_KINDS: dict[tuple[Any, bool], Kind] = {
    (str, False): "text",
    (str, True): "texts",
    (float, False): "number",
    (float, True): "numbers",
    (int, False): "count",
}


def _shape(owner: type[Any], name: str, hint: Any, default: Any, metadata: Any) -> Shape:
    describe = metadata["describe"]
    inner = hint
    if get_origin(hint) in (Union, types.UnionType):
        inner = next(arg for arg in get_args(hint) if arg is not type(None))
    item = get_args(inner)[0] if get_origin(inner) is tuple else inner
    many = item is not inner
    group = item if is_dataclass(item) and isinstance(item, type) else None
    kind: Kind | None = ("groups" if many else "group") if group is not None else _KINDS.get((item, many))
    if kind is None:
        raise TypeError(f"{owner.__name__}.{name}: the type {hint} has no place in a job file")
    required = default is MISSING
    return Shape(
        name=name, kind=kind, required=required, default=None if required else default,
        may_be_empty=not required and (default is None or default == () or group is not None), group=group,
        describe=describe,
    )  # fmt: skip
