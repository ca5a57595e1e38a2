"""`backlash`: play of coupling and keys against what is allowed, or against what the repeatability leaves."""

from __future__ import annotations

from math import degrees

from fitcheck.checks.drive import Drive
from fitcheck.checks.finding import Finding, compare, not_checked
from fitcheck.checks.play import play_angle, unknown_play
from fitcheck.checks.sides import Missing
from fitcheck.checks.wind_up import asked_travel
from fitcheck.checks.work_units import ANGLE, three
from fitcheck.checks.working import Working, working_of

CHECK = "backlash"


def check(drive: Drive) -> tuple[Finding, ...]:
    """The whole play at the coupling, in degrees."""
    working = working_of(drive)
    play, words = play_angle(drive)
    limit, rule, path = _limit(working) if isinstance(working, Working) else (None, "", "")
    if play is None:
        required = limit is not None
        return (not_checked(CHECK, "coupling", words, f"give {' and '.join(unknown_play(drive))}", required=required),)
    if limit is None:
        supply = working.supply if isinstance(working, Missing) else "give drive.asked.backlash or repeatability"
        reason = f"the job sets no limit to backlash; {words}: {three(degrees(play))}° in all"
        return (not_checked(CHECK, "coupling", reason, supply, required=False),)
    at_work = ""
    if isinstance(working, Working):
        at_work = f", {three(play * working.scale)} {working.unit} {working.where}"
    return (
        compare(
            check=CHECK, subject="coupling", value=degrees(play), limit=limit, unit=ANGLE, at_least=False, path=path,
            message=f"{words}: {three(degrees(play))}° in all{at_work}; at most {three(limit)}° {rule}",
            remedy="a family without backlash (rigid, slit, bellows, disc) with clamp hubs, or a preloaded spider",
        ),
    )  # fmt: skip


def _limit(working: Working) -> tuple[float | None, str, str]:
    """The limit in degrees at the coupling, its rule, and its path."""
    asked, travel = working.data.asked, asked_travel(working)
    if asked.backlash is not None:
        return asked.backlash, "allowed", "drive.asked.backlash"
    if travel is None:
        return None, "", ""
    path = "drive.asked.repeatability" if working.unit == "µm" else "drive.asked.angular_repeatability"
    return degrees(travel / working.scale), "is all that the repeatability leaves", path
