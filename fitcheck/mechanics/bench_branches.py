"""Loading and unloading: which branch of the loop a bench reading belongs to, by the order of time."""

from __future__ import annotations

from collections.abc import Sequence

from fitcheck.mechanics.bounds import at_least_zero, finite

TURN = 0.02
"""Share of the greatest torque by which it must fall back, or rise again, before it counts as turned; less is the
unrest of a torque wrench held at one torque. Common practice, no source."""

LOADING, UNLOADING, EITHER = 1, -1, 0


def branches(torques: Sequence[float], turn: float = TURN) -> tuple[int, ...]:
    """The branch of each reading.

    Readings of one direction, without one of no torque between them, are one run. A run begins loading; it turns where
    the torque's size has gone back by more than `turn` of the greatest. A reading that was repeated at the turn may be
    of either branch: after the greatest torque those that have fallen by less than that, and at the least torque all
    but the first, as the torque may have been taken off and put on again between them.

    Args:
        torques: in order of time, N·m, signed.
        turn: share of the greatest torque, at least 0.

    Returns:
        `LOADING`, `UNLOADING` or `EITHER` for each reading; `EITHER` for those without torque.

    Raises:
        UsageError: a torque is not finite, or the share is negative.

    Source: definition (computed).
    """
    at_least_zero(turn=turn)
    finite(**{f"torque_{number}": value for number, value in enumerate(torques, start=1)})
    most = turn * max((abs(value) for value in torques), default=0.0)
    found: list[int] = []
    run: list[float] = []
    for value in torques:
        if run and value * run[-1] <= 0.0:
            found += _run([abs(one) for one in run], most)
            run = []
        if value == 0.0:
            found.append(EITHER)
        else:
            run.append(value)
    return (*found, *_run([abs(one) for one in run], most))


def _run(sizes: list[float], most: float) -> list[int]:
    """The branches of one run of torques, sizes; `most` is the fall or rise that is no turn yet."""
    labels, branch, extreme, at = [LOADING] * len(sizes), LOADING, sizes[0] if sizes else 0.0, 0
    for index, size in enumerate(sizes[1:], start=1):
        if branch * (size - extreme) >= 0.0:
            extreme, at = size, index
        elif branch * (extreme - size) > most:
            first = at if branch == LOADING else _first_near(sizes, labels, index, extreme + most)
            labels[first + 1 : index] = [EITHER] * (index - first - 1)
            branch, extreme, at = -branch, size, index
        labels[index] = branch
    return labels


def _first_near(sizes: list[float], labels: list[int], stop: int, near: float) -> int:
    """The first reading of the last unloading before `stop` that has come down to `near`."""
    first = stop - 1
    while first > 0 and sizes[first - 1] <= near and labels[first - 1] == UNLOADING:
        first -= 1
    return first
