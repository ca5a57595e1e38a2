"""Orders of assembly in which each hub sits on its own shaft before the machines meet, with the element between."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from fitcheck.checks.access import ASSEMBLED, State
from fitcheck.checks.drive import Drive, Placed
from fitcheck.checks.sequences import (
    BENCH,
    Miss,
    Order,
    and_then,
    flange_screws,
    goes_in,
    part_of,
    room_text,
    screws_across,
    sideways_in,
    tighten,
    tighten_each,
)
from fitcheck.checks.swept import BODY, Swept
from fitcheck.checks.wording import SIDES, mm, other, shaft_angle

IN_HALVES = ("oldham", "jaw")
"""Families whose hubs plug together with the element between."""
WITH_SPACER = ("disc", "double disc")
"""Families whose hubs are screwed to what lies between them."""


def hubs_apart(drive: Drive, placed: Placed) -> Iterator[Order]:
    """The orders that the coupling's family allows.

    Raises:
        TableError: a screw or its key is not in the tables.
    """
    if drive.job.coupling.family in IN_HALVES:
        for side in SIDES:
            yield _in_halves(drive, placed, side)
    if drive.job.coupling.family in WITH_SPACER:
        for side in SIDES:
            yield _spacer_on_hub(drive, placed, side)
        yield _spacer_sideways(drive, placed)


def _hub(placed: Placed, side: str) -> Swept:
    hub = placed.hub(side)
    return part_of(placed.swept, *sorted((hub.outer, hub.inner)))


def _hub_with_middle(placed: Placed, side: str) -> Swept:
    """All of the coupling but the other side's hub."""
    border = placed.hub(other(side)).inner
    if side == "motor":
        return part_of(placed.swept, placed.swept.start, border)
    return part_of(placed.swept, border, placed.swept.stop)


def _with_flanges(placed: Placed) -> Placed:
    """The coupling with its spacer as wide as the wider hub, and without heads beside it.

    A spacer that is screwed to hubs beside its tube has flanges that reach out to the screws. The element's diameter
    does not tell them, as they lie within the hubs' lengths; by itself the spacer is no narrower than that.
    """
    hubs = max(step.radius for step in placed.swept.steps if step.part.endswith("hub"))
    steps = tuple(
        replace(step, radius=max(step.radius, hubs)) if step.part == BODY else step
        for step in placed.swept.steps
        if not step.part.endswith("head")
    )
    return replace(placed, swept=replace(placed.swept, steps=steps))


def _bench(side: str) -> State:
    """A hub on its shaft, with neither the adapter nor the other hub about it."""
    return (*BENCH[side], f"{other(side)} hub")


def _in_halves(drive: Drive, placed: Placed, side: str) -> Order:
    """Each hub on its shaft on the bench, the element on the hub of `side`; the halves plug together."""
    far = other(side)
    near_steps, near_miss = tighten(drive, placed, side, _bench(side))
    far_steps, far_miss = tighten(drive, placed, far, _bench(far))
    one, one_miss = goes_in(drive, _hub_with_middle(placed, side), side, f"the {side} hub with the element")
    two, two_miss = goes_in(drive, _hub(placed, far), far, f"the {far} hub")
    steps = (
        f"Put the {side} hub on the {side}'s shaft, on the bench, at its final place{and_then(near_steps)}.",
        f"Put the {far} hub on the {far}'s shaft likewise{and_then(far_steps)}.",
        f"Bring the {far} with its hub into the adapter ({room_text(two)}) and bolt it on.",
        f"Put the element into the {side} hub, bring the {side} in ({room_text(one)}) so that the halves plug "
        "together, and bolt it on.",
    )
    return Order(
        name=f"hubs on their shafts first, the element between, on the {side} hub", steps=steps,
        clearance=min(one, two), before=(*screws_across(drive, side), *screws_across(drive, far)), after=(),
        misses=(*near_miss, *far_miss, *one_miss, *two_miss),
    )  # fmt: skip


def _no_flange_screws(flange: list[tuple[str, int]]) -> tuple[Miss, ...]:
    text = "the job gives no flange screws of that hub (direction: to other hub, or to outer face)"
    return () if flange else (Miss(what=text, lack=100.0),)


def _spacer_on_hub(drive: Drive, placed: Placed, side: str) -> Order:
    """The spacer with its disc packs screwed to one hub on the bench; the other hub's flange screws come last."""
    far = other(side)
    near_steps, near_miss = tighten(drive, placed, side, _bench(side))
    far_steps, far_miss = tighten(drive, placed, far, _bench(far))
    own, last = flange_screws(drive, side), flange_screws(drive, far)
    # The spacer is screwed to its hub before that goes on the shaft, so not even the machine is in the way.
    own_steps, own_miss = tighten_each(drive, placed, own, (*_bench(side), side))
    fixed, fixed_miss = tighten_each(drive, placed, last, ASSEMBLED)
    whole = _hub_with_middle(_with_flanges(placed), side)
    one, one_miss = goes_in(drive, whole, side, f"the {side} hub with the spacer")
    two, two_miss = goes_in(drive, _hub(placed, far), far, f"the {far} hub")
    steps = (
        f"Screw the spacer with its disc packs to the {side} hub, on the bench{and_then(own_steps)}.",
        f"Put both on the {side}'s shaft{and_then(near_steps)}.",
        f"Put the {far} hub on the {far}'s shaft likewise{and_then(far_steps)}.",
        f"Bring the {far} with its hub into the adapter ({room_text(two)}) and bolt it on.",
        f"Bring the {side} in ({room_text(one)}), the spacer up to the {far} hub, and bolt it on.",
        *fixed,
    )
    return Order(
        name=f"hubs on their shafts first, the spacer on the {side} hub", steps=steps, clearance=min(one, two),
        before=(*screws_across(drive, side), *own, *screws_across(drive, far)), after=tuple(last),
        misses=(
            *near_miss, *far_miss, *own_miss, *one_miss, *two_miss, *fixed_miss, *_no_flange_screws(last),
        ),
    )  # fmt: skip


def _spacer_sideways(drive: Drive, placed: Placed) -> Order:
    """Each hub on its shaft on the bench; the spacer between comes in sideways, its flange screws come last."""
    motor, motor_miss = tighten(drive, placed, "motor", _bench("motor"))
    actuator, actuator_miss = tighten(drive, placed, "actuator", _bench("actuator"))
    one, one_miss = goes_in(drive, _hub(placed, "motor"), "motor", "the motor hub")
    two, two_miss = goes_in(drive, _hub(placed, "actuator"), "actuator", "the actuator hub")
    spacer = part_of(_with_flanges(placed).swept, placed.motor.inner, placed.actuator.inner)
    room, theta, side_miss = sideways_in(drive, spacer, (), "the spacer")
    flange = [*flange_screws(drive, "motor"), *flange_screws(drive, "actuator")]
    fixed, fixed_miss = tighten_each(drive, placed, flange, ASSEMBLED)
    steps = (
        f"Put the motor hub on the motor's shaft, on the bench{and_then(motor)}.",
        f"Put the actuator hub on the actuator's shaft likewise{and_then(actuator)}.",
        f"Bring the motor ({room_text(one)}) and the actuator ({room_text(two)}) into the adapter and bolt them on.",
        f"Put the spacer with its disc packs in sideways from shaft angle {shaft_angle(theta or 0.0)} "
        f"({room_text(room)}).",
        *fixed,
    )
    return Order(
        name="hubs on their shafts first, the spacer through the window", steps=steps, clearance=min(one, two, room),
        before=(*screws_across(drive, "motor"), *screws_across(drive, "actuator")), after=tuple(flange),
        misses=(
            *motor_miss, *actuator_miss, *one_miss, *two_miss, *side_miss, *_shafts_clear(drive, placed), *fixed_miss,
            *_no_flange_screws(flange),
        ),
    )  # fmt: skip


def _shafts_clear(drive: Drive, placed: Placed) -> Iterator[Miss]:
    """A shaft that ends beyond its hub stands in the way of what comes in sideways between the hubs."""
    for side in SIDES:
        shaft = drive.side(side).shaft
        over = 0.0 if shaft is None else (shaft.end - placed.hub(side).inner) * drive.side(side).sign
        if over > 0.0:
            yield Miss(
                what=f"the {side}'s shaft stands {mm(over)} out of its hub, in the spacer's way", lack=over, way=True
            )
