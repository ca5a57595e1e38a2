"""`assembly-order`: an order in which coupling, motor and actuator come together and every screw is tightened."""

from __future__ import annotations

from dataclasses import replace

from fitcheck.checks import insertion, wrench_access
from fitcheck.checks.drive import Drive, Placed
from fitcheck.checks.finding import Finding, Place, not_checked
from fitcheck.checks.sequences import Order, orders
from fitcheck.checks.wording import mm
from fitcheck.errors import TableError

CHECK = "assembly-order"
SUBJECT = "order"


def check(drive: Drive) -> tuple[Finding, ...]:
    """The most usual workable order, as numbered steps; none is a fail.

    Where `insertion` or `wrench-access` already fails, the same cause is not counted as a second fail: the order is
    then a warning that points there.
    """
    placed = drive.placed
    if placed is None:
        assert drive.unplaced is not None
        return (not_checked(CHECK, SUBJECT, drive.unplaced.reason, drive.unplaced.supply),)
    if drive.measurement.obstacles is None:
        return (not_checked(CHECK, SUBJECT, "the measurement holds no obstacles", "measure the STEP file again"),)
    try:
        tried = _tried(drive, placed)
    except TableError as error:
        return (not_checked(CHECK, SUBJECT, str(error), "correct the size of the coupling's screws"),)
    limit = drive.job.require.insertion_clearance
    working = [order for order in tried if order.works]
    if working:
        best = working[0]
        message = f"{best.name}: {numbered(best)}"
        others = [order.name for order in working if order is not best]
        message += f" Works as well: {'; '.join(others)}." if others else ""
        value = None if best.clearance == float("inf") else best.clearance
        return (
            Finding(
                check=CHECK, subject=SUBJECT, status="pass", value=value, limit=limit, unit="mm",
                margin=None if value is None else value - limit, message=message, path="require.insertion_clearance",
                steps=best.steps,
            ),
        )  # fmt: skip
    return (_none(drive, placed, tried, limit),)


def numbered(order: Order) -> str:
    """The order's steps as one text."""
    return " ".join(f"{number}. {step}" for number, step in enumerate(order.steps, start=1))


def tightened_before(drive: Drive, side: str, position: int) -> str | None:
    """Where a workable order tightens a screw before all is assembled: which order; else None."""
    if drive.placed is None:
        return None
    for order in _tried(drive, drive.placed):
        if order.works and (side, position) in order.before:
            return f"{order.name}, it is tightened before the second machine is bolted on (assembly-order)"
    return None


def _tried(drive: Drive, placed: Placed) -> tuple[Order, ...]:
    asked = ("orders",)
    if asked not in drive.answers:
        drive.answers[asked] = tuple(orders(drive, placed))
    found: tuple[Order, ...] = drive.answers[asked]
    return found


def _none(drive: Drive, placed: Placed, tried: tuple[Order, ...], limit: float) -> Finding:
    nearest = min(tried, key=lambda order: (len(order.misses), sum(miss.lack for miss in order.misses)))
    missing = "; ".join(miss.what for miss in nearest.misses)
    message = f"no order of assembly works; the nearest is {nearest.name}: {missing}"
    causes = [
        module.CHECK
        for module in (insertion, wrench_access)
        if any(finding.status == "fail" for finding in module.check(replace(drive, remedies=False)))
    ]
    if causes:
        message += f"; the cause is reported by {' and '.join(causes)}"
    lack = max(miss.lack for miss in nearest.misses)
    if nearest.clearance < limit:
        remedy = f"{mm(lack)} more clearance on the way in, or a coupling whose hubs go in one by one"
    else:
        remedy = "an opening at the screw that is out of reach, or a coupling whose hubs are tightened on the bench"
    value = max(nearest.clearance, -1e6) if nearest.clearance < 1e6 else None
    point = drive.at(placed.start).point
    return Finding(
        check=CHECK, subject=SUBJECT, status="warn" if causes else "fail", value=value, limit=limit, unit="mm",
        margin=None if value is None else value - limit, at=Place(station=placed.start, point=point), message=message,
        remedy=remedy, path="require.insertion_clearance",
    )  # fmt: skip
