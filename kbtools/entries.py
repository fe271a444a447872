"""From the files of a content folder to typed entries, with a problem for everything that does not fit."""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path as FilePath
from typing import Any

from pydantic import BaseModel, ValidationError

from kbtools.misfits import model_problems, not_a_mapping, unknown_key
from kbtools.model import EQUIPMENT_KINDS, KINDS, TOPIC_KINDS, Entry, Manual, references_in
from kbtools.problem import Position, Problem, did_you_mean, problem
from kbtools.source import MAX_BYTES, Document, Where, read
from kbtools.terms import Terms

ID = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")
LONGEST_ID = 100
"""Characters of an id; ids become names of files."""
RESERVED = {"cause": {"unlisted"}}
"""Ids that mean something of their own in a trace."""

_KIND_OF_KEY = {plural: kind for kind, (plural, _) in KINDS.items()}


@dataclass(frozen=True)
class Named:
    """An id at a place where a refused entry names an entry of this kind."""

    at: Position
    kind: str
    id: str


@dataclass
class Found:
    """What a content folder holds."""

    manual: Manual | None = None
    manual_document: Document | None = None
    terms: Terms = field(default_factory=Terms)
    terms_document: Document | None = None
    entries: dict[str, dict[str, Entry]] = field(default_factory=lambda: {kind: {} for kind in KINDS})
    where: dict[tuple[str, str], Where] = field(default_factory=dict)
    unread: list[str] = field(default_factory=list)
    mentioned: set[str] = field(default_factory=set)
    """Words of files and entries that were refused: they may declare or name anything, so nothing is said about these."""
    may_declare: set[str] = field(default_factory=set)
    """Those of them that may stand for an entry: all words of what was not even recognised as an entry."""
    named: list[Named] = field(default_factory=list)
    """What the refused entries name."""
    problems: list[Problem] = field(default_factory=list)

    def could_declare(self, data: Any) -> None:
        """Remembers every word of data that nobody could make an entry of."""
        self.mentioned |= _words(data)
        self.may_declare |= _words(data)


def files_of(folder: FilePath) -> list[str]:
    """Every file of the content folder, as sorted relative paths; hidden files and folders do not count."""
    paths = (path.relative_to(folder) for path in folder.rglob("*") if path.is_file())
    return sorted(path.as_posix() for path in paths if not any(part.startswith(".") for part in path.parts))


def revision_of(folder: FilePath, files: Iterable[str]) -> str:
    """First 8 hex digits of SHA-256 over the sorted files, names and bytes."""
    digest = hashlib.sha256()
    for name in files:
        digest.update(os.fsencode(name) + b"\0")
        try:
            digest.update((folder / name).read_bytes() + b"\0")
        except OSError:
            digest.update(b"\1")
    return digest.hexdigest()[:8]


def collect(folder: FilePath, files: Iterable[str]) -> Found:
    """Reads every content file into typed entries. A file or entry that does not fit is left out and has a problem."""
    found = Found()
    for name in files:
        if not name.isprintable():
            shown = "".join(sign if sign.isprintable() else "\ufffd" for sign in name)
            message = f"the name of the file {shown} is not plain text"
            found.problems.append(problem(Position(shown), "unread-file", message, "Rename it.", "warning"))
            continue
        role = _role(name)
        if role == "unread":
            found.unread.append(name)
        if role not in ("manual", "terms", "equipment", "topic"):
            continue
        document, problems = read(folder / name, name)
        found.problems += problems
        if document is None:
            found.could_declare(list(_words_of_file(folder / name)))
            continue
        found.could_declare(document.skipped)
        if not isinstance(document.data, dict):
            found.could_declare(document.data)
            found.problems.append(not_a_mapping(document.at(), document.data, "the file"))
        elif role == "manual":
            _manual(found, document)
        elif role == "terms":
            _terms(found, document)
        else:
            _sections(found, document, TOPIC_KINDS if role == "topic" else EQUIPMENT_KINDS, name)
    if found.manual is None and not any(p.file == "manual.yml" for p in found.problems):
        found.problems.append(
            problem(
                Position("manual.yml"),
                "manual-missing",
                "the content folder has no manual.yml",
                "Create it with title, organisation, telephone and revised.",
            )
        )
    return found


def _role(name: str) -> str:
    """What a file is for: manual, terms, equipment, topic, other (read elsewhere) or unread."""
    parts = name.split("/")
    if name == "manual.yml":
        return "manual"
    if name == "terms.yml":
        return "terms"
    if parts[0] in ("pages", "schema") or (parts[0] == "calls" and name.endswith(".jsonl")):
        return "other"
    if parts[0] == "equipment" and len(parts) == 2 and name.endswith(".yml"):
        return "equipment"
    if parts[0] == "topics" and len(parts) == 3 and name.endswith(".yml"):
        return "topic"
    return "unread"


def _manual(found: Found, document: Document) -> None:
    try:
        found.manual = Manual.model_validate(document.data)
    except ValidationError as error:
        _refuse(found, error, Manual, Where(document, ()), document.data, "manual.yml")
    found.manual_document = document


def _terms(found: Found, document: Document) -> None:
    try:
        found.terms = Terms.model_validate(document.data)
    except ValidationError as error:
        found.problems += model_problems(error, Terms, Where(document, ()), document.data, "terms.yml")
    found.terms_document = document


def _sections(found: Found, document: Document, kinds: tuple[str, ...], name: str) -> None:
    allowed = [KINDS[kind][0] for kind in kinds]
    for key, section in document.data.items():
        if key not in allowed:
            elsewhere = " It belongs under equipment/." if _KIND_OF_KEY.get(key) in EQUIPMENT_KINDS else ""
            if _KIND_OF_KEY.get(key) in TOPIC_KINDS:
                elsewhere = " It belongs under topics/<system>/."
            hint = did_you_mean(key, allowed) or f"Allowed here: {', '.join(allowed)}.{elsewhere}"
            found.problems.append(problem(document.at((key,), key=True), "unknown-key", f"unknown key {key!r}", hint))
            found.could_declare(section)
        elif not isinstance(section, dict):
            found.problems.append(not_a_mapping(document.at((key,)), section, key))
            found.could_declare(section)
        else:
            for ident, data in section.items():
                _entry(found, document, _KIND_OF_KEY[key], ident, data, name)


def _entry(found: Found, document: Document, kind: str, ident: str, data: Any, name: str) -> None:
    where = Where(document, (KINDS[kind][0], ident))
    bad = _bad_id(kind, ident, where.at(key=True))
    earlier = found.where.get((kind, ident))
    if bad is not None:
        found.problems.append(bad)
        found.mentioned |= _words(data)
        found.could_declare([ident, kebab(ident)])
    elif earlier is not None:
        found.problems.append(_again(f"the {kind} {ident}", where, earlier))
        found.could_declare({ident: data})
        return
    else:
        found.where[kind, ident] = where
    if isinstance(data, dict):
        entry = _typed(found, kind, ident, where, name)
        if entry is not None and bad is None:
            found.entries[kind][ident] = entry
        return
    found.could_declare(data)
    if bad is None:
        found.problems.append(not_a_mapping(where.at(), data, f"the {kind} {ident}"))


def _typed(found: Found, kind: str, ident: str, where: Where, name: str) -> Entry | None:
    data = where.document.data[KINDS[kind][0]][ident]
    model = KINDS[kind][1]
    what = f"{kind} {ident[:LONGEST_ID]}"
    extra = {"id": ident, "system": name.split("/")[1]} if kind in TOPIC_KINDS else {"id": ident}
    own = [key for key in extra if key in data]
    found.problems += [unknown_key(where.at((key,), key=True), key, model, what) for key in own]
    try:
        return model.model_validate({**data, **extra})
    except ValidationError as error:
        _refuse(found, error, model, where, data, what)
        return None


def _again(what: str, where: Where, earlier: Where) -> Problem:
    return problem(
        where.at(key=True),
        "duplicate-id",
        f"{what} stands here again; it is already at {earlier.at(key=True)}",
        "Ids are unique per kind: rename one, or merge the two.",
    )


def _refuse(
    found: Found, error: ValidationError, model: type[BaseModel], where: Where, data: dict[str, Any], what: str
) -> None:
    """Remembers an entry that does not fit: its problems, its words, what it names and what its unknown keys may hold."""
    problems = model_problems(error, model, where, data, what)
    found.problems += problems
    found.mentioned |= _words(data)
    for one in error.errors(include_url=False, include_context=False):
        if one["type"] == "extra_forbidden":
            found.could_declare({str(one["loc"][-1]): one["input"]})
    taken = {one.position for one in problems}
    for kind, ident, path in references_in(data, model):
        at = where.at(path, key=path[-1:] == (ident,))
        if at not in taken:
            found.named.append(Named(at, kind, ident))


def _words(data: Any) -> set[str]:
    """Every text in the data, keys included."""
    if isinstance(data, Mapping):
        return set(data).union(*map(_words, data.values()))
    if isinstance(data, list):
        return set().union(*map(_words, data))
    return {data} if isinstance(data, str) else set()


def _words_of_file(file: FilePath) -> set[str]:
    """Everything in a file that could not be read as YAML that looks like an id."""
    try:
        with file.open("rb") as stream:
            return {found.group() for found in ID.finditer(stream.read(MAX_BYTES).decode("utf-8", "replace"))}
    except OSError:
        return set()


def kebab(text: str) -> str:
    """The id nearest to a text; empty when it has nothing of one.

    >>> kebab("2nd Fuse_F2 "), kebab("§ 7")
    ('nd-fuse-f2', '')
    """
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).lstrip("-0123456789").rstrip("-")


def _bad_id(kind: str, ident: str, at: Position) -> Problem | None:
    if len(ident) > LONGEST_ID:
        message = f"the id {ident[:20]}… has {len(ident)} characters, the limit is {LONGEST_ID}"
        return problem(at, "id-not-kebab-case", message, "A few words joined by hyphens are enough.")
    if not ID.fullmatch(ident):
        fixed = kebab(ident)
        hint = f"Write {fixed}." if fixed else "Small letters and digits, joined by single hyphens, a letter first."
        return problem(at, "id-not-kebab-case", f"the id {ident!r} is not kebab-case", hint)
    if ident in RESERVED.get(kind, ()):
        return problem(at, "id-reserved", f"the id {ident} is reserved", "Choose another id.")
    return None
