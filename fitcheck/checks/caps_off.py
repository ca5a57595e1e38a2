"""Couplings with removable caps: sideways onto both shafts, the machines bolted on already."""

from __future__ import annotations

from collections.abc import Iterator

from fitcheck.checks.access import ASSEMBLED
from fitcheck.checks.drive import Drive, Placed
from fitcheck.checks.sequences import Miss, Order, room_text, screwed_together, screws_across, sideways_in, tighten
from fitcheck.checks.wording import SIDES, mm, shaft_angle

FASTENING = "clamp two-piece"


def caps_off(drive: Drive, placed: Placed) -> Iterator[Order]:
    """The order, where both hubs have a cap.

    The coupling comes in with its open side first, then it is turned half round, so that the caps come the same way.

    Raises:
        TableError: a screw or its key is not in the tables.
    """
    if any(placed.hub(side).hub.fastening != FASTENING for side in SIDES):
        return
    tightened = [tighten(drive, placed, side, ASSEMBLED) for side in SIDES]
    room, theta, side_miss = sideways_in(drive, placed.swept, (), "the coupling")
    together, flange = screwed_together(drive, placed)
    steps = (
        *together,
        "Bolt the motor and the actuator to the adapter.",
        f"Take the caps off, and put the coupling in sideways through the window, from shaft angle "
        f"{shaft_angle(theta or 0.0)} ({room_text(room)}), its open side first, onto both shafts.",
        "Turn the coupling half round, and put the caps on through the window.",
        *(step for steps, _ in tightened for step in steps),
    )
    yield Order(
        name="coupling through the window onto both shafts, its caps off", steps=steps, clearance=room, before=flange,
        after=tuple(screw for side in SIDES for screw in screws_across(drive, side)),
        misses=(*side_miss, *_shafts_clear(drive, placed), *(miss for _, misses in tightened for miss in misses)),
    )  # fmt: skip


def _shafts_clear(drive: Drive, placed: Placed) -> Iterator[Miss]:
    """Only the bore that a cap closes is open to the side: a shaft that ends deeper is in the way."""
    for side in SIDES:
        shaft, hub = drive.side(side).shaft, placed.hub(side)
        over = 0.0 if shaft is None else (shaft.end - hub.inwards(hub.hub.bore_length)) * drive.side(side).sign
        if over > 1e-9:
            yield Miss(
                what=f"the {side}'s shaft ends {mm(over)} beyond the bore that the cap opens", lack=over, way=True
            )
