"""The YAML of a new entry: its keys with what each asks for, and nothing filled in that only its author can know.

A required key stays without a value, which `validate` reports with its line until it has one: text that is merely there
to be replaced would pass every check and could reach a reader. Keys that may be left out stand as comments.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Mapping, Sequence

from pydantic import BaseModel

from kbtools.model import KINDS, OwnerText, Remedy

WIDTH = 110
SHOWN_IDS = 8
"""Ids that a comment lists at most."""

_LIST = " A list: - and one on each line."


def skeleton(kind: str, ident: str, known: Mapping[str, Sequence[str]]) -> list[str]:
    """The lines of a new symptom, cause or check, its id first, indented by two spaces a level.

    `known` are the ids that there are, by kind: comments name them where one is asked for.
    """
    body = {"symptom": _symptom, "cause": _cause, "check": _check}[kind](known)
    return [f"{ident}:", *(f"  {line}" for line in ("status: draft", *body))]


def _symptom(known: Mapping[str, Sequence[str]]) -> Iterator[str]:
    model = KINDS["symptom"][1]
    yield from _key(model, "title")
    yield from _key(model, "heard_as", _LIST)
    yield from _key(model, "notice")
    yield from _key(model, "causes", f"{_LIST} {_ids(known['cause'])}")
    yield from _left_out(model, "first", "[]", _ids(known["precaution"]))
    yield from _left_out(model, "stop_if", "[{sign: , then: }]", _ids(known["precaution"]))
    yield from _left_out(model, "hazards", "[]", _ids(known["hazard"]))
    yield "owner:"
    yield from _inside(_key(OwnerText, "title"))
    yield from _inside(_key(OwnerText, "text"))


def _cause(known: Mapping[str, Sequence[str]]) -> Iterator[str]:
    model = KINDS["cause"][1]
    yield from _key(model, "title")
    yield from _key(model, "nature", " One of: fault, setting, operation, site, normal.")
    yield from _left_out(model, "part", "", _ids(known["part"]))
    yield from _key(model, "explains")
    yield from _comment("May it be used and towed until it is mended? Each: yes, no or limited.")
    yield "interim: {use: , tow: }"
    yield "remedy:"
    yield from _inside(_action(Remedy, known))
    yield from _inside(_key(Remedy, "prove_by", f" {_ids(known['check'])}"))


def _check(known: Mapping[str, Sequence[str]]) -> Iterator[str]:
    model = KINDS["check"][1]
    yield from _key(model, "title")
    yield from _key(model, "ask")
    yield from _left_out(model, "reading", "{quantity: , unit: , condition: , point: }", _ids(known["point"]))
    yield from _action(model, known)
    yield "outcomes:"
    yield from _inside(_outcomes(known))


def _outcomes(known: Mapping[str, Sequence[str]]) -> Iterator[str]:
    """The ordinary outcome and one that tells something."""
    yield from _comment("Exactly one outcome is normal. For a measurement, from: and below: give its range.")
    yield from ("as-it-should-be:", "  label:", "  normal: true", "not-as-it-should-be:", "  label:")
    yield from _inside(_comment(f"Cause: always, usually, sometimes, rarely or never. {_ids(known['cause'])}"))
    yield "  seen_with: {}"


def _action(model: type[BaseModel], known: Mapping[str, Sequence[str]]) -> Iterator[str]:
    yield from _key(model, "who", f" {_ids(known['person'])}")
    yield from _key(model, "minutes")
    yield from _key(model, "place", f" {_ids(known['place'])}")
    yield from _left_out(model, "tools", "[]", _ids(known["tool"]))
    yield from _left_out(model, "hazards", "[]", _ids(known["hazard"]))
    yield from _key(model, "steps", f"{_LIST} At most 20 words and one thing to do in each.")


def _key(model: type[BaseModel], key: str, more: str = "") -> Iterator[str]:
    """A key that waits for its value, below what it asks for."""
    yield from _comment(f"{model.model_fields[key].description}{more}")
    yield f"{key}:"


def _left_out(model: type[BaseModel], key: str, value: str, more: str) -> Iterator[str]:
    """A key that may be left out, as a comment."""
    yield from _comment(f"If so: {model.model_fields[key].description} {more}")
    yield f"# {key}: {value}".rstrip()


def _comment(text: str) -> list[str]:
    return textwrap.wrap(text.strip(), WIDTH, initial_indent="# ", subsequent_indent="#   ", break_on_hyphens=False)


def _inside(lines: Iterable[str]) -> Iterator[str]:
    return (f"  {line}" for line in lines)


def _ids(idents: Sequence[str]) -> str:
    """The ids that there are, in a few words."""
    if not idents:
        return "There is none yet."
    more = f" and {len(idents) - SHOWN_IDS} more" if len(idents) > SHOWN_IDS else ""
    return f"There are: {', '.join(idents[:SHOWN_IDS])}{more}."
