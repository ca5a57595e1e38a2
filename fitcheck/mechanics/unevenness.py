"""How unevenly couplings turn: angle errors once and twice a turn, of joints, sliding discs and bending sections.

A universal joint at an angle b turns unevenly; so does an Oldham coupling, whose two slots at right angles ask the same
of the two tongues as a cross asks of its two forks; and a coupling that bends in one or more planes is at worst a row
of such joints (two opposite ligaments are one). Each joint errs by at most `joints.joint_angle_error` twice a turn, so
a row of them errs by at most the sum. Run-out is an angle that turns with the shaft: it adds an error once a turn.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import acos, asin, cos, degrees, radians, tan

from fitcheck.errors import UsageError
from fitcheck.mechanics.bounds import above_zero, at_least_zero, within
from fitcheck.mechanics.joints import GREATEST_JOINT_ANGLE, joint_angle_error

BEAM_BENDS = 3.0
"""Turning of the tangent along an elastic beam bent into an S by an offset e over its length l, in e/l: to 3/2 e/l in
the middle and back (computed: y = e (3 u² - 2 u³), so y' runs from 0 to 3/2 e/l to 0)."""


def row_error(angles_deg: Iterable[float]) -> float:
    """Greatest angle error of joints one behind the other, whatever their phases: the sum of what each errs.

    Args:
        angles_deg: of each joint, 0 to 60.

    Returns:
        Degrees, to either side.

    Raises:
        UsageError: an angle is outside 0 to 60 degrees.

    Source: computed (the turn of the last shaft less that of the first is the sum over the joints).
    """
    return sum(joint_angle_error(angle) for angle in angles_deg)


def runout_error(angle_deg: float, turning_deg: float) -> float:
    """Angle error once a turn, of a joint whose forks are not square to their shafts: at most tan b b_r.

    With the pins of the forks out of square by e and d, the turns a1 and a2 hold
    sin(a1 - a2) + (1 - cos b) cos a1 sin a2 + sin b (d cos a1 + e sin a2) + e d cos b = 0, so to first order in e and d
    the error is at most tan b sqrt(d² + e²), and a constant.

    Args:
        angle_deg: b, between the shafts as they stand, 0 to 60.
        turning_deg: b_r, what turns with both shafts together: bent shaft ends, bores out of square; at least 0.

    Returns:
        Degrees, to either side.

    Raises:
        UsageError: an input is out of its range.

    Source: computed (the pins of the cross stay square to each other).
    """
    within(0.0, GREATEST_JOINT_ANGLE, angle_deg=angle_deg)
    at_least_zero(turning_deg=turning_deg)
    return tan(radians(angle_deg)) * turning_deg


def double_joint_error(first_deg: float, second_deg: float) -> float:
    """Angle error that two universal joints in the right phase leave, all shafts in one plane.

    tan a3 = tan a1 cos b2/cos b1, so both together are one joint of cos b = cos b1/cos b2.

    Args:
        first_deg: angle of one joint, 0 to 60.
        second_deg: angle of the other joint.

    Returns:
        Degrees, to either side; 0 for equal angles.

    Raises:
        UsageError: an angle is outside 0 to 60 degrees.

    Notes:
        With angles out of one plane the error is |b1² - b2²|/4 of the angles as vectors, which for a given difference
        of both is greatest in one plane (computed, small angles).

    Source: computed from `joints.joint_turn`.
    """
    within(0.0, GREATEST_JOINT_ANGLE, first_deg=first_deg, second_deg=second_deg)
    great, small = max(first_deg, second_deg), min(first_deg, second_deg)
    ratio = cos(radians(great)) / cos(radians(small))
    return joint_angle_error(degrees(acos(min(1.0, ratio))))


def bent_angle(parallel_mm: float, angular_deg: float, span_mm: float) -> float:
    """All the bending in a flexing section of some length, as one joint would have to do it, degrees.

    Args:
        parallel_mm: offset of the shafts.
        angular_deg: angle between the shafts.
        span_mm: length of the flexing section.

    Raises:
        UsageError: an input is out of its range.

    Source: computed, see `BEAM_BENDS`.
    """
    at_least_zero(parallel_mm=parallel_mm, angular_deg=angular_deg)
    above_zero(span_mm=span_mm)
    return angular_deg + degrees(BEAM_BENDS * parallel_mm / span_mm)


def lateral_ripple(lateral_stiffness: float, parallel_mm: float) -> float:
    """Torque once a turn by run-out against a standing offset, through a coupling that is stiff across: at most k e²/4.

    A hub's centre that goes round with e_r, and an offset e_s that stands still, press the hubs against each other with
    k |e_s + e_r|; that force has a moment about the shaft of at most k e_s e_r once a turn, and e_s e_r is at most
    (e_s + e_r)²/4.

    Args:
        lateral_stiffness: of the coupling, N/mm.
        parallel_mm: offset with all run-out in it, e_s + e_r.

    Returns:
        N·m, to either side.

    Raises:
        UsageError: an input is negative.

    Source: computed (derivative of the strain energy by the turn).
    """
    at_least_zero(lateral_stiffness=lateral_stiffness, parallel_mm=parallel_mm)
    return lateral_stiffness * parallel_mm**2 / 4.0 / 1000.0


def single_leg_error(parallel_mm: float, radius_mm: float) -> float:
    """Angle error once a turn of shafts out of line by an offset, where one leg alone, at a radius, drove: asin(e/R).

    Args:
        parallel_mm: offset of the shafts.
        radius_mm: at which the leg drives.

    Returns:
        Degrees, to either side.

    Raises:
        UsageError: an input is out of its range, or the offset is not less than the radius.

    Source: computed (a slotted crank). Legs that carry alike, two or more pairs, cancel it.
    """
    at_least_zero(parallel_mm=parallel_mm)
    above_zero(radius_mm=radius_mm)
    if parallel_mm >= radius_mm:
        raise UsageError(f"an offset of {parallel_mm:g} mm leaves no drive at a radius of {radius_mm:g} mm")
    return degrees(asin(parallel_mm / radius_mm))
