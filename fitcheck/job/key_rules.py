"""Keys that cannot be: longer than bore or keyseat, of another width than the keyseat, or half described."""

from __future__ import annotations

from collections.abc import Iterator

from fitcheck.job.complaint import Complaint
from fitcheck.job.model import Hub, Job

KEY_SEAT_PLAY = 0.1
"""mm by which key and keyseat may differ in width; their tolerance classes differ by less (DIN 6885-1: P9, N9, h9)."""


def hub_key(hub: Hub, path: str) -> Iterator[Complaint]:
    """A key longer than the hub's bore, or half of a section; one in a hub without a keyway is told by the findings."""
    key = None if hub.holding is None else hub.holding.key
    if key is None:
        return
    if (key.width is None) != (key.height is None):
        missing = "height" if key.height is None else "width"
        yield Complaint(
            f"{path}.holding.key.{missing}",
            "found one side of the key's section; needed are width and height, or neither for the key of DIN 6885-1",
        )
    if key.length is not None and key.length > hub.bore_length:
        yield Complaint(
            f"{path}.holding.key.length",
            f"found {_mm(key.length)} of key in the hub; needed is at most its bore length, {_mm(hub.bore_length)}",
        )


def job_keys(job: Job, path: str) -> Iterator[Complaint]:
    """Keys that do not go into the keyseats given for the shafts."""
    for side in ("motor", "actuator"):
        shaft, hub = getattr(job, side).shaft, getattr(job.coupling.hubs, side)
        if shaft is None or shaft.keyseat is None or hub.holding is None:
            continue
        key, place = hub.holding.key, f"coupling.hubs.{side}.holding.key"
        if key.width is not None and abs(key.width - shaft.keyseat.width) > KEY_SEAT_PLAY:
            yield Complaint(
                f"{place}.width",
                f"found a key {_mm(key.width)} wide, while {side}.shaft.keyseat is {_mm(shaft.keyseat.width)} "
                "wide; needed is the same width",
            )
        if key.length is not None and key.length > shaft.keyseat.length:
            yield Complaint(
                f"{place}.length",
                f"found {_mm(key.length)} of key, while {side}.shaft.keyseat is {_mm(shaft.keyseat.length)} "
                "long; needed is at most that",
            )


def _mm(value: float) -> str:
    return f"{value:.6g} mm"
