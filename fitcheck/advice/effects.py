"""What a family's stiffness and backlash come to in this drive: lost motion, twist, resonance, as best and worst."""

from __future__ import annotations

from dataclasses import dataclass
from math import radians

from fitcheck.advice.figures import Figures
from fitcheck.advice.needs import Needs
from fitcheck.checks.modes import chain_of, modes_of
from fitcheck.checks.step_rate import held_of
from fitcheck.checks.train import Spring, Train, stubs_of
from fitcheck.checks.working import Working
from fitcheck.errors import UsageError
from fitcheck.mechanics.bounds import exactly
from fitcheck.mechanics.dynamics import two_inertia
from fitcheck.mechanics.joints import joint_angle_error, oldham
from fitcheck.mechanics.stiffness import in_series, joint_error_um, lost_motion_um, twist_deg

BENDING = ("oldham", "universal joint")
"""Families that turn as one universal joint at an angle between the shafts; others by far less."""


@dataclass(frozen=True, kw_only=True)
class Effects:
    """What a family comes to; pairs run from its best to its worst. None where the job does not tell it.

    Attributes:
        lost: at reversal, in the unit of the drive's travel.
        twist: of coupling and shaft ends under the greatest torque, degrees.
        resonance: the lowest one, Hz, from its worst to its best.
        in_band: the lowest one that a band to be kept free counts, Hz, likewise: of a stepper, its rotor held in its
            field.
        uneven: error to either side within a turn by the angle between the shafts, in the unit of the drive's travel.
        sliding: greatest speed of a sliding disc, mm/s.
    """

    lost: tuple[float, float]
    twist: tuple[float, float]
    resonance: tuple[float, float] | None
    in_band: tuple[float, float] | None
    uneven: float | None
    sliding: float | None


def effects_of(needs: Needs, working: Working, figures: Figures) -> Effects:
    """The effects of a family's figures in a drive, its shaft ends in series."""
    soft, stiff = (in_series(value, *needs.stubs) for value in figures.stiffness)
    best, worst = (
        lost_motion_um(working.friction_torque, stiffness, working.lead_mm, radians(play))
        for stiffness, play in zip((stiff, soft), figures.backlash, strict=True)
    )
    rotor, resonance, in_band = working.motor_inertia, None, None
    if rotor is not None and working.axis.inertia > 0.0:
        (low, first), (high, last) = (_lowest(working, rotor, value) for value in figures.stiffness)
        resonance, in_band = (low, high), (first, last)
    return Effects(
        lost=(best, worst),
        twist=(twist_deg(needs.worst, stiff), twist_deg(needs.worst, soft)),
        resonance=resonance,
        in_band=in_band,
        uneven=_uneven(needs, working, figures.family),
        sliding=_sliding(needs, working, figures.family),
    )


def _lowest(working: Working, rotor: float, stiffness: float) -> tuple[float, float]:
    """Lowest resonances with a coupling of this stiffness, as the check tells them, Hz.

    The first is that for the bandwidth: as two inertias or as a chain. The second is that for a band to be kept free.
    """
    stubs, left_out = stubs_of(working.drive)
    coupling = Spring(name="coupling", stiffness=exactly(stiffness), how="of the family")
    train = Train(coupling=coupling, stubs=stubs, left_out=left_out)
    two, whole = two_inertia(rotor, working.axis.inertia, train.stiffness.low), chain_of(working, train, rotor)
    lowest, held = modes_of(whole).ranges[0][0], held_of(working, whole, rotor)
    return min(two.resonance, lowest), lowest if held is None else held.modes.ranges[0][0]


def _uneven(needs: Needs, working: Working, family: str) -> float | None:
    if family not in BENDING or needs.offsets is None:
        return None
    try:
        return joint_error_um(joint_angle_error(needs.offsets.angular_deg), working.lead_mm)
    except UsageError:
        return None  # beyond any joint, which its permitted angle says


def _sliding(needs: Needs, working: Working, family: str) -> float | None:
    if family != "oldham" or needs.offsets is None or working.top_speed is None:
        return None
    return 1000.0 * oldham(needs.offsets.parallel_mm, working.top_speed).sliding_speed
