"""Torsional frequencies: opentorsion's test cases, Friswell's chain, and opentorsion and scipy themselves."""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
import opentorsion
import pytest
from scipy.linalg import eigh

from fitcheck.mechanics.dynamics import chain, chain_anti_resonances, two_inertia


def test_opentorsion_test_shaft_176_hz() -> None:
    # opentorsion 0.3.2, test_shaft (package): J 211.4 and 8.3 kg·m², k 9.775e6 N·m/rad: 176.1 Hz.
    found = two_inertia(211.4, 8.3, 9.775e6)
    assert found.resonance == pytest.approx(176.1, abs=0.05)
    assert chain([211.4, 8.3], [9.775e6])[0].frequency == pytest.approx(found.resonance, rel=1e-12)


def test_friswell_geared_rotors() -> None:
    # opentorsion 0.3.2, test_friswell_pagex (package), from Friswell et al., Dynamics of Rotating Machinery: motor
    # 400e-6, two gears 25e-6 (1:1), two rotors 700e-6; shafts 10 000 (motor) and 5 000 twice (rotors): 0, 425.4,
    # 634.1, 3247.2 Hz. The two rotors are branches on the gear pair, so the drive is no chain; by symmetry it falls
    # apart into the rotors against each other (gear pair still) and a chain with both rotors as one.
    together = [mode.frequency for mode in chain([400e-6, 50e-6, 1400e-6], [10000.0, 10000.0])]
    against = chain_anti_resonances([50e-6, 700e-6], [5000.0])
    assert sorted([*together, *against]) == pytest.approx([425.4, 634.1, 3247.2], abs=0.05)


def test_friswell_example_9_7_1() -> None:
    # openTorsion, tests, test_friswell_ex971 (read): five disks in a row, 81.21, 141.21, 378.95, 536.36 Hz.
    modes = chain([3.5e-3, 3.5e-3, 3.5e-3, 0.15, 0.05], [12e3, 12e3, 14e3, 10e3])
    assert [mode.frequency for mode in modes] == pytest.approx([81.21, 141.21, 378.95, 536.36], abs=0.005)


def test_friswell_uniform_shaft() -> None:
    # A shaft cut into many lumps, as Friswell's example 9.9 does; the limit is known in closed form: a uniform free
    # shaft has f_n = n/(2 L) sqrt(G/rho). 400 lumps reach the first three to 0.01 %.
    count, length, shear, density, polar = 400, 0.8, 79.3e9, 7870.0, 1e-8
    lumps = [density * polar * length / count] * count
    springs = [shear * polar / (length / count)] * (count - 1)
    for number, mode in enumerate(chain(lumps, springs)[:3], start=1):
        assert mode.frequency == pytest.approx(number / (2 * length) * sqrt(shear / density), rel=1e-4)


def test_two_inertia_from_repository_code() -> None:
    # I 0.1 and 0.2 kg·m², k 2500 N·m/rad: 30.8 Hz (computed in REFERENCES from the closed form).
    assert two_inertia(0.1, 0.2, 2500.0).resonance == pytest.approx(30.8, abs=0.05)


def test_node_rule_of_two_rotors() -> None:
    # Two-rotor node rule (ankuransaha, Torsional-Vibration-of-Shafts, read): lA IA = lB IB, f = sqrt(GJ/(IA lA))/2 pi.
    i_a, i_b, rigidity, length = 0.3, 0.7, 900.0, 1.4
    l_a = length * i_b / (i_a + i_b)
    by_node = sqrt(rigidity / (i_a * l_a)) / (2 * pi)
    assert two_inertia(i_a, i_b, rigidity / length).resonance == pytest.approx(by_node, rel=1e-12)


INERTIAS = [1.4e-5, 1.0e-6, 3.0e-6, 2.4e-5, 2.3e-4]
SPRINGS = [4000.0, 350.0, 2600.0, 900.0]


def test_chain_against_opentorsion() -> None:
    shafts = [opentorsion.Shaft(number, number + 1, k=spring) for number, spring in enumerate(SPRINGS)]
    disks = [opentorsion.Disk(number, I=inertia) for number, inertia in enumerate(INERTIAS)]
    undamped, _, _ = opentorsion.Assembly(shafts, disk_elements=disks).modal_analysis()
    theirs = sorted(undamped)[2::2]  # each frequency comes twice, the free turning first
    assert [mode.frequency for mode in chain(INERTIAS, SPRINGS)] == pytest.approx(
        [value / (2 * pi) for value in theirs], rel=1e-6
    )


def test_chain_against_scipy() -> None:
    stiff = np.zeros((5, 5))
    for number, spring in enumerate(SPRINGS):
        stiff[number : number + 2, number : number + 2] += spring * np.array([[1, -1], [-1, 1]])
    values, vectors = eigh(stiff, np.diag(INERTIAS))
    for mode, value, vector in zip(chain(INERTIAS, SPRINGS), values[1:], vectors.T[1:], strict=True):
        assert (2 * pi * mode.frequency) ** 2 == pytest.approx(value, rel=1e-9)
        assert mode.shape == pytest.approx(list(vector / vector[np.argmax(np.abs(vector))]), abs=1e-9)


def test_anti_resonances_are_zeros_of_the_motor_s_response() -> None:
    # Receptance of the first inertia: (K - w² M)^-1 has a zero at (0, 0) where the rest has its own frequency.
    stiff = np.zeros((5, 5))
    for number, spring in enumerate(SPRINGS):
        stiff[number : number + 2, number : number + 2] += spring * np.array([[1, -1], [-1, 1]])
    for frequency in chain_anti_resonances(INERTIAS, SPRINGS):
        below, above = (
            np.linalg.inv(stiff - (2 * pi * frequency * share) ** 2 * np.diag(INERTIAS))[0, 0]
            for share in (1 - 1e-6, 1 + 1e-6)
        )
        assert below * above < 0.0


def test_light_damping_against_the_full_complex_problem() -> None:
    # A spring that loses psi in an oscillation is a viscous damper c = psi k/(2 pi w) at that frequency.
    psi = 0.4
    mode = chain([1.4e-5, 2.3e-4], [350.0], [psi])[0]
    damper = psi * 350.0 / (2 * pi) / (2 * pi * mode.frequency)
    disks = [opentorsion.Disk(0, I=1.4e-5), opentorsion.Disk(1, I=2.3e-4)]
    assembly = opentorsion.Assembly([opentorsion.Shaft(0, 1, k=350.0, c=damper)], disk_elements=disks)
    _, _, ratios = assembly.modal_analysis()
    assert mode.damping == pytest.approx(sorted(ratios[2:])[-1], rel=1e-3)
    assert mode.amplification == pytest.approx(2 * pi / psi)
