"""Tightening torque, preload and stress of a screw by VDI 2230, with the range that friction and tool leave."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt

from fitcheck.errors import UsageError
from fitcheck.mechanics.bounds import Bounds, above_zero, at_least_zero, within
from fitcheck.standards.screws import cap_screw, clearance_hole
from fitcheck.standards.strength import key_torque

YIELD_SHARE = 0.9
"""Share of the yield strength that the tightening may use (VDI 2230)."""

THREAD_FRICTION = Bounds(low=0.08, nominal=0.12, high=0.16)
"""Friction of thread and head, friction class B of VDI 2230, lightly oiled steel (memory; 0.12 is the usual design
value). Dry or corroded screws lie above it, waxed ones below."""

TOOL_SCATTER = 0.1
"""Scatter of a torque wrench to either side; common practice, no source."""

EMBEDDING_LOSS = 0.1
"""Share of the preload that short clamp screws lose by embedding; common practice, no source."""

PITCH_FACTOR, RADIUS_FACTOR, FLANK_FACTOR = 0.16, 0.58, 1.155
"""1/(2 pi), 1/(2 cos 30°) and 1/cos 30° as VDI 2230 prints them."""


@dataclass(frozen=True, kw_only=True)
class Thread:
    """A screw thread and the face under its head; mm.

    Attributes:
        diameter_mm: nominal diameter.
        pitch_mm: pitch.
        bearing_mm: least outside diameter of the head's bearing face.
        hole_mm: diameter of the clearance hole under it.
    """

    diameter_mm: float
    pitch_mm: float
    bearing_mm: float
    hole_mm: float

    def __post_init__(self) -> None:
        above_zero(diameter_mm=self.diameter_mm, pitch_mm=self.pitch_mm, hole_mm=self.hole_mm)
        if self.bearing_mm <= self.hole_mm:
            raise UsageError(
                f"the head's bearing face ({self.bearing_mm:g} mm) must be wider than the hole under it "
                f"({self.hole_mm:g} mm)"
            )

    @property
    def flank_mm(self) -> float:
        """Pitch diameter d2 = d - 0.649519 P (ISO 724; formula from memory)."""
        return self.diameter_mm - 0.649519 * self.pitch_mm

    @property
    def stress_mm(self) -> float:
        """Diameter of the stress area d0 = (d2 + d3)/2, d3 = d - 1.226869 P (ISO 898-1; formula from memory)."""
        return (self.flank_mm + self.diameter_mm - 1.226869 * self.pitch_mm) / 2.0

    @property
    def head_friction_mm(self) -> float:
        """Mean diameter of the head's friction, D_Km = (dw + dh)/2."""
        return (self.bearing_mm + self.hole_mm) / 2.0


def thread(size: str) -> Thread:
    """The thread of a socket head cap screw, M1.6 to M12 coarse, in a medium clearance hole.

    Args:
        size: "M3".

    Returns:
        Thread and head.

    Raises:
        TableError: the size is not in the tables.

    Source: ISO 4762 and ISO 273 tables (package, read).
    """
    screw = cap_screw(size)
    return Thread(
        diameter_mm=screw.diameter,
        pitch_mm=screw.pitch,
        bearing_mm=screw.bearing_diameter,
        hole_mm=clearance_hole(size),
    )


def torque_per_preload(screw: Thread, thread_friction: float, head_friction: float) -> float:
    """Tightening torque for a newton of preload, in m: M/F = 0.16 P + 0.58 d2 mu_G + (D_Km/2) mu_K.

    Args:
        screw: thread and head.
        thread_friction: mu_G, 0 to 1.
        head_friction: mu_K, 0 to 1.

    Returns:
        N·m of torque per N of preload.

    Raises:
        UsageError: a friction coefficient is outside 0 to 1.

    Source: VDI 2230-1 (formula from memory); agrees with 27 printed rows of fine threads (read) to 1.1 %, rounding
    included.
    """
    within(0.0, 1.0, thread_friction=thread_friction, head_friction=head_friction)
    return _thread_arm(screw, thread_friction) + screw.head_friction_mm / 2000.0 * head_friction


def preload(torque: float, screw: Thread, thread_friction: float, head_friction: float | None = None) -> float:
    """Preload that a tightening torque gives.

    Args:
        torque: N·m, at least 0.
        screw: thread and head.
        thread_friction: mu_G.
        head_friction: mu_K; None takes mu_G.

    Returns:
        N.

    Raises:
        UsageError: an input is out of its range.

    Source: as `torque_per_preload`.
    """
    at_least_zero(torque=torque)
    head = thread_friction if head_friction is None else head_friction
    return torque / torque_per_preload(screw, thread_friction, head)


def preload_range(
    torque: float,
    screw: Thread,
    friction: Bounds = THREAD_FRICTION,
    scatter: float = TOOL_SCATTER,
    loss: float = EMBEDDING_LOSS,
) -> Bounds:
    """Preload with what friction, tool and embedding leave of it.

    Args:
        torque: set at the tool, N·m.
        screw: thread and head.
        friction: of thread and head; high friction gives low preload.
        scatter: of the tool to either side, a share.
        loss: share lost by embedding, taken off the low value only.

    Returns:
        N; the nominal value is that of the nominal friction without scatter and loss.

    Raises:
        UsageError: an input is out of its range.

    Source: as `torque_per_preload`; friction class B (memory); scatter and loss common practice, no source.
    """
    within(0.0, 0.9, scatter=scatter, loss=loss)
    return Bounds(
        low=preload(torque * (1.0 - scatter), screw, friction.high) * (1.0 - loss),
        nominal=preload(torque, screw, friction.nominal),
        high=preload(torque * (1.0 + scatter), screw, friction.low),
    )


def assembly_stress(force: float, screw: Thread, thread_friction: float) -> float:
    """Equivalent stress in the thread while it is being tightened.

    sigma = F/A0, tau = M_G/(pi d0³/12), sigma_red = sqrt(sigma² + 3 tau²): tension with the thread's torque, the
    torsion taken as fully plastic, as VDI 2230 does.

    Args:
        force: preload, N.
        screw: thread.
        thread_friction: mu_G; low friction gives the highest stress at a given torque.

    Returns:
        Pa.

    Raises:
        UsageError: an input is out of its range.

    Source: VDI 2230-1 (formula from memory); checked as `yield_preload`.
    """
    at_least_zero(force=force)
    within(0.0, 1.0, thread_friction=thread_friction)
    return force / (pi / 4.0 * (screw.stress_mm / 1000.0) ** 2) * _torsion_rise(screw, thread_friction)


def yield_preload(yield_strength: float, screw: Thread, thread_friction: float, share: float = YIELD_SHARE) -> float:
    """Preload at which the equivalent stress reaches a share of the yield strength.

    F_M = share Rp0.2 A0 / sqrt(1 + 3 (1.5 (d2/d0) (P/(pi d2) + 1.155 mu_G))²).

    Args:
        yield_strength: Rp0.2 of the property class, Pa.
        screw: thread.
        thread_friction: mu_G.
        share: 0.9 by VDI 2230.

    Returns:
        N.

    Raises:
        UsageError: an input is out of its range.

    Source: VDI 2230-1 (formula from memory); agrees with 27 printed rows of fine threads (read) to 0.28 %.
    """
    above_zero(yield_strength=yield_strength)
    within(0.0, 1.0, thread_friction=thread_friction, share=share)
    area = pi / 4.0 * (screw.stress_mm / 1000.0) ** 2
    return share * yield_strength * area / _torsion_rise(screw, thread_friction)


def tightening_torque(yield_strength: float, screw: Thread, friction: float, share: float = YIELD_SHARE) -> float:
    """Tightening torque at which the screw reaches a share of its yield strength, equal friction in thread and head.

    Args:
        yield_strength: Rp0.2 of the property class, Pa.
        screw: thread and head.
        friction: mu_G = mu_K.
        share: 0.9 by VDI 2230.

    Returns:
        N·m. A hub of aluminium, or a short thread in it, may need less.

    Raises:
        UsageError: an input is out of its range.

    Source: VDI 2230-1 (formula from memory); agrees with 27 printed rows of fine threads (read) to 1.1 %, rounding
    included.
    """
    return yield_preload(yield_strength, screw, friction, share) * torque_per_preload(screw, friction, friction)


def tool_torque_limit(key_size_mm: float) -> float:
    """Greatest torque that a hexagon key may carry before it yields.

    Args:
        key_size_mm: across flats, 0.7 to 10 as listed.

    Returns:
        N·m. A ball end carries about half of it (memory, weak).

    Raises:
        TableError: the size is not in the table.

    Source: ASME B18.3.2M keys (read to 1.5 mm, memory from 2 mm).
    """
    return key_torque(key_size_mm).yielding


def _thread_arm(screw: Thread, friction: float) -> float:
    return (PITCH_FACTOR * screw.pitch_mm + RADIUS_FACTOR * screw.flank_mm * friction) / 1000.0


def _torsion_rise(screw: Thread, friction: float) -> float:
    slope = screw.pitch_mm / (pi * screw.flank_mm) + FLANK_FACTOR * friction
    return sqrt(1.0 + 3.0 * (1.5 * screw.flank_mm / screw.stress_mm * slope) ** 2)
