"""How near two words are: edit distance with transposition, and a light phonetic key."""

from __future__ import annotations

import re

_SOUNDS = (
    (re.compile("ph"), "f"),
    (re.compile("gh"), ""),
    (re.compile("^wr"), "r"),
    (re.compile("^kn"), "n"),
    (re.compile("c(?=[eiy])"), "s"),
    (re.compile("[cq]"), "k"),
    (re.compile("x"), "ks"),
    (re.compile("z"), "s"),
    (re.compile("(?!^)[aeiouhwy]"), ""),
    (re.compile(r"(.)\1+"), r"\1"),
)


def sounds(word: str) -> str:
    """The consonants of a word as they sound; words spelt by ear share it.

    >>> sounds("bateries") == sounds("batteries"), sounds("fuze") == sounds("fuse")
    (True, True)
    """
    for pattern, replacement in _SOUNDS:
        word = pattern.sub(replacement, word)
    return word


def letters(word: str) -> int:
    """The set of letters of a word as 26 bits: one edit changes at most two of them."""
    bits = 0
    for character in word:
        if "a" <= character <= "z":
            bits |= 1 << (ord(character) - 97)
    return bits


def distance(one: str, other: str, limit: int) -> int:
    """Edits (insert, delete, replace, swap neighbours; optimal string alignment), or limit + 1 when there are more.

    >>> distance("panle", "panel", 2), distance("pump", "panel", 2)
    (1, 3)
    """
    if abs(len(one) - len(other)) > limit:
        return limit + 1
    before: list[int] = []
    row = list(range(len(other) + 1))
    for i, a in enumerate(one, 1):
        earlier, before, row = before, row, [i]
        for j, b in enumerate(other, 1):
            value = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (a != b))
            if i > 1 and j > 1 and a == other[j - 2] and one[i - 2] == b:
                value = min(value, earlier[j - 2] + 1)
            row.append(value)
        if min(row) > limit:
            return limit + 1
    return min(row[-1], limit + 1)
