"""How good the symptom search is, against general-purpose search libraries on the same queries.

python benchmarks/search.py [--half check|tune|all] [--writers w6,w7] [--failures] [--write-qrels]

Prints success at 1 and at 3 (a right symptom among the first one or three, per cent) and the mean reciprocal rank for each
stratum and each writer, the must-be-first pairs, and wins and losses at rank 1 against each library with McNemar's exact test. Metrics come from
ir-measures. Exit 1 below the floor: S@1 82, S@3 94, any direction error, or a library that is not significantly beaten.
"""

from __future__ import annotations

import argparse
import math
import sys
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

import ir_measures
from ir_measures import RR, Qrel, ScoredDoc, Success

from benchmarks.search_peers import PEERS
from kbtools.library import Library, open_content
from kbtools.search.documents import symptom_documents
from kbtools.search.engine import Search, search_of

ROOT = Path(__file__).parents[1]
CASES = ROOT / "tests/search"
S1, S3, MRR = Success(rel=2) @ 1, Success(rel=2) @ 3, RR(rel=2)
FLOOR = {"S@1": 82.0, "S@3": 94.0}
SIGNIFICANT = 0.05

Ranker = Callable[[str], list[str]]
Score = tuple[int, float, float, float]


@dataclass(frozen=True)
class Asked:
    """One query of the evaluation, with its right and acceptable symptoms."""

    id: str
    stratum: str
    text: str
    right: frozenset[str]
    acceptable: frozenset[str]

    @property
    def half(self) -> str:
        """Odd numbers tune, even ones check."""
        return "tune" if int(self.id.split("-")[1]) % 2 else "check"

    @property
    def writer(self) -> str:
        return self.id.split("-")[0]


def rows(name: str) -> list[dict[str, str]]:
    """A tab-separated file of tests/search as one mapping a line."""
    header, *lines = (CASES / name).read_text(encoding="utf-8").splitlines()
    return [dict(zip(header.split("\t"), line.split("\t"), strict=True)) for line in lines]


def _conditions() -> dict[str, tuple[frozenset[str], frozenset[str]]]:
    return {row["condition"]: (_ids(row["right"]), _ids(row["acceptable"])) for row in rows("conditions.tsv")}


def _ids(text: str) -> frozenset[str]:
    return frozenset(filter(None, text.split("+")))


def symptoms_of(meant: str) -> tuple[frozenset[str], frozenset[str]]:
    """Right and acceptable symptoms of `conditions | acceptable conditions`."""
    table = _conditions()
    first, _, second = meant.partition("|")
    right = frozenset().union(*(table[c][0] for c in first.split("+")))
    near = [table[c][1] for c in first.split("+")] + [table[c][0] for c in filter(None, second.split("+"))]
    return right, frozenset().union(*near) - right


def asked() -> list[Asked]:
    """Every query of tests/search/queries.tsv and queries-desk.tsv."""
    both = rows("queries.tsv") + rows("queries-desk.tsv")
    return [Asked(row["id"], row["stratum"], row["text"], *symptoms_of(row["meant"])) for row in both]


def called_strange(search: Search, half: str) -> tuple[int, int, int, int]:
    """Of a half: queries that are said to be about nothing in the manual, of how many that are answered, and the same of off-topic.tsv."""
    answered = [query.text for query in asked() if query.half == half]
    other = [row["text"] for row in rows("off-topic.tsv") if (int(row["id"][2:]) % 2 == 1) == (half == "tune")]

    def count(texts: list[str]) -> int:
        return sum(not found.about_it or not (found.symptoms or found.others) for found in map(search.ask, texts))

    return count(answered), len(answered), count(other), len(other)


def qrels_text(queries: Iterable[Asked]) -> str:
    """The judgements in TREC's format: query, 0, symptom, grade."""
    graded = ((q.id, {**dict.fromkeys(q.acceptable, 1), **dict.fromkeys(q.right, 2)}) for q in queries)
    return "".join(f"{ident} 0 {doc} {grade}\n" for ident, grades in graded for doc, grade in sorted(grades.items()))


def run_of(ranker: Ranker, queries: Iterable[Asked]) -> list[ScoredDoc]:
    """What a system returns for every query, as scored documents in falling order."""
    return [ScoredDoc(q.id, doc, 1000.0 - n) for q in queries for n, doc in enumerate(ranker(q.text)[:100])]


def first_right(run: Iterable[ScoredDoc], queries: Iterable[Asked]) -> dict[str, bool]:
    """Query → is a right symptom first?"""
    qrels = [Qrel(q.id, doc, 2) for q in queries for doc in q.right]
    return {m.query_id: m.value > 0 for m in ir_measures.iter_calc([S1], qrels, run)}


def _stratum(query: Asked) -> str:
    return query.stratum


def scores(run: list[ScoredDoc], queries: list[Asked], by: Callable[[Asked], str] = _stratum) -> dict[str, Score]:
    """Stratum, or another grouping, and all → number of queries, S@1 and S@3 in per cent, MRR."""
    table = {}
    for group in [*dict.fromkeys(sorted(map(by, queries))), "all"]:
        chosen = [q for q in queries if group in (by(q), "all")]
        names = {q.id for q in chosen}
        qrels = [Qrel(q.id, doc, 2) for q in chosen for doc in q.right]
        found = ir_measures.calc_aggregate([S1, S3, MRR], qrels, [r for r in run if r.query_id in names])
        table[group] = (len(chosen), 100 * found[S1], 100 * found[S3], found[MRR])
    return table


def mcnemar(wins: int, losses: int) -> float:
    """Two-sided exact p of McNemar's test: the binomial with p = ½ on the queries where two systems differ.

    >>> round(mcnemar(12, 5), 4), mcnemar(0, 0)
    (0.1435, 1.0)
    """
    n = wins + losses
    tail = sum(math.comb(n, k) for k in range(min(wins, losses) + 1)) / 2**n
    return min(1.0, 2 * tail)


def direction_errors(ranker: Ranker) -> tuple[list[str], int, int]:
    """Texts of pairs.tsv that put the opposite before the right one, how many put a right one first, and how many there are."""
    wrong, first = [], 0
    pairs = rows("pairs.tsv")
    for row in pairs:
        ranked = ranker(row["text"])
        right, opposite = symptoms_of(row["first"])[0], symptoms_of(row["never first"])[0]
        place = {ident: n for n, ident in enumerate(ranked)}
        nearest = min(place.get(i, 10**6) for i in right)
        if min(place.get(i, 10**6) for i in opposite) <= nearest:
            wrong.append(row["text"])
        first += bool(ranked[:1]) and ranked[0] in right
    return wrong, first, len(pairs)


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--content", default=str(ROOT / "content"))
    options.add_argument("--half", choices=("check", "tune", "all"), default="check")
    options.add_argument("--writers", help="only these writers, joined by commas")
    options.add_argument("--failures", action="store_true", help="list the queries whose right symptom is not first")
    options.add_argument("--write-qrels", action="store_true", help="write tests/search/qrels.trec and stop")
    chosen = options.parse_args()
    everything = asked()
    if chosen.write_qrels:
        (CASES / "qrels.trec").write_text(qrels_text(everything), encoding="utf-8")
        return 0
    library = open_content(chosen.content)[0]
    queries = [q for q in everything if chosen.half in (q.half, "all")]
    if chosen.writers:
        queries = [q for q in queries if q.writer in chosen.writers.split(",")]
    return report(library, queries, failures=chosen.failures)


def report(library: Library, queries: list[Asked], *, failures: bool) -> int:
    search = search_of(library)

    def ours(text: str) -> list[str]:
        return [ident for ident, _ in search.ids(text)]

    run = run_of(ours, queries)
    own = scores(run, queries)
    print("this search")
    _print(own)
    _print_writers(scores(run, queries, lambda query: query.writer), queries)
    won = first_right(run, queries)
    if failures:
        for query in queries:
            if not won.get(query.id):
                print(
                    f"  {query.id} {query.stratum:9} {query.text[:90]!r}: {'+'.join(sorted(query.right))}, not {ours(query.text)[:2]}"
                )
    wrong, first, count = direction_errors(ours)
    for half in ("tune", "check"):
        wrongly, answered, rightly, other = called_strange(search, half)
        print(
            f"said to be about something else, {half}: {wrongly} of {answered} answered, {rightly} of {other} off the topic"
        )
    print(f"must-be-first pairs: {first} of {count} first, {len(wrong)} direction errors {wrong or ''}\n")
    fine = own["all"][1] >= FLOOR["S@1"] and own["all"][2] >= FLOOR["S@3"] and not wrong
    documents = symptom_documents(library)
    for name, make in PEERS.items():
        theirs = run_of(make(documents), queries)
        fine &= _compare(name, won, theirs, queries)
    return 0 if fine else 1


def _compare(name: str, won: Mapping[str, bool], theirs: list[ScoredDoc], queries: list[Asked]) -> bool:
    peer = first_right(theirs, queries)
    wins = sum(bool(won.get(q.id)) and not peer.get(q.id) for q in queries)
    losses = sum(not won.get(q.id) and bool(peer.get(q.id)) for q in queries)
    p = mcnemar(wins, losses)
    print(f"{name}: {wins} wins, {losses} losses, McNemar p = {p:.2g}")
    _print(scores(theirs, queries))
    return wins > losses and p < SIGNIFICANT


def _print(table: Mapping[str, Score]) -> None:
    for stratum, score in table.items():
        print(f"  {stratum:10} {_figures(score)}")
    print()


def _print_writers(table: Mapping[str, Score], queries: list[Asked]) -> None:
    """One line a writer; says on which of these queries something may have been tuned."""
    for row in rows("writers.tsv"):
        writer = row["writer"]
        if writer not in table:
            continue
        tuned = row["tuned on"] == "odd" and any(q.writer == writer and q.half == "tune" for q in queries)
        mark = "tuned on the odd ones" if tuned else "nobody tuned on it"
        print(f"  {writer:10} {_figures(table[writer])}   {row['who']}; {mark}")
    print()


def _figures(score: Score) -> str:
    count, s1, s3, mrr = score
    return f"n = {count:3}   S@1 {s1:5.1f}   S@3 {s3:5.1f}   MRR {mrr:.3f}"


if __name__ == "__main__":
    sys.exit(main())
