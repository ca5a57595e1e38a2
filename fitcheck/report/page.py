"""A page of plain text: what is printable, how numbers are written, wrapped paragraphs, tables, and colour."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from math import floor, isfinite, log10

WIDTH = 100

_COLOURS = {"green": "32", "red": "31", "yellow": "33", "magenta": "35"}
# Joiners are kept: some scripts need them. Directional marks and overrides are not: they reorder the line around them.
_DIRECTIONAL = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
# What nobody sees can make two names look alike, or carry a text of its own.
_UNSEEN = frozenset("\u00ad\u180e\u200b\u2060\u2061\u2062\u2063\u2064\ufeff")
# Words that CI servers take for commands where a line begins with them, as a folded line may.
_COMMANDS = re.compile(r"::(?=\w)|##(?=\[|vso\b)")


def _unwanted(char: str) -> bool:
    """Whether a character steers, hides or is none: controls, directions, zero width, tags, non-characters."""
    code = ord(char)
    return (
        char in _DIRECTIONAL
        or char in _UNSEEN
        or 0xE0000 <= code <= 0xE0FFF
        or 0xFDD0 <= code <= 0xFDEF
        or code & 0xFFFE == 0xFFFE
        or unicodedata.category(char) in ("Cc", "Cs")
    )


def clean(text: str) -> str:
    """The text on one line, without what steers a terminal or a CI server's log: names come from files."""
    out = []
    for char in text:
        if char in "\n\r\t\v\f\u0085\u2028\u2029":
            out.append(" ")
        elif _unwanted(char):
            out.append("?")
        else:
            out.append(char)
    return _COMMANDS.sub(lambda found: " ".join(found[0]), "".join(out)).strip()


def columns(text: str) -> int:
    """How many columns of a terminal the text takes; wide characters take two, combining ones none."""
    return sum(
        0 if unicodedata.combining(char) else 2 if unicodedata.east_asian_width(char) in "WF" else 1 for char in text
    )


def padded(text: str, width: int, *, right: bool = False) -> str:
    """The text filled up with blanks to `width` columns."""
    blanks = " " * max(0, width - columns(text))
    return blanks + text if right else text + blanks


def number(value: float | None, decimals: int = 3) -> str:
    """A number for people: `decimals` places without trailing zeros, more where that would hide a small one.

    Below 1e-9 of any unit it is rounding, and written as nought.
    """
    if value is None:
        return "-"
    if not isfinite(value):
        return "unbounded" if value > 0 else "none"
    if abs(value) < 1e-9:
        return "0"
    if abs(value) < 10.0**-decimals:
        return f"{value:.2g}"
    text = f"{value:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def places(margin: float | None) -> int:
    """Decimals that keep a value and its limit apart: three, or as many as a smaller margin needs, at most nine."""
    if margin is None or margin == 0 or not isfinite(margin) or abs(margin) >= 0.001:
        return 3
    return min(9, 1 - floor(log10(abs(margin))))


def _fold(text: str, first: int, rest: int) -> list[str]:
    """The text broken at blanks into lines of `first` columns, then `rest`; longer words are cut."""
    lines: list[str] = []
    line, room = "", first
    for word in text.split():
        while word:
            joined = f"{line} {word}" if line else word
            # Looked at no farther than the line: a name may be longer than a page.
            if _fitting(joined, room) == len(joined):
                line, word = joined, ""
            elif line:
                lines.append(line)
                line, room = "", rest
            else:
                cut = _fitting(word, room)
                lines.append(word[:cut])
                word, room = word[cut:], rest
    if line or not lines:
        lines.append(line)
    return lines


def _fitting(word: str, room: int) -> int:
    """How many characters of a word fit into so many columns; one at the least."""
    taken = 0
    for index, char in enumerate(word):
        taken += columns(char)
        if taken > room:
            return max(index, 1)
    return len(word)


def wrapped(text: str, indent: int = 0, first: str = "", hang: int | None = None) -> list[str]:
    """A paragraph within the page's width.

    Args:
        text: what to print; already clean.
        indent: blanks before the first line.
        first: a label that the first line begins with.
        hang: blanks before the other lines; where None they begin under the end of the label.
    """
    start = indent + columns(first)
    inset = start if hang is None else hang
    lines = _fold(text, WIDTH - start, WIDTH - inset)
    return [(" " * indent + first + lines[0]).rstrip(), *(" " * inset + line for line in lines[1:])]


def flowing(items: Iterable[str], indent: int) -> list[str]:
    """Items one after the other, with semicolons; a line is broken between them and within one only if it must be."""
    lines: list[str] = []
    line = ""
    for item in items:
        joined = f"{line}; {item}" if line else item
        if line and columns(joined) > WIDTH - indent - 1:
            lines += wrapped(line + ";", indent)
            line = item
        else:
            line = joined
    return lines + (wrapped(line, indent) if line else [])


def table(
    head: Sequence[str], rows: Iterable[Sequence[str]], *, right: Sequence[int] = (), indent: int = 2
) -> list[str]:
    """Lines of a table no wider than the page; long words in columns that are not numbers go on below.

    Args:
        head: titles of the columns.
        rows: cells, as many as there are titles.
        right: indices of the columns set to the right (numbers); they are never broken.
        indent: blanks before each line.
    """
    cells = [list(head), *(list(row) for row in rows)]
    widths = [max(columns(row[i]) for row in cells) for i in range(len(head))]
    spare = WIDTH - indent - 2 * (len(head) - 1)
    while sum(widths) > spare:
        breakable = [i for i in range(len(head)) if i not in right and widths[i] > 8]
        if not breakable:
            break
        widest = max(breakable, key=lambda i: widths[i])
        widths[widest] -= 1
    lines = []
    for row in cells:
        broken = [[c] if i in right else _fold(c, widths[i], widths[i]) for i, c in enumerate(row)]
        for k in range(max(len(part) for part in broken)):
            parts = [
                padded(part[k] if k < len(part) else "", widths[i], right=i in right) for i, part in enumerate(broken)
            ]
            lines.append((" " * indent + "  ".join(parts)).rstrip())
    return lines


class Paint:
    """Colours words, or leaves them as they are.

    Args:
        on: whether to colour at all.
    """

    def __init__(self, on: bool = False) -> None:
        self.on = on

    def __call__(self, word: str, colour: str) -> str:
        """The word in bold green, red, yellow or magenta, if colours are on."""
        return f"\x1b[1;{_COLOURS[colour]}m{word}\x1b[0m" if self.on else word
