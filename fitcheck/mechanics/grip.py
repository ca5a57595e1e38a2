"""What a clamp hub holds by friction: pressure laws, two-piece and slotted hubs, play, interference, flats."""

from __future__ import annotations

from math import acos, pi
from types import MappingProxyType

from fitcheck.errors import UsageError
from fitcheck.mechanics.bounds import Bounds, above_zero, at_least_zero, within

PRESSURE_LAWS = MappingProxyType({"two-line": 1.0, "cosine": 4.0 / pi, "uniform": pi / 2.0})
"""Factor c of T = c mu F d by the pressure between bore and shaft: loose fit, close fit, tight fit (computed)."""

HUB_FRICTION = MappingProxyType(
    {
        "steel": Bounds(low=0.10, nominal=0.12, high=0.20),
        "cast iron": Bounds(low=0.10, nominal=0.12, high=0.20),
        "aluminium": Bounds(low=0.10, nominal=0.12, high=0.20),
    }
)
"""Friction of hub material on a steel shaft. Low and nominal are design values for wiped, lightly oiled faces (memory);
printed static values of clean dry faces run from 0.15 to 0.8 (read), so 0.20 is no upper limit of nature."""


def clamp_torque(force: float, bore_mm: float, friction: float, law: str = "two-line") -> float:
    """Torque at which a clamped hub slips: T = c mu F d.

    Args:
        force: by which the two halves are pressed together, N: the sum of all screws that close this bore.
        bore_mm: diameter.
        friction: between bore and shaft, 0 to 1.
        law: "two-line" (loose fit, c = 1), "cosine" (close fit, c = 4/pi) or "uniform" (tight fit, c = pi/2).

    Returns:
        N·m.

    Raises:
        UsageError: an input is out of its range, or the law is not known.

    Notes:
        Equilibrium of one half under the stated pressure: exact for that law. Which law holds is a matter of the fit;
        the two-line law is the low bound of all three.

    Source: computed from equilibrium; the same cases as in Roloff/Matek, clamped joints (symbols read, text memory).
    """
    at_least_zero(force=force)
    above_zero(bore_mm=bore_mm)
    within(0.0, 1.0, friction=friction)
    return pressure_factor(law) * friction * force * bore_mm / 1000.0


def pressure_factor(law: str) -> float:
    """The factor c of a pressure law.

    Raises:
        UsageError: the law is not known; the message lists them.

    Source: computed from equilibrium.
    """
    if law not in PRESSURE_LAWS:
        raise UsageError(f"there is no pressure law {law!r}; needed is one of {', '.join(PRESSURE_LAWS)}")
    return PRESSURE_LAWS[law]


def lever_force(screw_force: float, hinge_to_centre_mm: float, hinge_to_screw_mm: float) -> float:
    """Force on the shaft in a slotted one-piece hub, taken as a clip hinged at the root of its slot: F = Fv l2/l1.

    Args:
        screw_force: sum of the hub's screws, N.
        hinge_to_centre_mm: l1, from the hinge (the web opposite the slot) to the shaft's centre.
        hinge_to_screw_mm: l2, from the hinge to the screw's axis.

    Returns:
        N. The web takes bending that this leaves out; a stiff web, a hub without a relieving cut, holds less.

    Raises:
        UsageError: a distance is not greater than 0, or the force is negative.

    Source: Roloff/Matek, slotted hub as a clip (symbols and assumption read, equation memory); computed from the
    lever's balance.
    """
    at_least_zero(screw_force=screw_force)
    above_zero(hinge_to_centre_mm=hinge_to_centre_mm, hinge_to_screw_mm=hinge_to_screw_mm)
    return screw_force * hinge_to_screw_mm / hinge_to_centre_mm


def closing_force(
    play_mm: float, outside_mm: float, bore_mm: float, width_mm: float, screw_offset_mm: float, elastic_modulus: float
) -> float:
    """Screw force that is spent to close the play of a slotted one-piece hub before it grips.

    The hub as a thin split ring of mean radius R, closed at its slot by pi times the diametral play by a force at the
    distance e from the centre: F = E I c/(R² (2 e + R)), I = b h³/12, h the wall.

    Args:
        play_mm: diametral play of the shaft in the bore; at most 0 needs no force.
        outside_mm: outside diameter of the hub.
        bore_mm: diameter.
        width_mm: length of the hub along the axis.
        screw_offset_mm: distance of the screw from the centre, at least the bore's radius.
        elastic_modulus: Pa.

    Returns:
        N, to be taken off the sum of the screws. Of a hub that is freed from its body this is 17 to 21 % over the
        elastic solution (computed); of one that is not, or only in part, see `slotted_hub`.

    Raises:
        UsageError: an input is out of its range.

    Source: computed (bending of a thin ring by Castigliano's theorem).
    """
    above_zero(outside_mm=outside_mm, bore_mm=bore_mm, width_mm=width_mm, elastic_modulus=elastic_modulus)
    if outside_mm <= bore_mm or screw_offset_mm < bore_mm / 2.0:
        raise UsageError(
            f"a bore of {bore_mm:g} mm, a hub of {outside_mm:g} mm and a screw {screw_offset_mm:g} mm off the centre "
            "do not make a hub: the hub must be wider than the bore, and the screw must pass beside the shaft"
        )
    if play_mm <= 0.0:
        return 0.0
    wall = (outside_mm - bore_mm) / 2000.0
    radius = (outside_mm + bore_mm) / 4000.0
    bending = elastic_modulus * (width_mm / 1000.0) * wall**3 / 12.0
    return bending * (play_mm / 1000.0) / (radius**2 * (2.0 * screw_offset_mm / 1000.0 + radius))


def arc_share(diameter_mm: float, flat_height_mm: float) -> float:
    """Share of the circumference that a flat leaves: 1 - acos((2 h - d)/d)/pi.

    Args:
        diameter_mm: of the shaft.
        flat_height_mm: from the flat to the opposite side, over half the diameter up to the diameter.

    Returns:
        A share, 1 for a flat of no depth.

    Raises:
        UsageError: an input is out of its range.

    Source: geometry of the circle (computed).
    """
    above_zero(diameter_mm=diameter_mm)
    within(diameter_mm / 2.0, diameter_mm, flat_height_mm=flat_height_mm)
    return 1.0 - acos((2.0 * flat_height_mm - diameter_mm) / diameter_mm) / pi


def slip_torque(
    force: Bounds,
    bore_mm: float,
    friction: Bounds,
    least_play_mm: float = 0.0,
    greatest_play_mm: float = 0.0,
    interrupted_share: float = 0.0,
    arc: float = 1.0,
) -> Bounds:
    """Slip torque of a clamp hub as low, nominal and high; a hub is judged on low.

    Low: two-line pressure, low force, high play's law, low friction; where the shaft is interrupted by a flat or a
    keyseat in a part of the gripped length, one of the two lines may lie on it, so half of that part is not counted.
    Nominal: cosine pressure; the interrupted part counts by the arc left. High: uniform pressure where the fit can
    have interference, cosine where it cannot.

    Args:
        force: pressing the halves together, N, after lever and closing force.
        bore_mm: diameter.
        friction: between bore and shaft.
        least_play_mm: diametral, negative for interference.
        greatest_play_mm: the same.
        interrupted_share: share of the gripped length that has a flat or keyseat, 0 to 1.
        arc: share of the circumference left there, as `arc_share`.

    Returns:
        N·m. Interference adds grip of its own, which is not counted, and makes the hub hard to mount.

    Raises:
        UsageError: an input is out of its range, or the plays are in the wrong order.

    Source: `clamp_torque` (computed); the choice of law by the fit and the half for an interrupted line are common
    practice, no source.
    """
    within(0.0, 1.0, interrupted_share=interrupted_share, arc=arc)
    if least_play_mm > greatest_play_mm:
        raise UsageError(f"the least play {least_play_mm:g} mm is greater than the greatest {greatest_play_mm:g} mm")
    high_law = "uniform" if least_play_mm <= 0.0 else "cosine"
    whole = 1.0 - interrupted_share
    return Bounds(
        low=clamp_torque(force.low, bore_mm, friction.low, "two-line") * (whole + min(0.5, arc) * interrupted_share),
        nominal=clamp_torque(force.nominal, bore_mm, friction.nominal, "cosine") * (whole + arc * interrupted_share),
        high=clamp_torque(force.high, bore_mm, friction.high, high_law),
    )
