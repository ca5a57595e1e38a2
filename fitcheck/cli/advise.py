"""The command `advise`: which coupling families suit a job's drive, and which fastening its shafts."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import Any

from fitcheck.cli.options import MEASURE_FORMATS, add_output
from fitcheck.cli.output import deliver, end_progress, refuse_bad_report, say, show_progress

SUMMARY = "say which coupling families suit a job's drive, and why"

EXAMPLE = """\
example:
  fitcheck advise z-adapter.fit.yaml

The job needs the group drive; the coupling in it is the candidate whose outside diameter counts."""

EXIT_CODES = """\
exit codes:
  0  a family suits, with care or without
  1  no family suits
  2  wrong usage, or the job file is wrong
  3  undecided: the job gives no drive, or the STEP file could not be read or measured"""


def add_options(parser: argparse.ArgumentParser) -> None:
    """The options of the command, but for those about measuring."""
    parser.add_argument("job", metavar="JOB", help="the job file")
    add_output(parser, MEASURE_FORMATS)


def run(args: argparse.Namespace, settings: Callable[[argparse.Namespace], dict[str, Any]]) -> int:
    """The exit code of the command.

    Raises:
        FitcheckError: the result could not be written.
    """
    from fitcheck.advice.advice import advice_text, advise
    from fitcheck.api import check

    refuse_bad_report(args.output, [args.job])
    show_progress(1, 1, args.job)
    try:
        result = check(args.job, **settings(args))
    finally:
        end_progress()
    if result.error is not None or result.loaded is None or result.measurement is None:
        say(result.error or f"{args.job}: nothing was measured")
        return result.exit_code or 3
    advice = advise(result.name, result.loaded, result.measurement)
    if args.format == "json":
        import json

        deliver(json.dumps(advice.to_dict(), indent=2, ensure_ascii=False) + "\n", args.output, utf8=True)
    else:
        deliver(advice_text(advice), args.output, utf8=False)
    return advice.exit_code
