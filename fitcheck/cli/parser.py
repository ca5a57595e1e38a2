"""The commands, their options and their help. Imports nothing that a help page does not need."""

from __future__ import annotations

import argparse
import textwrap
from typing import TYPE_CHECKING

from fitcheck import __version__
from fitcheck.cli.options import (
    MEASURE_FORMATS,
    UNITS,
    CommandParser,
    add_file,
    add_output,
    coordinate,
    limit,
    workers,
)
from fitcheck.report.cautions import CAUTIONS

if TYPE_CHECKING:
    Commands = argparse._SubParsersAction[CommandParser]

CHECK_FORMATS = ("text", "json", "junit", "sarif", "html")

EXIT_CODES = """\
exit codes:
  0  every finding passes (warnings allowed unless --strict)
  1  at least one finding fails
  2  wrong usage, or a job file is wrong
  3  something could not be decided: a STEP file could not be read or measured, a
     required check could not be made, or there was nothing to check
  With several jobs all are run, and the order 2, 3, 1, 0 decides."""


def build_parser() -> argparse.ArgumentParser:
    """The parser of the command `fitcheck`; the chosen command's name ends up in `command`."""
    parser = argparse.ArgumentParser(
        prog="fitcheck",
        description="Checks whether a shaft coupling fits, holds and works in a motor-to-actuator adapter,\n"
        "from the adapter's STEP file and a small job file.",
        epilog=_epilog(
            "example:\n  fitcheck init z-adapter.step        write z-adapter.fit.yaml, then fill in the coupling\n"
            "  fitcheck check z-adapter.fit.yaml   say whether it fits",
            EXIT_CODES,
        ),
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"fitcheck {__version__}")
    _add_colour(parser, default="auto")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", title="commands", parser_class=CommandParser)
    _add_init(commands)
    _add_measure(commands)
    _add_check(commands)
    _add_envelope(commands)
    _add_advise(commands)
    _add_bench(commands)
    _add_schema(commands)
    return parser


def _epilog(*parts: str) -> str:
    lines = ["caution:"]
    for text in CAUTIONS:
        lines += textwrap.wrap(text, 80, initial_indent="  ", subsequent_indent="  ")
    return "\n\n".join((*parts, "\n".join(lines)))


def _command(commands: Commands, name: str, summary: str, *epilog: str) -> CommandParser:
    return commands.add_parser(
        name,
        help=summary,
        description=summary[0].upper() + summary[1:] + ".",
        epilog=_epilog(*epilog),
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )


def _add_init(commands: Commands) -> None:
    parser = _command(
        commands,
        "init",
        "write a commented job file, prefilled with what was measured",
        "example:\n  fitcheck init z-adapter.step -o jobs/z.fit.yaml",
    )
    parser.add_argument("step", metavar="STEP", help="the STEP file of the adapter or the assembly")
    add_file(parser, "the job file; beside the STEP file if not given, - for standard output")
    parser.add_argument("--force", action="store_true", help="overwrite a job file that exists")
    _add_measuring(parser)


def _add_measure(commands: Commands) -> None:
    parser = _command(
        commands,
        "measure",
        "measure an adapter and print what was found",
        "example:\n  fitcheck measure z-adapter.step --format json --output z-adapter.json",
    )
    parser.add_argument("step", metavar="STEP", help="the STEP file of the adapter or the assembly")
    add_output(parser, MEASURE_FORMATS)
    parser.add_argument(
        "--axis-near",
        nargs=3,
        type=coordinate,
        metavar=("X", "Y", "Z"),
        help="a point in the file's frame, mm: settles which line is the drive axis",
    )
    parser.add_argument("--unit", choices=UNITS, help="length unit of the file, where it declares a wrong one")
    _add_measuring(parser)
    _add_colour(parser)


def _add_check(commands: Commands) -> None:
    parser = _command(
        commands,
        "check",
        "check job files, or all *.fit.yaml in folders",
        "example:\n  fitcheck check jobs/ --format junit --output fitcheck.xml",
        EXIT_CODES,
    )
    parser.add_argument("paths", metavar="PATH", nargs="+", help="a job file, or a folder to search for *.fit.yaml")
    add_output(parser, CHECK_FORMATS)
    parser.add_argument("--strict", action="store_true", help="count warnings as fails")
    parser.add_argument(
        "--workers",
        type=workers,
        default=1,
        metavar="N",
        help="measure and check in up to N processes at a time (default: 1)",
    )
    _add_measuring(parser)
    _add_colour(parser)


def _add_envelope(commands: Commands) -> None:
    from fitcheck.cli import envelope

    parser = _command(commands, "envelope", envelope.SUMMARY, envelope.EXAMPLE, envelope.EXIT_CODES)
    envelope.add_options(parser)
    _add_measuring(parser)


def _add_advise(commands: Commands) -> None:
    from fitcheck.cli import advise

    parser = _command(commands, "advise", advise.SUMMARY, advise.EXAMPLE, advise.EXIT_CODES)
    advise.add_options(parser)
    _add_measuring(parser)


def _add_bench(commands: Commands) -> None:
    from fitcheck.cli import bench

    bench.add_options(_command(commands, "bench", bench.SUMMARY, bench.EXAMPLE, bench.EXIT_CODES))


def _add_schema(commands: Commands) -> None:
    parser = _command(
        commands,
        "schema",
        "print the JSON Schema of job files, for completion in an editor",
        "example:\n  fitcheck schema --output fit.schema.json",
    )
    add_output(parser)


def _add_measuring(parser: argparse.ArgumentParser) -> None:
    group = parser.add_argument_group("measuring")
    group.add_argument(
        "--time-limit",
        type=limit,
        metavar="SECONDS",
        help="stop a STEP file whose reading and measuring takes longer (default: 300)",
    )
    group.add_argument(
        "--memory-limit",
        type=limit,
        metavar="MB",
        help="stop a STEP file that needs more memory (default: 4096)",
    )
    which = group.add_mutually_exclusive_group()
    which.add_argument(
        "--cache",
        metavar="DIR",
        help="keep measurements in this folder (default: FITCHECK_CACHE, else the user's cache folder)",
    )
    which.add_argument("--no-cache", action="store_true", help="measure every STEP file anew, and keep nothing")


def _add_colour(parser: argparse.ArgumentParser, default: str = argparse.SUPPRESS) -> None:
    parser.add_argument(
        "--color",
        choices=("auto", "always", "never"),
        default=default,
        help="colour the verdicts (default: auto, on a terminal; NO_COLOR and FORCE_COLOR are honoured)",
    )
