"""kbtools search --review: what readers noted, for the author."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from pathlib import Path

import click

from kbtools.cli_options import leave
from kbtools.library import Library
from kbtools.search.engine import Search
from kbtools.search.review import Note, NotesUnreadableError, nearest, read_notes
from kbtools.search.wrong import Wrong, placed


def review(library: Library, made: Search, file: str, as_json: bool) -> None:
    """Lists a saved file of notes; leaves with exit 2 when it cannot be read."""
    try:
        notes = read_notes(Path(file))
    except NotesUnreadableError as error:
        leave(f"{error}.")
    wrong = placed(library, notes.remarks)
    if as_json:
        listed = {"notes": [_query(made, note) for note in notes.queries], "wrong": [_wrong(one) for one in wrong]}
        click.echo(json.dumps(listed, indent=2, ensure_ascii=False))
        return
    click.echo("\n".join([*_queries(made, notes.queries), *_wrongs(library, wrong)]))


def _query(made: Search, note: Note) -> dict[str, object]:
    near = [{"id": hit.document.id, "title": hit.document.title, "score": hit.score} for hit in nearest(made, note)]
    return {"query": note.query, "times": note.times, "nothing": note.nothing, "nearest": near}


def _queries(made: Search, notes: Iterable[Note]) -> Iterator[str]:
    listed = list(notes)
    yield f"{len(listed)} different queries that led to no page{':' if listed else '.'}"
    for note in listed:
        said = "found nothing" if note.nothing else "nothing was opened"
        yield f"{note.times} × {json.dumps(note.query, ensure_ascii=False)} ({said})"
        for hit in nearest(made, note):
            yield f"      {hit.document.title}  ({hit.document.id})"


def _wrong(one: Wrong) -> dict[str, object]:
    return {
        "file": one.at.file if one.at else None,
        "line": one.at.line if one.at else None,
        "column": one.at.column if one.at else None,
        "kind": one.remark.kind,
        "id": one.remark.id,
        "part": one.remark.part,
        "now": one.now,
        "words": one.words,
        "words_then": one.remark.words,
        "said": [{"text": text, "times": times} for text, times in one.said],
    }


def _wrongs(library: Library, wrong: list[Wrong]) -> Iterator[str]:
    if not wrong:
        return
    yield f"{len(wrong)} {'place' if len(wrong) == 1 else 'places'} said to be wrong:"
    for one in wrong:
        where = f"{library.folder / one.at.file}:{one.at.line}:{one.at.column}" if one.at else "nowhere"
        yield f"{where}  {one.title}, {one.remark.part}  ({one.remark.kind} {one.remark.id})"
        if one.now == "gone":
            yield "      It is in the manual no more."
        if one.now == "moved":
            yield "      It stood in another place of the entry then."
        if one.words and one.remark.part != "whole":
            yield f"      it says: {one.words}"
        if one.now in ("changed", "gone") and one.remark.words:
            yield f"      it said: {one.remark.words}"
        for text, times in one.said:
            yield f"      {times} × {json.dumps(text, ensure_ascii=False)}"
