"""The largest swept diameter that turns freely and goes in: a remedy, tried before it is told."""

from __future__ import annotations

from dataclasses import replace

from fitcheck.checks.drive import Drive, Placed
from fitcheck.checks.material import material
from fitcheck.checks.swept import Step, Swept
from fitcheck.checks.wording import SIDES, mm, rounded_down
from fitcheck.measurement.obstacles import least_radius

_STEP = 0.01
"""mm; to this, the diameter is told."""


def diameter_remedy(drive: Drive, placed: Placed) -> str:
    """The largest swept diameter in words, tried as a round coupling of that diameter all along.

    What is narrower somewhere fits as well: neither check ever gets worse by a smaller radius.
    """
    now = mm(2 * replace(placed.swept, axes=()).most(placed.swept.start, placed.swept.stop))
    hubs = drive.job.coupling.hubs
    bore = max(hubs.motor.bore, hubs.actuator.bore)
    diameter = largest_diameter(drive, placed)
    if diameter is None:
        return "no coupling fits and goes in there: material reaches to the drive axis"
    if diameter <= bore:
        return f"no coupling with a bore of {mm(bore)} fits and goes in: at most {mm(diameter)} of swept diameter would"
    return f"largest swept diameter that fits and goes in: {mm(diameter)} (now {now}, screw heads counted)"


def largest_diameter(drive: Drive, placed: Placed) -> float | None:
    """The largest diameter in mm, rounded down to 0.01, at which radial-clearance and insertion pass; None for none."""
    from fitcheck.checks import insertion

    require, give = drive.job.require, drive.job.coupling.axial_float
    start, stop = placed.swept.start, placed.swept.stop
    about = material(drive.measurement, start - give, stop + give)
    if about is None:
        return None
    turning = least_radius(about, start - give, stop + give).radius - require.orbit - require.radial_clearance
    sides = SIDES if require.insertion_from == "either" else (require.insertion_from,)
    ways = [insertion.way_in(drive, placed.swept, side).largest - require.insertion_clearance for side in sides]
    # A shaft beside the drive axis takes its distance off what would fit about the axis.
    beside = placed.swept.off_axis(start, stop)
    turning, ways = turning - beside, [way - beside for way in ways]
    least = min(turning, max(ways))
    if least <= 0.0 or least == float("inf"):
        return None
    diameter = rounded_down(2 * least)
    found = next((told for told in (diameter, diameter - _STEP) if told > 0.0 and _fits(drive, placed, told)), None)
    if require.insertion_from == "either" and max(ways) < turning < float("inf"):
        found = _sideways(drive, placed, diameter, rounded_down(2 * turning)) or found
    return None if found is None else round(found, 2)


def _sideways(drive: Drive, placed: Placed, low: float, high: float) -> float | None:
    """The largest diameter over `low` and up to `high` that goes in sideways or in parts, mm; None where none does."""
    first, last = round(low / _STEP) + 1, round(high / _STEP)
    if last < first or not _fits(drive, placed, first * _STEP):
        return None
    # A thinner one goes in wherever a thicker one does.
    while last > first:
        middle = (first + last + 1) // 2
        first, last = (middle, last) if _fits(drive, placed, middle * _STEP) else (first, middle - 1)
    return first * _STEP


def _fits(drive: Drive, placed: Placed, diameter: float) -> bool:
    from fitcheck.checks import insertion, radial_clearance

    tried = with_diameter(drive, placed, diameter)
    findings = (*radial_clearance.check(tried), *insertion.check(tried))
    return not any(finding.status in ("fail", "not-checked") for finding in findings)


def with_diameter(drive: Drive, placed: Placed, diameter: float) -> Drive:
    """The drive with a round coupling of one diameter from end to end, in the same place."""
    steps = tuple(replace(step, radius=diameter / 2) for step in placed.swept.steps)
    ends = ((placed.swept.start, placed.start), (placed.stop, placed.swept.stop))
    # Heads may reach out beyond the hubs' faces.
    beyond = tuple(
        Step(start=start, stop=stop, radius=diameter / 2, part="coupling") for start, stop in ends if stop > start
    )
    round_all_along = Swept(steps=(*steps, *beyond), axes=placed.swept.axes)
    return replace(
        drive, placed=replace(placed, swept=round_all_along), remedies=False, trial=True, conflicts=(), answers={}
    )  # fmt: skip
