"""Demand: energy over closed cycles, momentum balance, motion, and the two bad cases integrated in time."""

from __future__ import annotations

from dataclasses import replace
from math import cos, fsum, pi, radians, sin

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from fitcheck.errors import UsageError
from fitcheck.mechanics.axis import Axis, RotaryAxis, ScrewAxis, back_driving_efficiency
from fitcheck.mechanics.demand import demand, inertia_ratio, reversal_torque
from fitcheck.mechanics.motion import Phase, cycle, dwell, there_and_back, trapezoid
from fitcheck.mechanics.overload import blocked_carriage, collision, emergency_stop, passing_torque

G = 9.80665


def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False, allow_infinity=False)


SCREWS = st.builds(
    ScrewAxis,
    lead_mm=numbers(1, 40), moving_mass=numbers(0, 200), screw_inertia=numbers(0, 1e-3), efficiency=numbers(0.3, 1),
    efficiency_on_inertia=st.booleans(), guide_friction=numbers(0, 0.3), seal_friction=numbers(0, 60),
    nut_preload=numbers(0, 2000), nut_friction=numbers(0, 0.3), bearing_drag=numbers(0, 0.1),
    external_force=numbers(-500, 500), incline_deg=numbers(-90, 90), counterbalance_mass=numbers(0, 50),
    counterbalance_force=numbers(-200, 200), driven_inertia=numbers(0, 1e-3), ratio=numbers(0.2, 5),
)  # fmt: skip
ROTARIES = st.builds(
    RotaryAxis,
    load_inertia=numbers(0, 5), ratio=numbers(1, 100), efficiency=numbers(0.5, 1), load_torque=numbers(-20, 20),
    friction_torque=numbers(0, 5), bearing_drag=numbers(0, 0.1), driven_inertia=numbers(0, 1e-3),
)  # fmt: skip
MOVES = st.tuples(numbers(0.01, 2), numbers(0.01, 1), numbers(0.1, 10), numbers(0.1, 10), numbers(0, 1))


def losses(axis: Axis, phases: tuple[Phase, ...]) -> float:
    """Energy that friction takes in the phases, worked out phase by phase from forces and travel, J."""
    parts = []
    for phase in phases:
        travel, way = phase.travel, phase.direction
        if way == 0:
            continue
        if isinstance(axis, ScrewAxis):
            mass = axis.moving_mass
            # the counterbalance pulls uphill, which positive travel goes against where it goes downhill
            uphill = 1 if axis.incline_deg >= 0 else -1
            balance = uphill * (axis.counterbalance_mass * G + axis.counterbalance_force)
            slope = G * mass * sin(radians(axis.incline_deg)) - balance
            friction = axis.guide_friction * mass * G * cos(radians(axis.incline_deg)) + axis.seal_friction
            nut = slope + axis.external_force + way * friction
            if axis.efficiency_on_inertia:
                nut += (mass + axis.counterbalance_mass) * phase.acceleration
            drag = axis.nut_friction * axis.nut_preload * axis.lead_mm / 1000 / (2 * pi) + axis.bearing_drag
            turned = abs(travel) / (axis.lead_mm / 1000) * 2 * pi
        else:
            friction = axis.friction_torque
            nut = axis.load_torque + way * friction + axis.load_inertia * phase.acceleration
            drag, turned = axis.bearing_drag, abs(travel) * axis.ratio
        drives = nut * way >= 0
        screw = abs(nut * travel) * (
            1 / axis.efficiency - 1 if drives else 1 - back_driving_efficiency(axis.efficiency)
        )
        parts += [friction * abs(travel), drag * turned, screw]
    return fsum(parts)


@settings(max_examples=150, deadline=None)
@given(axis=st.one_of(SCREWS, ROTARIES), move=MOVES)
def test_work_over_a_closed_cycle_is_the_work_against_friction(axis: Axis, move: tuple[float, ...]) -> None:
    # There and back: weight, external force and inertia give back what they took; what is left is friction (energy
    # balance). The losses are worked out from forces, the demand from torques.
    phases = there_and_back(*move)
    found = demand(axis, phases)
    size = fsum(abs(part.work) for part in found.segments)
    assert found.work == pytest.approx(losses(axis, cycle(phases)), rel=1e-9, abs=1e-9 * size + 1e-12)


@settings(max_examples=100, deadline=None)
@given(axis=SCREWS, move=MOVES)
def test_work_of_a_single_move_lifts_and_rubs(axis: ScrewAxis, move: tuple[float, ...]) -> None:
    phases = trapezoid(*move)
    found = demand(axis, phases)
    lifted = axis.standing_force * move[0]
    size = fsum(abs(part.work) for part in found.segments)
    assert found.work == pytest.approx(losses(axis, cycle(phases)) + lifted, rel=1e-9, abs=1e-9 * size + 1e-12)


@settings(max_examples=100, deadline=None)
@given(axis=st.one_of(SCREWS, ROTARIES), move=MOVES, motor=numbers(0, 1e-3))
def test_peak_bounds_rms_and_the_motor_carries_its_rotor(axis: Axis, move: tuple[float, ...], motor: float) -> None:
    found = demand(axis, there_and_back(*move), motor)
    assert found.rms <= found.peak * (1 + 1e-12)
    assert found.motor_rms <= found.motor_peak * (1 + 1e-12)
    for part in found.segments:
        alpha = (part.end_speed - part.start_speed) / part.duration
        assert part.motor_torque - part.coupling_torque == pytest.approx(motor * alpha, rel=1e-6, abs=1e-9)


@settings(max_examples=100, deadline=None)
@given(move=MOVES)
def test_trapezoid_travels_its_stroke_within_its_limits(move: tuple[float, ...]) -> None:
    stroke, speed, accelerate, brake, _ = move
    for sign in (1.0, -1.0):
        phases = cycle(trapezoid(sign * stroke, *move[1:]))
        assert fsum(phase.travel for phase in phases) == pytest.approx(sign * stroke, rel=1e-9)
        assert max(abs(phase.end_speed) for phase in phases) <= speed * (1 + 1e-12)
        assert max(abs(phase.acceleration) for phase in phases) <= max(accelerate, brake) * (1 + 1e-9)


def test_short_stroke_makes_a_triangle() -> None:
    # v² = 2 s a d/(a + d), by hand: s 0.01 m, a 2, d 1: v = sqrt(0.04/3).
    phases = trapezoid(0.01, 5.0, 2.0, 1.0)
    assert len(phases) == 2
    assert phases[0].end_speed == pytest.approx((0.04 / 3) ** 0.5)


def test_a_phase_that_turns_round_is_cut_at_rest() -> None:
    parts = cycle([Phase(duration=2.0, start_speed=1.0, end_speed=-3.0)])
    assert [(part.duration, part.direction) for part in parts] == [(0.5, 1), (1.5, -1)]


def test_phases_must_join() -> None:
    with pytest.raises(UsageError, match="the speed jumps from 1 to 0 between phases 1 and 2"):
        cycle([Phase(duration=1.0, start_speed=0.0, end_speed=1.0), dwell(1.0)])
    with pytest.raises(UsageError, match="at least one phase; found none"):
        cycle([])


def test_vertical_axis_holds_at_rest_and_gets_torque_back_going_down() -> None:
    axis = ScrewAxis(lead_mm=10.0, moving_mass=20.0, incline_deg=90.0, efficiency=0.9)
    found = demand(axis, there_and_back(0.2, 0.2, 1.0, pause=0.5))
    weight = 20 * G * 0.010 / (2 * pi)
    assert found.holding == pytest.approx(weight)
    assert [part.coupling_torque for part in found.segments if part.start_speed == part.end_speed == 0] == [
        pytest.approx(weight)
    ] * 2
    up, down = axis.torque(1), axis.torque(-1)
    assert up == pytest.approx(weight / 0.9)
    assert down == pytest.approx(weight * (2 - 1 / 0.9))  # the load drives: still positive, less than the weight
    assert reversal_torque(axis) == pytest.approx(up - down)


def test_half_up_an_incline_lies_between_flat_and_vertical() -> None:
    def lift(angle: float) -> float:
        return ScrewAxis(lead_mm=10.0, moving_mass=20.0, incline_deg=angle, guide_friction=0.05).torque(1)

    assert lift(30.0) == pytest.approx(20 * G * (0.5 + 0.05 * cos(pi / 6)) * 0.010 / (2 * pi * 0.9))
    assert lift(0.0) < lift(30.0) < lift(90.0)


@settings(max_examples=100, deadline=None)
@given(
    motor=numbers(-50, 50), load=numbers(-50, 50), j_m=numbers(1e-6, 1e-2), j_l=numbers(1e-6, 1e-2)
)  # fmt: skip
def test_passing_torque_balances_both_sides(motor: float, load: float, j_m: float, j_l: float) -> None:
    # Newton for each side: J_M a = T_M - T, J_L a = T - T_L.
    found = passing_torque(motor, load, j_m, j_l)
    scale = abs(motor) + abs(load)
    assert j_m * found.acceleration == pytest.approx(motor - found.torque, abs=1e-9 * scale + 1e-12)
    assert j_l * found.acceleration == pytest.approx(found.torque - load, abs=1e-9 * scale + 1e-12)
    assert found.peak >= abs(found.torque)


def test_sudden_torque_against_the_motion_integrated() -> None:
    j_m, j_l, k, torque = 2e-5, 6e-5, 300.0, 3.0

    def motion(_: float, y: list[float]) -> list[float]:
        through = k * (y[0] - y[1])
        return [y[2], y[3], (torque - through) / j_m, through / j_l]

    done = solve_ivp(motion, (0, 0.01), [0, 0, 0, 0], max_step=1e-5, rtol=1e-9, atol=1e-12)
    peak = max(k * (done.y[0] - done.y[1]))
    found = passing_torque(torque, 0.0, j_m, j_l)
    assert found.share == pytest.approx(0.75)
    assert found.peak == pytest.approx(peak, rel=1e-4)


@pytest.mark.parametrize("driven", [float("inf"), 6e-5])
def test_blocked_carriage_against_the_motion_integrated(driven: float) -> None:
    j_m, k, torque, speed = 2e-5, 800.0, 2.0, 60.0

    def motion(_: float, y: list[float]) -> list[float]:
        through = k * (y[0] - y[1])
        return [y[2], y[3], (torque - through) / j_m, through / driven]

    done = solve_ivp(motion, (0, 0.003), [0, 0, speed, 0], max_step=2e-6, rtol=1e-9, atol=1e-12)
    peak = max(k * (done.y[0] - done.y[1]))
    assert blocked_carriage(torque, speed, j_m, k, driven) == pytest.approx(peak, rel=1e-4)


def test_blocked_at_rest_takes_twice_the_motor_s_torque() -> None:
    assert blocked_carriage(2.0, 0.0, 1e-5, 500.0) == pytest.approx(4.0)


def test_emergency_stop_going_down_adds_the_weight() -> None:
    level = emergency_stop(5.0, 0.0, 2e-5, 8e-5, onset=1.0)
    down = emergency_stop(5.0, -1.0, 2e-5, 8e-5, onset=1.0)
    assert level.torque == pytest.approx(-5.0 * 0.8)
    assert down.torque == pytest.approx(-5.0 * 0.8 - 1.0 * 0.2)
    assert emergency_stop(1.0, -3.0, 2e-5, 8e-5).acceleration > 0  # the brake does not hold the load


def stopped(brake: float, rest: float, friction: float, rotor: float, driven: float, before: float) -> float:
    """Greatest torque through the coupling of stops out of many speeds, so at many phases, by Newton for both sides.

    A brake with Coulomb friction on the rotor, a constant pull and Coulomb friction on the driven side, a spring of
    100 N·m/rad between; steps of 1/250 of a swing.
    """
    spring, times = 100.0, 250
    step = 2 * pi / np.sqrt(spring * (rotor + driven) / (rotor * driven)) / times
    motor = np.linspace(1.0, 6.0, 40) * brake / np.sqrt(spring * rotor)
    load, twist = motor.copy(), np.full(40, before / spring)
    most, rests = np.zeros(40), 0
    for _ in range(40 * times):
        torque = spring * twist
        sticks = (motor == 0.0) & (np.abs(torque) <= brake)
        drag = np.where(motor == 0.0, -np.sign(torque), np.sign(motor)) * brake
        pulled = torque - rest
        held = (load == 0.0) & (np.abs(pulled) <= friction)
        rub = np.where(load == 0.0, np.sign(pulled), np.sign(load)) * friction
        faster = motor + np.where(sticks, 0.0, -(torque + drag) / rotor) * step
        motor = np.where((motor != 0.0) & (faster * motor < 0.0), 0.0, faster)  # it stops before it turns back
        quicker = load + np.where(held, 0.0, (pulled - rub) / driven) * step
        load = np.where((friction > 0.0) & (load != 0.0) & (quicker * load < 0.0), 0.0, quicker)
        twist = twist + (motor - load) * step
        most = np.maximum(most, np.abs(spring * twist))
        rests = rests + 1 if sticks.all() else 0
        if rests > 2 * times:
            break
    return float(most.max())


@pytest.mark.parametrize(
    ("rest", "friction", "driven", "before"),
    [
        (0.3, 0.0, 0.3, 0.3), (-0.3, 0.0, 0.3, -0.3), (0.3, 0.1, 1.5, 0.4), (0.45, 0.0, 0.3, 0.97),
        (0.24, 0.0, 0.36, -0.5), (0.7, 0.0, 1.1, 0.2), (-0.5, 0.2, 7.5, -0.15), (0.0, 0.3, 3.0, 0.3),
        (0.66, 0.0, 0.03, 0.8),
    ],
)  # fmt: skip
def test_emergency_stop_against_the_motion_integrated(
    rest: float, friction: float, driven: float, before: float
) -> None:
    # Both directions of the driven side's friction, as the check asks for them; the worst phase is nearly met by some
    # speed where friction does not eat the swing, and never exceeded.
    loads = (rest + friction, rest)
    bound = max(emergency_stop(1.0, load, 1.0, driven, before=before, rest_torque=rest).peak for load in loads)
    found = stopped(1.0, rest, friction, 1.0, driven, before)
    assert found <= bound * 1.001
    assert found >= bound * (0.95 if friction == 0.0 else 0.6)


def test_emergency_stop_counts_what_passed_before() -> None:
    # By hand: shares 0.6, T = 1 + 0.6 (-4 - 1) = -2; from +3 it swings by 5 to -7, from -2 not at all.
    stop = {"braking_torque": 4.0, "load_torque": 1.0, "motor_inertia": 2e-5, "driven_inertia": 3e-5}
    # When the rotor stands, 3 off the torque at rest: 0.4 R² = 0.4 3² + 5² + (0.4 3)²/0.6 = 31; it slips at 4, and
    # swings about 1 + 0.6 (4 - 1) = 2.8 by the root of (4 - 2.8)² + 31 - 0.4 (4 - 1)².
    assert emergency_stop(**stop, before=3.0, rest_torque=1.0).peak == pytest.approx(2.8 + (1.44 + 31 - 3.6) ** 0.5)
    assert emergency_stop(**stop, before=-2.0).peak == pytest.approx(2.0)
    # When all stands it swings about the torque at rest, from -2: by 2.5 about 0.5, to 3, which the brake holds.
    assert emergency_stop(**stop, before=-2.0, rest_torque=0.5).peak == pytest.approx(3.0)
    # About 2 it would swing by 4, to 6; at 4 the rotor slips, and with 0.4 of 4² - (4 - 2)² it swings by the root of
    # 0.8² + 0.4 (16 - 4) about 2 + 0.6 (4 - 2) = 3.2.
    assert emergency_stop(**stop, before=-2.0, rest_torque=2.0).peak == pytest.approx(3.2 + (0.64 + 4.8) ** 0.5)
    assert emergency_stop(**stop, before=-2.0, rest_torque=2.0, onset=1.0).peak == pytest.approx(2.0)
    # A brake that does not hold the load: the stop's torque, 3 + 0.6 (-1 - 3) = 0.6, swings about that at rest.
    assert emergency_stop(1.0, 3.0, 2e-5, 3e-5, before=3.0, rest_torque=3.0).peak == pytest.approx(5.4)


@settings(max_examples=60, deadline=None)
@given(
    brake=numbers(0.1, 10), rest=numbers(-8, 8), before=numbers(-10, 10), rotor=numbers(1e-6, 1e-3),
    driven=numbers(0, 1e-3), onset=numbers(1, 2),
)  # fmt: skip
def test_a_more_sudden_emergency_stop_is_never_softer(
    brake: float, rest: float, before: float, rotor: float, driven: float, onset: float
) -> None:
    soft, hard = (
        emergency_stop(brake, rest, rotor, driven, sudden, before, rest).peak
        for sudden in (onset, min(2.0, onset + 0.1))
    )
    assert abs(rest) <= soft * (1 + 1e-12)
    assert soft <= hard * (1 + 1e-9)


@settings(max_examples=40, deadline=None)
@given(
    inertias=st.lists(numbers(1e-6, 1e-3), min_size=1, max_size=4), springs=st.lists(numbers(50, 5e4), min_size=4),
    torque=numbers(0.1, 20),
)  # fmt: skip
def test_no_more_than_twice_the_motor_s_torque_passes_into_a_block(
    inertias: list[float], springs: list[float], torque: float
) -> None:
    # Inertias in a row on springs, the last spring on the block, the torque coming at once on the first: the modes add.
    count = len(inertias)
    stiff = np.zeros((count, count))
    for i in range(count):
        stiff[i, i] += springs[i]
        if i + 1 < count:
            stiff[i + 1, i + 1] += springs[i]
            stiff[i, i + 1] -= springs[i]
            stiff[i + 1, i] -= springs[i]
    root = np.sqrt(np.array(inertias))
    squared, shapes = np.linalg.eigh(stiff / root[:, None] / root[None, :])
    shapes = shapes / root[:, None]
    last = shapes[0] - (shapes[1] if count > 1 else 0.0)
    times = np.linspace(0, 40 / np.sqrt(squared[0]), 4000)
    moved = shapes[0] * torque / squared * (1 - np.cos(np.sqrt(squared) * times[:, None]))
    through = springs[0] * moved @ last
    assert through.max() <= blocked_carriage(torque, 0.0, inertias[0], springs[0]) * (1 + 1e-9)


@pytest.mark.parametrize("screw", [5e-6, 4e-5])
@pytest.mark.parametrize("stop", [200.0, 5000.0])
def test_collision_against_the_motion_integrated(screw: float, stop: float) -> None:
    j_m, k, torque, speed = 3e-5, 900.0, 1.5, 80.0

    def motion(_: float, y: list[float]) -> list[float]:
        through = k * (y[0] - y[1])
        return [y[2], y[3], (torque - through) / j_m, (through - stop * y[1]) / screw]

    done = solve_ivp(motion, (0, 0.1), [0, 0, speed, speed], max_step=2e-5, rtol=1e-8, atol=1e-11)
    peak = max(abs(k * (done.y[0] - done.y[1])))
    found = collision(torque, speed, j_m, k, screw, stop)
    assert peak <= found * (1 + 1e-6)
    assert peak > 0.97 * found  # the modes come together sooner or later


def test_collision_by_its_limits() -> None:
    # A rigid stop, or no screw: the energy of the rotor alone. A very stiff stop comes to it.
    alone = blocked_carriage(1.5, 80.0, 3e-5, 900.0)
    assert collision(1.5, 80.0, 3e-5, 900.0) == alone
    assert collision(1.5, 80.0, 3e-5, 900.0, 1e-5) == alone
    assert collision(1.5, 80.0, 3e-5, 900.0, 0.0, 300.0) == blocked_carriage(1.5, 80.0, 3e-5, 225.0)
    assert collision(1.5, 80.0, 3e-5, 900.0, 1e-9, 300.0) == pytest.approx(
        blocked_carriage(1.5, 80.0, 3e-5, 225.0), rel=0.02
    )
    # Momentum: without the motor's torque it grows with the speed.
    assert collision(0.0, 80.0, 3e-5, 900.0, 2e-5, 700.0) == pytest.approx(
        2 * collision(0.0, 40.0, 3e-5, 900.0, 2e-5, 700.0)
    )
    with pytest.raises(UsageError, match="turning_inertia must be at least 0; found -1"):
        collision(1.0, 1.0, 1.0, 1.0, -1.0)
    with pytest.raises(UsageError, match="motor_inertia must be greater than 0; found 0"):
        collision(1.0, 1.0, 0.0, 1.0, 1.0, 1.0)


def test_wrong_inputs_are_named() -> None:
    with pytest.raises(UsageError, match="lead_mm must be greater than 0; found 0"):
        ScrewAxis(lead_mm=0.0, moving_mass=1.0)
    with pytest.raises(UsageError, match="incline_deg must be between -90 and 90; found 120"):
        ScrewAxis(lead_mm=5.0, moving_mass=1.0, incline_deg=120.0)
    with pytest.raises(UsageError, match="acceleration_at_rest must be between 0 and 0; found 1"):
        ScrewAxis(lead_mm=5.0, moving_mass=1.0).torque(0, 1.0)
    with pytest.raises(UsageError, match="motor_inertia must be greater than 0; found 0"):
        inertia_ratio(1.0, 0.0)
    with pytest.raises(UsageError, match="onset must be between 1"):
        passing_torque(1.0, 0.0, 1.0, 1.0, onset=3.0)
    with pytest.raises(UsageError, match="blocked_inertia must be greater than 0; found -1"):
        blocked_carriage(1.0, 1.0, 1.0, 1.0, -1.0)
    with pytest.raises(UsageError, match="moving_mass must be a finite number; found nan"):
        ScrewAxis(lead_mm=5.0, moving_mass=float("nan"))


@settings(max_examples=100, deadline=None)
@given(axis=st.one_of(SCREWS, ROTARIES), acceleration=numbers(-5, 5))
def test_inertia_is_what_acceleration_takes_without_losses(axis: Axis, acceleration: float) -> None:
    # With an efficiency of 1, T(a) - T(0) = J alpha (Newton), alpha = a over the travel for a radian.
    axis = replace(axis, efficiency=1.0)
    taken = axis.torque(1, acceleration) - axis.torque(1)
    scale = abs(axis.torque(1)) + abs(taken)
    assert taken == pytest.approx(axis.inertia * acceleration / axis.travel_per_radian, rel=1e-9, abs=1e-9 * scale)


def test_given_back_efficiency_prevails() -> None:
    axis = ScrewAxis(lead_mm=10.0, moving_mass=20.0, incline_deg=90.0, efficiency=0.5, back_efficiency=0.3)
    assert axis.torque(-1) == pytest.approx(0.3 * axis.holding_torque)
    # Without it a screw of 0.5 locks itself: 2 - 1/0.5 = 0.
    assert replace(axis, back_efficiency=None).torque(-1) == 0.0
    assert RotaryAxis(load_inertia=0.1, load_torque=2.0, ratio=4.0).holding_torque == 0.5
