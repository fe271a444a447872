"""Search notes saved from the browser: queries that found nothing, or nothing that was opened."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from kbtools.search.engine import Hit, Search

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


def read_notes(file: Path) -> list[Note]:
    """The notes of a saved file, most frequent first. Raises NotesUnreadableError with a reason.

    The file is {"kind": "kbtools search notes", "notes": [{"query": text, "found": number of symptoms}]}.
    """
    try:
        if file.stat().st_size > MAX_BYTES:
            raise NotesUnreadableError(f"{file} has more than {MAX_BYTES:,} bytes")
        data = json.loads(file.read_text(encoding="utf-8-sig"))
    except (OSError, ValueError, RecursionError) as error:
        raise NotesUnreadableError(f"{file} cannot be read as search notes: {error}") from None
    if not isinstance(data, dict) or data.get("kind") != KIND or not isinstance(data.get("notes"), list):
        raise NotesUnreadableError(f"{file} holds no search notes: its kind is not {KIND!r}")
    times: Counter[str] = Counter()
    found: dict[str, int] = {}
    for note in data["notes"]:
        if isinstance(note, dict) and isinstance(note.get("query"), str) and note["query"].strip():
            query = " ".join(note["query"].split())
            times[query] += 1
            number = note.get("found")
            found[query] = number if isinstance(number, int) else 0
    return [Note(query, count, not found[query]) for query, count in times.most_common()]


def nearest(search: Search, note: Note) -> Sequence[Hit]:
    """The symptoms nearest to what was asked."""
    return search.ask(note.query, limit=NEAREST).symptoms
