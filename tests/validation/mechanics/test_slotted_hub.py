"""Slotted one-piece hubs against the elastic body itself: three-dimensional elements on a rigid shaft, no friction."""

from __future__ import annotations

from itertools import product
from math import pi
from typing import Any

import numpy as np
import pytest
from scipy.optimize import nnls
from scipy.sparse import csc_matrix
from scipy.sparse.linalg import splu

from fitcheck.errors import UsageError
from fitcheck.mechanics.bounds import Bounds, exactly
from fitcheck.mechanics.grip import closing_force
from fitcheck.mechanics.slotted_hub import CROSS_CUTS, SlottedHub, force_on_shaft

MODULUS, POISSON, SLOT = 71e3, 0.33, 1.0  # MPa, -, mm: aluminium
GAUSS = (-(3**-0.5), 3**-0.5)
CORNERS = np.array(
    [[-1, -1, -1], [1, -1, -1], [1, 1, -1], [-1, 1, -1], [-1, -1, 1], [1, -1, 1], [1, 1, 1], [-1, 1, 1]], float
)


def slopes(place: tuple[float, ...]) -> np.ndarray:
    found = np.zeros((3, 8))
    for axis in range(3):
        one, two = (other for other in range(3) if other != axis)
        found[axis] = CORNERS[:, axis] / 8 * (1 + CORNERS[:, one] * place[one]) * (1 + CORNERS[:, two] * place[two])
    return found


def strains(slope: np.ndarray) -> np.ndarray:
    made = np.zeros((6, 3 * slope.shape[1]))
    for row, axis in enumerate((0, 1, 2)):
        made[row, axis::3] = slope[axis]
    for row, (one, two) in zip((3, 4, 5), ((0, 1), (1, 2), (2, 0)), strict=True):
        made[row, one::3], made[row, two::3] = slope[two], slope[one]
    return made


def brick(corners: np.ndarray) -> np.ndarray:
    """Stiffness of a brick with incompatible modes, which bends without locking (Wilson, Taylor)."""
    first, second = MODULUS * POISSON / (1 + POISSON) / (1 - 2 * POISSON), MODULUS / 2 / (1 + POISSON)
    material = np.diag([2 * second] * 3 + [second] * 3)
    material[:3, :3] += first
    middle = slopes((0.0, 0.0, 0.0)) @ corners
    size = np.linalg.det(middle)
    own, mixed, modes = np.zeros((24, 24)), np.zeros((24, 9)), np.zeros((9, 9))
    for place in product(GAUSS, repeat=3):
        slope = slopes(place)
        jacobian = slope @ corners
        volume = np.linalg.det(jacobian)
        known = strains(np.linalg.solve(jacobian, slope))
        inner = strains(np.linalg.solve(middle, np.diag([-2 * part for part in place])) * size / volume)
        own += volume * known.T @ material @ known
        mixed += volume * known.T @ material @ inner
        modes += volume * inner.T @ material @ inner
    return own - mixed @ np.linalg.solve(modes, mixed.T)


def elastic(outside: float, bore: float, offset: float, length: float, cut: float) -> dict[str, np.ndarray]:
    """One half of a hub, cut along its slot; one face held by the body beyond `cut` half-turns from the slot.

    Returns the inward movement of the bore by its own pressures (mm/N) and by the screw (mm for 1 N).
    """
    turns, walls, layers = 22, 4, 5
    angle = np.linspace(2 * SLOT / (outside + bore), pi, turns + 1)
    radius = bore / 2 * (outside / bore) ** np.linspace(0, 1, walls + 1)
    along = np.linspace(0, length, layers + 1)
    a, r, z = np.meshgrid(angle, radius, along, indexing="ij")
    nodes = np.stack([r * np.cos(a), r * np.sin(a), z], -1).reshape(-1, 3)
    number = np.arange(len(nodes)).reshape(a.shape)
    rows, columns, values = [], [], []
    for j in range(walls):
        made = None
        for i, k in product(range(turns), range(layers)):
            corner = [(i, j), (i, j + 1), (i + 1, j + 1), (i + 1, j)]
            at = np.array([number[p, q, k + up] for up in (0, 1) for p, q in corner])
            made = brick(nodes[at]) if made is None else made
            turn = angle[i] - angle[0]
            one = np.array([[np.cos(turn), -np.sin(turn), 0], [np.sin(turn), np.cos(turn), 0], [0, 0, 1]])
            turned = np.kron(np.eye(8), one)
            places = (3 * at[:, None] + np.arange(3)).ravel()
            rows.append(np.repeat(places, 24))
            columns.append(np.tile(places, 24))
            values.append((turned @ made @ turned.T).ravel())
    count = 3 * len(nodes)
    stiffness = csc_matrix((np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))), (count, count))
    held = set(3 * number[-1].ravel() + 1)  # the web lies in the plane of symmetry
    body = number[angle >= pi * cut][:, :, -1].ravel()
    held |= {3 * node + axis for node in body for axis in range(3)}
    held |= {3 * number[-1, 0, 0], 3 * number[-1, 0, -1], 3 * number[-1, 0, -1] + 2}  # nothing floats
    free = np.setdiff1d(np.arange(count), sorted(held))
    screw = np.zeros(count)
    low, layer = np.searchsorted(radius, offset) - 1, layers // 2
    part = (offset - radius[low]) / (radius[low + 1] - radius[low])
    for node, share in ((number[0, low, layer], 1 - part), (number[0, low + 1, layer], part)):
        screw[3 * node + 1] -= share
    inner, turned = number[:, 0, :].ravel(), np.repeat(angle, layers + 1)
    normal = np.zeros((count, len(inner)))
    normal[3 * inner, np.arange(len(inner))] = np.cos(turned)
    normal[3 * inner + 1, np.arange(len(inner))] = np.sin(turned)
    moving = np.abs(normal[free]).sum(0) > 1e-9
    normal, turned = normal[:, moving], turned[moving]
    answer = splu(stiffness[free][:, free].tocsc()).solve(normal[free])
    return {"give": normal[free].T @ answer, "screw": answer.T @ screw[free], "angle": turned}


def grip(hub: dict[str, np.ndarray], force: float, play: float) -> float:
    """Sum of the pressures on one half, in N: T = mu d times it. The shaft finds its own place in the bore."""
    give, lean = hub["give"], np.cos(hub["angle"])
    root = np.linalg.cholesky(give + 1e-9 * np.trace(give) / len(give) * np.eye(len(give)))
    gap = play / 2 + force * hub["screw"]
    # Pressures that close all gaps at least energy, none negative, their sum along the slot nothing.
    heavy = 1e3 * np.abs(root).max()
    pressure, _ = nnls(
        np.vstack([root.T, heavy * lean]), np.append(-np.linalg.solve(root, gap), 0.0), maxiter=5000
    )  # fmt: skip
    return float(pressure.sum())


def slotted(outside: float, bore: float, offset: float, length: float, cut: str, **more: Any) -> SlottedHub:
    return SlottedHub(
        outside_mm=outside, bore_mm=bore, screw_offset_mm=offset, length_mm=length, elastic_modulus=MODULUS * 1e6,
        cross_cut=cut, **more,
    )  # fmt: skip


HUBS = [(32, 8, 9, 13, 2200), (25, 10, 8, 10, 2200), (20, 4, 5, 8, 1500), (40, 12, 11, 12, 4000), (19, 12, 8, 10, 1500)]


@pytest.mark.parametrize(("outside", "bore", "offset", "length", "force"), HUBS)
@pytest.mark.parametrize(("cut", "freed"), [("whole", 0.75), ("half", 0.5), ("none", 0.0)])
def test_low_force_lies_under_the_elastic_solution(
    outside: float, bore: float, offset: float, length: float, force: float, cut: str, freed: float
) -> None:
    hub = elastic(outside, bore, offset, length, freed)
    for load, play in product((force, 1.8 * force), (0.0, 0.01, 0.02, 0.03)):
        ours = force_on_shaft(slotted(outside, bore, offset, length, cut), exactly(load), 0.0, play).low
        true = grip(hub, load, play)
        assert ours <= true
        if play == 0.0 and cut != "none":
            assert ours >= 0.5 * true  # careful, and not absurdly so


# Short and thin, thin with its screw close to the bore, thick and long, thick with its screw deep inside.
HALF_CUT = [
    (28, 18, 10.6, 8.7),
    (55, 36, 19.2, 28.6),
    (46, 9, 14.7, 24.4),
    (51, 8.4, 10.2, 21.4),
    (51, 24.5, 15.3, 16.3),
]


@pytest.mark.parametrize(("outside", "bore", "offset", "length"), HALF_CUT)
def test_a_half_cut_closes_the_harder_the_shorter_and_thinner_the_hub(
    outside: float, bore: float, offset: float, length: float
) -> None:
    hub, ours = elastic(outside, bore, offset, length, 0.5), slotted(outside, bore, offset, length, "half")
    least = []
    for times, play in product((3.0, 4.0, 5.0, 7.0, 12.0), (0.01, 0.03)):
        force = times * ours.closing(play)
        low, true = force_on_shaft(ours, exactly(force), 0.0, play).low, grip(hub, force, play)
        assert low <= true
        least.append(low / true if true > 0.0 else 1.0)
    assert max(least) > 0.7  # careful, and somewhere close


@pytest.mark.parametrize(("outside", "bore", "offset", "length"), [(25, 14.9, 10.2, 8), (39, 24.7, 15.6, 16.8)])
def test_a_thin_hub_that_is_freed_closes_under_the_factor_too(
    outside: float, bore: float, offset: float, length: float
) -> None:
    hub, ours = elastic(outside, bore, offset, length, 0.75), slotted(outside, bore, offset, length, "whole")
    for times in (1.3, 1.5, 1.8, 2.5, 4.0):
        force = times * ours.closing(0.02)
        assert force_on_shaft(ours, exactly(force), 0.0, 0.02).low <= grip(hub, force, 0.02)


@pytest.mark.parametrize(("outside", "bore", "offset", "length", "force"), HUBS[:2])
def test_a_freed_hub_without_play_presses_by_its_lever(
    outside: float, bore: float, offset: float, length: float, force: float
) -> None:
    # The pressure's part across the slot is the lever's force; the elastic wall spreads it, so T is 1.5 times as much.
    hub = elastic(outside, bore, offset, length, 1.0)
    lever = slotted(outside, bore, offset, length, "whole").lever
    assert lever == pytest.approx(1 + offset / ((outside + bore) / 4))
    assert 1.45 * lever < grip(hub, force, 0.0) / force < pi / 2 * lever


@pytest.mark.parametrize(("outside", "bore", "offset", "length", "_force"), HUBS[:2])
def test_ring_formula_lies_a_fifth_over_the_elastic_closing_force(
    outside: float, bore: float, offset: float, length: float, _force: float
) -> None:
    # The play closes where the first pressure comes: bisected on the elastic body, free all round.
    hub, play = elastic(outside, bore, offset, length, 1.0), 0.02
    low, high = 0.0, 1e4
    for _ in range(14):  # to less than a newton of some hundreds
        middle = (low + high) / 2
        low, high = (low, middle) if grip(hub, middle, play) > 1e-6 * middle else (middle, high)
    formula = closing_force(play, outside, bore, length, offset, MODULUS * 1e6)
    assert 1.1 < formula / high < 1.3


def test_relieved_web_by_its_own_bending() -> None:
    # A web 4 thick and 4 long turns by play/l1 (play/2 for either half): M = E I play/(l1 4), F = M/(l1 + e).
    hub = slotted(32.0, 8.0, 9.0, 13.0, "whole", hinge_mm=14.0)
    inertia = 13.0 * 4.0**3 / 12.0
    assert hub.closing(0.024) == pytest.approx(MODULUS * inertia * 0.024 / (14.0 * 4.0) / (14.0 + 9.0), rel=1e-12)
    found = force_on_shaft(hub, Bounds(low=2000.0, nominal=3000.0, high=4000.0), 0.0, 0.024)
    lever = 1 + 9 / 14
    assert found.low == pytest.approx((2000 - CROSS_CUTS["whole"] * hub.closing(0.024)) * lever)
    assert found.nominal == pytest.approx((3000 - hub.closing(0.012)) * lever)
    assert found.high == pytest.approx(4000 * lever)


def test_less_freed_presses_less_and_interference_costs_nothing() -> None:
    force = Bounds(low=2000.0, nominal=3000.0, high=4000.0)
    lows = [force_on_shaft(slotted(32, 14, 10, 13, cut), force, 0.0, 0.01).low for cut in CROSS_CUTS]
    assert lows == sorted(lows, reverse=True)
    assert lows[0] > lows[1] > lows[2] == 0.0
    tight = force_on_shaft(slotted(32, 14, 10, 13, "half"), force, -0.02, -0.001)
    assert tight.low == pytest.approx(2000 * (1 + 10 / ((32 + 14) / 4)))
    # A half cut in a hub shorter than 0.3 of its diameter is taken as none.
    assert force_on_shaft(slotted(32, 14, 10, 9, "half"), force, -0.02, 0.0).low == pytest.approx(0.5 * 2000)


def test_wrong_hubs_are_told() -> None:
    with pytest.raises(UsageError, match="a hub of 8 mm does not hold a bore of 8 mm"):
        slotted(8.0, 8.0, 5.0, 8.0, "whole")
    with pytest.raises(UsageError, match="one of whole, half, none; found 'most'"):
        slotted(20.0, 8.0, 6.0, 8.0, "most")
    for hinge in (6.9, 10.0):
        with pytest.raises(UsageError, match=f"the hinge lies {hinge:g} mm off .* 7 mm .* to less than 10 mm"):
            slotted(20.0, 8.0, 6.0, 8.0, "whole", hinge_mm=hinge)
    assert slotted(20.0, 8.0, 6.0, 8.0, "whole", hinge_mm=7.0).lever == slotted(20.0, 8.0, 6.0, 8.0, "whole").lever
    with pytest.raises(UsageError, match=r"the least play 0.1 mm is greater than the greatest 0 mm"):
        force_on_shaft(slotted(20.0, 8.0, 6.0, 8.0, "whole"), exactly(1.0), 0.1, 0.0)
