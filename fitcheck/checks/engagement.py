"""`engagement`: enough full-diameter shaft in each hub, and not past the hub's insertion limit."""

from __future__ import annotations

from fitcheck.checks.drive import Drive, PlacedHub, ShaftEnd
from fitcheck.checks.finding import Finding, compare, not_checked
from fitcheck.checks.wording import SIDES, mm, other, rounded_up
from fitcheck.job.model import Require

CHECK = "engagement"
FULL_ROUND = ("clamp", "clamp two-piece")
"""Fastenings that grip all round, so that neither a flat nor a keyseat under them counts."""
KEYED_CLAMP = "key with clamp"
"""Grips all round but over the key's own seat."""


def check(drive: Drive) -> tuple[Finding, ...]:
    """For each hub: the gripped length against the least, and the shaft's depth against the insertion limit."""
    found: list[Finding] = []
    for side in SIDES:
        shaft, placed = drive.side(side).shaft, drive.placed
        if shaft is None:
            missing = drive.side(side).no_shaft()
            found.append(not_checked(CHECK, f"{side} hub", missing.reason, missing.supply))
        elif placed is None:
            assert drive.unplaced is not None
            found.append(not_checked(CHECK, f"{side} hub", drive.unplaced.reason, drive.unplaced.supply))
        else:
            found += [_grip(drive, side, shaft, placed.hub(side)), _depth(drive, side, shaft, placed.hub(side))]
    return tuple(found)


def gripped(shaft: ShaftEnd, hub: PlacedHub) -> float:
    """Length of full-diameter shaft inside the hub's bore, mm, flats and keyseats taken off where the hub needs it."""
    low, high = sorted((shaft.full_from, shaft.full_to))
    start, stop = max(low, hub.bore[0]), min(high, hub.bore[1])
    if stop <= start:
        return 0.0
    pieces = [(start, stop)]
    for cut in _cuts(shaft, hub.hub.fastening):
        pieces = [piece for old in pieces for piece in _without(old, cut)]
    return sum(last - first for first, last in pieces)


def least_engagement(require: Require, diameter: float, bore_length: float) -> tuple[float, str]:
    """The least engagement in mm by the job's rule, and the rule in words."""
    by_diameter = require.engagement * diameter
    if require.engagement_rule == "bore length":
        return bore_length, "the hub's bore length"
    if require.engagement_rule == "lesser" and bore_length < by_diameter:
        return bore_length, "the hub's bore length, less than the multiple of the shaft diameter"
    return by_diameter, f"{require.engagement:g} x shaft diameter"


def _cuts(shaft: ShaftEnd, fastening: str) -> list[tuple[float, float]]:
    cuts = [shaft.flat] if fastening in (*FULL_ROUND, KEYED_CLAMP) else []
    cuts += [shaft.keyseat] if fastening in FULL_ROUND else []
    return [cut for cut in cuts if cut is not None]


def _without(piece: tuple[float, float], cut: tuple[float, float]) -> list[tuple[float, float]]:
    parts = [(piece[0], min(piece[1], cut[0])), (max(piece[0], cut[1]), piece[1])]
    return [(first, last) for first, last in parts if last > first]


def _grip(drive: Drive, side: str, shaft: ShaftEnd, hub: PlacedHub) -> Finding:
    value = gripped(shaft, hub)
    limit, rule = least_engagement(drive.job.require, shaft.diameter, hub.hub.bore_length)
    cuts = bool(_cuts(shaft, hub.hub.fastening))
    message = (
        f"{mm(value)} of full-diameter shaft in the {side} hub's bore of {mm(hub.hub.bore_length)}"
        + (", flat and keyseat not counted" if cuts else "")
        + f"; at least {mm(limit)} needed ({rule})"
    )
    remedy = None
    if value < limit:
        lack = rounded_up(limit - value)
        remedy = f"a {side} shaft {mm(lack)} longer, or the coupling {mm(lack)} nearer to the {side}"
        if cuts:
            remedy += f", or a {side} shaft whose flat or keyseat ends outside the bore"
        if limit > hub.hub.bore_length + 1e-9:
            remedy = f"a hub with a bore at least {mm(rounded_up(limit))} long, or a smaller require.engagement"
    return compare(
        check=CHECK, subject=f"{side} hub", value=value, limit=limit, unit="mm", at_least=True, message=message,
        remedy=remedy, at=drive.at(hub.outer), path="require.engagement",
    )  # fmt: skip


def _depth(drive: Drive, side: str, shaft: ShaftEnd, hub: PlacedHub) -> Finding:
    value = (shaft.end - hub.outer) * (1.0 if side == "motor" else -1.0)
    given = hub.hub.insertion_limit
    limit = hub.hub.bore_length if given is None else given
    named = "bore length, as no insertion limit is given" if given is None else "insertion limit"
    message = f"the {side} shaft ends {mm(value)} inside the hub; at most {mm(limit)} allowed ({named})"
    if value < 0:
        message = f"the {side} shaft ends {mm(-value)} before the hub; it may enter at most {mm(limit)} ({named})"
    over = rounded_up(value - limit)
    return compare(
        check=CHECK, subject=f"{side} shaft depth", value=value, limit=limit, unit="mm", at_least=False,
        message=message, at=drive.at(shaft.end),
        remedy=f"move the coupling {mm(over)} towards the {other(side)}, or shorten the {side} shaft by {mm(over)}",
        path=f"coupling.hubs.{side}.{'bore_length' if given is None else 'insertion_limit'}",
    )  # fmt: skip
