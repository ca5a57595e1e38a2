"""The drive axis: which line of a file has the evidence of one, weighed together, never the largest hole alone."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from fitcheck.measurement.bore_table import BoreTable
from fitcheck.measurement.cylinders import Bore
from fitcheck.measurement.line_grid import LineGrid
from fitcheck.measurement.locators import BESIDE, SQUARE
from fitcheck.measurement.model import Vector
from fitcheck.measurement.mouths import COAXIAL, station_on_axis
from fitcheck.measurement.seats import (
    ENOUGH,
    LEANING,
    Seat,
    coaxial_bores,
    find_seats,
)
from fitcheck.measurement.survey import Survey
from fitcheck.measurement.vectors import Frame, cross, dot, frame_on, line_angle, norm, scale, sub

SMALLEST_BORE = 3.0
"""mm radius; no shaft coupling passes a smaller bore."""

MOST_CANDIDATES = 24
"""Lines that are examined, those with the most bore surface first."""

AS_GOOD = 0.85
"""A line with this share of the best one's evidence is as good a candidate."""


@dataclass(slots=True)
class Candidate:
    """A line that may be the drive axis, with the seats found on it and the weight of the evidence.

    `lone` where the evidence is one recess without bolt holes, machine or shaft: a counterbored hole is just that.
    `directed` where the user gave the line, from the motor to the actuator.
    """

    frame: Frame
    seats: list[Seat]
    coaxial: list[Bore]
    shafts: list[Bore]
    score: float
    lone: bool = False
    directed: bool = False

    def distance(self, point: Sequence[float]) -> float:
        """Distance of a file-frame point from the line, mm."""
        return norm(cross(sub((point[0], point[1], point[2]), self.frame.origin), self.frame.along))

    def describe(self) -> str:
        """One line for a list of candidates: a point on it, its direction, and what was found there."""
        middle = self.frame.at(0.5 * sum(seat.station for seat in self.seats) / max(len(self.seats), 1))
        # A zero without a sign, for the reader.
        along = tuple(round(value, 4) + 0.0 for value in self.frame.along)
        widest = max((2.0 * bore.radius for bore in self.coaxial if bore.concave), default=0.0)
        holes = sum(pattern.count for seat in self.seats for pattern, _ in seat.patterns[:1])
        return (
            f"through [{middle[0]:.3f}, {middle[1]:.3f}, {middle[2]:.3f}] along "
            f"[{along[0]:.4f}, {along[1]:.4f}, {along[2]:.4f}]: {len(self.seats)} seat(s), {holes} bolt holes, "
            f"widest bore {widest:.3f} mm"
        )


@dataclass(slots=True)
class _Line:
    """Bores and shafts that are nearly on one line, and the line that stands for them.

    A bore of the adapter stands before a shaft: what is out of line is the machine's, and told so.
    """

    weight: float
    origin: Vector
    axis: Vector
    of_adapter: bool

    def add(self, weight: float, origin: Vector, axis: Vector, of_adapter: bool) -> None:
        self.weight += weight
        if of_adapter and not self.of_adapter:
            self.origin, self.axis, self.of_adapter = origin, axis, True


def find_candidates(survey: Survey, bores: Sequence[Bore], adapter: set[int], machines: set[int]) -> list[Candidate]:
    """All lines with evidence of a drive axis, best first.

    Args:
        survey: the file.
        bores: all its bores and bosses.
        adapter: indices of the adapter's bodies.
        machines: indices of bodies that may carry a shaft (motor, actuator, others).

    Returns:
        Candidates that have a bolt pattern, a pilot or a machine on a seat.
    """
    bores = BoreTable.of(bores)
    mine = BoreTable(bore for bore in bores if bore.body in adapter)
    lines: list[_Line] = []
    grid = LineGrid(bores, lean=SQUARE, enter=False)
    for bore in bores:
        shaft = bore.body in machines and not bore.concave
        hole = bore.body in adapter and bore.concave
        if not (shaft or hole) or bore.turn < math.radians(150.0) or bore.radius < SMALLEST_BORE:
            continue
        weight = bore.radius * (bore.stop - bore.start) * (4.0 if shaft else 1.0)
        middle = bore.point(0.5 * (bore.start + bore.stop))
        for index in grid.near(middle, bore.axis):
            line = lines[index]
            if line_angle(line.axis, bore.axis) < SQUARE and _apart(bore, line.origin, line.axis) < COAXIAL:
                line.add(weight, middle, bore.axis, hole)
                break
        else:
            grid.add(len(lines), middle, bore.axis)
            lines.append(_Line(weight=weight, origin=middle, axis=bore.axis, of_adapter=hole))
    lines.sort(key=lambda line: -line.weight)
    found: list[Candidate] = []
    for line in lines[:MOST_CANDIDATES]:
        frame = frame_on(line.origin, _settled(line.axis))
        candidate = candidate_on(survey, bores, frame, adapter, machines, mine)
        shafts, seats = candidate.shafts, candidate.seats
        if not candidate.coaxial and not shafts:
            continue
        if not any(seat.depth is not None or seat.patterns or seat.touched_by for seat in seats):
            continue
        if not shafts and not any(seat.opens or seat.touched_by for seat in seats):
            # Solid at the axis wherever it could be bolted: a motor's front, with a relief round its shaft.
            continue
        found.append(candidate)
    found = _one_of_near_lines(_with_leaning_ends(found))
    found.sort(key=lambda candidate: (candidate.lone, -candidate.score))
    return found


def _one_of_near_lines(found: Sequence[Candidate]) -> list[Candidate]:
    """Of lines that run beside each other through the same seats the best: what lies off it is a mistake."""
    kept: list[Candidate] = []
    # They come with the most bore surface first, which decides between equals.
    for line in sorted(found, key=lambda candidate: (candidate.lone, -candidate.score)):
        if not any(_same_drive(line, better) for better in kept):
            kept.append(line)
    return kept


def _same_drive(line: Candidate, other: Candidate) -> bool:
    if line_angle(line.frame.along, other.frame.along) > SQUARE or line.distance(other.frame.origin) >= BESIDE:
        return False
    mine, theirs = ({seat.plane.index for seat in one.seats} for one in (line, other))
    return bool(mine) and mine <= theirs


def candidate_on(
    survey: Survey,
    bores: Sequence[Bore],
    frame: Frame,
    adapter: set[int],
    machines: set[int],
    mine: Sequence[Bore] | None = None,
) -> Candidate:
    """A line as a candidate, with whatever is on it.

    Args:
        survey: the file.
        bores: all its bores and bosses.
        frame: an axis frame on the line.
        adapter: indices of the adapter's bodies.
        machines: indices of bodies that may carry a shaft.
        mine: the adapter's bores and bosses, where they are at hand.
    """
    if mine is None:
        mine = BoreTable(bore for bore in bores if bore.body in adapter)
    coaxial = coaxial_bores(mine, frame)
    shafts = [bore for bore in coaxial_bores(bores, frame) if bore.body in machines and not bore.concave]
    seats = find_seats(survey, frame, mine, coaxial, adapter, machines) if coaxial or shafts else []
    recesses = sum(seat.depth is not None for seat in seats)
    evidence = sum(seat.score for seat in seats) + 4.0 * min(len({bore.body for bore in shafts}), 2)
    lone = recesses < 2 and not shafts and not any(seat.patterns or seat.touched_by for seat in seats)
    return Candidate(frame=frame, seats=seats, coaxial=coaxial, shafts=shafts, score=evidence, lone=lone)


def _with_leaning_ends(found: Sequence[Candidate]) -> list[Candidate]:
    """Lines that lean against each other and meet at the seat of one of them, put together: both ends of one drive."""
    kept = list(found)
    for line in sorted(found, key=lambda candidate: -candidate.score):
        if not any(line is candidate for candidate in kept):
            continue
        for other in found:
            if other is line or not any(other is candidate for candidate in kept) or len(line.seats) != 1:
                continue
            seat = _other_end(line, other)
            if seat is not None:
                line.seats.append(seat)
                line.coaxial += other.coaxial
                line.shafts += [shaft for shaft in other.shafts if not any(shaft is known for known in line.shafts)]
                line.score += seat.score
                kept = [candidate for candidate in kept if candidate is not other]
    return kept


def _other_end(line: Candidate, other: Candidate) -> Seat | None:
    """The only seat of a line that leans, as the other end of this one; None where it is not."""
    if len(other.seats) != 1 or not SQUARE <= line_angle(line.frame.along, other.frame.along) < LEANING:
        return None
    (mine,), (theirs,) = line.seats, other.seats
    if line.distance(other.frame.at(theirs.station)) > COAXIAL or mine.score < ENOUGH or theirs.score < ENOUGH:
        return None
    sign = theirs.sign if dot(line.frame.along, other.frame.along) > 0.0 else -theirs.sign
    station = station_on_axis(theirs.plane, line.frame)
    if sign == mine.sign or sign * (station - mine.station) <= 0.0:
        return None
    return replace(theirs, sign=sign, station=station)


def rivals(candidates: Sequence[Candidate]) -> list[Candidate]:
    """The candidates that are as good as the best one, the best among them; one entry means no ambiguity."""
    if not candidates:
        return []
    limit = AS_GOOD * candidates[0].score
    best = candidates[0]
    return [candidate for candidate in candidates if candidate.score >= limit and candidate.lone == best.lone]


def _apart(bore: Bore, origin: Vector, axis: Vector) -> float:
    return norm(cross(sub(bore.point(0.5 * (bore.start + bore.stop)), origin), axis))


def _settled(axis: Vector) -> Vector:
    """The direction with its largest component positive, so that a file's face order does not turn the axis round."""
    largest = max(axis, key=abs)
    return axis if largest > 0.0 or dot(axis, axis) == 0.0 else scale(axis, -1.0)
