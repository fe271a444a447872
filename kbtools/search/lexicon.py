"""What the query's words can mean: known surfaces, corrections, unfinished words, concepts."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Literal

from kbtools.search.constants import (
    CORRECTED_1,
    CORRECTED_2,
    CORRECTIONS,
    LESS_LIKELY,
    OTHER_START,
    PREFIX_OF_KNOWN,
    PREFIX_WEIGHT,
    PREFIXES,
    SHORTEST_CORRECTED,
    SHORTEST_PREFIX,
    SOUNDS_ALIKE,
    STOP,
    TWO_EDITS_FROM,
    UNIT,
)
from kbtools.search.spelling import distance, letters, sounds

How = Literal["exact", "corrected", "unfinished"]


@dataclass(frozen=True)
class Reading:
    """One thing a word of the query can stand for: a stem, how much it counts, and by which word of the manual."""

    stem: str
    weight: int
    how: How
    surface: str


@dataclass(frozen=True)
class Match:
    """A concept found at content words `start` to `end` (not included)."""

    concept: str
    start: int
    end: int
    weight: int


@dataclass(frozen=True)
class Lexicon:
    """Everything the query side knows about words; it is stored and exported as it stands."""

    surfaces: Mapping[str, str]
    """Surface → stem, sorted by surface."""
    popularity: Mapping[str, int]
    """Stem → entries that hold it: decides among equals."""
    guard: frozenset[str]
    """Common words that are never corrected."""
    forms: Mapping[tuple[str, ...], str]
    """Stems of a thesaurus word → its concept."""
    parts: frozenset[str]
    """Concepts that are things."""
    ways: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    """Concept → what words of direction mean for it."""

    @cached_property
    def _sorted(self) -> list[str]:
        return sorted(self.surfaces)

    @cached_property
    def _shapes(self) -> list[tuple[str, int, int]]:
        return [(word, len(word), letters(word)) for word in self._sorted if word.isalpha()]

    @cached_property
    def _longest(self) -> int:
        return max((len(form) for form in self.forms), default=0)

    def readings(self, word: str, *, unfinished: bool = False) -> tuple[Reading, ...]:
        """What a word can stand for, best first; nothing for a word that the manual does not use."""
        stem = self.surfaces.get(word)
        found = [Reading(stem, UNIT, "exact", word)] if stem is not None else []
        if unfinished and len(word) >= SHORTEST_PREFIX:
            found += self._endings(word, PREFIX_OF_KNOWN if found or word in STOP else PREFIX_WEIGHT, stem)
        if not found and self._may_be_misspelt(word):
            found = self._corrections(word)
        return tuple(found)

    def _may_be_misspelt(self, word: str) -> bool:
        return len(word) >= SHORTEST_CORRECTED and word.isalpha() and word not in self.guard

    def _best(self, readings: list[Reading], limit: int, but: str | None = None) -> list[Reading]:
        """The best by weight, then popularity, then surface; each stem once."""
        readings.sort(key=lambda r: (-r.weight, -self.popularity.get(r.stem, 0), r.surface))
        kept: dict[str, Reading] = {}
        for reading in readings:
            if reading.stem != but:
                kept.setdefault(reading.stem, reading)
        return list(kept.values())[:limit]

    def _endings(self, word: str, weight: int, stem: str | None) -> list[Reading]:
        found = []
        for index in range(bisect_left(self._sorted, word), len(self._sorted)):
            surface = self._sorted[index]
            if not surface.startswith(word):
                break
            if surface != word and self.popularity.get(self.surfaces[surface], 0):
                found.append(Reading(self.surfaces[surface], weight, "unfinished", surface))
        return self._best(found, PREFIXES, stem)

    def _corrections(self, word: str) -> list[Reading]:
        limit = 2 if len(word) >= TWO_EDITS_FROM else 1
        bits, key = letters(word), sounds(word)
        found = []
        for surface, length, shape in self._shapes:
            if abs(length - len(word)) > limit or (bits ^ shape).bit_count() > 2 * limit:
                continue
            edits = distance(word, surface, limit)
            if edits <= limit:
                weight = CORRECTED_1 if edits == 1 else CORRECTED_2
                weight += SOUNDS_ALIKE if sounds(surface) == key else 0
                weight -= OTHER_START if surface[0] != word[0] else 0
                found.append(Reading(self.surfaces[surface], weight, "corrected", surface))
        best = self._best(found, CORRECTIONS)
        return best[:1] + [replace(other, weight=other.weight - LESS_LIKELY) for other in best[1:]]

    def joined(self, words: Sequence[str]) -> list[int]:
        """Indices where a short name and the number after it are one name written apart, such as TP 6 or F 3."""
        return [
            i
            for i in range(len(words) - 1)
            if re.fullmatch("tp|[a-z]", words[i])
            and re.fullmatch("[0-9]{1,3}", words[i + 1])
            and words[i] + words[i + 1] in self.surfaces
        ]

    def concepts(self, readings: Sequence[Sequence[Reading]]) -> list[Match]:
        """Concepts among the content words, from the left, the longest form first, without overlap."""
        found: list[Match] = []
        start = 0
        while start < len(readings):
            match = self._concept_at(readings, start)
            if match:
                found.append(match)
            start = match.end if match else start + 1
        return found

    def _concept_at(self, readings: Sequence[Sequence[Reading]], start: int) -> Match | None:
        best: Match | None = None
        partial: list[tuple[tuple[str, ...], int]] = [((), UNIT)]
        for end in range(start, min(start + self._longest, len(readings))):
            partial = [
                (form, min(weight, reading.weight))
                for stems, weight in partial
                for reading in readings[end]
                if (form := (*stems, reading.stem)) in self._beginnings
            ]
            here = [Match(self.forms[form], start, end + 1, w) for form, w in partial if form in self.forms]
            if here:
                best = min(here, key=lambda m: (-m.weight, m.concept))
            if not partial:
                break
        return best

    @cached_property
    def _beginnings(self) -> frozenset[tuple[str, ...]]:
        return frozenset(form[:length] for form in self.forms for length in range(1, len(form) + 1))
