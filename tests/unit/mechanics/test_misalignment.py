"""Misalignment: sums of ratios, growth, restoring force, and rigid couplings against beam theory."""

from __future__ import annotations

from math import inf, pi

import numpy as np
import pytest

from fitcheck.errors import UsageError
from fitcheck.mechanics.misalignment import (
    EXPANSION,
    Offsets,
    Overhang,
    flexing_angle,
    offset_at,
    restoring,
    rigid_load,
    root_sum_square,
    thermal_growth,
    usage,
)

E = 206e9


def test_sum_of_ratios() -> None:
    found = usage(Offsets(parallel_mm=0.05, angular_deg=0.5), Offsets(parallel_mm=0.1, angular_deg=2.0, axial_mm=0.3))
    assert dict(found.shares) == {"parallel": 0.5, "angular": 0.25}
    assert found.combined == 0.75
    assert usage(Offsets(parallel_mm=0.01), Offsets()).combined == inf
    assert usage(Offsets(), Offsets()).combined == 0.0
    with pytest.raises(UsageError, match=r"parallel_mm must be at least 0; found -0\.1"):
        Offsets(parallel_mm=-0.1)


def test_growth_and_geometry() -> None:
    # 100 mm of steel warmed by 40 K: 46 µm.
    assert thermal_growth(100.0, 40.0, EXPANSION["steel"]) == pytest.approx(0.046)
    assert offset_at(0.02, 0.1, 50.0) == pytest.approx(0.02 + 50 * np.tan(np.radians(0.1)))
    assert flexing_angle(0.1, 0.2, 20.0) == pytest.approx(np.degrees(0.005) + 0.2)
    assert root_sum_square(3.0, 4.0) == 5.0


def test_restoring_forces_are_linear() -> None:
    found = restoring(Offsets(parallel_mm=0.1, angular_deg=0.5, axial_mm=0.2), 120.0, 40.0)
    assert (found.radial_force, found.axial_force, found.moment) == (pytest.approx(12.0), pytest.approx(8.0), 0.0)


def test_uniform_shaft_clamped_at_both_ends() -> None:
    # Beam table (closed form): F = 12 E I e/L³, M = 6 E I e/L².
    stub = Overhang(diameter_mm=8.0, length_mm=30.0, span_mm=60.0)
    found = rigid_load(stub, stub, 0.0, 0.05)
    inertia = pi / 64 * 0.008**4
    assert found.shear == pytest.approx(12 * E * inertia * 5e-5 / 0.06**3, rel=1e-9)
    assert found.moments == pytest.approx([6 * E * inertia * 5e-5 / 0.06**2] * 2, rel=1e-9)
    assert found.bearing_forces[0] == pytest.approx(found.shear + found.moments[0] / 0.06)


def beam(modulus_inertia: float, length: float) -> np.ndarray:
    """Stiffness matrix of a bending beam, (u, phi) at both ends (closed form)."""
    a, b, c, d = 12.0, 6 * length, 4 * length**2, 2 * length**2
    return (
        modulus_inertia / length**3 * np.array([[a, b, -a, b], [b, c, -b, d], [-a, -b, a, -b], [b, d, -b, c]])
    )  # fmt: skip


@pytest.mark.parametrize("tilt", [0.0, 0.3])
def test_unequal_stubs_against_a_stiffness_matrix(tilt: float) -> None:
    first = Overhang(diameter_mm=10.0, length_mm=25.0, span_mm=50.0)
    second = Overhang(diameter_mm=8.0, length_mm=35.0, span_mm=80.0)
    offset = 0.04
    parts = [(10.0, 0.025, 1.0), (10.0, 0.020, 1e7), (8.0, 0.035, 1.0)]  # the coupling as good as rigid
    whole = np.zeros((8, 8))
    for number, (diameter, length, more) in enumerate(parts):
        whole[2 * number : 2 * number + 4, 2 * number : 2 * number + 4] += beam(
            more * E * pi / 64 * (diameter / 1000) ** 4, length
        )
    worst = 0.0
    for sign in (1.0, -1.0):
        moved = np.zeros(8)
        moved[6:] = [offset / 1000, sign * np.radians(tilt)]
        free = slice(2, 6)
        moved[free] = np.linalg.solve(whole[free, free], -whole[free, 6:] @ moved[6:])
        forces = whole @ moved
        worst = max(worst, abs(forces[0]) + abs(forces[1]) / 0.05, abs(forces[6]) + abs(forces[7]) / 0.08)
    found = rigid_load(first, second, 20.0, offset, tilt)
    assert max(found.bearing_forces) == pytest.approx(worst, rel=1e-5)


def test_rigid_coupling_on_a_tenth_of_a_millimetre_is_no_good() -> None:
    # A short stub turns a common misalignment into hundreds of newtons: what rigid couplings are judged by.
    stub = Overhang(diameter_mm=12.0, length_mm=20.0, span_mm=40.0)
    assert min(rigid_load(stub, stub, 5.0, 0.1).bearing_forces) > 1000.0
