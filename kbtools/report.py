"""Problems as text for people, as JSON for programs and as annotations for continuous integration."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence

from kbtools.problem import Problem, errors

FORMATS = ("text", "json", "annotations")


def as_json(problems: Sequence[Problem]) -> str:
    """{"problems": [{file, line, column, severity, rule, message, hint}]}."""
    return json.dumps({"problems": [p.as_dict() for p in problems]}, indent=2, ensure_ascii=False)


def as_annotations(problems: Iterable[Problem], folder: str) -> str:
    """One `::error file=…,line=…,col=…::` line per problem, files relative to where the command runs."""
    return "\n".join(_annotation(p, folder) for p in problems)


def as_text(problems: Sequence[Problem], folder: str) -> str:
    """Two lines per problem: where and what, then the way out."""
    return "\n".join(line for p in problems for line in _lines(p, folder))


def summary(problems: Sequence[Problem]) -> str:
    """How many errors and warnings, in words.

    >>> summary([])
    'no errors, no warnings'
    """
    wrong = len(errors(problems))
    return f"{_count(wrong, 'error')}, {_count(len(problems) - wrong, 'warning')}"


def _count(number: int, noun: str) -> str:
    return f"{number or 'no'} {noun}{'' if number == 1 else 's'}"


def _lines(p: Problem, folder: str) -> list[str]:
    lines = [f"{folder}/{p.position}: {p.severity}: {_one_line(p.message)} [{p.rule}]"]
    return [*lines, f"    {_one_line(p.hint)}"] if p.hint else lines


def _one_line(text: str) -> str:
    """Control characters and line ends of quoted content written out, so that nothing moves the cursor."""
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)


def _annotation(p: Problem, folder: str) -> str:
    place = [f"file={_property(f'{folder}/{p.file}')}"]
    place += [f"line={p.line}"] if p.line else []
    place += [f"col={p.column}"] if p.column else []
    text = f"{p.message}. {p.hint}" if p.hint else p.message
    return f"::{p.severity} {','.join(place)},title={_property(p.rule)}::{_data(text)}"


def _data(text: str) -> str:
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _property(text: str) -> str:
    return _data(text).replace(":", "%3A").replace(",", "%2C")
