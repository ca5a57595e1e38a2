"""Adapters of several bodies: which nameless bodies belong to the adapter, and which to a machine.

Two halves of a housing, a plate on spacers and an actuator whose own body forms the chamber look much the same where no
name tells them apart. A shaft does: the body that it runs in is a machine's. For the others it is tried whether the
adapter with them has ends at least as good as without them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from fitcheck.measurement.cylinders import Bore, offset_between
from fitcheck.measurement.extent import edge_extent
from fitcheck.measurement.model import Vector
from fitcheck.measurement.seats import coaxial_bores, find_seats
from fitcheck.measurement.survey import Face, Survey
from fitcheck.measurement.vectors import Frame, dot, line_angle, sub

TIGHT = 1.25
SPARE = 0.6
"""A bore of radius up to TIGHT times a shaft's plus SPARE mm is one that the shaft runs in; common practice, no source:
the opening of an adapter lets a coupling through, which is at least twice as wide as its shaft."""

CHAMBER, STEP = 0.5, 2.0
"""mm; a chamber is wider than the shaft in it by more, on each side, and goes on beyond its end by more; a step of a
shaft begins within STEP of where the one before it ends (a groove or a fillet lies between)."""

TOUCHING = 0.02
"""mm; faces that lie on each other."""

MOST_TRIED = 24
"""Bodies that are tried as pieces of the adapter, the largest first."""

AXES = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


def has_shaft(bores: Iterable[Bore], body: int) -> bool:
    """Whether a body has a boss that is solid inside: a shaft, not a sleeve or a spigot."""
    return bool(shafts_of(bores, body))


def shafts_of(bores: Iterable[Bore], body: int) -> list[Bore]:
    """The bosses of a body that are solid inside; a wider hole lies round a boss, not in it."""
    mine = [bore for bore in bores if bore.body == body]
    holes = [bore for bore in mine if bore.concave]
    return [
        boss
        for boss in mine
        if not boss.concave
        and boss.turn >= math.radians(300.0)
        and not any(
            0.4 * boss.radius < hole.radius < boss.radius
            and line_angle(hole.axis, boss.axis) < 0.01
            and offset_between(hole, boss.origin, boss.axis) < 0.5 * boss.radius
            for hole in holes
        )
    ]


def inner_shaft(bores: Iterable[Bore], body: int, towards: Vector) -> Bore | None:
    """A shaft that is one piece with the body that it turns in and ends in a chamber of that body; else None.

    Args:
        bores: the bores and bosses among which it is looked for.
        body: the body's index.
        towards: the direction that the shaft's free end is to look in.
    """
    mine = [bore for bore in bores if bore.body == body and line_angle(bore.axis, towards) < 0.01]
    return next((boss for boss in shafts_of(mine, body) if _ends_inside(boss.towards(towards), mine)), None)


def has_inner_shaft(bores: Iterable[Bore], body: int) -> bool:
    """Whether a shaft that is one piece with a body ends in a chamber of it."""
    mine = [bore for bore in bores if bore.body == body]
    return any(_ends_inside(shaft, mine) for boss in shafts_of(mine, body) for shaft in (boss, boss.reversed()))


def _ends_inside(shaft: Bore, bores: Iterable[Bore]) -> bool:
    """Whether the end that a shaft's axis points to is free, and a wider bore goes on round it."""
    if shaft.stop - shaft.start < shaft.radius:
        return False
    tip, chamber, steps = shaft.point(shaft.stop), math.inf, []
    for other in bores:
        if line_angle(other.axis, shaft.axis) > 0.01 or offset_between(other, tip, shaft.axis) > 0.5 * shaft.radius:
            continue
        begin, end = sorted(dot(sub(other.point(t), tip), shaft.axis) for t in (other.start, other.stop))
        if not other.concave:
            # A step of the shaft that goes on beyond; a centring stub on its end is none.
            if begin < STEP and end > (0.1 if other.radius > 0.99 * shaft.radius else STEP):
                steps.append(other.radius)
        elif other.radius > shaft.radius + CHAMBER and begin < -CHAMBER and end > CHAMBER:
            chamber = min(chamber, other.radius)
    # What is wider than the chamber is the body's outside.
    return chamber < math.inf and not any(radius < chamber for radius in steps)


def runs_in(shaft: Bore, bores: Iterable[Bore], body: int) -> bool:
    """Whether a shaft runs in a bore of a body: coaxial, hardly wider than the shaft, and at the same stations."""
    for bore in bores:
        if bore.body != body or not bore.concave or not 0.99 * shaft.radius <= bore.radius:
            continue
        if bore.radius > TIGHT * shaft.radius + SPARE or line_angle(bore.axis, shaft.axis) > 0.02:
            continue
        if offset_between(bore, shaft.origin, shaft.axis) > 0.5 * shaft.radius:
            continue
        low, high = sorted(dot(sub(bore.point(t), shaft.origin), shaft.axis) for t in (bore.start, bore.stop))
        if low < shaft.stop - 0.5 and high > shaft.start + 0.5:
            return True
    return False


@dataclass(slots=True)
class Pieces:
    """Tries bodies as pieces of the adapter on one line.

    Args:
        survey: the file.
        bores: all its bores and bosses.
        frame: an axis frame on the line.
        counted: indices of all bodies that are neither coupling nor ignored.
    """

    survey: Survey
    bores: Sequence[Bore]
    frame: Frame
    counted: set[int]
    _boxes: dict[int, tuple[Vector, Vector]] = field(default_factory=dict)
    _planes: dict[int, list[Face]] = field(default_factory=dict)

    def grown(self, adapter: set[int], doubtful: Iterable[int], told: set[int]) -> set[int]:
        """The adapter with the pieces that belong to it.

        Args:
            adapter: bodies that are the adapter's already.
            doubtful: bodies that may be, largest first.
            told: those of them whose names say that they are a machine's; they have to make the ends better.
        """
        on_axis = {bore.body for bore in coaxial_bores(self.bores, self.frame)}
        shafts = {body: self._shaft(body) for body in self.counted}
        running = [shaft for shaft in shafts.values() if shaft is not None]
        free = [body for body in doubtful if shafts[body] is None][:MOST_TRIED]
        around = [body for body in free if body in on_axis and not any(runs_in(s, self.bores, body) for s in running)]
        beside = [body for body in free if body not in on_axis]
        found = set(adapter)
        changed = True
        while changed:
            changed = False
            for disputed in [*self._joined(around, beside, found), *self._spacers(beside, found)]:
                before = self._evidence(found - disputed, disputed)
                after = self._evidence(found | disputed, disputed)
                enough = disputed.isdisjoint(told) and not disputed.isdisjoint(around)
                if after > before or (enough and after == before):
                    found |= disputed
                    changed = True
                    break
        return found

    def _joined(self, around: Sequence[int], beside: Sequence[int], found: set[int]) -> Iterator[set[int]]:
        """Bodies around the axis that lie on the adapter, or are joined to it by others, with those others."""
        for body in around:
            if body in found:
                continue
            links = {link for link in beside if self._touch(link, found) and self._touch(link, {body})}
            if links or self._touch(body, found):
                yield {body, *links}

    def _spacers(self, beside: Sequence[int], found: set[int]) -> Iterator[set[int]]:
        """Equal bodies beside the axis that lie on the adapter: together their far ends may be a seat."""
        touching = [body for body in beside if body not in found and self._touch(body, found)]
        alike: dict[float, set[int]] = {}
        for body in touching:
            alike.setdefault(round(self.survey.bodies[body].volume or 0.0, 1), set()).add(body)
        yield from (group for group in alike.values() if len(group) > 1)

    def _shaft(self, body: int) -> Bore | None:
        """The shaft of a body on the axis: its slimmest part, as its registers are solid too."""
        on_axis = coaxial_bores((bore for bore in self.bores if bore.body == body), self.frame)
        return min(shafts_of(on_axis, body), key=lambda boss: boss.radius, default=None)

    def _evidence(self, adapter: set[int], disputed: set[int]) -> float:
        """The evidence of ends; that the disputed bodies touch a face is none."""
        mine = [bore for bore in self.bores if bore.body in adapter]
        machines = self.counted - adapter - disputed
        seats = find_seats(self.survey, self.frame, mine, coaxial_bores(mine, self.frame), adapter, machines)
        return sum(seat.score for seat in seats)

    def _touch(self, body: int, others: set[int]) -> bool:
        """Whether a plane of a body lies on one of the others."""
        mine = [(face, face.outward) for face in self._planes_of(body)]
        return any(
            dot(normal, b.outward) < -1.0 + 1e-6
            and abs(dot(sub(a.origin, b.origin), normal)) < TOUCHING
            and self._near(a, b)
            for other in others
            for b in self._planes_of(other)
            for a, normal in mine
        )

    def _planes_of(self, body: int) -> list[Face]:
        if body not in self._planes:
            self._planes[body] = [f for f in self.survey.faces if f.body == body and f.kind == "plane"]
        return self._planes[body]

    def _near(self, a: Face, b: Face) -> bool:
        (low, high), (bottom, top) = self._box(a), self._box(b)
        return all(low[i] <= top[i] + TOUCHING and bottom[i] <= high[i] + TOUCHING for i in range(3))

    def _box(self, face: Face) -> tuple[Vector, Vector]:
        if face.index not in self._boxes:
            edges = list(self.survey.rim(face))
            spans = [[edge_extent(edge, (0.0, 0.0, 0.0), axis) for edge in edges] for axis in AXES]
            low = tuple(min((span[0] for span in some), default=math.inf) for some in spans)
            high = tuple(max((span[1] for span in some), default=-math.inf) for some in spans)
            self._boxes[face.index] = (low, high)  # type: ignore[assignment]
        return self._boxes[face.index]
