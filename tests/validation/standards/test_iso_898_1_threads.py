"""Stress areas, proof loads and ultimate loads of ISO 898-1 against the formula and against each other."""

from __future__ import annotations

from math import floor, log10, pi

import pytest

from fitcheck.standards.screws import cap_screw
from fitcheck.standards.strength import proof_load, property_class, stress_area, ultimate_load
from fitcheck.standards.table import table

SIZES = ("M1.6", "M2", "M2.5", "M3", "M4", "M5", "M6", "M8", "M10", "M12")
CLASSES = ("8.8", "10.9", "12.9")


def exact_area(size: str) -> float:
    """As = pi/4*((d2 + d3)/2)^2 (ISO 898-1 with ISO 724; formula from memory), mm2, pitch from ISO 4762."""
    screw = cap_screw(size)
    pitch_diameter = screw.diameter - 0.649519 * screw.pitch
    root_diameter = screw.diameter - 1.226869 * screw.pitch
    return pi / 4.0 * ((pitch_diameter + root_diameter) / 2.0) ** 2


def three_digits(value: float) -> float:
    return round(value, 2 - floor(log10(value)))


@pytest.mark.parametrize("size", SIZES)
def test_stress_area_by_formula(size: str) -> None:
    assert stress_area(size) == pytest.approx(three_digits(exact_area(size)), rel=1e-9)


@pytest.mark.parametrize("size", SIZES[3:])
@pytest.mark.parametrize("name", CLASSES)
def test_proof_load_is_proof_stress_times_area(size: str, name: str) -> None:
    # The loads are rounded to three digits (four above 10 kN): 0.5 %.
    exact = property_class(name).proof_stress * stress_area(size)
    assert proof_load(size, name) == pytest.approx(exact, rel=0.005)


@pytest.mark.parametrize("size", SIZES[3:])
@pytest.mark.parametrize("name", CLASSES)
def test_ultimate_load_is_strength_times_area(size: str, name: str) -> None:
    exact = property_class(name).tensile_strength * stress_area(size)
    assert ultimate_load(size, name) == pytest.approx(exact, rel=0.005)
    assert proof_load(size, name) < ultimate_load(size, name)


# Re-typed from the pages named (usefastener.com, slsbearings.com, optimas.com; they quote EN ISO 898-1):
# stress area mm2, proof loads 8.8, 10.9, 12.9, ultimate loads 8.8, 10.9, 12.9, N.
PRINTED = {
    "M3": (5.03, 2920, 4180, 4880, 4020, 5230, 6140),
    "M4": (8.78, 5100, 7290, 8520, 7020, 9130, 10700),
    "M5": (14.2, 8230, 11800, 13800, 11350, 14800, 17300),
    "M6": (20.1, 11600, 16700, 19500, 16100, 20900, 24500),
    "M8": (36.6, 21200, 30400, 35500, 29200, 38100, 44600),
    "M10": (58.0, 33700, 48100, 56300, 46400, 60300, 70800),
    "M12": (84.3, 48900, 70000, 81800, 67400, 87700, 103000),
}


@pytest.mark.parametrize(("size", "printed"), PRINTED.items())
def test_printed_rows(size: str, printed: tuple[float, ...]) -> None:
    loads = [proof_load(size, name) for name in CLASSES] + [ultimate_load(size, name) for name in CLASSES]
    assert (stress_area(size), *loads) == printed


@pytest.mark.parametrize(
    ("name", "stresses"),
    # scribd.com 338032810 and roymech.co.uk: proof, yield and tensile strength, MPa.
    [("8.8", (580, 640, 800)), ("10.9", (830, 940, 1040)), ("12.9", (970, 1100, 1220))],
)
def test_printed_classes(name: str, stresses: tuple[float, float, float]) -> None:
    found = property_class(name)
    assert (found.proof_stress, found.yield_strength, found.tensile_strength) == stresses


def test_only_threads_below_m3_are_computed() -> None:
    marks = {row.text("size"): row.confidence for row in table("thread_strength").rows}
    assert {size for size, mark in marks.items() if mark == "computed"} == {"M1.6", "M2", "M2.5"}
