"""A coupling from the numbers of a job: its profile by those numbers alone, and the whole coupling.

What the job leaves open gets a plausible value in the whole coupling (common practice, no source).
"""

from __future__ import annotations

import math
from typing import Any

from fitcheck.errors import UsageError
from fitcheck.job.model import ACROSS, TO_OUTER_FACE
from fitcheck.job.model import Coupling as JobCoupling
from fitcheck.job.model import Hub as JobHub
from fitcheck.job.model import Screw as JobScrew
from fitcheck.standards.screws import cap_screw, set_screw
from parametric_models.couplings import build
from parametric_models.couplings.base import Coupling
from parametric_models.couplings.default_screws import clamp_screw_length
from parametric_models.couplings.defaults import default_slit_width
from parametric_models.couplings.hubs import CAP, HubScrew, HubSeat, screw_pieces
from parametric_models.couplings.profile import Piece, Profile, Straight

_ELEMENTS = {
    "oldham": "disc_diameter", "jaw": "spider_diameter", "bellows": "crown_diameter", "disc": "pack_diameter",
    "double disc": "spacer_diameter",
}  # fmt: skip
"""What a family calls the diameter of the element between its hubs."""


def profile_of_job(asked: JobCoupling) -> Profile:
    """The swept radius that a job's numbers say, whatever the family is built like.

    Args:
        asked: the job's coupling.

    Returns:
        Hubs of their diameters and lengths (a hub without length is as long as its bore), the element between them (the
        outside diameter where its own is not given), and every screw's outer end. A screw without `head_end` ends at
        the hub's outside diameter.
    """
    pieces: list[Piece] = []
    motor, actuator = asked.hubs.motor, asked.hubs.actuator
    inner = [hub.length or hub.bore_length for hub in (motor, actuator)]
    if asked.length > sum(inner):
        radius = (asked.element_diameter or asked.outside_diameter) / 2
        pieces.append(
            Straight(start=inner[0], end=asked.length - inner[1], start_radius=radius, end_radius=radius)
        )  # fmt: skip
    seats = (HubSeat(face=0.0, inward=1), HubSeat(face=asked.length, inward=-1))
    for hub, seat, length in zip((motor, actuator), seats, inner, strict=True):
        across = hub.outside_diameter or asked.outside_diameter
        start, end = seat.span(0.0, length)
        pieces.append(Straight(start=start, end=end, start_radius=across / 2, end_radius=across / 2))
        for screw in hub.screws:
            if screw.direction == ACROSS:
                pieces += screw_pieces(_hub_screw(hub, screw, across), seat)
            else:
                pieces.append(_head_along(screw, seat, length))
    return Profile(pieces=tuple(pieces))


def coupling_of_job(asked: JobCoupling, **dimensions: Any) -> Coupling:
    """The whole coupling that a job describes.

    Args:
        asked: the job's coupling.
        **dimensions: what `build.coupling` takes beside that, for what a job does not say.

    Returns:
        The coupling: outside diameter, length, bores, element, hubs, fastenings and screws are the job's. A hub whose
        length the job does not give gets what its family needs beyond the bore. The job counts disc packs, jaws and
        the flanges of a spacer to the hubs' lengths; here they are beside the element, as wide as the hubs.

    Raises:
        UsageError: the numbers cannot be built together; the message names the one at fault and the range that works.
    """
    motor, actuator = asked.hubs.motor, asked.hubs.actuator
    if asked.element_diameter is not None and asked.element_diameter < asked.outside_diameter:
        dimensions = {_element(asked): asked.element_diameter} | dimensions
    return build.coupling(
        asked.family,
        outside_diameter=asked.outside_diameter,
        bores=(motor.bore, actuator.bore),
        length=asked.length,
        motor=_hub_dimensions(motor, asked.outside_diameter),
        actuator=_hub_dimensions(actuator, asked.outside_diameter),
        **dimensions,
    )


def _element(asked: JobCoupling) -> str:
    """Which dimension of a family the element's diameter is."""
    if asked.family not in _ELEMENTS:
        raise UsageError(
            f"{asked.family} coupling: it has no element of its own, so that it cannot be built with an "
            f"element_diameter of {asked.element_diameter:g} mm; leave that out of the job, or write its envelope"
        )
    return _ELEMENTS[asked.family]


def _hub_dimensions(hub: JobHub, outside_diameter: float) -> dict[str, Any]:
    across = hub.outside_diameter or outside_diameter
    # screws along the axis belong to the family's own flanges
    screws = tuple(_hub_screw(hub, screw, across) for screw in hub.screws if screw.direction == ACROSS)
    return {
        "fastening": hub.fastening,
        "outside_diameter": across,
        "bore_length": hub.bore_length,
        "length": hub.length,
        "screws": screws or None,
    }


def _hub_screw(hub: JobHub, screw: JobScrew, across: float) -> HubScrew:
    """The job's screw, with the length that a job does not give: into the thread, or down to the shaft."""
    if screw.kind == CAP:
        head = cap_screw(screw.size)
        end = _outer_end(screw, head.head_diameter / 2, across)
        seat = end - head.head_height
        length = clamp_screw_length(screw.size, abs(screw.offset), seat, across, default_slit_width(across))
    else:
        end = _outer_end(screw, set_screw(screw.size).diameter / 2, across)
        length = max(0.1, end - hub.bore / 2)
    return HubScrew(
        size=screw.size, kind=screw.kind, station=screw.station, offset=screw.offset, angle=screw.angle, head_end=end,
        length=length,
    )  # fmt: skip


def _head_along(screw: JobScrew, seat: HubSeat, hub_length: float) -> Straight:
    """What the head of a screw along the drive axis sweeps; its outer end lies at the screw's station."""
    height = cap_screw(screw.size).head_height
    inner = screw.station + (height if screw.direction == TO_OUTER_FACE else -height)
    low, high = sorted((min(max(inner, 0.0), hub_length), screw.station))
    start, end = seat.span(low, high)
    radius = abs(screw.offset) + cap_screw(screw.size).head_diameter / 2
    return Straight(start=start, end=end, start_radius=radius, end_radius=radius)


def _outer_end(screw: JobScrew, radius: float, across: float) -> float:
    """The screw's outer end; where the job does not give it, its outermost corner lies on the outside diameter."""
    if screw.head_end is not None:
        return screw.head_end
    return math.sqrt(max(0.0, (across / 2) ** 2 - (abs(screw.offset) + radius) ** 2))
