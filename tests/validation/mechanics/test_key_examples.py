"""Worked key examples: W5.2 and W5.3 reproduce; W5.1 prints a wrong length, which must not come out here."""

from __future__ import annotations

from math import pi

import pytest

from fitcheck.mechanics.bounds import exactly
from fitcheck.mechanics.keys import KeySection, key_stress, key_torque_limit, needed_length

INCH, LBF, KPSI = 25.4, 4.4482216152605, 6.894757293168361e6
ENDLESS = 1e15


def test_w5_2_holooly_question_8_6() -> None:
    # Mechanics text Q. 8.6 on holooly.com (read): 2r 50 mm, square key 12.5, l 37.5, tau 200 MPa: T = r a l tau =
    # 2.344 kN·m.
    section = KeySection(shaft_mm=50.0, width_mm=12.5, height_mm=12.5)
    limit = key_torque_limit(section, 37.5, exactly(ENDLESS), exactly(200e6), exactly(ENDLESS))
    assert limit.nominal == pytest.approx(2343.75, rel=1e-12)


def test_w5_3_shigley_example_7_6() -> None:
    # Shigley example 7-6 (numbers from memory, formulas read): 1 7/16 in, 40 hp at 600 rev/min, key 3/8 in square,
    # Sy 65 kpsi, safety 2.80: F 5850 lbf, length by shear 1.16 in, by bearing 1.34 in.
    torque = 40 * 745.6998715822702 / (600 * 2 * pi / 60)
    section = KeySection(shaft_mm=1.4375 * INCH, width_mm=0.375 * INCH, height_mm=0.375 * INCH)
    force = torque / (section.shaft_mm / 2000) / LBF
    assert force == pytest.approx(5850, rel=2e-3)
    strength = 65 * KPSI / 2.80
    shear = needed_length(torque, section, ENDLESS, 0.577 * strength) / INCH
    bearing = needed_length(torque, section, strength, ENDLESS) / INCH
    assert shear == pytest.approx(1.165, abs=0.002)  # prints 1.16
    assert bearing == pytest.approx(1.344, abs=0.003)  # prints 1.34


def test_w5_1_prints_a_wrong_length() -> None:
    # golearning5.blogspot.com 2022/06 (read): d 25 mm, 198 943.68 N·mm, tau 70 MPa, b = h = 6: prints 34.6 mm. With its
    # own formula the length is 2 T/(tau b d) = 37.9 mm; 34.6 fits neither b = 6 nor b = 6.25 (36.4 mm): an arithmetic
    # slip, on the unsafe side. 35 mm as the page takes would be over its allowed stress.
    torque = 198.94368
    section = KeySection(shaft_mm=25.0, width_mm=6.0, height_mm=6.0)
    length = needed_length(torque, section, ENDLESS, 70e6)
    assert length == pytest.approx(2 * 198943.68 / (70 * 6 * 25), rel=1e-12)
    assert length == pytest.approx(37.9, abs=0.05)
    assert length > 34.6 + 3.0
    assert key_stress(torque, section, 35.0).shear > 70e6


def test_mott_textbook_form_of_the_bearing() -> None:
    # Mott, 4th ed., p. 500, eq. 11-4 (read): L = 4 T/(sigma D H), the key half in the shaft.
    section = KeySection(shaft_mm=40.0, width_mm=12.0, height_mm=8.0)
    assert needed_length(300.0, section, 90e6, ENDLESS) == pytest.approx(4 * 300e3 / (90 * 40 * 8), rel=1e-12)
