"""Planes that part triangles from an arm's swing, against places all over the triangles, put into the swing in words.

A place lies in the swing where its height is between `low` and `high`, and it is within `half_width` of a ray from the
tool's axis in one of the swing's directions, no farther out than `reach`; or nearer to the axis than `half_width`.
"""

import numpy as np
import pytest

from fitcheck.measurement.arm_planes import Moving, Sectors, parted

COUNT = 400


def turned(points, direction, through, angle):
    """Points turned about a line, right-handed, by Rodrigues' formula."""
    off = points - through
    along = (off @ direction)[..., None] * direction
    beside = off - along
    return through + along + np.cos(angle) * beside + np.sin(angle) * np.cross(direction, beside)


def in_swing(points, low, high, first, last, reach, half_width):
    height, x, y = np.moveaxis(points, -1, 0)
    away, angle = np.hypot(x, y), np.arctan2(y, x)
    off = np.abs(np.mod(angle - 0.5 * (first + last) + np.pi, 2.0 * np.pi) - np.pi) - 0.5 * (last - first)
    beside = (off <= 0.0) | ((off < np.pi / 2) & (away * np.sin(np.maximum(off, 0.0)) <= half_width))
    there = ((away <= reach) & beside) | (away <= half_width)
    return there & (height >= low) & (height <= high)


def some_triangles(rng):
    away, around = rng.uniform(2.0, 60.0, COUNT), rng.uniform(-np.pi, np.pi, COUNT)
    middle = np.stack([rng.uniform(10.0, 45.0, COUNT), away * np.cos(around), away * np.sin(around)], axis=1)
    return middle[:, None] + rng.normal(size=(COUNT, 3, 3)) * rng.uniform(0.3, 8.0, (COUNT, 1, 1))


@pytest.mark.parametrize("seed", range(6))
def test_what_a_plane_parts_stays_out_of_the_swing_as_long_as_it_is_told_to(seed):
    rng = np.random.default_rng(seed)
    corners = some_triangles(rng)
    direction = rng.normal(size=3)
    direction /= np.linalg.norm(direction)
    through = rng.uniform(-20.0, 20.0, 3)
    off = corners - through
    away = np.linalg.norm(off - (off @ direction)[..., None] * direction, axis=2)
    first, span = rng.uniform(-np.pi, np.pi), rng.uniform(0.0, np.pi)
    low, reach, half_width, drift = 25.0, 40.0, 2.0, float(rng.choice([0.0, rng.uniform(-2.0, 2.0)]))
    high = float(rng.choice([31.0, 1e6]))
    full, turn = np.ones(COUNT), 0.15
    sectors = Sectors(
        low=low * full, high=high * full, first=first * full, last=(first + span) * full, reach=reach * full,
        half_width=half_width * full,
    )  # fmt: skip
    moving = Moving(corners=corners, velocity=np.cross(direction, off), away=away, bound=np.zeros(COUNT))
    planes = parted(moving, sectors, away.max(axis=1) * turn)
    lasting = np.concatenate([part.lasting(drift * full) for part in planes], axis=1).max(axis=1)
    share = rng.dirichlet(np.ones(3), 300)
    share = np.concatenate([share, np.eye(3)])
    stays, meets = 0, 0
    for part in (0.0, 0.3, 0.7, 0.999):
        angle = part * np.minimum(np.maximum(lasting, 0.0), turn)
        for row in range(COUNT):
            places = turned(share @ corners[row], direction, through, angle[row])
            begin = first + drift * angle[row]
            there = in_swing(places, low, high, begin, begin + span, reach, half_width).any()
            if lasting[row] >= 0.0:
                assert not there, (row, part)
                stays += 1
            elif part == 0.0:
                meets += int(there)
    # Nearly all that no plane parts does lie in the swing.
    assert stays > 100
    assert meets > 0.75 * (lasting < 0.0).sum()


def test_a_wall_beside_a_swing_lasts_until_the_turn_brings_it_there():
    # A wall square to y stands 5 beside the last direction of a swing 2 wide, so 4 from its side, from x = 10 to 30. It
    # turns about the tool's own axis towards the swing: its corner at (30, 5) comes to 1 beside that direction after
    # atan(5 / 30) - asin(1 / hypot(30, 5)) = 0.1323 radians, while the swing stands still; the bound, which takes the
    # corner's way for as steep as it is at the start and its bend for as strong as it may be, is no longer than that.
    corners = np.array([[(20.0, 10.0, 5.0), (20.0, 30.0, 5.0), (28.0, 30.0, 5.0)]])
    towards = -np.stack([0.0 * corners[:, :, 0], -corners[:, :, 2], corners[:, :, 1]], axis=2)
    away = np.hypot(corners[:, :, 1], corners[:, :, 2])
    one = np.ones(1)
    sectors = Sectors(
        low=15.0 * one, high=25.0 * one, first=-1.0 * one, last=0.0 * one, reach=40.0 * one, half_width=1.0 * one
    )
    moving = Moving(corners=corners, velocity=towards, away=away, bound=np.zeros(1))
    planes = parted(moving, sectors, 0.0 * one)
    lasting = max(part.lasting(np.zeros(1)).max() for part in planes)
    true = np.arctan2(5.0, 30.0) - np.arcsin(1.0 / np.hypot(30.0, 5.0))
    assert true == pytest.approx(0.1323, abs=1e-4)
    assert 0.85 * true < lasting <= true
    # When the swing turns away as fast, the wall never comes to it.
    assert max(part.lasting(-np.ones(1)).max() for part in planes) > lasting
