"""The envelope of a coupling: the solid of revolution of its profile, made of cylinders and cones. Loads the kernel."""

from __future__ import annotations

from typing import TYPE_CHECKING

from parametric_models.couplings.profile import Profile

if TYPE_CHECKING:
    import cadquery as cq


def envelope_solid(profile: Profile, tolerance: float = 0.01) -> cq.Solid:
    """The solid that contains all that the coupling sweeps in one turn, and touches it where it is widest.

    Args:
        profile: the coupling's profile.
        tolerance: greatest distance of the envelope outside the profile, square to it, mm; it is never inside.

    Returns:
        One solid about the drive axis, without a bore, in the profile's own frame.

    Raises:
        UsageError: the tolerance is not above 0.
    """
    from parametric_models.couplings.shapes import revolved

    knots = profile.outline(tolerance)
    return revolved([(0.0, knots[0][0]), *((radius, station) for station, radius in knots), (0.0, knots[-1][0])])
