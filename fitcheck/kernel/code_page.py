"""In which code page a file's names are written, where exporters put the bytes of their own system instead of UTF-8.

ISO 10303-21 has other ways to write such letters, so a file does not say. Each page is tried on the names: what it
makes of them must be words that some language has. The alphabets and the judgement of what is odd are from memory and
common practice, no source.
"""

from __future__ import annotations

import itertools
import re

LATIN = {
    "CP1252": (
        "äöüß", "àâæçéèêëîïôœùûüÿ", "áéíñóúü", "àéèìíîòóùú", "áâãàçéêíóôõúü", "åäöé", "æøåéö", "éëïóöüáíú",
    ),
    "CP1250": ("ąćęłńóśźż", "áčďéěíňóřšťúůýž", "áäčďéíĺľňóôŕšťúýž", "áéíóöőúüű", "čšžćđ", "ăâîşţ"),
    "CP1254": ("çğıöşüâîû",),
    "CP1257": ("āčēģīķļņšūž", "ąčęėįšųūž", "äõöüšž"),
}  # fmt: skip
"""The letters that languages written in a page have beside a to z; of two pages that fit, the first is taken."""

OTHER = {
    "CP1251": (
        "абвгдежзийклмнопрстуфхцчшщъыьэюяё",
        "абвгґдеєжзиіїйклмнопрстуфхцчшщьюя",
        "абвгдђежзијклљмнњопрстћуфхцчџш",
    ),
    "CP1253": ("αβγδεζηθικλμνξοπρσςτυφχψωάέήίόύώϊϋΐΰ",),
}

COMMON = {
    "GB": ("gb2312", ((0xB0, 0xD7),)),
    "EUC": ("euc_jp", ((0xA4, 0xA5), (0xB0, 0xCF))),
    "SJIS": ("cp932", ((0x82, 0x83), (0x88, 0x97))),
}
"""Pages of two bytes a letter, Python's name for them, and the first bytes of letters that are in daily use. The kernel
knows no others."""

ICELANDIC = "áéíóúýðþæö"
"""Its own letters stand where Turkish has its own: without any that Turkish has not, a name is taken for Turkish."""

ENOUGH = 4000
"""Bytes of names that are looked at."""

_NAMES = re.compile(rb"'([^'\r\n]*[\x80-\xff][^'\r\n]*)'")


def code_page(data: bytes) -> str:
    """The kernel's name of the code page in which the names of a STEP file are readable.

    Args:
        data: the whole file.
    """
    if data.isascii():
        return "UTF8"
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        names, size = [], 0
        for found in _NAMES.finditer(data):
            names.append(found[1])
            size += len(found[1])
            if size > ENOUGH:
                break
        odd = {page: _oddness(page, b"\n".join(dict.fromkeys(names))) for page in (*LATIN, *OTHER, *COMMON)}
        # Of equals the first.
        return min(odd, key=lambda page: odd[page])
    return "UTF8"


def _oddness(page: str, text: bytes) -> float:
    """How much of a text makes no words in a code page."""
    codec = COMMON[page][0] if page in COMMON else page
    words = text.decode(codec, errors="replace")
    odd = 2.0 * words.count("\ufffd")
    # Signs stand for themselves (degrees, diameter), but not beside letters.
    odd += sum(0.3 for sign in words if sign > "\x7f" and not sign.isalpha())
    for before, after in itertools.pairwise(f" {words} "):
        odd += _pair(page, before, after)
    if page in COMMON:
        return odd + sum(_rare(page, letter) for letter in words if letter > "\x7f")
    own = [letter for letter in words.replace("İ", "ı").lower() if letter > "\x7f" and letter.isalpha()]
    alphabets = (LATIN if page in LATIN else OTHER)[page]
    strangers = [float(sum(letter not in alphabet for letter in own)) for alphabet in alphabets]
    if page == "CP1252":
        strangers.append(0.1 + sum(letter not in ICELANDIC for letter in own))
    return odd + min(strangers)


def _pair(page: str, before: str, after: str) -> float:
    """What is odd about two characters beside each other."""
    wide = before > "\x7f", after > "\x7f"
    if not any(wide):
        return 0.0
    if not (before.isalpha() and after.isalpha()):
        strange = (wide[0] and not before.isalpha() and after.isalpha()) or (
            wide[1] and not after.isalpha() and before.isalpha()
        )
        return 0.5 if strange else 0.0
    if before.islower() and after.isupper():
        return 1.0
    if page in LATIN:
        # French has this letter in words like noeud and oeil only.
        ligature = before in "œŒ" and after.lower() not in "ui"
        return float(ligature) + (0.5 if all(wide) else 0.0)
    # Letters of two scripts in one word.
    return 0.0 if all(wide) else 1.0


def _rare(page: str, letter: str) -> float:
    codec, common = COMMON[page]
    try:
        first, *rest = letter.encode(codec)
    except UnicodeEncodeError:
        return 0.0
    return 0.0 if rest and any(low <= first <= high for low, high in common) else 0.5
