"""Edit distance and phonetic key."""

from __future__ import annotations

from functools import cache

from hypothesis import given
from hypothesis import strategies as st

from kbtools.search.spelling import distance, letters, sounds

WORDS = st.text("abcd", max_size=6)


@cache
def _recursive(a: str, b: str) -> int:
    """Optimal string alignment by its recurrence (Boytsov 2011, "Indexing methods for approximate dictionary searching")."""
    if not a or not b:
        return len(a) + len(b)
    best = min(_recursive(a[:-1], b) + 1, _recursive(a, b[:-1]) + 1, _recursive(a[:-1], b[:-1]) + (a[-1] != b[-1]))
    if len(a) > 1 and len(b) > 1 and a[-1] == b[-2] and a[-2] == b[-1]:
        best = min(best, _recursive(a[:-2], b[:-2]) + 1)
    return best


@given(WORDS, WORDS, st.integers(1, 3))
def test_distance_follows_its_recurrence_up_to_the_limit(a: str, b: str, limit: int) -> None:
    assert distance(a, b, limit) == min(_recursive(a, b), limit + 1)


@given(WORDS, WORDS)
def test_letter_sets_never_exclude_a_near_word(a: str, b: str) -> None:
    assert (letters(a) ^ letters(b)).bit_count() <= 2 * _recursive(a, b)


def test_words_spelt_by_ear_sound_alike() -> None:
    pairs = [("fuze", "fuse"), ("buzer", "buzzer"), ("batery", "battery"), ("kuppled", "coupled"), ("fone", "phone")]
    assert [(a, b) for a, b in pairs if sounds(a) != sounds(b)] == []
    assert sounds("panel") != sounds("pump")
