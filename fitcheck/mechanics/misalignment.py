"""Misalignment against what a coupling permits, and the forces and motions that it causes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import degrees, hypot, inf, pi, radians, tan
from types import MappingProxyType

from fitcheck.mechanics.bounds import above_zero, at_least_zero, finite, within

EXPANSION = MappingProxyType({"steel": 11.5e-6, "cast iron": 10.5e-6, "aluminium": 23.5e-6})
"""Coefficient of linear thermal expansion, 1/K, common alloys between 20 and 100 °C (memory)."""


@dataclass(frozen=True, kw_only=True)
class Offsets:
    """Misalignment, or what is permitted of it: parallel and axial in mm, angular in degrees; sizes."""

    parallel_mm: float = 0.0
    angular_deg: float = 0.0
    axial_mm: float = 0.0

    def __post_init__(self) -> None:
        at_least_zero(parallel_mm=self.parallel_mm, angular_deg=self.angular_deg, axial_mm=self.axial_mm)


@dataclass(frozen=True, kw_only=True)
class Usage:
    """Shares of what is permitted.

    Attributes:
        shares: by "parallel", "angular" and "axial"; only the kinds that are present.
        combined: their sum, to be at most 1.
    """

    shares: Mapping[str, float]
    combined: float


def usage(actual: Offsets, permitted: Offsets) -> Usage:
    """Misalignment singly and combined: actual_i/permitted_i, and their sum at most 1.

    Args:
        actual: that the drive has, with tolerances and thermal growth.
        permitted: by the coupling, each alone.

    Returns:
        The shares and their sum; a kind that is present and not permitted at all has an infinite share.

    Raises:
        UsageError: an input is negative.

    Notes:
        The sum of ratios is an assumption, linear and on the safe side; makers' own diagrams prevail.

    Source: common engineering rule (memory); no standard text was seen.
    """
    pairs = {
        "parallel": (actual.parallel_mm, permitted.parallel_mm),
        "angular": (actual.angular_deg, permitted.angular_deg),
        "axial": (actual.axial_mm, permitted.axial_mm),
    }
    shares = {kind: have / limit if limit > 0.0 else inf for kind, (have, limit) in pairs.items() if have > 0.0}
    return Usage(shares=MappingProxyType(shares), combined=sum(shares.values()))


def thermal_growth(length_mm: float, warming: float, expansion: float) -> float:
    """Change of a length by temperature: dL = L alpha dT.

    Args:
        length_mm: of the shaft or screw between its fixed bearing and the coupling.
        warming: K, negative for cooling; of the shaft against the housing when that warms less.
        expansion: 1/K, as `EXPANSION["steel"]`.

    Returns:
        mm, signed.

    Raises:
        UsageError: the length or the coefficient is negative.

    Source: definition; the coefficients are from memory.
    """
    at_least_zero(length_mm=length_mm, expansion=expansion)
    finite(warming=warming)
    return length_mm * expansion * warming


def offset_at(offset_mm: float, tilt_deg: float, distance_mm: float) -> float:
    """Parallel offset of two axes at a place some distance from where their offset is known, tilt at its worst.

    Args:
        offset_mm: known offset, size.
        tilt_deg: angle between the axes, size.
        distance_mm: along the axis from there to the coupling's middle.

    Returns:
        mm: the offset and the tilt's share added.

    Raises:
        UsageError: an input is negative, or the tilt is over 45 degrees.

    Source: geometry (computed).
    """
    at_least_zero(offset_mm=offset_mm, distance_mm=distance_mm)
    within(0.0, 45.0, tilt_deg=tilt_deg)
    return offset_mm + distance_mm * tan(radians(tilt_deg))


def flexing_angle(parallel_mm: float, angular_deg: float, span_mm: float) -> float:
    """Greatest angle in one of the two flexing planes of a double coupling (double disc, double slit, two joints).

    A parallel offset e over the span S between the planes bends both by e/S; the angle between the shafts comes to one
    of them at worst.

    Args:
        parallel_mm: offset of the shafts at the coupling's middle.
        angular_deg: angle between the shafts.
        span_mm: between the flexing planes.

    Returns:
        Degrees.

    Raises:
        UsageError: an offset is negative, or the span is not greater than 0.

    Source: geometry for small angles (computed).
    """
    at_least_zero(parallel_mm=parallel_mm, angular_deg=angular_deg)
    above_zero(span_mm=span_mm)
    return degrees(parallel_mm / span_mm) + angular_deg


@dataclass(frozen=True, kw_only=True)
class Restoring:
    """What a misaligned coupling puts on the shafts: radial and axial force in N, bending moment in N·m."""

    radial_force: float
    axial_force: float
    moment: float


def restoring(
    actual: Offsets,
    radial_stiffness: float | None = None,
    axial_stiffness: float | None = None,
    angular_stiffness: float | None = None,
) -> Restoring:
    """Restoring forces of a flexible coupling, linear in the offsets.

    Args:
        actual: misalignment.
        radial_stiffness: N/mm.
        axial_stiffness: N/mm.
        angular_stiffness: N·m/degree.

    Returns:
        Forces and moment; 0 where a stiffness is not given or the offset is 0.

    Raises:
        UsageError: an input is negative.

    Source: definition of the stiffnesses, Cr, Ca and Cw of DIN 740-2 (memory).
    """
    given = (radial_stiffness or 0.0, axial_stiffness or 0.0, angular_stiffness or 0.0)
    at_least_zero(radial_stiffness=given[0], axial_stiffness=given[1], angular_stiffness=given[2])
    return Restoring(
        radial_force=given[0] * actual.parallel_mm,
        axial_force=given[1] * actual.axial_mm,
        moment=given[2] * actual.angular_deg,
    )


@dataclass(frozen=True, kw_only=True)
class Overhang:
    """A shaft stub from its bearing to the rigid coupling; mm.

    Attributes:
        diameter_mm: of the shaft.
        length_mm: from the bearing's middle to the coupling's face.
        span_mm: between this bearing and the next one on the same shaft, for the bearing force.
    """

    diameter_mm: float
    length_mm: float
    span_mm: float

    def __post_init__(self) -> None:
        above_zero(diameter_mm=self.diameter_mm, length_mm=self.length_mm, span_mm=self.span_mm)


@dataclass(frozen=True, kw_only=True)
class RigidLoad:
    """Bending of two shafts forced together by a rigid coupling.

    Attributes:
        shear: force across both shafts, N.
        moments: at the two inner bearings, N·m.
        bearing_forces: on the bearings next to the coupling, N.
        stresses: bending stress of the shafts at those bearings, Pa; it alternates once in a turn.
    """

    shear: float
    moments: tuple[float, float]
    bearing_forces: tuple[float, float]
    stresses: tuple[float, float]


def rigid_load(
    first: Overhang,
    second: Overhang,
    coupling_length_mm: float,
    parallel_mm: float,
    angular_deg: float = 0.0,
    elastic_modulus: float = 206e9,
) -> RigidLoad:
    """Bearing forces that a rigid coupling causes on misaligned shafts.

    Both shafts are taken as clamped at their inner bearings, and the coupling as not bending; the offset is between
    the axes at the second bearing. With end force F and moment M there, u = F int(x²/EI) + M int(x/EI) and
    phi = F int(x/EI) + M int(1/EI) are solved for the offset and the tilt, the tilt at its worse sign. The inner
    bearing takes the shear and the moment over the span.

    Args:
        first: the motor's stub.
        second: the actuator's stub.
        coupling_length_mm: between the stubs' ends, at least 0.
        parallel_mm: offset, size.
        angular_deg: tilt, size.
        elastic_modulus: of both shafts, Pa; 206 GPa for steel.

    Returns:
        Forces, moments and stresses.

    Raises:
        UsageError: an input is out of its range.

    Notes:
        Upper bound: real bearings tilt and have play, which takes some micrometres of the offset. A single uniform
        beam gives the known F = 12 E I e/L³.

    Source: computed (bending of beams).
    """
    at_least_zero(coupling_length_mm=coupling_length_mm, parallel_mm=parallel_mm)
    above_zero(elastic_modulus=elastic_modulus)
    within(0.0, 45.0, angular_deg=angular_deg)
    near, far = second.length_mm / 1000.0, (second.length_mm + coupling_length_mm) / 1000.0
    length = far + first.length_mm / 1000.0
    bend_1, bend_2 = (elastic_modulus * _second_moment(part.diameter_mm) for part in (first, second))
    a = near**3 / 3.0 / bend_2 + (length**3 - far**3) / 3.0 / bend_1
    b = near**2 / 2.0 / bend_2 + (length**2 - far**2) / 2.0 / bend_1
    c = near / bend_2 + (length - far) / bend_1
    offset = parallel_mm / 1000.0
    tilts = (radians(angular_deg), -radians(angular_deg))
    ends = [((c * offset - b * t) / (a * c - b * b), (a * t - b * offset) / (a * c - b * b)) for t in tilts]
    loads = [_load(first, second, length, shear, moment) for shear, moment in ends]
    return max(loads, key=lambda load: max(load.bearing_forces))


def root_sum_square(*parts: float) -> float:
    """Root of the sum of squares of independent contributions, beside their plain sum as the worst case.

    Raises:
        UsageError: a part is not finite.

    Source: definition (computed).
    """
    finite(**{f"part_{number}": part for number, part in enumerate(parts, start=1)})
    return hypot(*parts)


def _load(first: Overhang, second: Overhang, length: float, shear: float, moment: float) -> RigidLoad:
    moments = (abs(moment + shear * length), abs(moment))
    return RigidLoad(
        shear=abs(shear),
        moments=moments,
        bearing_forces=(
            abs(shear) + moments[0] / (first.span_mm / 1000.0),
            abs(shear) + moments[1] / (second.span_mm / 1000.0),
        ),
        stresses=(
            moments[0] * first.diameter_mm / 2000.0 / _second_moment(first.diameter_mm),
            moments[1] * second.diameter_mm / 2000.0 / _second_moment(second.diameter_mm),
        ),
    )


def _second_moment(diameter_mm: float) -> float:
    return pi / 64.0 * (diameter_mm / 1000.0) ** 4
