"""The ways in which coupling, motor, actuator and adapter can come together."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import isfinite
from typing import Any

from fitcheck.checks.access import ASSEMBLED, State, best_of, reaches, screws_of
from fitcheck.checks.drive import Drive, Placed
from fitcheck.checks.insertion import way_in
from fitcheck.checks.material import left_out
from fitcheck.checks.swept import Swept
from fitcheck.checks.wording import SIDES, mm, other, screws_text, shaft_angle
from fitcheck.job.model import ACROSS
from fitcheck.measurement.sideways import sideways_room

BENCH: dict[str, State] = {
    "motor": ("adapter", "actuator", "other"),
    "actuator": ("adapter", "motor", "other"),
}
"""A hub on its shaft, outside the adapter: what is not there."""
_ROUNDING = 1e-9
FARTHEST = 80.0
"""mm; how far from its place a window for the coupling is looked for."""


@dataclass(frozen=True, kw_only=True)
class Miss:
    """Why an order does not work: what, how much is missing in mm where that can be told, and whether of the way in.

    Where it may work all the same, and what is missing is a line of the job, `supply` names that.
    """

    what: str
    lack: float
    way: bool = False
    supply: str | None = None


@dataclass(frozen=True, kw_only=True)
class Order:
    """One order of assembly.

    Attributes:
        name: what goes where first.
        steps: what to do, in order.
        clearance: least clearance in mm on the way in; inf where nothing stands about it.
        before: screws (side, number) tightened before the second machine is bolted on.
        after: screws tightened once all is bolted on.
        misses: why it does not work; empty where it does.
    """

    name: str
    steps: tuple[str, ...]
    clearance: float
    before: tuple[tuple[str, int], ...]
    after: tuple[tuple[str, int], ...]
    misses: tuple[Miss, ...]

    @property
    def works(self) -> bool:
        """Whether nothing is in its way."""
        return not self.misses

    @property
    def goes_in(self) -> bool:
        """Whether the coupling comes to its place, whatever screws are out of reach."""
        return not any(miss.way for miss in self.misses)

    def to_dict(self) -> dict[str, Any]:
        """The order as plain data: clearance in mm (None where nothing stands about it), screws, what is missing."""

        def names(screws: tuple[tuple[str, int], ...]) -> list[str]:
            return [f"{side} hub screw {number}" for side, number in screws]

        return {
            "name": self.name,
            "works": self.works,
            "clearance": round(self.clearance, 6) if isfinite(self.clearance) else None,
            "tightened_before": names(self.before),
            "tightened_after": names(self.after),
            "missing": [miss.what for miss in self.misses],
        }


def orders(drive: Drive, placed: Placed) -> Iterator[Order]:
    """Every order that the job and the coupling's family allow, the usual ones, from the ends, first.

    Where a remedy is being tried, the others are looked at only if no usual one works.

    Raises:
        TableError: a screw or its key is not in the tables.
    """
    entry = drive.job.require.insertion_from
    usual = [_on_own_shaft(drive, placed, side) for side in SIDES if entry in ("either", side)]
    usual += [_dropped_in(drive, placed, side) for side in SIDES if entry in ("either", side)]
    yield from usual
    works = any(order.works for order in usual)
    if entry != "either" or (drive.trial and works):
        return
    from fitcheck.checks.caps_off import caps_off
    from fitcheck.checks.hubs_apart import hubs_apart
    from fitcheck.checks.through_window import through_window

    yield from hubs_apart(drive, placed)
    yield from caps_off(drive, placed)
    yield from through_window(drive, placed, closely=not works)


def _on_own_shaft(drive: Drive, placed: Placed, side: str) -> Order:
    """The coupling on one machine's shaft on the bench, and in with that machine."""
    far = other(side)
    first, first_miss = tighten(drive, placed, side, BENCH[side])
    way, way_miss = goes_in(drive, placed.swept, side, "the coupling")
    last, last_miss = tighten(drive, placed, far, ASSEMBLED)
    together, flange = screwed_together(drive, placed)
    steps = (
        *together,
        f"Put the coupling on the {side}'s shaft, on the bench{and_then(first)}.",
        f"Bolt the {far} to the adapter.",
        f"Bring the {side} with the coupling in from the {side}'s side ({room_text(way)}), the {far}'s shaft entering "
        f"its hub, and bolt the {side} on.",
        *last,
    )
    return Order(
        name=f"coupling on the {side}'s shaft first", steps=steps, clearance=way,
        before=(*flange, *screws_across(drive, side)), after=screws_across(drive, far),
        misses=(*first_miss, *way_miss, *last_miss),
    )  # fmt: skip


def _dropped_in(drive: Drive, placed: Placed, side: str) -> Order:
    """The coupling in from `side` onto the other machine's shaft, which is bolted on already."""
    far = other(side)
    way, way_miss = goes_in(drive, placed.swept, side, "the coupling")
    first, first_miss = tighten(drive, placed, far, (side,))
    last, last_miss = tighten(drive, placed, side, ASSEMBLED)
    together, flange = screwed_together(drive, placed)
    steps = (
        *together,
        f"Bolt the {far} to the adapter.",
        f"Put the coupling in from the {side}'s side ({room_text(way)}), onto the {far}'s shaft.",
        *first,
        f"Bring the {side} on, its shaft entering its hub, and bolt it on.",
        *last,
    )
    return Order(
        name=f"coupling on the {far}'s shaft inside the adapter", steps=steps, clearance=way,
        before=(*flange, *screws_across(drive, far)), after=screws_across(drive, side),
        misses=(*way_miss, *first_miss, *last_miss),
    )  # fmt: skip


def goes_in(drive: Drive, swept: Swept, side: str, what: str) -> tuple[float, tuple[Miss, ...]]:
    """The least clearance of what goes in from a side, mm, and what it lacks."""
    limit = drive.job.require.insertion_clearance
    if not swept.steps:
        return float("inf"), ()
    value = way_in(drive, swept, side).value
    if value >= limit - _ROUNDING:
        return value, ()
    lack = limit - value
    return value, (Miss(what=f"{what} lacks {mm(lack)} of clearance from the {side}'s side", lack=lack, way=True),)


def sideways_in(
    drive: Drive, swept: Swept, absent: State, what: str
) -> tuple[float, float | None, tuple[Miss, ...]]:  # fmt: skip
    """The clearance sideways to its place, mm, of a part of the coupling, the direction in degrees, what it lacks."""
    limit = drive.job.require.insertion_clearance
    asked = ("sideways", swept, absent)
    if asked not in drive.answers:
        parts, skip = parts_of(swept, 0.0), left_out(drive.measurement, absent)
        assert drive.measurement.obstacles is not None
        # Whether it goes in is all that is asked of what is being tried.
        enough = limit if drive.trial else None
        found = sideways_room(drive.measurement.obstacles, parts, leave_out=skip, enough=enough) if parts else (0, None)
        drive.answers[asked] = found
    room, theta = drive.answers[asked]
    return room, theta, too_tight(what, room, limit)


def parts_of(swept: Swept, move: float) -> list[tuple[float, float, float]]:
    """What goes in as cylinders about the drive axis, `move` mm off its place."""
    parts = [(slope.start, slope.stop, max(slope.r0, slope.r1)) for slope in swept.slopes]
    if not parts:
        parts = [(step.start, step.stop, step.radius) for step in swept.steps]
        parts += [(head.start, head.stop, head.swept(head.station)) for head in swept.heads]
    reach = swept.lean_reach
    return [
        (start - reach + move, stop + reach + move, radius + swept.off_axis(start - reach, stop + reach))
        for start, stop, radius in parts
    ]


def too_tight(what: str, room: float, limit: float) -> tuple[Miss, ...]:
    """What something lacks that has so much room sideways, mm."""
    if room >= limit - _ROUNDING:
        return ()
    lack = limit - room
    return (Miss(what=f"{what} lacks {mm(lack)} of clearance through the windows", lack=lack, way=True),)


def part_of(swept: Swept, start: float, stop: float) -> Swept:
    """What of the coupling lies between two stations."""
    steps = tuple(
        replace(step, start=max(step.start, start), stop=min(step.stop, stop))
        for step in swept.steps
        if step.start < stop - _ROUNDING and step.stop > start + _ROUNDING
    )
    heads = tuple(head for head in swept.heads if start <= head.station <= stop)
    # Where it was measured, a slope that reaches over the border counts whole, which is on the safe side.
    slopes = tuple(slope for slope in swept.slopes if slope.start < stop - _ROUNDING and slope.stop > start + _ROUNDING)
    return replace(swept, steps=steps, heads=heads, slopes=slopes)


def screws_across(drive: Drive, side: str) -> tuple[tuple[str, int], ...]:
    """A hub's clamp and set screws, as side and number."""
    return tuple((owner, i) for owner, i, screw in screws_of(drive) if owner == side and screw.direction == ACROSS)


def flange_screws(drive: Drive, side: str) -> list[tuple[str, int]]:
    """A hub's screws along the drive axis, as side and number."""
    return [(owner, i) for owner, i, screw in screws_of(drive) if owner == side and screw.direction != ACROSS]


def screwed_together(drive: Drive, placed: Placed) -> tuple[tuple[str, ...], tuple[tuple[str, int], ...]]:
    """The step that tightens the flange screws of a coupling that goes in whole, and which of them are reached then.

    The others are taken as tightened by whoever supplies the coupling.
    """
    away = (*BENCH["motor"], "motor")
    screws = tuple(
        screw
        for side in SIDES
        for screw in flange_screws(drive, side)
        if best_of(reaches(drive, placed, *screw, away)).works
    )
    names = screws_text([f"{side} hub screw {number}" for side, number in screws])
    return (f"Screw the coupling together on the bench: tighten {names}.",) if screws else (), screws


def tighten(drive: Drive, placed: Placed, side: str, state: State) -> tuple[tuple[str, ...], tuple[Miss, ...]]:
    """The step that tightens a hub's clamp or set screws, and those that are out of reach."""
    return tighten_each(drive, placed, list(screws_across(drive, side)), state)


def tighten_each(
    drive: Drive, placed: Placed, screws: list[tuple[str, int]], state: State
) -> tuple[tuple[str, ...], tuple[Miss, ...]]:
    """The steps that tighten screws in a state of the assembly, and those that are out of reach."""
    steps: list[str] = []
    missed: dict[tuple[str, bool], list[str]] = {}
    for side, position in screws:
        name = f"{side} hub screw {position}"
        every = reaches(drive, placed, side, position)
        found = best_of(every)
        if not found.works and state != ASSEMBLED:
            # With less about it a screw is never harder to reach.
            every = reaches(drive, placed, side, position, state)
            found = best_of(every)
        if found.works:
            steps.append(f"Tighten {name} with a {found.tool.name}, at shaft angle {shaft_angle(found.best or 0.0)}.")
            continue
        unknown = any(reach.unknown for reach in every)
        what = "" if unknown else found.hindered_by or drive.body_name(found.blocker) or "material"
        missed.setdefault((what, unknown), []).append(name)
    misses = []
    for (what, unknown), names in missed.items():
        those = screws_text(names)
        if unknown:
            text = f"whether a tool reaches {those} from between the hubs is not known"
            misses.append(Miss(what=text, lack=0.0, supply="give coupling.element_diameter"))
        else:
            are = "is" if len(names) == 1 else "are"
            text = f"{those} {are} out of reach then ({what} is in the way)"
            misses.append(Miss(what=text, lack=50.0 * len(names)))
    return tuple(steps), tuple(misses)


def and_then(steps: tuple[str, ...]) -> str:
    """Steps as the end of another one; on the bench the shaft angle does not matter."""
    names = [step.removeprefix("Tighten ").split(" with ")[0] for step in steps]
    return f", and tighten {screws_text(names)}" if names else ""


def room_text(clearance: float) -> str:
    """A clearance in words."""
    return "nothing stands about it" if clearance == float("inf") else f"{mm(clearance)} clearance"
