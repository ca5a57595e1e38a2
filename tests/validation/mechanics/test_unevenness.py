"""Uneven turning out of line: bounds and closed forms against the mechanisms' constraints, solved by vectors."""

from __future__ import annotations

from math import atan2, cos, degrees, pi, radians, sin, tan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from fitcheck.errors import UsageError
from fitcheck.mechanics.joints import joint_angle_error
from fitcheck.mechanics.unevenness import (
    bent_angle,
    double_joint_error,
    lateral_ripple,
    row_error,
    runout_error,
    single_leg_error,
)

TURNS = np.linspace(0.0, 2 * pi, 181)


def about(axis: np.ndarray, angle: float) -> np.ndarray:
    """Rotation by an angle about a unit vector (Rodrigues)."""
    x, y, z = axis
    cross = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    return np.eye(3) + sin(angle) * cross + (1 - cos(angle)) * cross @ cross


def row_of_joints(bends: list[tuple[float, float]], phases: list[float]) -> np.ndarray:
    """Turn of the last shaft less that of the first over a turn, rad, for joints that bend by (angle, direction).

    Each cross keeps its pins square: the driven fork's pin is the common normal of its shaft and the driving pin.
    """
    errors = []
    for turn in TURNS:
        frame, angle = np.eye(3), turn  # columns across, across, along; carried on without twist
        for (bend, direction), phase in zip(bends, phases, strict=True):
            pin = frame @ np.array([cos(angle + phase), sin(angle + phase), 0.0])
            frame = about(frame @ np.array([-sin(direction), cos(direction), 0.0]), bend) @ frame
            driven = frame.T @ np.cross(frame[:, 2], pin)
            angle += ((atan2(driven[1], driven[0]) - pi / 2 - phase) - angle + pi) % (2 * pi) - pi
        errors.append(angle - turn)
    return np.unwrap(errors)


@given(
    bends=st.lists(st.tuples(st.floats(0.0, 0.3), st.floats(0, 2 * pi)), min_size=1, max_size=5),
    phases=st.lists(st.floats(0, pi), min_size=5, max_size=5),
)
@settings(max_examples=25, deadline=None)
def test_a_row_of_joints_never_errs_more_than_their_sum(bends, phases):
    errors = row_of_joints(bends, phases[: len(bends)])
    half = (errors.max() - errors.min()) / 2
    assert degrees(half) <= row_error(degrees(bend) for bend, _ in bends) * (1 + 1e-9) + 1e-9
    # Bending cut into more joints errs less than one joint that does it all.
    whole = min(60.0, degrees(sum(bend for bend, _ in bends)))
    assert row_error(degrees(bend) for bend, _ in bends) <= joint_angle_error(whole) * (1 + 1e-9) + 1e-12


def test_a_single_joint_in_the_row_is_the_textbook_one():
    errors = row_of_joints([(radians(20), 0.7)], [0.3])
    assert degrees(errors.max() - errors.min()) / 2 == pytest.approx(joint_angle_error(20.0), rel=1e-3)


@pytest.mark.parametrize(("first", "second"), [(12.0, 7.0), (7.0, 12.0), (25.0, 25.0), (9.0, 0.0)])
def test_two_joints_in_the_right_phase(first, second):
    # A Z of shafts in one plane: the bends are opposite; the intermediate shaft's forks lie in one plane.
    errors = row_of_joints([(radians(first), 0.0), (radians(second), pi)], [0.0, pi / 2])
    half = degrees(errors.max() - errors.min()) / 2
    assert half == pytest.approx(double_joint_error(first, second), rel=1e-3, abs=1e-9)


@given(
    bend=st.floats(0.001, 0.5), driving=st.floats(-0.02, 0.02), driven=st.floats(-0.02, 0.02)
)  # fmt: skip
@settings(max_examples=25, deadline=None)
def test_pins_out_of_square_err_once_a_turn(bend, driving, driven):
    def lead(turn, e, d):  # of the driven shaft, bent about the y axis, at which both pins are square to each other
        def scalar(ahead):
            first = np.array([cos(turn), sin(turn), e])
            second = about(np.array([0.0, 1.0, 0.0]), bend) @ np.array([-sin(turn + ahead), cos(turn + ahead), d])
            return float(first @ second)

        return brentq(scalar, -0.6, 0.6)

    added = np.array([lead(turn, driving, driven) - lead(turn, 0.0, 0.0) for turn in TURNS])
    half = (added.max() - added.min()) / 2
    turning = degrees(np.hypot(driving, driven))
    second_order = 2 * (driving**2 + driven**2) / cos(bend)
    assert half <= radians(runout_error(degrees(bend), turning)) + second_order + 1e-12
    if max(abs(driving), abs(driven)) > 0.005:
        assert half >= 0.5 * sin(bend) * radians(turning) - second_order  # the bound is not far off


def test_bending_of_a_beam_into_an_s():
    # y = e (3 u² - 2 u³) joins two shafts out of line; all the turning of its tangent is twice its greatest slope.
    offset, span = 0.3, 15.0
    along = np.linspace(0, 1, 20001)
    slope = np.gradient(offset * (3 * along**2 - 2 * along**3), along * span)
    assert radians(bent_angle(offset, 0.0, span)) == pytest.approx(np.abs(np.diff(slope)).sum(), rel=1e-3)
    assert bent_angle(0.0, 1.5, span) == 1.5
    with pytest.raises(UsageError, match="span_mm must be greater than 0; found 0"):
        bent_angle(0.1, 0.1, 0.0)


@given(standing=st.floats(0.0, 0.3), turning=st.floats(0.0, 0.3))
def test_lateral_ripple_is_the_slope_of_the_strain_energy(standing, turning):
    stiffness = 250.0  # N/mm

    def energy(turn):  # N·mm
        return 0.5 * stiffness * ((standing + turning * cos(turn)) ** 2 + (turning * sin(turn)) ** 2)

    steps = np.linspace(0, 2 * pi, 721)
    torque = np.abs([(energy(t + 1e-4) - energy(t - 1e-4)) / 2e-4 for t in steps]).max() / 1000.0
    assert torque <= lateral_ripple(stiffness, standing + turning) * (1 + 1e-6) + 1e-9
    if standing == turning:
        assert torque == pytest.approx(lateral_ripple(stiffness, standing + turning), rel=1e-3, abs=1e-9)


def test_one_leg_alone_is_a_slotted_crank():
    # A pin at R on the one shaft drives a radial slot of the other, e beside it.
    offset, radius = 0.4, 9.0
    differences = [atan2(radius * sin(t), radius * cos(t) + offset) - t for t in TURNS[1:-1]]
    found = np.abs((np.array(differences) + pi) % (2 * pi) - pi).max()
    assert degrees(found) == pytest.approx(single_leg_error(offset, radius), rel=1e-3)
    with pytest.raises(UsageError, match="an offset of 9 mm leaves no drive at a radius of 9 mm"):
        single_leg_error(9.0, 9.0)


def test_runout_grows_with_the_tangent():
    assert runout_error(30.0, 0.1) == pytest.approx(0.1 * tan(radians(30)))
    with pytest.raises(UsageError, match="angle_deg must be between 0 and 60; found 61"):
        runout_error(61.0, 0.1)
