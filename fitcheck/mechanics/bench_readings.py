"""Torque and twist readings of a bench, from a CSV file with units in the heads."""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite, radians

from fitcheck.errors import JobError
from fitcheck.job.units import UNITS, USUAL, parse_quantity, plain_unit

_NAMES = {"torque": ("torque", "moment"), "twist": ("twist", "twist angle", "angle of twist", "angle")}
"""What the two heads may be called; an earlier name is taken before a later one."""
_QUANTITY = {"torque": "torque", "twist": "angle"}

_MARKED = re.compile(r"\s*[\[(/]\s*(.+?)\s*[\])]?\s*")
"""What follows a head's name: a unit in brackets or behind a stroke, known or not."""

_BARE = re.compile(r"(?:\s*[,:]\s*|\s+in\s+|_|\s+)(.+?)\s*", re.IGNORECASE)
"""What else may follow it: "torque in Nm", "torque_Nm"; a head only where the unit is a known one."""

_TRADE = {"lb": "lbf", "oz": "ozf", "kg": "kgf"}
"""Mass units that the scale of a torque wrench writes for forces: "in-lb" is lbf*in."""

_ERROR_VALUE = re.compile(r"#(?:N/A|NV|[A-Z0-9/]+[!?])", re.IGNORECASE)
"""What a spreadsheet saves in the place of a number that it could not compute."""


@dataclass(frozen=True, kw_only=True)
class Readings:
    """Readings in the order in which they were taken: first loading, then unloading, then the other direction.

    Attributes:
        torques: N·m, signed.
        twists: rad, signed.
        lines: 1-based lines of the file, or 1, 2, ... for readings made in code.
        file: as the user named it, or None.
    """

    torques: tuple[float, ...]
    twists: tuple[float, ...]
    lines: tuple[int, ...]
    file: str | None = None

    def place(self, index: int) -> str:
        """The reading for messages: "readings.csv:12", or "reading 3"."""
        return f"reading {self.lines[index]}" if self.file is None else f"{self.file}:{self.lines[index]}"


def readings(torques: Sequence[float], twists: Sequence[float]) -> Readings:
    """Readings made in code; torques in N·m, twists in rad.

    Raises:
        JobError: the numbers differ in count, or one is not finite.
    """
    if len(torques) != len(twists):
        raise JobError(f"each torque needs its twist; found {len(torques)} torques and {len(twists)} twists")
    for number, pair in enumerate(zip(torques, twists, strict=True), start=1):
        if not all(isfinite(value) for value in pair):
            raise JobError(f"reading {number} is not finite: {pair[0]}, {pair[1]}")
    return Readings(
        torques=tuple(float(value) for value in torques),
        twists=tuple(float(value) for value in twists),
        lines=tuple(range(1, len(torques) + 1)),
    )


def read_readings(text: str, file: str | None = None) -> Readings:
    """Readings from the text of a CSV file.

    A line holds the heads, such as "torque [N*m]", "torque (Nm)" or "torque_Nm", and "twist [deg]", with any unit of
    torque and angle. What stands before it is a remark, as is every line that begins with #; other columns, blank
    lines, and the heads written again are left alone. Commas, semicolons or tabs part the cells. A number may have a
    decimal comma where no other number of the file has a decimal point.

    Args:
        text: of the file.
        file: its name for messages.

    Returns:
        The readings in N·m and rad, in the order of the file.

    Raises:
        JobError: a head, a unit or a number is missing, wrong, or could be read in two ways, or a line has more cells
            than there are heads; the message names the line and what is needed.
    """
    lines = [
        (number, line)
        for number, line in enumerate(text.lstrip("\ufeff").splitlines(), start=1)
        if line.strip(" \t,;") and (not line.lstrip().startswith("#") or _ERROR_VALUE.match(line.lstrip()))
    ]
    if not lines:
        raise JobError("found no lines; needed are the heads 'torque [N*m]' and 'twist [deg]' and readings", file)
    parting = None
    if lines[0][1].lower().startswith("sep=") and len(lines[0][1].strip()) <= 5 and len(lines) > 1:
        parting = lines.pop(0)[1][4:5]  # a spreadsheet's own first line
    start = next((place for place, (_, line) in enumerate(lines) if _is_head(line, parting)), 0)
    first, head = lines[start]
    parting = parting or _parting(head)
    heads = _cells(head, parting)
    columns = _columns(heads, file, first)
    rows = [(number, cells) for number, line in lines[start + 1 :] if (cells := _cells(line, parting)) != heads]
    for number, cells in rows:
        if any(cells[len(heads) :]):
            raise JobError(
                f"found {len(cells)} cells under {len(heads)} heads; needed is one cell a head: part the cells by "
                "semicolons or tabs where numbers have a decimal comma",
                file, number,
            )  # fmt: skip
    comma = _decimal_comma(rows, columns, parting, file)
    values = {
        name: [_value(cells, name, columns[name], comma, file, number) for number, cells in rows] for name in columns
    }
    return Readings(
        torques=tuple(values["torque"]),
        twists=tuple(radians(value) for value in values["twist"]),
        lines=tuple(number for number, _ in rows),
        file=file,
    )


def _parting(head: str) -> str:
    return next((sign for sign in (";", "\t") if sign in head), ",")


def _is_head(line: str, parting: str | None) -> bool:
    """Whether the line has a cell for the torque and one for the twist, with their units or not."""
    cells = _cells(line, parting or _parting(line))
    return all(any(_named(cell, _QUANTITY[name], names) for cell in cells) for name, names in _NAMES.items())


def _named(cell: str, quantity: str, names: tuple[str, ...]) -> tuple[int, str] | None:
    """Which of the names the cell is a head with, and its unit, "" without one; None where it is none."""
    for name in sorted(names, key=len, reverse=True):  # "twist angle" is no twist with the unit "angle"
        rest = cell[len(name) :]
        if not cell.lower().startswith(name):
            continue
        if not rest:
            return names.index(name), ""
        if (marked := _MARKED.fullmatch(rest)) is not None:
            return names.index(name), _unit(marked[1], quantity)
        if (bare := _BARE.fullmatch(rest)) is not None and _unit(bare[1], quantity) in UNITS[quantity]:
            return names.index(name), _unit(bare[1], quantity)
    return None


def _unit(text: str, quantity: str) -> str:
    """The unit in the table's spelling, that of a torque wrench's scale included."""
    unit = plain_unit(text)
    if quantity == "torque" and unit not in UNITS[quantity]:
        unit = "*".join(_TRADE.get(part, part) for part in unit.lower().split("*"))
    return unit if unit in UNITS[quantity] else text


def _cells(line: str, parting: str) -> list[str]:
    # The minus sign of a text program is read as a hyphen.
    return [cell.strip().replace("\u2212", "-") for cell in next(csv.reader([line], delimiter=parting))]


def _columns(heads: Sequence[str], file: str | None, line: int) -> dict[str, tuple[int, str]]:
    """The column and the unit of the torque and of the twist."""
    found: dict[str, tuple[int, str]] = {}
    for name, names in _NAMES.items():
        quantity = _QUANTITY[name]
        named = [(*head, index) for index, cell in enumerate(heads) if (head := _named(cell, quantity, names))]
        if not named:
            continue
        best = min(rank for rank, _, _ in named)
        first, *others = [(index, unit) for rank, unit, index in named if rank == best]
        if others:
            raise JobError(f"found two heads for {name}; needed is one", file, line)
        index, unit = first
        if not unit:
            raise JobError(
                f"the head {heads[index]!r} has no unit; needed are heads with units, such as 'torque [N*m]' and "
                "'twist [deg]'",
                file, line,
            )  # fmt: skip
        if unit not in UNITS[quantity]:
            raise JobError(
                f"the head {heads[index]!r} has the unit {unit!r}; needed is one of {', '.join(USUAL[quantity])}",
                file,
                line,
            )
        found[name] = first
    missing = [name for name in _NAMES if name not in found]
    if missing:
        raise JobError(
            f"found no head for {' and '.join(missing)} among {', '.join(repr(head) for head in heads)}; "
            "needed are heads with units, such as 'torque [N*m]' and 'twist [deg]'",
            file,
            line,
        )
    return found


Rows = Sequence[tuple[int, Sequence[str]]]


def _decimal_comma(rows: Rows, columns: dict[str, tuple[int, str]], parting: str, file: str | None) -> bool:
    """Whether numbers have a decimal comma.

    Raises:
        JobError: some have a comma and others a point, or what may be a decimal sign may as well part thousands.
    """
    cells = {
        name: [(number, row[index]) for number, row in rows if index < len(row)] for name, (index, _) in columns.items()
    }
    signs = {sign: [(n, cell) for column in cells.values() for n, cell in column if sign in cell] for sign in ",."}
    if signs[","] and signs["."] and not any("." in cell for _, cell in signs[","]):
        number, cell = signs[","][0]
        other, point = signs["."][0]
        raise JobError(
            f"found {cell!r} with a comma and, in line {other}, {point!r} with a point; needed is one decimal sign in "
            "the whole file, and none that parts thousands",
            file, number,
        )  # fmt: skip
    sign = "," if signs[","] else "."
    for column in cells.values() if parting != "," or sign == "," else ():
        grouped = [(number, cell) for number, cell in column if sign in cell]
        if (
            grouped
            and all(re.fullmatch(rf"[+-]?[1-9]\d{{0,2}}\{sign}\d{{3}}", cell) for _, cell in grouped)
            and any(cell and sign not in cell for _, cell in column)
        ):
            number, cell = grouped[0]
            raise JobError(
                f"found {cell!r}, whose {'comma' if sign == ',' else 'point'} may part decimals or thousands; write "
                "thousands without a sign, or more decimals",
                file, number,
            )  # fmt: skip
    return sign == ","


def _value(cells: Sequence[str], name: str, column: tuple[int, str], comma: bool, file: str | None, line: int) -> float:
    index, unit = column
    if index >= len(cells) or not cells[index]:
        raise JobError(f"found no {name} in this line; needed is a number in {unit}", file, line)
    text = cells[index]
    if comma and "." not in text and text.count(",") == 1:
        text = text.replace(",", ".")
    try:
        return parse_quantity(f"{text} {unit}", _QUANTITY[name])
    except JobError as error:
        raise JobError(f"{name}: {error.message}", file, line) from error
