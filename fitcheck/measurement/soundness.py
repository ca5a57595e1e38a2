"""Numbers that damaged geometry gives: infinite or undefined ones never leave the measurement as if they were sizes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from math import isfinite
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fitcheck.errors import MeasureError
from fitcheck.measurement.model import End, Measurement
from fitcheck.measurement.survey import Survey

Arrays = tuple[Any, Any, Any]


_LEAST_RADIUS, _GREATEST_RADIUS = 1e-7, 1e8
"""mm: the kernel's own tolerance, and where double precision no longer resolves 1 µm."""


def refuse_odd_radii(survey: Survey, path: str) -> None:
    """Stop at a round face whose radius no CAD system writes: 0, or larger than the Earth.

    Raises:
        MeasureError: there is such a face; names its body.
    """
    for face in survey.faces:
        if face.kind not in ("cylinder", "sphere", "torus"):
            continue
        radii = (face.radius, face.minor) if face.kind == "torus" else (face.radius,)
        for radius in radii:
            if not _LEAST_RADIUS <= radius <= _GREATEST_RADIUS:
                msg = (
                    f"a {face.kind} of body '{survey.bodies[face.body].name}' has the radius {radius:.3g} mm, so a "
                    "number in the file is damaged or its unit is wrong; export the file again"
                )
                raise MeasureError(msg, path)


def without_numbers(survey: Survey) -> int:
    """How many edges and surfaces of faces have a number that is infinite or none at all."""
    faces = sum(
        not isfinite(sum((*face.origin, *face.axis, *face.x, face.radius, face.minor, face.semi)))
        for face in survey.faces
    )
    return survey.edge_table.damaged() + faces


def finite_only(arrays: Arrays) -> tuple[Arrays, int]:
    """Points with their bounds and bodies, without the pieces that have a number which is none; and how many went.

    What lies farther away than double precision resolves goes too: a damaged direction or span puts corners there
    whose squares overflow, and checks would look at all that lies between.

    Args:
        arrays: shapes (n, k, 3), (n,) and (n,).
    """
    points, bound, body = arrays
    keep: NDArray[np.bool_] = (np.abs(points) <= _GREATEST_RADIUS).all(axis=(1, 2)) & np.isfinite(bound)
    lost = int(len(keep) - np.count_nonzero(keep))
    return (arrays, 0) if lost == 0 else ((points[keep], bound[keep], body[keep]), lost)


def sound(measurement: Measurement) -> Measurement:
    """The measurement without parts of its ends that damaged geometry spoiled; incomplete, where there were any.

    Raises:
        MeasureError: an end itself or the drive axis has a number that is none.
    """
    warnings: list[str] = []
    ends = tuple(_sound_end(end, warnings) for end in measurement.ends)
    kept = replace(measurement, ends=ends)
    for name in ("drive_axis", "ends", "coaxiality", "coupling"):
        if not all(isfinite(number) for number in _numbers(getattr(kept, name))):
            msg = f"the geometry is damaged: the {name.replace('_', ' ')} got no finite number; export the file again"
            raise MeasureError(msg, measurement.file)
    if not warnings:
        return measurement
    return replace(kept, complete=False, warnings=(*measurement.warnings, *warnings))


def _sound_end(end: End, warnings: list[str]) -> End:
    for name in ("pilot", "opening", "register", "shaft", "machine_register"):
        part = getattr(end, name)
        if part is not None and not all(isfinite(number) for number in _numbers(part)):
            warnings.append(
                f"the {name.replace('_', ' ')} at station {end.seat:.3f} is damaged in the file and was left out; "
                "export the file again"
            )
            gone: dict[str, Any] = {name: None}
            end = replace(end, **gone)
    return end


def _numbers(value: Any) -> Iterator[float]:
    if isinstance(value, float):
        yield value
    elif isinstance(value, tuple):
        for item in value:
            yield from _numbers(item)
    elif is_dataclass(value):
        for field in fields(value):
            yield from _numbers(getattr(value, field.name))
