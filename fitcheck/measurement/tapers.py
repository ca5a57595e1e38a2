"""Bores and shafts that are nearly cylinders: drafted castings, tapered shaft ends, cylinders that an exporter bent."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from fitcheck.measurement.bolts import PARALLEL
from fitcheck.measurement.cylinders import Bore
from fitcheck.measurement.mouths import COAXIAL
from fitcheck.measurement.vectors import Frame, line_angle

TOLD = 0.002
"""mm; ends whose diameters differ by less are one diameter within the 1 µm that a radius may be off."""

MOST_TOLD = 6
"""More tapered bores than this are counted, not listed."""


def tapered(bores: Iterable[Bore], bodies: set[int], frame: Frame) -> tuple[str, ...]:
    """Warnings about bores and bosses along the drive axis whose two ends differ in diameter, for the user.

    Args:
        bores: all bores of the file.
        bodies: those that are looked at.
        frame: the axis frame.
    """
    mine = [
        bore
        for bore in bores
        if bore.body in bodies
        and abs(2.0 * (bore.other - bore.radius)) > TOLD
        and line_angle(bore.axis, frame.along) < PARALLEL
    ]
    on_axis = [bore for bore in mine if _beside(bore, frame) <= COAXIAL]
    words = [_described(bore, frame) for bore in on_axis[:MOST_TOLD]]
    if len(on_axis) > MOST_TOLD:
        words.append(f"and {len(on_axis) - MOST_TOLD} more")
    found = []
    if words:
        found.append(
            f"nearly a cylinder, but tapered: {'; '.join(words)}. A bore counts by its narrower end and a shaft by its "
            "wider one; what fits there may have play, or grip, at one end alone"
        )
    holes = [bore for bore in mine if _beside(bore, frame) > COAXIAL and bore.concave]
    if holes:
        found.append(_of_holes(holes))
    return tuple(found)


def _described(bore: Bore, frame: Frame) -> str:
    low, high = sorted(frame.local(bore.point(t))[0] for t in (bore.start, bore.stop))
    narrow, wide = sorted((2.0 * bore.radius, 2.0 * bore.other))
    kind = "bore" if bore.concave else "boss or shaft"
    return f"the {kind} from station {low:.3f} to {high:.3f} is {narrow:.3f} to {wide:.3f} mm wide"


def _of_holes(holes: Sequence[Bore]) -> str:
    narrow, wide = min(2.0 * hole.radius for hole in holes), max(2.0 * hole.other for hole in holes)
    many = f"{len(holes)} holes along the drive axis are" if len(holes) > 1 else "a hole along the drive axis is"
    return f"{many} tapered, {narrow:.3f} to {wide:.3f} mm wide; each counts by its narrower end"


def _beside(bore: Bore, frame: Frame) -> float:
    _, x, y = frame.local(bore.point(0.5 * (bore.start + bore.stop)))
    return math.hypot(x, y)
