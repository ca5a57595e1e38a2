"""How a field of the job describes itself: document, quantity, choices and range.

The loader, the JSON Schema, the starting job file and the list of defaults are all made from these descriptions,
so a field is written once, in `model.py`.
"""

from __future__ import annotations

from dataclasses import MISSING, dataclass, field
from typing import Any

QUANTITIES = (
    "length", "angle", "torque", "force", "stiffness", "inertia", "speed", "mass", "velocity", "acceleration",
    "angular-acceleration", "time", "frequency", "temperature", "spring-rate", "pressure", "number",
)  # fmt: skip
"""Kinds of value; `units.BARE_UNIT` has the unit of a bare number of each."""


@dataclass(frozen=True, kw_only=True)
class Describe:
    """What a field says about itself.

    Attributes:
        doc: one or two sentences for a designer who has never seen a job file.
        quantity: one of QUANTITIES for numeric fields, None for the others.
        choices: the allowed words of a text field; empty where any text goes.
        least: the least allowed value of a number, in its bare unit; `exclusive` leaves the limit itself out.
        most: the greatest allowed value of a number, in its bare unit.
        exclusive: whether `least` itself is refused.
        example: text of an example value, as it stands in a job file.
        report_default: print the default among the assumptions of a result when the job did not give the field.
        positional: for a field that holds a number list, the allowed lengths of the list.
        measurable: a needed field that the job may leave out where it takes the coupling from the STEP file.
    """

    doc: str
    quantity: str | None = None
    choices: tuple[str, ...] = ()
    least: float | None = None
    most: float | None = None
    exclusive: bool = False
    example: str | None = None
    report_default: bool = False
    positional: tuple[int, ...] = ()
    measurable: bool = False


def described(doc: str, *, default: Any = MISSING, **kw: Any) -> Any:
    """A dataclass field that carries a `Describe` under the metadata key "describe".

    Args:
        doc: the field's documentation.
        default: its default; without one the job must give the field. Nested groups that default to an instance
            use that instance (all groups are frozen, so sharing it is harmless).
        kw: the other attributes of `Describe`.

    Returns:
        What `dataclasses.field` returns.
    """
    return field(default=default, metadata={"describe": Describe(doc=doc, **kw)})


def at_least_zero(doc: str, **kw: Any) -> Any:
    """A length; at least 0 unless told otherwise."""
    kw.setdefault("least", 0.0)
    return described(doc, quantity="length", **kw)


def above_zero(doc: str, **kw: Any) -> Any:
    """A length that must be greater than 0."""
    return described(doc, quantity="length", least=0.0, exclusive=True, **kw)
