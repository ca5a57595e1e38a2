"""A vertical drive whose answers the tests derive by hand; geometry as far as the mechanics look at it."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from fitcheck.checks.drive import drive_of
from fitcheck.checks.run import WORK, run_checks
from fitcheck.job.load import parse_job
from fitcheck.measurement.model import AxisLine, Body, Coaxiality, End, Measurement, Pilot

JOB = """\
step: z.step
motor:
  register: {diameter: 38, height: 2, tolerance: h7}
  shaft: {diameter: 8, tolerance: h6, length: 21}
  bearings: {distance: 8, span: 50, radial_load: 75}
actuator:
  register: {diameter: 36, height: 2, tolerance: h7}
  shaft: {diameter: 10, tolerance: h6, length: 21}
  bearings: {distance: 10, span: 40, radial_load: 90}
coupling:
  family: double slit
  outside_diameter: 32
  length: 40
  ratings:
    nominal_torque: 5
    maximum_torque: 10
    maximum_speed: 6000
    torsional_stiffness: 400
    inertia: 1.2e-5
    parallel: 0.3
    angular: 3
    axial: 0.4
  hubs:
    motor:
      bore: 8
      bore_tolerance: H7
      bore_length: 13
      holding: {hinge: 13.5}
      screws: [{size: M3, station: 5, offset: 9, property_class: "12.9", tightening_torque: 1.8}]
    actuator:
      bore: 10
      bore_tolerance: H7
      bore_length: 13
      holding: {hinge: 13.5}
      screws: [{size: M3, station: 5, offset: 9, property_class: "12.9", tightening_torque: 1.8}]
drive:
  screw:
    lead: 5
    diameter: 12
    length: 350
    moving_mass: 6
    incline: 90
    nut_preload: 100
    moves: [{stroke: 250, speed: 150, acceleration: 1500, pause: 1}]
  motor: {inertia: 4.8e-5, peak_torque: 0.9, top_speed: 2400}
  asked: {repeatability: 20 um, bandwidth: 60, kept_free: [40, 120]}
"""


def pilot(diameter, station):
    return Pilot(diameter=diameter, depth=2.5, origin=(0.0, 0.0, station), direction=(0.0, 0.0, 1.0))


def measurement(**given):
    ends = (
        End(role="motor", seat=0.0, pilot=pilot(38.02, 0.0)),
        End(role="actuator", seat=58.0, pilot=pilot(36.02, 58.0)),
    )
    return Measurement(
        **{
            "file": "z.step", "sha256": "0" * 64, "file_unit": "mm",
            "bodies": (Body(name="adapter", role="adapter", volume=1.0),),
            "drive_axis": AxisLine(origin=(0.0, 0.0, 0.0), direction=(0.0, 0.0, 1.0), across=(1.0, 0.0, 0.0)),
            "ends": ends, "coaxiality": Coaxiality(offset=0.0, tilt=0.0), "free_radius": None, "cylinders": (), **given,
        }
    )  # fmt: skip


def job(*changes, text=JOB):
    """The demo job with parts of its text replaced; each part must be there."""
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    return parse_job(text, "z.fit.yaml", "")


def work(loaded, taken=None):
    """The findings of the mechanics, by check and subject."""
    found = run_checks(loaded, taken or measurement(), remedies=False)
    return {(f.check, f.subject): f for f in found if f.check in WORK}


def context(loaded, taken=None):
    return drive_of(loaded, taken or measurement(), remedies=False)


@pytest.fixture(scope="session")
def build():
    return SimpleNamespace(job=job, work=work, context=context, measurement=measurement, text=JOB)
