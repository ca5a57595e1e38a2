"""What was found of machines and adapter, where it contradicts itself: then nothing of it is told as known."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fitcheck.measurement.model import End, Unsettled
from fitcheck.measurement.own_shaft import MACHINES
from fitcheck.measurement.survey import Survey

HIGHEST = 1.0
"""A machine's register is no higher than this many of its diameters; the tallest of the standard frames has 0.07."""

_NAMED = 6
"""Bodies of a role that are named."""


def contradiction(survey: Survey, ends: Sequence[End], roles: Sequence[str | None]) -> Unsettled | None:
    """Why the ends cannot be what they were taken for, and how to settle it; None where they are sound.

    Args:
        survey: the file.
        ends: the ends as laid out.
        roles: the role of each body.
    """
    faults = list(_faults(ends))
    if not faults:
        return None
    taken = "; ".join(f"as {role}: {names}" for role, names in _taken(survey, roles))
    return Unsettled(
        reason=f"what was taken for what contradicts itself: {'; '.join(faults)}. Taken {taken}",
        remedy="say which bodies are what with 'bodies: {adapter: [...], motor: [...], actuator: [...]}' in the job, "
        "by name or by number in the list of bodies ('#1' is the first)",
    )


def _faults(ends: Sequence[End]) -> Iterator[str]:
    roles = [end.role for end in ends if end.role in MACHINES]
    for role in MACHINES:
        if roles.count(role) > 1:
            yield f"both ends would be the {role}'s"
    for end in ends:
        name = "machine" if end.role == "unknown" else end.role
        if end.role in MACHINES and end.shaft is not None and end.shaft.length <= 0.0 and end.face is None:
            # Behind its seat it may end in a chamber of the machine's own body, before a front there.
            yield f"the {name}'s shaft would end {-end.shaft.length:.3f} mm behind its own seat"
        register = end.machine_register
        if register is not None and register.height > HIGHEST * register.diameter:
            yield f"the {name}'s register of {register.diameter:.3f} mm would be {register.height:.3f} mm high"


def _taken(survey: Survey, roles: Sequence[str | None]) -> Iterator[tuple[str, str]]:
    for role in ("adapter", *MACHINES, "coupling"):
        mine = [f"'{body.name}' (#{body.index + 1})" for body in survey.bodies if roles[body.index] == role]
        if mine:
            more = f" and {len(mine) - _NAMED} more" if len(mine) > _NAMED else ""
            yield role, ", ".join(mine[:_NAMED]) + more
