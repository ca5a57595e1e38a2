"""Collars of a shaft: what is wider than a hub's bore, so that the hub does not go over it."""

from __future__ import annotations

from dataclasses import dataclass

from fitcheck.checks.drive import Placed
from fitcheck.checks.sides import Face, Side
from fitcheck.checks.wording import mm

TOUCHES = 0.005
"""mm; a collar wider than the bore's radius by no more is a seat that fits tightly, which `bore-fit` judges."""


@dataclass(frozen=True, kw_only=True)
class Collar:
    """The collar that a hub meets first on its way onto a shaft: how far from it the hub's face is, mm.

    `room` is negative where the hub lies over it; `radius` None where nobody tells it.
    """

    room: float
    radius: float | None
    face: Face


def collar_at(placed: Placed, side: Side) -> Collar | None:
    """The collar nearest to the shaft end that is wider than the hub's bore, or may be; None where there is none."""
    hub, shaft = placed.hub(side.name), side.shaft
    if shaft is None:
        return None
    found = None
    for _, stop, radius in shaft.collars:
        if radius is not None and radius <= hub.hub.bore / 2 + TOUCHES:
            continue
        room = (hub.outer - stop) * side.sign
        if found is None or room < found.room:
            wide = "of a diameter that is not known" if radius is None else f"of {mm(2 * radius)}"
            what = f"the {side.name} shaft's collar {wide}"
            found = Collar(room=room, radius=radius, face=Face(station=stop, what=what, in_file=radius is not None))
    return found
