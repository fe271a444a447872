"""What the pages for authors say: the fields of the content model, and the text of the rules."""

from __future__ import annotations

import types
import typing
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from kbtools import model
from kbtools.model import EQUIPMENT_KINDS, KINDS


@dataclass(frozen=True)
class Block:
    """A paragraph or a snippet of a rule's text. `pieces` are its parts, those between backticks marked."""

    text: str
    code: bool

    @property
    def pieces(self) -> list[tuple[bool, str]]:
        return [(bool(i % 2), piece) for i, piece in enumerate(self.text.split("`"))]


def blocks(text: str) -> list[Block]:
    """Paragraphs, and snippets indented by four spaces; blank lines stand between them.

    >>> [(b.code, b.text) for b in blocks("Why.\\n\\n    a: 1\\n\\n    b: 2")]
    [(False, 'Why.'), (True, 'a: 1\\n\\nb: 2')]
    """
    found: list[Block] = []
    for part in text.split("\n\n"):
        code = part.startswith("    ")
        clean = "\n".join(line.removeprefix("    ") for line in part.splitlines()) if code else " ".join(part.split())
        if code and found and found[-1].code:
            found[-1] = Block(f"{found[-1].text}\n\n{clean}", True)
        elif clean:
            found.append(Block(clean, code))
    return found


@dataclass(frozen=True)
class Field:
    """One key that an author may write."""

    key: str
    kind: str
    required: bool
    default: str
    description: str


@dataclass(frozen=True)
class Described:
    """One model: its name for authors, what it is, and its keys."""

    id: str
    title: str
    about: str
    fields: tuple[Field, ...]


def described_models() -> list[Described]:
    """Every model of the content, in the order in which an author meets them."""
    tops: list[type[BaseModel]] = [model.Manual]
    tops += [KINDS[kind][1] for kind in (*model.TOPIC_KINDS, *EQUIPMENT_KINDS)]
    seen: dict[type[BaseModel], None] = {}
    for top in tops:
        _collect(top, seen)
    return [_described(found) for found in seen]


def _collect(found: type[BaseModel], seen: dict[type[BaseModel], None]) -> None:
    if found in seen:
        return
    seen[found] = None
    for info in found.model_fields.values():
        for inner in _models_in(info.annotation):
            _collect(inner, seen)


def _models_in(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for part in typing.get_args(annotation):
        yield from _models_in(part)


def _described(found: type[BaseModel]) -> Described:
    fields = tuple(
        _field(info.alias or name, info)
        for name, info in found.model_fields.items()
        if info.json_schema_extra != {"internal": True}
    )
    return Described(found.__name__.lower(), found.__name__, found.__doc__ or "", fields)


def _field(key: str, info: FieldInfo) -> Field:
    required = info.is_required()
    default = "" if required else _default(info.get_default(call_default_factory=True))
    return Field(key, kind_words(info.annotation, info.metadata), required, default, info.description or "")


def _default(value: object) -> str:
    return "" if value in (None, (), {}) else str(value).lower() if isinstance(value, bool) else str(value)


def kind_words(annotation: Any, marks: typing.Sequence[Any] = ()) -> str:
    """What a value looks like, in an author's words.

    >>> kind_words(str), kind_words(int | None), kind_words(tuple[str, ...])
    ('text', 'whole number', 'list of text')
    """
    ref = next((mark for mark in marks if isinstance(mark, model.Ref)), None)
    if ref:
        return f"id of a {ref.kind}"
    origin, args = typing.get_origin(annotation), typing.get_args(annotation)
    if origin is typing.Annotated:
        return kind_words(args[0], args[1:])
    if origin in (typing.Union, types.UnionType):
        return " or ".join(dict.fromkeys(kind_words(a) for a in args if a is not type(None)))
    if origin is typing.Literal:
        return ", ".join(str(a) for a in args)
    if origin is tuple:
        return "list of " + kind_words(args[0])
    if origin is not None and len(args) == 2:
        return f"mapping of {kind_words(args[0])} to {kind_words(args[1])}"
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation.__name__
    return {str: "text", int: "whole number", float: "number", bool: "true or false"}.get(annotation, "value")
