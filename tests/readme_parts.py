"""The parts of README.md that come from the program: `python tests/readme_parts.py` puts them in again.

A part stands between `<!-- part NAME -->` and `<!-- end -->`. The tests fail where the README is out of step.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import json
import os
import re
import sys
import tempfile
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from fitcheck.checks.run import CHECKS, WORK
from fitcheck.cli import main as command
from fitcheck.cli.parser import build_parser
from fitcheck.job import job_reference

ROOT = Path(__file__).resolve().parents[1]
README = ROOT / "README.md"
FAILING = "sample_assemblies/failing/z-screw-head-rubs.fit.yaml"
MEASURED = "sample_assemblies/passing/z-full-assembly.step"

DRIVEN = "sample_assemblies/passing/z-with-drive.fit.yaml"
READINGS = "sample_assemblies/readings/z-coupling.csv"
COLOURED = ("check", "measure")
"""Commands that take --color."""

MEASURING = "measuring"
"""The group of the options that all commands share which read a STEP file."""
SHARED = "| [options of measuring](#options-of-measuring) | time, memory, cache |"

MUST_HOLD = {
    "pilot-alignment": "what locates the machines (pilot bores or spigots), and their shafts where bodies show them, "
    "are in line",
    "pilot-fit": "the registers go into their pilot bores with little play, and are not too high for them",
    "bolt-pattern": "the adapter's holes are where the motor's and the actuator's are, and let their screws through",
    "insertion": "the coupling passes everything on its way in",
    "radial-clearance": "it turns freely, with its screw heads, the orbit taken off",
    "axial-room": "it does not meet what closes the chamber, its axial float included",
    "engagement": "there is enough full-diameter shaft in each hub, and none too deep",
    "shaft-gap": "the shaft ends stay apart, growth and tolerances taken off",
    "bore-fit": "each shaft goes into its bore, and with little play",
    "wrench-access": "an allowed tool comes to each screw and can be turned, at some shaft angle",
    "assembly-order": "an order exists in which all comes together and every screw can be tightened",
    "torque": "the coupling carries the torque that the drive asks of it",
    "hub-grip": "the hubs hold that torque without slipping",
    "key-stress": "the keys and the keyways hold it",
    "misalignment": "the coupling forgives the misalignment that the drive has",
    "wind-up": "the carriage still repeats as asked, with the coupling twisted by the drive's torque",
    "backlash": "the play at reversal is small enough for the carriage",
    "resonance": "the drive's torsional resonances lie clear of the controller and of the motor's steps",
    "speed": "the coupling may turn as fast as the drive does",
    "inertia": "the ratio of load to motor inertia is within what is asked",
}
"""What every check of the job file's vocabulary asks; the README shows it."""

_PART = re.compile(r"(<!-- part (\S+) -->\n).*?(<!-- end -->)", re.DOTALL)


def output(*argv: str) -> str:
    """What a command prints on standard output, run at the top of the tree with an empty cache, without colour."""
    words, notes = io.StringIO(), io.StringIO()
    before = Path.cwd()
    cache = os.environ.get("FITCHECK_CACHE")
    with tempfile.TemporaryDirectory() as folder, contextlib.redirect_stdout(words), contextlib.redirect_stderr(notes):
        os.environ["FITCHECK_CACHE"] = folder
        os.chdir(ROOT)
        try:
            command([*argv, *(["--color", "never"] if argv[0] in COLOURED else [])])
        finally:
            os.chdir(before)
            if cache is None:
                del os.environ["FITCHECK_CACHE"]
            else:
                os.environ["FITCHECK_CACHE"] = cache
    return words.getvalue()


def console(*argv: str, cautions: bool = True, shown: Callable[[str], str] = str) -> str:
    """A command and what it prints, as a block.

    Args:
        argv: the command.
        cautions: whether the cautions at the end are shown.
        shown: what of the page is shown.
    """
    page = output(*argv)
    if not cautions:
        page = page[: page.rindex("\nRotating parts: guard them.")]
    return f"```console\n$ fitcheck {' '.join(argv)}\n{shown(page)}```\n"


def first_families(page: str) -> str:
    """The first two families and the last one of the advice, and what comes before and after them."""
    parts = page.split("\n\n")
    families = [at for at, part in enumerate(parts) if part.startswith("  ") and "\n    figures: " in part]
    left_out = len(families) - 3
    return "\n\n".join((*parts[: families[2]], f"  [... {left_out} more families ...]", *parts[families[-1] :]))


def finding() -> str:
    """The failing finding of the example, as JSON."""
    jobs = json.loads(output("check", FAILING, "--format", "json"))["jobs"]
    failed = next(one for one in jobs[0]["findings"] if one["status"] == "fail")
    return f"```json\n{json.dumps(failed, indent=2)}\n```\n"


def parsers() -> dict[str, argparse.ArgumentParser]:
    """The parser of every command by its name."""
    (choice,) = (a for a in build_parser()._actions if isinstance(a, argparse._SubParsersAction))
    return dict(choice.choices)


def commands() -> str:
    """A heading and a table of arguments and options for every command; those of measuring stand once, at the end."""
    lines: list[str] = []
    shared: list[str] = []
    for name, parser in parsers().items():
        measuring = [group for group in parser._action_groups if group.title == MEASURING]
        common = [action for group in measuring for action in group._group_actions]
        lines += [f"### `fitcheck {name}`", "", parser.description or "", ""]
        lines += ["```sh", *examples(parser), "```", ""]
        lines += ["| argument or option | meaning |", "|---|---|"]
        lines += rows(action for action in parser._actions if action not in common)
        lines += [SHARED, ""] if common else [""]
        shared = [*rows(common)] if common else shared
    lines += ["### Options of measuring", "", "| option | meaning |", "|---|---|", *shared]
    return "\n".join(lines) + "\n"


def examples(parser: argparse.ArgumentParser) -> list[str]:
    """The example lines of a command's help."""
    found = re.search(r"^examples?:\n((?:  .*\n?)+)", parser.epilog or "", re.MULTILINE)
    return [line.strip() for line in found[1].splitlines()] if found else []


def rows(actions: Iterable[argparse.Action]) -> Iterator[str]:
    for action in actions:
        if action.dest == "help":
            continue
        metavar = action.metavar or ("{" + ",".join(map(str, action.choices)) + "}" if action.choices else "")
        value = " ".join(metavar) if isinstance(metavar, tuple) else metavar
        if action.option_strings:
            written = ", ".join(f"`{option} {value}`".replace(" `", "`") for option in action.option_strings)
        else:
            written = f"`{value}`" + (" (one or more)" if action.nargs == "+" else "")
        meaning = (action.help or "").replace("%%", "%").replace("|", "\\|").replace("*", "\\*")
        yield f"| {written} | {meaning} |"


def table(names: Iterable[str]) -> str:
    """Checks and what must hold.

    Raises:
        KeyError: a check is described nowhere; describe it in MUST_HOLD.
    """
    rows = [f"| `{name}` | {MUST_HOLD[name]} |" for name in names]
    return "\n".join(["| check | what must hold |", "|---|---|", *rows]) + "\n"


PARTS: dict[str, Callable[[], str]] = {
    "commands": commands,
    "job-reference": job_reference,
    "example-fail": lambda: console("check", FAILING),
    "example-measure": lambda: console("measure", MEASURED, cautions=False),
    "example-finding": finding,
    "example-advise": lambda: console("advise", DRIVEN, cautions=False, shown=first_families),
    "example-bench": lambda: console("bench", READINGS, "--rated-torque", "3", cautions=False),
    "checks": lambda: table(CHECKS),
    "work-checks": lambda: table(WORK),
}


def current(text: str) -> str:
    """The README's text with every part as the program has it now.

    Raises:
        KeyError: the text names a part that does not exist.
    """
    return _PART.sub(lambda found: f"{found[1]}{PARTS[found[2]]()}{found[3]}", text)


if __name__ == "__main__":
    README.write_text(current(README.read_text(encoding="utf-8")), encoding="utf-8")
    sys.stdout.write(f"wrote {README}\n")
