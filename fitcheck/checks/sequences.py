"""The ways in which coupling, motor, actuator and adapter can come together."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from fitcheck.checks.access import ASSEMBLED, State, best_of, reaches, screws_of
from fitcheck.checks.drive import Drive, Placed
from fitcheck.checks.insertion import way_in
from fitcheck.checks.material import least_gap, left_out, material
from fitcheck.checks.swept import Swept
from fitcheck.checks.wording import SIDES, degrees, mm, other
from fitcheck.job.model import ACROSS
from fitcheck.measurement.sideways import sideways_room

BENCH: dict[str, State] = {
    "motor": ("adapter", "actuator", "other"),
    "actuator": ("adapter", "motor", "other"),
}
"""A hub on its shaft, outside the adapter: what is not there."""
IN_HALVES = ("oldham", "jaw")
"""Families whose hubs plug together with the element between."""
WITH_SPACER = ("disc", "double disc")
_ROUNDING = 1e-9


@dataclass(frozen=True, kw_only=True)
class Miss:
    """Why an order does not work: what, and how much is missing in mm where that can be told."""

    what: str
    lack: float


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


def orders(drive: Drive, placed: Placed) -> Iterator[Order]:
    """Every order worth trying, the usual ones first; the others only where no usual one works.

    Raises:
        TableError: a screw or its key is not in the tables.
    """
    entry = drive.job.require.insertion_from
    usual = [_on_own_shaft(drive, placed, side) for side in SIDES if entry in ("either", side)]
    usual += [_dropped_in(drive, placed, side) for side in SIDES if entry in ("either", side)]
    yield from usual
    if entry != "either" or any(order.works for order in usual):
        return
    if drive.job.coupling.family in IN_HALVES:
        yield _in_halves(drive, placed)
    if drive.job.coupling.family in WITH_SPACER:
        yield _with_spacer(drive, placed)
    for side in SIDES:
        yield _through_window(drive, placed, side)


def _on_own_shaft(drive: Drive, placed: Placed, side: str) -> Order:
    """The coupling on one machine's shaft on the bench, and in with that machine."""
    far = other(side)
    first, first_miss = _tighten(drive, placed, side, BENCH[side])
    way, way_miss = _way(drive, placed.swept, side, "the coupling")
    last, last_miss = _tighten(drive, placed, far, ASSEMBLED)
    steps = (
        f"Put the coupling on the {side}'s shaft, on the bench{_and(first)}.",
        f"Bolt the {far} to the adapter.",
        f"Bring the {side} with the coupling in from the {side}'s side ({_room(way)}), the {far}'s shaft entering its "
        f"hub, and bolt the {side} on.",
        *last,
    )
    return Order(
        name=f"coupling on the {side}'s shaft first", steps=steps, clearance=way, before=_screws(drive, side),
        after=_screws(drive, far), misses=(*first_miss, *way_miss, *last_miss),
    )  # fmt: skip


def _dropped_in(drive: Drive, placed: Placed, side: str) -> Order:
    """The coupling in from `side` onto the other machine's shaft, which is bolted on already."""
    far = other(side)
    way, way_miss = _way(drive, placed.swept, side, "the coupling")
    first, first_miss = _tighten(drive, placed, far, (side,))
    last, last_miss = _tighten(drive, placed, side, ASSEMBLED)
    steps = (
        f"Bolt the {far} to the adapter.",
        f"Put the coupling in from the {side}'s side ({_room(way)}), onto the {far}'s shaft.",
        *first,
        f"Bring the {side} on, its shaft entering its hub, and bolt it on.",
        *last,
    )
    return Order(
        name=f"coupling on the {far}'s shaft inside the adapter", steps=steps, clearance=way,
        before=_screws(drive, far), after=_screws(drive, side), misses=(*way_miss, *first_miss, *last_miss),
    )  # fmt: skip


def _in_halves(drive: Drive, placed: Placed) -> Order:
    """Each hub on its shaft on the bench, the element between; the halves plug together."""
    motor, motor_miss = _tighten(drive, placed, "motor", BENCH["motor"])
    actuator, actuator_miss = _tighten(drive, placed, "actuator", BENCH["actuator"])
    # The element goes in on the motor's hub, so all but the actuator's hub comes with the motor.
    border = placed.actuator.inner
    one, one_miss = _way(drive, _part(placed.swept, placed.swept.start, border), "motor", "the motor hub with element")
    two, two_miss = _way(drive, _part(placed.swept, border, placed.swept.stop), "actuator", "the actuator hub")
    steps = (
        f"Put the motor hub on the motor's shaft, on the bench, at its final place{_and(motor)}.",
        f"Put the actuator hub on the actuator's shaft likewise{_and(actuator)}.",
        f"Bring the actuator with its hub into the adapter ({_room(two)}) and bolt it on.",
        f"Put the element into the motor hub, bring the motor in ({_room(one)}) so that the halves plug together, and "
        "bolt it on.",
    )
    return Order(
        name="hubs on their shafts first, the element between", steps=steps, clearance=min(one, two),
        before=(*_screws(drive, "motor"), *_screws(drive, "actuator")), after=(),
        misses=(*motor_miss, *actuator_miss, *one_miss, *two_miss),
    )  # fmt: skip


def _with_spacer(drive: Drive, placed: Placed) -> Order:
    """Each hub on its shaft on the bench; the spacer between comes in sideways, its flange screws come last."""
    motor, motor_miss = _tighten(drive, placed, "motor", BENCH["motor"])
    actuator, actuator_miss = _tighten(drive, placed, "actuator", BENCH["actuator"])
    first, last = placed.motor.inner, placed.actuator.inner
    one, one_miss = _way(drive, _part(placed.swept, placed.swept.start, first), "motor", "the motor hub")
    two, two_miss = _way(drive, _part(placed.swept, last, placed.swept.stop), "actuator", "the actuator hub")
    spacer = _part(placed.swept, first, last)
    room, theta, side_miss = _sideways(drive, spacer, 0.0, (), "the spacer")
    flange = [(side, i) for side, i, screw in screws_of(drive) if screw.direction != ACROSS]
    fixed, fixed_miss = _tighten_each(drive, placed, flange, ASSEMBLED)
    nothing = () if flange else (Miss(what="the job gives no flange screws (direction: to other hub)", lack=100.0),)
    steps = (
        f"Put the motor hub on the motor's shaft, on the bench{_and(motor)}.",
        f"Put the actuator hub on the actuator's shaft likewise{_and(actuator)}.",
        f"Bring the motor ({_room(one)}) and the actuator ({_room(two)}) into the adapter and bolt them on.",
        f"Put the spacer in sideways from shaft angle {degrees(theta or 0.0)} ({_room(room)}).",
        *fixed,
    )
    return Order(
        name="hubs on their shafts first, the spacer through the window", steps=steps, clearance=min(one, two, room),
        before=tuple(s for s in (*_screws(drive, "motor"), *_screws(drive, "actuator")) if s not in flange),
        after=tuple(flange),
        misses=(*motor_miss, *actuator_miss, *one_miss, *two_miss, *side_miss, *fixed_miss, *nothing),
    )  # fmt: skip


def _through_window(drive: Drive, placed: Placed, side: str) -> Order:
    """Sideways through the window, the machine of `side` not there yet, then along the axis onto the other's shaft."""
    far = other(side)
    shaft = drive.side(far).shaft
    sign = drive.side(side).sign
    outer = placed.hub(far).outer
    # Drawn back towards `side` until it clears the other shaft's end.
    back = 0.0 if shaft is None else max((outer - shaft.end) * sign, 0.0)
    room, theta, side_miss = _sideways(drive, placed.swept, -sign * back, (side,), "the coupling")
    push, push_miss = _push(drive, placed.swept, -sign * back, side)
    first, first_miss = _tighten(drive, placed, far, (side,))
    last, last_miss = _tighten(drive, placed, side, ASSEMBLED)
    steps = (
        f"Bolt the {far} to the adapter.",
        f"Put the coupling in sideways through the window, from shaft angle {degrees(theta or 0.0)} ({_room(room)}), "
        f"{mm(back)} nearer to the {side} than its place, and push it onto the {far}'s shaft.",
        *first,
        f"Bring the {side} on, its shaft entering its hub, and bolt it on.",
        *last,
    )
    return Order(
        name="coupling through the window", steps=steps, clearance=min(room, push), before=_screws(drive, far),
        after=_screws(drive, side), misses=(*side_miss, *push_miss, *first_miss, *last_miss),
    )  # fmt: skip


def _way(drive: Drive, swept: Swept, side: str, what: str) -> tuple[float, tuple[Miss, ...]]:
    limit = drive.job.require.insertion_clearance
    if not swept.steps:
        return float("inf"), ()
    value = way_in(drive, swept, side).value
    if value >= limit - _ROUNDING:
        return value, ()
    lack = limit - value
    return value, (Miss(what=f"{what} lacks {mm(lack)} of clearance from the {side}'s side", lack=lack),)


def _sideways(
    drive: Drive, swept: Swept, move: float, absent: State, what: str
) -> tuple[float, float | None, tuple[Miss, ...]]:
    limit = drive.job.require.insertion_clearance
    asked = ("sideways", swept, move, absent)
    if asked not in drive.answers:
        parts = [(step.start + move, step.stop + move, step.radius) for step in swept.steps]
        parts += [(head.start + move, head.stop + move, head.swept(head.station)) for head in swept.heads]
        assert drive.measurement.obstacles is not None
        skip = left_out(drive.measurement, absent)
        drive.answers[asked] = sideways_room(drive.measurement.obstacles, parts, leave_out=skip) if parts else (0, None)
    room, theta = drive.answers[asked]
    if room >= limit - _ROUNDING:
        return room, theta, ()
    lack = limit - room
    return room, theta, (Miss(what=f"{what} lacks {mm(lack)} of clearance through the windows", lack=lack),)


def _push(drive: Drive, swept: Swept, move: float, side: str) -> tuple[float, tuple[Miss, ...]]:
    """The least clearance while the coupling is pushed along the axis from `move` mm off its place."""
    low, high = min(move, 0.0), max(move, 0.0)
    about = material(drive.measurement, swept.start + low, swept.stop + high, (side,))
    assert about is not None

    def needed(first: float, last: float) -> float:
        # What lies at a station on the way lies, in its final place, up to `move` farther on.
        return swept.most(first - high, last - low)

    breaks = {station + shift for station in swept.breaks for shift in (low, high)}
    gap = least_gap(about, needed, sorted(breaks))
    value, limit = float("inf") if gap is None else gap.value, drive.job.require.insertion_clearance
    if value >= limit - _ROUNDING:
        return value, ()
    return value, (
        Miss(what=f"the coupling lacks {mm(limit - value)} of clearance along the axis", lack=limit - value),
    )


def _part(swept: Swept, start: float, stop: float) -> Swept:
    """What of the coupling lies between two stations."""
    steps = tuple(
        replace(step, start=max(step.start, start), stop=min(step.stop, stop))
        for step in swept.steps
        if step.start < stop - _ROUNDING and step.stop > start + _ROUNDING
    )
    return replace(swept, steps=steps, heads=tuple(head for head in swept.heads if start <= head.station <= stop))


def _screws(drive: Drive, side: str) -> tuple[tuple[str, int], ...]:
    return tuple((owner, i) for owner, i, screw in screws_of(drive) if owner == side and screw.direction == ACROSS)


def _tighten(drive: Drive, placed: Placed, side: str, state: State) -> tuple[tuple[str, ...], tuple[Miss, ...]]:
    """The step that tightens a hub's clamp or set screws, and those that are out of reach."""
    return _tighten_each(drive, placed, list(_screws(drive, side)), state)


def _tighten_each(
    drive: Drive, placed: Placed, screws: list[tuple[str, int]], state: State
) -> tuple[tuple[str, ...], tuple[Miss, ...]]:
    steps, misses = [], []
    for side, position in screws:
        name = f"{side} hub screw {position}"
        found = best_of(reaches(drive, placed, side, position))
        if not found.works and state != ASSEMBLED:
            # With less about it a screw is never harder to reach.
            found = best_of(reaches(drive, placed, side, position, state))
        if found.works:
            steps.append(f"Tighten {name} with a {found.tool.name}, at shaft angle {degrees(found.best or 0.0)}.")
        else:
            what = found.hindered_by or drive.body_name(found.blocker) or "material"
            misses.append(Miss(what=f"{name} is out of reach then ({what} is in the way)", lack=50.0))
    return tuple(steps), tuple(misses)


def _and(steps: tuple[str, ...]) -> str:
    """Steps as the end of another one; on the bench the shaft angle does not matter."""
    names = [step.removeprefix("Tighten ").split(" with ")[0] for step in steps]
    return f", and tighten {', '.join(names)}" if names else ""


def _room(clearance: float) -> str:
    return "nothing stands about it" if clearance == float("inf") else f"{mm(clearance)} clearance"
