"""`bolt-pattern`: the adapter's holes lie where the machine's are, and its screws pass them.

The machine stands where its register does, so its holes are looked for about what locates it at that end.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations
from math import acos, atan2, cos, hypot, pi, radians, sin

from fitcheck.checks.drive import Drive
from fitcheck.checks.finding import Finding, compare, not_checked
from fitcheck.checks.locating import HOLES, WORDS, centre_of, correction, locator_of
from fitcheck.checks.sides import Side
from fitcheck.checks.wording import mm
from fitcheck.errors import TableError
from fitcheck.job.model import Bolts
from fitcheck.measurement.model import BoltPattern
from fitcheck.standards.screws import cap_screw, clearance_hole

CHECK = "bolt-pattern"
Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True, kw_only=True)
class Fit:
    """The best rotation (radians) of a pattern onto holes: the greatest distance left, mm, and its hole's index."""

    rotation: float
    deviation: float
    hole: int


def check(drive: Drive) -> tuple[Finding, ...]:
    """For each side with a known pattern: count, greatest distance of a hole from its place, and hole diameter."""
    return tuple(finding for side in drive.sides for finding in _side(drive, side))


def places(bolts: Bolts) -> Points | None:
    """Where a machine's holes lie about the drive axis, mm, at rotation 0; None for a count that no such layout has."""
    if bolts.layout == "circle":
        radius = bolts.size[0] / 2
        angles = [2 * pi * i / bolts.count for i in range(bolts.count)]
        return tuple((radius * cos(angle), radius * sin(angle)) for angle in angles)
    if bolts.count != 4:
        return None
    a, b = bolts.size[0] / 2, bolts.size[-1] / 2
    return ((a, b), (-a, b), (-a, -b), (a, -b))


def best_fit(holes: Points, wanted: Points, slots: Points = ()) -> Fit:
    """Rotate `wanted` about the drive axis so that the greatest distance to its nearest holes is least.

    For a fixed pairing each squared distance is A_i - B_i cos(rotation - d_i); the greatest of them is least where one
    is least itself, or where two are equal, so these rotations are all that need trying.

    Args:
        holes: what was measured, at least as many as `wanted`.
        wanted: where the machine's holes lie.
        slots: direction (degrees) and travel (mm) of each hole, where they are slots: a place is as far from one as
            from the line between its ends' centres. Of the rotations about the slots' middles the best is taken.
    """
    reach = {
        hole: (0.5 * t * cos(radians(a)), 0.5 * t * sin(radians(a))) for hole, (a, t) in zip(holes, slots, strict=False)
    }
    best = Fit(rotation=0.0, deviation=float("inf"), hole=0)
    first = atan2(wanted[0][1], wanted[0][0])
    for hole in holes:
        seed = atan2(hole[1], hole[0]) - first
        pairing = _pairing(holes, wanted, seed)
        if pairing is None:
            continue
        for rotation in _rotations(pairing, wanted):
            distances = [
                _distance(h, reach.get(h, (0.0, 0.0)), p)
                for h, p in zip(pairing, _turned(wanted, rotation), strict=True)
            ]
            worst = max(distances)
            if worst < best.deviation:
                best = Fit(rotation=rotation, deviation=worst, hole=distances.index(worst))
    return best


def _distance(hole: tuple[float, float], reach: tuple[float, float], place: tuple[float, float]) -> float:
    """How far a place is from a hole's centre, or from the line along which a slot has its centres, mm."""
    x, y = place[0] - hole[0], place[1] - hole[1]
    square = reach[0] ** 2 + reach[1] ** 2
    along = 0.0 if square == 0.0 else max(-1.0, min(1.0, (x * reach[0] + y * reach[1]) / square))
    return hypot(x - along * reach[0], y - along * reach[1])


def _turned(points: Points, rotation: float) -> Points:
    c, s = cos(rotation), sin(rotation)
    return tuple((c * x - s * y, s * x + c * y) for x, y in points)


def _pairing(holes: Points, wanted: Points, rotation: float) -> Points | None:
    """The hole nearest to each wanted place; None where two places share one."""
    chosen = [
        min(range(len(holes)), key=lambda i: hypot(holes[i][0] - place[0], holes[i][1] - place[1]))
        for place in _turned(wanted, rotation)
    ]
    return tuple(holes[i] for i in chosen) if len(set(chosen)) == len(chosen) else None


def _rotations(holes: Points, wanted: Points) -> list[float]:
    terms = []
    for (hx, hy), (px, py) in zip(holes, wanted, strict=True):
        r, p = hypot(hx, hy), hypot(px, py)
        terms.append((r * r + p * p, 2 * r * p, atan2(hy, hx) - atan2(py, px)))
    found = [delta for _, _, delta in terms]
    for (a1, b1, d1), (a2, b2, d2) in combinations(terms, 2):
        # b1 cos(x - d1) - b2 cos(x - d2) = a1 - a2, as amplitude * cos(x - phase).
        c, s = b1 * cos(d1) - b2 * cos(d2), b1 * sin(d1) - b2 * sin(d2)
        amplitude = hypot(c, s)
        if amplitude > 1e-12 and abs(a1 - a2) <= amplitude:
            phase, turn = atan2(s, c), acos((a1 - a2) / amplitude)
            found += [phase + turn, phase - turn]
    return found


def _side(drive: Drive, side: Side) -> list[Finding]:
    end, bolts = side.end, side.bolts
    if end is None or not end.on_adapter:
        reason = f"the adapter has no seat for the {side.name} in this file"
        return [not_checked(CHECK, side.name, reason, "a file with both seats", required=False)]
    if bolts is None:
        reason = side.frame_problem or f"the {side.name}'s bolt pattern is not given"
        supply = f"give {side.name}.bolts or {side.name}.frame{side.nearest_frame()}"
        return [not_checked(CHECK, side.name, reason, supply, required=side.frame_problem is not None)]
    wanted = places(bolts)
    if wanted is None:
        reason = f"a {bolts.layout} of {bolts.count} holes has no stated places; only 4 holes do"
        return [not_checked(CHECK, side.name, reason, f"give {side.name}.bolts.layout: circle, or count: 4")]
    at, limit = drive.at(end.seat), drive.job.require.bolt_position
    ready = [pattern for pattern in end.bolts if len(pattern.holes) >= bolts.count]
    if not ready:
        most = max((len(pattern.holes) for pattern in end.bolts), default=0)
        return [
            Finding(
                check=CHECK, subject=side.name, status="fail", value=float(most), limit=float(bolts.count),
                unit="holes", margin=float(most - bolts.count), at=at, path=f"{side.name}.bolts.count",
                message=f"{most} holes were found on the {side.name}'s seat; {bolts.count} needed",
                remedy=f"drill {bolts.count} holes: {_described(bolts)}",
            )
        ]  # fmt: skip
    centre = _centre(drive, side)
    fits = [(best_fit(_about(pattern.holes, centre), wanted, pattern.slots), pattern) for pattern in ready]
    fit, pattern = min(fits, key=lambda pair: pair[0].deviation)
    position = _position(drive, side, bolts, fit, pattern, limit)
    through = _through(drive, side, bolts, fit, pattern) if position.status == "pass" else None
    return [position] if through is None else [position, through]


def _centre(drive: Drive, side: Side) -> tuple[float, float]:
    """Where the middle of the machine's pattern lies, (x, y) mm: on what locates it, else on the drive axis."""
    locator = locator_of(side)
    return (0.0, 0.0) if locator is None else centre_of(drive, locator)


def _about(holes: Points, centre: tuple[float, float]) -> Points:
    return tuple((x - centre[0], y - centre[1]) for x, y in holes)


def _kind(pattern: BoltPattern) -> str:
    return "slots" if pattern.slots else "holes"


def _described(bolts: Bolts) -> str:
    return f"{bolts.layout} of {' x '.join(mm(size) for size in bolts.size)}, {bolts.count} holes"


def _position(drive: Drive, side: Side, bolts: Bolts, fit: Fit, pattern: BoltPattern, limit: float) -> Finding:
    end = side.end
    assert end is not None
    if fit.deviation == float("inf"):
        # No rotation gives every place a hole of its own: the nearest measure of the miss is the size.
        have = f"{pattern.layout} {' x '.join(mm(size) for size in pattern.size)}"
        return Finding(
            check=CHECK, subject=side.name, status="fail", limit=limit, unit="mm", at=drive.at(end.seat),
            path="require.bolt_position", remedy=f"drill the pattern of {side.bolts_source}: {_described(bolts)}",
            message=f"the holes on the {side.name}'s seat ({have}) match that of {side.bolts_source} at no angle",
        )  # fmt: skip
    worst = _turned(places(bolts) or (), fit.rotation)[fit.hole]
    spare = len(pattern.holes) - bolts.count
    message = (
        f"{_kind(pattern)} on the {side.name}'s seat lie within {mm(fit.deviation)} of the pattern of "
        f"{side.bolts_source} ({_described(bolts)}); at most {mm(limit)} allowed"
        + (f"; {spare} further holes are not used" if spare else "")
    )
    cx, cy = _centre(drive, side)
    worst = (worst[0] + cx, worst[1] + cy)
    radius, theta = hypot(*worst), atan2(worst[1], worst[0]) * 180.0 / pi
    return compare(
        check=CHECK, subject=side.name, value=fit.deviation, limit=limit, unit="mm", at_least=False, message=message,
        remedy=_correction(drive, side)
        or f"move the holes onto the pattern of {side.bolts_source}: {_described(bolts)}",
        at=drive.at(end.seat, radius, theta), path="require.bolt_position",
    )  # fmt: skip


def _correction(drive: Drive, side: Side) -> str | None:
    """What is to be moved where pattern and locator do not lie on one axis: the one that nothing else agrees with."""
    locator = locator_of(side)
    if locator is None:
        return None
    return correction(drive, side.name, HOLES) or correction(drive, side.name, WORDS[locator.what])


def _through(drive: Drive, side: Side, bolts: Bolts, fit: Fit, pattern: BoltPattern) -> Finding | None:
    """Whether the screws pass the adapter's holes; None where no screw is known."""
    end, subject = side.end, f"{side.name} holes"
    assert end is not None
    if bolts.screw is None:
        return None
    try:
        diameter, usual = cap_screw(bolts.screw).diameter, clearance_hole(bolts.screw)
    except TableError as error:
        return not_checked(CHECK, subject, str(error), f"correct {side.name}.bolts.screw")
    if pattern.threaded:
        return None
    limit = diameter + 2 * fit.deviation
    message = (
        f"{_kind(pattern)} of {mm(pattern.hole)} for {bolts.screw} screws, {mm(fit.deviation)} off their places: "
        f"at least {mm(limit)} needed"
    )
    finding = compare(
        check=CHECK, subject=subject, value=pattern.hole, limit=limit, unit="mm", at_least=True, message=message,
        remedy=f"drill {mm(usual)} (ISO 273 medium)", at=drive.at(end.seat), path=f"{side.name}.bolts.screw",
    )  # fmt: skip
    from_plain_frame = side.machine.bolts is None and side.frame is not None and not side.frame.tapped
    if finding.status == "fail" and from_plain_frame and pattern.hole < diameter:
        # Plain holes in the motor's flange: the adapter's may be tapped, and modelled below the screw's diameter.
        message = f"{message}; the motor's own holes are plain, so these may be tapped"
        return replace(
            finding, status="warn", message=message, remedy=f"give {side.name}.bolts with the screw that passes"
        )
    return finding
