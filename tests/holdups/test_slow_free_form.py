"""Free-form faces near the drive axis took minutes: every facet of a fine mesh was compared with every other.

The facets are reduced to their lower envelope. Held here against brute force over all facets, and on a chamber whose
wall is an elliptic cylinder, which is no analytic surface of the kernel.
"""

from __future__ import annotations

import cadquery as cq
import numpy as np
import pytest

from fitcheck.measurement.meshed import STRAIGHT, reduced
from fitcheck.measurement.obstacles import Obstacles, least_radius
from parametric_models.adapters import Holes, Housing, Seat, housing

SEAT = Seat(
    pilot_diameter=38.0, pilot_depth=2.5, opening_diameter=25.0, opening_length=3.0,
    holes=(Holes(layout="square", size=(47.14,), diameter=4.5, depth=10.0),),
)  # fmt: skip


def as_obstacles(segments):
    none = np.zeros(0)
    return Obstacles(
        segments=segments, segment_bound=np.zeros(len(segments)), segment_body=np.zeros(len(segments), dtype=np.int32),
        triangles=np.zeros((0, 3, 3)), triangle_bound=none, triangle_body=none.astype(np.int32),
    )  # fmt: skip


def least_of_facets(triangles, start, stop):
    """The least radius in a slab by brute force: facets cut into 1830 points each."""
    n = 60
    i, j = (grid.ravel() for grid in np.meshgrid(np.arange(n + 1), np.arange(n + 1)))
    weights = np.stack([i, j, n - i - j], axis=1)[i + j <= n] / n
    points = np.einsum("wc,tcx->twx", weights, triangles).reshape(-1, 3)
    inside = points[(points[:, 0] >= start) & (points[:, 0] <= stop)]
    return np.hypot(inside[:, 1], inside[:, 2]).min() if len(inside) else np.inf


@pytest.mark.parametrize("seed", range(8))
def test_the_envelope_is_never_farther_than_any_facet(seed):
    rng = np.random.default_rng(seed)
    centre = np.stack([rng.uniform(0, 30, 60), rng.uniform(-15, 15, 60), rng.uniform(-15, 15, 60)], axis=1)
    triangles = centre[:, None, :] + rng.uniform(-2, 2, (60, 3, 3))
    triangles[0, :, 0] = 7.0
    found = as_obstacles(reduced(triangles))
    for _ in range(20):
        start = rng.uniform(0, 28)
        stop = start + rng.choice([0.5, 2.0, 10.0])
        near = least_of_facets(triangles, start, stop)
        here = least_radius(found, start, stop).radius
        assert here <= near + 1e-9
        # Brute force looks every 1/60 of a facet; a facet is at most 7 mm long.
        assert np.isinf(near) or here >= near - 0.12 - 2 * STRAIGHT


def test_an_elliptic_chamber(measured):
    # Half axes 17 and 13; away from the openings the free radius is the short half axis.
    body = housing(Housing(length=60.0, size=62.0, chamber_diameter=25.0, motor=SEAT, actuator=SEAT))
    wall = cq.Workplane("XY").ellipse(17, 13).extrude(40).translate((0, 0, 10)).val()
    found = measured(body.cut(wall).clean().Solids()[0])
    for start, stop in [(11.0, 49.0), (20.0, 20.001), (30.0, 31.0)]:
        radius = least_radius(found.obstacles, start, stop).radius
        # Twice the bound of free-form faces, 2 um, and what joining the facets takes; never optimistic.
        assert 13.0 - 4.2e-3 <= radius <= 13.0 + 1e-6
    assert len(found.obstacles.segments) < 200
