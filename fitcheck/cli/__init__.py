"""The command `fitcheck`: reads the command line, runs the command, and turns every ending into an exit code."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import argparse

INTERRUPTED = 130
UNDECIDED = 3


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line; returns the exit code of the contract (0, 1, 2, 3; 130 when interrupted).

    Args:
        argv: the arguments after the command's name; those of the process where None.
    """
    try:
        from fitcheck.cli.parser import build_parser

        parser = build_parser()
        args = parser.parse_args(argv)
        if args.command is None:
            parser.print_help(sys.stderr)
            return 2
        return _run(args)
    except SystemExit as ending:
        # argparse ends so: 0 after a help page, 2 after wrong usage.
        return _flushed(ending.code if isinstance(ending.code, int) else 2)
    except KeyboardInterrupt:
        # CPython remembers an interrupt that came while a string was executed (dataclasses do that) and would end the
        # process by the signal even though it is handled here; executing another string makes it forget.
        exec("")
        print("fitcheck: interrupted", file=sys.stderr)
        return INTERRUPTED


def _run(args: argparse.Namespace) -> int:
    from fitcheck.cli.commands import run
    from fitcheck.cli.output import say
    from fitcheck.errors import FitcheckError

    try:
        return run(args)
    except FitcheckError as error:
        say(str(error))
        return error.exit_code
    except Exception as error:
        from fitcheck.outcome import unexpected

        say(unexpected(error))
        return UNDECIDED


def _flushed(code: int) -> int:
    try:
        sys.stdout.flush()
    except BrokenPipeError:
        from fitcheck.cli.output import silence

        silence(sys.stdout)
    return code
