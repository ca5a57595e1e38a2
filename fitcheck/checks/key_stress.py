"""`key-stress`: stress of the keys, and of the shafts in torsion at flat and keyseat."""

from __future__ import annotations

from fitcheck.checks.bad_cases import decided
from fitcheck.checks.drive import Drive
from fitcheck.checks.finding import Finding, compare
from fitcheck.checks.hub_holding import KEYS, KeyLoad, holding_of, key_of, keyed_section
from fitcheck.checks.shaft_section import Section
from fitcheck.checks.sides import Missing
from fitcheck.checks.wording import SIDES
from fitcheck.checks.work_units import nm, open_question, three
from fitcheck.checks.working import Case, Working, working_of
from fitcheck.errors import UsageError
from fitcheck.job.model import Hub
from fitcheck.mechanics.keys import HUB_BEARING, KEY_SHEAR, key_stress
from fitcheck.mechanics.shafts import (
    KEYED_SHAFT_STRESS,
    PLAIN_SHAFT_STRESS,
    flat_stress,
    keyseat_stress,
    keyseat_torsion_share,
    torsional_stress,
)

CHECK = "key-stress"
MEGA = 1e6


def check(drive: Drive) -> tuple[Finding, ...]:
    """For each keyed hub its key, for each shaft its torsion, under the worst torque that is known."""
    working = working_of(drive)
    if isinstance(working, Missing):
        keyed = any(getattr(drive.job.coupling.hubs, side).fastening in KEYS for side in SIDES)
        subject = "keys" if keyed else "shafts"
        return (open_question(CHECK, subject, working, required=drive.job.drive is not None),)
    found: list[Finding] = []
    for side in SIDES:
        hub: Hub = getattr(drive.job.coupling.hubs, side)
        if hub.fastening in KEYS:
            found += [decided(finding, working) for finding in _keys(drive, side, hub, working.worst)]
        found.append(decided(_shaft(drive, side, working), working))
    return tuple(found)


def _keys(drive: Drive, side: str, hub: Hub, worst: Case) -> list[Finding]:
    key = key_of(drive, side)
    if isinstance(key, Missing):
        return [open_question(CHECK, f"{side} key", key, required=True)]
    stress, material = key_stress(worst.torque, key.section, key.length, key.count), holding_of(hub).material
    rows = (
        ("shear", stress.shear, KEY_SHEAR.low, "the key's shear"),
        ("in the hub", stress.hub_bearing, HUB_BEARING[material].low, f"the pressure on the keyway in {material}"),
        ("in the shaft", stress.shaft_bearing, HUB_BEARING["steel"].low, "the pressure on the keyseat in steel"),
    )
    return [_key(drive, side, key, worst, row) for row in rows]


def _key(drive: Drive, side: str, key: KeyLoad, worst: Case, row: tuple[str, float, float, str]) -> Finding:
    name, value, limit, words = row
    return compare(
        check=CHECK, subject=f"{side} key {name}", value=value / MEGA, limit=limit / MEGA, unit="MPa", at_least=False,
        at=None if drive.placed is None else drive.at(drive.placed.hub(side).outer),
        path=f"coupling.hubs.{side}.holding",
        message=f"{words} under {nm(worst.torque)} ({worst.how}) is {three(value / MEGA)} MPa; at most "
        f"{three(limit / MEGA)} MPa, the low one of the allowed values (memory); {key.how}",
        remedy=f"a key with {three(value / limit)} times the carrying length, "
        + ("or a hub of steel" if name == "in the hub" else "or a thicker shaft with its larger key"),
    )  # fmt: skip


def _shaft(drive: Drive, side: str, working: Working) -> Finding:
    section, subject = keyed_section(drive, side), f"{side} shaft"
    if section is None:
        return open_question(CHECK, subject, drive.side(side).no_shaft(), required=True)
    keyed = getattr(drive.job.coupling.hubs, side).fastening in KEYS
    if keyed and section.keyseat_width is None:
        missing = Missing(
            reason=f"the {side} shaft's keyseat is not given, and no key of its diameter is in the table",
            supply=f"give {side}.shaft.keyseat",
        )
        return open_question(CHECK, subject, missing, required=True)
    limit, source = _allowed(section, working)
    loads = [(*_stress(section, working.worst.torque), working.worst.torque, working.worst.how)]
    if section.keyseat_width is not None:
        loads.append(_notch(section, working))
    value, where, torque, how = max(loads)
    # Stress goes with the inverse cube of the diameter for a section of the same shape.
    wider = section.diameter * (value / limit) ** (1.0 / 3.0)
    return compare(
        check=CHECK, subject=subject, value=value, limit=limit, unit="MPa", at_least=False,
        path="drive.asked.shaft_stress",
        message=f"the {side} shaft of {section.diameter:g} mm is stressed to {three(value)} MPa by {nm(torque)} "
        f"({how}), {where}; at most {three(limit)} MPa{source}",
        remedy=f"a shaft of at least {three(wider)} mm, or of stronger steel (drive.asked.shaft_stress)",
    )  # fmt: skip


def _allowed(section: Section, working: Working) -> tuple[float, str]:
    """Greatest shear stress of the shaft in MPa, and where it is from unless the job gives it."""
    given = working.data.asked.shaft_stress
    if given is not None:
        return given, ""
    if section.keyseat_width is not None:
        return KEYED_SHAFT_STRESS / MEGA, " (plain carbon steel with a keyseat, memory)"
    return PLAIN_SHAFT_STRESS / MEGA, " (plain carbon steel without keyseat; 40 MPa with one, memory, is 25 % less)"


def _stress(section: Section, torque: float) -> tuple[float, str]:
    """Greatest shear stress in MPa of a torque that comes seldom, and where; a ductile corner yields without harm."""
    found = [(torsional_stress(torque, section.diameter), "round")]
    if section.flat_height is not None:
        try:
            found.append((flat_stress(torque, section.diameter, section.flat_height), "at its flat"))
        except UsageError:
            # Deeper than the formula covers: the round shaft that fits beside the flat, with the stress of its edge.
            found.append((2.0 * torsional_stress(torque, section.flat_height), "at its deep flat, estimated"))
    if section.keyseat_width is not None:
        found.append((_keyed(section, torque), "in the section that its keyseat leaves"))
    value, where = max(found)
    return value / MEGA, where


def _keyed(section: Section, torque: float) -> float:
    """Nominal stress of the section with its keyseat, Pa: the round shaft's, raised as the keyseat softens it."""
    width, depth = section.keyseat_width or 0.0, section.keyseat_depth or section.diameter / 4.0
    try:
        return torsional_stress(torque, section.diameter) / keyseat_torsion_share(section.diameter, width, depth)
    except UsageError:
        # Not covered by the formula: the round shaft that fits beside the keyseat.
        return torsional_stress(torque, section.diameter - depth)


def _notch(section: Section, working: Working) -> tuple[float, str, float, str]:
    """Stress in MPa at the keyseat's corner under the torque that comes again and again, where, and that torque."""
    if working.demand is None:
        torque, how = working.worst.torque, f"{working.worst.how}; the cycle is not known"
    else:
        torque, how = working.demand.peak, "greatest torque of the cycle, again and again"
    stress = keyseat_stress(torque, section.diameter) / MEGA
    return stress, "at the corner of its keyseat (factor 3, memory)", torque, how
