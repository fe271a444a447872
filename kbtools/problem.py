"""One thing that is wrong with the content, and where."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Literal

Severity = Literal["error", "warning"]


@dataclass(frozen=True)
class Position:
    """A place in a content file: path relative to the content folder, line and column counted from 1."""

    file: str
    line: int | None = None
    column: int | None = None

    def __str__(self) -> str:
        return ":".join(str(part) for part in (self.file, self.line, self.column) if part is not None)


@dataclass(frozen=True)
class Problem:
    """One finding. `message` states what was found and the limit; `hint` is a way out."""

    file: str
    line: int | None
    column: int | None
    severity: Severity
    rule: str
    message: str
    hint: str = ""

    @property
    def position(self) -> Position:
        return Position(self.file, self.line, self.column)

    def as_dict(self) -> dict[str, object]:
        return asdict(self)


def problem(at: Position, rule: str, message: str, hint: str = "", severity: Severity = "error") -> Problem:
    """A Problem at a position."""
    return Problem(at.file, at.line, at.column, severity, rule, message, hint)


def in_order(problems: Iterable[Problem]) -> list[Problem]:
    """Every problem once, sorted by file, line, column and rule."""
    return sorted(
        set(problems),
        key=lambda p: (p.file, p.line or 0, p.column or 0, p.rule, p.message),
    )


def errors(problems: Iterable[Problem]) -> list[Problem]:
    """The problems that stop a build."""
    return [p for p in problems if p.severity == "error"]


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """A hint that names the nearest known word, or an empty string when nothing is near.

    >>> did_you_mean("soft-grond", ["soft-ground", "worn-seal"])
    'Did you mean soft-ground?'
    """
    near = difflib.get_close_matches(word, sorted(set(known)), n=1, cutoff=0.6)
    return f"Did you mean {near[0]}?" if near else ""
