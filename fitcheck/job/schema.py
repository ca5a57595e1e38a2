"""The JSON Schema of a job file, from which editors complete and check while one types.

It says of each value alone what the loader says; geometry across values is the loader's.
"""

from __future__ import annotations

import re
from typing import Any

from fitcheck.job.model import Job
from fitcheck.job.shape import Shape, shapes
from fitcheck.job.units import ALIASES, NUMBER, UNITS, needed

DIALECT = "https://json-schema.org/draft/2020-12/schema"
IDENTIFIER = "urn:fitcheck:job:1"

Schema = dict[str, Any]


def job_schema() -> Schema:
    """The schema as plain data: JSON Schema 2020-12, one definition a group, no keys but the model's.

    A number with a unit is a number, or a text that matches the pattern of its units; the range is stated for the
    bare number.
    """
    definitions: dict[str, Schema] = {}
    root = _group(Job, definitions)
    return {
        "$schema": DIALECT,
        "$id": IDENTIFIER,
        "title": "fitcheck job",
        "description": "One question: does this coupling fit, hold and work in this adapter?",
        **root,
        "$defs": dict(sorted(definitions.items())),
    }


def _group(group: type[Any], definitions: dict[str, Schema]) -> Schema:
    return {
        "type": "object",
        "additionalProperties": False,
        # what the STEP file may tell is missed by the loader, which sees whether it is asked to
        "required": [shape.name for shape in shapes(group) if shape.required and not shape.describe.measurable],
        "properties": {shape.name: _property(shape, definitions) for shape in shapes(group)},
    }


def _property(shape: Shape, definitions: dict[str, Schema]) -> Schema:
    describe = shape.describe
    found = _value(shape, definitions)
    if shape.may_be_empty:
        found = {"anyOf": [*found.pop("anyOf", [found]), {"type": "null"}]}
    takes = f" Takes {needed(shape.quantity)}." if shape.kind in ("number", "numbers") else ""
    found["description"] = describe.doc + takes
    if describe.example is not None:
        found["examples"] = [example_value(describe.example)]
    if not shape.required and isinstance(shape.default, (str, int, float)):
        found["default"] = shape.default
    elif isinstance(shape.default, tuple) and shape.default:
        found["default"] = list(shape.default)
    return found


def _value(shape: Shape, definitions: dict[str, Schema]) -> Schema:
    match shape.kind:
        case "group":
            return _reference(shape, definitions)
        case "groups":
            return {"type": "array", "items": _reference(shape, definitions)}
        case "text":
            return _text(shape)
        case "texts":
            least = {} if shape.may_be_empty else {"minItems": 1}
            return {"anyOf": [_text(shape), {"type": "array", "items": _text(shape), **least}]}
        case "number":
            return {"anyOf": _number(shape, definitions)}
        case "numbers":
            lengths = shape.describe.positional
            many = {"type": "array", "items": {"anyOf": _number(shape, definitions)}}
            bounds = {"minItems": min(lengths), "maxItems": max(lengths)} if lengths else {}
            return {"anyOf": [*(_number(shape, definitions) if 1 in lengths else []), {**many, **bounds}]}
        case "count":
            return {"type": "integer", **_range(shape)}


def _reference(shape: Shape, definitions: dict[str, Schema]) -> Schema:
    assert shape.group is not None
    name = shape.group.__name__
    if name not in definitions:
        definitions[name] = {}  # holds the place, should a group ever hold its own kind
        definitions[name] = _group(shape.group, definitions)
    return {"$ref": f"#/$defs/{name}"}


def _text(shape: Shape) -> Schema:
    choices = shape.describe.choices
    numbers = [float(choice) for choice in choices if re.fullmatch(NUMBER, choice)]  # taken without quotes, too
    if numbers:
        return {"anyOf": [{"enum": list(choices)}, {"enum": numbers}]}
    return {"enum": list(choices)} if choices else {"type": "string", "pattern": r"\S"}


def _number(shape: Shape, definitions: dict[str, Schema]) -> list[Schema]:
    quantity = shape.quantity
    definitions.setdefault(quantity, {"type": "string", "pattern": unit_pattern(quantity)})
    return [{"type": "number", **_range(shape)}, {"$ref": f"#/$defs/{quantity}"}]


def _range(shape: Shape) -> Schema:
    describe = shape.describe
    found: Schema = {}
    if describe.least is not None:
        found["exclusiveMinimum" if describe.exclusive else "minimum"] = describe.least
    if describe.most is not None:
        found["maximum"] = describe.most
    return found


def unit_pattern(quantity: str) -> str:
    """The pattern of a number with an optional unit of the quantity, in the spelling of the table or an alias."""
    names = [*UNITS[quantity], *(alias for alias, name in ALIASES.items() if name in UNITS[quantity])]
    spelled = "|".join(_spelling(name) for name in sorted(names, key=len, reverse=True))
    unit = rf"(?:\s*(?:{spelled}))?" if spelled else ""
    return rf"^\s*{NUMBER}{unit}\s*$"


def _spelling(unit: str) -> str:
    # the loader also takes other signs and a blank for a product, a raised 2, and the sign for micro
    text = unit.replace("^", r"\^").replace(r"\^2", r"(?:\^2|²)")
    return re.sub(r"\bum\b", "[uµμ]m", text).replace("*", r"\s*[ *·⋅.-]\s*").replace("/", r"\s*/\s*")


def example_value(text: str) -> Any:
    """An example of a `Describe` as plain data: a list, a number or a text."""
    if text.startswith("["):
        return [example_value(item.strip()) for item in text[1:-1].split(",")]
    if re.fullmatch(NUMBER, text):
        return float(text) if re.search("[.eE]", text) else int(text)
    return text
