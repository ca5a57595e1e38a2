"""Orders of assembly in which the whole coupling goes in through a window, then along the axis onto a shaft."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import inf
from typing import NamedTuple

import numpy as np

from fitcheck.checks.access import ASSEMBLED
from fitcheck.checks.drive import Drive, Placed
from fitcheck.checks.material import least_gap, left_out, material
from fitcheck.checks.sequences import (
    FARTHEST,
    Miss,
    Order,
    parts_of,
    room_text,
    screwed_together,
    screws_across,
    tighten,
    too_tight,
)
from fitcheck.checks.swept import Swept
from fitcheck.checks.wording import SIDES, mm, other, shaft_angle
from fitcheck.measurement.obstacles import Obstacles
from fitcheck.measurement.sideways import WaysIn

_FARTHER = (0.0, 2.0, 5.0, 10.0, 15.0, 20.0, 30.0)
"""mm; so much farther from its place than the other shaft asks for a window for the coupling is looked for."""
_WORTH_TELLING = 5.0
"""mm; where another order works, no more lack than this is worked out."""
_ROUNDING = 1e-9


def through_window(drive: Drive, placed: Placed, *, closely: bool) -> Iterator[Order]:
    """The orders, the machine of either side not there yet; none where no material lies beside the coupling's way.

    Args:
        drive: the drive.
        placed: where the coupling sits.
        closely: tell in any case how much the windows are too small.

    Raises:
        TableError: a screw or its key is not in the tables.
    """
    for side in SIDES:
        order = _onto(drive, placed, side, closely=closely)
        if order is not None:
            yield order


def _onto(drive: Drive, placed: Placed, side: str, *, closely: bool) -> Order | None:
    """Sideways through the window, the machine of `side` not there yet, then along the axis onto the other's shaft."""
    far = other(side)
    first, first_miss = tighten(drive, placed, far, (side,))
    last, last_miss = tighten(drive, placed, side, ASSEMBLED)
    best: _Entry | None
    if drive.trial and (first_miss or last_miss):
        # Whether it works is all that is asked of what is being tried, and the way in is the costly part.
        best = _Entry(0.0, inf, inf, None, (Miss(what="the way in was not looked at", lack=0.0, way=True),))
    else:
        best = _nearest_entry(drive, placed, side, closely=closely)
    if best is None:
        return None
    back, room, push, theta, way_miss = best
    together, flange = screwed_together(drive, placed)
    steps = (
        *together,
        f"Bolt the {far} to the adapter.",
        f"Put the coupling in sideways through the window, from shaft angle {shaft_angle(theta or 0.0)} "
        f"({room_text(room)}), {mm(back)} nearer to the {side} than its place, and push it onto the {far}'s shaft.",
        *first,
        f"Bring the {side} on, its shaft entering its hub, and bolt it on.",
        *last,
    )
    return Order(
        name=f"coupling through the window onto the {far}'s shaft", steps=steps, clearance=min(room, push),
        before=(*flange, *screws_across(drive, far)), after=screws_across(drive, side),
        misses=(*way_miss, *first_miss, *last_miss),
    )  # fmt: skip


class _Entry(NamedTuple):
    """A way in sideways: how far from its place, the room sideways and along, the direction, what is missing."""

    back: float
    room: float
    push: float
    theta: float | None
    misses: tuple[Miss, ...]


def _nearest_entry(drive: Drive, placed: Placed, side: str, *, closely: bool) -> _Entry | None:
    """The way in sideways nearest to the coupling's place, or else the one that lacks least.

    The coupling is drawn back towards `side` until it clears the other shaft's end, or farther, to where the window is,
    and pushed along the axis from there. Where it lies wholly outside it comes from the end, which is another order;
    None where it does so everywhere.
    """
    limit, sign, swept = drive.job.require.insertion_clearance, drive.side(side).sign, placed.swept
    shaft, obstacles = drive.side(other(side)).shaft, drive.measurement.obstacles
    assert obstacles is not None
    least = 0.0 if shaft is None else max((placed.hub(other(side)).outer - shaft.end) * sign, 0.0)
    skip = left_out(drive.measurement, (side,))
    first, last = _stations(obstacles, skip)
    moves = [-sign * (least + more) for more in _FARTHER if more == 0.0 or least + more <= FARTHEST]
    moves = [move for move in moves if swept.start + move < last and swept.stop + move > first]
    if not moves:
        return None
    ways = WaysIn(obstacles, [parts_of(swept, move) for move in moves], skip)
    entries = []
    for at, move in enumerate(moves):
        if not ways.ways(at, limit):
            continue
        push, miss = _push(drive, swept, move, side)
        room, theta = (limit, None) if drive.trial or miss else ways.room(at, limit)
        entries.append(_Entry(abs(move), room, push, theta, miss))
        if not miss:
            return entries[-1]
    if entries:
        return max(entries, key=lambda entry: entry.push)
    # Where most of it is outside already, what is lacking says nothing about the windows.
    half = 0.5 * (swept.stop - swept.start)
    reached = [min(swept.stop + move, last) - max(swept.start + move, first) for move in moves]
    inside = [at for at, reach in enumerate(reached) if reach >= half] or [0]
    most_lack = inf if closely else _WORTH_TELLING
    at, room, theta = (0, -inf, None) if drive.trial else ways.nearest_miss(inside, limit, most_lack)
    push, miss = _push(drive, swept, moves[at], side)
    if room == -inf:
        what = f"the coupling lacks more than {mm(_WORTH_TELLING)} of clearance through the windows"
        return _Entry(abs(moves[at]), room, push, theta, (Miss(what=what, lack=FARTHEST, way=True),))
    lacks = too_tight("the coupling", room, limit)
    if theta is None and not drive.trial:
        # Not even a rod as thin as the drive axis goes in there.
        lacks = (Miss(what="no window lies beside the coupling's way", lack=limit - room, way=True),)
    return _Entry(abs(moves[at]), room, push, theta, (*lacks, *miss))


def _stations(obstacles: Obstacles, skip: Sequence[int]) -> tuple[float, float]:
    """From where to where along the axis the material reaches, without some bodies; inf and -inf for none."""
    low, high = obstacles.stations
    keep = ~np.isin(obstacles.triangle_body, np.array(skip, dtype=np.int64))
    return float(low[keep].min(initial=inf)), float(high[keep].max(initial=-inf))


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
    lack = limit - value
    return value, (Miss(what=f"the coupling lacks {mm(lack)} of clearance along the axis", lack=lack, way=True),)
