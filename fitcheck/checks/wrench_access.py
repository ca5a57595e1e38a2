"""`wrench-access`: the shaft angles at which a straight tool reaches each screw of the hubs."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import reduce
from math import ceil

import numpy as np

from fitcheck.checks.drive import Drive, Placed
from fitcheck.checks.finding import Finding, Place, compare, not_checked
from fitcheck.checks.material import left_out
from fitcheck.checks.swept import hub_radius, outer_end
from fitcheck.checks.tools import own_hindrance, tool_parts
from fitcheck.checks.wording import SIDES, degrees, mm
from fitcheck.errors import TableError
from fitcheck.job.model import Screw
from fitcheck.measurement.corridor import ToolPart, corridor
from fitcheck.measurement.intervals import Gap, common
from fitcheck.measurement.obstacles import Obstacles

CHECK = "wrench-access"
LEAST_ANGLE = 0.2
"""Degrees: a narrower free range is within the accuracy of the angles (0.1 at either side), and does not count."""
_FARTHEST_MOVE = 15
"""mm; how far a shift of the coupling or of a window's edge is looked for."""


@dataclass(frozen=True, kw_only=True)
class _Reach:
    """What one tool does at one screw: free ranges of the coupling's shaft angle, or what hinders it."""

    tool: str
    parts: tuple[ToolPart, ...]
    free: tuple[Gap, ...]
    blocker: int = -1
    hindered_by: str | None = None

    @property
    def widest(self) -> float:
        return max((gap.width for gap in self.free), default=0.0)

    @property
    def works(self) -> bool:
        return self.widest >= LEAST_ANGLE


def check(drive: Drive) -> tuple[Finding, ...]:
    """For each screw the widest range of shaft angles at which an allowed tool reaches it; then both hubs together."""
    hubs, placed = drive.job.coupling.hubs, drive.placed
    screws = [
        (side, position, screw)
        for side in SIDES
        for position, screw in enumerate((hubs.motor if side == "motor" else hubs.actuator).screws, start=1)
    ]
    if not screws:
        supply = "give coupling.hubs.motor.screws and coupling.hubs.actuator.screws"
        return (not_checked(CHECK, "screws", "the job gives no screws of the hubs", supply, required=False),)
    if placed is None or drive.measurement.obstacles is None:
        if placed is None and drive.unplaced is not None:
            reason, supply = drive.unplaced.reason, drive.unplaced.supply
        else:
            reason, supply = "the measurement holds no obstacles", "measure the STEP file again"
        return tuple(not_checked(CHECK, _subject(side, i), reason, supply) for side, i, _ in screws)
    found: list[Finding] = []
    reached: dict[str, list[tuple[Gap, ...]]] = {"motor": [], "actuator": []}
    for side, position, screw in screws:
        try:
            reaches = [_reach(drive, placed, side, screw, tool) for tool in drive.job.require.tools]
        except TableError as error:
            supply = f"correct coupling.hubs.{side}.screws.{position - 1}.size"
            found.append(not_checked(CHECK, _subject(side, position), str(error), supply))
            continue
        found.append(_judged(drive, placed, side, position, screw, reaches))
        reached[side].append(tuple(gap for reach in reaches if reach.works for gap in reach.free))
    if all(finding.status == "pass" for finding in found) and all(reached.values()):
        found.append(_together(reached))
    return tuple(found)


def _subject(side: str, position: int) -> str:
    return f"{side} hub screw {position}"


def _reach(drive: Drive, placed: Placed, side: str, screw: Screw, tool: str) -> _Reach:
    obstacles, hub = drive.measurement.obstacles, placed.hub(side)
    assert obstacles is not None
    station = hub.inwards(screw.station)
    parts = tool_parts(tool, screw, outer_end(screw, hub_radius(drive.job.coupling, hub.hub)))
    own = own_hindrance(drive, placed, side, station, screw.offset, parts)
    if own is not None:
        return _Reach(tool=tool, parts=parts, free=(), hindered_by=own)
    found = corridor(obstacles, station, screw.offset, parts, leave_out=left_out(drive.measurement))
    free = tuple(_in_coupling(gap, screw.angle) for gap in found.free)
    return _Reach(tool=tool, parts=parts, free=free, blocker=found.blockers[0] if found.blockers else -1)


def _in_coupling(gap: Gap, angle: float) -> Gap:
    """A range of the tool's direction, as the coupling's shaft angle."""
    start = (gap.start - angle) % 360.0 if gap.width < 360.0 else 0.0
    return replace(gap, start=start, stop=start + gap.width)


def _ranges(free: tuple[Gap, ...]) -> str:
    if len(free) == 1 and free[0].width >= 360.0:
        return "at every shaft angle"
    return "at shaft angles " + ", ".join(f"{degrees(gap.start)} to {degrees(gap.stop % 360.0)}" for gap in free)


def _middle(gap: Gap) -> float:
    return (gap.start + gap.width / 2) % 360.0


def _judged(drive: Drive, placed: Placed, side: str, position: int, screw: Screw, reaches: list[_Reach]) -> Finding:
    best = max(reaches, key=lambda reach: reach.widest)
    station = placed.hub(side).inwards(screw.station)
    subject, path = _subject(side, position), f"coupling.hubs.{side}.screws.{position - 1}"
    wide = 2 * max(part.radius for part in best.parts)
    if best.works:
        widest = max(best.free, key=lambda gap: gap.width)
        others = [reach.tool for reach in reaches if reach is not best]
        message = (
            f"a {best.tool} ({mm(wide)} across) reaches the {screw.size} screw at station {mm(station)} "
            f"{_ranges(best.free)}; best {degrees(_middle(widest))}"
            + "".join(
                f"; a {reach.tool} {_ranges(reach.free) if reach.works else 'does not'}"
                for reach in reaches if reach.tool in others
            )
        )  # fmt: skip
        at, remedy = drive.at(station), None
    else:
        least = min(reaches, key=lambda reach: max(part.radius for part in reach.parts))
        body = drive.body_name(least.blocker)
        blocker = least.hindered_by or body or "material"
        message = f"no allowed tool reaches the {screw.size} screw at station {mm(station)}: {blocker} is in the way"
        message += (
            f" of a {least.tool} ({mm(2 * max(part.radius for part in least.parts))} across) at every shaft angle"
        )
        at = Place(station=station, point=drive.at(station).point, body=None if least.hindered_by else body)
        remedy = _remedy(drive, side, position, screw, least, station)
    if screw.head_end is None:
        message += "; the head is taken to end at the hub's outside diameter"
    return compare(
        check=CHECK, subject=subject, value=best.widest, limit=LEAST_ANGLE, unit="deg", at_least=True,
        message=message, remedy=remedy, at=at, path=path,
    )  # fmt: skip


def _together(reached: dict[str, list[tuple[Gap, ...]]]) -> Finding:
    """Whether all screws of both hubs are reached at one shaft angle."""
    every = [gaps for side in SIDES for gaps in reached[side]]
    shared = reduce(_shared, every)
    width = max((gap.width for gap in shared), default=0.0)
    if width >= LEAST_ANGLE:
        best = max(shared, key=lambda gap: gap.width)
        message = f"all screws of both hubs are reached {_ranges(shared)}; best {degrees(_middle(best))}"
        status, remedy = "pass", None
    else:
        message = "the screws of both hubs are reached at no common shaft angle; turn the shafts between them"
        status, remedy = "warn", "hubs whose screws point the same way, or a second opening"
    return Finding(
        check=CHECK, subject="both hubs", status="pass" if status == "pass" else "warn", value=width,
        limit=LEAST_ANGLE, unit="deg", margin=width - LEAST_ANGLE, message=message, remedy=remedy,
        path="coupling.hubs",
    )  # fmt: skip


def _shared(first: tuple[Gap, ...], second: tuple[Gap, ...]) -> tuple[Gap, ...]:
    return tuple(Gap(start=a, stop=b, start_owner=-1, stop_owner=-1) for a, b in common(first, second))


def _remedy(drive: Drive, side: str, position: int, screw: Screw, reach: _Reach, station: float) -> str:
    """The opening that would be enough, and the least move that brings the screw before an opening there is."""
    if reach.hindered_by is not None:
        return f"a longer distance between the screw and {reach.hindered_by}, or a tool that is thinner there"
    obstacles = drive.measurement.obstacles
    assert obstacles is not None
    bound = float(obstacles.triangle_bound.max(initial=0.0))
    width = ceil((2 * max(part.radius for part in reach.parts) + 2 * bound) * 10 - 1e-6) / 10
    opening = (
        f"an opening at least {mm(width)} wide at stations {mm(station - width / 2)} to {mm(station + width / 2)}, "
        f"in line with the screw ({mm(abs(screw.offset))} beside the drive axis), is enough"
    )
    move = _least_move(drive, screw, reach, station) if drive.remedies else None
    if move is None:
        return opening
    from fitcheck.checks.moving import move_remedy

    text = f"widen the opening by {mm(abs(move))} towards the {'motor' if move > 0 else 'actuator'}"
    moved = move_remedy(drive, move, CHECK, _subject(side, position))
    if moved is not None:
        text = f"{moved}, or {text}"
    return f"{text}; {opening}"


def _least_move(drive: Drive, screw: Screw, reach: _Reach, station: float) -> float | None:
    """The least shift of the screw along the axis, in steps of 0.1 mm, at which the tool reaches it."""
    obstacles = drive.measurement.obstacles
    assert obstacles is not None
    radius = max(part.radius for part in reach.parts)
    about = _slab(obstacles, station - _FARTHEST_MOVE - radius, station + _FARTHEST_MOVE + radius)
    skip = left_out(drive.measurement)

    def reached(move: float) -> bool:
        found = corridor(about, station + move, screw.offset, reach.parts, leave_out=skip, tolerance=0.05).widest
        return found is not None and found.width >= LEAST_ANGLE

    for distance in range(1, _FARTHEST_MOVE + 1):
        if reached(distance) or reached(-distance):
            tenths = (sign * t / 10 for t in range(10 * distance - 9, 10 * distance + 1) for sign in (1.0, -1.0))
            return next(move for move in tenths if reached(move))
    return None


def _slab(obstacles: Obstacles, start: float, stop: float) -> Obstacles:
    along = obstacles.triangles[:, :, 0]
    keep = (along.max(axis=1) >= start) & (along.min(axis=1) <= stop)
    return Obstacles(
        segments=np.empty((0, 2, 3)),
        segment_bound=np.empty(0),
        segment_body=np.empty(0, dtype=np.int32),
        triangles=obstacles.triangles[keep],
        triangle_bound=obstacles.triangle_bound[keep],
        triangle_body=obstacles.triangle_body[keep],
    )
