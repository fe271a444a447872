"""BM25F against an independent implementation (rank-bm25), and the stored index against a plain sum."""

from __future__ import annotations

import math
from collections import Counter

import pytest
from rank_bm25 import BM25Okapi

from kbtools.library import Library
from kbtools.search import store
from kbtools.search.constants import IMPACT_MAX, UNIT
from kbtools.search.engine import index_of, search_of
from kbtools.search.english import background, guarded, stem, zipf
from kbtools.search.index import bm25f
from kbtools.search.query import read_query

TEXTS = [
    "the leg will not go down at the front",
    "the pump howls and the leg goes down slowly",
    "the lamp stays dark dark dark",
    "pump pump pump and a leg",
    "oil at the leg",
]
"""A textbook-size collection."""
K1, B = 0.8, 0.3


def _ours(fields: list[dict[str, str]], boosts: dict[str, float], b: float) -> dict[str, dict[int, float]]:
    counted = [{name: Counter(text.split()) for name, text in one.items()} for one in fields]
    rarity = dict.fromkeys((t for one in counted for row in one.values() for t in row), 1.0)
    return bm25f(counted, boosts, K1, b, rarity)


def _idf(n: int, total: int) -> float:
    """Robertson and Zaragoza, "The Probabilistic Relevance Framework" (2009), eq. 3.1 with 1 added inside the logarithm."""
    return math.log(1 + (total - n + 0.5) / (n + 0.5))


def test_one_field_is_okapi_bm25() -> None:
    ours = _ours([{"title": text} for text in TEXTS], {"title": 1.0}, B)
    okapi = BM25Okapi([text.split() for text in TEXTS], k1=K1, b=B)
    for term in ("leg", "pump", "dark", "down"):
        theirs = okapi.get_scores([term]) / okapi.idf[term]
        idf = _idf(sum(term in text.split() for text in TEXTS), len(TEXTS))
        for number in range(len(TEXTS)):
            assert ours[term].get(number, 0.0) / idf == pytest.approx(theirs[number])


def test_a_boosted_field_counts_like_its_text_repeated() -> None:
    """Robertson, Zaragoza and Taylor (2004): with b = 0, a weight of 3 is the same as writing the field three times."""
    bodies = [*TEXTS[1:], TEXTS[0]]
    ours = _ours(
        [{"title": t, "text": u} for t, u in zip(TEXTS, bodies, strict=True)], {"title": 3.0, "text": 1.0}, 0.0
    )
    flat = [(f"{t} " * 3 + u).split() for t, u in zip(TEXTS, bodies, strict=True)]
    okapi = BM25Okapi(flat, k1=K1, b=0.0)
    for term in ("leg", "pump", "dark"):
        idf = _idf(sum(term in text for text in flat), len(flat))
        theirs = okapi.get_scores([term]) / okapi.idf[term]
        for number in range(len(flat)):
            assert ours[term].get(number, 0.0) / idf == pytest.approx(theirs[number])


def test_concepts_do_not_lengthen_a_field() -> None:
    plain = _ours([{"title": "leg a b"}, {"title": "c"}], {"title": 1.0}, B)
    marked = _ours([{"title": "leg a b =leg"}, {"title": "c"}], {"title": 1.0}, B)
    assert marked["leg"] == plain["leg"]
    assert marked["=leg"] == plain["leg"]


def test_impacts_are_bytes_and_the_largest_is_used(small: Library) -> None:
    for group in (index_of(small).symptoms, index_of(small).others):
        values = [v for row in group.postings.values() for v in row.values()]
        assert max(values) == IMPACT_MAX
        assert min(values) >= 1


@pytest.mark.parametrize("text", ["step will not come out", "the stpe hangs out", "F2", "actuator fuse door click", ""])
def test_whoosh_returns_the_plain_sum_with_its_factors(small: Library, text: str) -> None:
    search = search_of(small)
    asked = read_query(text, search.index.lexicon)
    for name, group in (("symptom", search.index.symptoms), ("other", search.index.others)):
        sums: Counter[int] = Counter()
        for term, weight in asked.features.items():
            for number, impact in group.postings.get(term, {}).items():
                sums[number] += weight * impact
        expected = []
        for number, value in sums.items():
            value = value * store.part_factor(asked, group.parts[number]) // UNIT
            factor = store.sense_factor(asked.senses, group.documents[number].sense, group.parts[number])
            expected.append((number, value * factor // UNIT))
        expected.sort(key=lambda pair: (-pair[1], pair[0]))
        assert store.rank(search.stored, search.index, asked, name) == expected


def test_english_is_the_table_of_common_words() -> None:
    assert zipf()["the"] == 7.7
    assert 9_000 < len(guarded()) < 11_000
    assert background("the") < background("works") < background("isolator") == 1.0
    assert stem("levelling") == stem("levels") == "level"
    assert stem("tp6") == "tp6"
