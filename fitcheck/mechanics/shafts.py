"""Torsion of shafts: stress and stiffness, round, with a flat, with a keyseat; wind-up of a shaft stub."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi, sqrt

from fitcheck.errors import UsageError
from fitcheck.mechanics.bounds import above_zero, at_least_zero, within

SHEAR_MODULUS_STEEL = 79.3e9
"""Pa, plain and alloy steels (memory); printed values lie between 77 and 82 GPa (read)."""

KEYSEAT_CONCENTRATION = 3.0
"""Rise of the torsional stress at the bottom corner of an end-milled keyseat, first estimate of Shigley, table 7-1,
fillet 0.02 d (memory), on the nominal stress of the full shaft."""

KEYED_SHAFT_STRESS = 40e6
"""Pa; allowed shear stress of shafts of plain carbon steel with keyseats, a textbook value (memory)."""

PLAIN_SHAFT_STRESS = KEYED_SHAFT_STRESS / 0.75
"""Pa; the same without keyseats: the ASME code of shafts takes 25 % off for keyseats (read in two accounts of it)."""

GRIP_SHARE = 1.0 / 3.0
"""Share of the gripped length that still winds up: 1/3, the mean angle of a shaft whose torque falls linearly along the
grip (computed); that a clamp hub takes the torque so is common practice, no source."""

ROUNDING = 1e-12
"""Slack of the ranges of the fits, for ratios such as 3/10."""


def torsion_constant(diameter_mm: float, bore_mm: float = 0.0) -> float:
    """Polar moment of a round shaft: J = pi (D⁴ - d⁴)/32.

    Args:
        diameter_mm: outside diameter D.
        bore_mm: inside diameter d of a hollow shaft.

    Returns:
        m⁴.

    Raises:
        UsageError: the diameter is not greater than 0, or the bore is not smaller.

    Source: closed form (computed); Brown University, ENGN0310 notes SP1, uses it (read).
    """
    above_zero(diameter_mm=diameter_mm)
    at_least_zero(bore_mm=bore_mm)
    if bore_mm >= diameter_mm:
        raise UsageError(f"a bore of {bore_mm:g} mm leaves nothing of a shaft of {diameter_mm:g} mm")
    return pi / 32.0 * ((diameter_mm / 1000.0) ** 4 - (bore_mm / 1000.0) ** 4)


def flat_torsion_share(diameter_mm: float, flat_height_mm: float) -> float:
    """Share of the round shaft's torsion constant that a flat leaves.

    With a = (d - h)/d: 1 - 3.5270 a^1.5 - 2.7414 a² + 6.5575 a^2.5.

    Args:
        diameter_mm: d.
        flat_height_mm: h from the flat to the opposite side, 0.7 d to d.

    Returns:
        A share.

    Raises:
        UsageError: the flat is deeper than 0.3 d, or its height is over d.

    Source: computed: fit to Saint-Venant's torsion solved by finite differences (400 steps over the diameter, nine
    depths); the fit is within 0.0003 of them, they within 0.00002 of a grid half as fine. A handbook polynomial from
    memory agrees to 2 %.
    """
    cut = _cut(diameter_mm, flat_height_mm)
    return 1.0 - 3.5270 * cut * sqrt(cut) - 2.7414 * cut**2 + 6.5575 * cut**2 * sqrt(cut)


def keyseat_torsion_share(diameter_mm: float, width_mm: float, depth_mm: float) -> float:
    """Share of the round shaft's torsion constant that a keyseat with sharp corners leaves.

    With b and t over d: 1 + t (-0.0181 - 2.5366 b + 2.3827 b² - 5.2173 t - 1.1985 b t + 9.5657 t²).

    Args:
        diameter_mm: d.
        width_mm: b, 0.15 d to 0.45 d.
        depth_mm: t from the top of the shaft, over 0 to 0.25 d. All sections of DIN 6885-1 over 6 mm are inside.

    Returns:
        A share. The key itself adds nothing.

    Raises:
        UsageError: a ratio is outside the range of the fit.

    Source: computed: fit to Saint-Venant's torsion solved by finite differences (35 sections, 300 to 400 steps over
    the diameter); the fit is within 0.005 of them.
    """
    above_zero(diameter_mm=diameter_mm, width_mm=width_mm, depth_mm=depth_mm)
    b, t = width_mm / diameter_mm, depth_mm / diameter_mm
    within(0.15 - ROUNDING, 0.45 + ROUNDING, keyseat_width_over_diameter=b)
    within(0.0, 0.25 + ROUNDING, keyseat_depth_over_diameter=t)
    return 1.0 + t * (-0.0181 - 2.5366 * b + 2.3827 * b**2 - 5.2173 * t - 1.1985 * b * t + 9.5657 * t**2)


def torsional_stress(torque: float, diameter_mm: float, bore_mm: float = 0.0) -> float:
    """Shear stress at the surface of a round shaft: tau = T D/(2 J).

    Args:
        torque: N·m, size.
        diameter_mm: outside diameter.
        bore_mm: inside diameter.

    Returns:
        Pa.

    Raises:
        UsageError: an input is out of its range.

    Source: closed form (computed).
    """
    at_least_zero(torque=torque)
    return torque * diameter_mm / 2000.0 / torsion_constant(diameter_mm, bore_mm)


def flat_stress(torque: float, diameter_mm: float, flat_height_mm: float) -> float:
    """Greatest shear stress of a shaft with a flat, in the middle of the flat.

    With a = (d - h)/d it is 1 + 1.0226 a^0.5 + 1.1221 a - 7.1684 a^1.5 + 16.3537 a² times that of the round shaft.

    Args:
        torque: N·m, size.
        diameter_mm: d.
        flat_height_mm: h, 0.7 d to d.

    Returns:
        Pa. Where the flat ends in a step the stress is higher; that is not in it.

    Raises:
        UsageError: as for `flat_torsion_share`.

    Source: computed as `flat_torsion_share`; the fit is within 0.4 % of the nine depths from 0.02 d.
    """
    cut = _cut(diameter_mm, flat_height_mm)
    rise = 1.0 + 1.0226 * sqrt(cut) + 1.1221 * cut - 7.1684 * cut * sqrt(cut) + 16.3537 * cut**2
    return rise * torsional_stress(torque, diameter_mm)


def keyseat_stress(torque: float, diameter_mm: float, concentration: float = KEYSEAT_CONCENTRATION) -> float:
    """Shear stress at the bottom corner of a keyseat: the full shaft's nominal stress times a concentration factor.

    Args:
        torque: N·m, size; the alternating one for fatigue. For a torque that comes seldom, a ductile shaft yields at
            the corner without harm.
        diameter_mm: of the shaft.
        concentration: 1 to 5.

    Returns:
        Pa.

    Raises:
        UsageError: an input is out of its range.

    Source: Shigley, table 7-1, first estimate (memory).
    """
    within(1.0, 5.0, concentration=concentration)
    return concentration * torsional_stress(torque, diameter_mm)


@dataclass(frozen=True, kw_only=True)
class Part:
    """A length of shaft of one section; build it with `round_part`, `flat_part` or `keyseat_part`.

    Attributes:
        length_mm: along the axis.
        constant: torsion constant, m⁴.
    """

    length_mm: float
    constant: float

    def __post_init__(self) -> None:
        at_least_zero(length_mm=self.length_mm)
        above_zero(constant=self.constant)


def round_part(length_mm: float, diameter_mm: float, bore_mm: float = 0.0) -> Part:
    """A plain length of shaft.

    Raises:
        UsageError: an input is out of its range.

    Source: as `torsion_constant`.
    """
    return Part(length_mm=length_mm, constant=torsion_constant(diameter_mm, bore_mm))


def flat_part(length_mm: float, diameter_mm: float, flat_height_mm: float) -> Part:
    """A length of shaft with a flat.

    Raises:
        UsageError: an input is out of its range.

    Source: as `flat_torsion_share`.
    """
    share = flat_torsion_share(diameter_mm, flat_height_mm)
    return Part(length_mm=length_mm, constant=share * torsion_constant(diameter_mm))


def keyseat_part(length_mm: float, diameter_mm: float, width_mm: float, depth_mm: float) -> Part:
    """A length of shaft with a keyseat.

    Raises:
        UsageError: an input is out of its range.

    Source: as `keyseat_torsion_share`.
    """
    share = keyseat_torsion_share(diameter_mm, width_mm, depth_mm)
    return Part(length_mm=length_mm, constant=share * torsion_constant(diameter_mm))


def shaft_twist(torque: float, parts: Sequence[Part], shear_modulus: float = SHEAR_MODULUS_STEEL) -> float:
    """Twist of a shaft made of several parts: theta = sum(T L/(G J)).

    Args:
        torque: N·m, signed.
        parts: at least one.
        shear_modulus: G, Pa.

    Returns:
        rad, signed. Parts of little length against their diameter twist less, as their ends hold them.

    Raises:
        UsageError: there is no part, or the modulus is not greater than 0.

    Source: closed form (computed); Brown University, ENGN0310 notes SP1, worked example (read).
    """
    above_zero(shear_modulus=shear_modulus)
    if not parts:
        raise UsageError("a shaft needs at least one part; found none")
    return torque * sum(part.length_mm / 1000.0 / (shear_modulus * part.constant) for part in parts)


def shaft_stiffness(parts: Sequence[Part], shear_modulus: float = SHEAR_MODULUS_STEEL) -> float:
    """Torsional stiffness of a shaft made of several parts: 1/k = sum(L/(G J)).

    Args:
        parts: at least one, of some length together.
        shear_modulus: G, Pa.

    Returns:
        N·m/rad.

    Raises:
        UsageError: there is no part, the lengths are all 0, or the modulus is not greater than 0.

    Source: as `shaft_twist`.
    """
    twist = shaft_twist(1.0, parts, shear_modulus)
    above_zero(length_of_all_parts=twist)
    return 1.0 / twist


def winding_length(free_mm: float, gripped_mm: float, share: float = GRIP_SHARE) -> float:
    """Length of a stub that winds up: what is free, and a share of what the hub grips.

    Args:
        free_mm: from the bearing to the hub's face, at least 0.
        gripped_mm: inside the hub, at least 0.
        share: 0 to 1.

    Returns:
        mm.

    Raises:
        UsageError: an input is out of its range.

    Source: common practice, no source.
    """
    at_least_zero(free_mm=free_mm, gripped_mm=gripped_mm)
    within(0.0, 1.0, share=share)
    return free_mm + share * gripped_mm


def _cut(diameter_mm: float, flat_height_mm: float) -> float:
    above_zero(diameter_mm=diameter_mm, flat_height_mm=flat_height_mm)
    cut = (diameter_mm - flat_height_mm) / diameter_mm
    within(-ROUNDING, 0.3 + ROUNDING, flat_depth_over_diameter=cut)
    return max(0.0, cut)
