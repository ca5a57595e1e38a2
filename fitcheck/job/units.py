"""Numbers with units, as a job file writes them: "0.25 in", "40 lbf*in", "1.5 deg", "1200 rpm".

The factors are exact: 1 in = 25.4 mm and 1 lb = 0.45359237 kg (international yard and pound agreement of 1959),
1 lbf = 1 lb * 9.80665 m/s² = 4.4482216152605 N (standard gravity, 3rd CGPM 1901). They are kept as fractions, so a
value is rounded once, when it becomes a float.
"""

from __future__ import annotations

import difflib
import math
import re
from fractions import Fraction

from fitcheck.errors import JobError

NUMBER = r"[+-]?(?:(?:0|[1-9][0-9]{0,14})(?:\.[0-9]{0,20})?|\.[0-9]{1,20})(?:[eE][+-]?[0-9]{1,3})?"
"""A plain decimal number; no leading zeros, underscores, colons or other number bases."""

BARE_UNIT = {
    "length": "mm",
    "angle": "deg",
    "torque": "N*m",
    "force": "N",
    "stiffness": "N*m/rad",
    "inertia": "kg*m^2",
    "speed": "rpm",
    "mass": "kg",
    "velocity": "mm/s",
    "acceleration": "mm/s^2",
    "angular-acceleration": "rad/s^2",
    "time": "s",
    "frequency": "Hz",
    "temperature": "degC",
    "spring-rate": "N/mm",
    "pressure": "MPa",
    "number": "",
}
"""The unit of a bare number, by quantity."""

GREATEST = 1e9
LEAST = 1e-18
"""A value in its bare unit beyond these two sizes is refused as a slip of the keyboard; 0 is not."""

_LENGTH = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "um": Fraction(1, 1000),
    "in": Fraction("25.4"),
    "ft": Fraction("304.8"),
}
_POUND = Fraction("0.45359237")
_GRAVITY = Fraction("9.80665")
_MASS = {"kg": Fraction(1), "g": Fraction(1, 1000), "lb": _POUND, "oz": _POUND / 16}
_FORCE = {
    "N": Fraction(1),
    "mN": Fraction(1, 1000),
    "kN": Fraction(1000),
    "lbf": _POUND * _GRAVITY,
    "ozf": _POUND / 16 * _GRAVITY,
    "kgf": _GRAVITY,
}
_RADIAN = Fraction(180 / math.pi)
_ANGLE = {
    "deg": Fraction(1),
    "rad": _RADIAN,
    "mrad": _RADIAN / 1000,
    "arcmin": Fraction(1, 60),
    "arcsec": Fraction(1, 3600),
}
_TORQUE = {
    name: force * length / 1000
    for f, force in _FORCE.items()
    for d, length in _LENGTH.items()
    for name in (f"{f}*{d}", f"{d}*{f}")
}
_SHORT_TORQUE = {"Nm": "N*m", "Ncm": "N*cm", "Nmm": "N*mm", "mNm": "mN*m", "kNm": "kN*m"}
_TORQUE |= {short: _TORQUE[name] for short, name in _SHORT_TORQUE.items()}
_STIFFNESS = {
    f"{t}/{a}": torque * _RADIAN / angle for t, torque in _TORQUE.items() for a, angle in _ANGLE.items()
}  # per degree of the table times degrees in a radian
_INERTIA = {f"{m}*{d}^2": mass * (length / 1000) ** 2 for m, mass in _MASS.items() for d, length in _LENGTH.items()}
_INERTIA |= {f"{t}*s^2": _TORQUE[t] for t in ("N*m", "lbf*in", "lbf*ft", "ozf*in")}
_SPEED = {
    "rpm": Fraction(1),
    "rev/min": Fraction(1),
    "1/min": Fraction(1),
    "rev/s": Fraction(60),
    "rad/s": Fraction(30 / math.pi),
    "deg/s": Fraction(1, 6),
}
_TIME = {"s": Fraction(1), "ms": Fraction(1, 1000), "min": Fraction(60), "h": Fraction(3600)}
_FREQUENCY = {"Hz": Fraction(1), "kHz": Fraction(1000)}
_VELOCITY = {f"{d}/{t}": length / _TIME[t] for d, length in _LENGTH.items() for t in ("s", "min")}
_ACCELERATION = {f"{d}/s^2": length for d, length in _LENGTH.items()}
_TURNING = {"rad/s^2": Fraction(1), "deg/s^2": 1 / _RADIAN, "rev/s^2": 360 / _RADIAN}
_SPRING_RATE = {f"{f}/{d}": force / length for f, force in _FORCE.items() for d, length in _LENGTH.items()}
_PRESSURE = {
    "MPa": Fraction(1),
    "N/mm^2": Fraction(1),
    "GPa": Fraction(1000),
    "Pa": Fraction(1, 1000000),
    "bar": Fraction(1, 10),
    "psi": _POUND * _GRAVITY / Fraction("25.4") ** 2,
}
UNITS = {
    "length": _LENGTH,
    "angle": _ANGLE,
    "torque": _TORQUE,
    "force": _FORCE,
    "stiffness": _STIFFNESS,
    "inertia": _INERTIA,
    "speed": _SPEED,
    "mass": _MASS,
    "velocity": _VELOCITY,
    "acceleration": _ACCELERATION,
    "angular-acceleration": _TURNING,
    "time": _TIME,
    "frequency": _FREQUENCY,
    "temperature": {"degC": Fraction(1)},
    "spring-rate": _SPRING_RATE,
    "pressure": _PRESSURE,
    "number": {},
}
"""Factor from each unit to the bare unit, by quantity and unit."""

USUAL = {
    "length": ("mm", "cm", "m", "um", "in", "ft"),
    "angle": ("deg", "rad", "mrad", "arcmin", "arcsec"),
    "torque": ("N*m", "N*cm", "N*mm", "mN*m", "lbf*in", "lbf*ft", "ozf*in", "kgf*cm"),
    "force": ("N", "mN", "kN", "lbf", "ozf", "kgf"),
    "stiffness": ("N*m/rad", "N*m/deg", "N*m/arcmin", "N*mm/deg", "lbf*in/rad", "lbf*in/deg"),
    "inertia": ("kg*m^2", "kg*cm^2", "kg*mm^2", "g*cm^2", "lb*in^2", "oz*in^2", "lbf*in*s^2", "ozf*in*s^2"),
    "speed": ("rpm", "rev/min", "1/min", "rev/s", "rad/s", "deg/s"),
    "mass": ("kg", "g", "lb", "oz"),
    "velocity": ("mm/s", "m/s", "m/min", "in/s", "ft/min"),
    "acceleration": ("mm/s^2", "m/s^2", "in/s^2"),
    "angular-acceleration": ("rad/s^2", "deg/s^2", "rev/s^2"),
    "time": ("s", "ms", "min"),
    "frequency": ("Hz", "kHz"),
    "temperature": ("degC",),
    "spring-rate": ("N/mm", "N/um", "kN/mm", "lbf/in"),
    "pressure": ("MPa", "N/mm^2", "GPa", "bar", "psi"),
    "number": (),
}
"""The units that messages and the JSON Schema's description name, by quantity."""

ALIASES = {
    "inch": "in",
    "inches": "in",
    '"': "in",
    "degree": "deg",
    "°C": "degC",
    "degrees": "deg",
    "°": "deg",
    "radian": "rad",
    "radians": "rad",
    "r/min": "rev/min",
    "min^-1": "1/min",
}
"""Other spellings of a whole unit."""

_SPLIT = re.compile(rf"\s*({NUMBER})\s*(.*?)\s*", re.DOTALL)
_JOIN = re.compile(r"(?<=[A-Za-z0-9])\s*(?:[*·⋅]|[.\-](?=[A-Za-z])|\s(?=[A-Za-z]))\s*(?=[A-Za-z])")


def plain_unit(text: str) -> str:
    """A unit in the table's spelling: "N·m", "N m" and "N-m" become "N*m", "kg·m²" becomes "kg*m^2"."""
    unit = text.strip().replace("²", "^2").replace("**", "^").replace("μ", "u").replace("µ", "u").replace("⁻¹", "^-1")
    unit = re.sub(r"\s*/\s*", "/", _JOIN.sub("*", unit))
    return ALIASES.get(unit, unit)


def needed(quantity: str) -> str:
    """What a field of this quantity takes, as a phrase for messages: "a length in mm, or with a unit: mm, cm, ..."."""
    if quantity == "number":
        return "a plain number without a unit"
    article = "an" if quantity[0] in "aeiou" else "a"
    return f"{article} {quantity} in {BARE_UNIT[quantity]}, or with one of the units {', '.join(USUAL[quantity])}"


def parse_quantity(value: str | float, quantity: str) -> float:
    """The value of a number or of a text such as "0.25 in", in the quantity's bare unit.

    Args:
        value: a bare number, or the text of one, with or without a unit.
        quantity: one of `fitcheck.job.fields.QUANTITIES`.

    Returns:
        in the quantity's unit of `BARE_UNIT`, or the number itself.

    Raises:
        JobError: it is no plain number, not finite, not between `LEAST` and `GREATEST` in size, or has a unit of
            another quantity or an unknown one; the message says what was found, what is needed, and the known units.
    """
    if isinstance(value, str):
        exact = _with_unit(value, quantity)
    elif isinstance(value, bool) or not math.isfinite(value):
        raise JobError(f"found {value}; needed is {needed(quantity)}")
    else:
        exact = Fraction(float(value))
    if abs(exact) > GREATEST or (exact != 0 and abs(exact) < LEAST):
        bounds = f"{LEAST:g} and {GREATEST:g} {BARE_UNIT[quantity]}".rstrip()
        raise JobError(f"found {shorten(value)}; needed is 0, or a value whose size is between {bounds}")
    return float(exact)


def _with_unit(text: str, quantity: str) -> Fraction:
    match = _SPLIT.fullmatch(text)
    if match is None or re.match(r"(?!1/)[0-9_:.,+\-]", match[2]):
        hint = "; a decimal point is needed, not a comma" if re.search(r"[0-9],[0-9]", text) else ""
        raise JobError(f"found {shorten(text)}, which is no plain number; needed is {needed(quantity)}{hint}")
    number, unit = Fraction(match[1]), plain_unit(match[2])
    if not unit:
        return number
    factor = UNITS[quantity].get(unit)
    if factor is not None:
        return number * factor
    other = next((name for name, units in UNITS.items() if unit in units), None)
    if other is not None:
        raise JobError(f"found {shorten(text)}, which has the unit of {_article(other)}; needed is {needed(quantity)}")
    near = difflib.get_close_matches(unit[:40], UNITS[quantity], n=1)
    guess = f" (did you mean {near[0]!r}?)" if near else ""
    raise JobError(f"found {shorten(text)}, whose unit is not known{guess}; needed is {needed(quantity)}")


def _article(noun: str) -> str:
    return f"an {noun}" if noun[0] in "aeiou" else f"a {noun}"


def shorten(text: object, most: int = 60) -> str:
    """A value as messages quote it: in quotes, on one line, at most `most` characters of it."""
    shown = repr(text) if isinstance(text, str) else str(text)
    return shown if len(shown) <= most else f"{shown[:most]}..."
