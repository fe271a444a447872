"""How wide a text is and how many lines it takes, without a browser.

Advance widths are those of the metric family that every desktop has under one name or another (Arial, Helvetica, Liberation
Sans, Arimo), in thousandths of the type size. Line breaking is greedy at spaces, with words broken anywhere when they are
wider than the line, which never takes fewer lines than a browser does.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from functools import lru_cache

_REGULAR = {
    191: "'", 222: "ijl‘’", 260: "|", 278: " !,./:;I[\\]ft·", 333: "()-`r“”²³¹", 334: "{}", 355: '"', 389: "*", 400: "°", 469: "^",
    500: "Jcksvxyz", 549: "≤≥±", 556: "#$0123456789?L_abdeghnopqu–€£§", 576: "µ", 584: "+<=>~−×", 611: "FTZß", 667: "&ABEKPSVXY",
    722: "CDHNRUw", 748: "Ω", 778: "GOQØ", 833: "Mm¼½¾", 889: "%æ", 944: "Wœ", 1000: "—→…Æ", 1015: "@",
}  # fmt: skip
_BOLD = {
    238: "'", 278: " ,./I\\ijl‘’·", 280: "|", 333: "!()-:;[]`ft²³¹", 389: "*r{}", 400: "°", 474: '"', 500: "z“”", 549: "≤≥±",
    556: "#$0123456789J_aceksvxy–€£§", 576: "µ", 584: "+<=>^~−×", 611: "?FLTZbdghnopquß", 667: "EPSVXY", 722: "&ABCDHKNRU",
    778: "GOQwØ", 802: "Ω", 833: "M¼½¾", 889: "%mæ", 944: "Wœ", 975: "@", 1000: "—→…Æ",
}  # fmt: skip
REGULAR = {char: width for width, chars in _REGULAR.items() for char in chars}
BOLD = {char: width for width, chars in _BOLD.items() for char in chars}
NO_BREAK = "\u00a0\u202f"
_OTHER = 950
_WIDE = 1200
_ROUNDING = 1e-6
SLACK = 1.015
"""Widths are taken this much larger, for a near relative of the family."""


@dataclass(frozen=True)
class Run:
    """A stretch of text in one weight."""

    text: str
    strong: bool = False


Para = tuple[Run, ...]
"""A paragraph, spaces included."""


@lru_cache(maxsize=4096)
def _advance(char: str, strong: bool) -> int:
    """Advance width of one character in thousandths of the type size; an unknown script is taken as wide."""
    table = BOLD if strong else REGULAR
    if char in table:
        return table[char]
    if unicodedata.combining(char) or unicodedata.category(char) in ("Cf", "Mn"):
        return 0
    base = unicodedata.normalize("NFD", char)[0]
    if base in table:
        return table[base]
    if char.isspace():
        return table[" "]
    return _WIDE if unicodedata.east_asian_width(char) in "WF" else _OTHER


def width(text: str, size: float, strong: bool = False) -> float:
    """Width of a text on one line, in points, for a type size in points.

    >>> round(width("Stand clear", 10, strong=True) / SLACK, 2)
    53.91
    """
    return sum(_advance(char, strong) for char in text) * size * SLACK / 1000


@lru_cache(maxsize=16384)
def lines(para: Para, size: float, column: float) -> int:
    """Lines that a paragraph takes in a column of that many points; 0 for an empty one."""
    column += _ROUNDING
    count, used = 0, 0.0
    space = width(" ", size, strong=True)
    for advances in _words(para, size):
        needed = sum(advances)
        if count and used + space + needed <= column:
            used += space + needed
        elif needed <= column:
            count, used = count + 1, needed
        else:
            broken, used = _broken(advances, column)
            count += broken
    return count


def _words(para: Para, size: float) -> list[list[float]]:
    """The advances of the characters of every word; a word may span runs."""
    words: list[list[float]] = [[]]
    for run in para:
        for char in run.text:
            if char.isspace() and char not in NO_BREAK:
                words.append([])
            else:
                words[-1].append(width(char, size, run.strong))
    return [word for word in words if word]


def _broken(advances: list[float], column: float) -> tuple[int, float]:
    """Lines of a word that is wider than its column, and the width used on its last one."""
    count, used = 1, 0.0
    for advance in advances:
        if used and used + advance > column:
            count, used = count + 1, 0.0
        used += advance
    return count, used


def shortened(text: str, size: float, column: float, most: int, strong: bool = False) -> str:
    """The text, or as much of it as fits into `most` lines with a visible … at its end."""
    if lines((Run(text, strong),), size, column) <= most:
        return text
    low, high = 0, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        fits = lines((Run(text[:middle] + "…", strong),), size, column) <= most
        low, high = (middle, high) if fits else (low, middle - 1)
    return text[:low].rstrip() + "…"
