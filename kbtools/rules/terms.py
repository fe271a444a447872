"""Rules about the thesaurus and about callers' phrases."""

from __future__ import annotations

from collections.abc import Iterator

from kbtools.library import Library
from kbtools.model import Symptom
from kbtools.problem import Position
from kbtools.rules.registry import Finding, rule
from kbtools.search.constants import DIRECTION_WORDS, STOP
from kbtools.search.index import content_stems, reader_of
from kbtools.search.query import read_query
from kbtools.search.sense import contradicts
from kbtools.search.tokens import tokens


def _at(library: Library, concept: str, kind: str | None = None, index: int = 0) -> Position:
    document = library.terms_document
    path = ("concepts", concept) if kind is None else ("concepts", concept, kind, index)
    return document.at(path, key=kind is None) if document else Position("terms.yml")


@rule("word-in-two-concepts")
def word_in_two_concepts(library: Library) -> Iterator[Finding]:
    """A word of the thesaurus stands in one concept.

    A caller's word leads to one concept. Endings do not make another word: leg and legs are the same.

    Fails:

        concepts:
          leg: {trade: [leg], said: [support]}
          stand: {trade: [stand], said: [supports]}

    Passes:

        concepts:
          leg: {trade: [leg], said: [support]}
          stand: {trade: [stand], said: [rack]}
    """
    seen: dict[tuple[str, ...], str] = {}
    for ident, concept in library.terms.concepts.items():
        for kind, index, word in concept.words:
            form = content_stems(word)
            if seen.get(form, ident) != ident:
                yield Finding(
                    _at(library, ident, kind, index),
                    f"{word!r} already stands in the concept {seen[form]}",
                    "Keep it where most callers mean it.",
                )
            seen.setdefault(form, ident)


@rule("word-of-direction")
def word_of_direction(library: Library) -> Iterator[Finding]:
    """A word of direction or negation is no word of a concept.

    In, out, up, down, on, off, go and not belong to every movement: as words for one thing they would draw every query
    to it. Nor does a word that says nothing (the, is, it) find anything.

    Fails:

        stowed: {trade: [stowed], said: [up]}

    Passes:

        stowed: {trade: [stowed], said: [folded away]}
    """
    for ident, concept in library.terms.concepts.items():
        for kind, index, word in concept.words:
            if {token.text for token in tokens(word)} <= DIRECTION_WORDS | STOP:
                yield Finding(
                    _at(library, ident, kind, index),
                    f"{word!r} is only a word of direction, or says nothing",
                    "Delete it, or say what moves: `ways` holds what the word means for a thing.",
                )


@rule("unused-concept", "warning")
def unused_concept(library: Library) -> Iterator[Finding]:
    """Every concept has a word that some symptom uses.

    Else it leads nowhere: what callers say for it finds nothing.

    Fails:

        winch: {trade: [winch], said: [rope drum]}       # no symptom speaks of a winch

    Passes:

        step: {trade: [entry step], said: [stairs]}      # a symptom is called "The entry step sags"
    """
    texts = [text for symptom in library.symptoms.values() for text in _texts(symptom)]
    texts += [cause.title for cause in library.causes.values()]
    reader = reader_of(library.terms, texts)
    used = {match.concept for text in texts for match in read_query(text, reader).matches}
    for ident in library.terms.concepts:
        if ident not in used:
            yield Finding(
                _at(library, ident),
                f"no symptom uses a word of the concept {ident}",
                "Use its trade word in a title or phrase, or delete it.",
            )


def _texts(symptom: Symptom) -> list[str]:
    plain = [symptom.owner.title] if symptom.owner else []
    return [symptom.title, *symptom.heard_as, *symptom.shows, *plain, *([symptom.notice] if symptom.notice else [])]


@rule("phrase-against-direction", "warning")
def phrase_against_direction(library: Library) -> Iterator[Finding]:
    """What callers say does not contradict the direction of the symptom.

    Queries of the opposite sense rank lower. A phrase of the opposite sense works against its own symptom: either the
    phrase or the direction is wrong. A plain "is on" says too little to be judged.

    Fails:

        direction: {does: "no", way: extend}
        heard_as: [the step stays out]

    Passes:

        direction: {does: "no", way: retract}
        heard_as: [the step stays out]
    """
    phrases = [text for symptom in library.symptoms.values() for text in symptom.heard_as]
    reader = reader_of(library.terms, phrases)
    for symptom in library.symptoms.values():
        if symptom.direction is None:
            continue
        sense = (symptom.direction.does, symptom.direction.way)
        for index, phrase in enumerate(symptom.heard_as):
            query = read_query(phrase, reader)
            said = [one for one in query.senses if one[0] == "no" or one[1] in ("extend", "retract")]
            if contradicts(said, sense, query.parts):
                spoken = ", ".join(" ".join(one[:2]) for one in said)
                yield Finding(
                    library.at("symptom", symptom.id, ("heard_as", index)),
                    f"the phrase says {spoken}; the symptom's direction is {' '.join(sense)}",
                    "Reword the phrase, or correct the direction.",
                )


@rule("phrase-in-two-symptoms", "warning")
def phrase_in_two_symptoms(library: Library) -> Iterator[Finding]:
    """A phrase stands in one symptom.

    The same words cannot lead to two places. Small words and punctuation make no difference.

    Fails:

        symptoms:
          pump-silent: {heard_as: [the pump is dead], …}
          pump-will-not-stop: {heard_as: [pump is dead], …}

    Passes:

        symptoms:
          pump-silent: {heard_as: [the pump is dead], …}
          pump-will-not-stop: {heard_as: [the pump keeps running], …}
    """
    seen: dict[tuple[str, ...], str] = {}
    for symptom in library.symptoms.values():
        for index, phrase in enumerate(symptom.heard_as):
            key = tuple(token.text for token in tokens(phrase) if token.text not in ("the", "a", "an"))
            if seen.get(key, symptom.id) != symptom.id:
                yield Finding(
                    library.at("symptom", symptom.id, ("heard_as", index)),
                    f"the phrase {phrase!r} already stands in the symptom {seen[key]}",
                    "Say what callers say only of this one.",
                )
            seen.setdefault(key, symptom.id)
