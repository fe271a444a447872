"""The search itself: a library in, ranked entries with reasons out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from kbtools.library import Library
from kbtools.search import store
from kbtools.search.constants import ENOUGH, SHOWN_FROM, STOP, UNIT
from kbtools.search.documents import Document, other_documents, symptom_documents
from kbtools.search.index import Group, Index, build_index
from kbtools.search.measured import outcome_of
from kbtools.search.query import Query, read_query
from kbtools.search.sense import sense_factor
from kbtools.search.tokens import tokens


@dataclass(frozen=True)
class Why:
    """One term that a hit shares with the query, and what it adds to the score before the factors."""

    term: str
    how: str
    word: str
    points: int


@dataclass(frozen=True)
class Hit:
    """A ranked entry."""

    document: Document
    score: int
    phrase: str
    """The phrase or title that is nearest to the query."""
    why: tuple[Why, ...]
    part_factor: int
    sense_factor: int
    outcome: str = ""
    """For a check: what the reading in the query means."""


@dataclass(frozen=True)
class Results:
    """What a query found: symptoms first, then causes, checks, parts and test points."""

    query: Query
    symptoms: tuple[Hit, ...]
    others: tuple[Hit, ...]
    about_it: bool = True
    """False when the query is most likely about something that the manual does not treat: what was found is only the nearest."""


@dataclass(frozen=True)
class Search:
    """An index, ready to be asked."""

    index: Index
    stored: Any

    def ask(
        self,
        text: str,
        *,
        limit: int | None = None,
        typing: bool = False,
        wanted: Callable[[Document], bool] = lambda document: True,
    ) -> Results:
        """Ranks everything by the query; any text is allowed. `limit` holds for each of the two groups.

        What is not `wanted` is left out before anything is compared with the best.

        Entries far behind the best one of their group are left out.
        """
        asked = read_query(text, self.index.lexicon, typing=typing)
        groups = (("symptom", self.index.symptoms), ("other", self.index.others))
        hits = []
        best = 0
        for name, group in groups:
            found = store.rank(self.stored, self.index, asked, name)
            best = max([best, *(score for _, score in found[:1])])
            ranked = _near_the_best([pair for pair in found if wanted(group.documents[pair[0]])])[:limit]
            hits.append(tuple(_hit(self.index, group, asked, number, score) for number, score in ranked))
        return Results(asked, hits[0], hits[1], _about_it(asked, best))

    def ids(self, text: str, *, typing: bool = False) -> list[tuple[str, int]]:
        """Ids and scores of the symptoms, best first, without reasons."""
        asked = read_query(text, self.index.lexicon, typing=typing)
        ranked = store.rank(self.stored, self.index, asked, "symptom")
        return [(self.index.symptoms.documents[number].id, score) for number, score in ranked]


def search_of(library: Library, *, owner: bool = False) -> Search:
    """A search over a library, its index in memory."""
    index = index_of(library, owner=owner)
    return Search(index, store.write(index))


def index_of(library: Library, *, owner: bool = False) -> Index:
    """The index of a library; with `owner`, of what owners get to read."""
    symptoms = symptom_documents(library, owner=owner)
    return build_index(symptoms, other_documents(library, owner=owner), library.terms, library.revision)


def _about_it(asked: Query, best: int) -> bool:
    """Whether the best score, of all entries, is enough for a query with so many unknown words."""
    words, known = len(asked.judged), sum(known for _, known in asked.judged)
    return known == words or best * known >= ENOUGH * words


def _near_the_best(ranked: list[tuple[int, int]]) -> list[tuple[int, int]]:
    return [(number, score) for number, score in ranked if score * UNIT >= ranked[0][1] * SHOWN_FROM]


def _hit(index: Index, group: Group, asked: Query, number: int, score: int) -> Hit:
    document = group.documents[number]
    return Hit(
        document=document,
        score=score,
        phrase=nearest_phrase(index, asked, document),
        why=_why(group, asked, number),
        part_factor=store.part_factor(asked, group.parts[number]),
        sense_factor=sense_factor(asked.senses, document.sense, group.parts[number]),
        outcome=outcome_of(document.scale, asked.spoken),
    )


def _why(group: Group, asked: Query, number: int) -> tuple[Why, ...]:
    best = {r.stem: (r, w.text) for w, rs in zip(asked.words, asked.readings, strict=True) for r in reversed(rs)}
    found = []
    for term, weight in asked.features.items():
        impact = group.postings.get(term, {}).get(number, 0)
        if impact and term.startswith("="):
            found.append(Why(term[1:], "concept", _spoken(asked, term[1:]), weight * impact))
        elif impact:
            reading, word = best[term]
            found.append(Why(reading.surface, reading.how, word, weight * impact))
    return tuple(sorted(found, key=lambda why: (-why.points, why.term)))


def _spoken(asked: Query, concept: str) -> str:
    match = next(m for m in asked.matches if m.concept == concept)
    return " ".join(word.text for word in asked.words[match.start : match.end])


def marks(index: Index, asked: Query, text: str) -> list[tuple[int, int]]:
    """Where the words of a text stand that the query shares, concepts included."""
    spoken = [token for token in tokens(text) if token.text not in STOP]
    readings = [index.lexicon.readings(token.text) for token in spoken]
    wanted = {m.concept for m in asked.matches}
    found = [t for t, r in zip(spoken, readings, strict=True) if any(x.stem in asked.features for x in r)]
    for match in index.lexicon.concepts(readings):
        found += spoken[match.start : match.end] if match.concept in wanted else []
    return sorted({(token.start, token.end) for token in found})


def nearest_phrase(index: Index, asked: Query, document: Document) -> str:
    """The phrase or title of a symptom that shares most with the query: summed query weights, ties to the first.

    For other entries, the title.
    """
    phrases = document.fields.get("phrases", ()) if document.kind == "symptom" else ()
    texts: Sequence[str] = (document.title, *phrases)
    worth = [_shared(index, asked, text) for text in texts]
    return texts[worth.index(max(worth))]


def _shared(index: Index, asked: Query, text: str) -> int:
    stems = {index.lexicon.surfaces.get(token.text, "") for token in tokens(text) if token.text not in STOP}
    return sum(asked.features.get(stem, 0) for stem in stems)
