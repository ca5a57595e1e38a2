"""Torsional stiffness of rigid and slit couplings estimated from their geometry, where no maker's value is given.

Estimates are for finding out whether stiffness matters, not for certifying; each states its uncertainty.
"""

from __future__ import annotations

from math import pi, sqrt

from fitcheck.errors import UsageError
from fitcheck.mechanics.bounds import Bounds, above_zero, at_least_zero
from fitcheck.mechanics.shafts import torsion_constant

MODULI = {"steel": (206e9, 79.3e9), "stainless steel": (195e9, 75e9), "aluminium": (71e9, 26.5e9)}
"""Young's and shear modulus of coupling bodies, Pa (memory)."""

SHEAR_CORRECTION = 1.2
"""Shear coefficient of a rectangular section (closed form: 6/5)."""


def rigid_stiffness(
    outside_mm: float, bore_mm: float, free_mm: float, gripped_mm: float, shear_modulus: float
) -> Bounds:
    """Torsional stiffness of a rigid sleeve or clamp coupling between its two shafts.

    Args:
        outside_mm: diameter of the sleeve.
        bore_mm: diameter; of unequal bores the greater one.
        free_mm: gap between the shaft ends inside, at least 0.
        gripped_mm: length of one grip.
        shear_modulus: G of the body, Pa.

    Returns:
        N·m/rad. Nominal: a tube from a third of one grip to a third of the other; high: the gap and a third of the
        grips of it; low: half the nominal, for slots that open the tube and for screw bosses.

    Raises:
        UsageError: an input is out of its range.

    Notes:
        Uncertainty a factor of 2 to either side. The tube is stiffer than its shafts by far (the outside diameter
        counts by its fourth power), so the stubs decide.

    Source: tube in torsion (computed); which length counts is common practice, no source.
    """
    at_least_zero(free_mm=free_mm)
    above_zero(gripped_mm=gripped_mm, shear_modulus=shear_modulus)
    length = free_mm + 2.0 / 3.0 * gripped_mm
    nominal = shear_modulus * torsion_constant(outside_mm, bore_mm) / (length / 1000.0)
    return Bounds(low=nominal / 2.0, nominal=nominal, high=nominal * min(2.0, length / (free_mm + gripped_mm / 3.0)))


def helical_slit_stiffness(
    outside_mm: float,
    bore_mm: float,
    beam_mm: float,
    turns: float,
    starts: int,
    elastic_modulus: float,
) -> Bounds:
    """Torsional stiffness of one helical-cut section: beams bent like a torsion spring, k = n E I/(pi D_m N).

    I = b h³/12 with the radial depth h = (D - d)/2 and the axial width b between the cuts, D_m = (D + d)/2.

    Args:
        outside_mm: D of the cut section.
        bore_mm: d of the cut section (the relief bore).
        beam_mm: b, pitch of the cut less its width, of one start.
        turns: N of each beam.
        starts: n, parallel beams.
        elastic_modulus: E, Pa.

    Returns:
        N·m/rad, low and high a factor of 2 about the nominal: the ends of the beams clamp them shorter, and thick
        beams are stiffer inside than a thin one. Two sections are put in series.

    Raises:
        UsageError: an input is out of its range.

    Source: bending of the torsion spring, k = E I/length (closed form, memory); the factor is common practice, no
    source.
    """
    depth, mean = _ring(outside_mm, bore_mm)
    above_zero(beam_mm=beam_mm, turns=turns, starts=starts, elastic_modulus=elastic_modulus)
    bending = elastic_modulus * (beam_mm / 1000.0) * depth**3 / 12.0
    return _within_factor(starts * bending / (2.0 * pi * mean * turns), 2.0)


def radial_slit_stiffness(
    outside_mm: float,
    bore_mm: float,
    ring_mm: float,
    slit_mm: float,
    ligament_mm: float,
    slits: int,
    elastic_modulus: float,
    shear_modulus: float,
) -> Bounds:
    """Torsional stiffness of a section with radial slits: rings between slits, joined by two ligaments at each slit.

    Neighbouring slits are turned by a quarter. A ring takes the torque from two ligaments (force F = T/(2 R) each) and
    gives it to two a quarter further on. With F/sqrt(2) as the ring force half way between, bending, stretch and shear
    of the eight half quarters give the ring's give by Castigliano's theorem; the ligaments shear.

    Args:
        outside_mm: D.
        bore_mm: d.
        ring_mm: axial thickness of the rings between slits.
        slit_mm: width of a slit along the axis.
        ligament_mm: width of a ligament along the circumference.
        slits: number, at least 1.
        elastic_modulus: E, Pa.
        shear_modulus: G, Pa.

    Returns:
        N·m/rad, low and high a factor of 3 about the nominal: the rings are thick for beam theory and warp out of
        their plane, which this leaves out.

    Raises:
        UsageError: an input is out of its range.

    Source: computed (energy of a ring in its plane); the factor is common practice, no source.
    """
    depth, mean = _ring(outside_mm, bore_mm)
    above_zero(
        ring_mm=ring_mm, slit_mm=slit_mm, ligament_mm=ligament_mm, slits=slits, elastic_modulus=elastic_modulus,
        shear_modulus=shear_modulus,
    )  # fmt: skip
    ring = ring_give(mean, depth, ring_mm / 1000.0, elastic_modulus, shear_modulus)
    shear = slit_mm / 1000.0 * SHEAR_CORRECTION / (shear_modulus * depth * ligament_mm / 1000.0)
    ligaments = shear / (2.0 * mean**2)
    return _within_factor(1.0 / (slits * ligaments + (slits - 1) * ring), 3.0)


def ring_give(radius: float, depth: float, width: float, elastic_modulus: float, shear_modulus: float) -> float:
    """Twist for a torque of a ring loaded by two tangential forces and held by two a quarter turn further on.

    With N0 = F/sqrt(2), M0 = -N0 R (1 - cos 45°) half way between the forces: N = N0 cos p, V = N0 sin p,
    M = M0 + N0 R (1 - cos p), and the energy 8 int(M²/2EI + N²/2EA + 1.2 V²/2GA) R dp from 0 to 45°.

    Args:
        radius: of the middle line, m.
        depth: radial, m.
        width: axial, m.
        elastic_modulus: E, Pa.
        shear_modulus: G, Pa.

    Returns:
        rad/(N·m).

    Raises:
        UsageError: an input is not greater than 0.

    Source: computed (Castigliano's theorem).
    """
    above_zero(
        radius=radius, depth=depth, width=width, elastic_modulus=elastic_modulus, shear_modulus=shear_modulus
    )  # fmt: skip
    area, second = depth * width, width * depth**3 / 12.0
    quarter, root = pi / 4.0, sqrt(0.5)
    squares_cos, squares_sin = quarter / 2.0 + 0.25, quarter / 2.0 - 0.25
    # int (cos 45° - cos p)² dp from 0 to 45°
    bend = quarter / 2.0 - 2.0 * root * root + squares_cos
    force = root / (2.0 * radius)  # N0 for a torque of 1 N·m
    energy = 8.0 * (
        (force * radius) ** 2 * bend / (2.0 * elastic_modulus * second)
        + force**2 * squares_cos / (2.0 * elastic_modulus * area)
        + SHEAR_CORRECTION * force**2 * squares_sin / (2.0 * shear_modulus * area)
    )  # fmt: skip
    return 2.0 * energy * radius


def _ring(outside_mm: float, bore_mm: float) -> tuple[float, float]:
    above_zero(outside_mm=outside_mm, bore_mm=bore_mm)
    if bore_mm >= outside_mm:
        raise UsageError(f"a bore of {bore_mm:g} mm leaves nothing of a coupling of {outside_mm:g} mm")
    return (outside_mm - bore_mm) / 2000.0, (outside_mm + bore_mm) / 4000.0


def _within_factor(nominal: float, factor: float) -> Bounds:
    return Bounds(low=nominal / factor, nominal=nominal, high=nominal * factor)
