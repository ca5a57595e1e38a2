"""The coupling that a file holds, of any maker: its swept radius, its ends and its bores, from its bodies alone."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence

from fitcheck.measurement.cylinders import Bore, offset_between
from fitcheck.measurement.model import CouplingBore, MeasuredCoupling
from fitcheck.measurement.survey import Asker, Survey
from fitcheck.measurement.sweep import CHORD, Sweep
from fitcheck.measurement.vectors import Frame, line_angle

COAXIAL = math.radians(1.0)
"""rad; a coupling drawn bent, as it works, still has its bores on the drive axis by this much."""

OFF_AXIS = 0.5
"""mm; the same for their distance from it."""

NEAR_END = 0.2
"""A hub's bore begins within this share of the coupling's length from its end; what lies deeper is a relief."""

GRIPS = math.radians(120.0)
"""rad of turn that a bore covers at least; slits, keyways and the other half of a two-piece hub take the rest."""


def measure_coupling(
    survey: Survey, frame: Frame, bores: Sequence[Bore], bodies: Collection[int], ask: Asker, warnings: list[str]
) -> MeasuredCoupling | None:
    """Measure the bodies of a coupling about the drive axis.

    Args:
        survey: the file.
        frame: the axis frame.
        bores: all bores and bosses of the file.
        bodies: indices of the coupling's bodies.
        ask: asks the kernel worker.
        warnings: takes what the user should know.

    Returns:
        The coupling, or None where there is none of its bodies, or none with an exact face.
    """
    if not bodies:
        return None
    rows = Sweep(survey, frame, ask).rows(bodies)
    if not rows:
        return None
    start, stop = rows[0][0], rows[-1][0]
    station, radius = max(rows, key=lambda row: row[1])
    names = tuple(survey.bodies[index].name for index in sorted(bodies))
    mine = [bore for bore in bores if bore.body in bodies and _on_axis(bore, frame)]
    found = _bores([bore for bore in mine if bore.concave], frame, start, stop)
    if len(found) < 2:
        warnings.append(
            f"the coupling in the file ({', '.join(names)}) shows {len(found)} of its two bores on the drive axis; "
            "its swept radius was measured all the same"
        )
    bosses = [2.0 * bore.radius for bore in mine if not bore.concave]
    return MeasuredCoupling(
        bodies=names, start=start, stop=stop, length=stop - start, outside_diameter=max(bosses, default=2.0 * radius),
        radius=radius, station=station, bound=CHORD, profile=rows, bores=found,
    )  # fmt: skip


def _on_axis(bore: Bore, frame: Frame) -> bool:
    return line_angle(bore.axis, frame.along) < COAXIAL and offset_between(bore, frame.origin, frame.along) < OFF_AXIS


def _bores(bores: Sequence[Bore], frame: Frame, start: float, stop: float) -> tuple[CouplingBore, ...]:
    """The bores that open at the two ends, the motor's first; one that runs through is halved between them."""
    reach = NEAR_END * (stop - start)
    spans = []
    for bore in bores:
        if bore.turn >= GRIPS:
            low, high = sorted(frame.local(bore.point(t))[0] for t in (bore.start, bore.stop))
            spans.append((low, high, bore))
    found = []
    for near_start in (True, False):
        at_end = [
            span for span in spans if (span[0] - start if near_start else stop - span[1]) <= reach
        ]  # fmt: skip
        if not at_end:
            continue
        # a countersink or a mouth before the bore is shorter than what grips
        low, high, bore = max(at_end, key=lambda span: (round(span[1] - span[0], 3), -span[2].radius))
        if low - start <= reach and stop - high <= reach:
            middle = 0.5 * (low + high)
            low, high = (low, middle) if near_start else (middle, high)
        found.append(CouplingBore(diameter=2.0 * bore.radius, start=low, stop=high))
    return tuple(found)
