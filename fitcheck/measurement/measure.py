"""One STEP file measured: asks the kernel worker, finds the drive axis and the ends, reduces the obstacles."""

from __future__ import annotations

import os
from array import array
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from fitcheck.errors import FitcheckError, MeasureError, StepFileError
from fitcheck.kernel.client import Asked, Kernel
from fitcheck.measurement.adapters import find_adapters
from fitcheck.measurement.axis import Candidate, rivals
from fitcheck.measurement.body_extents import with_extents
from fitcheck.measurement.bore_table import BoreTable
from fitcheck.measurement.choice import MOST_LISTED, choose, overridden
from fitcheck.measurement.completeness import missing, promise_of, reasons_of
from fitcheck.measurement.contradictions import contradiction
from fitcheck.measurement.coupling import measure_coupling
from fitcheck.measurement.cylinders import Bore, find_bores
from fitcheck.measurement.declared_units import mm_per, said_of, told
from fitcheck.measurement.ends import Layout, lay_out
from fitcheck.measurement.interference import overlaps
from fitcheck.measurement.likeness import looks
from fitcheck.measurement.model import AxisLine, Body, Measurement, Unsettled
from fitcheck.measurement.options import MeasureOptions
from fitcheck.measurement.plausible import TOO_FAR, far_away, farthest, unlikely_sizes
from fitcheck.measurement.precheck import content_hash
from fitcheck.measurement.roles import named_roles
from fitcheck.measurement.seats import beside_the_axis
from fitcheck.measurement.sheets import sheets_told
from fitcheck.measurement.survey import Survey, survey_from
from fitcheck.measurement.tapers import tapered
from fitcheck.measurement.weights import InsideOutError, weigh
from fitcheck.measurement.windows import find_windows

if TYPE_CHECKING:
    from fitcheck.measurement.obstacles import Obstacles

ALONG = 0.1
"""rad; bores that lean by less are listed with their axes pointing as the drive axis does."""


def measure_file(path: str, options: MeasureOptions | None = None, kernel: Asked | None = None) -> Measurement:
    """Measure a STEP file.

    Args:
        path: the file.
        options: what to measure and what is known; the defaults believe the file.
        kernel: a kernel client to use; without one, one is started and ended.

    Returns:
        The measurement. Where the drive axis cannot be settled it has none, and the warnings list the candidates.

    Raises:
        StepFileError: the file cannot be read, or was changed meanwhile.
    """
    options = options or MeasureOptions()
    digest = content_hash(path)
    if kernel is None:
        with Kernel() as own:
            found = _measure(path, digest, options, own)
    else:
        found = _measure(path, digest, options, kernel)
    if content_hash(path) != digest:
        msg = "the file was changed while it was measured; run the command again"
        raise StepFileError(msg, path)
    return found


def _measure(path: str, digest: str, options: MeasureOptions, kernel: Asked) -> Measurement:
    def ask(phase: str, request: dict[str, Any]) -> tuple[dict[str, Any], list[array[float]]]:
        return kernel.ask(path, phase, request)

    said = promise_of(path)
    request: dict[str, Any] = {"do": "read", "path": os.path.abspath(path), "unit": options.unit}
    if options.unit is not None:
        # What the kernel calls the unit may be any name; its size stands in the text.
        request["declared"] = next(map(mm_per, said().units), None)
    try:
        answer, arrays = ask("reading", request)
    except StepFileError as error:
        reasons = reasons_of(path)
        if not reasons:
            raise
        msg = f"{error.message}. In the file's text: {'; '.join(reasons)}"
        raise StepFileError(msg, path) from error
    survey = survey_from(answer, arrays)
    survey.units = told(survey.units, said().units)
    lost = missing(said(), answer["arrived"]["solids"], answer["arrived"]["faces"])
    try:
        try:
            return _measured(path, digest, options, survey, lost, ask)
        except InsideOutError:
            return _measured(path, digest, options, survey, lost, ask)
    except (ArithmeticError, LookupError, ValueError) as problem:
        if not lost or isinstance(problem, FitcheckError):
            raise
        msg = f"the file is incomplete: {'; '.join(lost)}; what is left of it cannot be measured, export it again"
        raise MeasureError(msg, path) from problem


def _measured(
    path: str, digest: str, options: MeasureOptions, survey: Survey, lost: Sequence[str], ask: Any
) -> Measurement:
    warnings = [f"the file is incomplete: {'; '.join(lost)}; export it again"] if lost else []
    distance = farthest(survey)
    far = far_away(distance)
    if far is not None and distance > TOO_FAR:
        raise MeasureError(far, path)
    if far is not None:
        warnings.append(far)
    from fitcheck.measurement.soundness import refuse_odd_radii, sound, without_numbers

    refuse_odd_radii(survey, path)
    damaged = without_numbers(survey)
    if damaged:
        warnings.append(
            f"{damaged} edges or faces are damaged: a number of theirs is infinite or none; export the file again"
        )
    nameless = sum(face.kind == "none" for face in survey.faces)
    if nameless == len(survey.faces):
        msg = "the model is tessellated and has no exact faces; export it as exact geometry (boundary representation)"
        raise MeasureError(msg, path)
    if nameless:
        warnings.append(
            f"{nameless} of {len(survey.faces)} faces are tessellated, have no exact surface and were left out"
        )
    if not any(body.solid for body in survey.bodies):
        warnings.append("the file holds surfaces and no solid; the side of the material was taken from the faces alone")
    bores = BoreTable(find_bores(survey))
    named = named_roles(survey, bores, options)
    roles = named.roles
    if (roles.count(None) or len(named.hosts)) + ("adapter" in roles) > 1:
        # Which bodies are the adapter's may depend on their sizes.
        weigh(survey, ask)
    measurement = Measurement(
        file=path,
        sha256=digest,
        file_unit=options.unit or (survey.units[0] if survey.units else "unknown"),
        bodies=(),
        drive_axis=None,
        ends=(),
        coaxiality=None,
        free_radius=None,
        cylinders=(),
        complete=nameless == 0 and not lost and not damaged,
        warnings=(),
    )
    warnings += said_of(survey.units, options.unit)
    given = overridden(survey, bores, options, named.roles)
    chosen: Candidate | Unsettled
    if given is not None:
        (chosen, roles), candidates = given, []
    else:
        adapters = find_adapters(survey, bores, named, options, warnings)
        roles, candidates = adapters.roles, adapters.candidates
        chosen = choose(survey, adapters, options, lambda: looks(survey, bores))
    layout = None
    if isinstance(chosen, Candidate):
        layout = lay_out(survey, bores, chosen, roles, warnings)
        wrong = contradiction(survey, layout.ends, layout.roles)
        if wrong is not None:
            chosen, candidates, roles, layout = wrong, [], layout.roles, None
    if isinstance(chosen, Unsettled) or layout is None:
        assert isinstance(chosen, Unsettled)
        warnings.append(f"{chosen.reason}; {chosen.remedy}")
        weigh(survey, ask)
        if not lost:
            warnings += overlaps(survey, bores, roles, ask)
        warnings += unlikely_sizes(survey, roles, (), (), measurement.file_unit)
        equal = rivals(candidates)
        points = tuple(candidate.frame.origin for candidate in equal)
        return replace(
            measurement, bodies=with_extents(survey, _bodies(survey, roles), None),
            candidates=points[:MOST_LISTED], warnings=tuple(warnings),
            cylinders=tuple(bore.described(survey.bodies[bore.body].name) for bore in bores), unsettled=chosen,
        )  # fmt: skip
    contradicted = _contradicted(survey, chosen, ask)
    if contradicted:
        warnings.append(
            f"{contradicted}: the faces' orientation contradicts where the material lies, so a hole may have been "
            "taken for a boss; mend the part in CAD and export it again"
        )
    machines = {index for end in layout.ends for index in end.bodies}
    counted = machines | {i for i, role in enumerate(layout.roles) if role in ("adapter", "motor", "actuator")}
    warnings += tapered(bores, counted, layout.frame)
    if not lost:
        warnings += sheets_told(survey, layout.roles)
    obstacles, spoiled = _obstacles(survey, bores, layout, ask, options.corridors)
    # As late as may be: the reader takes the volumes while the obstacles are being worked out.
    weigh(survey, ask)
    if not lost and not contradicted:
        warnings += overlaps(survey, bores, layout.roles, ask)
    adapter = [bore for bore in bores if layout.roles[bore.body] == "adapter"]
    beside = [2.0 * hole.radius for hole in beside_the_axis(adapter, layout.frame)]
    warnings += unlikely_sizes(survey, layout.roles, layout.ends, beside, measurement.file_unit)
    couplings = [index for index, role in enumerate(layout.roles) if role == "coupling"]
    coupling = measure_coupling(survey, layout.frame, bores, couplings, ask, warnings)
    if spoiled:
        warnings.append(f"{spoiled} pieces of faces are damaged, have no finite place and were left out")
    from fitcheck.measurement.profile import free_radius

    found = replace(
        measurement,
        coupling=coupling,
        complete=measurement.complete and not spoiled and not contradicted,
        bodies=with_extents(survey, _bodies(survey, layout.roles), layout.frame),
        windows=find_windows(
            survey, bores, layout.frame, {i for i, role in enumerate(layout.roles) if role == "adapter"}
        ),
        drive_axis=AxisLine(origin=layout.frame.origin, direction=layout.frame.along, across=layout.frame.x),
        ends=layout.ends,
        coaxiality=layout.coaxiality,
        cylinders=tuple(
            (bore.towards(layout.frame.along) if along else bore).described(survey.bodies[bore.body].name)
            for bore, along in zip(bores, (bores.lean(layout.frame) < ALONG).tolist(), strict=True)
        ),
        warnings=tuple(warnings),
        obstacles=obstacles,
        free_radius=free_radius(obstacles, layout.span),
    )
    return sound(found)


def _bodies(survey: Survey, roles: Sequence[str | None]) -> tuple[Body, ...]:
    return tuple(
        Body(name=body.name, role=role or "other", volume=body.volume or 0.0)
        for body, role in zip(survey.bodies, roles, strict=True)
    )


def _contradicted(survey: Survey, chosen: Candidate, ask: Any) -> str | None:
    """The body whose material is not where its faces at the seats say, asked of the solid itself; else None."""
    bores = [bore for seat in chosen.seats for bore in (seat.mouth, seat.boss) if bore is not None]
    # One face a body: a shell is sewn the same way all round, and asking a large solid takes a tenth of a second.
    told = {bore.body: bore.faces[0].index for bore in bores}
    if not told:
        return None
    answer, _ = ask("asking for the material's side", {"do": "side", "faces": list(told.values())})
    wrong = [body for body, agrees in zip(told, answer["agrees"], strict=True) if agrees is False]
    return survey.bodies[wrong[0]].name if wrong else None


def _obstacles(
    survey: Survey, bores: Sequence[Bore], layout: Layout, ask: Any, corridors: bool
) -> tuple[Obstacles, int]:
    """The obstacles, and how many pieces of faces are damaged and not among them."""
    import numpy as np

    from fitcheck.measurement.obstacles import Obstacles
    from fitcheck.measurement.profile import visible
    from fitcheck.measurement.solid import along_the_axis
    from fitcheck.measurement.soundness import finite_only
    from fitcheck.measurement.tessellate import tessellate
    from fitcheck.measurement.trace import Tracer

    counted = {index for index, role in enumerate(layout.roles) if role not in ("coupling", "ignored")}
    faces = [
        face
        for face in survey.faces
        if face.body in counted and face.kind != "none" and face.index not in layout.shaft_faces
    ]
    (segments, bound, body), lost = finite_only(Tracer(survey, layout.frame, ask).trace(faces))
    with_shafts = {survey.faces[index].body for index in layout.shaft_faces}
    core, owner = along_the_axis(layout.frame, segments, body, sorted(counted - with_shafts), layout.span, ask)
    segments, body = np.concatenate([segments, core]), np.concatenate([body, owner])
    bound = np.concatenate([bound, np.zeros(len(core))])
    keep = visible(segments, bound, body)
    triangles, more = finite_only(tessellate(survey, layout.frame, faces if corridors else [], bores, ask))
    obstacles = Obstacles(
        segments=segments[keep], segment_bound=bound[keep], segment_body=body[keep], triangles=triangles[0],
        triangle_bound=triangles[1], triangle_body=triangles[2],
    )  # fmt: skip
    return obstacles, lost + more
