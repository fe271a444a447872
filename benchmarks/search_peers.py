"""General-purpose search libraries over the same fields, each set up as well as its documentation allows."""

from __future__ import annotations

import re
import sqlite3
from collections import defaultdict
from collections.abc import Callable, Sequence

from lunr import lunr
from rank_bm25 import BM25Okapi
from whoosh import fields, qparser, scoring
from whoosh.analysis import StemmingAnalyzer
from whoosh.filedb.filestore import RamStorage

from kbtools.search.constants import BOOSTS, STOP
from kbtools.search.documents import Document
from kbtools.search.english import stem

Ranker = Callable[[str], list[str]]


def _words(text: str) -> list[str]:
    return re.findall("[a-z0-9]+", text.lower())


def _rows(documents: Sequence[Document]) -> list[dict[str, str]]:
    return [{"id": d.id, **{f: ". ".join(d.fields.get(f, ())) for f in BOOSTS}} for d in documents]


def lunr_boosted(documents: Sequence[Document]) -> Ranker:
    """lunr with the same field boosts; each word as it is and, from five letters, at edit distance 1."""
    index = lunr(
        ref="id", fields=[{"field_name": f, "boost": b} for f, b in BOOSTS.items()], documents=_rows(documents)
    )

    def rank(text: str) -> list[str]:
        words = " ".join(f"{word} {word}~1" if len(word) > 4 else word for word in _words(text))
        return [str(hit["ref"]) for hit in index.search(words)] if words else []

    return rank


def lunr_plain(documents: Sequence[Document]) -> Ranker:
    """lunr as it comes."""
    index = lunr(ref="id", fields=list(BOOSTS), documents=_rows(documents))

    def rank(text: str) -> list[str]:
        words = " ".join(_words(text))
        return [str(hit["ref"]) for hit in index.search(words)] if words else []

    return rank


def fts5(documents: Sequence[Document]) -> Ranker:
    """SQLite FTS5: the porter index and the trigram index, their ranks fused (1/(60 + rank))."""
    base = sqlite3.connect(":memory:")
    columns = ", ".join(BOOSTS)
    for table, tokenizer in (("porter", "porter unicode61"), ("trigram", "trigram")):
        base.execute(f"create virtual table {table} using fts5(id unindexed, {columns}, tokenize='{tokenizer}')")
        marks = ", ".join("?" * (len(BOOSTS) + 1))
        base.executemany(f"insert into {table} values ({marks})", [tuple(row.values()) for row in _rows(documents)])
    weights = ", ".join(["0", *(str(b) for b in BOOSTS.values())])

    def ask(table: str, terms: list[str]) -> list[str]:
        if not terms:
            return []
        query = " OR ".join(f'"{term}"' for term in dict.fromkeys(terms))
        sql = f"select id from {table} where {table} match ? order by bm25({table}, {weights})"
        return [row[0] for row in base.execute(sql, (query,))]

    def rank(text: str) -> list[str]:
        words = [word for word in _words(text) if word not in STOP]
        grams = [word[i : i + 3] for word in words for i in range(len(word) - 2)]
        fused: dict[str, float] = defaultdict(float)
        for ranked in (ask("porter", words), ask("trigram", grams)):
            for place, ident in enumerate(ranked):
                fused[ident] += 1 / (60 + place)
        return sorted(fused, key=lambda ident: -fused[ident])

    return rank


def okapi(documents: Sequence[Document]) -> Ranker:
    """rank-bm25 over stems without stop words; a field is written as often as its boost, rounded, says."""

    def stems(text: str) -> list[str]:
        return [stem(word) for word in _words(text) if word not in STOP]

    texts = [[s for f, b in BOOSTS.items() for s in stems(row[f]) * round(b)] for row in _rows(documents)]
    index = BM25Okapi(texts)

    def rank(text: str) -> list[str]:
        found = index.get_scores(stems(text))
        order = sorted(range(len(documents)), key=lambda n: (-found[n], n))
        return [documents[n].id for n in order if found[n] > 0]

    return rank


def whoosh_bm25f(documents: Sequence[Document]) -> Ranker:
    """Whoosh with its stemming analyser and its own BM25F, the same boosts."""
    analyser = StemmingAnalyzer(stoplist=STOP)
    schema = fields.Schema(
        id=fields.ID(stored=True), **{f: fields.TEXT(analyzer=analyser, field_boost=b) for f, b in BOOSTS.items()}
    )
    index = RamStorage().create_index(schema)
    writer = index.writer()
    for row in _rows(documents):
        writer.add_document(**row)
    writer.commit()
    parser = qparser.MultifieldParser(list(BOOSTS), schema, group=qparser.OrGroup)
    searcher = index.searcher(weighting=scoring.BM25F())

    def rank(text: str) -> list[str]:
        query = parser.parse(" ".join(_words(text)))
        return [hit["id"] for hit in searcher.search(query, limit=100)]

    return rank


PEERS: dict[str, Callable[[Sequence[Document]], Ranker]] = {
    "lunr, its defaults": lunr_plain,
    "lunr, boosts and edit distance 1": lunr_boosted,
    "SQLite FTS5, porter and trigram fused": fts5,
    "rank-bm25, stemmed": okapi,
    "Whoosh's own BM25F, stemmed": whoosh_bm25f,
}
