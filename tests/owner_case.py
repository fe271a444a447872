"""What only the service edition may say, worked out from the content itself, and a search for it in files."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Iterator, Mapping
from pathlib import Path

from pydantic import BaseModel

from kbtools.library import Library
from kbtools.model import Cause, Entry, Hazard, Reviewed, Symptom
from kbtools.search.english import zipf

OVERRIDES = Path(__file__).parents[1] / "site_overrides"
SHORTEST = 6
"""Characters of a phrase that can be searched for."""
_WORD = re.compile(r"[\w°²³µ%]+(?:[-.,'’]\w+)*")


def plain(text: str) -> str:
    """Small letters and single spaces, without punctuation between words; a space at both ends."""
    return f" {' '.join(_WORD.findall(text.casefold()))} "


def texts(value: object) -> Iterator[str]:
    """Every text in an entry, keys of mappings left out."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, BaseModel):
        for name in type(value).model_fields:
            yield from texts(getattr(value, name))
    elif isinstance(value, Mapping):
        yield from (text for item in value.values() for text in texts(item))
    elif isinstance(value, tuple):
        yield from (text for item in value for text in texts(item))


def is_for_owners(library: Library, entry: Entry) -> bool:
    """By the content model alone: reviewed, and done by, at or with what the first of the people may."""
    first = next(iter(library.people))
    if isinstance(entry, Reviewed) and entry.status == "draft":
        return False
    if isinstance(entry, Symptom):
        return entry.owner is not None
    if isinstance(entry, Cause):
        remedy = library.remedy_of(entry.id)
        return remedy is not None and remedy.who == first
    kind = type(entry).__name__.lower()
    if kind in ("part", "point"):
        return False
    return entry.id == first if kind == "person" else getattr(entry, "who", first) == first


def forbidden(library: Library) -> tuple[set[str], set[str]]:
    """Phrases (in plain form) and ids that must not be in an owner edition.

    What owners read anyway does not count: their own entries and pages, the names of hazards, the templates and the
    scripts, single words that are common English, and phrases too short to be told from packed numbers ("0 V").
    """
    ours: list[str] = [*texts(library.manual)]
    theirs: list[str] = []
    own_ids: set[str] = set()
    ids: set[str] = set()
    for table in library.entries.values():
        for entry in table.values():
            for_owners = is_for_owners(library, entry)
            (own_ids if for_owners or isinstance(entry, Hazard) else ids).add(entry.id)
            said, hidden = _split(entry, for_owners)
            ours += said
            theirs += hidden
    ours += [page.read_text("utf-8") for page in _pages_for_owners(library)]
    ours += [
        file.read_text("utf-8") for file in sorted(OVERRIDES.rglob("*")) if file.suffix in (".html", ".js", ".css")
    ]
    named = {ident for table in library.entries.values() for ident in table}
    ours = [text for text in ours if text not in named]
    read, raw = plain(" ".join(ours)), " ".join(ours)
    phrases = {plain(text) for text in theirs if text not in named}
    phrases = {p for p in phrases if len(p.strip()) >= SHORTEST}
    phrases = {p for p in phrases if len(p.split()) > 1 or p.strip() not in {"", *zipf()}}
    return {p for p in phrases if p not in read}, {i for i in ids - own_ids if i not in zipf() and not _has_id(raw, i)}


def _split(entry: Entry, for_owners: bool) -> tuple[list[str], list[str]]:
    """The texts of an entry that owners read, and those that they do not."""
    if isinstance(entry, Hazard):
        return ([*texts(entry)], []) if for_owners else ([entry.title, entry.consequence], [entry.avoid or ""])
    if isinstance(entry, Cause) and for_owners:
        shown = entry.model_copy(update={"explains": "", "look_for": None})
        return [*texts(shown)], [entry.explains, entry.look_for or ""]
    if isinstance(entry, Symptom) and for_owners:
        shown = entry.model_copy(update={"title": entry.owner.title if entry.owner else "", "notice": None})
        return [*texts(shown)], [entry.title, entry.notice or ""]
    return ([*texts(entry)], []) if for_owners else ([], [*texts(entry)])


def _pages_for_owners(library: Library) -> list[Path]:
    pages = sorted((library.folder / "pages").rglob("*.md"))
    return [page for page in pages if re.search(r"^editions:.*\bowner\b", page.read_text("utf-8"), re.MULTILINE)]


def _has_id(text: str, ident: str) -> bool:
    return re.search(rf"(?<![\w-]){re.escape(ident)}(?![\w-])", text) is not None


def found_in(folder: Path, phrases: set[str], ids: set[str]) -> list[str]:
    """Every phrase and id that stands in a file of the folder, or in its name, with that file."""
    found = []
    for file in sorted(path for path in folder.rglob("*") if path.is_file()):
        name = file.relative_to(folder).as_posix()
        raw = file.read_bytes().decode("utf-8", "replace")
        shown = [raw, html.unescape(raw), html.unescape(re.sub(r"<[^>]*>", " ", raw)), _unescaped(raw)]
        text = "".join(plain(one) for one in dict.fromkeys([*shown, name]))
        words = set(text.split())
        found += [f"{name}: {p}" for p in phrases if words.issuperset(p.split()) and p in text]
        tokens = set(re.findall(r"[\w-]+", " ".join([*shown, name])))
        found += [f"{name}: id {i}" for i in ids & tokens]
    return found


def _unescaped(text: str) -> str:
    """The text with JSON's escapes resolved, as far as they are any."""

    def one(match: re.Match[str]) -> str:
        try:
            return str(json.loads(f'"{match.group()}"'))
        except ValueError:
            return match.group()

    return re.sub(r"\\(?:u[0-9a-fA-F]{4}|[\"\\/bfnrt])", one, text)
