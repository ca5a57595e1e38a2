"""The command `envelope`: a coupling as a file, where a job puts it, or alone by family and dimensions."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from fitcheck.cli.options import UNITS, add_file
from fitcheck.cli.output import end_progress, refuse_bad_output, say, show_progress
from fitcheck.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Callable

    from fitcheck.export.asking import Wanted

SUMMARY = "write a job's coupling as a file, where it sits in the adapter"

EXAMPLE = """\
examples:
  fitcheck envelope z.fit.yaml -o z-coupling.step
  fitcheck envelope z.fit.yaml -o z-drive.step --detail --with-adapter --tool-corridors
  fitcheck envelope --family disc --outside-diameter 34 --bores 8 12 -o disc.step

The ending of the output says what is written: .step or .stp, .stl, .gltf, .glb, or .dxf (the profile: swept
radius over stations). STEP and STL have the adapter file's coordinates and unit; glTF is in metres, y up, as
it is defined. Without a job the coupling lies in its own frame: the drive axis is +z, the motor hub's outer
face lies at 0."""

EXIT_CODES = """\
exit codes:
  0  the file was written
  2  wrong usage, the job file is wrong, or the coupling cannot be built with these dimensions
  3  the STEP file could not be read or measured, or the coupling's place is not known"""

Number = int | float


def add_options(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("job", metavar="JOB", nargs="?", help="the job file; without one, give --family")
    add_file(parser, "the file to write", required=True)
    parser.add_argument("--force", action="store_true", help="overwrite a file that exists")
    parser.add_argument(
        "--detail", action="store_true", help="all bodies of the coupling instead of the envelope that it sweeps"
    )
    parser.add_argument(
        "--set",
        dest="dimensions",
        metavar="NAME=VALUE",
        action="append",
        default=[],
        help="a dimension of the coupling that is not to have its usual value, such as pack_thickness=0.6 or "
        "motor.fastening='set screw'; may be given several times",
    )
    placed = parser.add_argument_group("with a job")
    placed.add_argument(
        "--with-adapter", action="store_true", help="the bodies of the job's STEP file too, as they are"
    )
    placed.add_argument(
        "--tool-corridors", action="store_true", help="the room that the tools for the hubs' screws need, too"
    )
    placed.add_argument(
        "--angle",
        metavar="DEGREES",
        help="shaft angle that the coupling is turned to (default: where the tools reach the screws)",
    )
    alone = parser.add_argument_group("without a job")
    alone.add_argument("--family", metavar="FAMILY", help="coupling family, such as disc or 'double slit'")
    alone.add_argument("--outside-diameter", metavar="LENGTH", help="in mm, or with a unit: '1.25 in'")
    alone.add_argument("--bores", nargs=2, metavar=("MOTOR", "ACTUATOR"), help="bores of the two hubs")
    alone.add_argument("--length", metavar="LENGTH", help="length over both hubs")
    alone.add_argument("--fastening", metavar="FASTENING", help="of both hubs, such as clamp or 'set screw'")
    alone.add_argument("--unit", choices=UNITS, help="unit of the file's numbers (default: mm)")


def run(args: argparse.Namespace, settings: Callable[[argparse.Namespace], dict[str, Any]]) -> int:
    """Write the file; returns the exit code.

    Args:
        args: the command line.
        settings: how to measure, as `fitcheck.api.check` takes it.

    Raises:
        FitcheckError: the file could not be made.
    """
    from fitcheck.export.asking import Wanted
    from fitcheck.export.target import ending_of, refuse_existing

    angle = None if args.angle is None else _quantity("--angle", args.angle, "angle")
    wanted = Wanted(
        path=args.output, ending=ending_of(args.output), detail=args.detail, with_adapter=args.with_adapter,
        tool_corridors=args.tool_corridors, angle=angle, dimensions=_dimensions(args.dimensions),
    )  # fmt: skip
    wanted.refuse_contradictions()
    refuse_bad_output(args.output, [] if args.job is None else [args.job])
    refuse_existing(args.output, force=args.force)
    if args.job is None:
        return _alone(args, wanted)
    for name in ("family", "outside_diameter", "bores", "length", "fastening", "unit"):
        if getattr(args, name) is not None:
            option = name.replace("_", "-")
            raise UsageError(f"--{option} is for a coupling without a job; the job {args.job} says it already")
    if wanted.dimensions and not wanted.detail:
        raise UsageError("--set changes what the job does not say, which only --detail shows; add --detail")
    return _of_job(args, wanted, settings(args))


def _of_job(args: argparse.Namespace, wanted: Wanted, settings: dict[str, Any]) -> int:
    from fitcheck.export.generators import Generators

    with Generators() as generators:
        generators.start(solids=wanted.ending != "dxf")
        from fitcheck.api import check
        from fitcheck.export.asking import request_for_job

        show_progress(1, 1, args.job)
        try:
            result = check(args.job, **settings)
            request = request_for_job(result, wanted)
            if result.loaded is not None:
                refuse_bad_output(args.output, [result.loaded.step_path])
            code = _written(generators, request, args)
        except UsageError as error:
            if not wanted.detail:
                raise
            hint = "give dimensions that the job does not say with --set NAME=VALUE, or leave out --detail"
            raise UsageError(f"{error}; {hint}") from error
        finally:
            end_progress()
    held = [] if result.measurement is None else [b.name for b in result.measurement.bodies if b.role == "coupling"]
    if held and wanted.with_adapter:
        say(f"the STEP file holds a coupling already ({', '.join(held)}); it was kept, and the job's lies over it")
    return code


def _alone(args: argparse.Namespace, wanted: Wanted) -> int:
    from fitcheck.export.asking import request_for_family
    from fitcheck.export.generators import Generators

    missing = [
        f"--{name.replace('_', '-')}"
        for name in ("family", "outside_diameter", "bores")
        if getattr(args, name) is None
    ]  # fmt: skip
    if missing:
        raise UsageError(f"name a job file, or give a coupling without one; {', '.join(missing)} is missing for that")
    if wanted.with_adapter or wanted.tool_corridors or args.angle is not None:
        raise UsageError("--with-adapter, --tool-corridors and --angle need a job file")
    dimensions: dict[str, Any] = {
        "outside_diameter": _quantity("--outside-diameter", args.outside_diameter, "length"),
        "bores": [_quantity("--bores", bore, "length") for bore in args.bores],
    }
    if args.length is not None:
        dimensions["length"] = _quantity("--length", args.length, "length")
    if args.fastening is not None:
        dimensions["fastening"] = args.fastening
    request = request_for_family(args.family, {**dimensions, **wanted.dimensions}, wanted, args.unit or "mm")
    with Generators() as generators:
        generators.start(solids=wanted.ending != "dxf")
        return _written(generators, request, args)


def _written(generators: Any, request: dict[str, Any], args: argparse.Namespace) -> int:
    from fitcheck.export.target import whole

    with whole(args.output, force=args.force) as spare:
        answer = generators.ask(request | {"target": spare})
    text = f"wrote {args.output}: length {answer['length']:.3f} mm, swept diameter {2 * answer['radius']:.3f} mm"
    if answer["mass"] is not None:
        text += f", mass {answer['mass'] * 1e3:.4g} g, inertia about the drive axis {answer['inertia']:.4g} kg·m²"
    if request["ending"] in ("step", "stl", "dxf"):
        text += f"; the file's unit is {answer['unit']}"
    say(text)
    return 0


def _quantity(option: str, text: str, quantity: str) -> float:
    from fitcheck.errors import JobError
    from fitcheck.job.units import parse_quantity

    try:
        return parse_quantity(text, quantity)
    except JobError as error:
        raise UsageError(f"{option}: {error.message}") from error


def _dimensions(given: list[str]) -> dict[str, Any]:
    """The dimensions of `--set`; a name with a point is one of a hub ("motor.screw_angle")."""
    found: dict[str, Any] = {}
    for text in given:
        name, equals, value = text.partition("=")
        parts = name.strip().split(".")
        if not equals or not value.strip() or not all(part.isidentifier() for part in parts) or len(parts) > 2:
            raise UsageError(f"--set {text}: needed is NAME=VALUE, such as pack_thickness=0.6 or motor.chamfer=0.5")
        home = found
        for part in parts[:-1]:
            home = home.setdefault(part, {})
            if not isinstance(home, dict):
                raise UsageError(f"--set {text}: {part} was given a value of its own already")
        home[parts[-1]] = _value(value.strip())
    return found


def _value(text: str) -> Number | str:
    """A whole number, a length in mm (which may carry a unit), or else the word itself."""
    from fitcheck.errors import JobError
    from fitcheck.job.units import parse_quantity

    try:
        return int(text)
    except ValueError:
        try:
            return parse_quantity(text, "length")
        except JobError:
            return text.strip("'\"")
