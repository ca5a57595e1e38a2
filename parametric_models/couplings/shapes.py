"""Solids that the generators are put together from. Loads the CAD kernel; lengths mm, angles degrees.

Angles are shaft angles: the direction u = (cos, sin, 0) and, to its left, n = (-sin, cos, 0).
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence

import cadquery as cq

from fitcheck.errors import FitcheckError


def cylinder(start: float, end: float, diameter: float) -> cq.Solid:
    """A cylinder about the drive axis between two stations."""
    return cq.Solid.makeCylinder(diameter / 2, end - start, cq.Vector(0, 0, start))


def ring(start: float, end: float, outside: float, inside: float) -> cq.Solid:
    """A ring about the drive axis between two stations, by outside and inside diameter."""
    return revolved([(inside / 2, start), (outside / 2, start), (outside / 2, end), (inside / 2, end)])


def revolved(corners: Sequence[tuple[float, float]], turn: float = 360.0, first: float = 0.0) -> cq.Solid:
    """A solid of revolution about the drive axis, from the corners (radius, station) of its section.

    Args:
        corners: corners of the section in order, mm; radii at least 0.
        turn: angle of the revolution, degrees.
        first: shaft angle where it begins, degrees.
    """
    c, s = math.cos(math.radians(first)), math.sin(math.radians(first))
    wire = cq.Wire.makePolygon([cq.Vector(r * c, r * s, z) for r, z in corners], close=True)
    return cq.Solid.revolve(wire, [], turn, cq.Vector(0, 0, 0), cq.Vector(0, 0, 1))


def block(
    along: tuple[float, float], left: tuple[float, float], stations: tuple[float, float], angle: float
) -> cq.Solid:
    """A block in the frame of a shaft angle.

    Args:
        along: from and to along the direction u of the angle, mm.
        left: from and to along n, mm.
        stations: from and to along the drive axis, mm.
        angle: shaft angle, degrees.
    """
    size = [high - low for low, high in (along, left, stations)]
    box = cq.Solid.makeBox(*size, cq.Vector(along[0], left[0], stations[0]))
    return box if angle == 0.0 else turned(box, angle)


def turned(shape: cq.Shape, angle: float) -> cq.Solid:
    """The shape turned about the drive axis by an angle in degrees."""
    return shape.moved(cq.Location(cq.Vector(0, 0, 0), cq.Vector(0, 0, 1), angle))


def crosswise(start: float, end: float, diameter: float, station: float, offset: float, angle: float) -> cq.Solid:
    """A cylinder across the drive axis.

    Args:
        start: where it begins along the direction u of the angle, mm.
        end: where it ends along u, mm.
        diameter: its diameter, mm.
        station: station of its axis, mm.
        offset: distance of its axis to the left of the drive axis, mm.
        angle: shaft angle, degrees.
    """
    upright = cq.Solid.makeCylinder(diameter / 2, end - start, cq.Vector(0, 0, start))
    return upright.moved(across(station, offset, angle))


def across(station: float, offset: float, angle: float) -> cq.Location:
    """The location that lays something that stands on +Z along the direction u of a shaft angle."""
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    origin = cq.Vector(-offset * s, offset * c, station)
    return cq.Location(cq.Plane(origin, xDir=cq.Vector(0, 0, 1), normal=cq.Vector(c, s, 0)))


def segment(diameter: float, chord: float, stations: tuple[float, float], angle: float) -> cq.Solid:
    """The part of a cylinder about the drive axis that lies beyond a chord.

    Args:
        diameter: of the cylinder, mm.
        chord: distance of the chord from the drive axis along the direction of the angle, mm.
        stations: from and to along the drive axis, mm.
        angle: shaft angle of the chord's middle, degrees.
    """
    radius = diameter / 2
    half = math.sqrt(radius**2 - chord**2)
    ends = [cq.Vector(chord, -half, stations[0]), cq.Vector(chord, half, stations[0])]
    arc = cq.Edge.makeThreePointArc(ends[0], cq.Vector(radius, 0, stations[0]), ends[1])
    wire = cq.Wire.assembleEdges([arc, cq.Edge.makeLine(ends[1], ends[0])])
    solid = cq.Solid.extrudeLinear(wire, [], cq.Vector(0, 0, stations[1] - stations[0]))
    return turned(solid, angle)


def eye_outline(base: float, pivot: float, width: float) -> cq.Wire:
    """Outline of a bar with one round end, in the plane of y and z: straight from a base station, round about a pivot.

    Args:
        base: station of the straight end, mm.
        pivot: station of the middle of the round end, mm.
        width: width of the bar, mm.
    """
    half, tip = width / 2, pivot + (width / 2 if pivot > base else -width / 2)
    corners = [cq.Vector(0, y, z) for y, z in ((-half, pivot), (-half, base), (half, base), (half, pivot))]
    edges = [cq.Edge.makeLine(a, b) for a, b in itertools.pairwise(corners)]
    edges.append(cq.Edge.makeThreePointArc(corners[3], cq.Vector(0, 0, tip), corners[0]))
    return cq.Wire.assembleEdges(edges)


def circle_outline(station: float, diameter: float) -> cq.Wire:
    """A circle in the plane of y and z about a station on the drive axis."""
    return cq.Wire.makeCircle(diameter / 2, cq.Vector(0, 0, station), cq.Vector(1, 0, 0))


def extruded_along(outline: cq.Wire, holes: list[cq.Wire], ends: tuple[float, float], angle: float) -> cq.Solid:
    """An outline in the plane of y and z, extruded along the direction of a shaft angle between two distances."""
    solid = cq.Solid.extrudeLinear(outline, holes, cq.Vector(ends[1] - ends[0], 0, 0))
    return turned(solid.moved(cq.Location(cq.Vector(ends[0], 0, 0))), angle)


def cut(shape: cq.Shape, tools: Iterable[cq.Shape]) -> cq.Shape:
    """The shape less all tools, in one operation."""
    tools = list(tools)
    return shape.cut(*tools) if tools else shape


def fused(first: cq.Shape, *others: cq.Shape) -> cq.Shape:
    """The union of shapes, in one operation."""
    return first.fuse(*others) if others else first


def one_solid(shape: cq.Shape, what: str) -> cq.Solid:
    """The only solid of a shape.

    Raises:
        FitcheckError: the shape has not just one solid; its dimensions cut it apart or away.
    """
    solids = shape.Solids()
    if len(solids) != 1:
        raise FitcheckError(
            f"{what}: its dimensions leave {len(solids)} separate solids where one is needed; "
            f"make walls thicker or cuts shallower"
        )
    return solids[0]


def along(shape: cq.Shape, angle: float) -> float:
    """Distance of a shape's centre of mass from the drive axis along the direction of a shaft angle, mm."""
    centre = shape.Center()
    return float(centre.x * math.cos(math.radians(angle)) + centre.y * math.sin(math.radians(angle)))
