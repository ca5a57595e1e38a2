"""The room of the tools that the wrench check asks for, and the shaft angle at which they reach the screws."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fitcheck.checks.access import Reach, best_of, reaches, screws_of
from fitcheck.errors import TableError
from fitcheck.job.model import ACROSS
from fitcheck.measurement.intervals import Gap, common

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fitcheck.checks.drive import Drive
    from fitcheck.job.model import Screw

BEYOND = 20.0
"""mm; a tool is drawn so far beyond the outermost material."""

ALONE = 60.0
"""mm; how far a tool is drawn where no material was measured."""


def shaft_angle(drive: Drive) -> float:
    """The shaft angle at which allowed tools reach all screws best, degrees.

    Where no angle serves all of them, the one that serves the first that can be reached; 0 where there is none.
    """
    reached = [reach for _, _, reach in _best(drive) if reach.works]
    if not reached:
        return 0.0
    shared = reached[0].free
    for reach in reached[1:]:
        shared = tuple(Gap(start=a, stop=b, start_owner=-1, stop_owner=-1) for a, b in common(shared, reach.free))
    if len(reached) == 1 and reached[0].best is not None:
        return reached[0].best % 360.0
    best = max(shared or reached[0].free, key=lambda gap: gap.width)
    return 0.0 if best.width >= 360.0 else (0.5 * (best.start + best.stop)) % 360.0


def tools_of(drive: Drive) -> list[dict[str, Any]]:
    """The straight corridors of the tools that reach the screws best, as requests state them; arms are not drawn."""
    placed = drive.placed
    assert placed is not None
    end = _far_end(drive)
    found = []
    for name, (side, screw), reach in _best(drive):
        starts = [part.start for part in reach.tool.parts]
        ends = [*starts[1:], max(end, starts[-1] + 1.0)]
        parts = [
            (start, stop, part.radius)
            for start, stop, part in zip(starts, ends, reach.tool.parts, strict=True)
            if stop > start
        ]
        station = placed.hub(side).inwards(screw.station) - placed.start
        found.append(
            {"name": name, "station": station, "offset": screw.offset, "angle": screw.angle, "parts": parts}
        )  # fmt: skip
    return found


def _best(drive: Drive) -> Iterator[tuple[str, tuple[str, Screw], Reach]]:
    """Every screw across the axis with the tool that reaches it best, and the corridor's name."""
    placed = drive.placed
    assert placed is not None
    if drive.measurement.obstacles is None:
        return
    for side, position, screw in screws_of(drive):
        if screw.direction != ACROSS:
            continue
        try:
            reach = best_of(reaches(drive, placed, side, position))
        except TableError:
            continue
        yield f"tool corridor, {reach.tool.name} at {side} hub screw {position}", (side, screw), reach


def _far_end(drive: Drive) -> float:
    import numpy as np

    obstacles = drive.measurement.obstacles
    if obstacles is None or obstacles.triangles.shape[0] == 0:
        return ALONE
    return float(np.hypot(obstacles.triangles[:, :, 1], obstacles.triangles[:, :, 2]).max()) + BEYOND
