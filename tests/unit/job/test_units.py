"""Units against the definitions that they rest on, written out here."""

import math

import pytest

from fitcheck.errors import JobError
from fitcheck.job.fields import QUANTITIES
from fitcheck.job.units import ALIASES, BARE_UNIT, UNITS, USUAL, parse_quantity, plain_unit

# 1 in = 25.4 mm and 1 lb = 0.45359237 kg exactly (international yard and pound agreement, 1959; NIST SP 811 app. B.6),
# standard gravity 9.80665 m/s² exactly (3rd CGPM, 1901)
LBF = 4.4482216152605
INCH = 0.0254


@pytest.mark.parametrize(
    ("text", "quantity", "value"),
    [
        ("12 mm", "length", 12.0),
        ("0.25 in", "length", 6.35),
        ("0.1 in", "length", 2.54),
        ("1.2cm", "length", 12.0),
        ("2 m", "length", 2000.0),
        ("5 um", "length", 0.005),
        ("5 µm", "length", 0.005),
        ("1 ft", "length", 304.8),
        ('0.5"', "length", 12.7),
        ("-3", "length", -3.0),
        ("1e-3 m", "length", 1.0),
        (".5 mm", "length", 0.5),
        ("1.5 deg", "angle", 1.5),
        ("1.5°", "angle", 1.5),
        ("30 arcmin", "angle", 0.5),
        ("36 arcsec", "angle", 0.01),
        ("3 N*m", "torque", 3.0),
        ("3 Nm", "torque", 3.0),
        ("3 N·m", "torque", 3.0),
        ("3 N m", "torque", 3.0),
        ("3 N-m", "torque", 3.0),
        ("250 Nmm", "torque", 0.25),
        ("250 mN*m", "torque", 0.25),
        ("1 kgf*cm", "torque", 0.0980665),
        ("1 lbf", "force", LBF),
        ("2 kN", "force", 2000.0),
        ("16 ozf", "force", LBF),
        ("12 N*m/rad", "stiffness", 12.0),
        ("1 kg*m^2", "inertia", 1.0),
        ("1 kg·cm²", "inertia", 1e-4),
        ("460 g*cm^2", "inertia", 4.6e-5),
        ("1200 rpm", "speed", 1200.0),
        ("20 rev/s", "speed", 1200.0),
        ("1200 1/min", "speed", 1200.0),
        ("6 deg/s", "speed", 1.0),
        ("1.5", "number", 1.5),
    ],
)
def test_exact_values(text, quantity, value):
    assert parse_quantity(text, quantity) == value  # to the last bit: factors are fractions, rounded once


@pytest.mark.parametrize(
    ("text", "quantity", "value"),
    [
        ("0.02 rad", "angle", math.degrees(0.02)),
        ("20 mrad", "angle", math.degrees(0.02)),
        ("40 lbf*in", "torque", 40 * LBF * INCH),
        ("40 in*lbf", "torque", 40 * LBF * INCH),
        ("1 lbf*ft", "torque", LBF * 0.3048),
        ("100 ozf*in", "torque", 100 * LBF / 16 * INCH),
        ("1 N*m/deg", "stiffness", 180 / math.pi),
        ("1 N*m/arcmin", "stiffness", 180 * 60 / math.pi),
        ("1 lbf*in/rad", "stiffness", LBF * INCH),
        ("1 oz*in^2", "inertia", 0.45359237 / 16 * INCH**2),
        ("1 lbf*in*s^2", "inertia", LBF * INCH),
        ("2 rad/s", "speed", 2 * 60 / (2 * math.pi)),
    ],
)
def test_derived_values(text, quantity, value):
    assert parse_quantity(text, quantity) == pytest.approx(value, rel=4e-16)


def test_bare_numbers_are_in_the_bare_unit():
    for quantity, unit in BARE_UNIT.items():
        assert parse_quantity(2.5, quantity) == 2.5
        assert parse_quantity(f"2.5 {unit}", quantity) == 2.5


def test_tables_know_all_quantities_and_their_own_names():
    assert set(QUANTITIES) == set(UNITS) == set(USUAL) == set(BARE_UNIT)
    for quantity, units in UNITS.items():
        assert set(USUAL[quantity]) <= set(units)
        for unit in units:
            assert plain_unit(unit) == unit
    assert all(any(name in units for units in UNITS.values()) for name in ALIASES.values())


def test_no_unit_belongs_to_two_quantities():
    names = [unit for units in UNITS.values() for unit in units]
    assert len(names) == len(set(names))


@pytest.mark.parametrize(
    ("value", "quantity", "text"),
    [
        ("40 N", "length", "found '40 N', which has the unit of a force; needed is a length in mm, or .*mm, cm, m, um"),
        ("8 kg*m^2", "torque", "the unit of an inertia; needed is a torque in N"),
        ("8 mm", "number", "the unit of a length; needed is a plain number without a unit"),
        ("8 lb*in", "torque", r"unit is not known \(did you mean 'lbf\*in'\?\)"),
        ("8 furlong", "length", "unit is not known.*; needed is a length"),
        ("eight", "length", "found 'eight', which is no plain number"),
        ("0,25 in", "length", "a decimal point is needed, not a comma"),
        ("1_000", "length", "no plain number"),
        ("1:30", "angle", "no plain number"),
        ("010", "length", "no plain number"),
        ("0x10", "length", "unit is not known"),
        ("nan", "length", "no plain number"),
        ("", "length", "found '', which is no plain number"),
        ("1e999 mm", "length", "size is between 1e-18 and 1e[+]09 mm"),
        ("1e-300", "length", "size is between"),
        (float("nan"), "length", "found nan"),
        (float("inf"), "length", "found inf"),
        (True, "length", "found True"),
    ],
)
def test_refusals_say_what_was_found_and_needed(value, quantity, text):
    with pytest.raises(JobError, match=text):
        parse_quantity(value, quantity)
