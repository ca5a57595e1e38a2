"""Fixtures that several rooms' tests share: one kernel worker, measurements of shapes, and witnesses from outside."""

from __future__ import annotations

import math
import os
from pathlib import Path

import pytest


@pytest.fixture(scope="session", autouse=True)
def _no_cache_of_the_user(tmp_path_factory):
    """Measurements made in tests are kept apart from the user's own; a test of the cache names its own folder."""
    before = os.environ.get("FITCHECK_CACHE")
    os.environ["FITCHECK_CACHE"] = str(tmp_path_factory.mktemp("cache"))
    yield
    if before is None:
        del os.environ["FITCHECK_CACHE"]
    else:
        os.environ["FITCHECK_CACHE"] = before


@pytest.fixture(scope="session")
def kernel():
    """One kernel worker for the whole run."""
    from fitcheck.kernel.client import Kernel

    with Kernel(time_limit=120.0) as client:
        yield client


@pytest.fixture(scope="session")
def measured(kernel, tmp_path_factory):
    """Measures a CadQuery shape or assembly by way of a STEP file: `measured(shape, options=None, unit="mm")`."""
    from fitcheck.measurement.measure import measure_file
    from parametric_models.step_files import write_step

    folder = tmp_path_factory.mktemp("measured")

    def measure(model, options=None, *, name="part", **writing):
        path = folder / f"{name}.step"
        write_step(path, model, **writing)
        return measure_file(str(path), options, kernel)

    return measure


@pytest.fixture(scope="session")
def exact_radius():
    """The CAD kernel's own least distance of a shape from an axis between two stations.

    The shape is cut to the slab of stations by a boolean, and `BRepExtrema_DistShapeShape` gives the distance of the
    axis' segment. It is never less than the true distance, as it names two real points; on tori and B-splines it may
    miss the nearest pair.
    """
    import cadquery as cq
    import numpy as np
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Common
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge
    from OCP.BRepExtrema import BRepExtrema_DistShapeShape
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt

    def distance(shape, axis, start, stop, reach=500.0):
        origin, along = np.array(axis.origin), np.array(axis.direction)
        low, high = gp_Pnt(*(origin + start * along)), gp_Pnt(*(origin + stop * along))
        slab = BRepPrimAPI_MakeCylinder(gp_Ax2(low, gp_Dir(*along)), reach, stop - start).Shape()
        piece = BRepAlgoAPI_Common(shape.wrapped, slab).Shape()
        if not cq.Shape.cast(piece).Faces():
            return math.inf
        return BRepExtrema_DistShapeShape(BRepBuilderAPI_MakeEdge(low, high).Edge(), piece).Value()

    return distance


@pytest.fixture(scope="session")
def distance_to():
    """The CAD kernel's distance of a point from a shape: `distance_to(shape, point)`, mm."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeVertex
    from OCP.BRepExtrema import BRepExtrema_DistShapeShape
    from OCP.gp import gp_Pnt

    def distance(shape, point):
        vertex = BRepBuilderAPI_MakeVertex(gp_Pnt(*point)).Vertex()
        return BRepExtrema_DistShapeShape(vertex, shape.wrapped).Value()

    return distance


@pytest.fixture(scope="session")
def checked_samples():
    """The result of every sample job, made once for all tests that look at it."""
    from fitcheck.api import check_many

    return check_many(Path(__file__).parents[1] / "sample_assemblies")
