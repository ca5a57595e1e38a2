"""The backlash of coupling and hubs, in rad: given, none by the way the family works, or not known."""

from __future__ import annotations

from math import radians

from fitcheck.checks.drive import Drive
from fitcheck.checks.hub_holding import holding_of
from fitcheck.checks.shaft_section import section_of
from fitcheck.checks.wording import SIDES
from fitcheck.checks.work_units import three
from fitcheck.checks.working import ratings_of
from fitcheck.job.model import Hub

WITHOUT_PLAY = ("rigid", "slit", "double slit", "bellows", "disc", "double disc")
"""Families of one piece or of parts bolted face to face: no play as long as their hubs and screws hold."""
PLAYING = "key with set screw"
"""A set screw on the key takes its play out on one side only; reversing torque finds it again."""


def play_angle(drive: Drive) -> tuple[float | None, str]:
    """Whole play of coupling and keys in rad, or None where a part of it is not known; and the words for it."""
    parts = [_coupling(drive), *(_hub(drive, side) for side in SIDES)]
    words = ", ".join(part[1] for part in parts if part is not None and part[1])
    if any(part is not None and part[0] is None for part in parts):
        return None, f"{words}, which is not counted"
    return sum(part[0] or 0.0 for part in parts if part is not None), words


def unknown_play(drive: Drive) -> list[str]:
    """The job lines that would tell the play that is not known."""
    paths = []
    found = _coupling(drive)
    if found[0] is None:
        paths.append("coupling.ratings.backlash")
    for side in SIDES:
        part = _hub(drive, side)
        if part is not None and part[0] is None:
            paths.append(f"coupling.hubs.{side}.holding.key.play")
    return paths


def _coupling(drive: Drive) -> tuple[float | None, str]:
    given, family = ratings_of(drive).backlash, drive.job.coupling.family
    if given is not None:
        return radians(given), f"coupling's backlash {three(given)}°"
    if family in WITHOUT_PLAY:
        return 0.0, f"no backlash in a {family} coupling while it holds"
    return None, f"the {family} coupling's backlash is not given"


def _hub(drive: Drive, side: str) -> tuple[float | None, str] | None:
    hub: Hub = getattr(drive.job.coupling.hubs, side)
    if hub.fastening != PLAYING:
        return None
    play, section = holding_of(hub).key.play, section_of(drive, side)
    if play is None or section is None:
        return None, f"the play of the {side} hub's key is not given"
    return play / (section.diameter / 2.0), f"{side} key's play {three(play)} mm"
