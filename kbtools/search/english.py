"""How common a word is in English. The table's source and licence stand in its first lines."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType

from whoosh.lang.porter2 import stem as porter2

from kbtools.search.constants import BACKGROUND_FLOOR, GUARD_ZIPF, MISSPELT, ZIPF_COMMON, ZIPF_RARE


@cache
def zipf() -> Mapping[str, float]:
    """Word → Zipf frequency (log10 of uses in a billion words), for the 20,000 most common words."""
    table: dict[str, float] = {}
    text = files("kbtools.search").joinpath("english.txt").read_text(encoding="utf-8")
    for line in text.splitlines():
        if not line.startswith("#"):
            value, *words = line.split()
            table.update(dict.fromkeys(words, float(value)))
    return MappingProxyType(table)


@cache
def guarded() -> frozenset[str]:
    """Words too common in English to be taken for a misspelling."""
    return frozenset(word for word, value in zipf().items() if value >= GUARD_ZIPF) - MISSPELT


def background(word: str) -> float:
    """Weight of a word by its rarity in English, from the floor (very common) to 1 (rare).

    >>> background("the"), background("isolator")
    (0.25, 1.0)
    """
    value = zipf().get(word, 0.0)
    share = (value - ZIPF_RARE) / (ZIPF_COMMON - ZIPF_RARE)
    return 1.0 - (1.0 - BACKGROUND_FLOOR) * min(1.0, max(0.0, share))


@cache
def stem(word: str) -> str:
    """The word without its ending (Porter's English stemmer); words with a digit stay as they are."""
    return word if not word.isalpha() or len(word) < 3 else str(porter2(word))
