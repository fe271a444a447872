"""Adds the skeleton of an entry to a topic file."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from kbtools.entries import ID, LONGEST_ID, RESERVED, files_of, kebab
from kbtools.model import KINDS
from kbtools.new.insert import NoPlace, with_entry
from kbtools.new.skeleton import skeleton
from kbtools.problem import did_you_mean
from kbtools.source import Document, read

_SCHEMA = "# yaml-language-server: $schema=../../schema/topic.json\n"
_TOPIC = re.compile(r"topics/[^/]+/[^/]+\.yml")
_BOM = "\ufeff"


class NotAdded(Exception):  # noqa: N818
    """Why an entry was not added, in a sentence. No file has changed."""


@dataclass(frozen=True)
class Added:
    """A new entry: its file and line, and whether the file is new too."""

    file: Path
    line: int
    new_file: bool


def new_entry(folder: Path, kind: str, ident: str, topic: str | None = None) -> Added:
    """Adds a skeleton of a symptom, cause or check with the id `ident` to the topic SYSTEM/NAME.

    Without `topic`: to the file that names the id already, or else to the only one there is. Raises NotAdded, and OSError
    when the file cannot be written.
    """
    _check_id(kind, ident)
    documents = _documents(folder)
    plural = KINDS[kind][0]
    for document in documents.values():
        if document is not None and ident in _ids_in(document, plural):
            at = document.at((plural, ident), key=True)
            raise NotAdded(f"the {kind} {ident} is there already: {folder / at.file}:{at.line}")
    name = _file_of(topic, documents) if topic else _likeliest(ident, documents)
    known = {one: [i for d in documents.values() for i in _ids_in(d, KINDS[one][0])] for one in KINDS}
    return _write(folder, name, plural, skeleton(kind, ident, known))


def _check_id(kind: str, ident: str) -> None:
    if len(ident) > LONGEST_ID:
        raise NotAdded(f"the id {ident[:20]}… has {len(ident)} characters, the limit is {LONGEST_ID}")
    if ident in RESERVED.get(kind, ()):
        raise NotAdded(f"the id {ident} is reserved; choose another one")
    if not ID.fullmatch(ident):
        way_out = f"write {kebab(ident)}" if kebab(ident) else "small letters and digits, joined by hyphens"
        raise NotAdded(f"the id {ident!r} is not kebab-case: {way_out}")


def _documents(folder: Path) -> dict[str, Document | None]:
    """Topic and equipment files by name; None where one cannot be read."""
    names = [name for name in files_of(folder) if name.endswith(".yml") and name.startswith(("topics/", "equipment/"))]
    return {name: read(folder / name, name)[0] for name in names}


def _ids_in(document: Document | None, plural: str) -> Iterable[str]:
    data = document.data if document is not None else None
    section = data.get(plural) if isinstance(data, dict) else None
    return section if isinstance(section, dict) else ()


def _file_of(topic: str, documents: Mapping[str, Document | None]) -> str:
    """The file of a topic SYSTEM/NAME, which may be new; the system must be one that the equipment lists."""
    system, _, name = topic.removesuffix(".yml").partition("/")
    if not (ID.fullmatch(system) and ID.fullmatch(name)):
        raise NotAdded(f"the topic {topic!r} is not SYSTEM/NAME, both kebab-case")
    systems = sorted({i for document in documents.values() for i in _ids_in(document, "systems")})
    if systems and system not in systems:
        hint = did_you_mean(system, systems) or f"There are: {', '.join(systems)}."
        raise NotAdded(f"there is no system {system}. {hint} Or add it under systems: in equipment/ first.")
    return f"topics/{system}/{name}.yml"


def _likeliest(ident: str, documents: Mapping[str, Document | None]) -> str:
    """The topic file that names the id already, else the only one."""
    topics = [name for name in documents if _TOPIC.fullmatch(name)]
    naming = [name for name in topics if (found := documents[name]) is not None and ident in _texts(found.data)]
    chosen = naming if len(naming) == 1 else topics
    if len(chosen) != 1:
        listed = ", ".join(name.removeprefix("topics/").removesuffix(".yml") for name in naming or topics)
        raise NotAdded(f"say into which topic, with --topic SYSTEM/TOPIC{f': {listed}' if listed else ''}")
    return chosen[0]


def _texts(data: Any) -> Iterator[str]:
    """Every text in the data, keys included."""
    if isinstance(data, dict):
        yield from data
        data = list(data.values())
    if isinstance(data, list):
        for item in data:
            yield from _texts(item)
    elif isinstance(data, str):
        yield data


def _write(folder: Path, name: str, plural: str, lines: list[str]) -> Added:
    file = folder / name
    new = not file.exists()
    try:
        text = _SCHEMA if new else file.read_bytes().decode("utf-8")
        whole, line = with_entry(text.removeprefix(_BOM), name, plural, lines)
    except (NoPlace, UnicodeDecodeError) as error:
        raise NotAdded(str(error) if isinstance(error, NoPlace) else f"{name} is not UTF-8 text") from None
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_bytes(((_BOM if text.startswith(_BOM) else "") + whole).encode("utf-8"))
    return Added(file, line, new)
