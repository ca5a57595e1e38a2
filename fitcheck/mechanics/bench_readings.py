"""Torque and twist readings of a bench, from a CSV file with units in the heads."""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite, radians

from fitcheck.errors import JobError
from fitcheck.job.units import UNITS, USUAL, parse_quantity, plain_unit

_HEAD = re.compile(r"\s*(torque|twist)\s*[\[(/]\s*(.+?)\s*[\])]?\s*", re.IGNORECASE)


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

    The first line holds the heads "torque [N*m]" and "twist [deg]", with any unit of torque and angle; other columns
    are left alone, as are blank lines, lines that begin with #, and the heads written again. Commas, semicolons or tabs
    part the cells; between semicolons or tabs a number may have a decimal comma.

    Args:
        text: of the file.
        file: its name for messages.

    Returns:
        The readings in N·m and rad, in the order of the file.

    Raises:
        JobError: a head, a unit or a number is missing or wrong, or a line has more cells than there are heads; the
            message names the line and what is needed.
    """
    lines = [
        (number, line)
        for number, line in enumerate(text.lstrip("\ufeff").splitlines(), start=1)
        if line.strip(" \t,;") and not line.lstrip().startswith("#")
    ]
    if not lines:
        raise JobError("found no lines; needed are the heads 'torque [N*m]' and 'twist [deg]' and readings", file)
    first, head = lines[0]
    parting = next((sign for sign in (";", "\t") if sign in head), ",")
    heads = _cells(head, parting)
    columns = _columns(heads, file, first)
    torques, twists, places = [], [], []
    for number, line in lines[1:]:
        cells = _cells(line, parting)
        if cells == heads:
            continue
        if any(cells[len(heads) :]):
            raise JobError(
                f"found {len(cells)} cells under {len(heads)} heads; needed is one cell a head: part the cells by "
                "semicolons or tabs where numbers have a decimal comma",
                file, number,
            )  # fmt: skip
        values = {name: _value(cells, name, columns[name], parting, file, number) for name in columns}
        torques.append(values["torque"])
        twists.append(radians(values["twist"]))
        places.append(number)
    return Readings(torques=tuple(torques), twists=tuple(twists), lines=tuple(places), file=file)


def _cells(line: str, parting: str) -> list[str]:
    return [cell.strip() for cell in next(csv.reader([line], delimiter=parting))]


def _columns(heads: Sequence[str], file: str | None, line: int) -> dict[str, tuple[int, str]]:
    found: dict[str, tuple[int, str]] = {}
    for index, head in enumerate(heads):
        match = _HEAD.fullmatch(head)
        if match is None:
            if head.strip().lower() in ("torque", "twist"):
                raise JobError(
                    f"the head {head.strip()!r} has no unit; needed are heads with units, such as 'torque [N*m]' and "
                    "'twist [deg]'",
                    file, line,
                )  # fmt: skip
            continue
        name, unit = match[1].lower(), plain_unit(match[2])
        quantity = "torque" if name == "torque" else "angle"
        if unit not in UNITS[quantity]:
            raise JobError(
                f"the head {head.strip()!r} has the unit {match[2]!r}; needed is one of {', '.join(USUAL[quantity])}",
                file,
                line,
            )
        if name in found:
            raise JobError(f"found two heads for {name}; needed is one", file, line)
        found[name] = (index, unit)
    missing = [name for name in ("torque", "twist") if name not in found]
    if missing:
        raise JobError(
            f"found no head for {' and '.join(missing)} among {', '.join(repr(head.strip()) for head in heads)}; "
            "needed are heads with units, such as 'torque [N*m]' and 'twist [deg]'",
            file,
            line,
        )
    return found


def _value(
    cells: Sequence[str], name: str, column: tuple[int, str], parting: str, file: str | None, line: int
) -> float:
    index, unit = column
    if index >= len(cells) or not cells[index]:
        raise JobError(f"found no {name} in this line; needed is a number in {unit}", file, line)
    text = cells[index].replace("\u2212", "-")  # the minus sign of a text program
    if parting != "," and "." not in text and text.count(",") == 1:
        text = text.replace(",", ".")
    try:
        return parse_quantity(f"{text} {unit}", "torque" if name == "torque" else "angle")
    except JobError as error:
        raise JobError(f"{name}: {error.message}", file, line) from error
