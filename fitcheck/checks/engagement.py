"""`engagement`: enough full-diameter shaft in each hub, and not past the hub's insertion limit."""

from __future__ import annotations

from dataclasses import replace

from fitcheck.checks.drive import Drive, PlacedHub
from fitcheck.checks.finding import Finding, compare, not_checked
from fitcheck.checks.sides import ShaftEnd
from fitcheck.checks.tolerances import engagement_stack, told
from fitcheck.checks.wording import SIDES, mm, other, rounded_up
from fitcheck.job.model import Require

CHECK = "engagement"
FULL_ROUND = ("clamp", "clamp two-piece")
"""Fastenings that grip all round, so that neither a flat nor a keyseat under them counts."""
KEYED_CLAMP = "key with clamp"
"""Grips all round but over the key's own seat."""
_ROUNDING = 1e-9


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
    """Length of full-diameter shaft inside the hub's bore, mm; grooves are taken off, and flats and keyseats where the
    hub needs it.
    """
    low, high = sorted((shaft.full_from, shaft.full_to))
    start, stop = max(low, hub.bore[0]), min(high, hub.bore[1])
    if stop <= start:
        return 0.0
    pieces = [(start, stop)]
    for cut in _cuts(shaft, hub.hub.fastening):
        pieces = [piece for old in pieces for piece in _without(old, cut)]
    return sum(last - first for first, last in pieces)


def depth(shaft: ShaftEnd, hub: PlacedHub, sign: float) -> float:
    """How far the shaft end lies inside the hub's outer face, mm; `sign` +1 for the motor, -1 for the actuator."""
    return (shaft.end - hub.outer) * sign


def depth_limit(hub: PlacedHub) -> float:
    """The hub's insertion limit, mm; without one, its bore length."""
    return hub.hub.bore_length if hub.hub.insertion_limit is None else hub.hub.insertion_limit


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
    return [cut for cut in (*cuts, *shaft.grooves) if cut is not None]


def _without(piece: tuple[float, float], cut: tuple[float, float]) -> list[tuple[float, float]]:
    parts = [(piece[0], min(piece[1], cut[0])), (max(piece[0], cut[1]), piece[1])]
    return [(first, last) for first, last in parts if last > first]


def _grip(drive: Drive, side: str, shaft: ShaftEnd, hub: PlacedHub) -> Finding:
    value = gripped(shaft, hub)
    limit, rule = least_engagement(drive.job.require, shaft.diameter, hub.hub.bore_length)
    cuts = _cuts(shaft, hub.hub.fastening)
    cut = "flat and keyseat" if len(cuts) > len(shaft.grooves) else ""
    cut += (" and " if cut and shaft.grooves else "") + ("grooves" if shaft.grooves else "")
    message = (
        f"{mm(value)} of full-diameter shaft in the {side} hub's bore of {mm(hub.hub.bore_length)}"
        + (f", {cut} not counted" if cut else "")
        + f"; at least {mm(limit)} needed ({rule})"
    )
    remedy = _grip_remedy(drive, side, shaft, hub, limit) if value < limit - _ROUNDING and not drive.trial else None
    finding = compare(
        check=CHECK, subject=f"{side} hub", value=value, limit=limit, unit="mm", at_least=True, message=message,
        remedy=remedy, at=drive.at(hub.outer), path="require.engagement",
    )  # fmt: skip
    sizes = drive.job.tolerances
    return finding if sizes is None else told(finding, engagement_stack(sizes, side, value), sizes)


def _depth(drive: Drive, side: str, shaft: ShaftEnd, hub: PlacedHub) -> Finding:
    value, limit = depth(shaft, hub, drive.side(side).sign), depth_limit(hub)
    given = hub.hub.insertion_limit
    named = "bore length, as no insertion limit is given" if given is None else "insertion limit"
    message = f"the {side} shaft ends {mm(value)} inside the hub; at most {mm(limit)} allowed ({named})"
    if value < 0:
        message = f"the {side} shaft ends {mm(-value)} before the hub; it may enter at most {mm(limit)} ({named})"
    remedy = _depth_remedy(drive, side, value - limit) if value > limit + _ROUNDING and not drive.trial else None
    finding = compare(
        check=CHECK, subject=f"{side} shaft depth", value=value, limit=limit, unit="mm", at_least=False,
        message=message, at=drive.at(shaft.end), remedy=remedy,
        path=f"coupling.hubs.{side}.{'bore_length' if given is None else 'insertion_limit'}",
    )  # fmt: skip
    sizes = drive.job.tolerances
    return finding if sizes is None else told(finding, engagement_stack(sizes, side, value), sizes, at_most=True)


def _grip_remedy(drive: Drive, side: str, shaft: ShaftEnd, hub: PlacedHub, limit: float) -> str:
    """What alone gives enough engagement: a move, another shaft, hub or length; each tried first."""
    lack, key = rounded_up(limit - gripped(shaft, hub)), (CHECK, f"{side} hub")
    if not drive.remedies:
        return f"{mm(lack)} more {side} shaft inside the hub"
    from fitcheck.checks.centred_remedy import change_text, only_shaft
    from fitcheck.checks.coupling_length import length_remedy
    from fitcheck.checks.moving import move_remedy
    from fitcheck.checks.trying import holds, shaft_change, with_shaft_end

    if limit > hub.hub.bore_length + 1e-9:
        return _longer_hub(drive, side, hub, limit)
    one = only_shaft(drive, CHECK, [f"{name} hub" for name in SIDES], [_short(drive, name) for name in SIDES])
    if one is not None:
        return change_text(drive, *one)
    sign = drive.side(side).sign
    ways = [move_remedy(drive, -sign * lack, *key)]
    plain = replace(shaft, flat=None, keyseat=None)
    if plain != shaft and holds(drive, with_shaft_end(drive, side, plain), (key,)):
        ways.append(f"a shaft on the {side}'s side whose flat or keyseat lies outside the bore")
    ways.append(shaft_change(drive, side, lack, (key,)))
    found = _with_length([way for way in ways if way is not None], length_remedy(drive, key))
    if found:
        return ", or ".join(found)
    need = depth_limit(hub)
    return (
        f"{mm(lack)} more {side} shaft inside the hub, which takes another length of coupling or shaft as well: "
        f"the shaft may enter at most {mm(need)}, and the shaft gap must stay"
    )


def deep_shaft(drive: Drive) -> tuple[str, float] | None:
    """The one shaft that lies too deep in both hubs of a centred coupling, and its change in mm; None for no such."""
    from fitcheck.checks.centred_remedy import only_shaft

    return only_shaft(drive, CHECK, [f"{name} shaft depth" for name in SIDES], [_deep(drive, name) for name in SIDES])


def _short(drive: Drive, side: str) -> float:
    """How much full-diameter shaft a hub lacks, mm; 0 where it has enough, or nothing is known of it."""
    shaft, placed = drive.side(side).shaft, drive.placed
    if shaft is None or placed is None:
        return 0.0
    hub = placed.hub(side)
    least, _ = least_engagement(drive.job.require, shaft.diameter, hub.hub.bore_length)
    return max(least - gripped(shaft, hub), 0.0)


def _deep(drive: Drive, side: str) -> float:
    """How much too deep a shaft lies in its hub, mm, as a negative number; 0 where it does not, or is not known."""
    shaft, placed = drive.side(side).shaft, drive.placed
    if shaft is None or placed is None:
        return 0.0
    hub = placed.hub(side)
    return min(depth_limit(hub) - depth(shaft, hub, drive.side(side).sign), 0.0)


def _with_length(ways: list[str], fitting: str | None) -> list[str]:
    """Other lengths of the coupling among the ways: before those by which something suffers, after the others."""
    from fitcheck.checks.trying import HARM

    good = [way for way in ways if HARM not in way]
    return [*good, *([] if fitting is None else [fitting]), *(way for way in ways if HARM in way)]


def _longer_hub(drive: Drive, side: str, hub: PlacedHub, limit: float) -> str:
    """A hub with a bore as long as the engagement asks for, with more shaft where that takes it."""
    from fitcheck.checks.trying import holds, shaft_change, with_coupling

    hubs, key, need = drive.job.coupling.hubs, (CHECK, f"{side} hub"), rounded_up(limit)
    longer = replace(hub.hub, bore_length=need)
    longer = longer if longer.length is None else replace(longer, length=max(longer.length, need))
    changed = replace(hubs, motor=longer) if side == "motor" else replace(hubs, actuator=longer)
    text = f"a hub with a bore at least {mm(need)} long"
    tried = with_coupling(drive, replace(drive.job.coupling, hubs=changed))
    if tried is not None and holds(drive, tried, (key,)):
        return text
    shaft = None if tried is None else tried.side(side).shaft
    if tried is not None and tried.placed is not None and shaft is not None:
        lack = rounded_up(limit - gripped(shaft, tried.placed.hub(side)))
        more = shaft_change(replace(tried, remedies=True), side, lack, (key,)) if lack > 0.0 else None
        if more is not None:
            return f"{text} and {more}"
    return f"{text}, with the shaft as far inside, which takes another length of coupling as well"


def _depth_remedy(drive: Drive, side: str, over: float) -> str:
    """A move or a shorter shaft, each tried first."""
    over, key = rounded_up(over), (CHECK, f"{side} shaft depth")
    if not drive.remedies:
        return f"{mm(over)} less {side} shaft inside the hub"
    from fitcheck.checks.centred_remedy import change_text
    from fitcheck.checks.coupling_length import length_remedy
    from fitcheck.checks.moving import move_remedy
    from fitcheck.checks.trying import shaft_change

    one = deep_shaft(drive)
    if one is not None:
        return change_text(drive, *one)
    ways = (move_remedy(drive, drive.side(side).sign * over, *key), shaft_change(drive, side, -over, (key,)))
    good = _one_shaft(drive, side) or [way for way in ways if way is not None]
    found = _with_length(good, length_remedy(drive, key))
    return ", or ".join(found) if found else f"{mm(over)} less {side} shaft inside the hub, and another coupling"


def _one_shaft(drive: Drive, side: str) -> list[str]:
    """Of a coupling centred between the shaft ends, and too deep in both hubs, the shafts of which one may be shorter.

    A shaft that is too long by d moves such a coupling by d / 2 and is d / 2 too deep in both hubs.
    """
    from fitcheck.checks.trying import HARM, outcome, told, with_shaft

    placed = drive.placed
    if drive.job.place.motor_hub_face is not None or placed is None:
        return []
    overs = []
    for machine in drive.sides:
        hub = placed.hub(machine.name)
        if machine.shaft is None:
            return []
        overs.append(depth(machine.shaft, hub, machine.sign) - depth_limit(hub))
    if min(overs) <= _ROUNDING:
        return []
    over = rounded_up(max(overs))
    keys = [(CHECK, f"{name} shaft depth") for name in SIDES]
    found = []
    for name in (side, other(side)):
        machine = drive.side(name)
        assert machine.shaft is not None
        if machine.seat is None:
            continue
        longest = abs(machine.shaft.end - machine.seat) - 2.0 * over
        if longest > 0.0:
            text = f"the {name} shaft {mm(2.0 * over)} shorter (at most {mm(longest)}) for both hubs"
            found.append(told(text, outcome(drive, with_shaft(drive, name, -2.0 * over), keys)))
    return [way for way in found if way is not None and HARM not in way]
