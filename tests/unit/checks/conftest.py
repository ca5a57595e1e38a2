"""A drive built from plain numbers: measurements and jobs whose answers the tests derive by hand.

The demo drive: motor seat at station 0, motor shaft 8 mm to station 24, actuator seat at 60, actuator shaft 8 mm to
station 40, a chamber of radius 20, a coupling of 30 mm diameter and 34 mm length, so it sits from 15 to 49.
"""

from __future__ import annotations

import itertools
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from fitcheck.checks.drive import drive_of
from fitcheck.job import model as jobs
from fitcheck.measurement import model as measured
from fitcheck.measurement.obstacles import Obstacles


def quad(a, b, c, d):
    return [(a, b, c), (a, c, d)]


def wall(radius, start, stop, sides=48, window=None):
    """Triangles of a polygonal tube with its corners at `radius`; `window` (degrees from, to, start, stop) is cut out.

    The window's edges are corners of the polygon, so at an edge angle the wall is exactly at `radius`.
    """
    angles = list(np.linspace(0.0, 360.0, sides + 1))
    stations = [start, stop]
    if window is not None:
        angles = sorted({*angles, window[0], window[1]})
        stations = sorted({start, stop, window[2], window[3]})
    found = []
    for s0, s1 in itertools.pairwise(stations):
        for t0, t1 in itertools.pairwise(angles):
            middle = 0.5 * (t0 + t1)
            if window and window[0] < middle < window[1] and window[2] <= s0 and s1 <= window[3]:
                continue
            c0, d0, c1, d1 = (f(np.radians(t)) * radius for t in (t0, t1) for f in (np.cos, np.sin))
            found += quad((s0, c0, d0), (s0, c1, d1), (s1, c1, d1), (s1, c0, d0))
    return found


def ring(station, inner, outer, sides=48):
    """Triangles of a flat ring across the axis."""
    found = []
    angles = np.radians(np.linspace(0.0, 360.0, sides + 1))
    for t0, t1 in itertools.pairwise(angles):
        corners = [
            (station, r * np.cos(t), r * np.sin(t)) for r, t in ((inner, t0), (outer, t0), (outer, t1), (inner, t1))
        ]
        found += quad(*corners)
    return found


def line(radius, start, stop, angle=0.0, to_radius=None):
    """A segment at an angle, at one radius or falling to another."""
    last = radius if to_radius is None else to_radius
    c, d = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    return ((start, radius * c, radius * d), (stop, last * c, last * d))


def obstacles(segments=(), triangles=(), bound=0.0, segment_body=None, triangle_body=None):
    n, m = len(segments), len(triangles)
    return Obstacles(
        segments=np.array(segments, dtype=float).reshape(n, 2, 3),
        segment_bound=np.zeros(n),
        segment_body=np.array(segment_body if segment_body is not None else [0] * n, dtype=np.int32),
        triangles=np.array(triangles, dtype=float).reshape(m, 3, 3),
        triangle_bound=np.full(m, bound),
        triangle_body=np.array(triangle_body if triangle_body is not None else [0] * m, dtype=np.int32),
    )


AXIS = measured.AxisLine(origin=(0.0, 0.0, 0.0), direction=(0.0, 0.0, 1.0), across=(1.0, 0.0, 0.0))


def end(role, seat, **given):
    return measured.End(role=role, seat=seat, **given)


def measurement(material=None, ends=None, bodies=("adapter",), **given):
    """A measurement of bodies named as their roles."""
    if ends is None:
        ends = (end("motor", 0.0), end("actuator", 60.0))
    if material is None:
        material = obstacles([line(20.0, 0.0, 60.0, a) for a in (0, 90, 180, 270)], wall(20.0, 0.0, 60.0))
    given.setdefault("coaxiality", measured.Coaxiality(offset=0.0, tilt=0.0))
    return measured.Measurement(
        file="z-adapter.step",
        sha256="0" * 64,
        file_unit="mm",
        bodies=tuple(measured.Body(name=name, role=name, volume=1.0) for name in bodies),
        drive_axis=AXIS,
        ends=ends,
        free_radius=None,
        cylinders=(),
        obstacles=material,
        **given,
    )


def screw(**given):
    return jobs.Screw(**{"size": "M3", "station": 6.0, "offset": 9.0, "head_end": 10.0, **given})


def hub(**given):
    return jobs.Hub(**{"bore": 8.0, "bore_tolerance": "H7", "bore_length": 12.0, **given})


def job(motor_hub=None, actuator_hub=None, motor=None, actuator=None, place=None, require=None, **coupling):
    """The demo job; groups given replace single fields of it."""
    hubs = jobs.Hubs(motor=hub(**(motor_hub or {})), actuator=hub(**(actuator_hub or {})))
    shafts = {
        "motor": {"shaft": jobs.Shaft(diameter=8.0, tolerance="h6", length=24.0), **(motor or {})},
        "actuator": {"shaft": jobs.Shaft(diameter=8.0, tolerance="h6", length=20.0), **(actuator or {})},
    }
    made = jobs.Job(
        step="z-adapter.step",
        motor=jobs.Machine(**shafts["motor"]),
        actuator=jobs.Machine(**shafts["actuator"]),
        coupling=jobs.Coupling(**{"family": "jaw", "outside_diameter": 30.0, "length": 34.0, "hubs": hubs, **coupling}),
        place=jobs.Place(**(place or {})),
        require=jobs.Require(**(require or {})),
    )
    return jobs.LoadedJob(job=made, file=None, step_path="z-adapter.step", lines={}, defaults=())


def drive(loaded=None, taken=None, remedies=True):
    return drive_of(loaded or job(), taken or measurement(), remedies=remedies)


def one(findings, subject=None):
    """The only finding, or the only one of a subject."""
    chosen = [f for f in findings if subject is None or f.subject == subject]
    assert len(chosen) == 1, [f.subject for f in findings]
    return chosen[0]


@pytest.fixture(scope="session")
def build():
    return SimpleNamespace(
        wall=wall, ring=ring, line=line, obstacles=obstacles, measurement=measurement, end=end, screw=screw, hub=hub,
        job=job, drive=drive, one=one, quad=quad, replace=replace, jobs=jobs, measured=measured,
    )  # fmt: skip
