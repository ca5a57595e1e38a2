"""Torsion of shafts: Brown University's example, a wire, and Saint-Venant's problem solved anew."""

from __future__ import annotations

from math import degrees, pi

import numpy as np
import pytest
from scipy.sparse import csc_matrix
from scipy.sparse.linalg import spsolve

from fitcheck.mechanics.shafts import (
    flat_stress,
    flat_torsion_share,
    keyseat_torsion_share,
    round_part,
    shaft_stiffness,
    shaft_twist,
    torsion_constant,
    torsional_stress,
)


def test_brown_engn0310_notes_sp1() -> None:
    # github AppliedMechanicsLab/ENGN0310, CourseNotes/Torsion/SP1.md (read): d 30 mm, G 77 GPa, L 0.4 m, T 250 N·m.
    part = round_part(400.0, 30.0)
    assert torsion_constant(30.0) == pytest.approx(7.95216e-8, rel=1e-6)
    twist = shaft_twist(250.0, [part], 77e9)
    assert twist == pytest.approx(0.0163314, rel=5e-6)
    assert degrees(twist) == pytest.approx(0.93572, rel=5e-6)
    assert shaft_stiffness([part], 77e9) == pytest.approx(15308, abs=0.5)


def test_scilab_companion_2267_example_4_17() -> None:
    # FOSSEE/Scilab-TBC-Uploads 2267/CH12/EX4.17 (read): wire of 25 m, d 0.5 mm, G 82 GPa, 10 turns.
    stiffness = shaft_stiffness([round_part(25000.0, 0.5)], 82e9)
    assert stiffness * 10 * 2 * pi == pytest.approx(1.26454e-3, rel=1e-5)


def saint_venant(steps: int, cut: float = 0.0, width: float = 0.0, depth: float = 0.0) -> tuple[float, float]:
    """Torsion constant over the round shaft's, and stress in the middle of the flat over the round shaft's.

    Prandtl's stress function on a shaft of diameter 1: laplacian = -2, 0 at the edge, J = 2 int(phi); differences with
    unequal arms at the edge (Shortley and Weller).
    """
    step = 1.0 / steps
    line = (np.arange(steps + 1) - steps / 2) * step + 1e-9 * step
    x, y = np.meshgrid(line, line, indexing="ij")
    top = 0.5 - cut
    inside = (x**2 + y**2 < 0.25) & (y < top)
    if width:
        inside &= ~((np.abs(x) <= width / 2) & (y >= 0.5 - depth))
    number = np.full(inside.shape, -1)
    number[inside] = np.arange(inside.sum())
    i, j = np.nonzero(inside)
    x, y = line[i], line[j]
    east, west = np.sqrt(0.25 - y**2) - x, np.sqrt(0.25 - y**2) + x
    north, south = np.minimum(np.sqrt(0.25 - x**2), top) - y, np.sqrt(0.25 - x**2) + y
    if width:
        beside = y >= 0.5 - depth
        east = np.where(beside & (x < 0), np.minimum(east, -width / 2 - x), east)
        west = np.where(beside & (x > 0), np.minimum(west, x - width / 2), west)
        under = (np.abs(x) <= width / 2) & ~beside
        north = np.where(under, np.minimum(north, 0.5 - depth - y), north)
    arms = [np.clip(arm, 1e-6 * step, step) for arm in (east, west, north, south)]
    across = (arms[0] + arms[1], arms[0] + arms[1], arms[2] + arms[3], arms[2] + arms[3])
    near = (number[i + 1, j], number[i - 1, j], number[i, j + 1], number[i, j - 1])
    count = len(i)
    rows, columns = [np.arange(count)], [np.arange(count)]
    values = [-2 / (arms[0] * arms[1]) - 2 / (arms[2] * arms[3])]
    for arm, span, neighbour in zip(arms, across, near, strict=True):
        real = (neighbour >= 0) & (arm >= step * (1 - 1e-6))
        rows.append(np.arange(count)[real])
        columns.append(neighbour[real])
        values.append((2 / (arm * span))[real])
    matrix = csc_matrix((np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))), shape=(count, count))
    phi = spsolve(matrix, np.full(count, -2.0))
    constant = 2 * phi.sum() * step**2
    field = np.zeros(inside.shape)
    field[i, j] = phi
    last = np.nonzero(line < top - 1e-12)[0][-4:]
    slope = np.polyfit(np.append(line[last], top) - top, np.append(field[steps // 2, last], 0.0), 4)[-2]
    return constant / (pi / 32), abs(slope) / constant / (0.5 / (pi / 32))


def test_the_difference_solution_knows_the_round_shaft() -> None:
    constant, stress = saint_venant(80)
    assert constant == pytest.approx(1.0, abs=2e-4)
    assert stress == pytest.approx(1.0, abs=2e-4)


@pytest.mark.parametrize("cut", [0.03, 0.06, 0.12, 0.18, 0.28])
def test_flat_against_saint_venant(cut: float) -> None:
    # Depths other than those of the fit; the grid's own error is 1e-3 for the constant, the fit's 3e-4.
    constant, stress = saint_venant(120, cut=cut)
    height = 10.0 * (1.0 - cut)
    assert flat_torsion_share(10.0, height) == pytest.approx(constant, abs=1e-3)
    assert flat_stress(1.0, 10.0, height) / torsional_stress(1.0, 10.0) == pytest.approx(stress, rel=0.006)


@pytest.mark.parametrize(
    ("width", "depth"),
    [(2 / 7, 1.2 / 7), (5 / 14, 3 / 14), (6 / 20, 3.5 / 20), (14 / 50, 5.5 / 50), (4 / 10.01, 0.249)],
)
def test_keyseat_against_saint_venant(width: float, depth: float) -> None:
    # Sections of DIN 6885-1, none of which is a point of the fit; fit 0.005, grid 0.001.
    constant, _ = saint_venant(120, width=width, depth=depth)
    assert keyseat_torsion_share(10.0, 10.0 * width, 10.0 * depth) == pytest.approx(constant, abs=0.006)


@pytest.mark.parametrize("cut", [0.05, 0.15, 0.3])
def test_flat_lies_between_the_circle_inside_it_and_the_whole_shaft(cut: float) -> None:
    # Torsional rigidity grows with the section (monotony of the Dirichlet problem): a bound, not a measurement.
    share = flat_torsion_share(1.0, 1.0 - cut)
    assert (1.0 - cut) ** 4 < share < 1.0


def test_flat_against_the_handbook_polynomial_from_memory() -> None:
    # Roark, torsion of a circular shaft with one flat (memory): K = 2 C r^4, h the depth of the flat.
    for cut in (0.05, 0.1, 0.2, 0.3):
        h = 2 * cut
        c = 0.7854 - 0.0333 * h - 2.6183 * h**2 + 4.1595 * h**3 - 3.0769 * h**4 + 0.9299 * h**5
        assert flat_torsion_share(1.0, 1.0 - cut) == pytest.approx(c / 0.7854, rel=0.02)
