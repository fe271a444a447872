"""Reading ease and grade by the published formulas, with a syllable count of its own.

Flesch, R. (1948), A new readability yardstick, Journal of Applied Psychology 32; Kincaid, J. P., Fishburne, R. P., Rogers, R. L.
and Chissom, B. S. (1975), Research Branch Report 8-75, Naval Technical Training Command (both from memory).
"""

from __future__ import annotations

import re

_WORD = re.compile(r"[A-Za-z0-9]+(?:['’.][A-Za-z0-9]+)*")
_SENTENCE = re.compile(r"[.!?:;]+(?:\s|$)")
_SPOKEN = {"0": 2, "7": 2, "w": 3}
"""Syllables of a digit or letter that is read out and has more than one."""
_ODD = {
    "people": 2, "something": 2, "somewhere": 2, "sometimes": 2, "every": 2, "everybody": 4, "quiet": 2, "area": 3, "idea": 3, "being": 2, "going": 2, "doing": 2, "somebody": 3, "safely": 2,
    "lately": 2, "carriageway": 3,
}  # fmt: skip
"""Words that the rules below would miscount."""


def syllables(word: str) -> int:
    """Syllables of one English word: groups of vowels, without a silent e. Figures and single letters count as read out."""
    low = word.lower().replace("’", "'")
    if any(char.isdigit() for char in low):
        return sum(_SPOKEN.get(char, 1) for char in low if char.isalnum())
    low = low.removesuffix("'s").replace("'", "")
    if low in _ODD:
        return _ODD[low]
    count = len(re.findall(r"[aeiouy]+", low))
    count -= bool(re.search(r"[^aeiouy]e$", low)) and not re.search(r"[^aeiouy]le$", low)
    count -= bool(re.search(r"[^aeiouytd]ed$", low))
    count -= bool(re.search(r"[^aeiouyscgxz]es$", low)) and not re.search(r"([^aeiouy]l|ch|sh)es$", low)
    count += bool(re.search(r"(?<![aeioutcsxg])i[aou]", low))
    count += bool(re.search(r"[sd]nt$", low)) and "'" in word.replace("’", "'")
    return max(count, 1)


def sentences(text: str) -> list[list[str]]:
    """The words of each sentence of a text."""
    found = (_WORD.findall(part) for part in _SENTENCE.split(text))
    return [words for words in found if words]


def _averages(text: str) -> tuple[float, float]:
    parts = sentences(text) or [["a"]]
    words = [word for part in parts for word in part]
    return len(words) / len(parts), sum(map(syllables, words)) / len(words)


def ease(words_per_sentence: float, syllables_per_word: float) -> float:
    """Flesch reading ease; higher is easier."""
    return 206.835 - 1.015 * words_per_sentence - 84.6 * syllables_per_word


def grade(words_per_sentence: float, syllables_per_word: float) -> float:
    """Flesch-Kincaid grade: years of school."""
    return 0.39 * words_per_sentence + 11.8 * syllables_per_word - 15.59


def grade_of(text: str) -> float:
    """Flesch-Kincaid grade of a text; a text without words counts as one short word.

    >>> grade_of("Press STOP. Get everybody out.") < 8
    True
    """
    return grade(*_averages(text))
