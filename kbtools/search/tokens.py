"""Text to tokens: the first step of index and query alike."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

from kbtools.search.constants import CONTRACTIONS, MAX_CHARACTERS, MAX_TOKENS

_APOSTROPHES = dict.fromkeys(map(ord, "’‘`´ʼ"), "'")
_TOKEN = re.compile(r"[0-9]+(?:[.,][0-9]+)?|[a-z][a-z0-9]*(?:'[a-z]+)?")
_PAUSE = re.compile(r"[,.;:!?]")


@dataclass(frozen=True)
class Token:
    """One word or number, where it stands in the text, and whether punctuation stands before it."""

    text: str
    start: int
    end: int
    pause: bool = False


def tokens(text: str) -> list[Token]:
    """Words and numbers of a text: small letters without accents, contractions written out, numbers with a point.

    >>> [t.text for t in tokens("Won't go UP, 21,5 V at TP6 (café)")]
    ['will', 'not', 'go', 'up', '21.5', 'v', 'at', 'tp6', 'cafe']
    """
    plain, origin = _plain(text[:MAX_CHARACTERS])
    found: list[Token] = []
    end = 0
    for match in _TOKEN.finditer(plain):
        pause = bool(_PAUSE.search(plain, end, match.start()))
        end = match.end()
        for part in _written_out(match.group()):
            found.append(Token(part, origin[match.start()], origin[match.end() - 1] + 1, pause))
            pause = False
        if len(found) >= MAX_TOKENS:
            break
    return found[:MAX_TOKENS]


def _plain(text: str) -> tuple[str, list[int]]:
    """Small letters without accents, and for each of them its place in the text."""
    characters: list[str] = []
    origin: list[int] = []
    for index, character in enumerate(text.translate(_APOSTROPHES)):
        for part in unicodedata.normalize("NFKD", character).lower():
            if unicodedata.category(part) != "Mn":
                characters.append(part)
                origin.append(index)
    return "".join(characters), origin


def _written_out(word: str) -> list[str]:
    if word[0].isdigit():
        return [word.replace(",", ".")]
    stem, _, ending = word.partition("'")
    if ending == "t":
        written = CONTRACTIONS.get(stem + "t", f"{stem.removesuffix('n')} not")
        return written.split()
    return CONTRACTIONS.get(stem, stem).split()
