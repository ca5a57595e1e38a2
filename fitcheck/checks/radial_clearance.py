"""`radial-clearance`: the turning coupling keeps its distance from everything about it."""

from __future__ import annotations

from fitcheck.checks.drive import Drive
from fitcheck.checks.finding import Finding, compare, not_checked
from fitcheck.checks.material import least_gap, material
from fitcheck.checks.tolerances import radial_stack, told
from fitcheck.checks.wording import mm

CHECK = "radial-clearance"
SUBJECT = "coupling"


def check(drive: Drive) -> tuple[Finding, ...]:
    """The least of r(s) - R(s) - orbit over the coupling's stations, its axial float counted to both sides."""
    placed = drive.placed
    if placed is None:
        assert drive.unplaced is not None
        return (not_checked(CHECK, SUBJECT, drive.unplaced.reason, drive.unplaced.supply),)
    give = drive.job.coupling.axial_float
    start, stop = placed.swept.start - give, placed.swept.stop + give
    about = material(drive.measurement, start, stop)
    if about is None:
        return (not_checked(CHECK, SUBJECT, "the measurement holds no obstacles", "measure the STEP file again"),)
    require = drive.job.require

    def needed(first: float, last: float) -> float:
        return placed.swept.most(first - give, last + give)

    breaks = sorted({start, stop, *(v + d for v in placed.swept.breaks for d in (-give, 0.0, give))})
    gap = least_gap(about, needed, breaks)
    limit = require.radial_clearance
    if gap is None:
        message = "no material lies about the coupling at its stations"
        return (
            Finding(
                check=CHECK, subject=SUBJECT, status="pass", limit=limit, unit="mm", message=message,
                path="require.radial_clearance",
            ),
        )  # fmt: skip
    near = gap.nearest
    value = gap.value - require.orbit
    at = drive.at(near.station, near.radius, near.theta, near.body)
    part = placed.swept.part(near.station - give, near.station + give)
    message = (
        f"{mm(value)} between the {part} (swept radius {mm(gap.needed)}) and {at.body or 'the material'} "
        f"(free radius {mm(near.radius)}) at station {mm(near.station)}, {mm(require.orbit)} orbit taken off; "
        f"at least {mm(limit)} needed"
    )
    beside = placed.swept.off_axis(near.station - give, near.station + give)
    if beside:
        message += f"; the shafts' own axes lie up to {mm(beside)} beside the drive axis there, which is counted"
    if placed.swept.assumptions:
        message += "; " + "; ".join(placed.swept.assumptions)
    remedy = None
    if value < limit and not drive.trial:
        from fitcheck.checks.diameter_remedy import diameter_remedy

        remedy = diameter_remedy(drive, placed)
    finding = compare(
        check=CHECK, subject=SUBJECT, value=value, limit=limit, unit="mm", at_least=True, message=message,
        remedy=remedy, at=at, path="require.radial_clearance",
    )  # fmt: skip
    sizes = drive.job.tolerances
    return (finding if sizes is None else told(finding, radial_stack(drive, sizes, gap.value), sizes),)
