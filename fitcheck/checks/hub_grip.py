"""`hub-grip`: what each hub holds on its shaft against the torque it must hold; its screws' own stress and tool."""

from __future__ import annotations

from dataclasses import replace

from fitcheck.checks.bad_cases import decided
from fitcheck.checks.drive import Drive
from fitcheck.checks.finding import Finding, Place, compare
from fitcheck.checks.hub_holding import (
    KEYS,
    Held,
    bounds_of,
    clamp_of,
    clamp_screws,
    held_by,
    holding_of,
    holding_play,
    set_screws,
)
from fitcheck.checks.sides import Missing
from fitcheck.checks.wording import SIDES
from fitcheck.checks.work_units import TORQUE, nm, open_question, three
from fitcheck.checks.working import Working, working_of
from fitcheck.errors import TableError
from fitcheck.job.drive import REVERSING
from fitcheck.job.model import Hub, Screw
from fitcheck.mechanics.preload import (
    YIELD_SHARE,
    Thread,
    assembly_stress,
    preload,
    thread,
    tightening_torque,
    tool_torque_limit,
)
from fitcheck.mechanics.set_screws import DYNAMIC_SAFETY, STATIC_SAFETY
from fitcheck.standards.screws import cap_screw, set_screw
from fitcheck.standards.strength import property_class

CHECK = "hub-grip"
MEGA = 1e6


def check(drive: Drive) -> tuple[Finding, ...]:
    """For each hub: its low slip torque, the stress of its clamp screws, and what their key may carry."""
    working = working_of(drive)
    found: list[Finding] = []
    for side in SIDES:
        found.append(_grip(drive, side, working))
        hub: Hub = getattr(drive.job.coupling.hubs, side)
        for index, screw in enumerate(hub.screws):
            if screw.tightening_torque is None:
                continue
            if screw in clamp_screws(hub):
                found.append(_stress(drive, side, index, screw, hub))
            if screw in clamp_screws(hub) or screw in set_screws(hub):
                found += _tool(drive, side, index, screw)
    return tuple(found)


def _at(drive: Drive, side: str) -> Place | None:
    return None if drive.placed is None else drive.at(drive.placed.hub(side).outer)


def safety(working: Working, hub: Hub) -> tuple[float, str, str]:
    """Least ratio of what a hub holds to its torque, its name, and its path."""
    asked, path = working.data.asked, "drive.asked.set_screw_safety"
    if hub.fastening != "set screw":
        return asked.slip_safety, f"safety {three(asked.slip_safety)}", "drive.asked.slip_safety"
    if asked.set_screw_safety is not None:
        return asked.set_screw_safety, f"safety {three(asked.set_screw_safety)}", path
    if working.data.service.direction == REVERSING:
        return DYNAMIC_SAFETY[0], f"safety {DYNAMIC_SAFETY[0]:g} for reversing (Shigley)", path
    return STATIC_SAFETY[0], f"safety {STATIC_SAFETY[0]:g} for one way (Shigley)", path


def _grip(drive: Drive, side: str, working: Working | Missing) -> Finding:
    subject, hub = f"{side} hub", getattr(drive.job.coupling.hubs, side)
    held = held_by(drive, side)
    if isinstance(held, Missing):
        return open_question(CHECK, subject, held, required=drive.job.drive is not None)
    if isinstance(working, Missing):
        reason = f"{working.reason}; the hub slips at {_range(held)} ({held.how})"
        return open_question(CHECK, subject, Missing(reason=reason, supply=working.supply), required=False)
    factor, words, path = safety(working, hub)
    worst = working.worst
    needed = worst.torque * factor
    verb = "carries" if hub.fastening in KEYS else "slips at"
    message = (
        f"the hub {verb} {_range(held)}, judged on the low value ({held.how}); it must hold {nm(worst.torque)} "
        f"({worst.how}) with {words}"
    )
    finding = compare(
        check=CHECK, subject=subject, value=held.torque.low, limit=needed, unit=TORQUE, at_least=True,
        at=_at(drive, side), path=path, message=message, remedy=_remedy(drive, side, hub, held, needed),
    )  # fmt: skip
    return decided(_keyed_clamp(drive, side, hub, finding, needed), working)


def _range(held: Held) -> str:
    return f"{three(held.torque.low)}, {three(held.torque.nominal)}, {nm(held.torque.high)} (low, nominal, high)"


def _keyed_clamp(drive: Drive, side: str, hub: Hub, finding: Finding, needed: float) -> Finding:
    """A hub with key and clamp that slips onto its key gets the key's play; said as a warning."""
    if hub.fastening != "key with clamp" or finding.status != "pass":
        return finding
    clamp = clamp_of(drive, side)
    if isinstance(clamp, Missing) or clamp.torque.low >= needed:
        return finding
    message = f"{finding.message}; the clamp alone holds {nm(clamp.torque.low)}: beyond it the key's play is felt"
    return replace(finding, status="warn", message=message)


def _remedy(drive: Drive, side: str, hub: Hub, held: Held, needed: float) -> str:
    low = held.torque.low
    much = f"{three(needed / low)} times as much" if low > 0.0 else f"at least {nm(needed)}"
    if hub.fastening in KEYS:
        return f"a key that carries {much}: a longer or second key, or a hub of steel"
    if hub.fastening == "set screw":
        return f"set screws that hold {much}: larger or more of them, a clamp hub or a key"
    play = holding_play(drive, side, needed)
    closer = "" if play is None else f"bore and shaft with at most {three(play)} mm of play, "
    return (
        f"a clamp that holds {much}: {closer}a higher tightening torque (screws of a higher property class), larger or "
        f"more screws, a two-piece clamp or a key{_assumed_cut(hub)}"
    )


def _assumed_cut(hub: Hub) -> str:
    """What tells more, where the verdict rests on how far a hub is taken to be freed from its body."""
    given = holding_of(hub)
    if hub.fastening != "clamp" or given.cross_cut is not None or given.hinge is not None:
        return ""
    place = "holding.slip_torque from its maker or a bench, or holding.cross_cut or .hinge"
    return f"; where this hub closes more freely than is assumed, {place}"


def _stress(drive: Drive, side: str, index: int, screw: Screw, hub: Hub) -> Finding:
    assert screw.tightening_torque is not None
    path, subject = f"coupling.hubs.{side}.screws.{index}.tightening_torque", f"{side} hub screw {index + 1}"
    try:
        turned, strength = thread(screw.size), property_class(screw.property_class).yield_strength
    except TableError as error:
        missing = Missing(reason=str(error), supply=f"correct coupling.hubs.{side}.screws.{index}.size")
        return open_question(CHECK, subject, missing, required=True)
    friction = bounds_of(holding_of(hub).thread_friction)
    limit = YIELD_SHARE * strength
    value = _stress_at(screw.tightening_torque, turned, friction.nominal)
    slippery = _stress_at(screw.tightening_torque, turned, friction.low)
    most = tightening_torque(strength * MEGA, turned, friction.nominal)
    finding = compare(
        check=CHECK, subject=subject, value=value, limit=limit, unit="MPa", at_least=False, at=_at(drive, side),
        path=path,
        message=f"{screw.size} of class {screw.property_class} at {nm(screw.tightening_torque)} is stressed to "
        f"{three(value)} MPa at friction {friction.nominal:g}, {three(slippery)} MPa at {friction.low:g}; at most "
        f"{YIELD_SHARE:g} of its yield strength, {three(limit)} MPa (VDI 2230)",
        remedy=f"at most {nm(most)} for this screw, or a higher property class",
    )  # fmt: skip
    if finding.status == "pass" and slippery > strength:
        message = f"{finding.message}; with low friction it would yield ({three(strength)} MPa)"
        return replace(finding, status="warn", message=message, remedy="dry threads, or a lower tightening torque")
    return finding


def _stress_at(torque: float, turned: Thread, friction: float) -> float:
    return assembly_stress(preload(torque, turned, friction), turned, friction) / MEGA


def _tool(drive: Drive, side: str, index: int, screw: Screw) -> list[Finding]:
    assert screw.tightening_torque is not None
    table = cap_screw if screw.kind == "cap screw" else set_screw
    subject, path = f"{side} hub screw {index + 1} key", f"coupling.hubs.{side}.screws.{index}.tightening_torque"
    try:
        key = table(screw.size).key_size
        limit = tool_torque_limit(key)
    except TableError as error:
        missing = Missing(reason=str(error), supply="judge the hexagon key by its maker's data")
        return [open_question(CHECK, subject, missing, required=False)]
    return [
        compare(
            check=CHECK, subject=subject, value=screw.tightening_torque, limit=limit, unit=TORQUE, at_least=False,
            at=_at(drive, side), path=path,
            message=f"the {screw.size} screw is tightened with {nm(screw.tightening_torque)}; its hexagon key of "
            f"{key:g} mm yields at {nm(limit)} (ASME B18.3.2M); a ball end bears about half of that (memory)",
            remedy=f"at most {nm(limit)}, or a screw with a larger socket",
        )
    ]  # fmt: skip
