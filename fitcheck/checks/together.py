"""Whether all screws are reached at one shaft angle, and if not, at how few."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import combinations, pairwise

from fitcheck.measurement.intervals import Gap

Ranges = Mapping[str, tuple[Gap, ...]]
"""The free ranges of each screw, by its name, degrees."""


def shared_ranges(ranges: Ranges, least: float) -> list[tuple[float, float, frozenset[str]]]:
    """Ranges of shaft angle (start in [0, 360) and width, at least `least` degrees) and the screws reached all over."""
    parts = [gap for gaps in ranges.values() for gap in gaps if gap.width < 360.0]
    ends = sorted({end % 360.0 for gap in parts for end in (gap.start, gap.stop)}) or [0.0]
    found = []
    for start, stop in pairwise([*ends, ends[0] + 360.0]):
        middle = 0.5 * (start + stop)
        reached = frozenset(name for name, gaps in ranges.items() if any(_holds(gap, middle) for gap in gaps))
        if stop - start >= least and reached:
            found.append((start, stop - start, reached))
    return found


def _holds(gap: Gap, angle: float) -> bool:
    return gap.width >= 360.0 or (angle - gap.start) % 360.0 <= gap.width


def fewest_angles(ranges: Ranges, least: float) -> list[tuple[float, tuple[str, ...]]]:
    """The fewest shaft angles at which every screw is reached, and the screws that each is for; ascending angles.

    Of equally few those with the widest ranges. Empty where some screw is reached nowhere.
    """
    widest: dict[frozenset[str], tuple[float, float]] = {}
    for start, width, reached in shared_ranges(ranges, least):
        if width > widest.get(reached, (0.0, 0.0))[1]:
            widest[reached] = (start, width)
    every = frozenset(ranges)
    for count in range(1, len(every) + 1):
        enough = [few for few in combinations(widest, count) if frozenset().union(*few) == every]
        if enough:
            best = max(enough, key=lambda few: min(widest[one][1] for one in few))
            return sorted(_told(ranges, best, widest))
    return []


def _told(
    ranges: Ranges, sets: tuple[frozenset[str], ...], widest: Mapping[frozenset[str], tuple[float, float]]
) -> list[tuple[float, tuple[str, ...]]]:
    """Each screw at the first of the angles that reaches it."""
    told, left = [], set(ranges)
    for reached in sorted(sets, key=lambda one: -len(one)):
        start, width = widest[reached]
        names = tuple(name for name in ranges if name in reached and name in left)
        left -= reached
        told.append(((start + width / 2) % 360.0, names))
    return told
