"""The same shape in other clothes: other face splits, other surfaces, other places.

A measurement must not care how a CAD system splits and describes a face. These functions make such variants of a shape
for tests; none of them changes a dimension by more than the kernel's own tolerance.
"""

from __future__ import annotations

from math import radians

import cadquery as cq
from OCP.BRepBuilderAPI import BRepBuilderAPI_NurbsConvert
from OCP.ShapeUpgrade import ShapeUpgrade_ShapeDivideAngle

from parametric_models.refusals import check_choice, check_range
from parametric_models.step_files import write_step

__all__ = ["as_bsplines", "mirrored", "moved", "split_cylinders", "write_step"]


def split_cylinders(shape: cq.Shape, parts: int) -> cq.Shape:
    """The shape with every full cylindrical face split into equal sectors.

    Cones, spheres and tori are split alike; faces that already turn by less than a sector are left as they are.

    Args:
        shape: any shape.
        parts: number of sectors of a full turn, 2 to 36.

    Raises:
        ValueError: `parts` is out of range, or the kernel did not split the shape.
    """
    check_range("parts", parts, 2, 36, unit="sectors")
    # A hair more than the sector, so that a sector itself is not split again.
    divide = ShapeUpgrade_ShapeDivideAngle(radians(360.0 / parts) * (1 + 1e-9), shape.wrapped)
    if not divide.Perform():
        msg = "the shape has no face that turns by more than a sector; nothing was split"
        raise ValueError(msg)
    return cq.Shape.cast(divide.Result())


def as_bsplines(shape: cq.Shape) -> cq.Shape:
    """The shape with all its surfaces and curves converted to (rational) B-splines, exactly."""
    return cq.Shape.cast(BRepBuilderAPI_NurbsConvert(shape.wrapped, True).Shape())


def moved(
    shape: cq.Shape, translation: tuple[float, float, float] = (0.0, 0.0, 0.0),
    axis: tuple[float, float, float] = (0.0, 0.0, 1.0), angle: float = 0.0,
) -> cq.Shape:  # fmt: skip
    """The shape turned about a line through the origin (degrees) and then translated (mm), as a new geometry.

    The motion is applied to the geometry itself, so that a file shows moved coordinates and not a placement.
    """
    turned = shape.rotate(cq.Vector(0, 0, 0), cq.Vector(*axis), angle) if angle else shape
    return turned.translate(cq.Vector(*translation))


def mirrored(shape: cq.Shape, plane: str = "XY") -> cq.Shape:
    """The shape mirrored in a coordinate plane of the frame: XY, YZ or XZ.

    Raises:
        ValueError: the plane is unknown.
    """
    check_choice("plane", plane, ("XY", "YZ", "XZ"))
    return shape.mirror(plane)
