"""Refusals of parameters: each names the parameter, what it was, and the range that works."""

from __future__ import annotations

from math import isfinite


def check_range(
    name: str, value: float, low: float, high: float = float("inf"), *, open_low: bool = False, unit: str = "mm"
) -> None:
    """Refuse a value outside [low, high], or outside (low, high] with `open_low`.

    Args:
        name: the parameter as the caller knows it, with the class it belongs to where that helps.
        value: what was given.
        low: the least value that works.
        high: the greatest value that works; infinite where there is none.
        open_low: refuse `low` itself too.
        unit: unit of the value, for the message.

    Raises:
        ValueError: the value is not finite or outside the range.
    """
    if isfinite(value) and (value > low if open_low else value >= low) and value <= high:
        return
    least = f"{'more than' if open_low else 'at least'} {low:.6g} {unit}".rstrip()
    most = "" if high == float("inf") else f" and at most {high:.6g} {unit}".rstrip()
    msg = f"{name} is {value:.6g} {unit}".rstrip() + f"; it must be {least}{most}"
    if high < low:
        msg = f"{name} is {value:.6g} {unit}".rstrip() + "; no value works with the other dimensions"
    raise ValueError(msg)


def check_choice(name: str, value: str, choices: tuple[str, ...]) -> None:
    """Refuse a word that is not one of the choices.

    Raises:
        ValueError: the word is unknown; the message lists the choices.
    """
    if value not in choices:
        msg = f"{name} is {value!r}; it must be one of {', '.join(choices)}"
        raise ValueError(msg)
