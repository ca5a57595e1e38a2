"""The machine at the end where the adapter has no seat: a bearing block with a screw's end, behind a bracket.

And the layout on a line that the user gave, where the adapter has no seat at all.
"""

from __future__ import annotations

from collections.abc import Sequence

from fitcheck.measurement.axis import Candidate
from fitcheck.measurement.cylinders import Bore
from fitcheck.measurement.machines import measure_machine
from fitcheck.measurement.model import End
from fitcheck.measurement.own_shaft import MACHINES
from fitcheck.measurement.survey import Survey
from fitcheck.measurement.vectors import Frame, frame_on


def far_machine(
    survey: Survey, bores: Sequence[Bore], frame: Frame, bodies: set[int], role: str, inward: int = -1
) -> tuple[End, frozenset[int]] | None:
    """A machine whose bodies are known and that sits on no seat of the adapter, and the faces of its shaft.

    Args:
        survey: the file.
        bores: all its bores and bosses.
        frame: the axis frame.
        bodies: indices of its bodies.
        role: motor or actuator.
        inward: +1 where the other machine lies along the axis, else -1.

    Returns:
        Its end, whose seat is its own front; None where no shaft of it lies on the axis, or no front behind it.
    """
    if not bodies:
        return None
    machine = measure_machine(survey, frame, bores, bodies, 0.0, inward)
    if machine.shaft is None or machine.front is None:
        return None
    seat = machine.front
    machine = measure_machine(survey, frame, bores, bodies, seat, inward)
    if machine.shaft is None or machine.shaft.length <= 0.0:
        return None
    end = End(
        role=role, seat=seat, shaft=machine.shaft, face=machine.front, machine_register=machine.register,
        bodies=tuple(sorted(bodies)), on_adapter=False,
    )  # fmt: skip
    return end, machine.shaft_faces


def with_far_machine(
    survey: Survey,
    bores: Sequence[Bore],
    frame: Frame,
    ends: list[End],
    roles: Sequence[str | None],
    strays: set[int],
    warnings: list[str],
) -> tuple[list[End], frozenset[int]]:
    """The ends with a machine that sits on no seat of the adapter, and the faces of its shaft.

    What belongs to it leaves `strays`; a shaft alone, without a body behind it, stays there.
    """
    names = ", ".join(f"'{survey.bodies[index].name}'" for index in sorted(strays))
    if len(ends) == 1 and strays:
        sits = ends[0].role
        role = MACHINES[1 - MACHINES.index(sits)] if sits in MACHINES else "unknown"
        bodies = strays | {index for index, known in enumerate(roles) if known == role}
        other = far_machine(survey, bores, frame, bodies, role)
        if other is not None:
            strays -= bodies
            known = "the other machine" if role == "unknown" else f"the {role}"
            warnings.append(
                f"the adapter has no seat for {known}: its shaft was measured from its own body, {names}, and its "
                f"seat, at station {other[0].seat:.3f}, is that body's front"
            )
            return [*ends, other[0]], other[1]
    if strays:
        warnings.append(
            f"{names} is a shaft on the drive axis at whose end no seat was found, and no obstacle: give the "
            "'seat' and the 'shaft' of the 'actuator' in the job"
        )
    return ends, frozenset()


def bare_ends(
    survey: Survey, bores: Sequence[Bore], chosen: Candidate, roles: Sequence[str | None]
) -> tuple[Frame, list[End], frozenset[int]]:
    """Frame and ends on a line on which the adapter has no seat, as the user gave it: the given point is station 0.

    Args:
        survey: the file.
        bores: all its bores and bosses.
        chosen: the line, pointing from the motor to the actuator.
        roles: the role of each body.

    Returns:
        The frame, on the axis of the longest bore or shaft on the line; the motor's end, and the actuator's where its
        bodies show a shaft; the faces of both shafts.
    """
    on_it = max((*chosen.shafts, *chosen.coaxial), key=lambda bore: bore.stop - bore.start, default=None)
    frame = chosen.frame
    if on_it is not None:
        lead = on_it.towards(frame.along)
        line = frame_on(lead.origin, lead.axis)
        frame = frame_on(line.at(line.local(frame.origin)[0]), lead.axis)
    motors = {index for index, role in enumerate(roles) if role == "motor"}
    machine = measure_machine(survey, frame, bores, motors, 0.0, 1)
    motor = End(
        role="motor", seat=0.0, shaft=machine.shaft, face=machine.front, machine_register=machine.register,
        bodies=tuple(sorted(motors)), on_adapter=False,
    )  # fmt: skip
    actuators = {index for index, role in enumerate(roles) if role == "actuator"}
    other = far_machine(survey, bores, frame, actuators, "actuator")
    if other is None:
        return frame, [motor], machine.shaft_faces
    return frame, [motor, other[0]], machine.shaft_faces | other[1]
