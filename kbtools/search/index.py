"""The index: what every term is worth for every entry, as whole numbers from 1 to 255.

BM25F as in Robertson, Zaragoza and Taylor, "Simple BM25 extension to multiple weighted fields" (CIKM 2004): the fields' term
frequencies are added up, weighted and normalised by length, before they saturate.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from kbtools.search.constants import BOOSTS, IMPACT_MAX, K1, STOP, B
from kbtools.search.documents import Document
from kbtools.search.english import background, guarded, stem, zipf
from kbtools.search.lexicon import Lexicon, Reading
from kbtools.search.tokens import tokens
from kbtools.terms import Terms

Postings = Mapping[str, Mapping[int, int]]
"""Term → document number → impact. A concept's term is its id after an equals sign."""


@dataclass(frozen=True)
class Group:
    """Documents that are ranked against each other, in the order of their numbers."""

    documents: tuple[Document, ...]
    postings: Postings
    parts: tuple[frozenset[str], ...]
    """For each document, the things of the thesaurus that it is about."""


@dataclass(frozen=True)
class Index:
    """Everything that a search needs."""

    lexicon: Lexicon
    symptoms: Group
    others: Group
    revision: str = ""


def build_index(symptoms: Sequence[Document], others: Sequence[Document], terms: Terms, revision: str = "") -> Index:
    """Reads the documents once and works out every impact."""
    reader = reader_of(terms, ())
    groups = [_group(documents, reader) for documents in (symptoms, others)]
    words = {
        t.text for d in (*symptoms, *others) for texts in d.fields.values() for text in texts for t in tokens(text)
    }
    words |= {t.text for c in terms.concepts.values() for _, _, word in c.words for t in tokens(word)}
    lexicon = Lexicon(
        surfaces=_surfaces(words),
        popularity=_popularity(groups),
        guard=guarded(),
        forms=reader.forms,
        parts=reader.parts,
        ways=reader.ways,
    )
    return Index(lexicon, groups[0], groups[1], revision)


def reader_of(terms: Terms, texts: Iterable[str]) -> Lexicon:
    """A lexicon that knows the thesaurus and the words of these texts, enough to read them."""
    words = {token.text for text in texts for token in tokens(text)} - STOP
    forms = {
        form: ident
        for ident, concept in terms.concepts.items()
        for _, _, word in concept.words
        if (form := content_stems(word))
    }
    return Lexicon(
        surfaces={word: stem(word) for word in sorted(words)},
        popularity={},
        guard=frozenset(),
        forms=forms,
        parts=frozenset(ident for ident, concept in terms.concepts.items() if concept.part),
        ways={ident: dict(c.ways) for ident, c in terms.concepts.items() if c.ways},
    )


def content_stems(text: str) -> tuple[str, ...]:
    """Stems of the words of a text that count."""
    return tuple(stem(token.text) for token in tokens(text) if token.text not in STOP)


def _surfaces(words: set[str]) -> dict[str, str]:
    """Every word of the content and every common English word with the same stem, sorted."""
    words = {word for word in words if word not in STOP}
    stems = {stem(word) for word in words}
    variants = {word for word in zipf() if word not in STOP and stem(word) in stems}
    inflected = {form for word in words if word.isalpha() and len(word) > 2 for form in _inflections(word)}
    kept = words | variants | {form for form in inflected if stem(form) in stems}
    return {word: stem(word) for word in sorted(kept)}


def _inflections(word: str) -> list[str]:
    """The usual endings of a word that has none; the stemmer decides which of them are the same word."""
    if word.endswith(("s", "ed", "ing", "ly")):
        return []
    base = word.removesuffix("e")
    short = len(word) < 6 and word[-1] not in "aeiouwxy" and word[-2] in "aeiou"
    doubled = word + word[-1] if short else base
    return [word + ("es" if word.endswith(("x", "z", "ch", "sh")) else "s"), doubled + "ed", doubled + "ing"]


def _popularity(groups: Iterable[Group]) -> dict[str, int]:
    counts: Counter[str] = Counter()
    for group in groups:
        counts.update({term: len(row) for term, row in group.postings.items() if not term.startswith("=")})
    return dict(sorted(counts.items()))


def _group(documents: Sequence[Document], reader: Lexicon) -> Group:
    counted = [{f: _count(d.fields.get(f, ()), reader) for f in BOOSTS} for d in documents]
    parts = tuple(_parts(document, reader) for document in documents)
    return Group(tuple(documents), _quantise(bm25f(counted)), parts)


def _count(texts: Iterable[str], reader: Lexicon) -> Counter[str]:
    counts: Counter[str] = Counter()
    for text in texts:
        stems = content_stems(text)
        counts.update(stems)
        counts.update("=" + match.concept for match in reader.concepts(_read(stems)))
    return counts


def _read(stems: Sequence[str]) -> list[tuple[Reading, ...]]:
    return [(Reading(s, 64, "exact", s),) for s in stems]


def _parts(document: Document, reader: Lexicon) -> frozenset[str]:
    """Things named in the title or in at least two phrases."""
    named: Counter[str] = Counter()
    for field, worth in (("title", 2), ("phrases", 1)):
        for text in document.fields.get(field, ()):
            found = {match.concept for match in reader.concepts(_read(content_stems(text)))} & reader.parts
            named.update(dict.fromkeys(found, worth))
    return frozenset(concept for concept, times in named.items() if times >= 2)


def bm25f(
    counted: Sequence[Mapping[str, Mapping[str, int]]],
    boosts: Mapping[str, float] = BOOSTS,
    k1: float = K1,
    b: float = B,
    rarity: Mapping[str, float] | None = None,
) -> dict[str, dict[int, float]]:
    """Term → document number → BM25F weight, the inverse document frequency ln(1 + (N − n + ½)/(n + ½)) included.

    `counted` holds, for each document, field → term → frequency. Terms that begin with an equals sign do not count as length.
    `rarity` scales a term; left out, it is the rarity of the stem in English.
    """
    lengths = {f: [sum(n for t, n in d[f].items() if t[:1] != "=") for d in counted] for f in boosts}
    means = {f: sum(row) / (sum(1 for n in row if n) or 1) for f, row in lengths.items()}
    weights: dict[str, dict[int, float]] = defaultdict(dict)
    for number, document in enumerate(counted):
        for field, boost in boosts.items():
            norm = 1 - b + b * lengths[field][number] / means[field] if means[field] else 1.0
            for term, frequency in document[field].items():
                row = weights[term]
                row[number] = row.get(number, 0.0) + boost * frequency / norm
    total = len(counted)
    scale = _rarity(weights) if rarity is None else rarity
    for term, row in weights.items():
        idf = math.log(1 + (total - len(row) + 0.5) / (len(row) + 0.5)) * scale.get(term, 1.0)
        weights[term] = {n: idf * w * (k1 + 1) / (k1 + w) for n, w in row.items()}
    return dict(weights)


def _rarity(terms: Iterable[str]) -> dict[str, float]:
    """Stem → weight by the most common English word that has this stem; concepts keep their full weight."""
    least: dict[str, float] = {}
    for word in zipf():
        root = stem(word)
        least[root] = min(least.get(root, 1.0), background(word))
    return {term: least.get(term, 1.0) for term in terms}


def _quantise(weights: Mapping[str, Mapping[int, float]]) -> dict[str, dict[int, int]]:
    top = max((w for row in weights.values() for w in row.values()), default=1.0)
    return {
        term: {number: max(1, round(weights[term][number] / top * IMPACT_MAX)) for number in sorted(weights[term])}
        for term in sorted(weights)
    }
