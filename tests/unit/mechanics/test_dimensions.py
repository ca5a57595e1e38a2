"""Dimensional consistency: in other units of mass, length and time every formula says the same (dimensions by pint)."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import astuple, is_dataclass

import pint
import pytest

from fitcheck.mechanics import (
    axis,
    damped,
    demand,
    dynamics,
    estimates,
    grip,
    joints,
    keys,
    misalignment,
    motion,
    overload,
    preload,
    shafts,
    slotted_hub,
    stiffness,
    unevenness,
)
from fitcheck.mechanics.bounds import Bounds

UNITS = pint.UnitRegistry()
SCALES = {"[length]": 3.7, "[mass]": 0.21, "[time]": 1.9, "[temperature]": 2.3}
TORQUE, STIFF, INERTIA, FORCE, PRESSURE = "N*m", "N*m/rad", "kg*m**2", "N", "Pa"


def scale(unit: str) -> float:
    """By how much the number of a quantity of this unit changes with the units of mass, length, time, temperature."""
    total = 1.0
    for dimension, power in UNITS.parse_units(unit).dimensionality.items():
        total *= SCALES[dimension] ** power
    return total


def flat(result: object) -> Iterable[float]:
    if is_dataclass(result) and not isinstance(result, type):
        result = astuple(result)
    if isinstance(result, tuple):
        for part in result:
            yield from flat(part)
    elif isinstance(result, int | float):
        yield float(result)


def screw_torque(lead: float, mass: float, turning: float, seal: float, drag: float, acceleration: float) -> float:
    made = axis.ScrewAxis(
        lead_mm=lead, moving_mass=mass, screw_inertia=turning, seal_friction=seal, bearing_drag=drag, incline_deg=40,
        guide_friction=0.1, nut_preload=seal, nut_friction=0.2, external_force=seal, counterbalance_mass=mass / 3,
    )  # fmt: skip
    return made.torque(1, acceleration)


def rms(lead: float, mass: float, stroke: float, speed: float, acceleration: float, pause: float) -> float:
    made = axis.ScrewAxis(lead_mm=lead, moving_mass=mass, incline_deg=90)
    return demand.demand(made, motion.there_and_back(stroke, speed, acceleration, pause=pause)).rms


def tightening(diameter: float, pitch: float, bearing: float, hole: float, strength: float) -> float:
    made = preload.Thread(diameter_mm=diameter, pitch_mm=pitch, bearing_mm=bearing, hole_mm=hole)
    return preload.tightening_torque(strength, made, 0.12)


def key(torque: float, shaft: float, width: float, height: float, length: float) -> keys.KeyStress:
    made = keys.KeySection(shaft_mm=shaft, width_mm=width, height_mm=height)
    return keys.key_stress(torque, made, length)


def rigid_shear(diameter: float, length: float, span: float, offset: float, modulus: float) -> tuple[float, ...]:
    stub = misalignment.Overhang(diameter_mm=diameter, length_mm=length, span_mm=span)
    return misalignment.rigid_load(stub, stub, length, offset, 0.1, modulus).bearing_forces


def stub(diameter: float, length: float, modulus: float) -> float:
    return shafts.shaft_stiffness([shafts.round_part(length, diameter)], modulus)


def slotted(outside: float, length: float, play: float, modulus: float, force: float) -> tuple[float, ...]:
    found: list[float] = []
    for hinge, cut in ((None, "half"), (0.4 * outside, "whole")):
        hub = slotted_hub.SlottedHub(
            outside_mm=outside, bore_mm=0.4 * outside, length_mm=length, screw_offset_mm=0.3 * outside,
            elastic_modulus=modulus, cross_cut=cut, hinge_mm=hinge,
        )  # fmt: skip
        pressed = slotted_hub.force_on_shaft(hub, Bounds(low=force, nominal=force, high=force), 0.0, play)
        found += [hub.closing(play), pressed.low, pressed.nominal]
    return tuple(found)


def second_mode(first: float, second: float, third: float, spring: float) -> float:
    return dynamics.chain([first, second, third], [spring, 2 * spring])[1].frequency


def held_mode(first: float, second: float, spring: float, held: float) -> float:
    return damped.damped_chain([first, second], [spring], [0.8], held)[0].frequency


FORMULAS: list[tuple[Callable[..., object], list[tuple[float, str]], str]] = [
    (axis.solid_cylinder_inertia, [(20, "mm"), (500, "mm"), (7870, "kg/m**3")], INERTIA),
    (
        screw_torque,
        [(10, "mm"), (12, "kg"), (2e-5, INERTIA), (30, FORCE), (0.02, TORQUE), (3, "m/s**2")],
        TORQUE,
    ),
    (rms, [(10, "mm"), (12, "kg"), (0.3, "m"), (0.2, "m/s"), (2, "m/s**2"), (0.4, "s")], TORQUE),
    (overload.blocked_carriage, [(3, TORQUE), (100, "rad/s"), (2e-5, INERTIA), (500, STIFF)], TORQUE),
    (overload.blocked_carriage, [(3, TORQUE), (90, "rad/s"), (2e-5, INERTIA), (500, STIFF), (1e-4, INERTIA)], TORQUE),
    (
        overload.collision,
        [(3, TORQUE), (90, "rad/s"), (2e-5, INERTIA), (500, STIFF), (1e-5, INERTIA), (800, STIFF)],
        TORQUE,
    ),
    (slotted, [(30, "mm"), (12, "mm"), (0.01, "mm"), (71e9, PRESSURE), (4000, FORCE)], FORCE),
    (tightening, [(4, "mm"), (0.7, "mm"), (6.53, "mm"), (4.5, "mm"), (640e6, PRESSURE)], TORQUE),
    (grip.clamp_torque, [(3000, FORCE), (8, "mm"), (0.12, "")], TORQUE),
    (grip.lever_force, [(3000, FORCE), (8, "mm"), (14, "mm")], FORCE),
    (
        grip.closing_force,
        [(0.02, "mm"), (24, "mm"), (8, "mm"), (10, "mm"), (8, "mm"), (71e9, PRESSURE)],
        FORCE,
    ),
    (grip.arc_share, [(8, "mm"), (7.2, "mm")], ""),
    (key, [(10, TORQUE), (14, "mm"), (5, "mm"), (5, "mm"), (15, "mm")], PRESSURE),
    (shafts.torsion_constant, [(8, "mm"), (3, "mm")], "m**4"),
    (shafts.flat_torsion_share, [(8, "mm"), (7.2, "mm")], ""),
    (shafts.keyseat_torsion_share, [(8, "mm"), (2, "mm"), (1.2, "mm")], ""),
    (shafts.torsional_stress, [(3, TORQUE), (8, "mm")], PRESSURE),
    (shafts.flat_stress, [(3, TORQUE), (8, "mm"), (7, "mm")], PRESSURE),
    (stub, [(8, "mm"), (20, "mm"), (8e10, PRESSURE)], STIFF),
    (misalignment.thermal_growth, [(100, "mm"), (20, "K"), (1.2e-5, "1/K")], "mm"),
    (misalignment.offset_at, [(0.02, "mm"), (0.2, ""), (40, "mm")], "mm"),
    (rigid_shear, [(8, "mm"), (20, "mm"), (40, "mm"), (0.05, "mm"), (206e9, PRESSURE)], FORCE),
    (lambda e, w, m: joints.oldham(e, w, m).sliding_speed, [(1, "mm"), (100, "rad/s"), (0.02, "kg")], "m/s"),
    (lambda e, w, m: joints.oldham(e, w, m).disc_force, [(1, "mm"), (100, "rad/s"), (0.02, "kg")], FORCE),
    (stiffness.in_series, [(100, STIFF), (300, STIFF)], STIFF),
    (stiffness.wind_up_um, [(3, TORQUE), (300, STIFF), (10, "mm")], "um"),
    (stiffness.lost_motion_um, [(0.1, TORQUE), (300, STIFF), (10, "mm"), (0.002, "rad")], "um"),
    (stiffness.following_error_um, [(1e-4, INERTIA), (900, "rad/s**2"), (300, STIFF), (10, "mm")], "um"),
    (stiffness.settled_error_um, [(0.3, TORQUE), (0.1, TORQUE), (300, STIFF), (10, "mm"), (0.001, "")], "um"),
    (estimates.rigid_stiffness, [(25, "mm"), (10, "mm"), (1, "mm"), (15, "mm"), (26.5e9, PRESSURE)], STIFF),
    (
        estimates.helical_slit_stiffness,
        [(25, "mm"), (12, "mm"), (2, "mm"), (3, ""), (1, ""), (71e9, PRESSURE)],
        STIFF,
    ),
    (
        estimates.radial_slit_stiffness,
        [(25, "mm"), (12, "mm"), (3, "mm"), (0.5, "mm"), (3, "mm"), (4, ""), (71e9, PRESSURE), (26.5e9, PRESSURE)],
        STIFF,
    ),
    (unevenness.lateral_ripple, [(300, "N/m"), (0.2, "mm")], "N*m"),
    (dynamics.two_inertia, [(2e-5, INERTIA), (7e-5, INERTIA), (300, STIFF)], "Hz"),
    (second_mode, [(2e-5, INERTIA), (3e-5, INERTIA), (9e-5, INERTIA), (300, STIFF)], "Hz"),
    (held_mode, [(2e-5, INERTIA), (3e-5, INERTIA), (300, STIFF), (60, STIFF)], "Hz"),
    (damped.magnetic_stiffness, [(1, TORQUE), (50, "")], STIFF),
    (unevenness.bent_angle, [(0.2, "mm"), (0.0, ""), (15, "mm")], ""),
    (unevenness.single_leg_error, [(0.2, "mm"), (9, "mm")], ""),
    (dynamics.stepper_resonance, [(1, TORQUE), (50, ""), (5e-5, INERTIA)], "Hz"),
]  # fmt: skip


@pytest.mark.parametrize(("formula", "inputs", "unit"), FORMULAS)
def test_the_result_changes_with_the_units_as_its_unit_says(
    formula: Callable[..., object], inputs: list[tuple[float, str]], unit: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = list(flat(formula(*(value for value, _ in inputs))))
    # The only constant with a unit inside the formulas.
    monkeypatch.setattr(axis, "GRAVITY", axis.GRAVITY * scale("m/s**2"))
    after = list(flat(formula(*(value * scale(of) if of else value for value, of in inputs))))
    assert before
    assert all(before)
    assert after == pytest.approx([value * scale(unit) for value in before], rel=1e-9)


def test_passing_torque_has_torques_an_acceleration_and_a_share() -> None:
    inputs = [(3.0, TORQUE), (1.0, TORQUE), (2e-5, INERTIA), (5e-5, INERTIA)]
    before = overload.passing_torque(*(value for value, _ in inputs))
    after = overload.passing_torque(*(value * scale(of) for value, of in inputs))
    for name, unit in (("torque", TORQUE), ("peak", TORQUE), ("acceleration", "rad/s**2"), ("share", "")):
        assert getattr(after, name) == pytest.approx(getattr(before, name) * scale(unit), rel=1e-12)


def test_a_wrong_dimension_would_be_seen() -> None:
    # Every unit scales by a factor of its own, so none can stand in for another.
    units = [TORQUE, INERTIA, FORCE, PRESSURE, "mm", "m/s", "m/s**2", "rad/s", "rad/s**2", "kg", "m**4", ""]
    factors = [round(scale(unit), 9) for unit in units]
    assert len(set(factors)) == len(units)
