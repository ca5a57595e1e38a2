"""Sizes that no adapter has: the mark of a wrong unit or of damaged numbers. Flagged, never corrected in silence."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import isfinite, sqrt

from fitcheck.measurement.declared_units import MM_PER, mm_per
from fitcheck.measurement.model import End
from fitcheck.measurement.survey import Survey

SMALLEST, LARGEST = 5.0, 2000.0
"""mm across; outside it is more likely that the unit is wrong (common practice, no source)."""

LEAST_HOLE, GREATEST_HOLE = 1.6, 20.0
"""mm; bolt holes of motor flanges. IEC 60072-1 has 18.5 mm with flanges FF300 to FF500 (from memory)."""

SMALL, LARGE = 20.0, 500.0
"""mm across; where no drive axis is found, sizes outside this are mentioned too: the unit may be why."""

FAR = 1e6
"""mm from the origin; nobody places a part 1 km away."""

TOO_FAR = 1e8
"""mm; beyond it squares of coordinates no longer resolve 1 µm in double precision."""


def unlikely_sizes(
    survey: Survey, roles: Sequence[str | None], ends: Iterable[End], beside: Sequence[float], unit: str
) -> tuple[str, ...]:
    """Warnings about the adapter's size, in words for the user, with the remedy.

    Args:
        survey: the file, mm.
        roles: the role of each body; without an adapter among them, all bodies count.
        ends: the ends found, for their bolt holes.
        beside: diameters of the adapter's holes along the drive axis and beside it, mm.
        unit: the unit that the numbers were taken in.
    """
    adapter = {index for index, role in enumerate(roles) if role == "adapter"} or set(range(len(roles)))
    across = _across(survey, adapter)
    if across <= 0.0 or not isfinite(across):
        return ()
    found = tuple(ends)
    least, greatest = (SMALLEST, LARGEST) if found else (SMALL, LARGE)
    if not least <= across <= greatest:
        return (f"the adapter is {across:.4g} mm across, which is unlikely; {_remedy(across, unit)}",)
    holes = [pattern.hole for end in found for pattern in end.bolts]
    odd = next((hole for hole in holes if not LEAST_HOLE <= hole <= GREATEST_HOLE), None)
    if odd is not None and len({LEAST_HOLE <= hole <= GREATEST_HOLE for hole in holes}) == 1:
        return (f"the bolt holes are {odd:.4g} mm wide, which is unlikely; {_remedy(across, unit, odd)}",)
    if found and not holes and len(beside) > 1 and min(beside) > GREATEST_HOLE:
        narrowest = min(beside)
        return (
            f"no hole beside the drive axis is narrower than {narrowest:.4g} mm, which is unlikely for bolts; "
            f"{_remedy(across, unit, narrowest)}",
        )
    return ()


def farthest(survey: Survey) -> float:
    """The largest coordinate, mm; inf where one is no number."""
    low, high = survey.edge_table.boxes
    # A degenerated edge has no box, and no place.
    there = ~(low > high).any(axis=1)
    sizes = [float(abs(side[there]).max(initial=0.0)) for side in (low, high)]
    return max(sizes) if all(map(isfinite, sizes)) else float("inf")


def far_away(distance: float) -> str | None:
    """A warning about a part that lies far from the origin, or None.

    Args:
        distance: the largest coordinate, mm.
    """
    if distance <= FAR:
        return None
    lost = "" if distance <= TOO_FAR else ", where positions are no longer known to 1 µm"
    return (
        f"the model reaches {distance:.3g} mm from the origin{lost}; a number in the file is damaged, the unit is "
        "wrong ('unit:' in the job), or the part should be moved to the origin and exported again"
    )


def _remedy(across: float, unit: str, hole: float | None = None) -> str:
    """What to do about a size: the units that would make it likely, and the bolt holes too where one is told."""
    here = mm_per(unit) or 1.0
    fitting = [
        name
        for name in ("mm", "inch", "cm", "m")
        if name != unit
        and SMALLEST <= across * MM_PER[name] / here <= LARGEST
        and (hole is None or LEAST_HOLE <= hole * MM_PER[name] / here <= GREATEST_HOLE)
    ]
    said = f"the file's numbers were taken in {unit}"
    if not fitting:
        return f"{said}; check the unit that the file was exported in"
    return f"{said}; if they are really in {' or '.join(fitting)}, put 'unit: {fitting[0]}' in the job"


def _across(survey: Survey, adapter: set[int]) -> float:
    """The diagonal of the box round some bodies' edges, mm; 0 where they have none."""
    edges = sorted({index for face in survey.faces if face.body in adapter for index in face.edges})
    if not edges:
        return 0.0
    low, high = (side[edges] for side in survey.edge_table.boxes)
    across = high.max(axis=0) - low.min(axis=0)
    return 0.0 if across.min() < 0.0 else sqrt(float((across**2).sum()))
