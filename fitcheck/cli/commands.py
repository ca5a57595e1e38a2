"""What each command does: a thin layer over `fitcheck.api` that returns the exit code."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from fitcheck.answers import Answer
from fitcheck.cli.keeper import Keeper
from fitcheck.cli.output import (
    deliver,
    end_progress,
    refuse_bad_output,
    refuse_bad_report,
    say,
    show_progress,
    wants_colour,
)
from fitcheck.errors import UsageError

if TYPE_CHECKING:
    from fitcheck.checks.result import Result
    from fitcheck.measurement.model import Measurement

STDOUT = "-"


def run(args: argparse.Namespace) -> int:
    """The exit code of the command in `args`.

    Raises:
        FitcheckError: the command could not be carried out.
    """
    return _COMMANDS[args.command](args)


def _init(args: argparse.Namespace) -> int:
    from fitcheck.api import starting_job
    from fitcheck.jobfiles import JOB_ENDING

    path: str | None = args.output
    if path is None:
        path = os.path.splitext(args.step)[0] + JOB_ENDING
    elif path == STDOUT:
        path = None
    refuse_bad_output(path, [args.step])
    if path is not None and os.path.exists(path) and not args.force:
        msg = f"{path}: exists already; name another file with --output, or overwrite it with --force"
        raise UsageError(msg)
    measurement = _measured(args)
    folder = os.getcwd() if path is None else os.path.dirname(os.path.abspath(path))
    deliver(starting_job(measurement, _from_folder(args.step, folder)), path, utf8=True)
    for warning in measurement.warnings:
        say(f"warning: {warning}")
    if path is not None:
        say(f"wrote {path}; fill in the coupling, then run: fitcheck check {path}")
    return _decided(measurement)


def _from_folder(step: str, folder: str) -> str:
    """The STEP file's path from a folder, with forward slashes; absolute on another drive."""
    try:
        return os.path.relpath(step, folder).replace(os.sep, "/")
    except ValueError:
        return os.path.abspath(step).replace(os.sep, "/")


def _measure(args: argparse.Namespace) -> int:
    refuse_bad_report(args.output, [args.step])
    measurement = _measured(args, args.axis_near, args.unit)
    if args.format == "json":
        from fitcheck.report.as_json import measure_json

        text = measure_json(measurement)
    else:
        from fitcheck.report.measure_text import measure_text

        text = measure_text(measurement)
    deliver(text, args.output, utf8=args.format != "text")
    return _decided(measurement)


def _settings(args: argparse.Namespace) -> dict[str, Any]:
    """How to measure, as the public functions take it."""
    return {
        "cache": False if args.no_cache else True if args.cache is None else args.cache,
        "time_limit": args.time_limit,
        "memory_limit": args.memory_limit,
        "notify": say,
    }


def _measured(args: argparse.Namespace, near: Sequence[float] | None = None, unit: str | None = None) -> Measurement:
    from fitcheck.api import measure

    point = None if near is None else (near[0], near[1], near[2])
    show_progress(1, 1, args.step)
    try:
        return measure(args.step, axis_near=point, unit=unit, obstacles=False, **_settings(args))
    finally:
        end_progress()


def _decided(measurement: Measurement) -> int:
    if measurement.drive_axis is None:
        say(f"{measurement.file}: no drive axis was found (exit code 3)")
        return 3
    if not measurement.complete:
        say(f"{measurement.file}: parts of the file could not be read (exit code 3)")
        return 3
    return 0


def _check(args: argparse.Namespace) -> int:
    refuse_bad_report(args.output, args.paths)
    colour = wants_colour(args.color, sys.stdout) if args.output is None else args.color == "always"
    keeper = Keeper.of(args, colour)
    answer = keeper.known() if keeper is not None else None
    if answer is None:
        result = _checked(args)
        answer = _answer(args, result, colour)
        if keeper is not None:
            keeper.keep(result, lambda warm: _answer(args, warm, colour))
    deliver(answer.text, args.output, utf8=args.format != "text")
    for line in answer.said:
        say(line)
    return answer.exit_code


def _checked(args: argparse.Namespace) -> Result:
    from fitcheck.api import check_many

    try:
        return check_many(
            args.paths, strict=args.strict, workers=args.workers, progress=show_progress, **_settings(args)
        )
    finally:
        end_progress()


def _answer(args: argparse.Namespace, result: Result, colour: bool) -> Answer:
    """What is printed for a result: the report, and for people what a report for machines does not tell."""
    said: list[str] = []
    if args.output is not None or args.format != "text":
        from fitcheck.report.wording import summary

        said = [job.error for job in result.jobs if job.error is not None]
        said.append(summary(result))
    return Answer(text=_rendered(result, args.format, colour), said=tuple(said), exit_code=result.exit_code)


def _rendered(result: Result, form: str, colour: bool) -> str:
    """The result in one of the formats; only that format's module is loaded."""
    if form == "json":
        from fitcheck.report.as_json import check_json

        return check_json(result)
    if form == "junit":
        from fitcheck.report.junit import check_junit

        return check_junit(result)
    if form == "sarif":
        from fitcheck.report.sarif import check_sarif

        return check_sarif(result)
    if form == "html":
        from fitcheck.report.html import check_html

        return check_html(result)
    from fitcheck.report.text import check_text

    return check_text(result, colour=colour)


def _envelope(args: argparse.Namespace) -> int:
    from fitcheck.cli import envelope

    return envelope.run(args, _settings)


def _advise(args: argparse.Namespace) -> int:
    from fitcheck.cli import advise

    return advise.run(args, _settings)


def _bench(args: argparse.Namespace) -> int:
    from fitcheck.cli import bench

    return bench.run(args)


def _schema(args: argparse.Namespace) -> int:
    import json

    from fitcheck.api import job_schema

    refuse_bad_report(args.output)
    deliver(json.dumps(job_schema(), indent=2) + "\n", args.output, utf8=True)
    return 0


_COMMANDS: dict[str, Callable[[argparse.Namespace], int]] = {
    "init": _init,
    "measure": _measure,
    "check": _check,
    "envelope": _envelope,
    "advise": _advise,
    "bench": _bench,
    "schema": _schema,
}
