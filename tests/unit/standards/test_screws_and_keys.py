"""Screws, holes, keys and bits: their look-ups, and that the tables fit each other."""

from __future__ import annotations

import re

import pytest

from fitcheck.errors import TableError
from fitcheck.job.model import METRIC_SCREWS
from fitcheck.standards.keys import bit_holder, hex_key, parallel_key
from fitcheck.standards.screws import HOLE_SERIES, cap_screw, clearance_hole, set_screw
from fitcheck.standards.strength import key_torque
from fitcheck.standards.table import table

SHAFTS = (6.5, 8.0, 9.0, 11.0, 14.0, 19.0, 24.0, 35.0, 40.0, 48.0, 55.0)


@pytest.mark.parametrize("size", METRIC_SCREWS)
def test_every_screw_of_a_job_has_its_rows(size: str) -> None:
    screw, grub = cap_screw(size), set_screw(size)
    assert screw.size == grub.size == size
    assert screw.diameter == grub.diameter == float(size[1:])
    hex_key(screw.key_size)
    hex_key(grub.key_size)
    key_torque(screw.key_size)
    key_torque(grub.key_size)


@pytest.mark.parametrize("size", METRIC_SCREWS)
def test_cap_screw_proportions(size: str) -> None:
    screw = cap_screw(size)
    least = table("cap_screws").row(size).number("head_diameter_min")
    assert least < screw.head_diameter_plain < screw.head_diameter
    assert screw.bearing_diameter < screw.head_diameter_plain
    assert screw.head_height == screw.diameter  # ISO 4762: k max equals d
    assert screw.socket_depth < screw.head_height
    assert screw.diameter < screw.head_diameter_plain
    assert screw.key_size < screw.socket_min < screw.socket_max
    # REFERENCES 1.1: the nominal key lies 0.02 to 0.04 under the least socket.
    assert 0.0199 <= screw.socket_min - screw.key_size <= 0.0401


@pytest.mark.parametrize("size", METRIC_SCREWS)
def test_set_screw_proportions(size: str) -> None:
    grub = set_screw(size)
    assert grub.key_size < cap_screw(size).key_size
    assert grub.key_size * 1.1547 < grub.diameter
    assert grub.cup_diameter < grub.diameter
    assert grub.socket_depth < grub.socket_depth_full


@pytest.mark.parametrize("size", METRIC_SCREWS)
def test_screw_passes_its_clearance_hole_and_its_head_does_not(size: str) -> None:
    fine, medium, coarse = (clearance_hole(size, series) for series in HOLE_SERIES)
    assert cap_screw(size).diameter < fine < medium < coarse < cap_screw(size).head_diameter_plain
    assert clearance_hole(size) == medium


def test_sizes_in_any_spelling() -> None:
    assert cap_screw(" m 2.5") is not None
    assert cap_screw("m2.5").size == "M2.5"


@pytest.mark.parametrize(
    ("look_up", "message"),
    [
        (lambda: cap_screw("M7"), "ISO 4762, hexagon socket head cap screws: there is no size 'M7'; nearest: M6 and "
         "M8. "
         "The table has 10 entries, M1.6 to M12"),
        (lambda: set_screw("M16"), "there is no size 'M16'; nearest: M10 and M12. The table has 10 entries"),
        (lambda: clearance_hole("M3", "snug"), "ISO 273 has no series 'snug'; it has 3: fine, medium, coarse"),
        (lambda: hex_key(9), "there is no key size 9 mm; nearest: 8 and 10 mm. The table has 14 entries, 0.7 to 12 mm"),
        (lambda: bit_holder("D 6.3"), "there is no form 'D 6.3'; nearest: C 6.3 and E 6.3"),
        (lambda: parallel_key(6), "shaft diameter 6 mm is outside the table, which covers over 6 to 58 mm"),
        (lambda: parallel_key(58.01), "shaft diameter 58.01 mm is outside the table"),
        (lambda: key_torque(7), "there is no key size 7 mm; nearest: 6 and 8 mm"),
    ],
)  # fmt: skip
def test_outside_the_tables(look_up: object, message: str) -> None:
    with pytest.raises(TableError, match=re.escape(message)):
        look_up()  # type: ignore[operator]


@pytest.mark.parametrize("size", table("hex_keys").keys())
def test_hex_key_arms(size: float) -> None:
    key = hex_key(size)
    assert key.short_arm < key.long_arm
    assert list(key.long_arms) == sorted(key.long_arms)
    # The longer edition is the table's.
    assert key.old_short_arm is None or key.old_short_arm < key.short_arm
    assert key.old_long_arm is None or key.old_long_arm < key.long_arm
    # A sharp hexagon: across corners = across flats * 2/sqrt(3).
    assert key.across_corners == pytest.approx(size * 2.0 / 3.0**0.5, rel=1e-12)
    assert key.bend_radius == size


def test_hex_keys_grow_with_their_size() -> None:
    rows = table("hex_keys").rows
    for column in ("short_arm", "long_arm", "long_arm_long", "long_arm_extra_long", "old_short_arm", "old_long_arm"):
        values = [row.number(column) for row in rows if row.values[column] is not None]
        assert values == sorted(values), column


def test_key_enters_its_socket_by_less_than_its_arm() -> None:
    for size in METRIC_SCREWS:
        screw = cap_screw(size)
        assert screw.socket_depth < hex_key(screw.key_size).short_arm


def test_bit_and_holder() -> None:
    short, long = bit_holder(), bit_holder("e6.3")
    assert (short.form, long.form) == ("C 6.3", "E 6.3")
    assert short.drive == long.drive == 6.3
    assert short.bit_length < long.bit_length
    assert 0 < short.reach < short.bit_length
    assert short.across_corners < short.holder_diameter
    assert short.confidence == "memory"


@pytest.mark.parametrize("diameter", SHAFTS)
def test_parallel_key_proportions(diameter: float) -> None:
    key = parallel_key(diameter)
    assert key.height <= key.width
    assert key.length_range[0] < key.length_range[1]
    assert key.shaft_depth < key.height
    # The key leaves air over its back: both depths are more than its height, by at most 0.4 mm.
    assert 0.0 < key.shaft_depth + key.hub_depth - key.height <= 0.4
    assert key.depth_tolerance == (0.1 if key.height <= 6 else 0.2)
