"""The command `bench`: torsional stiffness, backlash, hysteresis and slip from the readings of a test bench."""

from __future__ import annotations

import argparse
import os

from fitcheck.cli.options import MEASURE_FORMATS, add_output
from fitcheck.cli.output import deliver, refuse_bad_report, write_whole
from fitcheck.errors import UsageError

SUMMARY = "tell a coupling's stiffness, backlash and slip from bench readings"

EXAMPLE = """\
example:
  fitcheck bench readings.csv --rated-torque 6 --plot loop.svg

The file is a CSV table in the order in which the readings were taken: loading, unloading, the other
direction, repeats. Commas, semicolons or tabs part the cells; numbers may have a decimal comma where
none has a decimal point. Its heads name torque and twist with their units ("torque (Nm)", "torque_Nm"
and "angle / arcmin" will do); what stands before them, or behind a #, is a remark:

  torque [N*m],twist [deg]
  0.5,0.021
  1.0,0.043"""

EXIT_CODES = """\
exit codes:
  0  the stiffness was told
  2  wrong usage, or the file of readings is wrong
  3  too few readings, or too scattered, to tell a stiffness"""


def add_options(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("readings", metavar="READINGS.csv", help="the table of torque and twist")
    parser.add_argument(
        "--rated-torque", type=_torque, metavar="TORQUE", help="the coupling's rating; readings above it are marked"
    )
    parser.add_argument(
        "--free-torque",
        type=_torque_or_none,
        default=0.0,
        metavar="TORQUE",
        help="leave out readings below this torque, where the twist is within the play (default: 0)",
    )
    parser.add_argument(
        "--confidence", type=_share, default=0.95, metavar="SHARE", help="of the intervals (default: 0.95)"
    )
    parser.add_argument("--plot", type=_drawing, metavar="FILE.svg", help="draw the loop of torque over twist")
    add_output(parser, MEASURE_FORMATS)


def run(args: argparse.Namespace) -> int:
    """The exit code of the command.

    Raises:
        FitcheckError: the readings are wrong or too few, or a result could not be written.
    """
    from fitcheck.bench.trial import load_readings, trial_of, trial_text

    for path in (args.output, args.plot):
        refuse_bad_report(path, [args.readings])
    if args.plot is not None and args.output is not None and _same_file(args.plot, args.output):
        raise UsageError(f"{args.plot}: --plot and --output name the same file; name two")
    trial = trial_of(load_readings(args.readings), args.rated_torque, args.confidence, args.free_torque)
    if args.plot is not None:
        from fitcheck.bench.plot import loop_svg

        write_whole(args.plot, loop_svg(trial))
    if args.format == "json":
        import json

        deliver(json.dumps(trial.to_dict(), indent=2, ensure_ascii=False) + "\n", args.output, utf8=True)
    else:
        deliver(trial_text(trial), args.output, utf8=False)
    return 0


def _same_file(one: str, other: str) -> bool:
    return os.path.realpath(one) == os.path.realpath(other)


def _drawing(text: str) -> str:
    if not text.lower().endswith(".svg"):
        msg = f"{text}: the drawing is an SVG file; end its name in .svg"
        raise argparse.ArgumentTypeError(msg)
    return text


def _torque(text: str) -> float:
    value = _torque_or_none(text)
    if value == 0.0:
        msg = f"{text} is no torque to go by; give one above 0, such as '6 N*m'"
        raise argparse.ArgumentTypeError(msg)
    return value


def _torque_or_none(text: str) -> float:
    from fitcheck.errors import JobError
    from fitcheck.job.units import parse_quantity

    try:
        value = parse_quantity(text, "torque")
    except JobError as error:
        raise argparse.ArgumentTypeError(error.message) from None
    if value < 0.0:
        msg = f"{text} is no torque to go by; give one above 0, such as '6 N*m'"
        raise argparse.ArgumentTypeError(msg)
    return value


def _share(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0.0 < value < 1.0:
        msg = f"{text} is no confidence; give a share between 0 and 1, such as 0.95"
        raise argparse.ArgumentTypeError(msg)
    return value
