"""What adapters are made of: seats with their pilot bores, bolt holes and windows.

Cutters are plain solids in the adapter's frame; an adapter subtracts them from its blank.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import cos, radians, sin, sqrt

import cadquery as cq

from parametric_models.refusals import check_choice, check_range

OVER = 1.0
"""How far a cutter stands proud of the face that it opens, mm."""

LAYOUTS = ("circle", "square", "rectangle")


@dataclass(frozen=True, kw_only=True)
class Holes:
    """A pattern of round holes parallel to the drive axis, centred on its seat's axis.

    Attributes:
        layout: circle, square or rectangle.
        size: bolt circle diameter, or side of the square, or both sides (x, y) of the rectangle, mm.
        diameter: hole diameter, mm.
        depth: depth from the seat, mm; None for through holes.
        count: number of holes; 4 for squares and rectangles.
        start_angle: angle of the first hole of a circle from x, degrees.
        counterbore_diameter: diameter of the counterbore on the far side of a through hole, mm; 0 for none.
        counterbore_depth: its depth from the far side, mm.
    """

    layout: str
    size: tuple[float, ...]
    diameter: float
    depth: float | None = None
    count: int = 4
    start_angle: float = 0.0
    counterbore_diameter: float = 0.0
    counterbore_depth: float = 0.0

    def __post_init__(self) -> None:
        check_choice("layout", self.layout, LAYOUTS)
        wanted = 2 if self.layout == "rectangle" else 1
        if len(self.size) != wanted:
            msg = f"size has {len(self.size)} values; a {self.layout} takes {wanted}"
            raise ValueError(msg)
        if self.layout != "circle" and self.count != 4:
            msg = f"count is {self.count}; a {self.layout} has exactly 4 holes"
            raise ValueError(msg)
        check_range("count", self.count, 2, unit="holes")
        check_range("diameter", self.diameter, 0.0, open_low=True)
        # Neighbouring holes must leave material between them.
        near = min(self.size) if self.layout != "circle" else self.size[0] * sin(radians(180.0 / self.count))
        check_range("diameter", self.diameter, 0.0, near - 0.2, open_low=True)
        if self.depth is not None:
            check_range("depth", self.depth, 0.0, open_low=True)
        if self.counterbore_diameter:
            if self.depth is not None:
                msg = "counterbore_diameter is given for a blind hole; only a through hole (depth None) has a far side"
                raise ValueError(msg)
            check_range("counterbore_diameter", self.counterbore_diameter, self.diameter, near - 0.2, open_low=True)
            check_range("counterbore_depth", self.counterbore_depth, 0.0, open_low=True)

    def centres(self) -> tuple[tuple[float, float], ...]:
        """Hole centres (x, y) from the seat's axis, mm."""
        if self.layout == "circle":
            r, step = self.size[0] / 2, 360.0 / self.count
            angles = [radians(self.start_angle + step * i) for i in range(self.count)]
            return tuple((r * cos(a), r * sin(a)) for a in angles)
        a, b = self.size[0] / 2, self.size[-1] / 2
        return ((a, b), (-a, b), (-a, -b), (a, -b))

    def reach(self) -> float:
        """Greatest distance of a hole's edge from the seat's axis, mm."""
        x, y = self.centres()[0]
        return sqrt(x * x + y * y) + max(self.diameter, self.counterbore_diameter) / 2


@dataclass(frozen=True, kw_only=True)
class Seat:
    """One end of an adapter: the pilot bore, the opening behind it, and the bolt holes.

    Attributes:
        opening_diameter: diameter of the bore behind the pilot bore, or of the whole bore without one, mm.
        opening_length: its length from the pilot's floor (or the seat) to the chamber, mm; None for a through bore.
        pilot_diameter: diameter of the pilot bore, mm; None for a seat without one.
        pilot_depth: depth of the pilot bore from the seat, mm.
        pilot_chamfer: 45° lead-in of the pilot bore, mm; 0 for none.
        holes: bolt patterns.
    """

    opening_diameter: float
    opening_length: float | None = None
    pilot_diameter: float | None = None
    pilot_depth: float = 0.0
    pilot_chamfer: float = 0.0
    holes: tuple[Holes, ...] = ()

    def __post_init__(self) -> None:
        check_range("opening_diameter", self.opening_diameter, 0.0, open_low=True)
        if self.opening_length is not None:
            check_range("opening_length", self.opening_length, 0.0)
        if self.pilot_diameter is not None:
            check_range("pilot_diameter", self.pilot_diameter, self.opening_diameter, open_low=True)
            check_range("pilot_depth", self.pilot_depth, 0.0, open_low=True)
            check_range("pilot_chamfer", self.pilot_chamfer, 0.0, self.pilot_depth)
        elif self.pilot_depth or self.pilot_chamfer:
            msg = "pilot_diameter is missing; pilot_depth and pilot_chamfer need it"
            raise ValueError(msg)
        clear = self.widest / 2
        for pattern in self.holes:
            x, y = pattern.centres()[0]
            room = 2 * (sqrt(x * x + y * y) - clear - 0.2)
            check_range("holes diameter", pattern.diameter, 0.0, room, open_low=True)

    @property
    def widest(self) -> float:
        """Greatest diameter of the bores at the seat, lead-in included, mm."""
        if self.pilot_diameter is None:
            return self.opening_diameter
        return self.pilot_diameter + 2 * self.pilot_chamfer


def cylinder(diameter: float, bottom: float, top: float, x: float = 0.0, y: float = 0.0) -> cq.Solid:
    """A cylinder along Z between two heights, mm."""
    low, high = min(bottom, top), max(bottom, top)
    return cq.Solid.makeCylinder(diameter / 2, high - low, cq.Vector(x, y, low))


def cone(bottom_diameter: float, top_diameter: float, bottom: float, top: float) -> cq.Solid:
    """A truncated cone on the Z axis, mm."""
    return cq.Solid.makeCone(bottom_diameter / 2, top_diameter / 2, top - bottom, cq.Vector(0, 0, bottom))


def seat_cutters(seat: Seat, material: float, *, towards: int, opening_end: float | None = None) -> Iterator[cq.Solid]:
    """What is cut away at one seat, in the seat's own frame (seat at z = 0, x and y as the adapter's).

    Args:
        seat: the seat's parameters.
        material: thickness that through holes must pass, mm.
        towards: +1 where the material lies at +z of the seat (the motor end), -1 at the actuator end.
        opening_end: depth at which the opening's cutter ends, mm; None for the seat's own length, or through.
    """
    floor = 0.0
    if seat.pilot_diameter is not None:
        floor = seat.pilot_depth
        yield cylinder(seat.pilot_diameter, -towards * OVER, towards * floor)
        if seat.pilot_chamfer:
            wide = seat.pilot_diameter + 2 * (seat.pilot_chamfer + OVER)
            near, far = -towards * OVER, towards * seat.pilot_chamfer
            if towards > 0:
                yield cone(wide, seat.pilot_diameter, near, far)
            else:
                yield cone(seat.pilot_diameter, wide, far, near)
    end = opening_end
    if end is None:
        end = material + OVER if seat.opening_length is None else floor + seat.opening_length
    if end > floor:
        yield cylinder(seat.opening_diameter, towards * (floor if floor else -OVER), towards * end)
    for pattern in seat.holes:
        yield from hole_cutters(pattern, material, towards=towards)


def hole_cutters(pattern: Holes, material: float, *, towards: int) -> Iterator[cq.Solid]:
    """What is cut away by one bolt pattern, in its seat's frame; `material` and `towards` as in `seat_cutters`."""
    deep = material + OVER if pattern.depth is None else pattern.depth
    for x, y in pattern.centres():
        yield cylinder(pattern.diameter, -towards * OVER, towards * deep, x, y)
        if pattern.counterbore_diameter:
            start = material - pattern.counterbore_depth
            yield cylinder(pattern.counterbore_diameter, towards * start, towards * deep, x, y)


@dataclass(frozen=True, kw_only=True)
class Window:
    """An opening in an adapter's wall, cut straight from the drive axis outwards.

    Attributes:
        station: station of its middle, mm from the motor seat.
        length: extent along the drive axis, mm.
        width: extent across, mm.
        angle: shaft angle of the direction outwards, degrees.
        offset: distance of its middle from the drive axis, mm; positive to the left, seen from the axis outwards with
            the drive axis pointing up (as a screw's offset in the job).
        shape: round (length = width = diameter), slot (round ends) or rectangle.
        corner_radius: radius of a rectangle's corners, mm.
    """

    station: float
    length: float
    width: float
    angle: float = 0.0
    offset: float = 0.0
    shape: str = "rectangle"
    corner_radius: float = 0.0

    def __post_init__(self) -> None:
        check_choice("window shape", self.shape, ("round", "slot", "rectangle"))
        check_range("window length", self.length, 0.0, open_low=True)
        check_range("window width", self.width, 0.0, open_low=True)
        if self.shape == "round" and self.length != self.width:
            msg = f"window width is {self.width:g} mm; a round window's must equal its length, {self.length:g} mm"
            raise ValueError(msg)
        if self.shape == "slot" and self.length == self.width:
            msg = f"window width is {self.width:g} mm, equal to its length; a slot of that size is shape 'round'"
            raise ValueError(msg)
        check_range("window corner_radius", self.corner_radius, 0.0, min(self.length, self.width) / 2 - 0.01)
        if self.corner_radius and self.shape != "rectangle":
            msg = f"window corner_radius is {self.corner_radius:g} mm; only a rectangle has corners"
            raise ValueError(msg)


def round_window(station: float, diameter: float, *, angle: float = 0.0, offset: float = 0.0) -> Window:
    """A round window; lengths mm, angle degrees."""
    return Window(station=station, length=diameter, width=diameter, angle=angle, offset=offset, shape="round")


def window_cutter(window: Window, reach: float) -> cq.Solid:
    """The prism that cuts a window, from the plane through the drive axis out to the distance `reach`, mm."""
    c, s = cos(radians(window.angle)), sin(radians(window.angle))
    origin = cq.Vector(-s * window.offset, c * window.offset, window.station)
    sketch = cq.Workplane(cq.Plane(origin, cq.Vector(0, 0, 1), cq.Vector(c, s, 0)))
    if window.shape == "round":
        prism = sketch.circle(window.length / 2).extrude(reach)
    elif window.shape == "slot":
        along = window.length > window.width
        long, short = (window.length, window.width) if along else (window.width, window.length)
        prism = sketch.slot2D(long, short, 0 if along else 90).extrude(reach)
    else:
        prism = sketch.rect(window.length, window.width).extrude(reach)
        if window.corner_radius:
            prism = prism.edges(cq.selectors.ParallelDirSelector(cq.Vector(c, s, 0))).fillet(window.corner_radius)
    return prism.val()


def block(outside: str, size: tuple[float, float], bottom: float, top: float, chamfer: float = 0.0) -> cq.Solid:
    """A square/rectangular or round bar along Z, centred on the axis.

    Args:
        outside: square or round.
        size: extents along x and y, mm; both the diameter for a round bar.
        bottom: lower height, mm.
        top: upper height, mm.
        chamfer: of the long edges of a square bar, mm.
    """
    if outside == "round":
        return cylinder(size[0], bottom, top)
    bar = cq.Workplane("XY").workplane(offset=bottom).rect(*size).extrude(top - bottom)
    return (bar.edges("|Z").chamfer(chamfer) if chamfer else bar).val()


def carve(blank: cq.Shape, cutters: Iterable[cq.Shape], what: str) -> cq.Solid:
    """The blank without the cutters, as one solid.

    Raises:
        ValueError: the cutters leave nothing, or cut the blank into pieces.
    """
    tools = list(cutters)
    left = (blank.cut(*tools) if tools else blank).clean().Solids()
    if len(left) != 1:
        msg = f"the dimensions of this {what} leave {len(left)} pieces; make its bores, holes and windows smaller"
        raise ValueError(msg)
    return left[0]
