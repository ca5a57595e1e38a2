"""What locates each machine, how the two lie to each other, and which feature of the adapter stands in a wrong place.

A machine stands where its register stands: in a pilot bore, on a spigot of the adapter's, or in a plain bore that fits
its register. Its bolt holes have to lie about that, not about the drive axis.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, isclose, radians, sin

from fitcheck.checks.drive import Drive
from fitcheck.checks.sides import Side
from fitcheck.checks.wording import number
from fitcheck.measurement.model import Coaxiality, Cylinder, Locator, Vector
from fitcheck.measurement.vectors import cross, dot, norm, scale, sub

AGREE = 0.02
"""mm; features that lie no farther apart are in one place: half of what drawings usually allow; common practice, no
source."""

FITS = 0.5
"""mm; a plain bore that is wider than the machine's register by more does not locate it; common practice, no source."""

NEAR = 4.0
"""mm; bores of the adapter that lie farther beside the drive axis say nothing of where it should be."""

WORDS = {"pilot": "pilot", "register": "spigot", "opening": "bore"}
"""What locates a machine, as a person calls it."""

HOLES = "holes"

Point = tuple[float, float]


def locator_of(side: Side) -> Locator | None:
    """What locates a machine; None where nothing does, or it is not known whether a plain bore is meant to."""
    found = None if side.end is None else side.end.locator
    if found is None or found.what != "opening":
        return found
    register = side.register
    if register is None or not -FITS < found.diameter - register.diameter <= FITS:
        return None
    return found


def centre_of(drive: Drive, locator: Locator) -> Point:
    """Where an axis passes its seat, (x, y) of the axis frame, mm."""
    _, x, y = drive.measurement.axis_frame(locator.origin)
    return x, y


def pilots_apart(drive: Drive) -> Coaxiality | None:
    """Of what locates the actuator to what locates the motor, at the actuator's seat; None where not both are known."""
    found = drive.measurement.coaxiality
    if found is None:
        return None
    doubtful = (side for side, what in zip(drive.sides, found.features, strict=True) if what == "opening")
    return found if all(locator_of(side) is not None for side in doubtful) else None


@dataclass(frozen=True, kw_only=True)
class Feature:
    """A feature of the adapter and where it lies, (x, y) of the axis frame, mm; `side` is "" for a chamber's bore."""

    side: str
    what: str
    centre: Point


@dataclass(frozen=True, kw_only=True)
class Misplaced:
    """The features that do not lie where most do, and the place that most agree on."""

    place: Point
    features: tuple[Feature, ...]

    def has(self, side: str, what: str) -> bool:
        """Whether a feature is among them."""
        return any(feature.side == side and feature.what == what for feature in self.features)


def misplaced(drive: Drive) -> Misplaced:
    """Of all features that should lie on one axis, those that the fewest agree with.

    Pilots, spigots, bolt patterns and the chamber's bores have one vote each; where two places have as many, the
    motor's locator decides, as the drive axis lies on it.
    """
    if "misplaced" not in drive.answers:
        drive.answers["misplaced"] = _misplaced(_features(drive))
    found: Misplaced = drive.answers["misplaced"]
    return found


def _misplaced(features: list[Feature]) -> Misplaced:
    def agreeing(centre: Point) -> int:
        return sum(hypot(f.centre[0] - centre[0], f.centre[1] - centre[1]) <= AGREE for f in features)

    if not features:
        return Misplaced(place=(0.0, 0.0), features=())
    # The motor's features come first, and the first of equals is taken.
    place = max((feature.centre for feature in features), key=agreeing)
    out = [f for f in features if hypot(f.centre[0] - place[0], f.centre[1] - place[1]) > AGREE]
    return Misplaced(place=place, features=tuple(out))


def _features(drive: Drive) -> list[Feature]:
    found: list[Feature] = []
    located: list[tuple[float, Point]] = []
    for side in drive.sides:
        locator = locator_of(side)
        if locator is not None:
            centre = centre_of(drive, locator)
            found.append(Feature(side=side.name, what=WORDS[locator.what], centre=centre))
            located.append((locator.diameter, centre))
        for pattern in () if side.end is None else side.end.bolts[:1]:
            if pattern.layout != "irregular" and pattern.holes:
                x, y = (sum(hole[k] for hole in pattern.holes) / len(pattern.holes) for k in (0, 1))
                found.append(Feature(side=side.name, what=HOLES, centre=(x, y)))
    for cylinder in drive.measurement.cylinders:
        middle = _on_axis(drive, cylinder)
        if middle is None or any(
            isclose(cylinder.diameter, diameter, abs_tol=AGREE) and hypot(middle[0] - x, middle[1] - y) <= AGREE
            for diameter, (x, y) in located
        ):
            continue
        found.append(Feature(side="", what=f"bore of {number(cylinder.diameter)} mm", centre=middle))
    return found


def _on_axis(drive: Drive, cylinder: Cylinder) -> Point | None:
    """Where a whole bore of the adapter about the drive axis lies; None for any other cylinder."""
    line = drive.measurement.drive_axis
    assert line is not None
    adapter = {body.name for body in drive.measurement.bodies if body.role == "adapter"}
    if cylinder.kind != "bore" or cylinder.turn < 300.0 or cylinder.body not in adapter:
        return None
    if norm(cross(cylinder.direction, line.direction)) > sin(radians(0.05)):
        return None
    _, x, y = drive.measurement.axis_frame(cylinder.origin)
    return (x, y) if hypot(x, y) < min(NEAR, cylinder.diameter / 8.0) else None


def move_text(drive: Drive, move: Point) -> str:
    """A way across the drive axis, (x, y) of the axis frame in mm, as a vector of the file's frame."""
    line = drive.measurement.drive_axis
    assert line is not None
    across, other = line.across, cross(line.direction, line.across)
    return vector_text(tuple(move[0] * a + move[1] * b for a, b in zip(across, other, strict=True)))  # type: ignore[arg-type]


def vector_text(vector: Vector) -> str:
    """A vector of the file's frame with its unit."""
    return f"({', '.join(number(part) for part in vector)}) mm"


def correction(drive: Drive, side: str, what: str) -> str | None:
    """What to move, and by what vector, where this feature or what else lies with it is in the wrong place."""
    found = misplaced(drive)
    if not found.has(side, what):
        return None
    mine = next(f for f in found.features if f.side == side and f.what == what)
    with_it = [
        f.what for f in found.features if f.side == side and f is not mine
        and hypot(f.centre[0] - mine.centre[0], f.centre[1] - mine.centre[1]) <= AGREE
    ]  # fmt: skip
    names = " and ".join([f"the {side}'s {what}", *(f"its {other}" for other in with_it)])
    move = (found.place[0] - mine.centre[0], found.place[1] - mine.centre[1])
    return f"move {names} by {move_text(drive, move)}"


def across_vector(drive: Drive, vector: Vector) -> Vector:
    """A vector of the file's frame without its part along the drive axis."""
    line = drive.measurement.drive_axis
    assert line is not None
    return sub(vector, scale(line.direction, dot(vector, line.direction)))
