"""Owners read plain words: Flesch-Kincaid grade 8 at most, and short sentences."""

from __future__ import annotations

import pytest

from kbtools.library import Library
from kbtools.readability import ease, grade, grade_of, sentences, syllables
from kbtools.rules.owners import HIGHEST_GRADE

LONGEST_SENTENCE = 25
"""Words in a descriptive sentence: ASD-STE100, restated in an article on tcworld.info."""


def test_the_published_formula_of_reading_ease() -> None:
    """206.835 - 1.015 words/sentence - 84.6 syllables/word, maximum 121.22 (en.copian.ca, readability, page 22)."""
    assert ease(1, 1) == pytest.approx(121.22, abs=0.005)


@pytest.mark.parametrize(
    ("words", "sylls", "expected"),
    [(13, 24 / 13, 11.3), (5.7, 1.02, -1.3)],
)
def test_the_published_examples_of_the_grade(words: float, sylls: float, expected: float) -> None:
    """13 words with 24 syllables in one sentence give 11.3 (wikisum.wiki); 5.7 and 1.02 give -1.3 (lofthaa.blogg.se)."""
    assert round(grade(words, sylls), 1) == expected


@pytest.mark.parametrize(
    ("count", "words"),
    [
        (1, "leg pressed stopped called turned lamp close doors moved walks towed Q tipped wheels lights signs don't"),
        (2, "trailer trailer's level tractor open paper needed raises places catches table tables Q1 F3 isn't going"),
        (3, "battery isolate everyone injury hydraulic technician radio somebody carriageway"),
        (4, "everybody emergency information diagnosis"),
    ],
)
def test_syllables_as_counted_by_hand(count: int, words: str) -> None:
    """Counted by hand, no source."""
    assert {word: syllables(word) for word in words.split()} == dict.fromkeys(words.split(), count)


def test_a_text_for_engineers_is_not_taken_for_plain() -> None:
    assert grade_of("Hydraulic depressurisation necessitates verification of residual accumulator pressure.") > 16


def test_every_symptom_speaks_to_owners(manual: Library) -> None:
    assert [symptom.id for symptom in manual.symptoms.values() if symptom.owner is None] == []


def test_owner_texts_are_of_grade_8_at_most(manual: Library) -> None:
    grades = {s.id: round(grade_of(s.owner.text), 1) for s in manual.symptoms.values() if s.owner}
    assert {ident: value for ident, value in grades.items() if value > HIGHEST_GRADE} == {}


def test_owner_sentences_are_short(manual: Library) -> None:
    long = {
        s.id: " ".join(words)
        for s in manual.symptoms.values()
        if s.owner
        for words in sentences(s.owner.text)
        if len(words) > LONGEST_SENTENCE
    }
    assert long == {}
