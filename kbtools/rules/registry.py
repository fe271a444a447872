"""The registry of rules: an id, a severity, a published docstring and, where it runs over a library, a function."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

from kbtools.library import Library
from kbtools.problem import Position, Problem, Severity, problem


class Finding(NamedTuple):
    """What a rule found: where, what (value and limit), and a way out."""

    at: Position
    message: str
    hint: str = ""


RuleFunction = Callable[[Library], Iterator[Finding]]


@dataclass(frozen=True)
class Rule:
    """A rule. `text` says what it asks, why, and shows a failing and a passing snippet.

    Rules without a function are found while files are read and typed.
    """

    id: str
    severity: Severity
    text: str
    function: RuleFunction | None = None

    @property
    def summary(self) -> str:
        return self.text.splitlines()[0]


RULES: dict[str, Rule] = {}


def rule(ident: str, severity: Severity = "error") -> Callable[[RuleFunction], RuleFunction]:
    """Registers a function over a library as a rule; its docstring is the published page."""

    def register(function: RuleFunction) -> RuleFunction:
        _add(Rule(ident, severity, inspect.getdoc(function) or "", function))
        return function

    return register


def documented(ident: str, text: str, severity: Severity = "error") -> None:
    """Registers the page of a rule that is enforced while files are read."""
    _add(Rule(ident, severity, inspect.cleandoc(text)))


def _add(new: Rule) -> None:
    if new.id in RULES:
        raise ValueError(f"rule {new.id} is registered twice")
    RULES[new.id] = new


def run(library: Library, *, only_errors: bool = False) -> list[Problem]:
    """Every finding of every registered rule; with `only_errors`, of the rules that stop a build."""
    return [
        problem(found.at, rule.id, found.message, found.hint, rule.severity)
        for rule in RULES.values()
        if rule.function and not (only_errors and rule.severity == "warning")
        for found in rule.function(library)
    ]
