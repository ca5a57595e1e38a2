"""The free radius in short: stretches of stations over which it hardly changes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

MOST_ROWS = 14
FINEST = 0.005


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """Stations from `start` to `stop`, mm, and the least and the greatest free radius between them, mm."""

    start: float
    stop: float
    least: float
    most: float


def stretches(profile: Sequence[tuple[float, float]], most_rows: int = MOST_ROWS) -> list[Stretch]:
    """The profile in at most `most_rows` stretches.

    The profile is linear between its rows, so the least and greatest of a stretch are exact, however few there are.

    Args:
        profile: rows (station, radius), stations not falling.
        most_rows: at least 1.
    """
    if not profile:
        return []
    pieces: list[Stretch] = []
    for (s0, r0), (s1, r1) in pairwise(profile):
        if s1 > s0:
            least = min(r0, r1)
            if pieces and pieces[-1].start == pieces[-1].stop == s0 and pieces[-1].least >= least:
                pieces.pop()
            pieces.append(Stretch(start=s0, stop=s1, least=least, most=max(r0, r1)))
        elif not pieces or r1 < pieces[-1].least:
            # A jump inwards; it also shows in what follows, unless material ends at this very station.
            least = r1 if pieces else min(r0, r1)
            pieces.append(Stretch(start=s0, stop=s1, least=least, most=least))
    if not pieces:
        radii = [row[1] for row in profile]
        return [Stretch(start=profile[0][0], stop=profile[-1][0], least=min(radii), most=max(radii))]
    step = FINEST
    found = _merged(pieces, step)
    while len(found) > most_rows:
        step *= 2
        # Where even an endless step leaves too many rows, some radius is infinite: join by count instead.
        if step > 1e6:
            return _by_count(found, most_rows)
        found = _merged(pieces, step)
    return found


def _join(a: Stretch, b: Stretch) -> Stretch:
    return Stretch(start=a.start, stop=b.stop, least=min(a.least, b.least), most=max(a.most, b.most))


def _merged(pieces: Sequence[Stretch], step: float) -> list[Stretch]:
    out = [pieces[0]]
    for piece in pieces[1:]:
        joined = _join(out[-1], piece)
        if joined.most == joined.least or joined.most - joined.least <= step:
            out[-1] = joined
        else:
            out.append(piece)
    return out


def _by_count(pieces: Sequence[Stretch], most_rows: int) -> list[Stretch]:
    size = -(-len(pieces) // most_rows)
    out = []
    for i in range(0, len(pieces), size):
        joined = pieces[i]
        for piece in pieces[i + 1 : i + size]:
            joined = _join(joined, piece)
        out.append(joined)
    return out
