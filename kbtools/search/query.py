"""A query as the ranking sees it: weighted terms, the things it names and the senses it expresses."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from kbtools.search.constants import (
    CONCEPT_WEIGHT,
    EMPTY,
    KNOWN_FROM,
    PART_WORD,
    SHORTEST_CORRECTED,
    SHORTEST_STRANGE,
    STOP,
    UNIT,
)
from kbtools.search.lexicon import Lexicon, Match, Reading
from kbtools.search.measured import measured
from kbtools.search.sense import Said, read_senses
from kbtools.search.tokens import Token, tokens


@dataclass(frozen=True)
class Query:
    """What was typed and what it was taken for."""

    text: str
    words: tuple[Token, ...]
    """The words that count, in order."""
    readings: tuple[tuple[Reading, ...], ...]
    """For each of them, what it can stand for."""
    matches: tuple[Match, ...]
    """Concepts found among them."""
    features: Mapping[str, int]
    """Term of the index → weight in 64ths, sorted by term."""
    parts: frozenset[str]
    """Things named."""
    senses: tuple[Said, ...]
    spoken: tuple[str, ...] = ()
    """Every token, the small words included."""
    judged: tuple[tuple[str, bool], ...] = ()
    """Each word that counts, without numbers, barely begun words and unknown empty ones, and whether the manual knows it."""

    @property
    def corrected(self) -> tuple[tuple[str, str], ...]:
        """Words that were read as another word, with the most likely one."""
        pairs = [
            (w.text, r[0].surface)
            for w, r in zip(self.words, self.readings, strict=True)
            if r[:1] and r[0].how == "corrected"
        ]
        return tuple(dict.fromkeys(pairs))

    @property
    def unknown(self) -> tuple[str, ...]:
        """The words that the manual does not know, each once."""
        return tuple(dict.fromkeys(word for word, known in self.judged if not known))


def read_query(text: str, lexicon: Lexicon, *, typing: bool = False) -> Query:
    """Reads a query. With `typing`, a last word without a space after it may be unfinished. Any text is allowed."""
    spoken = _join(tokens(text), lexicon)
    unfinished = typing and bool(spoken) and spoken[-1].end == len(text)
    words: list[Token] = []
    readings: list[tuple[Reading, ...]] = []
    places: list[int] = []
    value = measured([token.text for token in spoken])
    reading = (
        () if value is None else (value, value + 1)
    )  # what a reading says is asked of the checks, not of the index
    for place, token in enumerate(spoken):
        last = unfinished and place == len(spoken) - 1
        if place not in reading and (token.text not in STOP or last):
            words.append(token)
            readings.append(lexicon.readings(token.text, unfinished=last))
            places.append(place)
    matches = lexicon.concepts(readings)
    return Query(
        text=text,
        words=tuple(words),
        readings=tuple(readings),
        matches=tuple(matches),
        features=_features(readings, matches, lexicon),
        parts=frozenset(m.concept for m in matches) & lexicon.parts,
        senses=_senses(spoken, dict(zip(places, readings, strict=True)), places, matches, lexicon),
        spoken=tuple(token.text for token in spoken),
        judged=tuple(_judged(words, readings, unfinished)),
    )


def _judged(
    words: Sequence[Token], readings: Sequence[Sequence[Reading]], unfinished: bool
) -> Iterator[tuple[str, bool]]:
    for number, (word, found) in enumerate(zip(words, readings, strict=True), 1):
        begun = unfinished and number == len(words) and len(word.text) < SHORTEST_STRANGE
        known = any(reading.weight >= KNOWN_FROM for reading in found)
        empty = word.text in EMPTY or len(word.text) < SHORTEST_CORRECTED
        if not begun and not word.text[0].isdigit() and (known or not empty):
            yield word.text, known


def _join(spoken: list[Token], lexicon: Lexicon) -> list[Token]:
    joints = lexicon.joined([token.text for token in spoken])
    for i in reversed(joints):
        first, second = spoken[i], spoken[i + 1]
        spoken[i : i + 2] = [Token(first.text + second.text, first.start, second.end, first.pause)]
    return spoken


def _features(readings: Sequence[Sequence[Reading]], matches: Sequence[Match], lexicon: Lexicon) -> dict[str, int]:
    weights: dict[str, int] = {}
    naming = {place for m in matches if m.concept in lexicon.parts for place in range(m.start, m.end)}
    for place, word in enumerate(readings):
        for reading in word:
            weight = reading.weight * PART_WORD // UNIT if place in naming else reading.weight
            weights[reading.stem] = max(weights.get(reading.stem, 0), weight)
    for match in matches:
        term = "=" + match.concept
        weights[term] = max(weights.get(term, 0), match.weight * CONCEPT_WEIGHT // UNIT)
    return dict(sorted(weights.items()))


def _senses(
    spoken: Sequence[Token],
    readings: Mapping[int, Sequence[Reading]],
    places: Sequence[int],
    matches: Sequence[Match],
    lexicon: Lexicon,
) -> tuple[Said, ...]:
    words = [_taken_for(token, readings.get(place, ())) for place, token in enumerate(spoken)]
    things = [""] * len(spoken)
    for match in matches:
        if match.concept in lexicon.parts:
            things[places[match.start]] = match.concept
    return read_senses(words, [token.pause for token in spoken], things, lexicon.ways)


def _taken_for(token: Token, readings: Sequence[Reading]) -> str:
    return readings[0].surface if readings and readings[0].how == "corrected" else token.text
