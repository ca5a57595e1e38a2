"""The driven axis behind the coupling: inertia and torque at the coupling of a ball-screw axis or a rotary load.

Sign convention: positive travel is up the incline, positive torque drives the positive travel. All torques are at the
coupling, all inertias seen from it. Sources: drive formulas of three published drive manuals that agree (read):
T = P/(2 pi eta) (mu g m + F), J = m (P/2 pi)^2, J_screw = (pi/32) rho L D^4, T_nut = mu0 F0 P/(2 pi).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, radians, sin

from fitcheck.mechanics.bounds import above_zero, at_least_zero, finite, within

GRAVITY = 9.80665
"""Standard gravity, m/s² (3rd CGPM 1901)."""

STEEL_DENSITY = 7870.0
"""kg/m³; the drive manuals print 7.87e3 and 7.9e3 (read)."""


def solid_cylinder_inertia(diameter_mm: float, length_mm: float, density: float = STEEL_DENSITY) -> float:
    """Inertia of a solid cylinder about its axis, as of a screw without its thread: J = (pi/32) rho L D^4.

    Args:
        diameter_mm: outside diameter; for a screw the nominal diameter, which is a few per cent on the high side.
        length_mm: length.
        density: kg/m³.

    Returns:
        kg·m².

    Raises:
        UsageError: an input is not greater than 0.

    Source: closed form; printed so in three drive manuals (read). Exact for a plain cylinder.
    """
    above_zero(diameter_mm=diameter_mm, length_mm=length_mm, density=density)
    return pi / 32.0 * density * (length_mm / 1000.0) * (diameter_mm / 1000.0) ** 4


def back_driving_efficiency(efficiency: float) -> float:
    """Efficiency of a screw when the load drives it: eta' = 2 - 1/eta, at least 0 (the screw locks itself).

    Args:
        efficiency: of the screw when the motor drives it, over 0 to 1.

    Returns:
        A share, 0 to 1.

    Raises:
        UsageError: the efficiency is not over 0 to 1.

    Source: ball-screw makers' practice (memory). Follows from equal loss per force in both directions; some per cent
    off for coarse leads.
    """
    above_zero(efficiency=efficiency)
    within(0.0, 1.0, efficiency=efficiency)
    return max(0.0, 2.0 - 1.0 / efficiency)


@dataclass(frozen=True, kw_only=True)
class ScrewAxis:
    """A carriage on a ball screw or lead screw.

    Attributes:
        lead_mm: travel of the carriage in one turn of the screw.
        moving_mass: carriage with everything on it, kg.
        screw_inertia: kg·m²; `solid_cylinder_inertia` gives it from diameter and length.
        efficiency: of the screw driving the load, 0.85 to 0.95 for ball screws (memory).
        back_efficiency: of the screw driven by the load; None takes `back_driving_efficiency`.
        efficiency_on_inertia: whether the force that accelerates the mass also pays the screw's loss. It does, and
            True is the default; the drive manuals leave it out, and False gives their figures.
        guide_friction: coefficient of the guide, on the force normal to it.
        seal_friction: friction of seals and wipers that does not depend on the load, N.
        nut_preload: N; about a third of the greatest axial force in common designs (memory).
        nut_friction: mu0 of the preloaded nut, 0.1 to 0.3 (memory).
        bearing_drag: drag of the screw's bearings, N·m at the screw.
        external_force: N along the travel, positive against positive travel.
        incline_deg: of positive travel above the horizontal, -90 to 90; 90 is vertical.
        counterbalance_mass: kg on a rope over a pulley, always moving with the carriage.
        counterbalance_force: N up the incline, of a spring or a gas cylinder.
        driven_inertia: kg·m² at the coupling of everything else that turns behind it: the half of the coupling, a
            pulley, the gear.
        ratio: turns of the coupling for one turn of the screw.
    """

    lead_mm: float
    moving_mass: float
    screw_inertia: float = 0.0
    efficiency: float = 0.9
    back_efficiency: float | None = None
    efficiency_on_inertia: bool = True
    guide_friction: float = 0.0
    seal_friction: float = 0.0
    nut_preload: float = 0.0
    nut_friction: float = 0.0
    bearing_drag: float = 0.0
    external_force: float = 0.0
    incline_deg: float = 0.0
    counterbalance_mass: float = 0.0
    counterbalance_force: float = 0.0
    driven_inertia: float = 0.0
    ratio: float = 1.0

    def __post_init__(self) -> None:
        above_zero(lead_mm=self.lead_mm, efficiency=self.efficiency, ratio=self.ratio)
        within(0.0, 1.0, efficiency=self.efficiency, back_efficiency=self.back_driven)
        at_least_zero(
            moving_mass=self.moving_mass, screw_inertia=self.screw_inertia, guide_friction=self.guide_friction,
            seal_friction=self.seal_friction, nut_preload=self.nut_preload, nut_friction=self.nut_friction,
            bearing_drag=self.bearing_drag, counterbalance_mass=self.counterbalance_mass,
            driven_inertia=self.driven_inertia,
        )  # fmt: skip
        finite(external_force=self.external_force, counterbalance_force=self.counterbalance_force)
        within(-90.0, 90.0, incline_deg=self.incline_deg)

    @property
    def back_driven(self) -> float:
        """Efficiency of the screw when the load drives it, a share."""
        return back_driving_efficiency(self.efficiency) if self.back_efficiency is None else self.back_efficiency

    @property
    def travel_per_radian(self) -> float:
        """Metres of travel for a radian at the coupling: P/(2 pi i)."""
        return self.lead_mm / 1000.0 / (2.0 * pi * self.ratio)

    @property
    def inertia(self) -> float:
        """Inertia seen from the coupling, kg·m²: J + J_screw/i² + (m + m_cb) (P/(2 pi i))²."""
        masses = self.moving_mass + self.counterbalance_mass
        return self.driven_inertia + self.screw_inertia / self.ratio**2 + masses * self.travel_per_radian**2

    @property
    def standing_force(self) -> float:
        """Force on the nut against positive travel without any friction, N: g sin(b) m -+ (g m_cb + F_cb) + F_ext.

        A counterbalance mass hangs freely, so it pulls with its full weight whatever the incline. It pulls up the
        slope, which is against positive travel where that goes down (a negative incline).
        """
        slope = GRAVITY * self.moving_mass * sin(radians(self.incline_deg))
        balance = GRAVITY * self.counterbalance_mass + self.counterbalance_force
        return slope - (balance if self.incline_deg >= 0.0 else -balance) + self.external_force

    @property
    def friction_force(self) -> float:
        """Friction of guide and seals, N: mu m g cos(b) + F_seal. Moments on the guide are not in it."""
        normal = GRAVITY * self.moving_mass * cos(radians(self.incline_deg))
        return self.guide_friction * normal + self.seal_friction

    @property
    def drag_torque(self) -> float:
        """Torque at the coupling that opposes any turning, N·m: (mu0 F0 P/(2 pi) + bearings)/i."""
        nut = self.nut_friction * self.nut_preload * self.lead_mm / 1000.0 / (2.0 * pi)
        return (nut + self.bearing_drag) / self.ratio

    @property
    def holding_torque(self) -> float:
        """Torque that passes the coupling at rest, N·m, signed; no friction is counted as help.

        Friction of screw and guide usually takes a part of it; vibration can take that help away.
        """
        return self.standing_force * self.travel_per_radian

    def torque(self, direction: int, acceleration: float = 0.0) -> float:
        """Torque at the coupling, N·m, signed.

        T = J_rot alpha + F P/(2 pi i) * (1/eta where the motor drives, eta' where the load drives) + drag.

        Args:
            direction: +1 or -1 for the direction of travel, 0 for rest, which gives `holding_torque`.
            acceleration: of the carriage, m/s², signed.

        Returns:
            What the driven side takes through the coupling; the motor's own rotor is not in it.

        Raises:
            UsageError: the direction is none of these, or it stands and accelerates.

        Source: drive manuals (read) for the terms; which efficiency applies follows from the flow of power (computed).
        """
        return _torque(self, direction, acceleration)

    def rigid_torque(self, direction: int, acceleration: float) -> float:
        """Torque of the masses and the load before drag, N·m; see `torque`."""
        masses = self.moving_mass + self.counterbalance_mass
        turning = self.driven_inertia + self.screw_inertia / self.ratio**2
        through = self.standing_force + direction * self.friction_force
        push = masses * acceleration
        if self.efficiency_on_inertia:
            through, push = through + push, 0.0
        share = 1.0 / self.efficiency if through * direction >= 0.0 else self.back_driven
        return turning * acceleration / self.travel_per_radian + (through * share + push) * self.travel_per_radian


@dataclass(frozen=True, kw_only=True)
class RotaryAxis:
    """A rotary load behind the coupling through a ratio (gear, belt, or 1).

    Attributes:
        load_inertia: of the load about its own axis, kg·m².
        ratio: turns of the coupling for one turn of the load.
        efficiency: of the gear driving the load.
        back_efficiency: of the gear driven by the load; None takes 2 - 1/eta.
        load_torque: at the load, N·m, positive against positive turning (a weight on an arm at its worst place).
        friction_torque: at the load, N·m, against any turning.
        bearing_drag: at the coupling, N·m, against any turning.
        driven_inertia: kg·m² at the coupling of all else behind it (pinion, half of the coupling).
    """

    load_inertia: float
    ratio: float = 1.0
    efficiency: float = 1.0
    back_efficiency: float | None = None
    load_torque: float = 0.0
    friction_torque: float = 0.0
    bearing_drag: float = 0.0
    driven_inertia: float = 0.0

    def __post_init__(self) -> None:
        above_zero(ratio=self.ratio, efficiency=self.efficiency)
        within(0.0, 1.0, efficiency=self.efficiency, back_efficiency=self.back_driven)
        at_least_zero(
            load_inertia=self.load_inertia, friction_torque=self.friction_torque, bearing_drag=self.bearing_drag,
            driven_inertia=self.driven_inertia,
        )  # fmt: skip
        finite(load_torque=self.load_torque)

    @property
    def back_driven(self) -> float:
        """Efficiency of the gear when the load drives it, a share."""
        return back_driving_efficiency(self.efficiency) if self.back_efficiency is None else self.back_efficiency

    @property
    def travel_per_radian(self) -> float:
        """Radians of the load for a radian at the coupling: 1/i."""
        return 1.0 / self.ratio

    @property
    def inertia(self) -> float:
        """Inertia seen from the coupling, kg·m²: J + J_load/i²."""
        return self.driven_inertia + self.load_inertia / self.ratio**2

    @property
    def drag_torque(self) -> float:
        """Torque at the coupling that opposes any turning, N·m."""
        return self.bearing_drag

    @property
    def holding_torque(self) -> float:
        """Torque that passes the coupling at rest, N·m, signed; no friction is counted as help."""
        return self.load_torque / self.ratio

    def torque(self, direction: int, acceleration: float = 0.0) -> float:
        """Torque at the coupling, N·m, signed: T = J alpha + T_load/i * (1/eta or eta') + drag.

        Args:
            direction: +1, -1, or 0 for rest.
            acceleration: of the load, rad/s², signed.

        Returns:
            What the driven side takes through the coupling.

        Raises:
            UsageError: the direction is none of these, or it stands and accelerates.

        Source: drive manuals (read); which efficiency applies follows from the flow of power (computed).
        """
        return _torque(self, direction, acceleration)

    def rigid_torque(self, direction: int, acceleration: float) -> float:
        """Torque of the masses and the load before drag, N·m; see `torque`."""
        through = self.load_torque + direction * self.friction_torque + self.load_inertia * acceleration
        share = 1.0 / self.efficiency if through * direction >= 0.0 else self.back_driven
        return self.driven_inertia * acceleration * self.ratio + through * share / self.ratio


Axis = ScrewAxis | RotaryAxis


def _torque(axis: Axis, direction: int, acceleration: float) -> float:
    finite(acceleration=acceleration)
    within(-1, 1, direction=direction)
    if direction == 0:
        within(0.0, 0.0, acceleration_at_rest=acceleration)
        return axis.holding_torque
    return axis.rigid_torque(direction, acceleration) + direction * axis.drag_torque
