"""Notes saved from the browser: queries that found nothing, or nothing that was opened, and what was said to be wrong."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from kbtools.search.engine import Hit, Search
from kbtools.search.wrong import Remark, plain, remarks_of

KIND = "kbtools search notes"
NEAREST = 3
MAX_BYTES = 5_000_000


class NotesUnreadableError(Exception):
    """The file does not hold search notes."""


@dataclass(frozen=True)
class Note:
    """A query, how often it was left without a page opened, and whether it found nothing at all."""

    query: str
    times: int
    nothing: bool


@dataclass(frozen=True)
class Notes:
    """A saved file: queries, most frequent first, and what was said to be wrong."""

    queries: tuple[Note, ...]
    remarks: tuple[Remark, ...]


def read_notes(file: Path) -> Notes:
    """The notes of a saved file. Raises NotesUnreadableError with a reason.

    The file is {"kind": "kbtools search notes", "notes": [{"query": text, "found": number of symptoms}], "wrong": […]};
    kbtools.search.wrong says what stands in "wrong", which may be missing.
    """
    try:
        if file.stat().st_size > MAX_BYTES:
            raise NotesUnreadableError(f"{file} has more than {MAX_BYTES:,} bytes")
        data = json.loads(file.read_text(encoding="utf-8-sig"))
    except (OSError, ValueError, RecursionError) as error:
        raise NotesUnreadableError(f"{file} cannot be read as search notes: {error}") from None
    if not isinstance(data, dict) or data.get("kind") != KIND or not isinstance(data.get("notes"), list):
        raise NotesUnreadableError(f"{file} holds no search notes: its kind is not {KIND!r}")
    return Notes(_queries(data["notes"]), tuple(remarks_of(data.get("wrong"))))


def _queries(notes: Sequence[object]) -> tuple[Note, ...]:
    times: Counter[str] = Counter()
    found: dict[str, int] = {}
    for note in notes:
        if isinstance(note, dict) and isinstance(note.get("query"), str) and note["query"].strip():
            query = plain(note["query"])
            times[query] += 1
            number = note.get("found")
            found[query] = number if isinstance(number, int) else 0
    return tuple(Note(query, count, not found[query]) for query, count in times.most_common())


def nearest(search: Search, note: Note) -> Sequence[Hit]:
    """The symptoms nearest to what was asked."""
    return search.ask(note.query, limit=NEAREST).symptoms
