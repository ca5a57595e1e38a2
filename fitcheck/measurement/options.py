"""What a measurement may be told: only what changes the measured numbers, so that equal options share a measurement."""

from __future__ import annotations

import fnmatch
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fitcheck.job.model import Job

ROLE_WORDS = (
    ("ignored", ("tool corridor",)),
    (
        "adapter",
        (
            "coupling housing", "coupler housing", "coupling adapter", "kupplungsgeh", "kupplungsglocke",
            "bell housing", "bellhousing",
        ),
    ),
    (
        "coupling",
        ("coupling", "coupler", "kupplung", "accouplement", "acoplamiento", "giunto", "motor hub", "actuator hub"),
    ),
    (
        "actuator",
        (
            "bearing block", "bearing support", "bearing housing", "pillow block", "support unit", "end support",
            "lagerbock", "stehlager", "festlager", "loslager", "palier", "supporto cuscinetto",
        ),
    ),
    (
        "adapter",
        (
            "adapter", "adaptor", "adaptateur", "adaptador", "adattatore", "bracket", "mount", "plate", "platte",
            "plaque", "placa", "piastra", "spacer", "standoff", "halter", "konsole", "support", "soporte", "staffa",
            "equerre",
        ),
    ),
    ("motor", ("motor", "moteur", "servo", "stepper", "nema", "gearbox", "getriebe", "reducer")),
    ("actuator", ("actuator", "aktuator", "slide", "stage")),
    ("adapter", ("housing",)),
)  # fmt: skip
"""Words that tell a body's role where neither the job nor its shape does; earlier ones win ("motor bracket", and
"Motorhalterung", are adapters). Those of other languages from memory."""

ALSO_IN_COUPLINGS = ("spacer", "plate", "platte", "plaque", "placa", "piastra")
"""Adapter words that parts of couplings and machines have too; within an assembly called so they are no adapter."""

ALSO_IN_MACHINES = (*ALSO_IN_COUPLINGS, "mount", "housing", "support")
"""Adapter words that parts of motors and actuators have too, where an assembly's name says that it is one."""


@dataclass(frozen=True, kw_only=True)
class MeasureOptions:
    """Args:

    unit: mm, cm, m or inch where the file declares a wrong unit.
    axis_near: file-frame point, mm; the candidate line nearest to it is the drive axis.
    axis_body: name pattern of a body that lies on the drive axis.
    axis_point, axis_direction: point (file frame, mm) and direction of the drive axis, whatever was found.
    adapter, motor, actuator, coupling, ignore: name patterns of bodies.
    corridors: measure what tool corridors need too (all faces as triangles).
    """

    unit: str | None = None
    axis_near: tuple[float, float, float] | None = None
    axis_body: str | None = None
    axis_point: tuple[float, float, float] | None = None
    axis_direction: tuple[float, float, float] | None = None
    adapter: tuple[str, ...] = ()
    motor: tuple[str, ...] = ()
    actuator: tuple[str, ...] = ()
    coupling: tuple[str, ...] = ()
    ignore: tuple[str, ...] = ()
    corridors: bool = False


def options_for(job: Job) -> MeasureOptions:
    """The measuring options that a job asks for."""
    near, point, direction = job.axis.near, job.axis.point, job.axis.direction
    screws = (*job.coupling.hubs.motor.screws, *job.coupling.hubs.actuator.screws)
    return MeasureOptions(
        unit=job.unit,
        axis_near=None if near is None else (near[0], near[1], near[2]),
        axis_body=job.axis.body,
        axis_point=None if point is None else (point[0], point[1], point[2]),
        axis_direction=None if direction is None else (direction[0], direction[1], direction[2]),
        adapter=job.bodies.adapter,
        motor=job.bodies.motor,
        actuator=job.bodies.actuator,
        coupling=job.bodies.coupling,
        ignore=job.bodies.ignore,
        corridors=bool(screws),
    )


def options_from(plain: Mapping[str, Any]) -> MeasureOptions:
    """The options of a plain object, as `dataclasses.asdict` makes it and JSON keeps it."""
    given: dict[str, Any] = {key: tuple(value) if isinstance(value, list) else value for key, value in plain.items()}
    return MeasureOptions(**given)


def body_names(index: int, names: Iterable[str]) -> tuple[str, ...]:
    """What a body is called in a job: its names, and its number in the list of bodies, "#1" for the first."""
    return (*names, f"#{index + 1}")


def matches(patterns: Iterable[str], names: Iterable[str]) -> bool:
    """Whether any name matches any pattern, in which only * and ? are special; case does not count."""
    lowered = [name.casefold() for name in names]
    # Brackets stand in names of CAD systems, and are no choice of letters here.
    wanted = [pattern.casefold().replace("[", "[[]") for pattern in patterns]
    return any(fnmatch.fnmatchcase(name, pattern) for pattern in wanted for name in lowered)
