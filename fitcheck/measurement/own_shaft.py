"""Shafts that are one piece with the body that forms the chamber: an actuator exported as a single solid.

Such a body is the adapter and a machine in one. Its shaft is no obstacle, and the floor of its chamber, from which the
shaft rises, stands for the seat where the body has no other end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fitcheck.measurement.bore_table import BoreTable
from fitcheck.measurement.cylinders import Bore
from fitcheck.measurement.locators import SQUARE
from fitcheck.measurement.machines import measure_machine
from fitcheck.measurement.model import End
from fitcheck.measurement.mouths import COAXIAL
from fitcheck.measurement.pieces import inner_shaft
from fitcheck.measurement.roles import role_by_words
from fitcheck.measurement.survey import Survey
from fitcheck.measurement.vectors import Frame, scale

MACHINES = ("motor", "actuator")


def with_own_shafts(
    survey: Survey,
    bores: Sequence[Bore],
    frame: Frame,
    ends: Sequence[End],
    roles: Sequence[str | None],
    warnings: list[str],
) -> tuple[list[End], frozenset[int]]:
    """The ends with the shafts of the adapter's own bodies, on sides where no machine shows one; and their faces.

    Args:
        survey: the file.
        bores: all its bores and bosses.
        frame: the axis frame.
        ends: the ends found, the one at station 0 first.
        roles: role of each body.
        warnings: gets what was taken for a shaft.
    """
    found = list(ends)
    faces: set[int] = set()
    table = BoreTable.of(bores)
    coaxial = table.where((table.lean(frame) < SQUARE) & (table.offset(frame) < COAXIAL))
    for side in range(min(len(found) + 1, 2)):
        inward = 1 if side == 0 else -1
        if side < len(found) and (found[side].shaft is not None or found[side].bodies):
            continue
        for body in (index for index, role in enumerate(roles) if role == "adapter"):
            shaft = inner_shaft(coaxial, body, scale(frame.along, inward))
            if shaft is None:
                continue
            end = found[side] if side < len(found) else None
            machine = measure_machine(survey, frame, bores, {body}, 0.0, inward, shaft_end=shaft)
            if end is None and machine.front is None:
                continue
            seat = float(machine.front or 0.0) if end is None else end.seat
            machine = measure_machine(survey, frame, bores, {body}, seat, inward, shaft_end=shaft)
            if machine.shaft is None:
                continue
            name = survey.bodies[body].name
            told = role_by_words([*reversed(name.split("/")), *survey.bodies[body].names])
            role = str(told) if told in MACHINES else "unknown"
            if end is None:
                end = End(role=role, seat=seat)
                found.append(end)
            role = end.role if end.role in MACHINES else role
            found[side] = replace(end, role=role, shaft=machine.shaft, face=machine.front)
            faces |= machine.shaft_faces
            warnings.append(
                f"the shaft of {machine.shaft.diameter:.3f} mm in the chamber of '{name}' is one piece with it: it was "
                f"taken for the machine's that '{name}' is part of, and is no obstacle"
            )
            break
    return found, frozenset(faces)
