"""`insertion`: the coupling passes everything on its way in."""

from __future__ import annotations

from dataclasses import dataclass

from fitcheck.checks.drive import Drive, Placed
from fitcheck.checks.finding import Finding, compare, not_checked
from fitcheck.checks.material import LeastGap, extent, least_gap, material
from fitcheck.checks.shaft_collar import collar_at
from fitcheck.checks.swept import Swept
from fitcheck.checks.wording import SIDES, mm
from fitcheck.errors import TableError
from fitcheck.measurement.obstacles import least_radius

CHECK = "insertion"
SUBJECT = "coupling"
_FAR = 1e9


@dataclass(frozen=True, kw_only=True)
class Way:
    """One way in: the least gap (None where nothing stands in the way) and the largest swept diameter that passes."""

    side: str
    gap: LeastGap | None
    largest: float

    @property
    def value(self) -> float:
        """The least radial clearance over the way, mm; inf where nothing stands about it."""
        return float("inf") if self.gap is None else self.gap.value


def check(drive: Drive) -> tuple[Finding, ...]:
    """The least of r(s) minus the greatest swept radius that passes station s, from the motor's or actuator's side.

    Entering from the motor's side, all of the coupling that lies at stations >= s in its final place passes s. The
    coupling goes in before the machine of that side is bolted on, so that machine's bodies do not count.
    """
    placed = drive.placed
    if placed is None:
        assert drive.unplaced is not None
        return (not_checked(CHECK, SUBJECT, drive.unplaced.reason, drive.unplaced.supply),)
    if drive.measurement.obstacles is None:
        return (not_checked(CHECK, SUBJECT, "the measurement holds no obstacles", "measure the STEP file again"),)
    require = drive.job.require
    sides = SIDES if require.insertion_from == "either" else (require.insertion_from,)
    ways = [way_in(drive, placed.swept, side) for side in sides]
    best = max(ways, key=lambda way: way.value)
    limit = require.insertion_clearance
    over = _over_a_collar(drive, placed)
    if over is not None:
        return (over,)
    if best.gap is None:
        message = f"nothing stands in the coupling's way from the {best.side}'s side"
        return (
            Finding(
                check=CHECK, subject=SUBJECT, status="pass", limit=limit, unit="mm", message=message,
                path="require.insertion_clearance",
            ),
        )  # fmt: skip
    near = best.gap.nearest
    at = drive.at(near.station, near.radius, near.theta, near.body)
    message = (
        f"{mm(best.value)} radially, entering from the {best.side}'s side: swept radius {mm(best.gap.needed)} must "
        f"pass {at.body or 'material'} (free radius {mm(near.radius)}) at station {mm(near.station)}; "
        f"at least {mm(limit)} needed"
    )
    if len(ways) == 2:
        rest = next(way for way in ways if way is not best)
        message += f"; from the {rest.side}'s side {'free' if rest.gap is None else mm(rest.value)}"
    if best.value < limit:
        beside = _another_way(drive, limit, message)
        if beside is not None:
            return (beside,)
    remedy = None
    if best.value < limit and not drive.trial:
        from fitcheck.checks.diameter_remedy import diameter_remedy

        remedy = diameter_remedy(drive, placed)
    return (
        compare(
            check=CHECK, subject=SUBJECT, value=best.value, limit=limit, unit="mm", at_least=True, message=message,
            remedy=remedy, at=at, path="require.insertion_clearance",
        ),
    )  # fmt: skip


def _over_a_collar(drive: Drive, placed: Placed) -> Finding | None:
    """A fail where a hub would have to go over a part of its shaft that is wider than its bore to reach its place."""
    for side in drive.sides:
        collar = collar_at(placed, side)
        if collar is None or collar.radius is None or collar.room >= 0.0:
            continue
        bore, limit = placed.hub(side.name).hub.bore, 0.0
        return compare(
            check=CHECK, subject=f"{side.name} hub", value=bore / 2 - collar.radius, limit=limit, unit="mm",
            at_least=True, at=drive.at(collar.face.station, collar.radius),
            message=f"the {side.name} hub's bore of {mm(bore)} does not go over {collar.face.what}, which ends at "
            f"station {mm(collar.face.station)}, {mm(-collar.room)} inside the hub",
            remedy=f"the hub's face at station {mm(collar.face.station)} or farther from the {side.name}",
            path=f"coupling.hubs.{side.name}.bore",
        )  # fmt: skip
    return None


def _another_way(drive: Drive, limit: float, from_the_ends: str) -> Finding | None:
    """A pass where the coupling goes in sideways or in parts, with most room; None where it does not."""
    from fitcheck.checks.assembly_order import tried
    from fitcheck.checks.sequences import room_text

    try:
        found = [order for order in tried(drive) if order.goes_in]
    except TableError:
        # `assembly-order` and `wrench-access` tell which screw is not in the tables.
        return None
    if not found:
        return None
    best = max(found, key=lambda order: (order.works, order.clearance))
    value = None if best.clearance == float("inf") else best.clearance
    return Finding(
        check=CHECK, subject=SUBJECT, status="pass", value=value, limit=limit, unit="mm",
        margin=None if value is None else value - limit,
        message=f"it goes in otherwise ({best.name}: {room_text(best.clearance)}); not from the ends: {from_the_ends}",
        path="require.insertion_clearance",
    )  # fmt: skip


def way_in(drive: Drive, swept: Swept, side: str) -> Way:
    """The way of a coupling, or of a part of one, from a side to its place.

    Args:
        drive: the drive.
        swept: what goes in, at its final place.
        side: motor or actuator; the machine of that side is not there yet.
    """
    if side == "motor":
        about = material(drive.measurement, -_FAR, swept.stop, (side,))
        assert about is not None
        start, stop = min(extent(about)[0], swept.start), swept.stop

        def needed(first: float, last: float) -> float:
            del last
            return swept.most(first, swept.stop)
    else:
        about = material(drive.measurement, swept.start, _FAR, (side,))
        assert about is not None
        start, stop = swept.start, max(extent(about)[1], swept.stop)

        def needed(first: float, last: float) -> float:
            del first
            return swept.most(swept.start, last)

    gap = least_gap(about, needed, sorted({start, stop, *swept.breaks}))
    return Way(side=side, gap=gap, largest=least_radius(about, start, stop).radius)
