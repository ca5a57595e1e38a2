"""`assembly-order`: an order in which coupling, motor and actuator come together and every screw is tightened."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fitcheck.checks import insertion, wrench_access
from fitcheck.checks.drive import Drive, Placed
from fitcheck.checks.finding import Finding, Place, not_checked
from fitcheck.checks.sequences import Order, orders, room_text
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
        every = tried(drive)
    except TableError as error:
        return (not_checked(CHECK, SUBJECT, str(error), "correct the size of the coupling's screws"),)
    limit = drive.job.require.insertion_clearance
    working = [order for order in every if order.works]
    if working:
        best = working[0]
        message = f"{best.name}: {numbered(best)}"
        others = [f"{order.name} ({room_text(order.clearance)})" for order in working if order is not best]
        message += f" Works as well: {'; '.join(others)}." if others else ""
        refused = [order for order in every if not order.works]
        message += f" Does not: {_refused_text(refused)}." if refused else ""
        value = None if best.clearance == float("inf") else best.clearance
        return (
            Finding(
                check=CHECK, subject=SUBJECT, status="pass", value=value, limit=limit, unit="mm",
                margin=None if value is None else value - limit, message=message, path="require.insertion_clearance",
                steps=best.steps, orders=tuple(order.to_dict() for order in every),
            ),
        )  # fmt: skip
    return (_none(drive, placed, every, limit),)


def numbered(order: Order) -> str:
    """The order's steps as one text."""
    return " ".join(f"{number}. {step}" for number, step in enumerate(order.steps, start=1))


def tightened_before(drive: Drive, side: str, position: int) -> str | None:
    """Where a workable order tightens a screw before all is assembled: which order; else None."""
    if drive.placed is None:
        return None
    for order in tried(drive):
        if order.works and (side, position) in order.before:
            return f"{order.name}, it is tightened before the second machine is bolted on (assembly-order)"
    return None


def tried(drive: Drive) -> tuple[Order, ...]:
    """Every order of a drive whose coupling is placed, those that work first; worked out once.

    Raises:
        TableError: a screw or its key is not in the tables.
    """
    asked = ("orders",)
    if asked not in drive.answers:
        assert drive.placed is not None
        drive.answers[asked] = tuple(sorted(orders(drive, drive.placed), key=lambda order: not order.works))
    found: tuple[Order, ...] = drive.answers[asked]
    return found


def _none(drive: Drive, placed: Placed, every: tuple[Order, ...], limit: float) -> Finding:
    open_ones = [order for order in every if all(miss.supply is not None for miss in order.misses)]
    if open_ones:
        unknown = open_ones[0].misses
        supply = " and ".join(dict.fromkeys(miss.supply for miss in unknown if miss.supply is not None))
        reason = f"no order is known to work, and one may ({open_ones[0].name}): {unknown[0].what}"
        return replace(
            not_checked(CHECK, SUBJECT, reason, supply), orders=tuple(order.to_dict() for order in every)
        )  # fmt: skip
    nearest = min(every, key=lambda order: (len(order.misses), sum(miss.lack for miss in order.misses)))
    message = f"no order of assembly works; the nearest is {_refused_text([nearest])}"
    causes = [
        module.CHECK
        for module in (insertion, wrench_access)
        if any(finding.status == "fail" for finding in module.check(replace(drive, remedies=False)))
    ]
    if causes:
        message += f"; the cause is reported by {' and '.join(causes)}"
    remedy = None if drive.trial else _remedy(drive, placed, causes)
    value = max(nearest.clearance, -1e6) if nearest.clearance < 1e6 else None
    point = drive.at(placed.start).point
    return Finding(
        check=CHECK, subject=SUBJECT, status="warn" if causes else "fail", value=value, limit=limit, unit="mm",
        margin=None if value is None else value - limit, at=Place(station=placed.start, point=point), message=message,
        remedy=remedy, path="require.insertion_clearance", orders=tuple(order.to_dict() for order in every),
    )  # fmt: skip


def _refused_text(refused: Sequence[Order]) -> str:
    """Orders that do not work, with what is missing."""
    return "; ".join(f"{order.name}: {', '.join(miss.what for miss in order.misses)}" for order in refused)


def _remedy(drive: Drive, placed: Placed, causes: Sequence[str]) -> str:
    """A thinner coupling or one whose hubs go in one by one, each tried first; else the remedies of the causes."""
    from fitcheck.checks.diameter_remedy import largest_diameter, with_diameter
    from fitcheck.checks.hubs_apart import IN_HALVES, WITH_SPACER

    offers = [f"what {' or '.join(causes)} says"] if causes else []
    if drive.remedies:
        diameter = largest_diameter(drive, placed)
        if diameter is not None and _any_works(with_diameter(drive, placed, diameter)):
            offers.append(f"a coupling of at most {mm(diameter)} swept diameter")
        for family in (*IN_HALVES, *WITH_SPACER):
            if family != drive.job.coupling.family and _works_as(drive, family):
                offers.append(f"a coupling whose hubs go in one by one ({family})")
                break
    return "; or ".join(offers) or "another adapter or coupling: no thinner one was found with which an order works"


def _works_as(drive: Drive, family: str) -> bool:
    from fitcheck.checks.trying import with_job

    return _any_works(with_job(drive, replace(drive.job, coupling=replace(drive.job.coupling, family=family))))


def _any_works(drive: Drive) -> bool:
    return drive.placed is not None and any(order.works for order in orders(drive, drive.placed))
