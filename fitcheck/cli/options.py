"""Options that several commands share, and what their values may be. Imports nothing that a help page does not need."""

from __future__ import annotations

import argparse
import math
from collections.abc import Sequence
from typing import Any, NoReturn

MEASURE_FORMATS = ("text", "json")
UNITS = ("mm", "cm", "m", "inch")
MOST_WORKERS = 256


class CommandParser(argparse.ArgumentParser):
    """The parser of one command: an option that it does not have is refused with its own usage and the nearest name."""

    def parse_known_args(  # type: ignore[override]
        self, args: Sequence[str] | None = None, namespace: argparse.Namespace | None = None
    ) -> tuple[argparse.Namespace, list[str]]:
        """As argparse, but nothing is left over."""
        found, unknown = super().parse_known_args(args, namespace)
        if unknown:
            self._refuse(unknown)
        return found, unknown

    def _refuse(self, unknown: list[str]) -> NoReturn:
        import difflib

        option = unknown[0].partition("=")[0]
        known = [name for action in self._actions for name in action.option_strings if name.startswith("--")]
        near = difflib.get_close_matches(option, known, n=1) if option.startswith("-") else []
        advice = f"; did you mean {near[0]}?" if near else ""
        self.error(f"unrecognized arguments: {' '.join(unknown)}{advice}")


class Once(argparse.Action):
    """Stores a value that may be given only once: of two files to write to, one would be left out without a word."""

    def __call__(
        self, parser: argparse.ArgumentParser, namespace: argparse.Namespace, values: Any, option: str | None = None
    ) -> None:
        """Store the value, or end with a usage error where there is one already."""
        before = getattr(namespace, self.dest, None)
        if before is not None:
            parser.error(f"argument {option}: given twice, with {before} and {values}; give it once")
        setattr(namespace, self.dest, values)


def add_output(parser: argparse.ArgumentParser, formats: tuple[str, ...] = ()) -> None:
    """The option for the file that a result goes to, and that for its format where there are several."""
    if formats:
        parser.add_argument("--format", choices=formats, default="text", help="format of the result (default: text)")
    add_file(parser, "write to this file instead of standard output")


def add_file(parser: argparse.ArgumentParser, help_text: str, *, required: bool = False) -> None:
    """The option `--output` with another meaning."""
    parser.add_argument("-o", "--output", metavar="FILE", action=Once, required=required, help=help_text)


def workers(text: str) -> int:
    """A number of processes.

    Raises:
        argparse.ArgumentTypeError: it is no whole number from 1 to 256.
    """
    value = _number(text)
    if not 1 <= value <= MOST_WORKERS or value != int(value):
        msg = f"{text} is no number of workers; give 1 to {MOST_WORKERS}"
        raise argparse.ArgumentTypeError(msg)
    return int(value)


def limit(text: str) -> float:
    """A limit of time or memory.

    Raises:
        argparse.ArgumentTypeError: it is no number above 0 and below 1e9.
    """
    value = _number(text)
    if not 0.0 < value < 1e9:
        msg = f"{text} is no limit; give a number above 0"
        raise argparse.ArgumentTypeError(msg)
    return value


def coordinate(text: str) -> float:
    """A coordinate in mm.

    Raises:
        argparse.ArgumentTypeError: it is no finite number.
    """
    value = _number(text)
    if not math.isfinite(value):
        msg = f"{text} is no coordinate; give a number of mm"
        raise argparse.ArgumentTypeError(msg)
    return value


def _number(text: str) -> float:
    """The number, or NaN, which every comparison refuses."""
    try:
        return float(text)
    except ValueError:
        return math.nan
