"""What each hub holds: slip torque of clamps and set screws, torque of keys; low, nominal and high, in N·m."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import pi

from fitcheck.checks.drive import Drive
from fitcheck.checks.shaft_section import Section, engaged, overlap, play_of, section_of
from fitcheck.checks.sides import Missing
from fitcheck.checks.work_units import nm, three
from fitcheck.errors import TableError, UsageError
from fitcheck.job.key_rules import KEY_SEAT_PLAY
from fitcheck.job.model import ACROSS, Hub, Screw
from fitcheck.job.ratings import Holding, Key
from fitcheck.mechanics.bounds import Bounds, exactly
from fitcheck.mechanics.estimates import MODULI
from fitcheck.mechanics.grip import arc_share, clamp_torque, slip_torque
from fitcheck.mechanics.keys import (
    HUB_BEARING,
    KeySection,
    din_section,
    effective_length,
    key_torque_limit,
    key_with_clamp,
)
from fitcheck.mechanics.preload import preload_range, thread
from fitcheck.mechanics.set_screws import cup_point, holding_torque, second_share
from fitcheck.mechanics.slotted_hub import HALF, NONE, WHOLE, SlottedHub, force_on_shaft

KEYS = ("key with set screw", "key with clamp")
CAST_IRON_MODULUS = 110e9
"""Pa, grey cast iron (memory)."""
CUT_WORDS = {
    WHOLE: "freed by a cut across nearly all round",
    HALF: "freed by a cut across half round",
    NONE: "not freed by a cut across, so it hardly closes",
}


@dataclass(frozen=True, kw_only=True)
class Held:
    """What a hub holds, N·m, and how that was worked out."""

    torque: Bounds
    how: str


@dataclass(frozen=True, kw_only=True)
class KeyLoad:
    """A hub's key: its section, the length that carries in mm, the count, and where the sizes are from."""

    section: KeySection
    length: float
    count: int
    how: str


def holding_of(hub: Hub) -> Holding:
    """How the hub holds, with defaults where the job says nothing."""
    return hub.holding or Holding()


def clamp_screws(hub: Hub) -> tuple[Screw, ...]:
    """The hub's screws that close its bore."""
    return tuple(screw for screw in hub.screws if screw.kind == "cap screw" and screw.direction == ACROSS)


def set_screws(hub: Hub) -> tuple[Screw, ...]:
    """The hub's set screws."""
    return tuple(screw for screw in hub.screws if screw.kind == "set screw")


def bounds_of(values: tuple[float, ...]) -> Bounds:
    """Low, nominal, high of a job's list."""
    return Bounds(low=values[0], nominal=values[1], high=values[2])


def held_by(drive: Drive, side: str) -> Held | Missing:
    """What the hub on a side holds by its fastening, or what is missing to tell."""
    hub: Hub = getattr(drive.job.coupling.hubs, side)
    given = holding_of(hub).slip_torque
    if given is not None and hub.fastening not in KEYS:
        return Held(torque=exactly(given), how="slip torque as given")
    try:
        if hub.fastening == "set screw":
            return _set_screws(drive, side, hub)
        if hub.fastening == "key with set screw":
            return _key(drive, side, hub)
        clamp = clamp_of(drive, side)
        if hub.fastening != "key with clamp" or isinstance(clamp, Missing):
            return clamp
        key = _key(drive, side, hub)
        if isinstance(key, Missing):
            return key
        return Held(
            torque=key_with_clamp(key.torque, clamp.torque),
            how=f"the stronger of clamp ({nm(clamp.torque.low)}: {clamp.how}) and key ({nm(key.torque.low)}: "
            f"{key.how})",
        )
    except (TableError, UsageError) as error:
        return Missing(reason=str(error), supply=f"correct coupling.hubs.{side}")


def clamp_of(drive: Drive, side: str) -> Held | Missing:
    """What the clamp alone holds, of a hub that has one."""
    hub: Hub = getattr(drive.job.coupling.hubs, side)
    given = holding_of(hub).slip_torque
    if given is not None:
        return Held(torque=exactly(given), how="slip torque as given")
    try:
        return _clamp(drive, side, hub)
    except (TableError, UsageError) as error:
        return Missing(reason=str(error), supply=f"correct coupling.hubs.{side}")


def screw_force(hub: Hub, side: str) -> Bounds | Missing:
    """Sum of the clamp screws' preloads, N."""
    screws, holding = clamp_screws(hub), holding_of(hub)
    if not screws:
        return Missing(
            reason=f"the {side} hub's clamp screws are not given", supply=f"give coupling.hubs.{side}.screws"
        )
    parts = []
    for index, screw in enumerate(screws):
        if screw.tightening_torque is None:
            return Missing(
                reason=f"the tightening torque of the {side} hub's {screw.size} screw is not given",
                supply=f"give coupling.hubs.{side}.screws.{index}.tightening_torque",
            )
        parts.append(
            preload_range(
                screw.tightening_torque, thread(screw.size), bounds_of(holding.thread_friction),
                holding.torque_scatter, holding.settling,
            )
        )  # fmt: skip
    return Bounds(
        low=sum(part.low for part in parts),
        nominal=sum(part.nominal for part in parts),
        high=sum(part.high for part in parts),
    )


def holding_play(drive: Drive, side: str, needed: float) -> float | None:
    """Greatest diametral play in mm, down from what it may be now, with which a slotted hub holds a torque in N·m.

    None where the play does not help: another fastening, a slip torque as given, or too little even without play.
    """
    hub: Hub = getattr(drive.job.coupling.hubs, side)
    play = play_of(drive, side)
    if hub.fastening != "clamp" or holding_of(hub).slip_torque is not None or isinstance(play, Missing):
        return None

    def holds(most: float) -> bool:
        held = _clamp(drive, side, hub, (min(play[0], most), most, play[2]))
        return isinstance(held, Held) and held.torque.low >= needed

    low, high = 0.0, play[1]
    if high <= 0.0 or not holds(low):
        return None
    for _ in range(30):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low


def _clamp(drive: Drive, side: str, hub: Hub, supposed: tuple[float, float, str] | None = None) -> Held | Missing:
    force = screw_force(hub, side)
    play, section = supposed or play_of(drive, side), section_of(drive, side)
    for found in (force, play):
        if isinstance(found, Missing):
            return found
    assert isinstance(force, Bounds) and isinstance(play, tuple) and section is not None  # noqa: PT018
    least, most, fit = play
    section = keyed_section(drive, side) or section
    outside = hub.outside_diameter or drive.job.coupling.outside_diameter
    pressing, how = _pressing(hub, outside, force, least, most)
    share, arc = _interrupted(drive, side, section)
    friction = bounds_of(holding_of(hub).friction)
    law = holding_of(hub).pressure_law
    if law == "by fit":
        torque = slip_torque(pressing, hub.bore, friction, least, most, share, arc)
    else:
        whole = 1.0 - share
        torque = Bounds(
            low=clamp_torque(pressing.low, hub.bore, friction.low, law) * (whole + min(0.5, arc) * share),
            nominal=clamp_torque(pressing.nominal, hub.bore, friction.nominal, law) * (whole + arc * share),
            high=clamp_torque(pressing.high, hub.bore, friction.high, law),
        )
    tight = "uniform" if least <= 0.0 else "cosine"
    pressure = f"two-line, cosine and {tight} pressure" if law == "by fit" else f"{law} pressure"
    if least < 0.0:
        fit += f", up to {three(-least)} mm of interference, whose own grip is not counted"
    words = (
        f"screws press {three(force.low)}, {three(force.nominal)}, {three(force.high)} N, {how}; friction "
        f"{friction.low:g}, {friction.nominal:g}, {friction.high:g}; {pressure}; fit {fit}"
    )
    if holding_of(hub).key != Key() and hub.fastening not in KEYS:
        words += f"; its key is not counted, as the fastening is {hub.fastening!r}"
    if share > 0.0:
        words += f"; flat or keyseat under {three(100.0 * share)} % of the grip"
    return Held(torque=torque, how=words)


def _pressing(hub: Hub, outside: float, force: Bounds, least: float, most: float) -> tuple[Bounds, str]:
    """Force between the halves after closing the play and by the lever, and how."""
    if hub.fastening == "clamp two-piece":
        return force, "cap and hub pressed together"
    holding, offsets = holding_of(hub), [abs(screw.offset) for screw in clamp_screws(hub)]
    # A relieved web is of no use in a hub that is not freed from its body, so it tells that this one is.
    cut = holding.cross_cut or (HALF if holding.hinge is None else WHOLE)
    slotted = SlottedHub(
        outside_mm=outside, bore_mm=hub.bore, length_mm=hub.length or hub.bore_length,
        screw_offset_mm=sum(offsets) / len(offsets),
        elastic_modulus=MODULI[holding.material][0] if holding.material in MODULI else CAST_IRON_MODULUS,
        cross_cut=cut, hinge_mm=holding.hinge,
    )  # fmt: skip
    made = force_on_shaft(slotted, force, least, most)
    spent = slotted.closing_factor * slotted.closing(most)
    words = f"less up to {three(spent)} N to close {three(most)} mm of play" if most > 0.0 else "no play to close"
    careful, lever = three(slotted.careful_lever), three(slotted.lever)
    words += f", lever {lever}" if careful == lever else f", lever {careful} to {lever}"
    if holding.hinge is None:
        words += f" about a web as thick as the wall of {three(outside)} mm on {three(hub.bore)} mm"
    words += f"; {CUT_WORDS[slotted.freed]}"
    if holding.cross_cut is None and holding.hinge is None:
        words += " is assumed: holding.cross_cut, .hinge or the maker's .slip_torque tells more"
    return made, words


def _interrupted(drive: Drive, side: str, section: Section) -> tuple[float, float]:
    """Share of the grip under a flat or keyseat, and the share of the circumference left there."""
    placed = drive.placed
    grip = engaged(drive, side, placed.hub(side)) if placed is not None else None
    if section.flat_height is None and section.keyseat_width is None:
        return 0.0, 1.0
    arc = 1.0
    if section.flat_height is not None:
        arc = arc_share(section.diameter, section.flat_height)
    if section.keyseat_width is not None:
        arc = min(arc, 1.0 - min(1.0, section.keyseat_width / (pi * section.diameter)))
    if grip is None:
        return 1.0, arc
    cut = overlap(grip, section.flat) + overlap(grip, section.keyseat)
    return min(1.0, cut / (grip[1] - grip[0])), arc


def _set_screws(drive: Drive, side: str, hub: Hub) -> Held | Missing:
    screws, section = set_screws(hub), section_of(drive, side)
    if not screws:
        return Missing(reason=f"the {side} hub's set screws are not given", supply=f"give coupling.hubs.{side}.screws")
    if section is None:
        return drive.side(side).no_shaft()
    held = [(holding_torque(screw.size, section.diameter, 1, screw.tightening_torque), screw.angle) for screw in screws]
    # The strongest counts whole, each further one by its angle to it; the high value takes all whole.
    held.sort(key=lambda one: one[0].low, reverse=True)
    shares = [1.0 if number == 0 else second_share(angle - held[0][1]) for number, (_, angle) in enumerate(held)]
    parts = [part for part, _ in held]
    torque = Bounds(
        low=sum(part.low * share for part, share in zip(parts, shares, strict=True)),
        nominal=sum(part.nominal * share for part, share in zip(parts, shares, strict=True)),
        high=sum(part.high for part in parts),
    )
    seated = ", ".join(
        f"{screw.size} tightened with {nm(screw.tightening_torque)}"
        if screw.tightening_torque is not None
        else f"{screw.size} seated with {nm(cup_point(screw.size).seating_torque)}, taken as done"
        for screw in screws
    )
    words = f"cup points by Shigley's table between its inch sizes, {seated}"
    if len(shares) > 1:
        more = " and ".join(three(share) for share in shares[1:])
        words += f"; by the angle between them each further one adds {more} of its own (memory)"
    return Held(torque=torque, how=words)


def keyed_section(drive: Drive, side: str) -> Section | None:
    """The shaft's section with the keyseat that a keyed hub needs, where nobody gave it: that of its key, all along.

    None where there is no shaft. Where not even the key's size is known, the section as it is.
    """
    hub: Hub = getattr(drive.job.coupling.hubs, side)
    section = section_of(drive, side)
    if section is None or hub.fastening not in KEYS or section.keyseat_width is not None:
        return section
    given = holding_of(hub).key
    try:
        made = din_section(section.diameter)
        if given.width is not None and given.height is not None:
            made = KeySection(shaft_mm=section.diameter, width_mm=given.width, height_mm=given.height)
    except (TableError, UsageError):
        return section
    bore = None if drive.placed is None else drive.placed.hub(side).bore
    return replace(section, keyseat_width=made.width_mm, keyseat_depth=made.depth_mm, keyseat=bore)


def key_of(drive: Drive, side: str) -> KeyLoad | Missing:
    """The key of a keyed hub."""
    hub: Hub = getattr(drive.job.coupling.hubs, side)
    given, section = holding_of(hub).key, section_of(drive, side)
    if section is None:
        return drive.side(side).no_shaft()
    try:
        if given.width is not None and given.height is not None:
            made = KeySection(
                shaft_mm=section.diameter, width_mm=given.width, height_mm=given.height,
                shaft_depth_mm=section.keyseat_depth,
            )  # fmt: skip
            source = "as given"
        else:
            made, source = din_section(section.diameter), "DIN 6885-1"
        seat = section.keyseat_width
        if seat is not None and abs(seat - made.width_mm) > KEY_SEAT_PLAY:
            return Missing(
                reason=f"the {side} shaft's keyseat is {seat:g} mm wide, while the key of {made.width_mm:g} x "
                f"{made.height_mm:g} ({source}) is {made.width_mm:g} mm wide",
                supply=f"give coupling.hubs.{side}.holding.key (width, height), or correct {side}.shaft.keyseat",
            )
        length = given.length
        if drive.placed is not None and section.keyseat is not None:
            room = overlap(drive.placed.hub(side).bore, section.keyseat)
            if room <= 0.0:
                return Missing(
                    reason=f"the {side} shaft's keyseat does not reach into the hub's bore",
                    supply=f"correct {side}.shaft.keyseat or place.motor_hub_face",
                )
            # what of a key sticks out of the bore carries nothing
            length = room if length is None else min(length, room)
        if length is None:
            return Missing(
                reason=f"the length of the {side} hub's key is not known",
                supply=f"give coupling.hubs.{side}.holding.key.length, or {side}.shaft.keyseat",
            )
        carrying = effective_length(length, made.width_mm, section.diameter, given.ends)
    except (TableError, UsageError) as error:
        return Missing(reason=str(error), supply=f"give coupling.hubs.{side}.holding.key (width, height, length)")
    words = f"key {made.width_mm:g} x {made.height_mm:g} ({source}), {three(carrying)} mm of it carrying"
    return KeyLoad(section=made, length=carrying, count=given.count, how=words)


def _key(drive: Drive, side: str, hub: Hub) -> Held | Missing:
    key = key_of(drive, side)
    if isinstance(key, Missing):
        return key
    material = holding_of(hub).material
    torque = key_torque_limit(key.section, key.length, HUB_BEARING[material], count=key.count)
    words = f"{key.how}, in a hub of {material}"
    if hub.fastening == "key with set screw" and holding_of(hub).slip_torque is not None:
        words += "; its slip_torque is not counted, as the key carries"
    return Held(torque=torque, how=words)
