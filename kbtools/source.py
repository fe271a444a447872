"""Reads YAML into plain data and keeps file, line and column of every key and value.

The scalar rules are the YAML 1.2 core schema (https://yaml.org/spec/1.2.2/#103-core-schema), except that numbers with a
leading zero stay text. Anchors work, but a file that grows by them is refused.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path as FilePath
from typing import Any

import yaml

from kbtools.problem import Position, Problem, problem
from kbtools.yaml_words import plain_words

Path = tuple[str | int, ...]

MAX_BYTES = 1_000_000
"""Largest content file. A topic of a hundred entries has about a tenth of it."""
MAX_NODES = 100_000
"""Most values in a file after its aliases are written out."""
MAX_DEPTH = 40
"""Deepest nesting."""

_Loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_UNPRINTABLE = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_NULL = re.compile(r"null|Null|NULL|~|")
_BOOL = re.compile(r"true|True|TRUE|false|False|FALSE")
_INT = re.compile(r"[-+]?(0|[1-9][0-9]*)")
_OCT = re.compile(r"0o[0-7]+")
_HEX = re.compile(r"0x[0-9a-fA-F]+")
_FLOAT = re.compile(r"[-+]?(\.[0-9]+|(0|[1-9][0-9]*)(\.[0-9]*)?)([eE][-+]?[0-9]+)?")
_SPECIAL = re.compile(r"([-+]?)\.(inf|Inf|INF)|\.(nan|NaN|NAN)")
_TAGS = {f"tag:yaml.org,2002:{name}": name for name in ("str", "int", "float", "bool", "null", "map", "seq")}


@dataclass(frozen=True)
class Document:
    """One content file: its data, and where each key and value stands."""

    file: str
    data: Any
    keys: dict[Path, tuple[int, int]] = field(repr=False)
    values: dict[Path, tuple[int, int]] = field(repr=False)
    skipped: list[Any] = field(default_factory=list, repr=False)
    """What stood at keys that were there already."""

    def at(self, path: Path = (), *, key: bool = False) -> Position:
        """Position of the value at `path` (with `key`: of its key); where there is none, of the nearest one above it."""
        for end in range(len(path), -1, -1):
            for table in (self.keys, self.values) if key else (self.values, self.keys):
                if path[:end] in table:
                    return Position(self.file, *table[path[:end]])
        return Position(self.file)


@dataclass(frozen=True)
class Where:
    """Where an entry stands: its document and the path of keys to it."""

    document: Document
    path: Path

    def at(self, path: Path = (), *, key: bool = False) -> Position:
        return self.document.at(self.path + path, key=key)


class Refused(Exception):  # noqa: N818
    """A file that cannot be read, with the Problem that says why."""

    def __init__(self, found: Problem) -> None:
        super().__init__(found.message)
        self.problem = found


def read(file: FilePath, name: str) -> tuple[Document | None, list[Problem]]:
    """Reads the file; `name` is what problems call it. A file that cannot be read gives None and one problem."""
    try:
        return parse(_text(file, name), name)
    except Refused as refused:
        return None, [refused.problem]


def parse(text: str, name: str) -> tuple[Document | None, list[Problem]]:
    """Parses YAML text. Duplicate keys are problems that leave a document; everything else leaves none."""
    composer = _Composer(name, text)
    try:
        return composer.document(), composer.problems
    except Refused as refused:
        return None, [*composer.problems, refused.problem]


def _text(file: FilePath, name: str) -> str:
    try:
        size = file.stat().st_size
        if size > MAX_BYTES:
            raise Refused(
                problem(
                    Position(name),
                    "file-too-large",
                    f"the file has {size:,} bytes, the limit is {MAX_BYTES:,}",
                    "Split it into several topic files.",
                )
            )
        raw = file.read_bytes()
    except OSError as error:
        why = error.strerror or str(error)
        raise Refused(problem(Position(name), "file-unreadable", f"the file cannot be read: {why}")) from None
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = raw[: error.start]
        at = _line_column(before.decode("utf-8-sig", errors="replace"), None)
        raise Refused(
            problem(
                Position(name, *at),
                "not-utf-8",
                f"byte 0x{raw[error.start]:02X} is not UTF-8 text",
                "Save the file as UTF-8.",
            )
        ) from None


def _line_column(text: str, end: int | None) -> tuple[int, int]:
    """Line and column, from 1, of the character that follows text[:end]."""
    before = text[:end]
    lines = re.split("\r\n|[\n\r]", before)
    return len(lines), len(lines[-1]) + 1


class _Composer:
    """Turns libyaml's events into data and marks, in one pass."""

    def __init__(self, name: str, text: str) -> None:
        self.name = name
        self.text = text
        self.keys: dict[Path, tuple[int, int]] = {}
        self.values: dict[Path, tuple[int, int]] = {}
        self.anchors: dict[str, tuple[Any, int]] = {}
        self.problems: list[Problem] = []
        self.skipped: list[Any] = []
        self.nodes = 0

    def document(self) -> Document:
        bad = _UNPRINTABLE.search(self.text)
        if bad:
            code = ord(bad.group())
            self._refuse(
                _line_column(self.text, bad.start()),
                "yaml-syntax",
                f"character U+{code:04X} is not allowed in YAML",
                "Delete the invisible character at this position.",
            )
        self.events = self._events()
        data = self._stream()
        return Document(self.name, data, self.keys, self.values, self.skipped)

    def _refuse(self, at: tuple[int, int], rule: str, message: str, hint: str = "") -> None:
        raise Refused(problem(Position(self.name, *at), rule, message, hint))

    def _events(self) -> Iterator[Any]:
        loader = _Loader(self.text)
        try:
            while loader.check_event():
                yield loader.get_event()
        except yaml.MarkedYAMLError as error:
            mark = error.problem_mark or error.context_mark
            if "unexpected end of stream" in (error.problem or ""):
                mark = error.context_mark or mark
            at = (mark.line + 1, mark.column + 1) if mark else (1, 1)
            self._refuse(at, "yaml-syntax", *plain_words(error, self.text, at))
        except yaml.YAMLError as error:
            self._refuse((1, 1), "yaml-syntax", str(error))
        finally:
            loader.dispose()

    def _stream(self) -> Any:
        found: list[Any] = []
        for event in self.events:
            if isinstance(event, yaml.DocumentStartEvent):
                if found:
                    self._refuse(
                        _mark(event),
                        "yaml-syntax",
                        "a second document starts here; a content file holds one",
                        "Delete the line ---.",
                    )
                found.append(self._value((), 0))
        if not found or found[0] is None:
            self._refuse((1, 1), "file-empty", "the file has no content", "Fill it, or delete it.")
        return found[0]

    def _value(self, path: Path, depth: int) -> Any:
        return self._node(next(self.events), path, depth)

    def _node(self, event: Any, path: Path, depth: int) -> Any:
        self.values[path] = _mark(event)
        self._count(event, 1)
        if depth > MAX_DEPTH:
            self._refuse(_mark(event), "yaml-syntax", f"nested deeper than {MAX_DEPTH} levels")
        if isinstance(event, yaml.AliasEvent):
            return self._alias(event)
        before = self.nodes
        if isinstance(event, yaml.ScalarEvent):
            data = self._scalar(event)
        else:
            self._collection_tag(event)
            data = (
                self._mapping(path, depth) if isinstance(event, yaml.MappingStartEvent) else self._sequence(path, depth)
            )
        if event.anchor:
            self.anchors[event.anchor] = (data, self.nodes - before + 1)
        return data

    def _count(self, event: Any, more: int) -> None:
        self.nodes += more
        if self.nodes > MAX_NODES:
            self._refuse(
                _mark(event),
                "yaml-too-many-values",
                f"the file grows to more than {MAX_NODES:,} values here",
                "Write repeated text once as an entry and name it by its id instead of using aliases.",
            )

    def _alias(self, event: Any) -> Any:
        if event.anchor not in self.anchors:
            self._refuse(
                _mark(event),
                "yaml-syntax",
                f"the alias *{event.anchor} has no anchor before it",
                "Quote a text that starts with *.",
            )
        data, size = self.anchors[event.anchor]
        self._count(event, size)
        return data

    def _mapping(self, path: Path, depth: int) -> dict[str, Any]:
        data: dict[str, Any] = {}
        for event in self.events:
            if isinstance(event, yaml.MappingEndEvent):
                break
            key = self._key(event)
            inner = (*path, key)
            if key in data:
                first = self.keys[inner]
                self.problems.append(
                    problem(
                        Position(self.name, *_mark(event)),
                        "duplicate-key",
                        f"the key {key!r} stands here again; it is already at line {first[0]}, column {first[1]}",
                        "Keep one of the two.",
                    )
                )
                self._skip(depth)
                continue
            self.keys[inner] = _mark(event)
            data[key] = self._value(inner, depth + 1)
        return data

    def _key(self, event: Any) -> str:
        if not isinstance(event, yaml.ScalarEvent):
            self._refuse(
                _mark(event), "yaml-syntax", "a key must be a plain text", "Quote a text that starts with {, [, * or &."
            )
        self._count(event, 1)
        return str(event.value)

    def _skip(self, depth: int) -> None:
        """Reads the value of a duplicate key past the data, and forgets its marks."""
        values, keys = dict(self.values), dict(self.keys)
        self.skipped.append(self._value(("\0",), depth + 1))
        self.values, self.keys = values, keys

    def _sequence(self, path: Path, depth: int) -> list[Any]:
        data: list[Any] = []
        for event in self.events:
            if isinstance(event, yaml.SequenceEndEvent):
                break
            data.append(self._node(event, (*path, len(data)), depth + 1))
        return data

    def _scalar(self, event: Any) -> Any:
        tag = event.tag
        if tag in (None, "!"):
            return resolve(event.value) if event.implicit[0] and tag is None else event.value
        kind = _TAGS.get(tag)
        if kind in (None, "map", "seq"):
            self._unknown_tag(event)
        value = event.value if kind == "str" else resolve(event.value)
        if kind != "str" and kind != _core_name(value) and not (kind == "float" and _core_name(value) == "int"):
            self._refuse(
                _mark(event), "yaml-syntax", f"{event.value!r} does not fit the tag !!{kind}", "Delete the tag."
            )
        return value

    def _collection_tag(self, event: Any) -> None:
        wanted = "map" if isinstance(event, yaml.MappingStartEvent) else "seq"
        if event.tag not in (None, "!") and _TAGS.get(event.tag) != wanted:
            self._unknown_tag(event)

    def _unknown_tag(self, event: Any) -> None:
        self._refuse(
            _mark(event),
            "yaml-syntax",
            f"the tag {event.tag} is unknown",
            "Delete it, or quote a text that starts with !.",
        )


def resolve(text: str) -> Any:
    """Value of a plain scalar by the YAML 1.2 core schema; numbers with a leading zero stay text.

    >>> [resolve(t) for t in ("yes", "true", "1:30", "012", "0o14", "1.5")]
    ['yes', True, '1:30', '012', 12, 1.5]
    """
    if _NULL.fullmatch(text):
        return None
    if _BOOL.fullmatch(text):
        return text.lower() == "true"
    if len(text) <= 400:
        if _INT.fullmatch(text):
            return int(text)
        if _OCT.fullmatch(text) or _HEX.fullmatch(text):
            return int(text, 0)
        if _FLOAT.fullmatch(text):
            return float(text)
    if _SPECIAL.fullmatch(text):
        return float(text.replace(".", "", 1).lower())
    return text


def _core_name(value: Any) -> str:
    return {type(None): "null", bool: "bool", int: "int", float: "float"}.get(type(value), "str")


def _mark(event: Any) -> tuple[int, int]:
    return event.start_mark.line + 1, event.start_mark.column + 1
