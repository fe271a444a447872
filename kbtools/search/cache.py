"""The terminal's index, kept in the user's cache folder under the revision of the content."""

from __future__ import annotations

import contextlib
import hashlib
import json
import shutil
import tempfile
from collections.abc import Mapping
from dataclasses import asdict
from functools import cache
from pathlib import Path
from typing import Any

import platformdirs

from kbtools.library import Library
from kbtools.search import store
from kbtools.search.documents import Document
from kbtools.search.engine import Search, index_of, search_of
from kbtools.search.english import guarded
from kbtools.search.index import Group, Index
from kbtools.search.lexicon import Lexicon
from kbtools.search.measured import Scale

KEPT = 8
"""Stored indexes; the oldest beyond this are removed."""


def open_search(library: Library, folder: Path | None = None) -> Search:
    """The search of a library from the cache, stored first when it is not there.

    Without `folder`, the user's cache folder. A cache that cannot be written or read costs time, never the search.
    """
    root = folder or platformdirs.user_cache_path("kbtools")
    place = root / f"search-{library.revision}-{_code()}"
    try:
        return _load(place)
    except (OSError, ValueError, KeyError, TypeError, EOFError, store.BrokenIndexError):
        pass
    with contextlib.suppress(OSError):
        return _save(index_of(library), root, place)
    return search_of(library)


@cache
def _code() -> str:
    """Eight digits of SHA-256 over the package: another version never reads an older one's index."""
    digest = hashlib.sha256()
    for file in sorted(Path(__file__).parent.iterdir()):
        if file.is_file():
            digest.update(file.read_bytes())
    return digest.hexdigest()[:8]


def _save(index: Index, root: Path, place: Path) -> Search:
    root.mkdir(parents=True, exist_ok=True)
    fresh = Path(tempfile.mkdtemp(prefix="search-new-", dir=root))
    try:
        store.write(index, fresh)
        (fresh / "index.json").write_text(json.dumps(_plain(index)), encoding="utf-8")
        if place.exists():
            shutil.rmtree(place)
        fresh.replace(place)
    finally:
        shutil.rmtree(fresh, ignore_errors=True)
    stored = sorted(root.glob("search-*"), key=lambda path: path.stat().st_mtime, reverse=True)
    for old in stored[KEPT:]:
        shutil.rmtree(old, ignore_errors=True)
    return Search(index, store.reopen(place))


def _load(place: Path) -> Search:
    index = _index(json.loads((place / "index.json").read_text(encoding="utf-8")))
    return Search(index, store.reopen(place))


def _plain(index: Index) -> dict[str, Any]:
    lexicon = index.lexicon
    return {
        "surfaces": dict(lexicon.surfaces),
        "popularity": dict(lexicon.popularity),
        "forms": [[*form, concept] for form, concept in lexicon.forms.items()],
        "parts": sorted(lexicon.parts),
        "ways": {concept: dict(ways) for concept, ways in lexicon.ways.items()},
        "groups": [_plain_group(group) for group in (index.symptoms, index.others)],
        "revision": index.revision,
    }


def _plain_group(group: Group) -> dict[str, Any]:
    return {
        "documents": [asdict(document) for document in group.documents],
        "postings": {term: list(row.items()) for term, row in group.postings.items()},
        "parts": [sorted(parts) for parts in group.parts],
    }


def _index(plain: Mapping[str, Any]) -> Index:
    lexicon = Lexicon(
        surfaces=plain["surfaces"],
        popularity=plain["popularity"],
        guard=guarded(),
        forms={tuple(form): concept for *form, concept in plain["forms"]},
        parts=frozenset(plain["parts"]),
        ways=plain["ways"],
    )
    symptoms, others = (_group(group) for group in plain["groups"])
    return Index(lexicon, symptoms, others, plain["revision"])


def _group(plain: Mapping[str, Any]) -> Group:
    return Group(
        documents=tuple(_document(document) for document in plain["documents"]),
        postings={term: dict(row) for term, row in plain["postings"].items()},
        parts=tuple(frozenset(parts) for parts in plain["parts"]),
    )


def _document(plain: Mapping[str, Any]) -> Document:
    scale = plain["scale"]
    return Document(
        kind=plain["kind"],
        id=plain["id"],
        title=plain["title"],
        fields={name: tuple(texts) for name, texts in plain["fields"].items()},
        system=plain["system"],
        limits=plain["limits"],
        sense=tuple(plain["sense"]) if plain["sense"] else None,
        scale=Scale(scale["unit"], tuple(scale["point"]), tuple((a, b, c) for a, b, c in scale["ranges"]))
        if scale
        else None,
    )
