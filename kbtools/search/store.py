"""The index in Whoosh: a posting's weight is its impact, and the weighting model is the whole ranking.

`WeightingModel.final` applies the factors as whole numbers, so every score is the integer that the browser works out too.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from whoosh import fields, formats, index, query, scoring
from whoosh.filedb.filestore import FileStorage, RamStorage

from kbtools.search.constants import PART_BONUS, UNIT
from kbtools.search.index import Group, Index
from kbtools.search.query import Query
from kbtools.search.sense import sense_factor


class Impacts(fields.FieldType):  # type: ignore[misc]
    """A field whose value is a mapping of term → impact."""

    def __init__(self) -> None:
        super().__init__(formats.Existence(), None)

    def index(self, value: Mapping[str, int], **_: Any) -> Iterator[tuple[bytes, int, float, bytes]]:
        for term in sorted(value):
            yield term.encode(), 1, float(value[term]), b""


class _Impact(scoring.BaseScorer):  # type: ignore[misc]
    def supports_block_quality(self) -> bool:
        return False

    def score(self, matcher: Any) -> float:
        return float(matcher.weight())


class Ranking(scoring.WeightingModel):  # type: ignore[misc]
    """Sum of query weight × impact, then the factors in their fixed order: things named, then sense."""

    use_final = True

    def __init__(self, asked: Query, group: Group, offset: int) -> None:
        self.asked = asked
        self.group = group
        self.offset = offset

    def scorer(self, searcher: Any, fieldname: str, text: bytes, qf: int = 1) -> _Impact:
        return _Impact()

    def final(self, searcher: Any, docnum: int, score: float) -> int:
        number = docnum - self.offset
        value = int(score) * part_factor(self.asked, self.group.parts[number]) // UNIT
        return (
            value
            * sense_factor(self.asked.senses, self.group.documents[number].sense, self.group.parts[number])
            // UNIT
        )


def part_factor(asked: Query, parts: frozenset[str]) -> int:
    """1 + 0.6 × the share of the named things that the entry is about, in 64ths."""
    if not asked.parts:
        return UNIT
    return UNIT + PART_BONUS * len(asked.parts & parts) // len(asked.parts)


def _schema() -> Any:
    return fields.Schema(symptom=Impacts(), other=Impacts())


class _Memory(RamStorage):  # type: ignore[misc]
    """Storage in memory whose temporary files are in memory too: the library's own all share one folder of the machine."""

    def temp_storage(self, name: str | None = None) -> RamStorage:
        return RamStorage()


def write(found: Index, folder: Path | None = None) -> Any:
    """Writes both groups into a Whoosh index, symptoms first; in memory without a folder."""
    storage = FileStorage(str(folder)) if folder else _Memory()
    made = storage.create_index(_schema())
    writer = made.writer()
    for name, group in (("symptom", found.symptoms), ("other", found.others)):
        rows: list[dict[str, int]] = [{} for _ in group.documents]
        for term, row in group.postings.items():
            for number, impact in row.items():
                rows[number][term] = impact
        for row_of_terms in rows:
            writer.add_document(**{name: row_of_terms})
    writer.commit(optimize=True)
    return made


class BrokenIndexError(Exception):
    """A stored index that cannot be read."""


def reopen(folder: Path) -> Any:
    """Opens a stored index and reads one list of it. Raises BrokenIndexError when it is incomplete or damaged."""
    try:
        made = index.open_dir(str(folder))
        with made.reader() as reader:
            reader.doc_count()
    except Exception as error:  # the library's errors have no common base
        raise BrokenIndexError(str(error)) from error
    return made


def rank(made: Any, found: Index, asked: Query, name: str) -> list[tuple[int, int]]:
    """Document numbers and scores, best first, ties by number. `name` is symptom or other."""
    group = found.symptoms if name == "symptom" else found.others
    offset = 0 if name == "symptom" else len(found.symptoms.documents)
    terms = [query.Term(name, term, boost=float(w)) for term, w in asked.features.items() if term in group.postings]
    if not terms:
        return []
    with made.searcher(weighting=Ranking(asked, group, offset)) as searcher:
        hits = searcher.search(query.Or(terms), limit=None)
        return [(docnum - offset, int(score)) for score, docnum in hits.top_n if score > 0]
