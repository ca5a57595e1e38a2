"""Run-out of shafts and concentricity and run-out of flanges of electric machines. Lengths mm, angles degrees."""

from __future__ import annotations

from dataclasses import dataclass
from math import atan, degrees

from fitcheck.errors import TableError
from fitcheck.standards.frames import Frame
from fitcheck.standards.table import table, weakest

GRADES = ("normal", "reduced")


@dataclass(frozen=True, kw_only=True)
class Runout:
    """A greatest total indicator reading, mm, with its source and mark."""

    reading: float
    source: str
    confidence: str

    @property
    def eccentricity(self) -> float:
        """Half the total indicator reading, mm."""
        return self.reading / 2.0


@dataclass(frozen=True, kw_only=True)
class MachineRunout:
    """How far a machine's shaft and mounting face may be off.

    The concentricity is measured from the shaft, so a bent shaft is partly in it too: adding both is on the safe side.

    Attributes:
        shaft: shaft run-out at mid length of the shaft end.
        concentricity: register to shaft.
        face: mounting face to shaft, on a circle of `face_diameter`.
        face_diameter: mm.
    """

    shaft: Runout
    concentricity: Runout
    face: Runout
    face_diameter: float

    @property
    def offset(self) -> float:
        """Greatest offset of the shaft from the register's axis, mm: register and shaft eccentricity added."""
        return self.concentricity.eccentricity + self.shaft.eccentricity

    @property
    def tilt(self) -> float:
        """Greatest tilt of the mounting face against square to the shaft, degrees: face reading over its diameter."""
        return degrees(atan(self.face.reading / self.face_diameter))

    @property
    def confidence(self) -> str:
        """The weakest mark of the three."""
        return weakest((self.shaft.confidence, self.concentricity.confidence, self.face.confidence))


def shaft_runout(shaft_diameter: float, grade: str = "normal") -> Runout:
    """Shaft run-out at mid length of the shaft end, shafts to 120 mm (DIN 42955; its grade N equals IEC 60072-1).

    Args:
        shaft_diameter: mm.
        grade: "normal" (N) or "reduced" (R).

    Raises:
        TableError: the diameter or the grade is outside the table.
    """
    return _graded("shaft_runout", shaft_diameter, "shaft diameter", grade)


def flange_runout(register_diameter: float, grade: str = "normal") -> Runout:
    """Register concentricity and face run-out, each, registers to 450 mm (DIN 42955; its N equals IEC 60072-1).

    Args:
        register_diameter: mm.
        grade: "normal" (N) or "reduced" (R).

    Raises:
        TableError: the diameter or the grade is outside the table.
    """
    return _graded("flange_runout", register_diameter, "register diameter", grade)


def nema_runout(item: str, diameter: float) -> Runout:
    """A run-out by NEMA MG 1 (read, but for the type C face) or ICS 16 (a weak memory).

    Args:
        item: "shaft", "type P face", "type C face" (MG 1); "ICS 16 shaft", "ICS 16 concentricity" or "ICS 16 face".
        diameter: of the shaft or of the register, mm.

    Raises:
        TableError: the item or the diameter is not in the table.
    """
    row = table("nema_runout").containing(diameter, "diameter", item=item)
    return Runout(
        reading=row.number("value"), source=f"NEMA {row.text('standard')}: {row.source}", confidence=row.confidence
    )


def machine_runout(found: Frame, shaft_diameter: float, grade: str = "normal") -> MachineRunout:
    """The run-outs of a machine with a standard frame.

    IEC flanges take DIN 42955 and IEC 60072-1 (read). NEMA frames take ICS 16 in either grade: 0.002 in for the shaft,
    0.003 in for register and face, a weak memory.

    Args:
        found: the frame.
        shaft_diameter: mm.
        grade: "normal" or "reduced".

    Raises:
        TableError: the shaft or the register is outside the tables.
    """
    if found.standard == table("nema_frames").standard:
        _check(grade, "NEMA ICS 16")
        register = found.register_diameter
        shaft = nema_runout("ICS 16 shaft", shaft_diameter)
        concentricity = nema_runout("ICS 16 concentricity", register)
        face = nema_runout("ICS 16 face", register)
    else:
        shaft = shaft_runout(shaft_diameter, grade)
        concentricity = face = flange_runout(found.register_diameter, grade)
    return MachineRunout(shaft=shaft, concentricity=concentricity, face=face, face_diameter=found.outside)


def _graded(name: str, diameter: float, what: str, grade: str) -> Runout:
    _check(grade, table(name).standard)
    row = table(name).containing(diameter, what)
    return Runout(reading=row.number(grade), source=f"{table(name).standard}: {row.source}", confidence=row.confidence)


def _check(grade: str, standard: str) -> None:
    if grade not in GRADES:
        msg = f"{standard}: there is no grade {grade!r}; there are {len(GRADES)}: {', '.join(GRADES)}"
        raise TableError(msg)
