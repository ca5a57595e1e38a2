"""Damped and held chains: opentorsion, scipy's quadratic eigenvalues, closed forms, integration in time."""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
import opentorsion
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.linalg import eig

from fitcheck.errors import UsageError
from fitcheck.mechanics.damped import damped_chain, magnetic_stiffness, rotor_teeth_of
from fitcheck.mechanics.dynamics import chain, stepper_resonance

INERTIAS = [1.4e-5, 4.0e-6, 3.0e-6, 2.4e-5, 2.3e-4]
SPRINGS = [4000.0, 350.0, 2600.0, 900.0]
LOSSES = [0.0, 2.6, 0.1, 0.0]
"""psi of the coupling above what the weighting by energy is good for."""


def test_without_damping_it_is_the_plain_chain():
    found = damped_chain(INERTIAS, SPRINGS, [0.0] * 4)
    assert [mode.frequency for mode in found] == pytest.approx(
        [mode.frequency for mode in chain(INERTIAS, SPRINGS)], rel=1e-9
    )
    assert all(mode.damping == 0.0 and mode.amplification == float("inf") for mode in found)


@pytest.mark.parametrize("number", range(4))
def test_each_mode_against_opentorsion_with_its_own_dampers(number):
    mode = damped_chain(INERTIAS, SPRINGS, LOSSES)[number]
    dampers = [psi * k / (2 * pi) / (2 * pi * mode.natural) for psi, k in zip(LOSSES, SPRINGS, strict=True)]
    shafts = [opentorsion.Shaft(n, n + 1, k=k, c=c) for n, (k, c) in enumerate(zip(SPRINGS, dampers, strict=True))]
    disks = [opentorsion.Disk(n, I=inertia) for n, inertia in enumerate(INERTIAS)]
    natural, damped, ratios = opentorsion.Assembly(shafts, disk_elements=disks).modal_analysis()
    order = np.argsort(natural)[2::2]  # each comes twice, the free turning first
    assert natural[order][number] / (2 * pi) == pytest.approx(mode.natural, rel=1e-6)
    assert damped[order][number] / (2 * pi) == pytest.approx(mode.frequency, rel=1e-6)
    assert ratios[order][number] == pytest.approx(mode.damping, rel=1e-6, abs=1e-9)


@given(psi=st.floats(0.01, 3.0), ratio=st.floats(0.02, 50.0))
@settings(max_examples=30, deadline=None)
def test_two_inertias_in_closed_form(psi, ratio):
    mode = damped_chain([1e-5, ratio * 1e-5], [400.0], [psi])[0]
    natural = sqrt(400.0 * (1 + 1 / ratio) / 1e-5) / (2 * pi)
    assert mode.natural == pytest.approx(natural, rel=1e-9)
    assert mode.damping == pytest.approx(psi / (4 * pi), rel=1e-9)
    assert mode.frequency == pytest.approx(natural * sqrt(1 - (psi / (4 * pi)) ** 2), rel=1e-9)
    assert mode.amplification == pytest.approx(sqrt(1 + (2 * pi / psi) ** 2), rel=1e-9)


def test_the_amplification_is_that_of_a_spring_with_loss():
    # Torque in a spring of complex stiffness k (1 + i psi/2 pi) over the steady one, at its worst frequency.
    psi, k, one, two = 1.2, 350.0, 2e-5, 9e-5
    speeds = np.linspace(0.5, 1.5, 20001) * sqrt(k * (1 / one + 1 / two))
    soft = k * (1 + 1j * psi / (2 * pi))
    reduced = one * two / (one + two)
    torque = np.abs(soft / (soft - reduced * speeds**2))
    assert damped_chain([one, two], [k], [psi])[0].amplification == pytest.approx(torque.max(), rel=1e-6)


def test_the_weighting_by_energy_fails_above_a_fifth_and_this_does_not():
    # A chain with a soft spider: the plain chain's damping ratios against scipy's quadratic eigenvalues.
    modes = damped_chain(INERTIAS, SPRINGS, LOSSES)
    stiff, loss = np.zeros((5, 5)), np.zeros((5, 5))
    link = np.array([[1, -1], [-1, 1]])
    for n, (k, psi) in enumerate(zip(SPRINGS, LOSSES, strict=True)):
        stiff[n : n + 2, n : n + 2] += k * link
        loss[n : n + 2, n : n + 2] += psi * k / (2 * pi) / (2 * pi * modes[1].natural) * link
    mass = np.diag(INERTIAS)
    left = np.block([[np.zeros((5, 5)), np.eye(5)], [-stiff, -loss]])
    right = np.block([[np.eye(5), np.zeros((5, 5))], [np.zeros((5, 5)), mass]])
    values = eig(left, right)[0]
    nearest = min(values, key=lambda value: abs(abs(value) / (2 * pi) - modes[1].natural))
    assert -nearest.real / abs(nearest) == pytest.approx(modes[1].damping, rel=1e-6)
    weighted = [mode.damping for mode in chain(INERTIAS, SPRINGS, LOSSES)]
    assert any(abs(w / mode.damping - 1) > 0.02 for w, mode in zip(weighted, modes, strict=True) if mode.damping > 0.01)


def test_heavy_damping_is_told():
    with pytest.raises(UsageError, match="so heavy that a mode does not oscillate"):
        damped_chain([1e-5, 1e-5], [400.0], [13.0])
    with pytest.raises(UsageError, match="held must be at least 0; found -1"):
        damped_chain([1e-5, 1e-5], [400.0], [0.0], held=-1.0)


def test_a_rotor_swings_in_its_field_as_the_sine_says():
    # Integrated in time: J a'' = -T_h sin(N a), a small swing; the period by its zero crossings.
    holding, inertia = 1.2, 3e-5
    teeth = rotor_teeth_of(200, 2)
    assert teeth == 50
    assert rotor_teeth_of(500, 5) == 50

    def crosses(_time, state):
        return state[0]

    crosses.direction = 1
    run = solve_ivp(
        lambda _t, y: [y[1], -holding * np.sin(teeth * y[0]) / inertia], (0, 0.05), [1e-4, 0.0], events=crosses,
        rtol=1e-10, atol=1e-13,
    )  # fmt: skip
    times = run.t_events[0]
    measured = (len(times) - 1) / (times[-1] - times[0])
    assert stepper_resonance(holding, teeth, inertia) == pytest.approx(measured, rel=1e-4)
    assert magnetic_stiffness(holding, teeth) == 60.0


def test_a_held_chain_with_a_stiff_coupling_is_one_inertia_in_the_field():
    field = magnetic_stiffness(1.2, 50)
    low, high = damped_chain([3e-5, 5e-5], [1e7], [0.0], held=field)
    assert low.frequency == pytest.approx(stepper_resonance(1.2, 50, 8e-5), rel=1e-5)
    assert high.frequency > 100 * low.frequency


def test_a_held_chain_against_opentorsion_with_a_rotor_on_an_endless_mass():
    field = magnetic_stiffness(1.2, 50)
    shafts = [opentorsion.Shaft(0, 1, k=field), opentorsion.Shaft(1, 2, k=300.0), opentorsion.Shaft(2, 3, k=80.0)]
    disks = [opentorsion.Disk(n, I=inertia) for n, inertia in enumerate([1e3, 3e-5, 2e-5, 9e-5])]
    natural = np.sort(opentorsion.Assembly(shafts, disk_elements=disks).modal_analysis()[0])[2::2]
    found = damped_chain([3e-5, 2e-5, 9e-5], [300.0, 80.0], [0.0, 0.0], held=field)
    assert [mode.frequency for mode in found] == pytest.approx(list(natural / (2 * pi)), rel=1e-6)


def test_dampers_set_for_a_low_mode_do_not_hide_it_behind_an_overdamped_one():
    # A light hub on a lossy coupling: its own mode is a hundred times as high. The low mode is that of both springs in
    # series, of which the lossy one holds two thirds of the energy.
    low, high = damped_chain([1e-5, 1e-9, 3e-5], [300.0, 600.0], [0.9, 0.0])
    natural = sqrt(200.0 * (1 / 1e-5 + 1 / 3e-5)) / (2 * pi)
    assert low.natural == pytest.approx(natural, rel=3e-3)
    assert low.damping == pytest.approx(0.6 / (4 * pi), rel=1e-2)
    assert high.natural == pytest.approx(sqrt(900.0 / 1e-9) / (2 * pi), rel=1e-2)
