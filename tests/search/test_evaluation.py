"""The evaluation's files fit together, and the search stays above its floor on the checking half."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import pytest

from benchmarks.search import (
    CASES,
    FLOOR,
    Asked,
    asked,
    called_strange,
    direction_errors,
    mcnemar,
    qrels_text,
    rows,
    run_of,
    scores,
    symptoms_of,
)
from kbtools.library import Library, open_content
from kbtools.search.engine import Search, search_of

STRATA = {"trade", "plain", "typo", "long", "direction", "word"}


@pytest.fixture(scope="module")
def demo() -> Library:
    return open_content(Path(__file__).parents[2] / "content")[0]


@pytest.fixture(scope="module")
def search(demo: Library) -> Search:
    return search_of(demo)


def _ranked(search: Search, text: str) -> list[str]:
    return [ident for ident, _ in search.ids(text)]


def test_there_are_queries_of_every_stratum_in_both_halves() -> None:
    counted = Counter((query.stratum, query.half) for query in asked())
    assert {stratum for stratum, _ in counted} == STRATA
    assert min(counted.values()) >= 40
    assert sum(counted.values()) >= 600
    assert sum(count for (_, half), count in counted.items() if half == "check") >= 300
    assert len({query.id.split("-")[0] for query in asked()}) >= 4


def test_queries_are_different_and_their_ids_too() -> None:
    for values in ([q.id for q in asked()], [q.text.lower() for q in asked()]):
        assert [value for value, count in Counter(values).items() if count > 1] == []
    assert all(re.fullmatch(r"w\d+-\d{3}", query.id) for query in asked())


def test_every_writer_is_listed_and_the_desk_asks_for_every_symptom_three_times(demo: Library) -> None:
    assert {query.writer for query in asked()} == {row["writer"] for row in rows("writers.tsv")}
    desk = {row["writer"] for row in rows("writers.tsv") if row["who"].startswith("desk")}
    counted = Counter(ident for query in asked() if query.writer in desk for ident in query.right)
    assert {ident for ident in demo.symptoms if counted[ident] < 3} == set()


def test_every_condition_leads_to_symptoms_that_are_there(demo: Library) -> None:
    for row in rows("conditions.tsv"):
        right, acceptable = symptoms_of(row["condition"])
        assert right
        assert right | acceptable <= set(demo.symptoms), row["condition"]


def test_every_symptom_is_asked_for(demo: Library) -> None:
    wanted = {ident for query in asked() for ident in query.right}
    assert set(demo.symptoms) - wanted == set()


def test_the_judgements_are_current() -> None:
    assert (CASES / "qrels.trec").read_text(encoding="utf-8") == qrels_text(asked()), (
        "run python benchmarks/search.py --write-qrels"
    )


def test_no_query_was_pasted_into_an_entry(demo: Library) -> None:
    """What a failed query teaches is a short phrase; a long one found word for word would be a pasted query."""
    phrases = {" ".join(text.lower().split()) for s in demo.symptoms.values() for text in s.heard_as}
    pasted = [q.text for q in asked() if len(q.text.split()) > 6 and " ".join(q.text.lower().split()) in phrases]
    assert pasted == []


def test_the_checking_half_stays_above_the_floor(search: Search) -> None:
    queries = [query for query in asked() if query.half == "check"]
    _, s1, s3, _ = scores(run_of(lambda text: _ranked(search, text), queries), queries)["all"]
    assert s1 >= FLOOR["S@1"]
    assert s3 >= FLOOR["S@3"]


@pytest.mark.parametrize("half", ["tune", "check"])
def test_what_is_treated_is_hardly_ever_called_strange_and_most_of_what_is_not_is(search: Search, half: str) -> None:
    wrongly, answered, rightly, other = called_strange(search, half)
    assert answered > 400
    assert other == 40
    assert wrongly <= 0.01 * answered
    assert rightly >= 0.5 * other


def test_no_title_and_no_phrase_of_the_manual_is_called_strange(search: Search) -> None:
    documents = [*search.index.symptoms.documents, *search.index.others.documents]
    texts = [d.title for d in documents] + [p for d in documents for p in d.fields.get("phrases", ())]
    assert len(texts) > 1_000
    assert [text for text in texts if not search.ask(text).about_it] == []


def test_queries_off_the_topic_come_from_both_worlds() -> None:
    worlds = Counter(row["world"] for row in rows("off-topic.tsv"))
    assert worlds == {"vehicle": 40, "elsewhere": 40}
    assert {row["text"] for row in rows("off-topic.tsv")}.isdisjoint(query.text for query in asked())


def test_no_direction_error(search: Search) -> None:
    wrong, first, count = direction_errors(lambda text: _ranked(search, text))
    assert count >= 40
    assert wrong == []
    assert first >= 0.8 * count


def test_whatever_the_thing_is_called_what_is_said_of_it_decides(search: Search) -> None:
    """Every name of a thing with every saying; nine of ten find their symptom first, nearly all among the first three."""
    found = [
        (_ranked(search, f"{thing} {saying}")[:3], symptoms_of(row["condition"])[0])
        for row in rows("sayings.tsv")
        for thing in row["things"].split("|")
        for saying in row["sayings"].split("|")
    ]
    assert len(found) > 800
    assert sum(ranked[0] in right for ranked, right in found) >= 0.9 * len(found)
    assert sum(bool(right & set(ranked)) for ranked, right in found) >= 0.97 * len(found)


def test_metrics_count_what_they_say() -> None:
    queries = [
        Asked("w1-001", "word", "a", frozenset({"x"}), frozenset({"y"})),
        Asked("w1-002", "word", "b", frozenset({"y", "z"}), frozenset()),
        Asked("w1-003", "word", "c", frozenset({"z"}), frozenset()),
    ]
    ranking = {"a": ["y", "x"], "b": ["z"], "c": ["x", "y", "w", "z"]}
    found = scores(run_of(lambda text: ranking[text], queries), queries)["all"]
    assert found == pytest.approx((3, 100 / 3, 200 / 3, (1 / 2 + 1 + 1 / 4) / 3))


def test_mcnemar_is_the_binomial_of_a_textbook() -> None:
    """Exact McNemar (Agresti, Categorical Data Analysis, from memory): twice the tail of a fair coin."""
    assert mcnemar(0, 5) == pytest.approx(2 / 32)
    assert mcnemar(9, 1) == pytest.approx(2 * 11 / 1024)
    assert mcnemar(3, 3) == 1.0
