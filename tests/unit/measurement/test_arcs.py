"""Arcs that lean against the drive axis: read along the polyline, the distance from the axis is the circle's own."""

import math

import numpy as np
import pytest

from fitcheck.measurement.arcs import followed_arc
from fitcheck.measurement.leaning import TURNING, followed

CHORD = 2e-4


def leaning_circle(seed: int):
    """A random circle in the axis frame (centre, radius times its directions) and its stops."""
    rng = np.random.default_rng(seed)
    x = rng.normal(size=3)
    y = rng.normal(size=3)
    x /= np.linalg.norm(x)
    y -= x * (x @ y)
    y /= np.linalg.norm(y)
    radius = rng.uniform(0.5, 30.0)
    first = rng.uniform(-7.0, 7.0)
    last = first + rng.uniform(0.1, 2.0 * math.pi)
    top = math.atan2(y[0], x[0])
    turns = sorted((top + k * math.pi - first) % (2.0 * math.pi) + first for k in (0, 1))
    stops = [first, *(t for t in turns if first < t < last), last]
    centre = rng.uniform(-40.0, 40.0, 3)
    return tuple(centre), tuple(radius * x), tuple(radius * y), stops


@pytest.mark.parametrize("seed", range(40))
def test_the_distance_read_along_the_line_is_the_circles(seed):
    centre, x, y, stops = leaning_circle(seed)
    lines = followed_arc(centre, x, y, stops, CHORD)
    assert len(lines) == len(stops) - 1
    for line, low, high in zip(lines, stops, stops[1:], strict=False):
        points = np.array(line)
        u = np.linspace(low, high, 2001)
        true = np.array(centre) + np.outer(np.cos(u), x) + np.outer(np.sin(u), y)
        assert points[0] == pytest.approx(true[0], abs=1e-9)
        assert points[-1] == pytest.approx(true[-1], abs=1e-9)
        order = np.argsort(points[:, 0])
        station, across = points[order, 0], points[order, 1:]
        read = np.hypot(*(np.interp(true[:, 0], station, across[:, k]) for k in (0, 1)))
        # Within TURNING of the station where the arc turns back, it runs across: what is read there stands 1 nm beside.
        beside = (true[:, 0] - station[0] > TURNING) & (station[-1] - true[:, 0] > TURNING)
        assert np.abs(read - np.hypot(true[:, 1], true[:, 2]))[beside].max(initial=0.0) <= CHORD


@pytest.mark.parametrize("seed", range(10))
def test_it_is_the_line_that_chord_by_chord_comes_out(seed):
    centre, x, y, stops = leaning_circle(seed)

    def at(u: float):
        return tuple(c + math.cos(u) * a + math.sin(u) * b for c, a, b in zip(centre, x, y, strict=True))

    for line, low, high in zip(followed_arc(centre, x, y, stops, CHORD), stops, stops[1:], strict=False):
        one_by_one = followed(at, low, high, at(low), at(high), CHORD)
        assert np.array(line) == pytest.approx(np.array(one_by_one), abs=1e-9)
