"""One job of the demo scenario that gives nearly every key, and a minimal one."""

from __future__ import annotations

import pytest

FULL = """\
# Z drive of the soil-core gantry
step: z-adapter.step
title: "Soil-core gantry, Z drive"
bodies:
  adapter: bracket*
  ignore: [bolt*, "washer ?"]
axis: {near: [0, 0, 1.5 in]}
motor:
  frame: NEMA 23
  shaft:
    diameter: 0.25 in
    tolerance: h6
    length: 20.6
    chamfer: 0.5
    flat: {length: 15, height: 5.8}
actuator:
  seat: 52
  register: {diameter: 28, height: 2, tolerance: h7}
  bolts: {layout: rectangle, size: [40, 60], count: 4, screw: M4}
  shaft:
    diameter: 8
    length: 22
    keyseat: {width: 2, depth: 1.2, length: 12, from_end: 1}
coupling:
  name: jaw 30 x 42
  family: jaw
  outside_diameter: 30
  length: 42
  hubs:
    motor:
      bore: 6.35
      bore_tolerance: H7
      bore_length: 12
      insertion_limit: 13
      fastening: clamp
      screws:
        - {size: M3, station: 4.5, offset: 8, angle: 0.5 rad, head_end: 13.4}
    actuator:
      bore: 8
      bore_length: 12
      length: 14
      fastening: set screw
      screws:
        - size: M4
          kind: set screw
          station: 6
          angle: 90 deg
place:
  motor_hub_face: 8.5
require:
  radial_clearance: 0.02 in
  tools: [hex key, bit in holder]
  checks: [insertion, shaft-gap]
"""

MINIMAL = """\
step: z-adapter.step
coupling:
  family: jaw
  outside_diameter: 30
  length: 42
  hubs:
    motor: {bore: 8, bore_length: 12}
    actuator: {bore: 10, bore_length: 12}
"""


@pytest.fixture(scope="session")
def full() -> str:
    return FULL


@pytest.fixture(scope="session")
def minimal() -> str:
    return MINIMAL
