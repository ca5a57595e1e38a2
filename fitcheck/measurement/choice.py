"""Which of the candidates is the drive axis, or why none can be taken: said once, with what settles it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from fitcheck.measurement.adapters import Adapters
from fitcheck.measurement.axis import Candidate, candidate_on, rivals
from fitcheck.measurement.cylinders import Bore
from fitcheck.measurement.model import Unsettled
from fitcheck.measurement.options import MeasureOptions, body_names, matches
from fitcheck.measurement.survey import Survey
from fitcheck.measurement.vectors import frame_on

MOST_LISTED = 9
"""Candidates for the drive axis that are listed."""


def choose(
    survey: Survey, adapters: Adapters, options: MeasureOptions, looks: Callable[[], tuple[str, str]]
) -> Candidate | Unsettled:
    """The drive axis' candidate, or what keeps it from being settled.

    Args:
        survey: the file.
        adapters: which bodies are the adapter's, and the candidates, best first.
        options: `axis_near`, `axis_body` and the roles that the user gave settle it.
        looks: tells what the file looks like; asked of a file without a candidate.
    """
    candidates = adapters.candidates
    told = options.axis_near is not None or options.axis_body is not None
    if not candidates:
        sentence, group = looks()
        return Unsettled(
            reason="no drive axis was found: no seat with a bolt pattern, with pilot bores at both ends or with a "
            f"machine bolted to it; {sentence}; this does not look like a motor adapter",
            job_group=group,
            remedy="give the adapter's STEP file; where this is it, give 'axis: {point: [x, y, z], direction: [x, y, "
            "z]}', a point of the drive axis and its direction from the motor to the actuator",
        )
    if candidates[0].lone and not told:
        point = _point(candidates[0])
        sentence, group = looks()
        return Unsettled(
            reason="no drive axis was found: no seat with a bolt pattern, with pilot bores at both ends or with a "
            f"machine bolted to it; {sentence}; this does not look like a motor adapter",
            job_group=group,
            remedy="where a recess alone locates the machine, name its line with 'axis: near: [x, y, z]', for the "
            f"first {point}",
        )
    if adapters.twins:
        return _which_adapter(survey, adapters)
    if options.axis_near is not None:
        near = options.axis_near
        return min(candidates, key=lambda candidate: candidate.distance(near))
    if options.axis_body is not None:
        on_it = _on_bodies(survey, candidates, (options.axis_body,))
        if on_it:
            return on_it[0]
        return Unsettled(
            reason=f"no candidate for the drive axis lies on a body called '{options.axis_body}'",
            remedy="correct axis.body: the bodies are "
            + ", ".join(f"'{body.name}'" for body in survey.bodies[:MOST_LISTED]),
        )
    equal = rivals(candidates)
    for patterns in (options.motor, options.actuator, options.adapter):
        # Roles that the user gave settle the axis too.
        if len(equal) > 1 and patterns:
            equal = _on_bodies(survey, equal, patterns) or equal
    if len(equal) == 1:
        return equal[0]
    listed = "; ".join(f"{number}. {candidate.describe()}" for number, candidate in enumerate(equal[:MOST_LISTED], 1))
    return Unsettled(
        reason=f"{len(equal)} lines are equally good candidates for the drive axis: {listed}",
        remedy=f"settle it with 'axis: near: [x, y, z]' in the job, for the first one {_point(equal[0])}",
    )


def overridden(
    survey: Survey, bores: Sequence[Bore], options: MeasureOptions, roles: Sequence[str | None]
) -> tuple[Candidate, list[str | None]] | None:
    """The candidate on the line that the user gave, and the roles; None where none was given.

    Bodies that nothing tells are the adapter's where no body is. Seats are looked for on the line alone.
    """
    if options.axis_point is None or options.axis_direction is None:
        return None
    told = list(roles)
    if "adapter" not in told:
        told = [role or "adapter" for role in told]
    adapter = {index for index, role in enumerate(told) if role == "adapter"}
    machines = {i for i, role in enumerate(told) if role not in ("coupling", "ignored", "adapter")}
    frame = frame_on(options.axis_point, options.axis_direction)
    return replace(candidate_on(survey, bores, frame, adapter, machines), directed=True), told


def _which_adapter(survey: Survey, adapters: Adapters) -> Unsettled:
    """Asks which of equally good bodies is the adapter."""
    twins = adapters.twins
    first = f"#{twins[0][0] + 1}"
    listed = "; ".join(f"'#{index + 1}' is '{survey.bodies[index].name}', {place}" for index, place in twins)
    point = "" if adapters.one_line else ", or with a point on its axis, 'axis: {near: [x, y, z]}'"
    return Unsettled(
        reason=f"{len(twins)} bodies are equally good as the adapter: {listed}",
        remedy=f"say which is meant with 'bodies: {{adapter: \"{first}\"}}' in the job, or by its name, where "
        f"no other has it{point}",
    )


def _on_bodies(survey: Survey, candidates: Iterable[Candidate], patterns: Sequence[str]) -> list[Candidate]:
    """The candidates with a bore or a shaft of bodies so called on them."""
    wanted = {body.index for body in survey.bodies if matches(patterns, body_names(body.index, body.names))}
    return [c for c in candidates if any(bore.body in wanted for bore in (*c.coaxial, *c.shafts))]


def _point(candidate: Candidate) -> str:
    return f"[{', '.join(f'{value:.3f}' for value in candidate.frame.origin)}]"
