"""Which end is the motor's and which the actuator's, as far as the bodies on them tell."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fitcheck.measurement.model import End
from fitcheck.measurement.own_shaft import MACHINES
from fitcheck.measurement.seats import Seat
from fitcheck.measurement.survey import Survey


def names_that_tell(
    survey: Survey, seats: Sequence[Seat], roles: list[str | None], warnings: list[str]
) -> list[str | None]:
    """The roles without one that machines at both ends have: then their names do not tell which is which."""
    told = list(roles)
    for role in MACHINES:
        at_ends = [sorted(body for body in seat.touched_by if roles[body] == role) for seat in seats]
        if len(at_ends) == 2 and all(at_ends):
            names = " and ".join(f"'{survey.bodies[bodies[0]].name}'" for bodies in at_ends)
            warnings.append(
                f"{names} sit at either end and are both called a {role}: which is which is not known; say it with "
                "'bodies: {motor: [...], actuator: [...]}' in the job, or by 'motor: near: [x, y, z]'"
            )
            told = [None if known == role else known for known in told]
    return told


def told_apart(ends: Sequence[End]) -> list[End]:
    """The ends, an unknown one told by the other: across from the motor sits the actuator."""
    if len(ends) != 2:
        return list(ends)
    told = list(ends)
    for index, other in ((0, ends[1]), (1, ends[0])):
        if ends[index].role == "unknown" and other.role in MACHINES:
            told[index] = replace(ends[index], role=MACHINES[1 - MACHINES.index(other.role)])
    return told


def settled_roles(roles: list[str | None], sides: Sequence[set[int]]) -> list[str | None]:
    """Roles with the second machine told by the first: what sits across from the motor is the actuator."""
    settled = list(roles)
    for index, side in enumerate(sides):
        known = {settled[body] for body in side} & set(MACHINES)
        if len(known) == 1:
            role = known.pop()
            other = MACHINES[1 - MACHINES.index(str(role))]
            for body in side:
                settled[body] = settled[body] or role
            for body in (body for k, s in enumerate(sides) if k != index for body in s):
                settled[body] = settled[body] or other
    return settled
